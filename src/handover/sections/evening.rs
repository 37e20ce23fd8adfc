//! The evening report, as lines of text and as a page.

use chrono::NaiveDate;

use crate::accounts::StoppageRow;
use crate::building::on_words;
use crate::day::{Defect, ExtraWork};
use crate::handover::model::{Ahead, Evening, HoldOfDay, Measured, Weather, when};
use crate::handover::page::{Block, Section, list, section};
use crate::plain::{names, visible};
use crate::units::number::{crew_hours, show};

/// The heading of what was done: it is there also when nothing was.
const DONE: &str = "Done";

impl Ahead {
    /// As lines of text, without what is needed from others.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = self.stopped.clone();
        let lists = self.lists().into_iter().filter(|(heading, list)| *heading != NEEDED && !list.is_empty());
        for (heading, list) in lists {
            lines.push(format!("{heading}:"));
            lines.extend(list.iter().map(|line| format!("  {line}")));
        }
        lines
    }

    /// Its lists, each with its heading, in the order in which they are read.
    fn lists(&self) -> [(&'static str, &Vec<String>); 5] {
        [
            (NEEDED, &self.needed),
            ("Closing overnight", &self.lapsing),
            ("Left open to rain", &self.open_to_rain),
            ("Materials", &self.materials),
            ("First thing tomorrow", &self.tomorrow),
        ]
    }
}

/// The heading of what is needed from others.
const NEEDED: &str = "Needed from others";

impl Evening {
    /// The report as text, a line each, not wrapped yet.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![format!("{}, {}", self.job, self.date.format("%A %-d %B %Y"))];
        if self.open {
            lines.push(format!("Day not closed yet. Report as at {}.", self.as_of.format("%H:%M")));
        }
        lines.push(String::new());
        lines.push(format!("On site: {}", self.crew_in_words()));
        lines.extend(self.talk.iter().map(|talk| format!("Talk: {talk}")));
        lines.extend(self.hazards.iter().map(|hazard| format!("Hazard: {hazard}")));
        lines.extend(self.remarks.iter().map(|remark| format!("Remark: {remark}")));
        lines.push(String::new());
        for (heading, list) in self.lists() {
            if heading == DONE || !list.is_empty() {
                lines.push(format!("{heading}:"));
                lines.extend(list.iter().map(|line| format!("  {line}")));
                if list.is_empty() {
                    lines.push("  nothing".to_owned());
                }
            }
        }
        lines.push(format!("Pace: {}", self.pace));
        lines.extend(self.head.iter().map(|head| format!("Check {head}")));
        lines
    }

    /// "Ana 8 h, Tom 8 h: 16 hours".
    fn crew_in_words(&self) -> String {
        let each: Vec<String> = self
            .crew
            .iter()
            .map(|worked| match (worked.hours, worked.left_at) {
                (Some(hours), _) => format!("{} {} h", worked.name, show(hours)),
                (None, None) => format!("{} from {}", worked.name, worked.since.format("%H:%M")),
                (None, Some(left)) => {
                    format!("{} from {} to {}", worked.name, worked.since.format("%H:%M"), left.format("%H:%M"))
                }
            })
            .collect();
        match (each.len(), self.hours > 0.0) {
            (0, _) => "nobody".to_owned(),
            (1, _) | (_, false) => each.join(", "),
            (_, true) => format!("{}: {} hours", each.join(", "), show(self.hours)),
        }
    }

    /// The lists of the report, each with its heading, in the order in which they are read: what somebody still has to do
    /// comes before what was done.
    fn lists(&self) -> Vec<(&'static str, Vec<String>)> {
        let mut lists = vec![("Stopped", self.ahead.stopped.clone())];
        lists.extend(self.ahead.lists().map(|(heading, list)| (heading, list.clone())));
        lists.extend([
            ("Weather", self.weather.iter().map(weather).collect()),
            ("Exposure (heat, dust, lifting)", self.exposures.clone()),
            (DONE, self.done.iter().map(|step| format!("{}: {}", step.title, step.on)).collect()),
            ("Complete today", self.measured.iter().map(measured).collect()),
            ("Releases", self.holds.iter().map(hold).collect()),
            ("Stoppages", self.stoppages_in_words()),
            ("Extra work", self.extras.iter().map(extra).collect()),
            ("Also recorded", self.also.clone()),
            ("Defects", self.defects.iter().map(defect).collect()),
        ]);
        lists
    }

    fn stoppages_in_words(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.stoppages.iter().map(|row| stoppage(row, self.date)).collect();
        if lines.len() > 1 {
            lines.push(format!("{} lost today in all", crew_hours(self.crew_hours_lost)));
        }
        lines
    }
}

fn weather(it: &Weather) -> String {
    format!("{} {}: {}", it.reading.at.format("%H:%M"), it.on, it.reading.in_words("RAIN"))
}

fn measured(it: &Measured) -> String {
    let unit = match it.unit {
        "m2" => " m²".to_owned(),
        "each" => String::new(),
        unit => format!(" {unit}"),
    };
    let again = if it.quantity < 0.0 { " to be done again" } else { "" };
    format!("{}: {}{unit}{again}", it.title, show(it.quantity.abs()))
}

fn hold(it: &HoldOfDay) -> String {
    format!("{} '{}'{}: {}", it.at.format("%H:%M"), it.title, on_words(&it.on), it.says)
}

fn stoppage(row: &StoppageRow, date: NaiveDate) -> String {
    let it = &row.stoppage;
    let until = it.ended_at.map_or("still open".to_owned(), |at| format!("to {}", at.clock(date)));
    let (from, notified) = (it.started_at.clock(date), names(&it.notified));
    let lost = crew_hours(row.lost_h);
    format!("{from} {until}, {}: {}; notified {notified}; {lost} lost", it.subject, it.cause)
}

fn extra(it: &ExtraWork) -> String {
    let notified =
        if it.notified.is_empty() { String::new() } else { format!("; notified {}", it.notified.join(", ")) };
    let size = if it.size().is_empty() { String::new() } else { format!("; {}", it.size()) };
    format!("{} on {}; asked for by {}{notified}{size}", it.what, it.subject, it.asked_by)
}

fn defect(it: &Defect) -> String {
    format!("{} ({}): {}", it.subject, it.state.word(), it.what)
}

/// What is under the date.
pub fn about(evening: &Evening) -> Vec<String> {
    let open = evening.open.then(|| format!("The day is not closed yet: as of {}", when(&evening.as_of)));
    let address = evening.address.as_ref().map(|address| visible(address));
    std::iter::once(visible(&evening.job)).chain(address).chain(open).collect()
}

/// The day's facts, then a section for each list that has something in it.
pub fn sections(evening: &Evening) -> Vec<Section> {
    let fact = |term: &str, value: &str| (term.to_owned(), visible(value));
    let mut facts = vec![fact("On site", &evening.crew_in_words())];
    facts.extend(evening.talk.iter().map(|talk| fact("Talk", talk)));
    if !evening.hazards.is_empty() {
        facts.push(fact("Hazards", &evening.hazards.join("; ")));
    }
    facts.extend(evening.remarks.iter().map(|remark| fact("Remark", remark)));
    facts.push(fact("Pace", &evening.pace));
    let mut sections = vec![section("day", "The day", vec![Block::Facts { facts }])];
    for (heading, lines) in evening.lists() {
        let id: String = heading.to_lowercase().chars().map(|c| if c.is_alphabetic() { c } else { '-' }).collect();
        sections.extend(list(lines).map(|list| section(id, heading, vec![list])));
    }
    sections
}

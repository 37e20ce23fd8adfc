//! The evening report, as lines of text and as a page.

use chrono::NaiveDate;

use crate::handover::model::{Evening, ExtraOfDay, HoldOfDay, Measured, StoppageOfDay, Weather, when};
use crate::handover::page::{Block, Section};
use crate::plain::visible;
use crate::units::number::{crew_hours, show};

impl Evening {
    /// The report as text, a line each, not broken yet.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = vec![format!("{}, {}", self.job, self.date.format("%A %-d %B %Y"))];
        if self.open {
            lines.push(format!("The day is not closed yet: as of {}.", self.as_of.format("%H:%M")));
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
    pub fn crew_in_words(&self) -> String {
        let each: Vec<String> = self
            .crew
            .iter()
            .map(|worked| match worked.hours {
                Some(hours) => format!("{} {} h", worked.name, show(hours)),
                None => format!("{} from {}", worked.name, worked.since.format("%H:%M")),
            })
            .collect();
        match (each.len(), self.hours > 0.0) {
            (0, _) => "nobody".to_owned(),
            (1, _) | (_, false) => each.join(", "),
            (_, true) => format!("{}: {} hours", each.join(", "), show(self.hours)),
        }
    }

    /// The lists of the report, each with its heading, in the order in which they are read.
    pub fn lists(&self) -> Vec<(&'static str, Vec<String>)> {
        vec![
            ("Weather", self.weather.iter().map(Weather::in_words).collect()),
            ("What the work does", self.exposures.clone()),
            (DONE, self.done.iter().map(|step| format!("{} — {}", step.title, step.on)).collect()),
            ("Complete today", self.measured.iter().map(Measured::in_words).collect()),
            ("Releases", self.holds.iter().map(HoldOfDay::in_words).collect()),
            ("Stoppages", self.stoppages_in_words()),
            ("Extra work", self.extras.iter().map(ExtraOfDay::in_words).collect()),
            ("Also", self.also.clone()),
            ("Defects", self.defects.clone()),
            ("Stands still", self.ahead.stopped.clone()),
            ("Will lapse before anybody is back", self.ahead.lapsing.clone()),
            ("Left open to rain", self.ahead.open_to_rain.clone()),
            ("Materials", self.ahead.materials.clone()),
            ("First thing tomorrow", self.ahead.tomorrow.clone()),
            ("Needed from others", self.ahead.needed.clone()),
        ]
    }

    fn stoppages_in_words(&self) -> Vec<String> {
        let mut told: Vec<String> = self.stoppages.iter().map(|one| one.in_words(self.date)).collect();
        if told.len() > 1 {
            told.push(format!("{} lost today in all", crew_hours(self.crew_hours_lost)));
        }
        told
    }
}

/// The heading of what was done: it stands there also when nothing was.
const DONE: &str = "Done";

impl Weather {
    fn in_words(&self) -> String {
        let wind = self.wind_kmh.map(|wind| format!(", wind {} km/h", show(wind))).unwrap_or_default();
        format!(
            "{} {}: air {} °C, humidity {} %, surface {} °C{wind}{}",
            self.at.format("%H:%M"),
            self.on,
            show(self.air_c),
            show(self.humidity_pct),
            show(self.surface_c),
            if self.rain { ", RAIN" } else { "" }
        )
    }
}

impl Measured {
    fn in_words(&self) -> String {
        let unit = if self.unit == "m2" { "m²" } else { self.unit };
        let unit = if unit == "each" { String::new() } else { format!(" {unit}") };
        format!("{}: {}{unit}", self.title, show(self.quantity))
    }
}

impl HoldOfDay {
    fn in_words(&self) -> String {
        format!("{} {} on {}: {}", self.at.format("%H:%M"), self.key, self.on, self.says)
    }
}

impl StoppageOfDay {
    fn in_words(&self, date: NaiveDate) -> String {
        let until = self.ended_at.map_or("still open".to_owned(), |at| format!("to {}", at.clock(date)));
        format!(
            "{} {until}, {}: {}; told {}; {} lost",
            self.started_at.clock(date),
            self.on,
            self.cause,
            self.told.join(", "),
            crew_hours(self.crew_hours_lost)
        )
    }
}

impl ExtraOfDay {
    fn in_words(&self) -> String {
        let told = if self.told.is_empty() { String::new() } else { format!("; told {}", self.told.join(", ")) };
        let size = if self.size.is_empty() { String::new() } else { format!("; {}", self.size) };
        format!("{} on {}; asked for by {}{told}{size}", self.what, self.on, self.asked_by)
    }
}

/// What stands under the date.
pub fn about(evening: &Evening) -> Vec<String> {
    let mut about = vec![visible(&evening.job)];
    about.extend(evening.address.as_ref().map(|address| visible(address)));
    if evening.open {
        about.push(format!("The day is not closed yet: as of {}", when(&evening.as_of)));
    }
    about
}

/// The day's facts, then a section for each list that has something in it.
pub fn sections(evening: &Evening) -> Vec<Section> {
    let fact = |word: &str, said: String| (word.to_owned(), visible(&said));
    let mut facts = vec![fact("On site", evening.crew_in_words())];
    facts.extend(evening.talk.iter().map(|talk| fact("Talk", talk.clone())));
    if !evening.hazards.is_empty() {
        facts.push(fact("Hazards", evening.hazards.join("; ")));
    }
    facts.extend(evening.remarks.iter().map(|remark| fact("Remark", remark.clone())));
    facts.push(fact("Pace", evening.pace.clone()));
    facts.extend(evening.head.iter().map(|head| fact("Check", head.clone())));
    let mut sections =
        vec![Section { id: "day".to_owned(), title: "The day".to_owned(), blocks: vec![Block::Facts { facts }] }];
    for (heading, list) in evening.lists() {
        let items: Vec<String> = list.iter().map(|line| visible(line)).collect();
        if !items.is_empty() {
            let id = heading.to_lowercase().replace(' ', "-");
            sections.push(Section { id, title: heading.to_owned(), blocks: vec![Block::List { items }] });
        }
    }
    sections
}

//! R12: a site day is opened, joined, left and closed.

use std::collections::BTreeMap;

use super::context::{
    Context, DecideError, Decision, Dependence, Request, all_spelled, day_then, in_field, input, no_day,
    spelled_if_known,
};
use crate::day::facts::Day;
use crate::moment::{Moment, day as day_words};
use crate::plain::quoted;
use crate::record::{Body, CloseDay, JoinDay, LeaveDay, OpenDay};
use crate::refusal::{Clears, Refusal, Remedy, Rule};
use crate::units::number::{shortened, show};

/// Longest day that anybody is recorded to have worked.
const MOST_HOURS: f64 = 24.0;

impl Request for OpenDay {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let crew = all_spelled(context.state, &self.crew)?;
        if crew.is_empty() {
            return in_field("crew", " is empty: say who is on site");
        }
        if let Some(day) = context.state.open_day() {
            let why = format!("the day of {} is still open", day_words(day.date, context.at.date()));
            let earlier = day.date != context.at.date();
            let words = if earlier { "close it first, with the time it ended" } else { "close it first" };
            let clears = Clears::from(words).by(Remedy::CloseDay { earlier });
            return Err(Refusal::new(Rule::OpenDay, "open a site day", why, clears).into());
        }
        Ok(Body::DayOpened(Self { crew, ..self.clone() }).into())
    }
}

impl Request for JoinDay {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let crew = all_spelled(context.state, &self.crew)?;
        day_then(context.state, context.at, "join the crew")?;
        Ok(Body::DayJoined(Self { crew }).into())
    }
}

impl Request for LeaveDay {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let crew = all_spelled(context.state, &self.crew)?;
        let day = day_then(context.state, context.at, "leave the site")?;
        let what = |name: &str| format!("record that {name} left");
        if let Some(absent) = crew.iter().find(|name| !day.is_on_site(name, context.at)) {
            let command = format!(": cladlog day join --crew {} --at TIME", quoted(absent));
            let clears = Clears::from(format!("record first when {absent} came")).typed(&command);
            let why = not_on_site(day, absent, context.at);
            return Err(Refusal::new(Rule::OpenDay, what(absent), why, clears).into());
        }
        if day.crew_at(context.at).all(|name| crew.iter().any(|leaves| leaves == name)) {
            let clears = Clears::from("close the day instead").by(Remedy::CloseDay { earlier: false });
            let what = what(&crew.join(", "));
            return Err(Refusal::new(Rule::OpenDay, what, "nobody would be left on site", clears).into());
        }
        Ok(Body::DayLeft(Self { crew }).into())
    }
}

/// Why somebody is not on site at a moment.
pub(super) fn not_on_site(day: &Day, name: &str, at: Moment) -> String {
    let left = day.crew.iter().rev().filter(|stay| stay.name == name).find_map(|stay| stay.until);
    match left.filter(|left| *left <= at) {
        Some(left) => format!("{name} left at {}", left.clock(at.date())),
        None => format!("{name} is not on the crew of {}", day_words(day.date, at.date())),
    }
}

impl Request for CloseDay {
    fn decide(&self, context: &Context<'_>) -> Result<Decision, DecideError> {
        let day = context.state.open_day().ok_or_else(|| no_day("close the day"))?;
        // What was recorded since may have closed it: its hours would be put down to another day.
        let since = context.book.state.days.iter().find(|one| one.is_same(day)).and_then(|one| one.closed_at);
        if let Some(closed) = since {
            let today = context.at.date();
            let (date, closed) = (day_words(day.date, today), closed.clock(today));
            let why = format!("the day of {date} is already closed, at {closed}");
            let clears = "strike the entry that closed it, then close it again";
            return Err(Refusal::new(Rule::OpenDay, "close the day", why, clears).into());
        }
        let mut hours: BTreeMap<String, f64> = BTreeMap::new();
        for (typed, worked) in &self.hours {
            let name = spelled_if_known(context.state, typed);
            if hours.insert(name.clone(), *worked).is_some() {
                return input(format!("the hours of {name} are given twice"));
            }
        }
        let installers = context.state.installers(day).map(|one| one.name);
        let missing: Vec<&str> = installers.filter(|name| !hours.contains_key(*name)).collect();
        if !missing.is_empty() {
            let missing = missing.into_iter().map(str::to_owned).collect();
            return Err(DecideError::NoHours(missing));
        }
        for (name, worked) in &hours {
            if !day.crew.iter().any(|stay| stay.name == *name) {
                return input(format!("{} is not on the crew of that day", shortened(name)));
            }
            if !(0.0..=MOST_HOURS).contains(worked) {
                return input(format!("{name}: {worked} hours is outside 0 to 24"));
            }
            let others = context.book.state.days.iter().filter(|other| other.date == day.date && !other.is_same(day));
            let already: f64 = others.filter_map(|other| other.hours.get(name)).sum();
            if already + worked > MOST_HOURS {
                let (date, already, worked) = (day_words(day.date, context.at.date()), show(already), show(*worked));
                let why = format!("{name} already has {already} hours on {date}; with {worked} more that is over 24");
                let example = quoted(&format!("{name}=0"));
                let clears = Clears::from("give only the hours worked since that day was closed")
                    .typed(&format!(", such as --hours {example}"));
                return Err(Refusal::new(Rule::OpenDay, "close the day", why, clears).into());
            }
        }
        let unless_depended_on = Some(Dependence {
            what: format!("close the day of {}", day_words(day.date, context.now.date())),
            clears: Clears::from("give the time that it ended, after the last of them")
                .typed(": cladlog day close --at TIME"),
        });
        Ok(Decision { unless_depended_on, ..Body::DayClosed(Self { hours, ..self.clone() }).into() })
    }
}

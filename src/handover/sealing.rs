//! The sealing as the pack tells it: each joint's clock against its window, the weather that it was sealed in, the plans
//! that were followed and the forecasts that they were made by.

use serde::Serialize;

use super::document::{Document, WindowTold};
use super::pack::Drawing;
use super::sheets::{Block, Section, lines, table, text};
use super::text::{clock_on, when};
use crate::conditions::dew;
use crate::conditions::shade::{Facing, day, offset_at_noon};
use crate::conditions::sun::Place;
use crate::day::{Book, PlannedTask, Reading, SealPlan, State};
use crate::moment::{Moment, span};
use crate::record::{AddForecast, Body};
use crate::sealing::plan::{Labels, drawing};
use crate::units::number::show;
use crate::units::{Angle, Humidity, Temperature};

/// One priming of a joint, and what became of it.
#[derive(Debug, Clone, Serialize)]
pub struct JointTold {
    /// The joint.
    pub subject: String,
    /// The part of the building.
    pub part: String,
    /// When it was primed.
    pub primed_at: Moment,
    /// When it might be gunned.
    pub opens_at: Moment,
    /// Until when.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub closes_at: Option<Moment>,
    /// When it was gunned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gunned_at: Option<Moment>,
    /// How the window ended: met, early, late, lapsed, again, running.
    pub state: &'static str,
    /// The same in words.
    pub says: String,
    /// The weather that it was primed in, as far as it was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub primed_in: Option<WeatherTold>,
    /// The weather that it was gunned in, as far as it was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub weather: Option<WeatherTold>,
    /// Whether the wall stood in direct sun by the almanac; absent where place or bearing is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_sun: Option<bool>,
}

/// The last reading before, or where there is none the first one after.
#[derive(Debug, Clone, Serialize)]
pub struct WeatherTold {
    /// Id of the entry.
    pub reading: String,
    /// Minutes from the reading to the work; negative when it was read afterwards.
    pub age_min: i64,
    /// Surface, °C.
    pub surface_c: f64,
    /// Surface over the dew point, °C, to a tenth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dew_margin_c: Option<f64>,
    /// Rain on the wall.
    pub rain: bool,
}

/// A forecast that was taken up.
#[derive(Debug, Clone, Serialize)]
pub struct ForecastTold {
    /// Id of the entry.
    pub entry: String,
    /// When it was taken up.
    pub at: Moment,
    /// Where it comes from.
    pub source: String,
    /// Its hours, in words.
    pub hours: String,
}

/// A seal plan that was kept.
#[derive(Debug, Clone, Serialize)]
pub struct SealPlanTold {
    /// Id of the entry.
    pub entry: String,
    /// When it was kept.
    pub at: Moment,
    /// What it comes to.
    pub says: String,
    /// Who does what, a line each, in time.
    pub stints: Vec<StintTold>,
    /// Joints left out, and why.
    pub left_out: Vec<String>,
    /// What rates and window rest on.
    pub basis: Vec<String>,
    /// Its drawing.
    #[serde(skip)]
    pub svg: String,
}

/// One thing that a plan asks of one person.
#[derive(Debug, Clone, Serialize)]
pub struct StintTold {
    /// Who.
    pub person: String,
    /// When, from and to.
    pub when: String,
    /// What.
    pub what: String,
}

/// Every priming of every joint, in the order of the windows told.
pub(super) fn joints(state: &State, windows: &[WindowTold]) -> Vec<JointTold> {
    let Some(sealing) = state.sequence().sealing() else { return Vec::new() };
    let key = &state.sequence().windows[sealing.window].key;
    let of = |window: &WindowTold| {
        let gunned = window.answered_at;
        JointTold {
            subject: window.subject.clone(),
            part: window.part.clone(),
            primed_at: window.began_at,
            opens_at: window.opens_at,
            closes_at: window.closes_at,
            gunned_at: gunned,
            state: window.state,
            says: window.says.clone(),
            primed_in: weather(state, &window.part, window.began_at),
            weather: gunned.and_then(|at| weather(state, &window.part, at)),
            in_sun: gunned.and_then(|at| in_sun(state, &window.part, at)),
        }
    };
    windows.iter().filter(|window| window.key == *key).map(of).collect()
}

fn weather(state: &State, wall: &str, at: Moment) -> Option<WeatherTold> {
    // What was read before says what it was sealed in; what was read afterwards only where there is nothing else.
    let readings = state.readings(state.subjects.index(wall)?);
    let nearest: &Reading = readings.iter().rev().find(|reading| reading.at <= at).or(readings.first())?;
    let (air, humidity) = (Temperature::celsius(nearest.air_c), Humidity::percent(nearest.humidity_pct));
    let margin = dew::dew_point(air, humidity).ok().map(|dew| nearest.surface_c - dew.as_celsius());
    Some(WeatherTold {
        reading: nearest.entry.to_string(),
        age_min: (at - nearest.at).num_minutes(),
        surface_c: nearest.surface_c,
        dew_margin_c: margin.map(|margin| (margin * 10.0).round() / 10.0),
        rain: nearest.rain,
    })
}

/// Whether a wall stands in direct sun, by its bearing and its own horizon.
fn in_sun(state: &State, wall: &str, at: Moment) -> Option<bool> {
    let wall = state.job.wall(wall)?;
    let degrees = |value: Option<f64>| value.map(Angle::degrees);
    let place = Place::new(degrees(state.job.latitude_deg)?, degrees(state.job.longitude_deg)?).ok()?;
    let facing = Facing::new(degrees(wall.bearing_deg)?).ok()?;
    let facing = match degrees(wall.horizon_deg) {
        Some(horizon) => facing.with_horizon(horizon).ok()?,
        None => facing,
    };
    let date = at.date();
    let sun = day(&place, date, offset_at_noon(date, state.job.time_zone), &[facing]).ok()?;
    Some(sun.walls.first()?.lit.iter().any(|lit| lit.from <= at && at < lit.to))
}

/// The forecasts that were taken up and not struck, in the order of the record.
pub(super) fn forecasts(book: &Book) -> Vec<ForecastTold> {
    let told = |entry: &crate::record::Entry| {
        let Body::ForecastAdded(AddForecast { source, hours }) = &entry.body else { return None };
        let (first, last) = hours.first().zip(hours.last())?;
        let wet = hours.iter().filter(|hour| hour.rain).count();
        let (low, high) =
            hours.iter().fold((f64::MAX, f64::MIN), |(low, high), hour| (low.min(hour.air_c), high.max(hour.air_c)));
        Some(ForecastTold {
            entry: entry.id().to_string(),
            at: entry.happened_at,
            source: source.clone().unwrap_or_else(|| "not said".to_owned()),
            hours: format!(
                "{} to {}: air {} to {} °C, rain in {wet} of {} hours",
                when(&first.at),
                clock_on(&last.at, &first.at),
                show(low),
                show(high),
                hours.len()
            ),
        })
    };
    let counts = |entry: &&crate::record::Entry| !book.state.struck.contains_key(&entry.id());
    book.entries.iter().filter(counts).filter_map(told).collect()
}

/// The seal plans that were kept.
pub(super) fn plans(state: &State, made_at: Moment) -> Vec<SealPlanTold> {
    state.seal_plans.iter().map(|plan| told_plan(state, plan, made_at)).collect()
}

fn told_plan(state: &State, plan: &SealPlan, made_at: Moment) -> SealPlanTold {
    let things = state.planned_tasks(plan, made_at).unwrap_or_default();
    let stint = |thing: &PlannedTask| StintTold {
        person: thing.person.clone(),
        when: format!("{} to {}", thing.at.format("%H:%M"), thing.until.format("%H:%M")),
        what: thing.doing(),
    };
    let (sealed, left) = (plan.timetable.joints.len(), plan.timetable.left_out.len());
    let finish =
        plan.timetable.finish_at.map(|at| format!(", finished by {}", clock_on(&at, &plan.at))).unwrap_or_default();
    let people = &plan.inputs.people;
    let svg = plan.drawn().map(|(day, made)| {
        let labels = Labels { people, sun: "Sun on", shut: "sun, or out of limits" };
        drawing(&day, &made, &labels)
    });
    SealPlanTold {
        entry: plan.entry.to_string(),
        at: plan.at,
        says: format!("{sealed} of {} joints, {}{finish}", sealed + left, people.join(", ")),
        stints: things.iter().map(stint).collect(),
        basis: plan.inputs.basis.clone(),
        left_out: plan.timetable.left_out.iter().map(|left| format!("{}: {}", left.id, left.why)).collect(),
        svg: svg.unwrap_or_default(),
    }
}

/// The drawings of the plans.
pub(super) fn drawings(document: &Document) -> Vec<Drawing> {
    let drawn = document.seal_plans.iter().enumerate().filter(|(_, plan)| !plan.svg.is_empty());
    drawn
        .map(|(place, plan)| Drawing {
            name: drawing_name(place),
            path: format!("drawings/seal-plan-{}.svg", place + 1),
            described: format!("Seal plan kept {}: {}", when(&plan.at), plan.says),
            svg: plan.svg.clone(),
        })
        .collect()
}

fn drawing_name(place: usize) -> String {
    format!("seal plan {}", place + 1)
}

/// The table of a wall's joints: clock and weather.
pub(super) fn joints_of(document: &Document, part: &str) -> Option<Block> {
    let rows: Vec<Vec<String>> = document
        .joints
        .iter()
        .filter(|joint| joint.part == part)
        .map(|joint| {
            let day = &joint.primed_at;
            let closes = joint.closes_at.as_ref().map(|at| format!(" to {}", clock_on(at, day))).unwrap_or_default();
            let sun = match joint.in_sun {
                Some(true) => "in direct sun",
                Some(false) => "in shade",
                None => "",
            };
            let weather =
                |weather: &Option<WeatherTold>| weather.as_ref().map(WeatherTold::in_words).unwrap_or_default();
            vec![
                joint.subject.clone(),
                lines([when(day), weather(&joint.primed_in)]),
                format!("{}{closes}", clock_on(&joint.opens_at, day)),
                joint.gunned_at.as_ref().map(|at| clock_on(at, day)).unwrap_or_default(),
                joint.says.clone(),
                lines([weather(&joint.weather), sun.to_owned()]),
            ]
        })
        .collect();
    let columns =
        [("Joint", 3), ("Primed, in", 8), ("Window", 5), ("Gunned", 4), ("How it ended", 6), ("Sealed in", 8)];
    (!rows.is_empty())
        .then(|| table("Joints: the clock of each, and the weather it was primed and sealed in", &columns, rows, ""))
}

impl WeatherTold {
    /// "Surface 21 °C", how far it stands over the dew point, and how old the reading is: a line each.
    fn in_words(&self) -> String {
        lines([
            format!("Surface {} °C{}", show(self.surface_c), if self.rain { ", RAIN" } else { "" }),
            match self.dew_margin_c {
                Some(margin) if margin < 0.0 => format!("{} °C UNDER the dew point", show(-margin)),
                Some(margin) => format!("{} °C over the dew point", show(margin)),
                None => String::new(),
            },
            format!("Read {} ({})", age(self.age_min), self.reading),
        ])
    }
}

fn age(minutes: i64) -> String {
    let long = span(chrono::TimeDelta::minutes(minutes.abs()));
    match minutes {
        0 => "at the same time".to_owned(),
        m if m > 0 => format!("{long} before"),
        _ => format!("{long} after"),
    }
}

/// The plans and the forecasts, where there are any.
pub(super) fn section(document: &Document) -> Option<Section> {
    if document.seal_plans.is_empty() && document.forecasts.is_empty() {
        return None;
    }
    let mut blocks = vec![text(
        "A plan says what was meant, a forecast what was foreseen; neither is evidence of what was done or of the weather. \
         What was done and read stands with each wall.",
    )];
    for (place, plan) in document.seal_plans.iter().enumerate() {
        blocks.push(text(format!(
            "Seal plan {}, kept {} (entry {}): {}.",
            place + 1,
            when(&plan.at),
            plan.entry,
            plan.says
        )));
        if !plan.svg.is_empty() {
            blocks.push(Block::Drawing { name: drawing_name(place) });
        }
        let mut people: Vec<&str> = plan.stints.iter().map(|stint| stint.person.as_str()).collect();
        people.sort_unstable();
        people.dedup();
        let rows = people
            .into_iter()
            .map(|person| {
                let own = plan.stints.iter().filter(|stint| stint.person == person);
                let said = own.map(|stint| format!("{} {}", stint.when, stint.what)).collect::<Vec<_>>();
                vec![person.to_owned(), said.join("\n")]
            })
            .collect();
        blocks.push(table("Timetable by person", &[("Who", 2), ("What", 8)], rows, "Nothing was planned."));
        blocks.push(text(format!("It rests on {}.", plan.basis.join("; "))));
        if !plan.left_out.is_empty() {
            blocks.push(text("Left out, not to be primed:"));
            let items = plan.left_out.iter().map(|left| crate::plain::visible(left)).collect();
            blocks.push(Block::List { items });
        }
    }
    let rows = document
        .forecasts
        .iter()
        .map(|forecast| {
            vec![when(&forecast.at), forecast.source.clone(), forecast.hours.clone(), forecast.entry.clone()]
        })
        .collect();
    let columns = [("Taken up", 3), ("Source", 4), ("Foreseen", 7), ("Entry", 3)];
    blocks.push(table("Forecasts: foreseen, not read", &columns, rows, "No forecast was taken up."));
    Some(Section { id: "sealing".to_owned(), title: "Seal plans and forecasts".to_owned(), blocks })
}

/// The table of the joints as CSV.
pub(super) fn joints_csv(document: &Document) -> Vec<Vec<String>> {
    let heading = [
        "joint",
        "wall",
        "primed_at",
        "opens_at",
        "closes_at",
        "gunned_at",
        "state",
        "says",
        "reading",
        "reading_age_min",
        "surface_c",
        "dew_margin_c",
        "rain",
        "in_sun",
        "primed_reading",
        "primed_reading_age_min",
        "primed_surface_c",
        "primed_dew_margin_c",
        "primed_rain",
    ];
    let yes = |flag: bool| if flag { "yes" } else { "no" }.to_owned();
    let time = |at: &Option<Moment>| at.as_ref().map(Moment::to_string).unwrap_or_default();
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    rows.extend(document.joints.iter().map(|joint| {
        let read = |weather: &Option<WeatherTold>| match weather {
            Some(weather) => [
                weather.reading.clone(),
                weather.age_min.to_string(),
                weather.surface_c.to_string(),
                weather.dew_margin_c.map(|margin| margin.to_string()).unwrap_or_default(),
                yes(weather.rain),
            ],
            None => std::array::from_fn(|_| String::new()),
        };
        let mut row = vec![
            joint.subject.clone(),
            joint.part.clone(),
            joint.primed_at.to_string(),
            joint.opens_at.to_string(),
            time(&joint.closes_at),
            time(&joint.gunned_at),
            joint.state.to_owned(),
            joint.says.clone(),
        ];
        row.extend(read(&joint.weather));
        row.push(joint.in_sun.map(yes).unwrap_or_default());
        row.extend(read(&joint.primed_in));
        row
    }));
    rows
}

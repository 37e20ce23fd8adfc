//! Reads a sealing day from TOML.

use chrono::DateTime;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::day::Day;
use super::given::{GivenDay, GivenJoint, GivenRates, GivenSpan, GivenWall, GivenWindow};
use crate::form::{Checked, Count, Exact, Flag, Mistake, Name, OneOrMore, Section, Time, read, table, tables};
use crate::moment::Moment;

/// The crew where the file does not say.
const USUAL_CREW: i64 = 2;

/// Reads a day from the text of a TOML file and checks it.
///
/// # Errors
/// Every mistake with its place: of TOML, of the fields, or found by [`Day::new`].
pub fn read_toml(text: &str) -> Result<Day, Vec<Mistake>> {
    let checked = |f: &Section<'_>| {
        let given = day_form(f);
        // What stands in for a field that is wrong is not judged.
        let day = f.is_clean().then(|| Day::new(&given))?;
        let note = |error: &super::error::DayError| f.mistake_under(&error.at, error.what.to_string());
        day.inspect_err(|errors| errors.0.iter().for_each(note)).ok()
    };
    read(text, "sealing day", checked)?.ok_or_else(Vec::new)
}

/// The fields of a sealing day.
pub fn day_form(f: &Section<'_>) -> GivenDay {
    let people = |people: Decimal| match people.is_integer() {
        true => people.to_i64().ok_or_else(|| "is too large".to_owned()),
        false => Err("must be a whole number of people, such as 2".to_owned()),
    };
    let crew = f.optional("crew", Checked(Exact, people), "how many people; 2 when left out");
    GivenDay {
        from: time(f, "from", "when the work may begin"),
        until: time(f, "until", "when it must have ended"),
        crew: crew.unwrap_or(USUAL_CREW),
        tape_off_within_min: f.required(
            "tape_off_within_min",
            Exact,
            "most minutes from gunning to taking the tape off",
        ),
        from_bead: f.or_default(
            "from_bead",
            Flag,
            "that time counts from the beginning of gunning to the end of taking off",
        ),
        dry_after_gun_min: f.or_default("dry_after_gun_min", Exact, "minutes without rain after gunning"),
        dry_before_min: f.optional(
            "dry_before_min",
            Exact,
            "masking and priming miss rain and so many minutes after it",
        ),
        window: f.required("window", table("window", window), "the time from priming to gunning"),
        rates: f.required("rates", table("table of rates", rates), "how long the work takes"),
        rain: f.or_default("rain", tables("rain", span), "when it rains"),
        out_of_limits: Vec::new(),
        walls: f.or_default("wall", tables("wall", wall), "the walls, one [[wall]] each"),
        joints: f.or_default("joint", tables("joint", joint), "the joints, one [[joint]] each"),
    }
}

fn window(f: &Section<'_>) -> GivenWindow {
    GivenWindow {
        earliest_min: f.required("earliest_min", Exact, "least minutes from the end of priming to gunning"),
        latest_min: f.required("latest_min", Exact, "most minutes from priming to the end of gunning"),
        margin_min: f.required("margin_min", Exact, "minutes kept in hand before the latest"),
    }
}

fn rates(f: &Section<'_>) -> GivenRates {
    GivenRates {
        mask_min_per_m: f.required("mask_min_per_m", Exact, "masking both sides, minutes a metre"),
        prime_min_per_m: f.required("prime_min_per_m", Exact, "priming, minutes a metre"),
        gun_min_per_m: f.required("gun_min_per_m", Exact, "gunning and tooling, minutes a metre"),
        tape_off_min_per_m: f.required("tape_off_min_per_m", Exact, "taking the tape off, minutes a metre"),
    }
}

fn wall(f: &Section<'_>) -> GivenWall {
    GivenWall {
        key: f.required("key", Name, "key of the wall"),
        sun: f.or_default("sun", tables("time of sun", span), "when the sun is on it"),
    }
}

fn joint(f: &Section<'_>) -> GivenJoint {
    GivenJoint {
        id: f.required("id", Name, "id of the joint"),
        walls: f.required("wall", OneOrMore(Name), "key of its wall, or a list of them"),
        length_m: f.required("length_m", Exact, "its length in metres"),
        beads: f
            .optional("beads", Count(1, 100), "in how many beads, each untaped before the next; 1 when left out")
            .unwrap_or(1),
        masked: false,
        primed_from: None,
        primed_at: None,
    }
}

fn span(f: &Section<'_>) -> GivenSpan {
    GivenSpan { from: time(f, "from", "when it begins"), to: time(f, "to", "when it ends") }
}

fn time(f: &Section<'_>, key: &'static str, doc: &'static str) -> Moment {
    f.try_required(key, Time, doc).unwrap_or_else(|| Moment::from(DateTime::UNIX_EPOCH))
}

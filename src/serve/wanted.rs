//! What a form asks to be recorded: fields → request. Numbers are read as the command line reads them; whether it is in
//! order is for the rules to say.

use super::context::Typed;
use super::form::{check_fields, fields};
use super::http_error::HttpError;
use crate::conditions::beaufort::parse_force;
use crate::day::{Given, InOneGo, RecordStep, Request, State, Value, readings_by_place, time_before};
use crate::materials::product::Amount;
use crate::moment::{Moment, parse_date};
use crate::record::{
    AcknowledgeCaution, AddExtra, AddNote, AskRelease, CloseDay, CloseDefect, ConcedeDefect, DefectId, DeliverBatch,
    EndStoppage, JoinDay, LeaveDay, OpenDay, OpenDefect, RefuseHold, ReleaseHold, StartStoppage, StockUse, TakeReading,
    TakeStock,
};
use crate::units::number::with_point;
use crate::units::{parse_decimal, parse_hours};

/// What a phone wants recorded, in one transaction; each with the time that it happened, where it has one of its own.
pub type Wanted = Vec<(Box<dyn Request + Send>, Option<Moment>)>;

/// One request, to be recorded by itself.
pub fn alone(request: impl Request + Send + 'static) -> Wanted {
    vec![(Box::new(request), None)]
}

/// A field that has to be there.
fn need<'t>(typed: &'t Typed, name: &str) -> Result<&'t str, HttpError> {
    typed.get(name).ok_or_else(|| HttpError::in_field(name, format!("{name} is missing")))
}

/// A field that holds a number, where it holds anything.
fn number(typed: &Typed, name: &str) -> Result<Option<f64>, HttpError> {
    let read = |text: &str| {
        parse_decimal(&with_point(text.trim())).map_err(|error| HttpError::in_field(name, format!("{name}: {error}")))
    };
    typed.get(name).map(read).transpose()
}

/// A box that is ticked.
fn ticked(typed: &Typed, name: &str) -> bool {
    typed.get(name).is_some()
}

fn owned(text: Option<&str>) -> Option<String> {
    text.map(str::to_owned)
}

fn each(typed: &Typed, name: &str) -> Vec<String> {
    typed.all(name).map(str::to_owned).collect()
}

/// Names, which one field may hold several of, with commas between.
fn names(typed: &Typed, name: &str) -> Vec<String> {
    let names = typed.all(name).flat_map(|names| names.split(','));
    names.map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).collect()
}

/// An answer by the name of its field: `KEY`, or `KEY@SUBJECT` for one of several subjects alone.
pub fn given(name: &str, value: Value) -> Given {
    match name.split_once('@') {
        Some((key, subject)) => Given { subject: Some(subject.to_owned()), key: key.to_owned(), value },
        None => Given { subject: None, key: name.to_owned(), value },
    }
}

/// A number as people write it, with a decimal comma; any other text as it is.
fn as_number(text: &str) -> String {
    let with_point = with_point(text.trim());
    if parse_decimal(&with_point).is_ok() { with_point } else { text.to_owned() }
}

/// `step`, `on`, `answer:KEY` or `answer:KEY@SUBJECT`, `beside:KEY` for more of the same answer, `began`, `anyway` with
/// `why`. Photos among the answers come apart.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn step(typed: &Typed) -> Result<RecordStep, HttpError> {
    let answers = typed.0.iter().filter(|(_, text)| !text.trim().is_empty());
    let answers = answers.filter_map(|(name, text)| Some((name.strip_prefix("answer:")?, text)));
    let whole = |name: &str, text: &str| {
        let beside = format!("beside:{name}");
        std::iter::once(text).chain(typed.all(&beside)).map(as_number).collect::<Vec<_>>().join(" ")
    };
    let answers = answers.map(|(name, text)| given(name, Value::Typed(whole(name, text)))).collect();
    let anyway = if ticked(typed, "anyway") { Some(need(typed, "why")?.to_owned()) } else { None };
    Ok(RecordStep {
        step: need(typed, "step")?.to_owned(),
        subject: need(typed, "on")?.to_owned(),
        answers,
        began: owned(typed.get("began")),
        anyway,
    })
}

/// What [`step`] takes; `began` may be a time or so many minutes ago, `began_at` goes before it. `so_far` is the last of
/// the steps that were done at once after this one, each at `time:STEP` where it was not at `at`.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn in_one_go(typed: &Typed, state: &State, at: Moment) -> Result<Vec<(RecordStep, Moment)>, HttpError> {
    let first = step(typed)?;
    let steps = &state.sequence().steps;
    let index = state.sequence().step(&first.step);
    let (Some(index), Ok(subjects)) = (index, state.subjects.parse(&first.subject)) else {
        // The rules say what is wrong with it.
        return Ok(vec![(first, at)]);
    };
    let mut go = InOneGo::from(state, index, &subjects);
    let so_far = typed.get("so_far").filter(|last| **last != *first.step);
    let last = so_far.map(|last| {
        let found = go.following().iter().position(|step| steps[*step].key == last);
        found.ok_or_else(|| HttpError::in_field("so_far", "this does not follow the step at once"))
    });
    go.truncate(last.transpose()?.map_or(0, |last| last + 1));
    let time = |field: &str| {
        let read = |text: &str| time_before(text.trim(), at, state.job.time_zone);
        typed.get(field).map(read).transpose().map_err(|why| HttpError::in_field(field, why))
    };
    // A time of the clock says more than so many minutes.
    let mut times = vec![time("began_at")?.map_or_else(|| time("began"), |at| Ok(Some(at)))?];
    for step in go.following() {
        times.push(time(&format!("time:{}", steps[*step].key))?);
    }
    if go.counts_from_its_beginning() && times.len() > 1 && times[0].is_none() {
        return Err(HttpError::in_field("began", "say when it was begun"));
    }
    go.timed(first, &times, at).map_err(|why| HttpError::in_field("began", why))
}

/// `on` one wall or several, `air`, `humidity`, `surface` or `surface@WALL`, `wind` or `beaufort`, `rain`, `dry`. The wind
/// counts for the whole site.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn reading(typed: &Typed) -> Result<Vec<TakeReading>, HttpError> {
    let force =
        |text: &str| parse_force(text).map_err(|error| HttpError::in_field("beaufort", format!("beaufort: {error}")));
    let (wind_kmh, beaufort) = (number(typed, "wind")?, typed.get("beaufort").map(force).transpose()?);
    if wind_kmh.is_some() && beaufort.is_some() {
        return Err(HttpError::in_field("beaufort", "give the wind in km/h or as a force, not both"));
    }
    let read = TakeReading {
        subject: need(typed, "on")?.to_owned(),
        air_c: number(typed, "air")?,
        humidity_pct: number(typed, "humidity")?,
        surface_c: number(typed, "surface")?,
        wind_kmh,
        beaufort,
        rain: typed.get("rain").is_some_and(|rain| rain != "no"),
        dry: ticked(typed, "dry") || typed.get("rain") == Some("no"),
    };
    if read.subject == "job" {
        return Ok(vec![read]);
    }
    let surface = |wall: &str| Ok((wall.to_owned(), number(typed, &format!("surface@{wall}"))?.or(read.surface_c)));
    let walls = read.subject.split(',').map(|wall| surface(wall.trim())).collect::<Result<Vec<_>, HttpError>>()?;
    if read.wind_kmh.is_some() || read.beaufort.is_some() {
        return Ok(readings_by_place(&read, &walls));
    }
    Ok(walls.into_iter().map(|(subject, surface_c)| TakeReading { subject, surface_c, ..read.clone() }).collect())
}

/// `key`; each for themselves.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn caution(typed: &Typed, person: &str) -> Result<AcknowledgeCaution, HttpError> {
    Ok(AcknowledgeCaution { caution: need(typed, "key")?.to_owned(), people: vec![person.to_owned()] })
}

/// `key`, `on`, `what` (`ask`, `release`, `refuse`), `how` and `evidence`, or `reason`; each for themselves.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn hold(typed: &Typed, person: &str) -> Result<Wanted, HttpError> {
    let (hold, subject) = (need(typed, "key")?.to_owned(), need(typed, "on")?.to_owned());
    let person = person.to_owned();
    Ok(match need(typed, "what")? {
        "ask" => alone(AskRelease { hold, subject }),
        "release" => {
            let (how, evidence) = (need(typed, "how")?.to_owned(), owned(typed.get("evidence")));
            alone(ReleaseHold { hold, subject, person, how, evidence })
        }
        "refuse" => alone(RefuseHold { hold, subject, person, why: need(typed, "reason")?.to_owned() }),
        _ => return Err(HttpError::in_field("what", "what is ask, release or refuse")),
    })
}

/// `what` (`start`, `end`), `on`, `rain`, `reason`, `told`, `stoppage`, `note`.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn stoppage(typed: &Typed) -> Result<Wanted, HttpError> {
    let id = |text: &str| text.parse().map_err(|_| HttpError::in_field("stoppage", "stoppage is no id of an entry"));
    Ok(match need(typed, "what")? {
        "start" => alone(StartStoppage {
            subject: typed.get("on").unwrap_or("job").to_owned(),
            cause: typed.get("reason").unwrap_or_default().to_owned(),
            notified: names(typed, "told"),
            rain: ticked(typed, "rain"),
            people: None,
        }),
        "end" => {
            alone(EndStoppage { stoppage: typed.get("stoppage").map(id).transpose()?, note: owned(typed.get("note")) })
        }
        _ => return Err(HttpError::in_field("what", "what is start or end")),
    })
}

/// `on`, `text`.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn note(typed: &Typed) -> Result<AddNote, HttpError> {
    let subject = typed.get("on").unwrap_or("job").to_owned();
    Ok(AddNote { subject, text: need(typed, "text")?.to_owned() })
}

/// `what` (`open`, `close`, `join`, `leave`), `crew`, `talk`, `hazard`, `hours:NAME`, `note`. Whoever opens the day says who
/// is there; otherwise each for themselves.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn day(typed: &Typed, person: &str) -> Result<Wanted, HttpError> {
    Ok(match need(typed, "what")? {
        "open" => {
            alone(OpenDay { crew: each(typed, "crew"), talk: owned(typed.get("talk")), hazards: each(typed, "hazard") })
        }
        "close" => {
            let hours = typed.0.iter().filter_map(|(name, text)| Some((name, name.strip_prefix("hours:")?, text)));
            let hours = hours.map(|(field, name, text)| match parse_hours(text.trim()) {
                Ok(hours) => Ok((name.to_owned(), hours)),
                Err(why) => Err(HttpError::in_field(field, format!("hours of {name}: {why}"))),
            });
            alone(CloseDay { hours: hours.collect::<Result<_, _>>()?, note: owned(typed.get("note")) })
        }
        "join" => alone(JoinDay { crew: vec![person.to_owned()] }),
        "leave" => alone(LeaveDay { crew: vec![person.to_owned()] }),
        _ => return Err(HttpError::in_field("what", "what is open, close, join or leave")),
    })
}

/// A defect is seen, or done with.
pub struct Defect {
    /// What is recorded of it.
    pub wanted: Wanted,
    /// Id of the subject, where it is known.
    pub on: Option<String>,
    /// What is said of a photo that comes with it.
    pub note: String,
}

/// `what` (`open`, `close`, `concede`), `on` or `defect`, `text`; each for themselves. `subject_of` a defect is asked of the
/// record.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn defect(
    typed: &Typed,
    person: &str,
    subject_of: impl Fn(&DefectId) -> Option<String>,
) -> Result<Defect, HttpError> {
    let (text, person) = (need(typed, "text")?.to_owned(), person.to_owned());
    let id = || -> Result<DefectId, HttpError> {
        let id = need(typed, "defect")?.parse();
        id.map_err(|_| HttpError::in_field("defect", "defect is not the id of a defect"))
    };
    Ok(match need(typed, "what")? {
        "open" => {
            let (subject, note) = (need(typed, "on")?.to_owned(), format!("Defect: {text}"));
            Defect { on: Some(subject.clone()), note, wanted: alone(OpenDefect { subject, what: text }) }
        }
        "close" => {
            let (defect, note) = (id()?, format!("Put right: {text}"));
            Defect { on: subject_of(&defect), note, wanted: alone(CloseDefect { defect, person, how: text }) }
        }
        "concede" => {
            let (defect, note) = (id()?, format!("May stand: {text}"));
            Defect { on: subject_of(&defect), note, wanted: alone(ConcedeDefect { defect, person, why: text }) }
        }
        _ => return Err(HttpError::in_field("what", "what is open, close or concede")),
    })
}

/// `what` (`deliver`, `take`), `product`, `batch`, `count`; `colour`, `expires`, `condition`, or `how`, `on`; `note`.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn stock(typed: &Typed) -> Result<Wanted, HttpError> {
    let count = |text: &str| {
        Amount::typed(&with_point(text.trim())).map_err(|error| HttpError::in_field("count", format!("count: {error}")))
    };
    let date = |text: &str| parse_date(text).map_err(|error| HttpError::in_field("expires", error.to_string()));
    let (product, batch) = (need(typed, "product")?.to_owned(), need(typed, "batch")?.to_owned());
    let note = owned(typed.get("note"));
    Ok(match need(typed, "what")? {
        "deliver" => alone(DeliverBatch {
            product,
            batch,
            count: count(need(typed, "count")?)?,
            colour: owned(typed.get("colour")),
            expires: typed.get("expires").map(date).transpose()?,
            condition: owned(typed.get("condition")),
            note,
            ..DeliverBatch::default()
        }),
        "take" => {
            let word = need(typed, "how")?;
            let how = [StockUse::Used, StockUse::CutUp, StockUse::OffCut, StockUse::ThrownAway, StockUse::SentBack];
            let how = how.into_iter().find(|how| how.word() == word);
            alone(TakeStock {
                product,
                batch,
                subject: typed.get("on").unwrap_or("job").to_owned(),
                how: how.ok_or_else(|| HttpError::in_field("how", "how is used, thrown-away or sent-back"))?,
                count: typed.get("count").map(count).transpose()?,
                note,
                ..TakeStock::default()
            })
        }
        _ => return Err(HttpError::in_field("what", "what is deliver or take")),
    })
}

/// `on`, `text`, `asked_by`, `told`, `hours`, `people`, `quantity` with `unit`.
///
/// # Errors
/// [`HttpError::Wrong`].
pub fn extra(typed: &Typed) -> Result<AddExtra, HttpError> {
    let people = |text: &str| {
        text.trim().parse().map_err(|_| HttpError::in_field("people", "people: give a whole number, such as 2"))
    };
    Ok(AddExtra {
        subject: typed.get("on").unwrap_or("job").to_owned(),
        what: need(typed, "text")?.to_owned(),
        asked_by: need(typed, "asked_by")?.to_owned(),
        notified: names(typed, "told"),
        hours: number(typed, "hours")?,
        people: typed.get("people").map(people).transpose()?,
        quantity: number(typed, "quantity")?,
        unit: owned(typed.get("unit")),
    })
}

/// The paths that a form can be sent to, by what stands in it; none where it is no form at all, or holds what can't be
/// seen.
///
/// ```
/// assert!(cladlog::serve::paths_of_form(b"step=prime&on=N%2FJ1").contains(&"/record"));
/// assert!(cladlog::serve::paths_of_form(b"step=prime&on=%1B").is_empty());
/// ```
pub fn paths_of_form(body: &[u8]) -> Vec<&'static str> {
    let Ok(typed) = fields(body).and_then(|typed| check_fields(&typed).map(|()| typed)) else { return Vec::new() };
    let person = "somebody";
    let all = [
        ("/record", step(&typed).is_ok()),
        ("/reading", reading(&typed).is_ok()),
        ("/caution", caution(&typed, person).is_ok()),
        ("/hold", hold(&typed, person).is_ok()),
        ("/stoppage", stoppage(&typed).is_ok()),
        ("/note", note(&typed).is_ok()),
        ("/day", day(&typed, person).is_ok()),
        ("/defect", defect(&typed, person, |_| None).is_ok()),
        ("/stock", stock(&typed).is_ok()),
        ("/extra", extra(&typed).is_ok()),
    ];
    all.into_iter().filter_map(|(path, fits)| fits.then_some(path)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(text: &str) -> Typed {
        fields(text.as_bytes()).unwrap()
    }

    #[test]
    fn a_step_has_its_answers_for_all_subjects_or_for_one() {
        let step =
            step(&typed("step=gun&on=N/J1,N/J2&answer:depth=6&answer:depth@N/J2=7&answer:note=&began=10:40")).unwrap();
        let answers: Vec<_> = step.answers.iter().map(|one| (one.key.as_str(), one.subject.as_deref())).collect();
        assert_eq!(answers, [("depth", None), ("depth", Some("N/J2"))]);
        assert_eq!((step.began.as_deref(), step.anyway), (Some("10:40"), None));
    }

    #[test]
    fn what_is_typed_in_several_fields_is_one_answer() {
        let text = "step=frame-square&on=N&answer:out=6552,5&beside:out=6566&beside:out=&beside:out=6000&beside:in=1";
        let step = step(&typed(text)).unwrap();
        let [Given { key, value: Value::Typed(text), .. }] = step.answers.as_slice() else { panic!("{step:?}") };
        assert_eq!((key.as_str(), text.as_str()), ("out", "6552.5 6566 6000"));
    }

    #[test]
    fn anyway_needs_its_reason() {
        assert!(step(&typed("step=gun&on=N/J1&anyway=1")).is_err());
        assert_eq!(step(&typed("step=gun&on=N/J1&anyway=1&why=told+to")).unwrap().anyway.unwrap(), "told to");
        assert_eq!(step(&typed("step=gun&on=N/J1&why=told+to")).unwrap().anyway, None);
    }

    #[test]
    fn a_reading_is_what_was_read_and_no_more() {
        let read = &reading(&typed("on=N&air=-2,5&humidity=60")).unwrap()[0];
        assert_eq!((read.air_c, read.humidity_pct, read.surface_c, read.rain), (Some(-2.5), Some(60.0), None, false));
        for wrong in ["on=N&air=warm", "on=N&beaufort=13", "on=N&wind=20&beaufort=3", "air=2"] {
            assert!(reading(&typed(wrong)).is_err(), "{wrong}");
        }
    }

    #[test]
    fn several_walls_are_read_in_one_form_each_with_its_own_surface() {
        let on = |text: &str| -> Vec<(String, Option<f64>, Option<f64>)> {
            let all = reading(&typed(text)).unwrap().into_iter();
            all.map(|read| (read.subject, read.air_c, read.surface_c)).collect()
        };
        let wall = |key: &str, surface_c| (key.to_owned(), Some(12.0), surface_c);
        let both = [wall("N", Some(14.0)), wall("E", None)];
        assert_eq!(on("on=N,+E&air=12&surface@N=14"), both);
        assert_eq!(on("on=N,+E&air=12&surface@N=14&beaufort=3")[1..], both);
    }

    #[test]
    fn the_wind_counts_for_the_site_and_rain_alone_for_its_wall() {
        let on = |text: &str| -> Vec<(String, Option<u8>, bool)> {
            let all = reading(&typed(text)).unwrap().into_iter();
            all.map(|read| (read.subject, read.beaufort, read.air_c.is_some())).collect()
        };
        let (site, wall) = (("job".to_owned(), Some(5), false), ("N".to_owned(), None, true));
        assert_eq!(on("on=N&air=12&beaufort=5"), [site.clone(), wall]);
        assert_eq!(on("on=N&beaufort=5&rain=no"), [site]);
        assert_eq!(on("on=N&rain=yes"), [("N".to_owned(), None, false)]);
        assert_eq!(on("on=job&beaufort=5&air=12"), [("job".to_owned(), Some(5), true)]);
    }

    #[test]
    fn what_can_not_be_read_is_no_request() {
        let came = |more: &str| stock(&typed(&format!("what=deliver&product=sealant&batch=S-1&{more}")));
        assert!(came("count=2,5&expires=11/2027").is_ok());
        for wrong in ["count=none", "count=2&expires=soon", "count=-1", ""] {
            assert!(came(wrong).is_err(), "{wrong}");
        }
        let taken = |how: &str| stock(&typed(&format!("what=take&product=panel&batch=P-1&how={how}&count=1")));
        assert!(taken("thrown-away").is_ok() && taken("lost").is_err());
        let of = |text: &str| defect(&typed(text), "Ivo", |_| None);
        assert!(of("what=close&defect=demo-7.r8-lean&text=packed").is_ok());
        assert!(of("what=close&defect=seven&text=packed").is_err());
        assert!(hold(&typed("key=cover&on=N&what=open"), "Ines").is_err());
        let asked = extra(&typed("text=Recess&asked_by=Bea&told=Ada,+Sam&hours=1,5&people=2")).unwrap();
        assert_eq!((asked.hours, asked.people, asked.notified), (Some(1.5), Some(2), vec!["Ada".into(), "Sam".into()]));
        assert!(extra(&typed("text=Recess&asked_by=Bea&people=two")).is_err());
    }

    #[test]
    fn a_caution_is_read_by_whoever_holds_the_phone() {
        assert_eq!(caution(&typed("key=dust&person=Bea&people=Bea"), "Ivo").unwrap().people, ["Ivo"]);
    }
}

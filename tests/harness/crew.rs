//! A crew that works a job from the first day to the last through the real rules: big records for benches and tests.

use std::collections::BTreeMap;

use chrono::{TimeDelta, Timelike};

use cladlog::building::{SubjectIx, read_job};
use cladlog::day::{Book, Request, decide, next, release_waits_for, set_up};
use cladlog::moment::Moment;
use cladlog::record::{
    AcknowledgeCaution, AddNote, Answer, Body, CloseDay, Draft, Entry, NO_PREVIOUS, OpenDay, ReleaseHold, StepDone,
    TakeReading,
};
use cladlog::sequence::{self, Ask, AskKind, StepIx};

/// The sequence that the building is clad by.
const EARLIER_PANELS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/sequence/panels-2026-11.toml");

/// The job file of a building with this many walls of 12 courses, 6 joints and 3 openings.
pub fn job_text(key: &str, walls: usize) -> String {
    let mut text = format!(
        "key = \"{key}\"\nname = \"Invented building of {walls} walls\"\ntime_zone = \"Pacific/Auckland\"\n\
         latitude_deg = -41.3\nlongitude_deg = 174.8\nsequence = '{EARLIER_PANELS}'\n"
    );
    for (name, role) in [("Lea", "lead"), ("Ivo", "installer"), ("Bea", "builder"), ("Ines", "inspector")] {
        text.push_str(&format!("[[person]]\nname = \"{name}\"\nroles = [\"{role}\"]\n"));
    }
    for wall in 1..=walls {
        let bearing = (wall * 90) % 360;
        text.push_str(&format!(
            "[[wall]]\nkey = \"W{wall}\"\nname = \"Wall {wall}\"\nlength_mm = 16800\nheight_mm = 7200\n\
             bearing_deg = {bearing}\ncourses = 12\njoints_mm = [2400, 4800, 7200, 9600, 12000, 14400]\n"
        ));
        for (opening, from) in [(1, 600), (2, 5400), (3, 10200)] {
            text.push_str(&format!(
                "[[wall.opening]]\nkey = \"O{opening}\"\nkind = \"window\"\nfrom_mm = {from}\nto_mm = {}\n\
                 sill_mm = 900\nhead_mm = 2100\n",
                from + 1200
            ));
        }
    }
    for corner in 1..walls {
        text.push_str(&format!(
            "[[corner]]\nkey = \"K{corner}\"\nkind = \"preformed\"\nwalls = [\"W{corner}\", \"W{}\"]\n",
            corner + 1
        ));
    }
    text
}

/// A crew at work on one job.
pub struct Crew {
    /// The record so far and what it comes to.
    pub book: Book,
    /// The time on site.
    pub now: Moment,
    device: String,
}

impl Crew {
    /// Sets the job up at seven on a Monday.
    pub fn start(job: &str, device: &str) -> Self {
        let text = std::fs::read_to_string(EARLIER_PANELS);
        let job = read_job(job).unwrap();
        let set_up = set_up(job, &sequence::read(&text.unwrap()).unwrap()).unwrap();
        let now = Moment::parse_from_rfc3339("2026-03-02T07:00:00+13:00").unwrap();
        let key = set_up.building.key.clone();
        let body = Body::JobAdded(set_up);
        let draft = Draft { job: key, happened_at: now, recorded_at: now, by: "Lea".into(), body, rehearsal: true };
        let first = Entry::finalize(draft, device, 1, NO_PREVIOUS, BTreeMap::new()).unwrap();
        Self { book: Book::open(vec![first]).unwrap(), now, device: device.to_owned() }
    }

    /// Works until there are at least this many entries: the building first, then what goes on being noted.
    pub fn work_until(&mut self, entries: usize) {
        while self.book.entries.len() < entries {
            self.day(entries);
        }
    }

    fn day(&mut self, entries: usize) {
        self.ask(&OpenDay {
            crew: vec!["Lea".into(), "Ivo".into()],
            talk: Some("cutting place, scaffold tag, who lifts what".into()),
            hazards: vec!["delivery at nine".into()],
        });
        let cautions: Vec<String> = self.book.state.sequence().cautions.iter().map(|c| c.key.clone()).collect();
        for caution in cautions {
            self.ask(&AcknowledgeCaution { caution, people: vec!["Lea".into(), "Ivo".into()] });
        }
        let evening = self.now + TimeDelta::hours(10);
        while self.now < evening && self.book.entries.len() < entries {
            self.readings();
            let until = self.now + TimeDelta::hours(2);
            while self.now < until && self.book.entries.len() < entries && self.round(entries) {}
            self.now = self.now.max(until);
        }
        let hours = [("Lea".to_owned(), 8.0), ("Ivo".to_owned(), 7.5)];
        self.ask(&CloseDay { hours: BTreeMap::from(hours), note: None });
        let zone = self.book.state.job.time_zone;
        let morning = self.now + TimeDelta::hours(24);
        let morning = morning.at_site(zone);
        self.now =
            morning - TimeDelta::minutes(i64::from(morning.time().hour() * 60 + morning.time().minute()) - 7 * 60);
    }

    fn readings(&mut self) {
        let minute = self.now.time().hour() * 60 + self.now.time().minute();
        self.ask(&TakeReading {
            subject: (1..=self.book.state.job.walls.len()).map(|wall| format!("W{wall}")).collect::<Vec<_>>().join(","),
            air_c: Some(14.0 + f64::from(minute % 7)),
            humidity_pct: Some(60.0),
            surface_c: Some(17.0 + f64::from(minute % 5)),
            wind_kmh: Some(12.0),
            rain: false,
            ..TakeReading::default()
        });
    }

    /// Everything that is ready now, then what is due; whether there was anything.
    fn round(&mut self, entries: usize) -> bool {
        let state = &self.book.state;
        let ready: Vec<(StepIx, SubjectIx)> =
            next(state, self.now).into_iter().filter(|action| action.ready).map(|a| (a.step, a.subject)).collect();
        let mut did = false;
        // A round is short, so that nothing goes out of date under way.
        for (step, subject) in ready.into_iter().take(40) {
            if self.book.entries.len() >= entries {
                return false;
            }
            let state = &self.book.state;
            let wanted = &state.sequence().steps[step];
            let answers: BTreeMap<String, Answer> = wanted
                .asks
                .iter()
                .filter(|ask| ask.planned.is_none())
                .map(|ask| (ask.key.clone(), answer(ask)))
                .collect();
            let (step, on) = (wanted.key.clone(), state.subjects.get(subject).to_string());
            self.write(Body::StepDone(StepDone {
                step,
                subject: on,
                answers,
                began: None,
                anyway: None,
                stopped_by: Vec::new(),
            }));
            self.now += TimeDelta::seconds(20);
            did = true;
        }
        let state = &self.book.state;
        let due: Vec<(String, String)> = state
            .holds()
            .into_iter()
            .filter(|(hold, subject, status)| {
                status.state != cladlog::day::HoldState::Released
                    && release_waits_for(state, *hold, *subject, self.now).is_empty()
            })
            .map(|(hold, subject, _)| {
                (state.sequence().holds[hold].key.clone(), state.subjects.get(subject).to_string())
            })
            .collect();
        for (hold, subject) in due {
            let how = "on site".to_owned();
            self.ask(&ReleaseHold { hold, subject, person: "Ines".into(), how, evidence: None });
            did = true;
        }
        if !did && self.book.entries.len() < entries {
            // Nothing to hang now: somebody looks round and writes down what they see.
            for _ in 0..20.min(entries - self.book.entries.len()) {
                let subject = format!("W{}", 1 + self.book.entries.len() % self.book.state.job.walls.len());
                self.ask(&AddNote { subject, text: "walked the wall with the builder, nothing to add".into() });
                self.now += TimeDelta::minutes(1);
            }
        }
        true
    }

    /// Records what the rules let through; what they refuse is a mistake of this crew.
    pub fn ask(&mut self, request: &dyn Request) {
        let bodies = decide(&self.book, request, "Lea", self.now, self.now).unwrap();
        for body in bodies {
            self.write(body);
        }
    }

    fn write(&mut self, body: Body) {
        let last = &self.book.entries[self.book.entries.len() - 1];
        let draft = Draft {
            job: self.book.state.job.key.clone(),
            happened_at: self.now,
            recorded_at: self.now,
            by: "Lea".into(),
            body,
            rehearsal: true,
        };
        let entry = Entry::finalize(draft, self.device.as_str(), last.seq + 1, &last.hash, BTreeMap::new()).unwrap();
        self.book.add(entry).unwrap();
    }
}

fn answer(ask: &Ask) -> Answer {
    match ask.kind {
        AskKind::YesNo => Answer::Yes(true),
        AskKind::Choice => {
            Answer::Words(ask.tolerance.accept.first().or(ask.choices.first()).cloned().unwrap_or_default())
        }
        AskKind::Photo => Answer::Words("photo.jpg".into()),
        AskKind::Text => Answer::Words("as drawn".into()),
        AskKind::Batch => Answer::Words("B-1207".into()),
        _ => {
            let least = ask.tolerance.least.unwrap_or(0.0);
            Answer::Number(ask.usual.unwrap_or_else(|| ask.tolerance.most.map_or(least, |most| (least + most) / 2.0)))
        }
    }
}

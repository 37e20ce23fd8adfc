//! Whether a job can be finished at all by a shipped sequence, and what one wall needs.

use std::collections::BTreeSet;

use cladlog::building::{Job, SubjectIx, SubjectKind, read_job};
use cladlog::sequence::{Sequence, StepIx};

use super::shipped;

/// Two walls that meet at both kinds of corner, with openings, joints and courses; one wall with nothing on it.
const HOUSE: &str = r#"
key = "house"
name = "House"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [{ name = "Ada", roles = ["lead"] }]
corner = [
    { key = "NE", kind = "preformed", walls = ["N", "E"] },
    { key = "EN", kind = "metal", walls = ["N", "E"] },
]
[[wall]]
key = "N"
courses = 12
joints = 6
opening = [{ key = "O1", kind = "window" }, { key = "O2", kind = "door" }]
[[wall]]
key = "E"
courses = 4
joints = 1
opening = [{ key = "O1", kind = "other" }]
[[wall]]
key = "S"
courses = 2
"#;

fn house() -> Job {
    read_job(HOUSE).expect("the house is a good job")
}

/// Does whatever is ready until nothing is, `walls` only or all; says what was done.
fn do_all(sequence: &Sequence, job: &Job, walls: &[&str]) -> BTreeSet<(StepIx, SubjectIx)> {
    let subjects = job.subjects();
    let kinds = |at: SubjectIx| subjects.get(at).kind();
    let may_touch = |at: SubjectIx| {
        let of = subjects.walls_of(at);
        let touched = || of.iter().all(|wall| walls.contains(&subjects.get(*wall).to_string().as_str()));
        let itself = subjects.get(at).to_string();
        match kinds(at) {
            SubjectKind::Job => true,
            SubjectKind::Wall => walls.is_empty() || walls.contains(&itself.as_str()),
            _ => walls.is_empty() || touched(),
        }
    };
    let asked = |step: StepIx, at: SubjectIx| sequence.asked_of(step, subjects.get(at), job);
    let mut done: BTreeSet<(StepIx, SubjectIx)> = BTreeSet::new();
    loop {
        let complete = |steps: &[StepIx], at: SubjectIx| {
            steps.iter().all(|before| {
                let (kinds, own) = (&sequence.steps[*before].on, subjects.get(at).kind());
                let kinds = kinds.iter().filter(|kind| !kinds.contains(&own) || **kind == own);
                kinds
                    .flat_map(|kind| subjects.related(at, *kind))
                    .all(|other| !asked(*before, *other) || done.contains(&(*before, *other)))
            })
        };
        let ready: Vec<(StepIx, SubjectIx)> = sequence
            .steps
            .indexes()
            .flat_map(|step| subjects.indexes().map(move |at| (step, at)))
            .filter(|(step, at)| !done.contains(&(*step, *at)) && asked(*step, *at) && may_touch(*at))
            .filter(|(step, at)| complete(&sequence.steps[*step].after, *at))
            .filter(|(step, at)| {
                let held_by = sequence.holds.iter().filter(|hold| hold.holds.contains(step));
                held_by
                    .into_iter()
                    .all(|hold| subjects.related(*at, hold.per).iter().all(|place| complete(&hold.after, *place)))
            })
            .collect();
        if ready.is_empty() {
            return done;
        }
        done.extend(ready);
    }
}

#[test]
fn every_step_of_a_shipped_sequence_comes_to_its_turn() {
    let job = house();
    let subjects = job.subjects();
    for sequence in shipped() {
        let done = do_all(&sequence, &job, &[]);
        for step in sequence.steps.indexes() {
            for at in subjects.indexes().filter(|at| sequence.asked_of(step, subjects.get(*at), &job)) {
                let what = format!("{}: {} on {}", sequence.key, sequence.steps[step].key, subjects.get(at));
                assert!(done.contains(&(step, at)), "{what} waits for ever");
            }
        }
    }
}

#[test]
fn a_wall_without_corners_is_finished_while_the_others_stand_bare() {
    let job = house();
    let subjects = job.subjects();
    let wall = subjects.index("S").expect("wall S");
    for sequence in shipped() {
        let done = do_all(&sequence, &job, &["S"]);
        let last = sequence.step("final-check").expect("a final check");
        assert!(done.contains(&(last, wall)), "{}: wall S waits for another wall", sequence.key);
        let handed_over = sequence.step("hand-over").expect("handing over");
        assert!(done.iter().all(|(step, _)| *step != handed_over), "{}: handed over too early", sequence.key);
    }
}

#[test]
fn a_preformed_corner_of_panels_is_set_before_the_panels_that_butt_to_it() {
    for sequence in shipped() {
        let courses = sequence.step("courses").expect("courses");
        let corner = sequence.step("corner-preformed").expect("corner-preformed");
        let metal = sequence.step("corner-metal").expect("corner-metal");
        assert!(sequence.steps[courses].after.contains(&metal), "{}", sequence.key);
        // Lapped boards take their corner pieces course by course: looked at when the courses are on.
        let first = sequence.steps[courses].after.contains(&corner);
        assert_eq!(first, sequence.key == "panels-on-clips", "{}", sequence.key);
        assert!(first || sequence.steps[corner].after.contains(&courses), "{}", sequence.key);
    }
}

//! The sequence language: the files that ship, the guide's example, and the reader's messages.

#![allow(clippy::expect_used, clippy::panic, reason = "the helpers of tests may fail a test too")]

mod edited;
mod finishing;
mod messages;
mod mutations;

use std::path::PathBuf;

use cladlog::building::SubjectKind;
use cladlog::sequence::{Basis, SHIPPED, Sequence, StepIx, json_schema, read};

/// Reads a text that must be without a mistake.
#[track_caller]
fn good(name: &str, text: &str) -> Sequence {
    read(text).unwrap_or_else(|mistakes| {
        let said: Vec<String> = mistakes.iter().map(|m| m.in_file(name)).collect();
        panic!("{}", said.join("\n"))
    })
}

fn shipped() -> Vec<Sequence> {
    SHIPPED.iter().map(|(key, text)| good(key, text)).collect()
}

fn in_the_house(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

#[test]
fn shipped_sequences_read_without_a_mistake() {
    for ((key, _), sequence) in SHIPPED.iter().zip(shipped()) {
        assert_eq!(&sequence.key, key);
    }
}

/// A frame is read, packed by what was read, and only then has to be flat. Common practice, no source.
#[test]
fn a_frame_is_packed_before_it_has_to_be_flat() {
    for sequence in shipped() {
        let place = |key: &str| sequence.steps.iter().position(|step| step.key == key).unwrap();
        let order = ["frame-read", "frame-packing", "frame-flat"].map(place);
        assert!(order.is_sorted(), "{}: {order:?}", sequence.key);
        assert!(sequence.steps[StepIx::at(order[2])].after.contains(&StepIx::at(order[1])), "{}", sequence.key);
    }
}

#[test]
fn r15_every_number_of_a_shipped_sequence_has_a_basis() {
    for sequence in shipped() {
        let mut numbers = 0;
        let mut rests_on = |what: &str, basis: Option<&Basis>| {
            numbers += 1;
            let said = basis.map(Basis::to_string).unwrap_or_default();
            assert!(said.len() > 10, "{}: {what} rests on '{said}'", sequence.key);
            // A maker's number is never ours to give: a common one says who comes first.
            if let Some(Basis::CommonPractice(note)) = basis {
                assert!(note.contains("first"), "{}: {what} does not say who comes first: {note}", sequence.key);
            }
        };
        for step in &sequence.steps {
            for ask in &step.asks {
                for bound in &ask.bounds {
                    rests_on(&format!("{} {} {}", step.key, ask.key, bound.choice), Some(&bound.basis));
                }
                if ask.tolerance.least.or(ask.tolerance.most).or(ask.usual).is_some() {
                    rests_on(&format!("{} {}", step.key, ask.key), ask.basis.as_ref());
                }
            }
        }
        for window in &sequence.windows {
            rests_on(&window.key, Some(&window.basis));
        }
        for limit in &sequence.limits {
            rests_on(&limit.key, Some(&limit.basis));
        }
        assert!(numbers >= 12, "{} has only {numbers} numbers", sequence.key);
    }
}

#[test]
fn r15_shipped_sequences_say_who_comes_first() {
    for sequence in shipped() {
        for word in ["makers' current instructions", "local building code", "licensed practice", "not an approval"] {
            assert!(sequence.comes_first.contains(word), "{}: '{word}' is missing", sequence.key);
        }
        assert!(sequence.care.first().is_some_and(|advice| advice.contains("come first")), "{}", sequence.key);
        assert!(sequence.cautions.iter().all(|caution| !caution.defers_to.is_empty()));
    }
}

#[test]
fn every_caution_and_limit_of_a_shipped_sequence_is_used() {
    let hazards =
        ["silica-dust", "blades", "nail-guns", "heights", "lifting", "solvents", "heat-and-sun", "electricity"];
    for sequence in shipped() {
        for hazard in hazards {
            let index = sequence.caution(hazard).unwrap_or_else(|| panic!("{}: no caution {hazard}", sequence.key));
            assert!(sequence.steps.iter().any(|step| step.cautions.contains(&index)), "{}: {hazard}", sequence.key);
        }
        for index in sequence.limits.indexes() {
            assert!(sequence.steps.iter().any(|step| step.limits.contains(&index)), "{}", sequence.key);
        }
    }
}

#[test]
fn every_step_off_the_ground_names_work_at_height() {
    // Common practice, no source: the frame, the starter line and the papers are done from the ground or a hop-up.
    let ground = ["frame-square", "frame-plumb", "frame-read", "frame-packing", "frame-flat", "frame-fixing-faces"];
    for sequence in shipped() {
        let heights = sequence.caution("heights").expect("heights");
        for step in sequence.steps.iter().filter(|step| !step.is_on(SubjectKind::Job)) {
            let on_ground = ground.contains(&step.key.as_str())
                || [
                    "frame-moisture",
                    "moisture-before-cladding",
                    "boards-ready",
                    "planks-ready",
                    "starter",
                    "wrap-covered",
                ]
                .contains(&step.key.as_str());
            assert!(on_ground || step.cautions.contains(&heights), "{}: {}", sequence.key, step.key);
        }
        for key in ["courses", "top-course", "corner-preformed", "corner-metal", "opening-surround"] {
            let step = &sequence.steps[sequence.step(key).expect(key)];
            assert!(!step.limits.is_empty(), "{}: {key} is hung in any wind and rain", sequence.key);
        }
    }
}

#[test]
fn openings_and_corners_have_the_times_that_joints_have() {
    for sequence in shipped() {
        let sealing = sequence.sealing.as_ref().expect("how it is sealed");
        for step in [sealing.prime, sealing.gun].into_iter().chain(sealing.mask).chain(sealing.tape_off) {
            assert_eq!(sequence.steps[step].on, [SubjectKind::Joint, SubjectKind::Opening, SubjectKind::Corner]);
        }
        assert!(sealing.from_bead && sealing.dry_before.is_some(), "{}", sequence.key);
    }
}

#[test]
fn what_is_asked_fits_a_narrow_screen() {
    // 80 columns less the prompt's own marks and the answers to choose from.
    for sequence in shipped() {
        for step in &sequence.steps {
            for words in step.asks.iter().map(|ask| &ask.prompt).chain([&step.title]) {
                assert!(words.chars().count() <= 68, "{}: '{words}' is too long", sequence.key);
            }
        }
    }
}

#[test]
fn nothing_covers_a_wall_up_before_its_hold_is_released() {
    for sequence in shipped() {
        let hold = &sequence.holds[sequence.hold("cover-up").expect("a cover-up hold")];
        assert_eq!(hold.per, SubjectKind::Wall);
        for key in ["starter", "corner-metal", "corner-preformed", "joint-backers", "courses", "top-course"] {
            assert!(hold.holds.contains(&sequence.step(key).expect(key)), "{}: {key} is not held", sequence.key);
        }
        let looked_at = ["base-flashings", "wrap", "flashings", "penetrations", "aprons", "cavity", "sill-flashing"];
        for key in looked_at.into_iter().chain(["head-flashing"]) {
            assert!(hold.after.contains(&sequence.step(key).expect(key)), "{}: {key} is not looked at", sequence.key);
        }
        // The frame is looked at before it is wrapped.
        let frame = &sequence.holds[sequence.hold("frame").expect("a hold on the frame")];
        for key in ["frame-square", "frame-plumb", "frame-flat", "frame-packing", "frame-moisture"] {
            assert!(frame.after.contains(&sequence.step(key).expect(key)), "{}: {key} is not looked at", sequence.key);
        }
        for key in ["insulation", "base-flashings", "wrap", "window-set-out"] {
            assert!(frame.holds.contains(&sequence.step(key).expect(key)), "{}: {key} is not held", sequence.key);
        }
        assert!(!hold.roles.iter().any(|role| role == "lead" || role == "installer"));
    }
}

#[test]
fn one_wall_asks_little() {
    // What the lead types for one wall without openings, of joints and courses done in one go: a budget of key
    // presses stands or falls with it. Counted in answers that take more than Enter.
    for sequence in shipped() {
        let typed = |step: &&cladlog::sequence::Step| {
            step.asks
                .iter()
                .filter(|ask| !ask.optional && ask.usual.is_none() && ask.planned.is_none())
                .filter(|ask| ask.tolerance.least.or(ask.tolerance.most).is_some() || ask.unit() != "")
                .count()
        };
        let of_a_wall = |step: &&cladlog::sequence::Step| {
            step.on.iter().any(|on| !matches!(on, SubjectKind::Job | SubjectKind::Opening | SubjectKind::Corner))
        };
        let numbers: usize = sequence.steps.iter().filter(of_a_wall).map(|step| typed(&step)).sum();
        assert!(numbers <= 10, "{} asks for {numbers} numbers a wall", sequence.key);
        assert!(sequence.steps.iter().filter(of_a_wall).count() <= 31, "{}", sequence.key);
    }
}

#[test]
fn the_schema_beside_the_sequences_is_the_one_that_the_reader_keeps_to() {
    let path = in_the_house("checklists/sequence.schema.json");
    let wanted = format!("{}\n", serde_json::to_string_pretty(&json_schema()).expect("a schema is JSON"));
    if std::env::var_os("CLADLOG_REFRESH").is_some() {
        std::fs::write(&path, &wanted).expect("write the schema");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(
        kept == wanted,
        "checklists/sequence.schema.json is not what the reader keeps to: refresh it with\n    \
         CLADLOG_REFRESH=1 cargo test --no-default-features the_schema\nand commit it"
    );
    for (key, text) in SHIPPED {
        assert!(text.starts_with("#:schema ./sequence.schema.json"), "{key}: its first line names no schema");
    }
}

#[test]
fn the_example_in_the_guide_reads() {
    let guide =
        std::fs::read_to_string(in_the_house("docs/sequence-language.md")).expect("the guide").replace('\r', "");
    let example = guide.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).expect("an example");
    let sequence = good("docs/sequence-language.md", example);
    assert!(sequence.steps.len() >= 3 && !sequence.holds.is_empty() && !sequence.windows.is_empty());
}

#[test]
fn a_sequence_saved_with_windows_line_ends_reads_the_same() {
    for (key, text) in SHIPPED {
        let (unix, windows) = (good(key, text), good(key, &text.replace('\n', "\r\n")));
        assert_eq!(unix.comes_first, windows.comes_first);
        let texts = |s: &Sequence| s.cautions.iter().map(|c| c.text.clone()).collect::<Vec<_>>();
        assert_eq!(texts(&unix), texts(&windows));
    }
}

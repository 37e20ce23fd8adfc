//! Every plan keeps every rule, and the checker catches each that is broken.

use cladlog::sealing::plan::{Day, Effort, GivenJoint, Plan, Task, drawing, plan};
use proptest::prelude::*;

use super::check::{Breach, check};
use super::days::{Range, any_day, at, joint, plain, span, wall, window};

fn quick(day: &Day) -> Plan {
    plan(day, Effort(300_000), &mut || false)
}

fn worst_first() -> Range {
    Range { joints: 14, crew: 3, until: 120, rate: 3, length: 4, wait: 25, primed: true }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 80, ..ProptestConfig::default() })]

    #[test]
    fn no_plan_breaks_a_rule(day in any_day(worst_first())) {
        let plan = quick(&day);
        prop_assert_eq!(check(&day, &plan), vec![]);
        prop_assert_eq!(plan.joints.len() + plan.left_out.len(), day.joints.len());
        prop_assert!(plan.left_out.iter().all(|left| !left.why.is_empty()));
    }

    #[test]
    fn the_same_day_gets_the_same_plan(day in any_day(worst_first())) {
        let (one, two) = (quick(&day), quick(&day));
        prop_assert_eq!(drawing(&day, &one, &[]), drawing(&day, &two, &[]));
        prop_assert_eq!(one, two);
    }
}

#[test]
fn a_deadline_that_has_passed_still_gives_a_plan_that_keeps_the_rules() {
    let joints = (0..30).map(|nth| joint(&format!("N/J{nth}"), "N", 3)).collect();
    let day = Day::new(&plain(joints)).unwrap();
    let plan = plan(&day, Effort::default(), &mut || true);
    assert_eq!(check(&day, &plan), vec![]);
    assert!(!plan.joints.is_empty());
}

#[test]
fn more_people_than_joints_and_fifty_of_them() {
    let mut given = plain((0..60).map(|nth| joint(&format!("N/J{nth}"), "N", 3)).collect());
    given.crew = 50;
    let day = Day::new(&given).unwrap();
    let plan = quick(&day);
    assert_eq!(check(&day, &plan), vec![]);
    assert_eq!(plan.joints.len(), 60);
}

#[test]
fn one_joint_takes_its_work_and_its_wait_and_no_more() {
    // 3 m: masking 6, priming 3, waiting 30, gunning 6, tape off 3 min.
    let day = Day::new(&plain(vec![joint("N/J1", "N", 3)])).unwrap();
    let plan = quick(&day);
    let only = &plan.joints[0];
    assert_eq!((only.mask_at, only.prime_at, only.gun_at, only.tape_off_at, only.done_at), (0, 6, 39, 45, 48));
    assert!(plan.proven);
}

#[test]
fn intervals_may_touch() {
    let mut given = plain(vec![joint("N/J1", "N", 3)]);
    // The sun leaves as priming starts, comes back as it ends, and leaves again as gunning starts.
    given.walls[0].sun = vec![span(0, 6), span(9, 39), span(45, 600)];
    given.rain = vec![span(0, 6), span(45, 600)];
    given.until = at(48);
    let day = Day::new(&given).unwrap();
    assert_eq!(quick(&day).finish(), Some(48));
    // A minute more anywhere, and it can't be done.
    given.walls[0].sun[0] = span(0, 7);
    assert_eq!(quick(&Day::new(&given).unwrap()).finish(), None);
}

#[test]
fn rain_parts_priming_from_gunning_but_not_masking_or_tape_off() {
    let mut given = plain(vec![joint("N/J1", "N", 3)]);
    given.rain = vec![span(0, 5), span(20, 21), span(70, 90)];
    let day = Day::new(&given).unwrap();
    let plan = quick(&day);
    assert_eq!(check(&day, &plan), vec![]);
    // Priming waits for the rain at 20 to be over; the tape may come off in the rain at 70.
    assert_eq!((plan.joints[0].prime_at, plan.joints[0].gun_at), (21, 54));
}

#[test]
fn nothing_is_masked_or_primed_wet_nor_rained_on_before_it_is_dry() {
    // 3 m: masking 6, priming 3, waiting 30, gunning 6 min.
    let mut given = plain(vec![joint("N/J1", "N", 3)]);
    given.rain = vec![span(0, 5), span(70, 90), span(200, 210)];
    given.dry_before_min = Some(20.into());
    // Dry again at 25; primed at 31, gunned at 64 at the earliest, and the rain comes at 70.
    let day = Day::new(&given).unwrap();
    let times = |plan: Plan| (plan.joints[0].mask_at, plan.joints[0].gun_at);
    assert_eq!(times(quick(&day)), (25, 64));
    given.dry_after_gun_min = 60.into();
    // An hour of drying is not to be had before 70, nor before 200 for what is masked once it is dry at 110.
    let day = Day::new(&given).unwrap();
    assert_eq!(times(quick(&day)), (230, 269), "{:?}", quick(&day));
    assert_eq!(check(&day, &quick(&day)), vec![]);
}

#[test]
fn the_tape_is_off_before_the_skin_forms_counted_from_the_first_metre() {
    // 6 m: gunning 12, tape off 6 min.
    let mut given = plain(vec![joint("N/J1", "N", 6), joint("N/J2", "N", 6)]);
    (given.crew, given.from_bead, given.tape_off_within_min) = (1, true, 18.into());
    let day = Day::new(&given).unwrap();
    let plan = quick(&day);
    assert_eq!(check(&day, &plan), vec![]);
    // One after the other: no other bead fits between.
    assert!(plan.joints.len() == 2 && plan.joints.iter().all(|joint| joint.done_at - joint.gun_at == 18), "{plan:?}");
    given.tape_off_within_min = 17.into();
    let plan = quick(&Day::new(&given).unwrap());
    assert!(plan.joints.is_empty() && plan.left_out[0].why.contains("seal it in parts"), "{plan:?}");
}

#[test]
fn each_bead_of_a_corner_is_untaped_before_the_next() {
    // 12 m in two beads: 12 min of gunning and 6 of taking off for each.
    let mut given = plain(vec![GivenJoint { beads: 2, ..joint("NE", "N", 12) }]);
    (given.crew, given.from_bead, given.tape_off_within_min) = (1, true, 18.into());
    let day = Day::new(&given).unwrap();
    let plan = quick(&day);
    assert_eq!((plan.joints[0].done_at - plan.joints[0].gun_at, check(&day, &plan)), (36, vec![]));
    given.joints[0].beads = 1;
    assert!(quick(&Day::new(&given).unwrap()).joints.is_empty());
}

#[test]
fn the_sun_on_either_wall_of_a_corner_counts() {
    let mut given = plain(vec![GivenJoint { walls: vec!["N".into(), "E".into()], ..joint("NE", "N", 3) }]);
    given.walls = vec![wall("N", span(0, 100)), wall("E", span(100, 200))];
    let day = Day::new(&given).unwrap();
    let plan = quick(&day);
    assert_eq!((plan.joints[0].prime_at, check(&day, &plan)), (200, vec![]));
}

#[test]
fn joints_primed_already_come_first() {
    let mut given = plain((1..=6).map(|nth| joint(&format!("N/J{nth}"), "N", 5)).collect());
    given.crew = 1;
    given.until = at(75);
    for owed in [3, 5] {
        (given.joints[owed].primed_from, given.joints[owed].primed_at) = (Some(at(-60)), Some(at(-55)));
    }
    let day = Day::new(&given).unwrap();
    let plan = plan(&day, Effort(4_000_000), &mut || false);
    assert_eq!(check(&day, &plan), vec![]);
    let sealed = plan.joints.iter().map(|joint| joint.joint).collect::<Vec<_>>();
    assert!(sealed.contains(&3) && sealed.contains(&5), "{plan:?}");
    assert!(plan.joints.iter().all(|joint| joint.primed_by.is_some() == (joint.joint != 3 && joint.joint != 5)));
}

#[test]
fn why_a_joint_is_left_out_is_said_for_that_joint() {
    let why = |given| quick(&Day::new(&given).unwrap()).left_out[0].why.clone();
    let one = || plain(vec![joint("N/J1", "N", 3)]);

    let mut given = one();
    given.window = window(30, 40, 5);
    assert_eq!(
        why(given),
        "the window can't be met: priming 3 min, waiting 30 min and gunning 6 min make 39 min, and the latest less \
         the margin leaves 35 min"
    );
    let mut given = one();
    given.until = at(47);
    assert_eq!(why(given), "the day is too short: masking to tape off takes 48 min at least, the day has 47 min");
    let mut given = one();
    given.walls[0].sun = vec![span(0, 599)];
    assert_eq!(why(given), "no spell of 3 min fit for priming after masking and before 17:00");
    let mut given = one();
    given.walls[0].sun = vec![span(20, 600)];
    assert_eq!(why(given), "no spell of 6 min fit for gunning once the primer has waited 30 min, before 17:00");
    let mut given = one();
    given.rain = (0..40).map(|nth| span(15 * nth + 10, 15 * nth + 11)).collect();
    assert_eq!(
        why(given),
        "no spell fit for priming with one fit for gunning inside its window (after 30 min, within 220 min), no rain \
         between them and done before 17:00"
    );
    let mut given = plain(vec![joint("N/J1", "N", 3), joint("N/J2", "N", 9)]);
    (given.crew, given.until) = (1, at(84));
    assert_eq!(why(given), "no time left: a crew of 1 has no room for it beside the joints planned");
    let mut given = one();
    (given.joints[0].primed_from, given.joints[0].primed_at) = (Some(at(-300)), Some(at(-297)));
    assert_eq!(
        why(given),
        "primed at 02:00, with no spell fit for gunning before its window closes at 05:40: mask and prime it again"
    );
}

#[test]
fn the_checker_catches_each_rule_that_is_broken() {
    let mut given = plain(vec![joint("N/J1", "N", 3), joint("N/J2", "N", 3)]);
    given.walls[0].sun = vec![span(300, 400)];
    given.rain = vec![span(500, 520)];
    let day = Day::new(&given).unwrap();
    let good = quick(&day);
    assert_eq!(check(&day, &good), vec![]);
    let breaches = |change: &dyn Fn(&mut Plan)| {
        let mut plan = good.clone();
        change(&mut plan);
        check(&day, &plan)
    };
    let has = |change: &dyn Fn(&mut Plan), wanted: &dyn Fn(&Breach) -> bool| {
        let found = breaches(change);
        assert!(found.iter().any(wanted), "{found:?}");
    };
    let shift = |plan: &mut Plan, by: i32| {
        let joint = &mut plan.joints[0];
        for time in [&mut joint.mask_at, &mut joint.prime_at, &mut joint.gun_at] {
            *time += by;
        }
        joint.tape_off_at += by;
        joint.done_at += by;
    };
    has(&|plan| plan.joints.truncate(1), &|b| matches!(b, Breach::NotOnce { times: 0, .. }));
    has(&|plan| plan.joints[0].joint = 7, &|b| matches!(b, Breach::NoSuchJoint { index: 7 }));
    has(&|plan| plan.joints[0].mask_at -= 1, &|b| matches!(b, Breach::NotStraightOn { .. }));
    has(&|plan| plan.joints[0].gun_at = 10, &|b| matches!(b, Breach::TooEarly { .. }));
    has(&|plan| plan.joints[0].gun_at = 290, &|b| matches!(b, Breach::TooLate { .. }));
    has(&|plan| plan.joints[0].tape_off_at += 11, &|b| matches!(b, Breach::Tape { .. }));
    has(&|plan| plan.joints[0].done_at += 1, &|b| matches!(b, Breach::Done { .. }));
    has(&|plan| shift(plan, 300), &|b| matches!(b, Breach::InSun { task: Task::Prime, .. }));
    has(&|plan| shift(plan, 505), &|b| matches!(b, Breach::InRain { task: Task::Prime, .. }));
    has(&|plan| shift(plan, 490), &|b| matches!(b, Breach::RainBetween { .. }));
    has(&|plan| shift(plan, 560), &|b| matches!(b, Breach::OutsideDay { .. }));
    has(&|plan| plan.joints[0].gunned_by = 3, &|b| matches!(b, Breach::NotInCrew { person: 3, .. }));
    has(&|plan| plan.joints[0].primed_by = None, &|b| matches!(b, Breach::Primer { .. }));
    has(
        &|plan| {
            (plan.joints[0].gunned_by, plan.joints[1].gunned_by, plan.joints[1].gun_at) = (1, 1, plan.joints[0].gun_at)
        },
        &|b| matches!(b, Breach::TwoAtOnce { .. }),
    );
}

#[test]
fn the_drawing_names_people_tasks_and_escapes_text() {
    let mut given = plain(vec![joint("N/<J&1>", "N", 60)]);
    given.walls[0].sun = vec![span(400, 500)];
    let day = Day::new(&given).unwrap();
    let svg = drawing(&day, &quick(&day), &[]);
    assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
    assert!(svg.contains("N/&lt;J&amp;1&gt;: gun "), "{svg}");
    assert!(svg.contains(">Person 1<") && svg.contains(">Sun on N<"));
}

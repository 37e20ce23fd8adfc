//! The storey rod against a plain search in millimetres.

use cladlog::setout::courses::{Building, Edge, MarkKind, Opening, Wall, courses, marks};
use proptest::prelude::*;

fn wall(key: &str, top_mm: f64, openings: &[(Option<f64>, Option<f64>)]) -> Wall {
    let openings = openings.iter().map(|&(sill_mm, head_mm)| Opening { sill_mm, head_mm }).collect();
    Wall { key: key.into(), top_mm, openings }
}

fn building(cover: f64, lowest: f64, highest: f64, walls: Vec<Wall>) -> Building {
    Building { cover_mm: cover, lowest_mm: lowest, highest_mm: highest, least_piece_mm: 50.0, lift_in_mm: 10.0, walls }
}

/// The smallest piece at one start, in whole millimetres, straight from the definition.
fn smallest(building: &Building, start: i64) -> i64 {
    let cover = building.cover_mm as i64;
    let mut pieces = Vec::new();
    for wall in &building.walls {
        let top = wall.top_mm as i64;
        let over = (top - start) % cover;
        pieces.push(if over == 0 { cover } else { over } - building.lift_in_mm as i64);
        let stands = |edge: i64| edge > start && edge < top;
        for opening in &wall.openings {
            if let Some(sill) = opening.sill_mm.map(|mm| mm as i64).filter(|&sill| stands(sill)) {
                let over = (sill - start) % cover;
                pieces.push(if over == 0 { cover } else { over });
            }
            if let Some(head) = opening.head_mm.map(|mm| mm as i64).filter(|&head| stands(head)) {
                pieces.push(cover - (head - start) % cover);
            }
        }
    }
    pieces.into_iter().min().unwrap()
}

fn some_building() -> impl Strategy<Value = Building> {
    let opening = (prop::option::of(0..900_i32), prop::option::of(1000..2600_i32));
    let wall_of = (2000..2600_i32, prop::collection::vec(opening, 0..3));
    (150..400_i32, 0..100_i32, 0..300_i32, prop::collection::vec(wall_of, 1..4)).prop_map(
        |(cover, lowest, range, walls)| {
            let walls = walls.into_iter().enumerate().map(|(n, (top, openings))| {
                let openings: Vec<_> =
                    openings.into_iter().map(|(sill, head)| (sill.map(f64::from), head.map(f64::from))).collect();
                wall(&format!("W{n}"), f64::from(top), &openings)
            });
            building(f64::from(cover), f64::from(lowest), f64::from(lowest + range), walls.collect())
        },
    )
}

proptest! {
    #[test]
    fn no_start_beats_the_answer(building in some_building()) {
        let found = courses(&building).unwrap();
        let starts = building.lowest_mm as i64..=building.highest_mm as i64;
        let best = starts.map(|start| (smallest(&building, start), -start)).max().unwrap();
        prop_assert_eq!((found.smallest_piece_mm as i64, found.start_mm as i64), (best.0, -best.1));
        for (wall, set_out) in building.walls.iter().zip(&found.walls) {
            let last = set_out.courses_mm.last().unwrap();
            prop_assert!(wall.top_mm - last <= building.cover_mm && wall.top_mm > *last);
            prop_assert_eq!(wall.top_mm - last - building.lift_in_mm, set_out.top_rip_mm);
        }
    }
}

#[test]
fn lined_up_counts_as_a_full_cover_and_ties_go_low() {
    // Every 300 mm it all lines up again: the lowest of the starts that do.
    let found =
        courses(&building(300.0, 10.0, 1000.0, vec![wall("N", 2400.0, &[(Some(900.0), Some(2100.0))])])).unwrap();
    assert_eq!((found.start_mm, found.smallest_piece_mm, found.ok), (300.0, 290.0, true));
    assert_eq!((found.smallest_by.wall.as_str(), found.smallest_by.what), ("N", Edge::Top));
}

#[test]
fn starts_are_whole_millimetres_and_heights_may_be_finer() {
    let found = courses(&building(283.5, 25.2, 25.9, vec![wall("N", 2400.0, &[])])).unwrap_err();
    assert_eq!(found.to_string(), "no whole millimetre lies between 25.2 and 25.9 mm: the nearest start is 26 mm");
    let found = courses(&building(283.5, 25.2, 26.9, vec![wall("N", 2400.0, &[])])).unwrap();
    assert_eq!(found.start_mm, 26.0);
    // 2374 = 8 · 283.5 + 106.
    assert_eq!(found.smallest_piece_mm, 96.0);
}

#[test]
fn a_sliver_everywhere_is_said_with_the_best_there_is() {
    let found = courses(&building(300.0, 0.0, 0.0, vec![wall("N", 2405.0, &[])])).unwrap();
    assert_eq!((found.ok, found.smallest_piece_mm), (false, -5.0));
}

#[test]
fn bad_buildings_are_named() {
    let said = |building: Building| courses(&building).unwrap_err().to_string();
    assert_eq!(said(building(300.0, 50.0, 20.0, vec![])), "lowest start 50 mm is above the highest, 20 mm");
    assert_eq!(said(building(300.0, 0.0, 20.0, vec![])), "0 walls: 1 to 200 are taken");
    let twice = vec![wall("N", 2400.0, &[]), wall("N", 2400.0, &[])];
    assert_eq!(said(building(300.0, 0.0, 20.0, twice)), "wall 'N' is given twice");
    assert_eq!(
        said(building(300.0, 0.0, 20.0, vec![wall("N", 2400.0, &[(Some(900.0), Some(800.0))])])),
        "wall 'N', opening 1: sill 900 mm is not below its head, 800 mm"
    );
    assert_eq!(
        said(building(300.0, 30.0, 40.0, vec![wall("N", 20.0, &[])])),
        "wall 'N': top 20 mm is not above the lowest start, 30 mm"
    );
    assert_eq!(said(building(0.0, 0.0, 20.0, vec![wall("N", 2400.0, &[])])), "cover 0 mm is outside 1 to 200000 mm");
    assert_eq!(
        said(building(11.0, 0.0, 20.0, vec![wall("N", 60_500.0, &[])])),
        "wall 'N' would have 5500 courses: at most 5000 are taken, is the cover right?"
    );
    assert_eq!(said(building(300.0, 0.0, 9e9, vec![])), "highest start 9000000000 mm is outside -200000 to 200000 mm");
}

#[test]
fn the_rod_has_every_mark_once() {
    let building = building(
        300.0,
        0.0,
        0.0,
        vec![wall("N", 700.0, &[(Some(250.0), Some(650.0))]), wall("E", 900.0, &[(None, Some(650.0))])],
    );
    let rod = marks(&building, &courses(&building).unwrap());
    let told: Vec<_> = rod.iter().map(|m| (m.height_mm, m.what, m.walls.join(" "))).collect();
    assert_eq!(
        told,
        [
            (0.0, MarkKind::Start, String::new()),
            (250.0, MarkKind::Sill, "N".into()),
            (300.0, MarkKind::Course(2), String::new()),
            (600.0, MarkKind::Course(3), String::new()),
            (650.0, MarkKind::Head, String::new()),
            (700.0, MarkKind::Top, "N".into()),
            (900.0, MarkKind::Top, "E".into()),
        ]
    );
}

//! Pieces by hand, and areas that add up.

use cladlog::setout::columns::Gap;
use cladlog::setout::panels::{Notch, SetOut, WallOpening, panels};
use proptest::prelude::*;

/// Two columns and three courses: 1200 and 900 long, 400 high, the last ripped to 190.
fn wall(openings: &[WallOpening]) -> SetOut {
    SetOut {
        columns: vec![Gap { from_mm: 0.0, to_mm: 1200.0 }, Gap { from_mm: 1210.0, to_mm: 2110.0 }],
        courses_mm: vec![0.0, 400.0, 800.0],
        cover_mm: 400.0,
        top_mm: 1000.0,
        lift_in_mm: 10.0,
        panel_mm: 1200.0,
        openings: openings.to_vec(),
        gap_mm: 0.0,
    }
}

fn window(from: f64, to: f64, sill: f64, head: f64) -> WallOpening {
    WallOpening { from_mm: from, to_mm: to, sill_mm: Some(sill), head_mm: Some(head) }
}

#[test]
fn whole_and_ripped_pieces() {
    let all = panels(&wall(&[])).unwrap();
    let told: Vec<_> = all.pieces.iter().map(|p| (p.label.as_str(), p.length_mm, p.height_mm, p.cut_edge_m)).collect();
    assert_eq!(
        told,
        [
            ("C1-1", 1200.0, 400.0, 0.0),
            ("C1-2", 900.0, 400.0, 0.4),
            ("C2-1", 1200.0, 400.0, 0.0),
            ("C2-2", 900.0, 400.0, 0.4),
            ("C3-1", 1200.0, 190.0, 1.2),
            ("C3-2", 900.0, 190.0, 1.09),
        ]
    );
    assert!(all.pieces[4].ripped && !all.pieces[0].ripped);
    assert!((all.area_m2 - 2.1 * 0.99).abs() < 1e-9);
}

#[test]
fn a_window_makes_a_notch_and_a_door_makes_two_pieces() {
    // Over the joint at 1205: a notch at the top right of C1-1 and the top left of C1-2.
    let all = panels(&wall(&[window(1000.0, 1500.0, 300.0, 500.0)])).unwrap();
    let notch = |label: &str| all.pieces.iter().find(|p| p.label == label).unwrap();
    assert_eq!(
        notch("C1-1").notches,
        [Notch { from_left_mm: 1000.0, from_bottom_mm: 300.0, length_mm: 200.0, height_mm: 100.0 }]
    );
    // Its two new edges; both ends and the rest of the top are the panel's own.
    assert!((notch("C1-1").cut_edge_m - 0.3).abs() < 1e-9);
    assert!((notch("C1-1").area_m2 - (0.48 - 0.02)).abs() < 1e-9);
    assert_eq!(notch("C2-2").notches[0].from_left_mm, 0.0);
    let door = WallOpening { from_mm: 200.0, to_mm: 900.0, sill_mm: None, head_mm: Some(400.0) };
    let all = panels(&wall(&[door])).unwrap();
    let told: Vec<_> = all.pieces.iter().map(|p| (p.label.as_str(), p.length_mm, p.cut_edge_m)).take(2).collect();
    assert_eq!(told, [("C1-1a", 200.0, 0.4), ("C1-1b", 300.0, 0.4)]);
    // A window inside one piece is a hole; across a whole column it leaves a rip below and one above.
    let all = panels(&wall(&[window(300.0, 600.0, 100.0, 300.0)])).unwrap();
    assert!((all.pieces[0].cut_edge_m - 1.0).abs() < 1e-9);
    let all = panels(&wall(&[window(-10.0, 1205.0, 100.0, 300.0)])).unwrap();
    assert_eq!(all.pieces.iter().filter(|p| p.column == 1 && p.course == 1 && p.height_mm == 100.0).count(), 2);
}

#[test]
fn bad_walls_are_named() {
    let said = |wall: SetOut| panels(&wall).unwrap_err().to_string();
    assert_eq!(said(wall(&[window(500.0, 400.0, 0.0, 100.0)])), "opening 1 ends before it begins");
    assert_eq!(said(SetOut { cover_mm: 0.0, ..wall(&[]) }), "cover 0 mm has to be more than 0");
    assert_eq!(said(SetOut { gap_mm: -1.0, ..wall(&[]) }), "gap -1 mm is less than 0");
    assert!(said(SetOut { top_mm: f64::NAN, ..wall(&[]) }).starts_with("top not a number"));
    assert!(said(SetOut { courses_mm: vec![0.0; 60_000], ..wall(&[]) }).contains("more than one wall has"));
}

proptest! {
    #[test]
    fn pieces_and_openings_make_up_the_wall(
        holes in prop::collection::vec((0..2000_i32, 10..900_i32, 0..900_i32, 10..400_i32), 0..4), gap in 0..15_i32,
    ) {
        let openings: Vec<WallOpening> = holes
            .iter()
            .map(|&(from, width, sill, height)| {
                window(f64::from(from), f64::from(from + width), f64::from(sill), f64::from(sill + height))
            })
            .collect();
        let wall = SetOut { gap_mm: f64::from(gap), ..wall(&openings) };
        let all = panels(&wall).unwrap();
        // Counted millimetre by millimetre along three lines, at places no edge falls on.
        for height in [150.5, 555.5, 870.5] {
            let covered = |x: f64| {
                let in_column = wall.columns.iter().any(|c| x > c.from_mm && x < c.to_mm);
                let g = wall.gap_mm;
                let open = |o: &WallOpening| {
                    x > o.from_mm - g && x < o.to_mm + g
                        && height > o.sill_mm.unwrap() - g && height < o.head_mm.unwrap() + g
                };
                in_column && !openings.iter().any(open)
            };
            let by_pieces = |x: f64| all.pieces.iter().filter(|p| {
                let (left, up) = (x - p.from_mm, height - p.bottom_mm);
                let within = left > 0.0 && left < p.length_mm && up > 0.0 && up < p.height_mm;
                within && !p.notches.iter().any(|n| {
                    left > n.from_left_mm && left < n.from_left_mm + n.length_mm
                        && up > n.from_bottom_mm && up < n.from_bottom_mm + n.height_mm
                })
            }).count();
            for x in (0..2110).step_by(7).map(|x| f64::from(x) + 0.5) {
                prop_assert_eq!(by_pieces(x), usize::from(covered(x)), "at {} {}", x, height);
            }
        }
        for piece in &all.pieces {
            let notched: f64 = piece.notches.iter().map(|n| n.length_mm * n.height_mm / 1e6).sum();
            prop_assert!((piece.length_mm * piece.height_mm / 1e6 - notched - piece.area_m2).abs() < 1e-9);
        }
    }
}

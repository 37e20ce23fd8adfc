//! Drawings: well formed, in one colour, on their sheet, to scale, and the same every time.

use cladlog::setout::columns::{Gap, Run, columns};
use cladlog::setout::courses::{Building, Floors, Mark, MarkKind, Opening, Wall, courses};
use cladlog::setout::drawing::{DrawnOpening, Elevation, PackMark, elevation, rod_pages};
use cladlog::setout::outline::Outline;

fn wall() -> Elevation {
    let run = Run {
        length_mm: 7200.0,
        panel_mm: 2400.0,
        least_mm: 300.0,
        joint_mm: 10.0,
        studs_mm: (0..=12).map(|n| f64::from(n) * 600.0).filter(|s| *s != 3600.0).collect(),
        openings: vec![Gap { from_mm: 900.0, to_mm: 2100.0 }, Gap { from_mm: 4300.0, to_mm: 5200.0 }],
        clear_of_opening_mm: 100.0,
        ..Run::default()
    };
    let building = Building {
        cover_mm: 283.0,
        gains_mm: None,
        overhang_mm: 0.0,
        lowest_mm: 26.0,
        highest_mm: 90.0,
        least_piece_mm: 50.0,
        lift_in_mm: 10.0,
        head_gap_mm: 0.0,
        sill_gap_mm: 0.0,
        base_gap_mm: 0.0,
        floors: Floors::default(),
        walls: vec![Wall {
            key: "N".into(),
            top: Outline::level(2650.0),
            base: None,
            openings: vec![Opening { sill_mm: Some(900.0), head_mm: Some(2100.0), ..Opening::default() }],
        }],
    };
    let rod = courses(&building).unwrap();
    let opening = |label: &str, from_mm, to_mm, sill_mm| DrawnOpening {
        label: label.into(),
        from_mm,
        to_mm,
        sill_mm,
        head_mm: Some(2100.0),
    };
    let columns = columns(&run).unwrap();
    let courses_mm = rod.walls[0].courses_mm.clone();
    Elevation {
        title: "Wall N <north & \"east\">".into(),
        length_mm: 7200.0,
        start_mm: courses_mm[0],
        top_mm: 2650.0,
        columns: columns.columns,
        faces: Vec::new(),
        joints_mm: columns.joints_mm,
        courses_mm,
        openings: vec![opening("O1", 900.0, 2100.0, Some(900.0)), opening("O2", 4300.0, 5200.0, None)],
        add_studs_mm: vec![4200.0],
        packs: vec![PackMark { stud_mm: 3000.0, height_mm: 1200.0, pack_mm: 7.0 }],
        notes: vec!["D3 open: joint J2 out of plumb".into()],
    }
}

/// Tags that close in order, and attributes that hold a number where they should.
fn well_formed(svg: &str) {
    let mut open = Vec::new();
    for tag in svg.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').unwrap_or_else(|| panic!("unclosed: {tag}"));
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name.to_owned()));
        } else if !tag.ends_with('/') {
            open.push(tag.split(' ').next().unwrap().to_owned());
        }
    }
    assert!(open.is_empty() && !svg.contains("NaN") && !svg.contains("inf\""));
    for colour in svg.split('#').skip(1) {
        assert!(colour.starts_with("000") || colour.starts_with("fff"), "one colour on white");
    }
}

/// Every x of a line or rectangle lies on the sheet.
fn on_the_sheet(svg: &str, width: f64) {
    for attribute in [" x1=\"", " x2=\"", " x=\""] {
        for value in svg.split(attribute).skip(1) {
            let value: f64 = value.split('"').next().unwrap().parse().unwrap();
            assert!((0.0..=width).contains(&value), "{attribute}{value}");
        }
    }
}

#[test]
fn an_elevation_is_legible_and_to_scale() {
    let svg = elevation(&wall());
    well_formed(&svg);
    on_the_sheet(&svg, 297.0);
    assert!(svg.contains("Wall N &lt;north &amp; &quot;east&quot;&gt;"));
    assert!(svg.contains("Scale 1:50 on A4"));
    // 1200 mm of window at 1:50 is 24 mm of paper.
    assert!(svg.contains("width=\"24\" height=\"24\" stroke-width=\"0.5\""), "{svg}");
    assert!(svg.contains(">stud<") && svg.contains(">7<") && svg.contains("D3 open"));
    assert!(svg.contains(">C1<") && svg.contains(">J1<"), "courses and joints have their names");
    assert_eq!(svg, elevation(&wall()), "the same wall, the same bytes");
    // Where the pieces are known their outlines are drawn: 2400 by 600 at 1:50, from the start at 26 up.
    let face = vec![[0.0, 26.0], [2400.0, 26.0], [2400.0, 326.0], [0.0, 626.0]];
    let svg = elevation(&Elevation { faces: vec![face], start_mm: 26.0, ..wall() });
    well_formed(&svg);
    assert!(svg.contains("<polygon points=\"34,") && svg.matches("<polygon").count() == 1, "{svg}");
}

#[test]
fn odd_walls_are_drawn_all_the_same() {
    for (length, top) in [(60_000.0, 2700.0), (1.0, 30_000.0), (f64::NAN, f64::INFINITY), (0.0, 0.0)] {
        let svg = elevation(&Elevation { length_mm: length, top_mm: top, ..wall() });
        well_formed(&svg);
    }
}

#[test]
fn the_rod_is_full_size_in_strips() {
    let mark = |height_mm, what| Mark { height_mm, what, walls: vec!["N".into(), "Garage & porch".into()] };
    let rod = [mark(26.0, MarkKind::Start), mark(309.0, MarkKind::Course(2)), mark(311.0, MarkKind::Sill)];
    let pages = rod_pages(&rod);
    assert_eq!(pages.len(), 1, "291 mm are two strips on one page");
    let page = &pages[0];
    well_formed(page);
    on_the_sheet(page, 210.0);
    assert!(page.contains("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""));
    assert!(page.contains("<rect x=\"104\" y=\"30\" width=\"100\" height=\"100\""), "the check square");
    // 26 mm is 6 mm above the foot of a strip that begins at 20.
    assert!(page.contains("y1=\"274\" x2=\"53\" y2=\"274\" stroke-width=\"0.5\""), "{page}");
    assert!(rod_pages(&[]).is_empty());
    assert!(rod_pages(&[mark(f64::NAN, MarkKind::Top)]).is_empty());
    assert!(rod_pages(&[mark(0.0, MarkKind::Start), mark(2e5, MarkKind::Top)]).len() <= 120);
}

//! Drawings: well formed, in one colour, on their sheet, to scale, no text over another, and the same every time.

use cladlog::building::{Job, Wall, read_job};
use cladlog::day::Book;
use cladlog::handover::{Album, Document};
use cladlog::moment::Moment;
use cladlog::record::{Entry, Store};
use cladlog::setout::courses::{Mark as RodMark, MarkKind};
use cladlog::setout::drawing::{
    Elevation, Form, Mark, Place, Plans, Sheet, elevation, elevation_with_links, rod_pages,
};
use cladlog::setout::starter::Place as Reading;
use proptest::prelude::*;

use crate::harness::drawing::{least_capitals_mm, not_overlapping, on_the_sheet, well_formed};
use crate::harness::root;

const SHEETS: [Sheet; 2] = [Sheet::PAGE, Sheet::PHONE];

/// The demonstration's job as its file gives it: nothing is kept of it yet.
fn job() -> Job {
    read_job(&std::fs::read_to_string(root().join("demo-db/job.toml")).unwrap()).unwrap()
}

fn planless(wall: &Wall) -> Elevation {
    Elevation::of(&job(), wall, &Plans::default())
}

/// A mark of each form on a place.
fn marks(place: Place, from: usize) -> impl Iterator<Item = Mark> {
    let forms = [Form::Open, Form::Conceded, Form::Closed, Form::Photo];
    (from..).zip(forms).map(move |(number, form)| Mark { place, form, label: number.to_string() })
}

/// Holds a drawing on both sheets to what every one keeps; gives that for the page.
fn checked(drawn: &Elevation) -> String {
    for sheet in &SHEETS {
        let svg = elevation(drawn, sheet);
        well_formed(&svg);
        on_the_sheet(&svg);
        not_overlapping(&svg);
        assert_eq!(svg, elevation(drawn, sheet), "the same wall, the same bytes");
    }
    elevation(drawn, &Sheet::PAGE)
}

/// The demonstration's walls as their pack draws them.
fn of_the_demonstration() -> Vec<Elevation> {
    let store = Store::read(&root().join("demo-db/demo.db")).unwrap();
    let entries: Vec<Entry> = store.entries("fernside").unwrap();
    let book = Book::open(entries).unwrap();
    let made_at = Moment::parse_from_rfc3339("2026-03-06T17:30:00+13:00").unwrap();
    let album = Album::default();
    Document::of(&book, made_at, &album, None).parts.into_iter().filter_map(|part| part.drawn).collect()
}

#[test]
fn the_demonstration_is_drawn_as_it_was_built() {
    let walls = of_the_demonstration();
    assert_eq!(walls.iter().map(|wall| wall.key.as_str()).collect::<Vec<_>>(), ["N", "E", "S", "W"]);
    for wall in &walls {
        let svg = checked(wall);
        // At 1:100 the 9600 mm of N and S are 96 mm of paper, and every piece of the sums is drawn.
        assert!(svg.contains("Scale 1:100 when printed on A4."), "{svg}");
        assert!(!wall.faces.is_empty() && svg.matches("<polygon").count() >= wall.faces.len());
        // All that a drawing without gaps in its plans says: nothing is spread, nothing is listed for want of room.
        for none in ["Spread evenly", "Not to scale", "Openings, along", "Columns:", "Courses:"] {
            assert!(!svg.contains(none), "{none} on {}", wall.key);
        }
    }
    let north = checked(&walls[0]);
    // Boards and sealants by their letters, each with its dates; the names that carry them.
    for text in [
        "A: corner CP-12, hung 26 Feb 2026",
        "B: panel PF-2291, hung 27 Feb 2026",
        "a: sealant SL-417, sealed 3 Mar 2026",
        "b: sealant SL-417, sealed 4 Mar 2026",
        "d: sealant SL-431, sealed 5 Mar 2026",
        ">C9 B<",
        ">J1 a<",
        ">J3 b<",
        ">O1 d<",
        ">NE preformed Ad<",
        ">NW metal, dry A<",
        "Extra work, place not recorded: Panel the front of the bin store",
    ] {
        assert!(north.contains(text), "{text} in {north}");
    }
    // The corner that is out of plumb bears its defect on both walls; the refused wall is said to be the whole of it.
    let places = |wall: &Elevation| {
        wall.marks.iter().map(|mark| (mark.place, mark.form, mark.label.clone())).collect::<Vec<_>>()
    };
    let corner = |wall: &Elevation| wall.place_of("NW").unwrap();
    assert_eq!(places(&walls[0]), [(corner(&walls[0]), Form::Conceded, "D2".into())]);
    assert_eq!(
        places(&walls[3]),
        [(Place::Wall, Form::Closed, "D1".into()), (corner(&walls[3]), Form::Conceded, "D2".into())]
    );
    assert!(checked(&walls[3]).contains("On the whole wall: "));
    // What was measured stands there, and not its plan.
    assert!(north.contains("Top piece ") && !north.contains("not measured"), "{north}");
    // Numbers of defects and photos are read without a glass.
    assert!(least_capitals_mm(&checked(&walls[3]), &["D1", "D2"]) >= 2.2);
    // What those who can't see it are told.
    let described = walls[3].described();
    assert!(described.contains("D1 (defect put right); D2 (conceded defect) on NW"), "{described}");
    assert!(described.contains("J1, J2: sealant SL-417, sealed 5 Mar 2026"), "{described}");
}

#[test]
fn a_gable_and_a_stepped_base_are_drawn_as_they_are() {
    let job = job();
    let svg = checked(&planless(job.wall("E").unwrap()));
    // 7200 mm at 1:100 are 72 across; the ridge stands 6 over the eaves, the step 3 over the ground, 18 from the left.
    let mut outline =
        svg.lines().filter(|line| line.contains("stroke-width=\"0.35\"/>") && line.starts_with("<polygon"));
    let outline = outline.next_back().unwrap().split('"').nth(1).unwrap();
    let points: Vec<Vec<f64>> =
        outline.split(' ').map(|point| point.split(',').map(|number| number.parse().unwrap()).collect()).collect();
    let (left, foot) = (points[0][0], points[2][1]);
    let from: Vec<[f64; 2]> =
        points.iter().map(|p| [p[0] - left, foot - p[1]].map(|mm| (mm * 100.0).round() / 100.0)).collect();
    assert_eq!(from, [[0.0, 3.0], [18.0, 3.0], [18.0, 0.0], [72.0, 0.0], [72.0, 54.0], [36.0, 60.0], [0.0, 54.0]]);
    for text in [">6000<", ">5400<", ">300<", ">1800<", ">3600<"] {
        assert!(svg.contains(text), "{text}");
    }
}

#[test]
fn what_has_no_place_is_spread_evenly_and_said_to_be() {
    let job = job();
    let mut wall = job.wall("N").unwrap().clone();
    let svg = checked(&planless(&wall));
    assert!(svg.contains("Spread evenly, because the record does not give their places: courses."), "{svg}");
    wall.joints[1].at_mm = None;
    wall.openings[2].head_mm = None;
    let svg = checked(&planless(&wall));
    assert!(svg.contains("their places: courses, J2, O3."), "{svg}");
    // A place that is guessed has no dimension.
    assert!(svg.contains(">2400<") && !svg.contains(">4800<"), "{svg}");
    let svg = checked(&planless(&Wall { length_mm: None, ..wall.clone() }));
    assert!(svg.contains("Not to scale: the record does not give its length and height.") && !svg.contains("Scale 1:"));
    // A rod of another number of courses than the wall's says nothing of them.
    let plans = Plans { courses_mm: Some(&[13.0, 613.0]), ..Plans::default() };
    assert!(Elevation::of(&job, &wall, &plans).courses.iter().all(|course| course.is_spread));
    let rod: Vec<f64> = (0..9).map(|course| 13.0 + 600.0 * f64::from(course)).collect();
    let plans = Plans { courses_mm: Some(&rod), ..Plans::default() };
    let svg = checked(&Elevation::of(&job, &wall, &plans));
    assert!(svg.contains("their places: J2, O3.") && svg.contains(">4813<"), "{svg}");
}

#[test]
fn marks_differ_by_form_and_stand_where_they_belong() {
    let job = job();
    let mut drawn = planless(job.wall("N").unwrap());
    let places = ["N", "N/C3", "N/J2", "N/O1", "NE"].map(|id| drawn.place_of(id).unwrap());
    assert_eq!([drawn.place_of("N/C10"), drawn.place_of("E"), drawn.place_of("N/O9")], [None, None, None]);
    let mut alone: Vec<String> = Vec::new();
    for mark in marks(places[3], 7) {
        drawn.marks = vec![mark];
        let svg = checked(&drawn);
        let shape = svg.lines().rev().find(|line| line.contains("#000\"/>") || line.contains("#fff\"/>")).unwrap();
        let words = [" rx=", "#000"].into_iter().filter(|word| shape.contains(word));
        alone.push(words.fold(shape.split_whitespace().next().unwrap().to_owned(), |all, word| all + word));
        assert!(svg.contains(">7<") || svg.contains(">8<") || svg.contains(">9<") || svg.contains(">10<"));
    }
    // Told apart without colour: a filled box, one that runs to points, a round one, an open frame.
    assert_eq!(alone, ["<rect#000", "<polygon", "<rect rx=", "<rect"]);
    drawn.marks = (0..).zip(places).flat_map(|(turn, place)| marks(place, 100 + 4 * turn)).collect();
    let svg = checked(&drawn);
    for number in 100..120 {
        assert_eq!(svg.matches(&format!(">{number}<")).count(), 1, "{number}");
    }
    assert!(svg.contains("On the whole wall: "));
}

#[test]
fn floor_lines_and_the_ground_are_drawn_by_name_where_they_are_known() {
    let mut job = job();
    job.floor_lines_mm = vec![2700.0, 5400.0];
    let wall = job.wall("N").unwrap();
    let readings =
        [(4800.0, -150.0, None), (0.0, -200.0, Some(true)), (9600.0, -100.0, Some(false))].map(|(at_mm, up, paved)| {
            Reading { wall: "N".into(), at_mm, ground_mm: Some(up), paved, ..Reading::default() }
        });
    let elsewhere = Reading { wall: "E".into(), ground_mm: Some(-999.0), ..Reading::default() };
    let plans = |readings| Plans { readings, ..Plans::default() };
    let drawn = Elevation::of(&job, wall, &plans(&readings));
    let svg = checked(&drawn);
    // The wall ends at 5400: no floor begins there.
    assert_eq!((svg.matches("floor line 2700<").count(), svg.matches("floor line 5400").count()), (1, 0));
    for text in [">ground<", ">-200<", ">-150<", ">-100<", ">paved<", ">unpaved<"] {
        assert!(svg.contains(text), "{text} in {svg}");
    }
    assert!(
        drawn
            .described()
            .contains("floor line 2700; ground -200 at 0, paved; ground -150 at 4800; ground -100 at 9600, unpaved")
    );
    // At 1:100 the readings lie 0.5 mm apart, from end to end: nothing has to be carried on.
    let line = |svg: &str, dashed: bool| {
        let pens = if dashed { "stroke-width=\"0.25\" stroke-dasharray=\"2 1\"/>" } else { "stroke-width=\"0.35\"/>" };
        let level = |line: &&str| line.starts_with("<line") && line.ends_with(pens) && !upright(line);
        svg.lines().filter(level).map(|line| attribute(line, "y2") - attribute(line, "y1")).collect::<Vec<_>>()
    };
    let steps: Vec<i64> = line(&svg, false).into_iter().map(|step| (step * 100.0).round() as i64).collect();
    assert_eq!((steps, line(&svg, true).len()), (vec![-50, -50], 0));
    // One reading alone is carried on to both ends; far below the wall it says so by its level.
    let alone = [Reading { ground_mm: Some(-80_000.0), ..readings[0].clone() }, elsewhere];
    let svg = checked(&Elevation::of(&job, wall, &plans(&alone)));
    assert!(svg.contains(">-80000<") && !svg.contains("999"), "{svg}");
    assert_eq!((line(&svg, false).len(), line(&svg, true).len()), (0, 2));
    let none = checked(&Elevation::of(&job, wall, &plans(&alone[1..])));
    assert!(!none.contains("ground"), "nothing is drawn where nothing was read");
}

fn attribute(line: &str, name: &str) -> f64 {
    line.split_once(&format!("{name}=\"")).unwrap().1.split('"').next().unwrap().parse().unwrap()
}

fn upright(line: &str) -> bool {
    attribute(line, "x1") == attribute(line, "x2")
}

#[test]
fn figures_that_would_run_together_stand_on_two_lines() {
    // The sides of the window under the gable are 600 from the ridge on either side: at 1:100 the figures would touch.
    let svg = checked(&planless(job().wall("E").unwrap()));
    let down = |figure: &str| {
        let line = svg
            .lines()
            .find(|line| line.contains(&format!("text-anchor=\"middle\" fill=\"#000\" stroke=\"none\">{figure}<")));
        attribute(line.unwrap(), " y")
    };
    assert!(down("3000") == down("4200") && down("3600") > down("3000"));
    // More than two lines can hold are listed.
    let mut wall = job().wall("E").unwrap().clone();
    wall.openings[0].from_mm = Some(3580.0);
    wall.openings[0].to_mm = Some(3620.0);
    assert!(checked(&planless(&wall)).contains("Openings, along and up: O1 3580 to 3620"));
}

/// A wall of 60 m with 60 openings in two rows, 20 joints and 40 courses.
fn long() -> Wall {
    let mut wall =
        Wall { key: "L".into(), length_mm: Some(60_000.0), height_mm: Some(7200.0), courses: 40, ..Wall::default() };
    wall.joints = (1..=20).map(|joint| cladlog::building::Joint { at_mm: Some(f64::from(joint) * 2857.0) }).collect();
    wall.openings = (0..60)
        .map(|place| {
            let (column, upper) = (f64::from(place / 2), f64::from(place % 2));
            cladlog::building::Opening {
                key: format!("O{}", place + 1),
                kind: Default::default(),
                from_mm: Some(600.0 + column * 1980.0),
                to_mm: Some(1800.0 + column * 1980.0),
                sill_mm: Some(900.0 + upper * 3600.0),
                head_mm: Some(2100.0 + upper * 3600.0),
                dry: false,
            }
        })
        .collect();
    wall
}

#[test]
fn what_finds_no_room_on_a_crowded_wall_is_listed_under_it() {
    let mut drawn = planless(&long());
    let places: Vec<Place> =
        ["L", "L/C1", "L/C40", "L/J1", "L/J20", "L/O1", "L/O60"].iter().map(|id| drawn.place_of(id).unwrap()).collect();
    drawn.marks = (0..).zip(places).flat_map(|(turn, place)| marks(place, 1 + 4 * turn)).collect();
    let svg = checked(&drawn);
    let text: String = texts(&svg).join(" ");
    for all in ["O1 600 to 1800, 900 to 2100;", "O60 58020 to 59220, 4500 to 5700.", "J1 2857;", "J20 57140."] {
        assert!(text.contains(all), "{all} in {text}");
    }
    for number in 1..=28 {
        assert!(svg.contains(&format!(">{number}<")), "{number}");
    }
}

fn texts(svg: &str) -> Vec<&str> {
    svg.split("<text").skip(1).map(|text| text.split_once('>').unwrap().1.split('<').next().unwrap()).collect()
}

#[test]
fn a_phone_gets_a_link_on_each_place() {
    let job = job();
    let drawn = planless(job.wall("W").unwrap());
    let svg = elevation_with_links(&drawn, &Sheet::PHONE, &|id| format!("/on/{id}?a=1&b=2"));
    well_formed(&svg);
    on_the_sheet(&svg);
    not_overlapping(&svg);
    // Nine courses, two joints, one opening.
    assert_eq!(svg.matches("<a href=\"/on/W/").count(), 12, "{svg}");
    assert!(svg.contains("<a href=\"/on/W/J1?a=1&amp;b=2\" tabindex=\"-1\"><title>W/J1</title>"), "{svg}");
    // 92 mm are 348 CSS pixels: letters of 3.1 mm come out at nearly 12 on a phone of 390.
    assert!(svg.contains("width=\"92mm\"") && svg.contains("font-size=\"3.1\""));
}

#[test]
fn odd_walls_are_drawn_all_the_same() {
    for (length, height) in
        [(60_000.0, 2700.0), (1.0, 200_000.0), (200_000.0, 1.0), (f64::NAN, f64::INFINITY), (0.0, -5.0)]
    {
        let mut wall = Wall { length_mm: Some(length), height_mm: Some(height), courses: u32::MAX, ..long() };
        wall.key = "N <north & \"east\">".into();
        let mut drawn = planless(&wall);
        let place = drawn.place_of(&format!("{}/C7", wall.key)).unwrap();
        drawn.marks = (1..300).map(|number| Mark { place, form: Form::Open, label: number.to_string() }).collect();
        let svg = checked(&drawn);
        assert!(
            svg.contains("N &lt;north &amp; &quot;east&quot;&gt;") && svg.len() < 400_000,
            "{length} {height}: {}",
            svg.len()
        );
        drawn.top = vec![[0.0, f64::NAN], [length, height]];
        drawn.joints[0].at_mm = f64::NAN;
        checked(&drawn);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn no_text_lies_over_another_on_any_wall(
        length in 300.0..40_000f64,
        height in 300.0..12_000f64,
        courses in 1..60u32,
        joints in prop::collection::vec(0.0..1f64, 0..12),
        openings in prop::collection::vec((0.0..0.9f64, 0.02..0.3f64, 0.0..0.9f64, 0.02..0.4f64), 0..10),
        marked in prop::collection::vec(0..5usize, 0..12),
        ridge in prop::option::of(0.05..0.95f64),
        floors in prop::collection::vec(0.0..1f64, 0..4),
        ground in prop::collection::vec((0.0..1f64, -900.0..300f64, prop::option::of(any::<bool>())), 0..8),
    ) {
        let mut job = job();
        job.floor_lines_mm = floors.iter().map(|up| (up * height).round()).collect();
        let mut wall = Wall { key: "N".into(), length_mm: Some(length.round()), height_mm: Some(height.round()), courses, ..Wall::default() };
        wall.joints = joints.iter().map(|at| cladlog::building::Joint { at_mm: Some((at * length).round()) }).collect();
        wall.openings = (1..).zip(&openings).map(|(number, (from, wide, sill, high))| cladlog::building::Opening {
            key: format!("O{number}"),
            kind: Default::default(),
            from_mm: Some((from * length).round()),
            to_mm: Some(((from + wide).min(1.0) * length).round()),
            sill_mm: Some((sill * height).round()),
            head_mm: Some(((sill + high).min(1.0) * height).round()),
            dry: number % 2 == 0,
        }).collect();
        if let Some(at) = ridge {
            let (length, height) = (length.round(), height.round());
            wall.top = vec![[0.0, height * 0.8], [(at * length).round(), height], [length, height * 0.8]];
        }
        let readings: Vec<Reading> = ground.iter().map(|(at, up, paved)| Reading {
            wall: "N".into(),
            at_mm: (at * length).round(),
            ground_mm: Some(up.round()),
            paved: *paved,
            ..Reading::default()
        }).collect();
        let mut drawn = Elevation::of(&job, &wall, &Plans { readings: &readings, ..Plans::default() });
        let places = ["N", "N/C1", "N/J1", "N/O1", "NW"].map(|id| drawn.place_of(id));
        drawn.marks = marked.iter().filter_map(|place| places[*place]).enumerate()
            .flat_map(|(turn, place)| marks(place, 1 + 4 * turn)).collect();
        checked(&drawn);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn no_text_lies_over_another_on_any_rod(heights in prop::collection::btree_set(0..600_i32, 1..20)) {
        let kinds = [MarkKind::Start, MarkKind::Course(12), MarkKind::Sill, MarkKind::Top];
        // One more where two strips meet, 250 over a lowest mark at 0.
        let heights = heights.into_iter().map(|height| 5 * height).chain([0, 250]);
        let mark = |(place, height): (usize, i32)| RodMark {
            height_mm: f64::from(height),
            what: kinds[place % kinds.len()],
            walls: ["N", "Garage & porch", "E"][..place % 4].iter().map(ToString::to_string).collect(),
        };
        let marks: Vec<RodMark> = heights.enumerate().map(mark).collect();
        for page in rod_pages(&marks) {
            well_formed(&page);
            on_the_sheet(&page);
            not_overlapping(&page);
        }
    }
}

#[test]
fn the_rod_is_full_size_in_strips() {
    let mark = |height_mm, what| RodMark { height_mm, what, walls: vec!["N".into(), "Garage & porch".into()] };
    let rod = [mark(26.0, MarkKind::Start), mark(309.0, MarkKind::Course(2)), mark(311.0, MarkKind::Sill)];
    let pages = rod_pages(&rod);
    assert_eq!(pages.len(), 1, "291 mm are two strips on one page");
    let page = &pages[0];
    well_formed(page);
    on_the_sheet(page);
    assert!(page.contains("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""));
    assert!(page.contains("<rect x=\"104\" y=\"30\" width=\"100\" height=\"100\""), "the check square");
    // 26 mm is 6 mm above the foot of a strip that begins at 20.
    assert!(page.contains("y1=\"274\" x2=\"53\" y2=\"274\" stroke-width=\"0.5\""), "{page}");
    assert!(rod_pages(&[]).is_empty());
    assert!(rod_pages(&[mark(f64::NAN, MarkKind::Top)]).is_empty());
    assert!(rod_pages(&[mark(0.0, MarkKind::Start), mark(2e5, MarkKind::Top)]).len() <= 120);
}

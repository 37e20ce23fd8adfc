//! C2 through the binary: corner, plumb and the timber behind a joint.

use crate::harness::Bench;

fn bench() -> Bench {
    Bench::at("2026-03-02T08:00:00+13:00")
}

#[test]
fn a_3_4_5_corner_is_square() {
    // 3-4-5: Euclid, Elements I.47.
    let told = bench().run(["--json", "calc", "corner", "--along", "3000", "--across", "4000", "--between", "5000"]);
    let told = told.exits(0).json();
    assert_eq!((told["out_mm"].as_f64(), told["angle_deg"].as_f64()), (Some(0.0), Some(90.0)));
    let corner = ["calc", "corner", "--along", "3000", "--across", "4000", "--between", "5000"];
    let faces = [&corner[..], &["--faces", "1", "-4", "--within", "3"]].concat();
    assert!(bench().run(faces).exits(1).stdout.contains("OUT"));
}

#[test]
fn five_in_two_point_four_metres_is_the_most_a_wall_may_lean() {
    // NZS 3604 Table 2.1, as given in BRANZ Build 184: 5 mm in 2.4 m.
    let plumb = |top: &str| {
        bench().run(["calc", "plumb", "--height", "2400", "--bottom", "20", "--top", top, "--tolerance", "2.08334"])
    };
    assert!(plumb("15").exits(0).stdout.contains("5 mm out"));
    assert!(plumb("14").exits(1).stdout.contains("OUT"));
    assert!(plumb("5000").exits(2).stderr.contains("reading at the top"));
}

#[test]
fn a_joint_on_one_stud_has_too_little_behind_its_edges() {
    // Two studs of 45 mm side by side give each edge 40 mm less half the joint: common practice, no source.
    let bearing = |studs: &str| {
        let args = ["calc", "bearing", "--joint", "2400", "--joint-width", "10", "--studs", studs, "--stud", "45"];
        bench().run([&args[..], &["--needed", "35"]].concat())
    };
    bearing("2377.5,2422.5").exits(0);
    assert!(bearing("2400").exits(1).stdout.contains("TOO LITTLE"));
}

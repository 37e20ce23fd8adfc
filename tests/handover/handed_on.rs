//! Work that the crew leaves to somebody else, by a day that the pack names.

use crate::harness::site::Site;

/// A wall whose primed planks are to be painted within ninety days.
const SEQUENCE: &str = r#"
key = "painted"
title = "Primed planks"
edition = "1"
comes_first = "the maker"
roles = ["lead"]
authority = { close = ["lead"], concede = ["lead"] }
[[stage]]
key = "planks"
title = "Planks"
[[stage.step]]
key = "ready"
title = "Planks ready"
on = "wall"
[[stage.step]]
key = "clean"
title = "Cleaned"
on = "wall"
after = ["ready"]
[[stage.step.ask]]
key = "paint"
prompt = "Paint on this wall"
kind = "choice"
choices = ["painted", "painter told", "neither"]
accept = ["painted", "painter told"]
[[window]]
key = "paint-due"
title = "First plank up to paint"
from = "ready"
to = "clean"
latest = "90 days"
handed_on = "painter told"
basis = { common_practice = "90 days" }
"#;

const JOB: &str = r#"
key = "test"
name = "Test house"
time_zone = "Pacific/Auckland"
sequence = "painted.toml"
person = [{ name = "Lea", roles = ["lead"] }]
wall = [{ key = "N", courses = 1 }, { key = "E", courses = 1 }]
"#;

fn site(sequence: &str) -> Site {
    let site = Site::folder("2026-03-02T08:00:00+13:00", "");
    site.file("painted.toml", sequence);
    site.file("job.toml", JOB);
    site
}

#[test]
fn what_is_left_to_others_is_named_with_its_day_until_it_is_done() {
    let site = site(SEQUENCE);
    site.ok("job add job.toml");
    let site = site.with_day(&["Lea"]);
    site.ok("record ready --on N,E");
    site.clock("2026-03-02T09:00:00+13:00");
    site.ok("record clean --on N,E --answer 'paint=painter told'");
    let handed_on = |folder: &str| {
        let packed = site.ok(["pack", folder, "--interim"]);
        let all = packed["reservations"].as_array().unwrap().clone();
        all.into_iter().filter(|one| one["sort"] == "handed-on").collect::<Vec<_>>()
    };
    let [left] = &handed_on("pack")[..] else { panic!("one reservation for both walls") };
    assert_eq!(left["subject"], "N, E");
    assert_eq!(left["what"], "Paint on this wall: painter told; to be done by 31 May 2026");
    // Whoever looks after the cladding reads it there, and nothing calls the limit met.
    let page = site.read("pack/handover.html");
    let care = page.split("aria-labelledby=\"care\"").nth(1).unwrap().split("</section>").next().unwrap();
    assert!(care.contains("to be done by 31 May 2026"), "{care}");
    assert!(site.read("pack/tables/windows.csv").contains(",handed-on,") && !page.contains("met after"), "{page}");
    // The painter has been.
    site.clock("2026-03-02T10:00:00+13:00");
    site.ok("record clean --on N --answer paint=painted");
    assert_eq!(handed_on("again")[0]["subject"], "E");
}

#[test]
fn it_is_a_choice_that_the_second_step_accepts() {
    let site = site(&SEQUENCE.replace("handed_on = \"painter told\"", "handed_on = \"neither\""));
    let refused = site.bad("job add job.toml");
    assert!(refused.contains("'neither' is no choice that 'clean' accepts"), "{refused}");
}

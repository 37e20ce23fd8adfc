//! Lists and reports are not written over what is there, unless that is asked for; and they are there whole.

use super::story::Story;

#[test]
fn a_list_or_a_report_is_not_written_over_a_file_unless_that_is_asked_for() {
    let story = Story::begun();
    story.run(["note", "--on", "N", "--text", "tap wanted"]).exits(0);
    let mut commands = vec![
        vec!["log", "--csv"],
        vec!["defect", "list", "--csv"],
        vec!["hold", "list", "--csv"],
        vec!["stoppage", "list", "--csv"],
        vec!["extra", "list", "--csv"],
        vec!["hours", "--csv"],
        vec!["pace", "--csv"],
        vec!["day", "report", "--html"],
    ];
    if cladlog::handover::has_pdf() {
        commands.push(vec!["day", "report", "--pdf"]);
    }
    for command in commands {
        let run = |more: &[&str]| story.run(&[&command[..], more].concat());
        story.site.file("mine", "precious");
        let refused = run(&["mine"]).exits(2);
        assert_eq!(
            refused.stderr, "cladlog: mine: already exists\n  give another file, or replace this one with --replace\n",
            "{command:?}"
        );
        assert_eq!(refused.stdout, "");
        assert_eq!(std::fs::read_to_string(story.path("mine")).unwrap(), "precious");
        run(&["mine", "--replace"]).exits(0);
        assert_ne!(std::fs::read(story.path("mine")).unwrap(), b"precious", "{command:?}");
        std::fs::remove_file(story.path("mine")).unwrap();
        run(&["mine"]).exits(0);
        // What is not a regular file is not replaced even so.
        std::fs::create_dir(story.path("folder")).unwrap();
        let refused = run(&["folder", "--replace"]).exits(2);
        assert_eq!(refused.stderr, "cladlog: folder: is not a regular file, so it is not replaced\n", "{command:?}");
        std::fs::remove_dir(story.path("folder")).unwrap();
        // And where it can't be written, the message says where and why.
        let failed = run(&["mine/list"]).exits(3);
        assert_eq!(
            failed.stderr,
            "cladlog: mine/list: can't be written: part of its path is a file, not a folder\n  \
             write to another folder\n",
            "{command:?}"
        );
        let left = std::fs::read_dir(story.path(""))
            .unwrap()
            .filter(|entry| entry.as_ref().unwrap().file_name().to_string_lossy().contains(".part"));
        assert_eq!(left.count(), 0, "{command:?}");
    }
    // A sum that writes a list looks first, too.
    story.site.file("mine", "precious");
    let refused = story.run(["calc", "takeoff", "--csv", "mine"]).exits(2);
    assert!(refused.stderr.contains("mine: already exists"), "{}", refused.stderr);
    // The screen is always free.
    story.run(["log", "--csv", "-"]).exits(0);
}

//! The help: it fits a terminal, every command is reached from it, and the options of every command are set apart.

use crate::harness::Bench;

fn help(args: &[&str]) -> String {
    Bench::at("2026-03-02T07:30:00+13:00").run(args).exits(0).stdout
}

/// The commands that `help all` lists, with those below them.
fn commands() -> Vec<Vec<String>> {
    let all = help(&["help", "all"]);
    let lines = all.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let words = lines.map(|line| line.trim().split("  ").next().unwrap_or_default().split(' ').map(str::to_owned));
    words.map(Iterator::collect).filter(|words: &Vec<String>| !words[0].starts_with('-')).collect()
}

#[test]
fn the_help_of_the_program_fits_a_terminal_of_24_lines_of_80_columns() {
    for args in [&["--help"][..], &["-h"], &["help"]] {
        let text = help(args);
        assert!(text.lines().count() <= 24, "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        let first = text.lines().filter_map(|line| line.strip_prefix("  ")?.split_whitespace().next());
        let first: Vec<&str> = first.take(9).collect();
        assert_eq!(first, ["demo", "job", "day", "walk", "next", "record", "watch", "hold", "pack"]);
    }
}

#[test]
fn the_options_of_every_command_are_under_a_heading_of_their_own() {
    let commands = commands();
    assert!(commands.len() > 60, "{commands:?}");
    for command in commands.iter().filter(|command| command[0] != "help") {
        let mut args: Vec<&str> = command.iter().map(String::as_str).collect();
        args.push("--help");
        let text = help(&args);
        let (own, shared) = text.split_once("\nOptions of every command:\n").unwrap_or_else(|| panic!("{text}"));
        for option in ["--db", "--job", "--by", "--at", "--json", "--color"] {
            // The sun is asked for at a moment of its own.
            if (option, command.join(" ").as_str()) == ("--at", "calc sun") {
                continue;
            }
            assert!(!own.contains(&format!(" {option} ")), "{option} in {own}");
            assert!(shared.contains(&format!(" {option}")), "{option} missing in {shared}");
        }
        // A usage is there to be copied: it is not broken.
        assert!(text.lines().all(|line| line.chars().count() <= 80 || line.starts_with("Usage:")), "{text}");
    }
}

#[test]
fn a_missing_argument_is_answered_with_the_usage_of_the_command() {
    let bench = Bench::at("2026-03-02T07:30:00+13:00");
    for args in [&["--db", "site.db", "record", "courses"][..], &["record", "courses", "--db", "site.db"]] {
        let run = bench.run(args).exits(2);
        assert!(run.stderr.contains("Usage: cladlog record [OPTIONS] --on <SUBJECT> <STEP>\n"), "{}", run.stderr);
    }
}

#[test]
fn help_all_takes_options_before_it() {
    assert_eq!(help(&["--color", "never", "help", "all"]), help(&["help", "all"]));
    Bench::at("2026-03-02T07:30:00+13:00").run(["note", "help", "all"]).exits(2);
}

#[test]
fn no_option_is_offered_that_does_nothing() {
    assert!(!help(&["manual", "--help"]).contains("--readable"));
}

#[test]
fn the_manual_is_not_written_over_what_is_there_unless_that_is_asked_for() {
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    bench.run(["manual", "man"]).exits(0);
    let pages = || std::fs::read_dir(bench.path("man")).unwrap().count();
    assert!(pages() > 1);
    bench.file("man/cladlog.1", "precious");
    bench.run(["manual", "man"]).exits(2);
    assert_eq!(std::fs::read_to_string(bench.path("man/cladlog.1")).unwrap(), "precious");
    bench.run(["manual", "man", "--replace"]).exits(0);
    assert_ne!(std::fs::read_to_string(bench.path("man/cladlog.1")).unwrap(), "precious");
}

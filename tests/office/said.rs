//! What the office says to people, in one file: tests/office/said.txt, as `tests/messages` keeps the rest.

use std::fmt::Write as _;

use super::postgres::Office;
use super::small;
use crate::harness::root;

/// The login before a command, and the command.
const SAID: &[(&str, &str)] = &[
    ("postgres", "push"),
    ("postgres", "init"),
    ("postgres", "board"),
    ("ana", "push"),
    ("ana", "push"),
    ("ana", "board"),
    ("ana", "pull --job one one.jsonl"),
    ("ana", "pull --job two two.jsonl"),
    ("desk", "push"),
    ("desk", "work --once"),
    ("desk", "board"),
    ("desk", "board --at 10:40"),
    ("desk", "board --at noon"),
    ("desk", "trace B-1"),
    ("desk", "hours --week 2026-W10"),
    ("desk", "verify"),
    ("bo", "push"),
    ("wes", "work --once"),
];

#[test]
fn what_the_office_says_is_kept() {
    let Some(of) = Office::empty() else { return };
    let site = small("one");
    let (device, folder) = (site.log()[0]["device"].as_str().unwrap().to_owned(), of.url());
    let place = folder.split_once("host=").unwrap().1.split_once('&').unwrap().0.to_owned();
    let mut said = String::new();
    let mut logins = Vec::new();
    for (login, command) in SAID {
        if *command == "board" && logins.is_empty() && *login == "postgres" {
            logins = [("ana", "crew"), ("bo", "crew"), ("desk", "office"), ("wes", "worker")]
                .map(|(name, role)| (name, of.login(name, role)))
                .to_vec();
        }
        let name = logins.iter().find(|(name, _)| name == login).map_or("postgres", |(_, full)| full);
        // A crew that begins after another has a book of its own.
        let file = if *login == "bo" { site.beside("bo", "Lea") } else { site.beside("job", "Lea") };
        if *login == "bo" {
            std::fs::copy(site.path("job.db"), site.path("bo.db")).unwrap();
        }
        let url = of.url_of(name);
        let words: Vec<&str> = command.split(' ').collect();
        let run = file.shown(&[&["office", "--server", &url][..], &words].concat()[..]);
        let code = if run.code == 0 { String::new() } else { format!("exit {}\n", run.code) };
        let text = format!("{code}{}{}", run.stdout, run.stderr);
        let database = url.split_once("///").unwrap().1.split_once('?').unwrap().0;
        let text =
            text.replace(&place, "PLACE").replace(name, login).replace(database, "office").replace(&device, "DEVICE");
        writeln!(said, "$ {login}: office {command}\n{text}").unwrap();
        let wide = text.lines().find(|line| run.code == 0 && line.chars().count() > 80);
        assert_eq!(wide, None, "wider than a screen");
    }
    // The digits of hashes are those of this run's device.
    let hidden = |line: &str| match line.split_once("check ") {
        Some((before, _)) => format!("{before}check HEAD"),
        None => line.to_owned(),
    };
    let said = said.lines().map(hidden).collect::<Vec<_>>().join("\n") + "\n";
    let kept = root().join("tests/office/said.txt");
    if std::env::var("CLADLOG_MESSAGES").is_ok_and(|value| value == "write") {
        return std::fs::write(kept, said).unwrap();
    }
    assert_eq!(std::fs::read_to_string(kept).unwrap(), said);
}

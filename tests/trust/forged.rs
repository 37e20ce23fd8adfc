//! A record that the crew itself wrote again, without what went wrong and not as a rehearsal: it holds in itself, and fails
//! against any code that was sent before.

use std::collections::HashMap;
use std::process::Command;

use serde_json::Value;

use super::mutate::inputs::seal_again;
use crate::harness::root;

/// Puts new ids in the place of the old ones, wherever they stand in a text.
fn renumbered(text: &str, numbers: &HashMap<u64, u64>) -> String {
    let mut parts = text.split("demo-");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |text, part| {
        let digits = part.find(|c: char| !c.is_ascii_digit()).unwrap_or(part.len());
        let number = part[..digits].parse().ok().and_then(|number: u64| numbers.get(&number));
        let number = number.map_or_else(|| part[..digits].to_owned(), u64::to_string);
        format!("{text}demo-{number}{}", &part[digits..])
    })
}

/// The demonstration's record as somebody would write it who wants a better one: no rehearsal, no refusal, nothing struck, no
/// concession and no photo that is flagged; a corner that was 6 mm out is 2.
fn made_better(true_record: &str) -> String {
    let entries: Vec<Value> = true_record.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let strikes = entries.iter().filter(|entry| entry["kind"] == "struck");
    let struck: Vec<&str> = strikes.filter_map(|entry| entry["body"]["entry"].as_str()).collect();
    let dropped = |entry: &Value| {
        let id = format!("demo-{}", entry["seq"]);
        let told = ["hold-refused", "struck", "defect-conceded", "photo-added", "saying-confirmed"];
        told.contains(&entry["kind"].as_str().unwrap()) || struck.contains(&id.as_str())
    };
    let kept: Vec<&Value> = entries.iter().filter(|entry| !dropped(entry)).collect();
    assert!(entries.len() - kept.len() >= 8, "{} left out", entries.len() - kept.len());
    let numbers: HashMap<u64, u64> = kept.iter().map(|entry| entry["seq"].as_u64().unwrap()).zip(1..).collect();
    let line = |entry: &&Value| {
        let mut entry = (*entry).clone();
        entry["seq"] = numbers[&entry["seq"].as_u64().unwrap()].into();
        let body = entry["body"].as_object_mut().unwrap();
        body.remove("rehearsal");
        if body.get("answers").is_some_and(|answers| answers["plumb"] == 6) {
            body["answers"]["plumb"] = 2.into();
        }
        renumbered(&format!("{entry}\n"), &numbers)
    };
    seal_again(&kept.iter().map(line).collect::<String>())
}

#[test]
fn a_record_written_again_holds_in_itself_and_fails_against_the_code_of_its_first_evening() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    // By the machine's clock: under a set one everything is a rehearsal.
    let run = |line: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_cladlog"));
        command.env_clear().args(["--json", "--by", "Mere Tahana"]).args(line.split(' '));
        let output = command.current_dir(&folder).output().unwrap();
        (output.status.code(), serde_json::from_slice::<Value>(&output.stdout).unwrap_or_default())
    };
    std::fs::copy(root().join("demo-db/demo.db"), at("true.db")).unwrap();
    assert_eq!(run("--db true.db export true.jsonl").0, Some(0));
    let true_record = std::fs::read_to_string(at("true.jsonl")).unwrap();
    std::fs::write(at("forged.jsonl"), made_better(&true_record)).unwrap();
    assert_eq!(run("--db forged.db merge forged.jsonl").0, Some(0));
    let (code, made) = run("--db forged.db --clock-is-right pack pack --interim");
    assert_eq!((code, &made["rehearsal"]), (Some(0), &false.into()), "{made}");
    // Nothing in it gives it away.
    assert_eq!(run("verify pack").1["ok"], true);
    assert_eq!(run("verify forged.db").1["ok"], true);
    let defects = run("--db forged.db defect list").1;
    assert_eq!(defects["defects"], Value::Array(Vec::new()), "{defects}");
    // The code that the builder was sent on the first evening does: on the pack, its zip, the database, and the PDF alone.
    let first_evening = true_record
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .find(|entry| entry["kind"] == "day-closed")
        .map(|entry| format!("{}-{}", entry["seq"], &entry["hash"].as_str().unwrap()[..20]))
        .unwrap();
    assert_eq!(run("--db held.db merge true.jsonl").0, Some(0));
    assert_eq!(run(&format!("verify held.db --head {first_evening}")).0, Some(0), "the true record has it");
    let mut held = vec!["pack", "pack.zip", "forged.db"];
    held.extend(cladlog::handover::has_pdf().then_some("pack/handover.pdf"));
    for path in held {
        let (code, verified) = run(&format!("verify {path} --head {first_evening}"));
        assert_eq!(code, Some(1), "{path}: {verified}");
        assert!(verified["failures"].to_string().contains(&first_evening), "{path}: {verified}");
    }
    // And so does what somebody else holds of the true record.
    assert_eq!(run("verify forged.db --against true.jsonl").0, Some(1));
    assert_ne!(run("--db forged.db merge true.jsonl").1["merged"], true);
}

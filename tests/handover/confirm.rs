//! What is typed in the name of others, and their own word for it.

use std::process::Command;

use serde_json::Value;

use super::story::Story;
use crate::harness::not_tried;
use crate::trust::mutate::inputs::seal_again;

/// A job with a release by the builder, typed by the lead; and the id of its entry.
fn released() -> (Story, String) {
    let story = Story::nearly_done();
    let all = list(&story);
    let release = all.iter().find(|one| one["what"].as_str().unwrap().contains("released")).unwrap();
    let id = release["entry"].as_str().unwrap().to_owned();
    (story, id)
}

fn list(story: &Story) -> Vec<Value> {
    story.json(["confirm", "list"])["confirmations"].as_array().unwrap().clone()
}

fn grade(story: &Story, id: &str) -> String {
    let all = list(story);
    all.iter().find(|one| one["entry"] == id).unwrap()["grade"].as_str().unwrap().to_owned()
}

#[test]
fn r16_what_is_typed_in_the_name_of_others_is_graded_by_their_own_word() {
    let (story, id) = released();
    let all = list(&story);
    assert!(all.iter().all(|one| one["grade"] == "typed" && one["person"] == "Ruth Tarn" && one.get("at").is_none()));
    assert!(all.len() >= 3, "two releases and a concession: {all:?}");
    // A reply, then signed paper: the stronger counts, whichever came first.
    let added = story.json(["confirm", "add", &id, "--text", "Yes, seen on site"]);
    assert_eq!(added["entries"][0]["kind"], "saying-confirmed");
    assert_eq!(grade(&story, &id), "reply");
    story.site.file("signed page.pdf", "scanned");
    let paper = story.json(["confirm", "add", &id, "--signed", "signed page.pdf"]);
    assert_eq!(grade(&story, &id), "signed-paper");
    story.json(["confirm", "add", &id, "--text", "Again"]);
    assert_eq!(grade(&story, &id), "signed-paper");
    // The pages say who typed it, and how it was confirmed.
    story.json(["pack", "pack", "--interim"]);
    let page = std::fs::read_to_string(story.path("pack/handover.html")).unwrap();
    assert!(page.contains("as noted by Mere Tahana; confirmed on signed paper (signed page.pdf, SHA-256 "), "{page}");
    assert!(page.contains("as noted by Mere Tahana; not confirmed"));
    assert!(std::fs::read_to_string(story.path("pack/tables/confirmations.csv")).unwrap().contains("signed-paper"));
    story.run(["verify", "pack"]).exits(0);
    // Struck, it confirms nothing.
    story.json(["strike", paper["entries"][0]["id"].as_str().unwrap(), "--why", "another page"]);
    assert_eq!(grade(&story, &id), "reply");
}

#[test]
fn r16_only_what_is_said_in_the_name_of_others_can_be_confirmed() {
    let (story, id) = released();
    let first = story.json(["log"])["entries"][0]["id"].as_str().unwrap().to_owned();
    story.run(["confirm", "add", &first, "--text", "yes"]).exits(2);
    story.run(["confirm", "add", "none-1", "--text", "yes"]).exits(2);
    story.run(["confirm", "add", &id, "--text", " "]).exits(2);
    story.run(["confirm", "add", &id]).exits(2);
    story.run(["confirm", "add", &id, "--text", "yes", "--signed", "job.toml"]).exits(2);
    story.run(["confirm", "add", &id, "--signed", "nowhere.pdf"]).exits(2);
    // On the crew's machine anybody can give any name: the file is the lead's.
    let own =
        ["--by", "Ruth Tarn", "hold", "refuse", "handover", "--on", "job", "--person", "Ruth Tarn", "--why", "rain"];
    let own = story.json(own)["entries"][0]["id"].as_str().unwrap().to_owned();
    assert_eq!(grade(&story, &own), "typed");
}

/// As `cladlog help confirm add` says, on the person's own machine.
#[test]
fn r16_a_signature_with_ones_own_key_is_checked() {
    if Command::new("openssl").arg("version").output().is_err() {
        return not_tried("there is no openssl");
    }
    let (story, id) = released();
    let hash =
        list(&story).iter().find(|one| one["entry"] == id.as_str()).unwrap()["hash"].as_str().unwrap().to_owned();
    story.site.file("entry.txt", &hash);
    story.site.file("other.txt", &hash.replace(|c: char| c.is_ascii_digit(), "0"));
    for line in [
        "genpkey -algorithm ed25519 -out own.key",
        "pkey -in own.key -pubout -out own.pub",
        "pkeyutl -sign -rawin -inkey own.key -in entry.txt -out entry.sig",
        "pkeyutl -sign -rawin -inkey own.key -in other.txt -out other.sig",
    ] {
        let status = Command::new("openssl").args(line.split(' ')).current_dir(story.path("")).output().unwrap().status;
        assert!(status.success(), "{line}");
    }
    story.run(["confirm", "add", &id, "--signature", "other.sig", "--public", "own.pub"]).exits(2);
    story.run(["confirm", "add", &id, "--signature", "entry.txt", "--public", "own.pub"]).exits(2);
    story.json(["confirm", "add", &id, "--signature", "entry.sig", "--public", "own.pub"]);
    assert_eq!(grade(&story, &id), "own-key");
    // A record from elsewhere may claim a signature that does not hold: it confirms nothing.
    story.json(["export", "good.jsonl"]);
    let good = std::fs::read_to_string(story.path("good.jsonl")).unwrap();
    let forged: String = good
        .lines()
        .map(|line| {
            let mut entry: Value = serde_json::from_str(line).unwrap();
            if entry["kind"] == "saying-confirmed" {
                let signature = &mut entry["body"]["how"]["own-key"]["signature"];
                *signature = signature.as_str().unwrap().replace('a', "b").into();
            }
            format!("{entry}\n")
        })
        .collect();
    story.site.file("forged.jsonl", &seal_again(&forged));
    let other = story.site.beside("other", "Mere Tahana");
    other.ok("merge forged.jsonl");
    let all = other.ok("confirm list")["confirmations"].clone();
    assert!(all.as_array().unwrap().iter().all(|one| one["grade"] == "typed"), "{all}");
}

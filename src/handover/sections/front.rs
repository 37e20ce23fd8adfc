//! What comes first: the verdict, what is missing, counts, hold points and defects.

use crate::handover::model::{DefectTold, Document, HoldTold, when};
use crate::handover::page::{Block, Section, count, lines, section, table, text};
use crate::units::number::show;

/// The sentence that stands at the top.
pub fn verdict(document: &Document) -> String {
    if document.complete {
        "COMPLETE: every step is done, every hold point is released and no defect is open.".to_owned()
    } else {
        let many = document.missing.len();
        let is = if many == 1 { "is" } else { "are" };
        format!("NOT COMPLETE: {} {is} missing. They come first below.", count(many, "thing"))
    }
}

/// What is said wherever a rehearsal could be taken for the real thing.
pub const REHEARSAL: &str =
    "REHEARSAL: this record was written with a set clock, for training or testing. It is evidence of nothing.";

/// What is said first of a copy without names.
pub fn withheld(document: &Document) -> Option<String> {
    let many = count(document.withheld, "name");
    let is = if document.withheld == 1 { "is" } else { "are" };
    (document.withheld > 0).then(|| {
        format!(
            "COPY FOR READING: {many} {is} withheld; roles stand in their place. The record names people and can't be \
             changed, so it is not in this copy, and nobody can verify it. The whole pack is with the crew."
        )
    })
}

pub fn missing(document: &Document) -> Section {
    let rows = document
        .missing
        .iter()
        .map(|one| vec![one.what.clone(), one.on.clone(), one.stands.clone()])
        .collect::<Vec<_>>();
    let mut blocks = Vec::new();
    if !rows.is_empty() {
        blocks.push(table("Missing", &[("What", 6), ("Where", 3), ("How it stands", 3)], rows, ""));
    }
    if !document.remarks.is_empty() {
        blocks.push(text("To know besides:"));
        blocks.push(Block::List { items: document.remarks.clone() });
    }
    section("missing", if document.complete { "To know first" } else { "What is missing" }, blocks)
}

pub fn glance(document: &Document) -> Section {
    let sum = &document.summary;
    let with = |many: usize, said: &str| if many == 0 { String::new() } else { format!("; {many} {said}") };
    let counted = |many: usize, one: &str| if many == 0 { String::new() } else { format!("; {}", count(many, one)) };
    let facts = vec![
        ("Steps", format!("{} of {} complete", sum.steps_complete, sum.steps_asked)),
        ("Hold points", format!("{} of {} released", sum.holds_released, sum.holds)),
        (
            "Defects",
            if sum.defects == 0 {
                "none opened".to_owned()
            } else {
                let ended = sum.defects_open + sum.defects_closed + sum.defects_conceded;
                let void = with(sum.defects.saturating_sub(ended), "void");
                format!(
                    "{} opened: {} open, {} put right, {} conceded{void}",
                    sum.defects, sum.defects_open, sum.defects_closed, sum.defects_conceded
                )
            },
        ),
        (
            "Time windows",
            format!(
                "{} begun: {} met{}{}{}",
                sum.windows,
                sum.windows_met,
                with(sum.windows_lapsed, "lapsed or begun again"),
                with(sum.windows_broken, "done out of time"),
                with(sum.windows_running, "running")
            ),
        ),
        (
            "Measurements",
            format!("{} taken, {} out of tolerance when first read", sum.measurements, sum.measurements_out),
        ),
        ("Record", format!("{} entries: {} recorded late, {} struck", sum.entries, sum.late, sum.struck)),
        (
            "Work",
            format!(
                "{} on site, {} hours{}{}",
                count(document.days.len(), "day"),
                show(sum.hours),
                counted(document.costs.stoppages.len(), "stoppage"),
                counted(document.costs.extras.len(), "extra")
            ),
        ),
    ];
    let facts = facts.into_iter().map(|(word, said)| (word.to_owned(), said)).collect();
    section("glance", "At a glance", vec![Block::Facts { facts }])
}

pub fn holds(document: &Document) -> Section {
    let who = |hold: &HoldTold| match (&hold.person, &hold.role) {
        (Some(person), Some(role)) => format!("{person} ({role})"),
        (Some(person), None) => person.clone(),
        (None, _) => format!("nobody yet; it takes {}", hold.roles.join(" or ")),
    };
    let row = |hold: &HoldTold| {
        vec![
            hold.title.clone(),
            hold.subject.clone(),
            hold.state.to_uppercase(),
            lines([who(hold), hold.at.as_ref().map(when).unwrap_or_default()]),
            lines([
                hold.how.clone().unwrap_or_default(),
                hold.evidence.as_ref().map(|shows| format!("Evidence: {shows}")).unwrap_or_default(),
                hold.asked_at.as_ref().map(|asked| format!("Asked for {}", when(asked))).unwrap_or_default(),
                hold.entry.as_ref().map(|entry| format!("Entry {entry}")).unwrap_or_default(),
            ]),
        ]
    };
    let rows = document.holds.iter().map(row).collect();
    let columns = [("Hold point", 8), ("On", 3), ("State", 5), ("By whom, when", 7), ("How", 8)];
    let none = "This sequence has no hold points.";
    section("holds", "Hold points", vec![table("Hold points and who released them", &columns, rows, none)])
}

/// The defects and how each ended, open ones first.
pub fn defects(document: &Document) -> Section {
    let row = |defect: &DefectTold| {
        let by = defect.person.as_ref().map(|person| format!("by {person}")).unwrap_or_default();
        let at = defect.ended_at.as_ref().map(when).unwrap_or_default();
        let entry = defect.ended_by.as_ref().map(|entry| format!("Entry {entry}")).unwrap_or_default();
        let word = match defect.state {
            "closed" => "PUT RIGHT",
            "conceded" => "CONCEDED",
            "void" => "VOID",
            _ => "OPEN",
        };
        vec![
            defect.number.to_string(),
            defect.subject.clone(),
            lines([
                defect.what.clone(),
                format!("Opened {}, entry {}", when(&defect.opened_at), defect.opened_by),
                defect.rule.as_ref().map(|rule| format!("Found by rule {rule}")).unwrap_or_default(),
            ]),
            lines([
                format!("{word} {by}").trim().to_owned(),
                defect.how.clone().unwrap_or_default(),
                lines([at, entry]).replace('\n', ", "),
            ]),
        ]
    };
    let rows = document.defects.iter().map(row).collect();
    let columns = [("No.", 2), ("On", 4), ("What was wrong", 14), ("How it ended", 10)];
    let table = table("Defects and concessions, open ones first", &columns, rows, "No defect was opened.");
    Section { id: "defects".to_owned(), title: "Defects and concessions".to_owned(), blocks: vec![table] }
}

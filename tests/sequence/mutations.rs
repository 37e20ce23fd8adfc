//! Whatever becomes of a sequence file, the reader answers: it never panics.

use cladlog::sequence::{SHIPPED, read};
use proptest::prelude::*;

/// Pieces that a slip of the hand, or malice, might put into a file.
const PIECES: &[&str] = &[
    "",
    "\"",
    "\"\"\"",
    "'",
    "[",
    "]]",
    "[[stage]]",
    "[[stage.step]]",
    "[[window]]",
    "[[window.surface]]",
    "{",
    "}",
    "=",
    ".",
    ",",
    "\n",
    "\r",
    "\\",
    "#",
    "-",
    "1e999",
    "nan",
    "-inf",
    "99999999999999999999",
    "0x7f",
    "1979-05-27",
    "true",
    "\u{0}",
    "\u{202e}",
    "é",
    "key = \"courses\"",
    "after = [\"courses\"]",
    "to = \"prime\"",
    "every = 0",
    "\"0 min\"",
    "\"9999999 days\"",
    "a.b.c = 1",
    "surface_c = 5",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn no_mutation_of_a_shipped_file_makes_the_reader_panic(
        file in 0..SHIPPED.len(),
        cuts in prop::collection::vec((any::<prop::sample::Index>(), 0usize..40, 0..PIECES.len()), 1..6),
    ) {
        let mut text: Vec<char> = SHIPPED[file].1.chars().collect();
        for (at, long, piece) in cuts {
            let at = at.index(text.len() + 1);
            let end = (at + long).min(text.len());
            text.splice(at..end, PIECES[piece].chars());
        }
        check(&text.into_iter().collect::<String>())?;
    }

    #[test]
    fn no_lost_or_moved_line_makes_the_reader_panic(
        file in 0..SHIPPED.len(),
        moves in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>(), any::<bool>()), 1..6),
    ) {
        let mut lines: Vec<&str> = SHIPPED[file].1.lines().collect();
        for (from, to, copy) in moves {
            let (from, to) = (from.index(lines.len()), to.index(lines.len()));
            let line = if copy { lines[from] } else { lines.remove(from) };
            lines.insert(to.min(lines.len()), line);
        }
        check(&lines.join("\n"))?;
    }
}

/// Either a sequence in which every index holds, or mistakes that lie inside the text, in order.
fn check(text: &str) -> Result<(), TestCaseError> {
    match read(text) {
        Ok(sequence) => {
            let steps = sequence.steps.len();
            for step in &sequence.steps {
                prop_assert!(step.after.iter().all(|before| before.place() < steps));
                prop_assert!(step.stage.place() < sequence.stages.len());
            }
        }
        Err(mistakes) => {
            prop_assert!(!mistakes.is_empty());
            prop_assert!(mistakes.is_sorted());
            let lines = text.matches('\n').count() + 1;
            for mistake in mistakes {
                prop_assert!(mistake.line >= 1 && mistake.line <= lines && mistake.column >= 1);
                prop_assert!(!mistake.message.is_empty());
            }
        }
    }
    Ok(())
}

//! The sequence files that ship, and the reader's messages.

use cladlog::sequence::{SHIPPED, read};

#[test]
fn shipped_sequences_read_without_a_mistake() {
    for (key, text) in SHIPPED {
        match read(text) {
            Ok(sequence) => assert_eq!(&sequence.key, key),
            Err(mistakes) => {
                let said: Vec<String> = mistakes.iter().map(|m| m.in_file(key)).collect();
                panic!("{}", said.join("\n"));
            }
        }
    }
}

//! Open defects: put right, or let stand by somebody who may.

use super::{Away, Walk};
use crate::cli::prompts::{say, say_loud, say_wrapped};
use crate::day::{DefectState, Request};

impl Walk<'_> {
    /// Goes through the open defects once.
    pub(super) fn settle_defects(&mut self) -> Result<(), Away> {
        let open: Vec<String> = self.book.state.open_defects().map(|defect| defect.id.clone()).collect();
        for id in open {
            let book = self.book.clone();
            // The one before may have ended this one as well.
            let Some(defect) = book.state.defect(&id).filter(|defect| defect.state == DefectState::Open) else {
                continue;
            };
            say("");
            say_loud(&format!("Defect on {}", defect.subject), self.out.colour());
            say_wrapped(&format!("  {} ({id})", defect.what), 4);
            let ways = ["leave it open", "put right", "may stand: a concession"].map(str::to_owned);
            let picked = self.pick("Number", &ways, Some(0))?;
            let authority = &book.state.sequence().authority;
            match picked {
                1 => {
                    let Some(person) = self.somebody("Who says that it is put right?", &authority.close)? else {
                        continue;
                    };
                    let how = self.line("How was it put right", None, true)?;
                    if given(&how) {
                        let what = format!("defect on {} put right", defect.subject);
                        self.record(&Request::CloseDefect { defect: id, person, how }, &what)?;
                    }
                }
                2 => {
                    let Some(person) = self.somebody("Who gives the concession?", &authority.concede)? else {
                        continue;
                    };
                    let why = self.line("Why may it stand", None, true)?;
                    if given(&why) {
                        let what = format!("concession for the defect on {}, by {person}", defect.subject);
                        self.record(&Request::Concede { defect: id, person, why }, &what)?;
                    }
                }
                _ => {}
            }
        }
        Ok(())
    }
}

fn given(text: &str) -> bool {
    if text.is_empty() {
        say("  It needs a word on that: nothing recorded.");
    }
    !text.is_empty()
}

//! What a page is made from, and the links and forms that all pages share.

use maud::{Markup, html};

use crate::day::{Action, Book, State, next};
use crate::refusal::Rule;
use crate::sequence::CautionIx;
use crate::serve::context::PageContext;

/// What a page is made from.
pub(super) struct View<'a> {
    pub book: &'a Book,
    pub context: &'a PageContext,
    /// What is next, most urgent first.
    pub actions: Vec<Action>,
}

impl<'a> View<'a> {
    pub fn new(book: &'a Book, context: &'a PageContext) -> Self {
        Self { book, context, actions: next(&book.state, context.now) }
    }

    pub fn state(&self) -> &'a State {
        &self.book.state
    }

    /// Id of the wall that the phone is at.
    pub fn at(&self) -> Option<String> {
        self.context.wall.map(|wall| self.state().subjects.get(wall).to_string())
    }

    /// A link to a page, with the wall that the phone is at and what else the page is to know.
    pub fn link(&self, path: &str, fields: &[(&str, &str)]) -> String {
        let own = fields.iter().any(|(name, _)| *name == "on") || path.starts_with("/wall/");
        let at = self.at().filter(|_| !own);
        let mut url = path.to_owned();
        for (place, (name, value)) in at.iter().map(|at| ("on", at.as_str())).chain(fields.iter().copied()).enumerate()
        {
            url.push(if place == 0 { '?' } else { '&' });
            url.push_str(name);
            url.push('=');
            url.push_str(&segment(value));
        }
        url
    }

    /// A form that records something.
    pub fn form(&self, path: &str, fields: &Markup) -> Markup {
        self.form_with(path, "application/x-www-form-urlencoded", fields)
    }

    /// The same for a form that a photo may go with.
    pub fn photo_form(&self, path: &str, fields: &Markup) -> Markup {
        self.form_with(path, "multipart/form-data", fields)
    }

    fn form_with(&self, path: &str, encoding: &str, fields: &Markup) -> Markup {
        html! {
            form method="post" action=(path) enctype=(encoding) {
                input type="hidden" name="token" value=(self.context.token);
                input type="hidden" name="request_id" value=(self.context.request_id);
                (fields)
            }
        }
    }

    /// The cautions that are due, by their indexes: a step that could be done waits for them.
    pub fn due_cautions(&self) -> Vec<CautionIx> {
        let sequence = self.state().sequence();
        let due = self.actions.iter().filter(|action| action.rule == Some(Rule::Caution) && action.at_hand);
        let mut due: Vec<CautionIx> = due.filter_map(|action| sequence.caution(action.key.as_deref()?)).collect();
        due.sort_unstable();
        due.dedup();
        due
    }

    /// Whether whoever holds the phone is on site and has not read a caution today.
    pub fn is_unread(&self, caution: CautionIx) -> bool {
        let key = &self.state().sequence().cautions[caution].key;
        self.state().has_not_read(key, self.context.now).contains(&self.context.person)
    }
}

/// Text as it stands in a URL: a key or an id.
pub(in crate::serve) fn segment(text: &str) -> String {
    let mut url = String::new();
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'/' | b',' | b':' | b'@' => {
                url.push(char::from(byte));
            }
            _ => url.push_str(&format!("%{byte:02X}")),
        }
    }
    url
}

/// Words as a sentence or a heading begins.
pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Whoever may do something by their role.
pub(super) fn someone(roles: &[String]) -> String {
    format!("someone with the role {}", roles.join(" or "))
}

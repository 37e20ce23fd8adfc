//! What the numbers of a sequence file rest on.

use super::model::Basis;
use super::names::Names;
use crate::form::{At, Key, Name, Section, nearest, table};

/// A basis. Where a number must have one, an empty one stands in for what is wrong.
pub(super) fn basis(f: &Section<'_>, names: &Names<'_>) -> Option<Basis> {
    let published = f.optional("published", Name, "the published source, with its edition");
    let clause = f.optional("clause", Name, "the clause or table in it");
    let document = f.optional("document", At(Key), "a document of this sequence that the job must hold");
    let practice = f.optional("common_practice", Name, "what the trade commonly does");
    if ["published", "document", "common_practice"].into_iter().filter(|key| f.has(key)).count() != 1 {
        f.mistake("a basis has exactly one of published (with clause), document or common_practice");
        return None;
    }
    if f.has("clause") != f.has("published") {
        f.mistake("'published' needs 'clause', and 'clause' needs 'published'");
    }
    match (published, document, practice) {
        (Some(source), ..) => Some(Basis::Published { source, clause: clause.unwrap_or_default() }),
        (_, Some(document), _) => {
            let key = document.get_ref();
            let found = names.documents.iter().find(|document| document.key == *key);
            if found.is_none() {
                let keys: Vec<&str> = names.documents.iter().map(|document| document.key.as_str()).collect();
                let hint = nearest(key, &keys).map_or("add it".to_owned(), |near| format!("did you mean '{near}'?"));
                f.mistake_in("document", format!("there is no [[document]] with the key '{key}'; {hint}"));
            }
            Some(Basis::Document { title: found?.title.clone(), key: document.into_inner() })
        }
        (.., practice) => practice.map(Basis::CommonPractice),
    }
}

pub(super) fn required_basis(f: &Section<'_>, names: &Names<'_>, doc: &'static str) -> Basis {
    f.required("basis", table("basis", |part| basis(part, names)), doc).unwrap_or_default()
}

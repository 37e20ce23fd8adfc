//! `GET /api/changes`: a server-sent event for each new entry, whoever recorded it.

use std::collections::{BTreeMap, VecDeque};
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{Stream, unfold};
use serde_json::json;
use tokio::sync::watch;

use crate::day::Book;
use crate::record::{Entry, EntryId};
use crate::serve::app::App;
use crate::serve::session::Session;

/// How often something is sent although nothing happened, so that a lost connection is noticed.
const ALIVE: Duration = Duration::from_secs(15);

/// How far each device's book was sent.
type Sent = BTreeMap<String, u64>;

/// A phone that listens.
struct Listener {
    app: Arc<App>,
    phone: String,
    books: watch::Receiver<Arc<Book>>,
    ending: watch::Receiver<bool>,
    sent: Sent,
    waiting: VecDeque<Event>,
}

/// `GET /api/changes`. A browser that comes back says which event it had last (`last-event-id`); it has what was recorded
/// since.
pub async fn changes(
    State(app): State<Arc<App>>,
    session: Session,
    headers: HeaderMap,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let last = headers.get("last-event-id").and_then(|id| id.to_str().ok()?.parse::<EntryId>().ok());
    let mut books = app.recorder.changes();
    // What was there when the session was found is known to the page; what came since is new.
    books.mark_changed();
    let mut sent: Sent = session.book.heads().iter().map(|(device, (seq, _))| (device.clone(), *seq)).collect();
    if let Some(last) = last.filter(|last| session.book.entry(last).is_some()) {
        sent.insert(last.device.to_string(), last.seq);
    }
    let (ending, phone) = (app.ending.clone(), session.phone.id);
    let listener = Listener { app, phone, books, ending, sent, waiting: VecDeque::new() };
    Sse::new(unfold(listener, Listener::next)).keep_alive(KeepAlive::new().interval(ALIVE))
}

impl Listener {
    /// The next event; nothing more once the server ends or the phone is forgotten.
    async fn next(mut self) -> Option<(Result<Event, Infallible>, Self)> {
        loop {
            if let Some(event) = self.waiting.pop_front() {
                return Some((Ok(event), self));
            }
            tokio::select! {
                changed = self.books.changed() => changed.ok()?,
                ended = self.ending.wait_for(|ending| *ending) => {
                    ended.ok()?;
                    return None;
                }
            }
            let book = Arc::clone(&self.books.borrow_and_update());
            let phones = self.app.phones.list(&self.app.job).unwrap_or_default();
            if !phones.iter().any(|phone| phone.id == self.phone) {
                return None;
            }
            self.waiting.extend(new_entries(&book, &mut self.sent).map(event));
        }
    }
}

/// The entries beyond what was sent, and notes that they are sent.
fn new_entries<'b>(book: &'b Book, sent: &mut Sent) -> impl Iterator<Item = &'b Entry> + use<'b> {
    let before = sent.clone();
    for (device, (seq, _)) in book.heads() {
        sent.insert(device.clone(), *seq);
    }
    let is_new = move |entry: &&Entry| before.get(&*entry.device).is_none_or(|seq| entry.seq > *seq);
    book.entries.iter().filter(is_new)
}

fn event(entry: &Entry) -> Event {
    let (id, kind, subject) = (entry.id().to_string(), entry.body.kind(), entry.body.subject());
    let data = json!({ "id": id, "hash": entry.hash, "kind": kind, "subject": subject });
    Event::default().id(id).data(data.to_string())
}

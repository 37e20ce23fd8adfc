//! The one thread that holds the journal: what phones record is decided and written there, one after the other, and what
//! other programs recorded is read there. Everybody else reads the book as it was last published.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::time::Duration;

use tokio::sync::{oneshot, watch};

use crate::day::{Book, DecideError};
use crate::journal::{Journal, JournalError};
use crate::record::StoreError;

/// Requests that wait for the journal; whoever comes later is told to try again.
const WAITING: usize = 256;

/// So many are recorded, each in a transaction of its own, before they are told.
const TOGETHER: usize = 16;

/// How often the file is looked at for what other programs recorded.
const LOOK: Duration = Duration::from_millis(200);

/// Something to be done with the journal. It gives what tells whoever asked, once the book is published.
type Task = Box<dyn FnOnce(&mut Journal) -> (Box<dyn FnOnce() + Send>, Option<JournalError>) + Send>;

/// Why nothing was recorded.
#[derive(Debug)]
pub enum RecordError {
    /// A rule stops it, or the request is wrong.
    Decide(DecideError),
    /// Something else was sent under this id before.
    Reused,
    /// Too many wait, or another program holds the file.
    Busy,
    /// The machine failed; the cause is in the log.
    Failed,
}

/// The way to the journal.
#[derive(Clone)]
pub struct Recorder {
    tasks: SyncSender<Task>,
    book: watch::Receiver<Arc<Book>>,
}

/// How the thread ended, where it did not end because nobody asks any more.
pub type Ended = oneshot::Receiver<JournalError>;

impl Recorder {
    /// Starts the thread. `log` takes the cause of what failed, a line each.
    pub fn start(journal: Journal, log: Arc<dyn Fn(&str) + Send + Sync>) -> (Self, Ended) {
        let (tasks, asked) = sync_channel(WAITING);
        let (publish, book) = watch::channel(Arc::clone(journal.book()));
        let (end, ended) = oneshot::channel();
        std::thread::spawn(move || {
            if let Some(error) = work(journal, &asked, &publish, &*log) {
                // Whoever waits for it may be gone.
                let _ = end.send(error);
            }
        });
        (Self { tasks, book }, ended)
    }

    /// The book as it was last published: only what is durable.
    pub fn book(&self) -> Arc<Book> {
        Arc::clone(&self.book.borrow())
    }

    /// What hears of every new book.
    pub fn changes(&self) -> watch::Receiver<Arc<Book>> {
        self.book.clone()
    }

    /// Does something with the journal; what it gives is durable, and published.
    ///
    /// # Errors
    /// [`RecordError`].
    pub async fn ask<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Journal) -> Result<T, JournalError> + Send + 'static,
    ) -> Result<T, RecordError> {
        let (reply, answer) = oneshot::channel();
        let task: Task = Box::new(move |journal| {
            let (answer, failed) = match work(journal) {
                Ok(value) => (Ok(value), None),
                Err(JournalError::Decide(error)) => (Err(RecordError::Decide(error)), None),
                Err(JournalError::Reused(_)) => (Err(RecordError::Reused), None),
                Err(error @ JournalError::Store(StoreError::Busy(_))) => (Err(RecordError::Busy), Some(error)),
                Err(error) => (Err(RecordError::Failed), Some(error)),
            };
            // A phone that is gone does not hear it.
            (Box::new(move || drop(reply.send(answer))), failed)
        });
        self.tasks.try_send(task).map_err(|error| match error {
            std::sync::mpsc::TrySendError::Full(_) => RecordError::Busy,
            std::sync::mpsc::TrySendError::Disconnected(_) => RecordError::Failed,
        })?;
        answer.await.unwrap_or(Err(RecordError::Failed))
    }
}

/// Works until nobody asks any more, or until the file is another one: then gives why.
///
/// What waits is done before the book is published again, and then all are told: readers hold on to the published book, so
/// that the first change after it copies the book. With twenty phones at once that is one copy, not twenty.
fn work(
    mut journal: Journal,
    asked: &Receiver<Task>,
    publish: &watch::Sender<Arc<Book>>,
    log: &(dyn Fn(&str) + Send + Sync),
) -> Option<JournalError> {
    loop {
        let (mut told, mut failed) = (Vec::new(), Vec::new());
        match asked.recv_timeout(LOOK) {
            Ok(first) => {
                for task in std::iter::once(first).chain(asked.try_iter().take(TOGETHER - 1)) {
                    let (tell, error) = task(&mut journal);
                    told.push(tell);
                    let is_another = matches!(error, Some(JournalError::Replaced { .. }));
                    failed.extend(error);
                    // What was recorded is saved beside the file, once.
                    if is_another {
                        break;
                    }
                }
            }
            Err(RecvTimeoutError::Timeout) => failed.extend(journal.refresh().err()),
            Err(RecvTimeoutError::Disconnected) => return None,
        }
        publish_if_new(&journal, publish);
        told.into_iter().for_each(|tell| tell());
        failed.extend(journal.carry().err());
        for error in failed {
            match error {
                JournalError::Replaced { .. } => return Some(error),
                JournalError::Store(StoreError::Busy(_)) => {}
                other => log(&other.to_string()),
            }
        }
    }
}

fn publish_if_new(journal: &Journal, publish: &watch::Sender<Arc<Book>>) {
    publish.send_if_modified(|book| {
        let is_new = !Arc::ptr_eq(book, journal.book());
        if is_new {
            *book = Arc::clone(journal.book());
        }
        is_new
    });
}

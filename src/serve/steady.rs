//! A connection that gives up when the other side takes nothing in for too long: an answer that nobody reads would be kept
//! for ever.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::{Instant, Sleep, sleep_until};

use super::limits::ANSWER;

/// A connection whose writes don't wait for ever.
pub struct Steady<S> {
    inner: S,
    patience: Option<Pin<Box<Sleep>>>,
}

impl<S> Steady<S> {
    /// The same connection.
    pub fn of(inner: S) -> Self {
        Self { inner, patience: None }
    }

    /// Ends the waiting, or the connection.
    fn within<T>(&mut self, context: &mut Context<'_>, done: Poll<io::Result<T>>) -> Poll<io::Result<T>> {
        if done.is_ready() {
            self.patience = None;
            return done;
        }
        let patience = self.patience.get_or_insert_with(|| Box::pin(sleep_until(Instant::now() + ANSWER)));
        ready!(patience.as_mut().poll(context));
        Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Steady<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_read(context, buffer)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Steady<S> {
    fn poll_write(mut self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let done = Pin::new(&mut self.inner).poll_write(context, bytes);
        self.within(context, done)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let done = Pin::new(&mut self.inner).poll_flush(context);
        self.within(context, done)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let done = Pin::new(&mut self.inner).poll_shutdown(context);
        self.within(context, done)
    }
}

#[cfg(test)]
mod tests {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};

    use super::*;

    fn on_a_runtime(work: impl Future<Output = ()>) {
        tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap().block_on(work);
    }

    #[test]
    fn what_is_read_arrives_and_what_is_not_read_ends_the_connection() {
        on_a_runtime(async {
            let (near, mut far) = tokio::io::duplex(16);
            let mut near = Steady::of(near);
            near.write_all(b"an answer").await.unwrap();
            let mut read = [0; 9];
            far.read_exact(&mut read).await.unwrap();
            assert_eq!(&read, b"an answer");
            near.write_all(&[0; 16]).await.unwrap();
            // Full: the next byte waits, and the waiting has an end. Here it has come already.
            near.patience = Some(Box::pin(sleep_until(Instant::now())));
            let error = near.write_all(&[0]).await.unwrap_err();
            assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        });
    }
}

//! The worker that follows: it hears of what is sent, may be started twice, and outlives its connection.

use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use super::postgres::Office;
use super::{office, small};
use crate::harness::site::Site;

/// A worker that runs until it is dropped.
struct Following(Child);

impl Following {
    fn start(site: &Site, of: &Office) -> Self {
        let mut command = site.bench().command();
        command.args(["office", "--server", &of.url(), "work"]).stdout(Stdio::null()).stderr(Stdio::null());
        Self(command.spawn().unwrap())
    }
}

impl Drop for Following {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Waits until the read tables have all entries of a job.
#[track_caller]
fn caught_up(of: &Office, entries: usize) {
    let until = Instant::now() + Duration::from_secs(120);
    let there = "SELECT coalesce(max(entries), 0) FROM cladlog_read.replayed";
    while of.sql(there) != entries.to_string() {
        assert!(Instant::now() < until, "not caught up: {} of {entries}", of.sql(there));
        std::thread::sleep(Duration::from_millis(100));
    }
}

#[test]
fn two_workers_follow_what_is_sent_and_outlive_their_connections() {
    let Some(of) = Office::new() else { return };
    let site = small("one");
    let (first, second) = (Following::start(&site, &of), Following::start(&site, &of));
    office(&site, &of, &["push"]);
    caught_up(&of, site.log().len());
    site.ok("note --on N --text more");
    office(&site, &of, &["push"]);
    caught_up(&of, site.log().len());
    // Both are cut off, and come back.
    of.sql("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()");
    site.ok("note --on N --text 'and more'");
    office(&site, &of, &["push"]);
    caught_up(&of, site.log().len());
    // The same as one that only caught up.
    let rows = "SELECT json_agg(b ORDER BY b.job, b.since)::text FROM cladlog_read.board b";
    let followed = of.sql(rows);
    drop((first, second));
    of.sql("DROP SCHEMA cladlog_read CASCADE");
    office(&site, &of, &["work", "--once"]);
    assert_eq!(of.sql(rows), followed);
    // A job that was deleted leaves nothing behind.
    of.sql("SELECT cladlog.delete_job('one')");
    office(&site, &of, &["work", "--once"]);
    assert_eq!(of.sql("SELECT count(*) FROM cladlog_read.board"), "0");
}

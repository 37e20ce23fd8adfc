//! cladlog: a site-day workflow and quality log for cladding crews.
//!
//! The library never prints or prompts, and takes no time and nothing of the environment but what `cli` hands it. The
//! exceptions reach nothing that is recorded: `record` asks the system what this machine is called, to tell a copied file, and
//! how long it has waited for a lock; `atomic_file` how old a left-over file is; `serve` how often and how long ago a phone
//! asked; and the seal plan, which ends by counted effort, has a last guard against a search without end.
//!
//! A room imports those in the rows below it, and none in its own; `tests/rooms.rs` fails otherwise:
//!
//! ```text
//!   cli                           arguments, one file a command; prompts, tables, progress
//!   serve                         the day on the crew's phones: an HTTP server over the journal
//!   office                        many crews, one PostgreSQL (feature `office`)
//!   handover                      the pack: gather → model → sections → render (PDF, HTML, tables); verify
//!   accounts                      what the job took and comes to: hours, stoppages, pace, claim
//!   journal                       the transaction: read, decide, append, read tables
//!   day                           facts, state, rules, replay, requests (decide), views (next)
//!   record                        entries, hash chain, the SQLite file
//!   sequence                      what should happen: the sequence language and its reader
//!   conditions, sealing           dew point, sun and shade, forecast, exposure; joints, sealant, the seal plan
//!   materials                     what is ordered, cut and counted
//!   setout                        studs, starter, rod, columns, pieces, drawings
//!   building                      where: job, walls, openings, corners, joints, courses
//!   photos, form, calendar
//!   refusal, table, svg, stamp
//!   moment
//!   units, plain, index, digest, atomic_file
//! ```
//!
//! serve and office stand in one row, and so do accounts and journal, and sequence, conditions and sealing. What a record or a
//! sequence says in the words of a sum is read there: the hours of a forecast in `conditions`, the lines of an order in
//! `materials`.
//!
//! The heart is three pure functions, in [`day`]: [`day::replay`] (entries → state), [`day::next`] (what can be
//! done, what waits, why) and [`day::decide`] (a request → entry bodies, or a refusal).
//!
//! # Modules
//!
//! - [`units`]: quantities as newtypes, the table of bounds, numbers as typed.
//! - [`index`]: lists whose indexes say what they are of.
//! - [`moment`]: instants with the site's offset; times as typed, summer time included.
//! - [`digest`]: SHA-256 as the record writes it.
//! - [`atomic_file`]: files that are there whole or not at all.
//! - [`calendar`]: RFC 5545 calendars: what rings and when, for a phone.
//! - [`photos`]: photo files: their formats, the camera's notes, small pictures, the folder of originals.
//! - [`plain`]: recorded text made harmless for terminals and pages.
//! - [`svg`]: drawings as SVG text.
//! - [`table`]: rows that say their columns once, for JSON, CSV, the terminal and the pages.
//! - [`refusal`]: what a rule stops, why, and what clears it.
//! - [`form`]: TOML files read field by field, every mistake with its place; JSON Schema from the same shapes.
//! - [`building`]: the job and its subjects.
//! - [`sequence`]: install sequences.
//! - [`record`]: the append-only record.
//! - [`day`]: the rules; batches and stock, counted from the record.
//! - [`journal`]: recording: what a program that uses the library calls, as the command line does.
//! - [`accounts`]: hours, time lost to stoppages, pace, the claim table.
//! - [`handover`]: the pack, and checking one; the evening report.
//! - `office` (with the feature of that name): the records of many crews on one server, and what an office asks of them.
//! - [`stamp`]: queries to time-stamping authorities (RFC 3161), and checking their answers.
//! - [`serve`]: the server for the crew's phones.
//! - [`setout`], [`materials`], [`conditions`], [`sealing`]: the sums of the trade; `day` knows them where a kept plan
//!   is read again.
//! - `cli`: the skin; [`run`] is its only way in.
//!
//! # Files
//!
//! Read: job files and sequence files (TOML), CSV and TOML inputs of sums, forecasts (CSV or JSON), photos; what the
//! program itself writes, to verify packs and databases and to merge databases and exports; and nothing else. The shipped
//! sequences (`checklists/`) and the demonstration's inputs (`demo-db/`) are compiled in.
//!
//! Written: the database (`--db`, `CLADLOG_DB`, or `cladlog.db` in the platform's data folder, with SQLite's
//! `-wal` and `-shm` beside it while it is open), photos in `FILE.photos/` and the crew's signing key in `FILE.key`
//! beside the database `FILE`; while it is served, the paired phones in `FILE.phones` (a small SQLite file of its own), the
//! certificate and its key in `FILE.tls`, and an empty `FILE.serving` that is locked; packs, evening reports, lists as CSV, calendars, drawings, storey rods, cut sheets,
//! orders, what is attached to a pack, backups and exports (both with photos in `FILE.photos/` beside them) and man pages where the command says.
//! What somebody may rely on is written beside its place and renamed: it is there whole, or not at all.
//!
//! The environment: `CLADLOG_DB`, `CLADLOG_JOB`, `CLADLOG_BY` and `CLADLOG_OFFICE` stand for the options, `CLADLOG_CLOCK` sets the clock
//! for a rehearsal, `NO_COLOR` is heeded. Of an object store, `office` reads the `AWS_` variables that docs/office.md lists, and
//! `SSL_CERT_FILE`.

pub mod accounts;
pub mod atomic_file;
pub mod building;
pub mod calendar;
mod cli;
pub mod conditions;
pub mod day;
pub mod digest;
pub mod form;
pub mod handover;
pub mod index;
pub mod journal;
pub mod materials;
pub mod moment;
#[cfg(feature = "office")]
pub mod office;
pub mod photos;
pub mod plain;
pub mod record;
pub mod refusal;
pub mod sealing;
pub mod sequence;
pub mod serve;
pub mod setout;
pub mod stamp;
pub mod svg;
pub mod table;
pub mod units;

pub use cli::run;

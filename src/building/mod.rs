//! Where the work is: the job's walls, openings, corners, joints and courses, its people and papers.

mod job;
mod job_file;
mod rates;
mod subject;

pub use job::{Corner, Job, Joint, Opening, Panel, PanelLift, Paper, Person, Wall};
pub use job_file::{JOB_SHAPE, read_job, sequence_named};
pub use rates::{Rate, read_rates};
pub use subject::{Subject, SubjectError, SubjectKind, Subjects};

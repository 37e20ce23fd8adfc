//! Where the work is: the job's walls, openings, corners, joints and courses, its people and papers.

mod changes;
mod job;
mod job_file;
mod particulars;
mod rates;
mod subject;
mod written;

pub use changes::changes;
pub use job::{
    Corner, CornerKind, Ends, Figure, FixingTable, Grip, Job, Joint, Opening, OpeningEdges, OpeningKind, Panel,
    PanelLift, Paper, PerStud, Person, Wall,
};
pub use job_file::{JobFile, job_outline, read_job, read_job_file, read_rates};
pub use particulars::Particulars;
pub use rates::{Rate, Unit};
pub use subject::{Subject, SubjectError, SubjectIx, SubjectKind, Subjects, on_words};
pub use written::write_job_file;

//! Every integration test, in one binary: linking the PDF library once is enough.

mod conditions;
mod handover;
mod harness;
mod materials;
mod sealplan;
mod sequence;
mod setout;

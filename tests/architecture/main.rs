//! The picture in `docs/architecture.md`, kept true by reading the source: which layer may
//! import which, who may look at the clock, the disk, the environment or the screen, and that no
//! file lies about unused.
#![allow(clippy::unwrap_used)] // a panic is how a test fails

mod files;
mod imports;
mod places;
mod safety;
mod threats;
mod tree;

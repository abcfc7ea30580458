//! The journal on real file systems and against its own documentation.
#![allow(clippy::unwrap_used)] // a panic is how a test fails

mod format;
mod kernel;
mod key_file;
mod killed;
mod material;
mod sealed;

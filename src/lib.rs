//! handfast: an append-only, hash-chained log for a ward whose patients are at home.
#![forbid(unsafe_code)]

pub mod cli;
pub mod clinical;
pub mod demo;
pub mod journal;
pub mod line_input;
pub mod record;
pub mod shell;
pub mod shorthand;
pub mod station;
pub mod view;
pub mod ward;

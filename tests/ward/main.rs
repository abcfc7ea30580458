//! The folds: same entries, same ward; and what each ledger makes of its entries.

#![allow(clippy::unwrap_used)] // a panic is how a test fails

mod alerts;
mod amendments;
mod asked_for;
mod edges;
mod finding;
mod forms;
mod handovers;
mod laws;
mod material;
mod policy;
mod repeats;
mod report;
mod workings;
mod wounds;

//! The folds: same entries, same ward; and what each ledger makes of its entries.

#![allow(clippy::unwrap_used)] // a panic is how a test fails

mod amendments;
mod forms;
mod laws;
mod material;

//! The disposable index, against a real folder: whatever becomes of it, the ward is the one
//! that folding the journal gives, and nothing is printed or thrown.

#![allow(clippy::unwrap_used)] // a panic is how a test fails

#[path = "../ward/material.rs"]
mod material;

mod damage;
mod folder;
mod history;
mod keeping;
mod schema;

//! Attacks: what people with the folder in their hands could do to a record, and that it shows.
//!
//! Each attack has raw access to the files, as whoever holds the disk has. What is done with a key is
//! done with the ward's own key, which lies in the folder, or with keys that the attacker made; staff
//! keys are sealed and stay out of reach here.
#![allow(clippy::unwrap_used)] // a panic is how a test fails

mod checkpoints;
mod extracts;
mod forged_extracts;
mod outside;
mod people;
mod ward;

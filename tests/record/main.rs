//! What staff write, as stored bytes: pinned for ever, safe against hostile bytes, read the
//! same by others, and described truly by the documents.
//!
//! - `golden`: every kind and every version against `tests/vectors/kinds/`.
//! - `hostile`: those bytes cut, flipped and lengthened.
//! - `outside`: another implementation and an independent script read the same bytes.
//! - `pages`: `docs/entries.md` and the Payloads section of `docs/journal-format.md`.
//! - `rights`: `docs/rights.md`.
//! - `source_rules`: what may not stand in `src/record/`, because it would change the bytes.
#![allow(clippy::unwrap_used)] // a panic is how a test fails

mod golden;
mod hostile;
mod obs_v1;
mod outside;
mod pages;
mod rights;
mod samples;
mod source;
mod source_rules;

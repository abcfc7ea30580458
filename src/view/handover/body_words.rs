//! One patient's part of the sheet in words, one file a part.

mod assessment;
mod background;
mod identity;
mod recommendation;
mod situation;

pub(in crate::view) use assessment::result;
pub(super) use assessment::{assessment, supply};
pub(super) use background::background;
pub(in crate::view) use background::smoker;
pub(super) use identity::identity;
pub(super) use recommendation::{due, query, recommendation};
pub(in crate::view) use situation::no_total;
pub(super) use situation::{alert, escalation, short_score, situation};

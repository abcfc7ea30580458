//! The demo ward: an invented ward, told entry by entry, the same on every machine.
//!
//! [`story`] is 73 hours of Tansy Ward in time order, with an autumn clock change in its third
//! night. [`play`] tells it to whatever writes entries; entry numbers are known only there, so a
//! scene may carry a label and later scenes name it in braces: `{pell-help}` becomes `#123`.
//!
//! Everybody in it is invented. NHS numbers are from the range reserved for tests, telephone
//! numbers from the range kept for drama, and the places are on no map.

pub mod build;
pub mod calendar;
pub mod cast;
mod patients;
pub mod player;
mod routine;
pub mod script;
mod story;

pub use player::{PlayError, StorySink, play};
pub use script::{Scene, SceneAct};

use script::Script;

/// The whole story in time order.
#[must_use]
pub fn story() -> Vec<Scene> {
    let mut script = Script::default();
    cast::enrol(&mut script);
    patients::admit(&mut script);
    story::tell(&mut script);
    routine::rounds(&mut script);
    script.in_order()
}

#[cfg(test)]
mod tests;

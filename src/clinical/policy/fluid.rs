//! Over how long fluid is balanced.

use super::{Key, Section, Values, independent};
use crate::record::time::Span;

const WINDOW: Key = Key::whole(
    "fluid.window_hours",
    24,
    (4, 72),
    "hours",
    "Intake and output are added up over so many hours.",
    "common practice, no source",
);

pub(super) const SECTION: Section = Section {
    name: "fluid",
    about: "Fluid balance",
    keys: &[&WINDOW],
    check: independent,
};

/// Over how long fluid is balanced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fluid {
    /// This long.
    pub window: Span,
}

impl Values {
    /// The section `fluid`.
    #[must_use]
    pub fn fluid(&self) -> Fluid {
        Fluid {
            window: self.hours(&WINDOW),
        }
    }
}

//! What counts as soon.

use super::{Key, Section, Values, independent};
use crate::record::time::Span;

const SOON: Key = Key::whole(
    "sheet.due_soon_minutes",
    120,
    (15, 1_440),
    "minutes",
    "What is due within so many minutes counts as due soon: it is offered as done after a call or a set.",
    "ours; no published limit",
);

pub(super) const SECTION: Section = Section {
    name: "sheet",
    about: "What is due soon",
    keys: &[&SOON],
    check: independent,
};

/// What counts as soon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sheet {
    /// Due within this long is due soon.
    pub due_soon: Span,
}

impl Values {
    /// The section `sheet`.
    #[must_use]
    pub fn sheet(&self) -> Sheet {
        Sheet {
            due_soon: self.minutes(&SOON),
        }
    }
}

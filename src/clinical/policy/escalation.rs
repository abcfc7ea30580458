//! When an escalation counts as unanswered, and who is asked next.

use super::{Key, Section, Values, independent};
use crate::record::time::Span;

const UNANSWERED: Key = Key::whole(
    "escalation.unanswered_minutes",
    30,
    (1, 1_440),
    "minutes",
    "An escalation without an answer for so many minutes is unanswered.",
    "ours; no published limit",
);

const NEXT: Key = Key::text(
    "escalation.next",
    "Ask whoever is senior to the person asked first; if life is at risk, 999.",
    "Who is asked next when nobody has answered.",
    "ours, in our words; policy, which a ward is meant to replace",
);

pub(super) const SECTION: Section = Section {
    name: "escalation",
    about: "Escalations that nobody answers",
    keys: &[&UNANSWERED, &NEXT],
    check: independent,
};

/// When an escalation counts as unanswered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Escalation {
    /// Without an answer for this long.
    pub unanswered_after: Span,
    /// Who is asked next.
    pub next: String,
}

impl Values {
    /// The section `escalation`.
    #[must_use]
    pub fn escalation(&self) -> Escalation {
        Escalation {
            unanswered_after: self.minutes(&UNANSWERED),
            next: self.text(&NEXT),
        }
    }
}

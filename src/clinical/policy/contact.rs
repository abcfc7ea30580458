//! What happens when nobody answers.

use super::{Key, Section, Values, independent};
use crate::record::time::Span;

const OURS: &str = "ours; no published limit";

const ATTEMPTS: Key = Key::whole(
    "contact.no_answer_attempts",
    3,
    (1, 10),
    "attempts",
    "After so many attempts that reached nobody, the next step is a welfare check.",
    OURS,
);

const NEXT: Key = Key::whole(
    "contact.next_attempt_minutes",
    30,
    (5, 720),
    "minutes",
    "After an attempt that reached nobody, the next is made within so many minutes.",
    OURS,
);

const WELFARE: Key = Key::text(
    "contact.welfare_check",
    "Ring whoever holds a key; if nobody can look in, somebody of the ward goes; if that cannot be soon, ask the police for a welfare check.",
    "What is done when the attempts are used up.",
    "ours, in our words; policy, which a ward is meant to replace",
);

pub(super) const SECTION: Section = Section {
    name: "contact",
    about: "When nobody answers",
    keys: &[&ATTEMPTS, &NEXT, &WELFARE],
    check: independent,
};

/// What happens when nobody answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contact {
    /// Attempts before the welfare check.
    pub no_answer_attempts: i64,
    /// The next attempt is made within this.
    pub next_attempt: Span,
    /// What is done then.
    pub welfare_check: String,
}

impl Values {
    /// The section `contact`.
    #[must_use]
    pub fn contact(&self) -> Contact {
        Contact {
            no_answer_attempts: self.whole(&ATTEMPTS),
            next_attempt: self.minutes(&NEXT),
            welfare_check: self.text(&WELFARE),
        }
    }
}

//! What is wrong with a typed line, and where.

use std::fmt;
use std::ops::Range;

/// One reason why a line cannot be taken. Nothing typed is lost: the line comes back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// Bytes of the line it is about; empty where something is missing.
    pub at: Range<usize>,
    /// What is wrong, as a clause.
    pub what: String,
    /// What would be accepted.
    pub accepted: String,
}

impl Mistake {
    /// At a place in the line.
    #[must_use]
    pub fn new(at: Range<usize>, what: impl Into<String>, accepted: impl Into<String>) -> Mistake {
        Mistake {
            at,
            what: what.into(),
            accepted: accepted.into(),
        }
    }
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}. Accepted: {}.", self.what, self.accepted)
    }
}

impl std::error::Error for Mistake {}

//! What is wrong with something a person typed, and what would be accepted instead.

use std::fmt;

use serde::Serialize;

/// Why one value cannot be taken, before it is known which field it was for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What is wrong, as a clause: "95 is above 80".
    pub what: String,
    /// What would be accepted: "a whole number from 1 to 80 /min".
    pub accepted: String,
}

impl Problem {
    /// Both halves.
    pub fn new(what: impl Into<String>, accepted: impl Into<String>) -> Problem {
        Problem {
            what: what.into(),
            accepted: accepted.into(),
        }
    }
}

/// One reason why an entry was not taken. Nothing was recorded and nothing typed is lost.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refusal {
    /// The field, by the name people type; none if it concerns the whole entry.
    pub field: Option<String>,
    /// What was given, as typed.
    pub given: Option<String>,
    /// What is wrong.
    pub what: String,
    /// What would be accepted.
    pub accepted: String,
}

impl Refusal {
    /// About the whole entry.
    pub fn whole(what: impl Into<String>, accepted: impl Into<String>) -> Refusal {
        Refusal {
            field: None,
            given: None,
            what: what.into(),
            accepted: accepted.into(),
        }
    }

    /// About one field.
    pub fn field(name: &str, what: impl Into<String>, accepted: impl Into<String>) -> Refusal {
        Refusal {
            field: Some(name.to_owned()),
            given: None,
            what: what.into(),
            accepted: accepted.into(),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(field) = &self.field {
            write!(f, "{field}: ")?;
        }
        write!(f, "{}. Accepted: {}.", self.what, self.accepted)
    }
}

/// A value that is possible but unusual: taken only after the writer confirms it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unusual {
    /// The field, by the name people type.
    pub field: String,
    /// What is unusual about it: "RR 36 is outside 8 to 35 /min".
    pub what: String,
}

impl fmt::Display for Unusual {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.field, self.what)
    }
}

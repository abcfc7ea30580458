//! Exit codes, documented in the README.

use std::process::ExitCode;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done.
    Done = 0,
    /// Refused: bad input, or not allowed. Nothing was recorded.
    Refused = 1,
    /// The command line could not be understood.
    Usage = 2,
    /// Integrity failure: something recorded was altered, removed or cannot be trusted.
    Integrity = 3,
    /// Storage failure: disk full, read-only, unreadable; or it is not known whether an entry
    /// was recorded; or, from `verify`, whether the newest entry is the newest there was.
    Storage = 4,
    /// Another program is writing to the journal.
    Busy = 5,
}

impl Exit {
    /// Every code with its meaning, for the documentation.
    pub const ALL: [(Exit, &'static str); 6] = [
        (Exit::Done, "done"),
        (
            Exit::Refused,
            "refused: bad input, or not allowed; nothing was recorded",
        ),
        (Exit::Usage, "the command line could not be understood"),
        (
            Exit::Integrity,
            "integrity failure: something recorded was altered or removed",
        ),
        (
            Exit::Storage,
            "storage failure: disk full, read-only or unreadable, or outcome not known; for \
             `verify`: unaltered, but the end is torn or not vouched for",
        ),
        (Exit::Busy, "journal busy: another program is writing to it"),
    ];
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit as u8)
    }
}

//! Exit codes, documented in the README.

use std::process::ExitCode;

use crate::view::page::Reservations;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done.
    Done = 0,
    /// Refused: bad input, or not allowed. Nothing was recorded.
    Refused = 1,
    /// The command line could not be understood.
    Usage = 2,
    /// Integrity failure: something recorded was altered, removed or cannot be trusted. Whatever
    /// a view could show, it has shown.
    Integrity = 3,
    /// Storage failure: disk full, read-only, unreadable; or it is not known whether an entry
    /// was recorded; or, from `verify`, whether the newest entry is the newest there
    /// was, or whether authors of unknown kinds of entry had the right to write them, or nothing
    /// was held against a checkpoint that is of another journal.
    Storage = 4,
    /// Another program is writing to the journal.
    Busy = 5,
}

impl Exit {
    /// How a command ends that has shown a view: people read on the page what it lacks, and
    /// whoever runs it from a script learns it here.
    #[must_use]
    pub const fn of_view(reservations: &Reservations) -> Exit {
        if reservations.complete {
            Exit::Done
        } else {
            Exit::Integrity
        }
    }

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
            "integrity failure: something recorded was altered or removed; a view shows all that \
             can be read, and ends so if that is not all or not proved",
        ),
        (
            Exit::Storage,
            "storage failure: disk full, read-only or unreadable, or outcome not known; for \
             `verify`: unaltered, but the end is torn or not vouched for, or some entries are of kinds \
             it does not know, or a checkpoint that was named is of another journal",
        ),
        (Exit::Busy, "journal busy: another program is writing to it"),
    ];
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit as u8)
    }
}

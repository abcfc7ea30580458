//! Why a group was not stored, and what each of its callers is told.

use crate::journal::store::AppendError;
use crate::record::ids::EntryId;

/// Why a whole group was not stored.
pub(super) enum Failure {
    /// No room; the file is as it was.
    Full,
    /// Something else; the file is as it was.
    Undone(String),
    /// What the disk holds is not known.
    Unknown(String),
}

impl Failure {
    /// What it is to whoever asked for these entries.
    pub fn for_entries(&self, ids: Vec<EntryId>) -> AppendError {
        match self {
            Failure::Full => AppendError::DiskFull,
            Failure::Undone(cause) => AppendError::WriteFailed {
                cause: cause.clone(),
            },
            Failure::Unknown(cause) => AppendError::NotKnown {
                ids,
                cause: cause.clone(),
            },
        }
    }
}

//! Wrong secrets are counted in a file, so that neither a restart nor a second window gives
//! more tries.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::file::{KEY_FILE_BYTES_MAX, write_json};
use super::{FailedTries, TRIES_MAX, UnlockError};
use crate::journal::{Layout, read_small_file};
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp};

/// Wrong secrets in a row before each further try has to wait.
const FREE_TRIES: u32 = 3;

/// Tries since the last right one.
#[derive(Default, Serialize, Deserialize)]
pub(super) struct Tries {
    pub failed: u32,
    last: i64,
    /// Tried before the last right one, and in no entry yet.
    #[serde(default)]
    unrecorded: u32,
}

impl Tries {
    /// As counted so far. A count that is missing, damaged or a link counts nothing: whoever
    /// can put it there can also copy the key and try elsewhere.
    pub fn read(layout: &Layout, handle: &Handle) -> Tries {
        let bytes = read_small_file(&path(layout, handle), KEY_FILE_BYTES_MAX);
        bytes
            .ok()
            .and_then(|bytes| serde_json::from_slice(&bytes).ok())
            .unwrap_or_default()
    }

    /// What was tried in vain so far, if anything was.
    pub fn failed_before(&self) -> Option<FailedTries> {
        let count = self.failed.saturating_add(self.unrecorded);
        (count > 0).then_some(FailedTries {
            count,
            last: Timestamp(self.last),
        })
    }

    /// Whether another try may be made now.
    pub fn check(&self, handle: &Handle, now: Timestamp) -> Result<(), UnlockError> {
        if self.failed >= TRIES_MAX {
            return Err(UnlockError::Locked(handle.clone()));
        }
        let Some(over) = self.failed.checked_sub(FREE_TRIES) else {
            return Ok(());
        };
        // 5 s, 10 s, 20 s, … up to about 20 minutes.
        let wait = Span(5_000_000_i64 << over.min(8));
        let until = Timestamp(self.last).plus(wait);
        // A clock that was set back does not lengthen the wait beyond its full length.
        let left = Span(until.since(now).0.min(wait.0));
        if left.0 > 0 {
            return Err(UnlockError::Wait {
                handle: handle.clone(),
                wait: left,
            });
        }
        Ok(())
    }

    /// Counts one more.
    pub fn count(
        &mut self,
        layout: &Layout,
        handle: &Handle,
        now: Timestamp,
    ) -> Result<(), UnlockError> {
        self.failed += 1;
        self.last = now.0;
        write_json(&path(layout, handle), self)
    }

    /// The right one: tries begin anew, and those before it wait for an entry.
    pub fn was_right(
        &mut self,
        layout: &Layout,
        handle: &Handle,
        failed: Option<FailedTries>,
    ) -> Result<(), UnlockError> {
        self.failed = 0;
        self.unrecorded = failed.map_or(0, |failed| failed.count);
        if let Some(failed) = failed {
            self.last = failed.last.0;
        }
        write_json(&path(layout, handle), self)
    }

    /// Those before the last right one stand in an entry.
    pub fn are_recorded(&mut self, layout: &Layout, handle: &Handle) -> Result<(), UnlockError> {
        self.unrecorded = 0;
        write_json(&path(layout, handle), self)
    }

    /// Begins anew.
    pub fn reset(layout: &Layout, handle: &Handle) -> Result<(), UnlockError> {
        write_json(&path(layout, handle), &Tries::default())
    }
}

fn path(layout: &Layout, handle: &Handle) -> PathBuf {
    layout.keys_dir().join(format!("{handle}.tries"))
}

/// A wait in words, rounded up: somebody who waits so long is not turned away again.
pub(super) fn remaining(wait: Span) -> String {
    let seconds = wait.0.unsigned_abs().div_ceil(1_000_000).max(1);
    let (number, unit) = match seconds {
        ..=90 => (seconds, "second"),
        _ => (seconds.div_ceil(60), "minute"),
    };
    let plural = if number == 1 { "" } else { "s" };
    format!("{number} {unit}{plural}")
}

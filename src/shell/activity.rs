//! When somebody last typed, told from the line as it was drawn: for the idle lock.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

#[derive(Debug)]
struct Seen {
    at: Instant,
    line: String,
    cursor: usize,
}

/// Shared between the line editor, which notes, and the watcher, which asks.
#[derive(Debug, Clone)]
pub(super) struct Activity(Arc<Mutex<Seen>>);

impl Default for Activity {
    fn default() -> Activity {
        let seen = Seen {
            at: Instant::now(),
            line: String::new(),
            cursor: 0,
        };
        Activity(Arc::new(Mutex::new(seen)))
    }
}

impl Activity {
    fn get(&self) -> MutexGuard<'_, Seen> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The line was drawn. A redraw without a change (a notice arrived) is no activity.
    pub(super) fn saw(&self, line: &str, cursor: usize) {
        let mut seen = self.get();
        if seen.line != line || seen.cursor != cursor {
            seen.at = Instant::now();
            line.clone_into(&mut seen.line);
            seen.cursor = cursor;
        }
    }

    /// A new line begins.
    pub(super) fn begin(&self, line: &str) {
        let mut seen = self.get();
        seen.at = Instant::now();
        line.clone_into(&mut seen.line);
        seen.cursor = line.len();
    }

    /// How long nobody has typed.
    pub(super) fn idle(&self) -> Duration {
        self.get().at.elapsed()
    }
}

//! When somebody last typed, and the line as it stood: for the idle lock, and so that Ctrl-C
//! loses nothing.

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
            // The editor empties the line before it reports Ctrl-C.
            if !line.is_empty() {
                line.clone_into(&mut seen.line);
            }
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

    /// The line as last seen; forgotten by this.
    pub(super) fn take_line(&self) -> String {
        std::mem::take(&mut self.get().line)
    }

    /// How long nobody has typed.
    pub(super) fn idle(&self) -> Duration {
        self.get().at.elapsed()
    }
}

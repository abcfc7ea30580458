//! One writer at a time, and a note saying who it is.

use std::fmt;
use std::thread;
use std::time::{Duration, Instant};

use crate::journal::disk::{Disk, Lock};
use crate::journal::layout::Layout;
use crate::journal::open::OpenError;
use crate::record::time::Timestamp;

/// How long to sleep between two tries for the lock.
const RETRY: Duration = Duration::from_millis(5);
/// Most bytes of the note that are looked at.
const NOTE_BYTES_MAX: usize = 400;

/// Who holds the lock, as they wrote it themselves: a courtesy, not evidence.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Holder {
    /// Process number; 0 if not known.
    pub pid: u32,
    /// Since when.
    pub since: Option<Timestamp>,
    /// Free text given by the holder: a person and a command, say. Shown without controls.
    pub who: String,
}

impl Holder {
    fn note(&self) -> String {
        let since = self.since.unwrap_or_default().0;
        let who: String = self.who.chars().filter(|c| !c.is_control()).collect();
        format!("{}\n{since}\n{who}\n", self.pid)
    }

    fn parse(note: &str) -> Holder {
        let mut lines = note.lines();
        let pid = lines.next().and_then(|l| l.parse().ok()).unwrap_or(0);
        let since = lines.next().and_then(|l| l.parse().ok()).map(Timestamp);
        let who = lines.next().unwrap_or_default();
        Holder {
            pid,
            since: since.filter(|at| *at >= Timestamp::EARLIEST),
            who: who.chars().filter(|c| !c.is_control()).collect(),
        }
    }
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.who.as_str() {
            "" => f.write_str("another process")?,
            who => f.write_str(who)?,
        }
        if self.pid != 0 {
            write!(f, " (process {})", self.pid)?;
        }
        match self.since {
            Some(since) => write!(f, " since {}", since.rfc3339()),
            None => Ok(()),
        }
    }
}

/// Takes the writer's lock, trying for at most `wait`.
///
/// # Errors
/// [`OpenError::Busy`] naming the holder; what the disk says otherwise.
pub(super) fn take(
    disk: &dyn Disk,
    layout: &Layout,
    holder: &Holder,
    wait: Duration,
) -> Result<Box<dyn Lock>, OpenError> {
    let path = layout.lock();
    let started = Instant::now();
    loop {
        let taken = disk.try_lock(&path, &holder.note());
        match taken.map_err(|cause| OpenError::io(&path, cause))? {
            Some(lock) => return Ok(lock),
            None if started.elapsed() >= wait => {
                let note = disk.read(&path, 0, NOTE_BYTES_MAX).unwrap_or_default();
                let holder = Holder::parse(&String::from_utf8_lossy(&note));
                return Err(OpenError::Busy { holder });
            }
            None => thread::sleep(RETRY.min(wait)),
        }
    }
}

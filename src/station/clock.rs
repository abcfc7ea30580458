//! The only place that asks what time it is.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::{Instant, SystemTime};

use chrono::{DateTime, Utc};

use crate::record::time::{Span, Timestamp};

/// Something that knows what time it is.
pub trait Clock: Send + Sync {
    /// The moment it is.
    fn now(&self) -> Timestamp;
}

/// The computer's clock.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    #[expect(clippy::disallowed_methods, reason = "the one place that may")]
    fn now(&self) -> Timestamp {
        Timestamp::from_utc(DateTime::<Utc>::from(SystemTime::now()))
    }
}

/// A clock that stands where it is put: for generators and tests.
#[derive(Debug)]
pub struct FixedClock(AtomicI64);

impl FixedClock {
    /// Standing at a moment.
    #[must_use]
    pub const fn new(moment: Timestamp) -> FixedClock {
        FixedClock(AtomicI64::new(moment.0))
    }

    /// Puts it to another moment.
    pub fn set(&self, moment: Timestamp) {
        self.0.store(moment.0, Ordering::SeqCst);
    }
}

impl Clock for FixedClock {
    fn now(&self) -> Timestamp {
        Timestamp(self.0.load(Ordering::SeqCst))
    }
}

/// A story that is told up to within this of the last moment an entry can hold goes on by no
/// clock of its own.
const ROOM_MIN: Span = Span::days(366);

/// The clock of a teaching journal whose newest entry was recorded then. A journal that reaches to
/// the end of what can be stored, by one entry signed with a clock gone wrong, would take no entry
/// any more: it goes on by the computer's clock, and `verify` says where the clocks parted.
#[must_use]
pub fn of_story(newest: Timestamp) -> Arc<dyn Clock> {
    if newest.plus(ROOM_MIN) < Timestamp::LATEST {
        Arc::new(StoryClock::from(newest))
    } else {
        Arc::new(SystemClock)
    }
}

/// The clock of a teaching journal: it goes on from the newest entry, so that a ward whose
/// story is set in another month still has tasks that are due tonight.
#[derive(Debug)]
pub struct StoryClock {
    from: Timestamp,
    started: Instant,
}

impl StoryClock {
    /// Goes on from a moment at the speed of real time.
    #[must_use]
    pub fn from(moment: Timestamp) -> StoryClock {
        StoryClock {
            from: moment,
            started: Instant::now(),
        }
    }
}

impl Clock for StoryClock {
    fn now(&self) -> Timestamp {
        let elapsed = i64::try_from(self.started.elapsed().as_micros()).unwrap_or(i64::MAX);
        self.from.plus(Span(elapsed))
    }
}

//! Times as people on a ward say them: `12:30`, `+4h`, `20m ago`, `tomorrow 09:00`,
//! `Fri 14:00`, `25-Oct-2026 01:30`. Pure: the caller gives the moment it is and the zone.
//!
//! - Nothing is guessed. A wall-clock time that happens twice is asked about, one that never
//!   happens is refused, a day without a time is refused, and what is not understood is
//!   answered with what would be.
//! - `+4h` is elapsed time, what a stopwatch shows; `tomorrow 09:00` is the ward's wall
//!   clock. On the two clock-change nights of a year they differ by an hour.
//! - Whether a time in the future may be recorded is not decided here but by the station.

mod date;
mod refusal;
mod repeat;
mod span;
mod wall;
mod window;

use chrono::DateTime;

pub use date::{parse_date, parse_day};
pub use refusal::TimeRefusal;
pub use repeat::{Repeat, parse_repeat};
pub use span::parse_span;
pub use wall::moment_or_gap_end;
pub use window::{Window, parse_window};

use super::{Timestamp, WardZone};

/// Which way a time that could be either is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leaning {
    /// When something happened: `12:30` is the latest 12:30 that is not after now.
    Past,
    /// When something is due: `12:30` is the next 12:30, the running minute included.
    Future,
}

/// How a moment was reckoned from what was said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reckoning {
    /// `now`.
    Now,
    /// So much elapsed time from now.
    Elapsed,
    /// The ward's clock and calendar.
    Wall,
    /// A full date and time with its own offset from UTC.
    Offset,
}

/// A moment somebody named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// The moment.
    pub at: Timestamp,
    /// How it was reckoned.
    pub reckoned: Reckoning,
}

/// The moment `text` names, seen from `now` on the ward's clock.
///
/// Accepted: `now`; `12:30`, `0930`, `3pm`, `3:30 pm`; `+4h`, `+30m`, `+2d`, `in 4 hours`; `20m ago`, `-20m`;
/// `today`, `yesterday`, `tomorrow` or a weekday with a time; a date with a time; RFC 3339
/// with its offset. The zone's letters may follow a time: `01:30 BST`.
///
/// # Errors
/// [`TimeRefusal`], which says what is wrong and what would be accepted.
pub fn parse_moment(
    text: &str,
    now: Timestamp,
    zone: WardZone,
    leaning: Leaning,
) -> Result<Moment, TimeRefusal> {
    let said = text.trim();
    let moment = if said.eq_ignore_ascii_case("now") {
        Moment {
            at: now,
            reckoned: Reckoning::Now,
        }
    } else if let Ok(exact) = DateTime::parse_from_rfc3339(said) {
        Moment {
            at: Timestamp::from_utc(exact.to_utc()),
            reckoned: Reckoning::Offset,
        }
    } else if let Some(span) = span::from_now(said) {
        Moment {
            at: now.plus(span?),
            reckoned: Reckoning::Elapsed,
        }
    } else {
        let at = wall::WallTime::parse(said, zone)?.resolve(now, zone, leaning)?;
        Moment {
            at,
            reckoned: Reckoning::Wall,
        }
    };
    if moment.at < Timestamp::EARLIEST || moment.at > Timestamp::LATEST {
        return Err(TimeRefusal::OutOfRange {
            given: refusal::shorten(text),
        });
    }
    Ok(moment)
}

#[cfg(test)]
mod tests;

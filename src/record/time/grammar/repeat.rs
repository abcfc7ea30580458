//! Repeat rules: by elapsed time (`every 4h`) or by the wall clock (`daily 09:00`).

use std::fmt;

use chrono::NaiveTime;
use serde::{Deserialize, Serialize};

use super::date::days_from;
use super::refusal::shorten;
use super::wall::{clock, moment_or_gap_end};
use super::{TimeRefusal, parse_span};
use crate::record::time::{Span, Timestamp, WardZone};

/// When a task comes round again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Repeat {
    /// So many minutes of elapsed time after the last due time, whatever the clock does:
    /// four-hourly stays four-hourly on the clock-change night.
    EveryElapsed {
        /// Minutes, 1 or more.
        minutes: u32,
    },
    /// At the same time on the ward's clock, so many days apart: 09:00 stays 09:00 and the
    /// night between may have 23 or 25 hours.
    DailyAt {
        /// Minutes after midnight on the clock, 0 to 1439.
        minute_of_day: u16,
        /// Days from one to the next, 1 or more.
        every_days: u16,
    },
}

impl Repeat {
    /// The due time after `previous_due`; always later than it.
    ///
    /// For `DailyAt` the days are counted from the slot at or before `previous_due`, so a
    /// dose put off to after midnight does not lose the next one. A time the clock jumps over
    /// in spring is due at the end of the jump; one that happens twice in autumn is due the
    /// first time.
    #[must_use]
    pub fn next_after(self, previous_due: Timestamp, zone: WardZone) -> Timestamp {
        match self {
            Repeat::EveryElapsed { minutes } => {
                previous_due.plus(Span::minutes(i64::from(minutes.max(1))))
            }
            Repeat::DailyAt {
                minute_of_day,
                every_days,
            } => {
                let time = time_of_day(minute_of_day);
                let date = zone.date(previous_due);
                let begun = moment_or_gap_end(zone, date, time) <= previous_due;
                let days = i64::from(every_days.max(1)) - i64::from(!begun);
                days_from(date, days).map_or(Timestamp::LATEST, |next| {
                    moment_or_gap_end(zone, next, time)
                })
            }
        }
    }
}

fn time_of_day(minute_of_day: u16) -> NaiveTime {
    let minute = u32::from(minute_of_day.min(1439));
    NaiveTime::from_hms_opt(minute / 60, minute % 60, 0).unwrap_or(NaiveTime::MIN)
}

impl fmt::Display for Repeat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Repeat::EveryElapsed { minutes } => {
                f.write_str("every")?;
                let parts = [
                    (minutes / 1440, "d"),
                    (minutes / 60 % 24, "h"),
                    (minutes % 60, "m"),
                ];
                let kept = parts.into_iter().filter(|(count, _)| *count > 0);
                kept.into_iter()
                    .try_for_each(|(count, unit)| write!(f, " {count}{unit}"))
            }
            Repeat::DailyAt {
                minute_of_day,
                every_days,
            } => {
                let time = time_of_day(minute_of_day).format("%H:%M");
                match every_days {
                    0 | 1 => write!(f, "daily {time}"),
                    days => write!(f, "every {days}d {time}"),
                }
            }
        }
    }
}

/// A repeat rule: `every 4h`, `every 30m`, `daily 09:00`, `every 2d` (each 48 hours of
/// elapsed time), `every 2d 09:00` (every second day by the clock). Its `Display` form is one of these.
///
/// # Errors
/// [`TimeRefusal::NotARepeat`], or [`TimeRefusal::NeedsTime`] for `daily` without a time.
pub fn parse_repeat(text: &str) -> Result<Repeat, TimeRefusal> {
    let refused = || TimeRefusal::NotARepeat {
        given: shorten(text),
    };
    let lower = text.trim().to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().filter(|w| *w != "at").collect();
    match words.as_slice() {
        ["daily"] | ["every", "day"] => Err(TimeRefusal::NeedsTime {
            given: shorten(text),
        }),
        ["daily", time] | ["every", "day", time] => daily(time, 1).ok_or_else(refused),
        ["hourly"] | ["every", "hour"] => Ok(Repeat::EveryElapsed { minutes: 60 }),
        // A time with a colon ends a wall-clock rule; `every 1h 30` stays a span.
        ["every", span @ .., time] if time.contains(':') => {
            let minutes = span_minutes(span).ok_or_else(refused)?;
            let days = u16::try_from(minutes / 1440)
                .ok()
                .filter(|d| *d > 0 && minutes % 1440 == 0);
            days.and_then(|days| daily(time, days)).ok_or_else(refused)
        }
        ["every", span @ ..] => {
            let minutes = span_minutes(span).ok_or_else(refused)?;
            Ok(Repeat::EveryElapsed { minutes })
        }
        _ => Err(refused()),
    }
}

fn daily(time: &str, every_days: u16) -> Option<Repeat> {
    use chrono::Timelike;
    let minute_of_day = u16::try_from(clock(time)?.num_seconds_from_midnight() / 60).ok()?;
    Some(Repeat::DailyAt {
        minute_of_day,
        every_days,
    })
}

fn span_minutes(words: &[&str]) -> Option<u32> {
    let minutes = parse_span(&words.join(" ")).ok()?.whole_minutes();
    u32::try_from(minutes).ok().filter(|minutes| *minutes > 0)
}

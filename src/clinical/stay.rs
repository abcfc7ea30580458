//! Length of stay: midnights on the ward's calendar.
//!
//! Source: NHS England's definitions count bed days by midnights spent; the day of arrival
//! and the day of leaving make one day of stay, and the same day makes none (clinical
//! reference, sections 15 and W10). Elapsed hours differ on the clock-change nights.

use chrono::NaiveDate;

use crate::record::time::{Span, Timestamp, WardZone};

/// How long somebody stayed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stay {
    /// Midnights passed on the ward's calendar; as many bed days.
    pub midnights: i64,
    /// Elapsed time.
    pub elapsed: Span,
}

/// Discharge before admission.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the stay ends before it begins; check both times")]
pub struct EndsBeforeItBegins;

/// The stay from `admitted_at` to `left_at`, or to now for somebody still here.
///
/// # Errors
/// [`EndsBeforeItBegins`].
pub fn stay(
    admitted_at: Timestamp,
    left_at: Timestamp,
    zone: WardZone,
) -> Result<Stay, EndsBeforeItBegins> {
    if left_at < admitted_at {
        return Err(EndsBeforeItBegins);
    }
    let midnights = (zone.date(left_at) - zone.date(admitted_at)).num_days();
    Ok(Stay {
        midnights,
        elapsed: left_at.since(admitted_at),
    })
}

/// Which day of something it is: 1 on the date it began (day of stay, of treatment, of a
/// line); `None` before. Common practice, no source.
#[must_use]
pub fn day_of(began: NaiveDate, on: NaiveDate) -> Option<i64> {
    let days = (on - began).num_days();
    (days >= 0).then_some(days + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::time::{Leaning, parse_moment};

    fn at(text: &str) -> Timestamp {
        let now = Timestamp::EARLIEST;
        parse_moment(text, now, WardZone::LONDON, Leaning::Past)
            .expect("a moment")
            .at
    }

    /// Clinical reference W10, hours in minutes.
    #[test]
    fn w10_midnights_and_elapsed_hours() {
        let cases = [
            ("03-Mar-2026 14:00", "03-Mar-2026 20:00", 0, 6 * 60),
            ("03-Mar-2026 14:00", "04-Mar-2026 09:00", 1, 19 * 60),
            ("28-Feb-2026 23:59", "01-Mar-2026 00:01", 1, 2),
            ("28-Feb-2028 12:00", "01-Mar-2028 12:00", 2, 48 * 60),
            ("27-Mar-2026 10:00", "30-Mar-2026 10:00", 3, 71 * 60),
            ("24-Oct-2026 10:00", "26-Oct-2026 10:00", 2, 49 * 60),
            ("31-Dec-2026 09:00", "14-Jan-2027 09:00", 14, 336 * 60),
            ("31-Dec-2026 12:00", "15-Jan-2027 08:00", 15, 356 * 60),
            ("01-Jun-2026 00:00", "02-Jun-2026 00:00", 1, 24 * 60),
            ("01-Jun-2026 23:00", "08-Jun-2026 01:00", 7, 146 * 60),
        ];
        for (admitted, left, midnights, minutes) in cases {
            let stay = stay(at(admitted), at(left), WardZone::LONDON).expect("in order");
            assert_eq!(
                (stay.midnights, stay.elapsed.whole_minutes()),
                (midnights, minutes),
                "{admitted}"
            );
        }
        assert_eq!(
            stay(
                at("02-Jun-2026 00:00"),
                at("01-Jun-2026 23:59"),
                WardZone::LONDON
            ),
            Err(EndsBeforeItBegins)
        );
    }

    #[test]
    fn the_first_day_is_day_1() {
        let date = |text: &str| text.parse::<NaiveDate>().expect("a date");
        assert_eq!(day_of(date("2028-02-28"), date("2028-02-28")), Some(1));
        assert_eq!(day_of(date("2028-02-28"), date("2028-03-01")), Some(3));
        assert_eq!(day_of(date("2028-02-28"), date("2028-02-27")), None);
    }
}

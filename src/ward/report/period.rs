//! From when to when a report counts, and how people say it.

use chrono::{Days, NaiveDate, NaiveTime};
use serde::Serialize;

use crate::record::time::{
    Leaning, Span, TimeRefusal, Timestamp, WardZone, moment_or_gap_end, parse_day, parse_moment,
};

/// Whole days a report covers unless it is asked for others.
const DAYS: u64 = 7;

/// Longest period, so that a mistyped year is noticed: ten years.
const LONGEST: Span = Span::days(3_660);

/// From the first moment, which counts, to the last, which does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Period {
    /// First moment.
    pub from: Timestamp,
    /// The moment after its end.
    pub until: Timestamp,
}

/// Why there is no such period.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PeriodRefusal {
    /// A time that is none.
    #[error("{0}: {1}")]
    Time(&'static str, TimeRefusal),
    /// Nothing has happened then yet.
    #[error("{word}: {said} is still to come; say a time that has passed, or leave it out")]
    ToCome {
        /// Which end.
        word: &'static str,
        /// The moment it names.
        said: String,
    },
    /// It ends before it begins, or holds no time.
    #[error("from {from} until {until} is no time at all; say a beginning before the end")]
    Empty {
        /// Its beginning.
        from: String,
        /// Its end.
        until: String,
    },
    /// Longer than ten years.
    #[error("from {from} until {until} is longer than ten years; say a shorter period")]
    TooLong {
        /// Its beginning.
        from: String,
        /// Its end.
        until: String,
    },
}

/// The first moment of a day on the ward's clock.
pub(super) fn day_start(zone: WardZone, date: NaiveDate) -> Timestamp {
    moment_or_gap_end(zone, date, NaiveTime::MIN)
}

/// The day after; the same at the end of the calendar.
pub(super) fn next_day(date: NaiveDate) -> NaiveDate {
    date.succ_opt().unwrap_or(date)
}

impl Period {
    /// Whether a moment is in it.
    #[must_use]
    pub fn holds(self, moment: Timestamp) -> bool {
        self.from <= moment && moment < self.until
    }

    /// The last seven whole days before today on the ward's clock.
    #[must_use]
    pub fn last_days(now: Timestamp, zone: WardZone) -> Period {
        let until = day_start(zone, zone.date(now));
        Period {
            from: days_before(zone, until),
            until,
        }
    }

    /// The period somebody names, seen from `now`. Each end is a moment, or a day: then its
    /// first moment for `from`, and its last for `until`. Without an end it reaches to the last
    /// midnight, or to now if it begins after that; without a beginning it begins seven days
    /// before its end.
    ///
    /// # Errors
    /// [`PeriodRefusal`].
    pub fn read(
        from: Option<&str>,
        until: Option<&str>,
        now: Timestamp,
        zone: WardZone,
    ) -> Result<Period, PeriodRefusal> {
        let whole = Period::last_days(now, zone);
        let end = |text| named("until", text, now, zone, next_day);
        let begin = |text| named("from", text, now, zone, |date| date);
        let from = from.map(begin).transpose()?;
        let until = match (until.map(end).transpose()?, from) {
            // A day that is not over ends now.
            (Some((end, true)), _) if zone.date(end.plus(Span(-1))) == zone.date(now) => now,
            (Some((end, _)), _) => end,
            (None, Some((from, _))) if from >= whole.until => now,
            (None, _) => whole.until,
        };
        let from = from.map_or_else(|| days_before(zone, until), |(from, _)| from);
        Period { from, until }.checked(now, zone)
    }

    fn checked(self, now: Timestamp, zone: WardZone) -> Result<Period, PeriodRefusal> {
        let said = |moment| zone.day_date_time(moment);
        for (word, moment) in [("from", self.from), ("until", self.until)] {
            if moment > now {
                let said = said(moment);
                return Err(PeriodRefusal::ToCome { word, said });
            }
        }
        let (from, until) = (said(self.from), said(self.until));
        if self.from >= self.until {
            return Err(PeriodRefusal::Empty { from, until });
        }
        if self.until.since(self.from) > LONGEST {
            return Err(PeriodRefusal::TooLong { from, until });
        }
        Ok(self)
    }
}

fn days_before(zone: WardZone, until: Timestamp) -> Timestamp {
    let date = zone.date(until);
    day_start(zone, date.checked_sub_days(Days::new(DAYS)).unwrap_or(date))
}

/// A moment, or the first moment of the day that `edge` makes of a day; whether it was a day.
fn named(
    word: &'static str,
    text: &str,
    now: Timestamp,
    zone: WardZone,
    edge: impl Fn(NaiveDate) -> NaiveDate,
) -> Result<(Timestamp, bool), PeriodRefusal> {
    if let Ok(date) = parse_day(text, now, zone, Leaning::Past) {
        return Ok((day_start(zone, edge(date)), true));
    }
    parse_moment(text, now, zone, Leaning::Past)
        .map(|moment| (moment.at, false))
        .map_err(|refusal| PeriodRefusal::Time(word, refusal))
}

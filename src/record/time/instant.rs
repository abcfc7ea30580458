//! One moment, stored as UTC microseconds.

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

/// A moment: microseconds since 1970-01-01T00:00:00 UTC. It knows no time zone; a leap
/// second cannot be written (`23:59:60` becomes the next second).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Timestamp(pub i64);

// RFC 3339 for people (JSON), the bare number in a payload.
impl Serialize for Timestamp {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        if out.is_human_readable() {
            out.serialize_str(&self.rfc3339())
        } else {
            out.serialize_i64(self.0)
        }
    }
}

impl<'de> Deserialize<'de> for Timestamp {
    fn deserialize<D: serde::Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        if input.is_human_readable() {
            let text = String::deserialize(input)?;
            let moment = DateTime::parse_from_rfc3339(&text).map_err(serde::de::Error::custom)?;
            Timestamp::from_utc(moment.to_utc()).checked()
        } else {
            Timestamp(i64::deserialize(input)?).checked()
        }
    }
}

impl Timestamp {
    /// Earliest moment any stored entry can hold: 1900-01-01T00:00:00Z.
    pub const STORABLE_FROM: Timestamp = Timestamp(-2_208_988_800_000_000);

    /// Whether a stored entry can hold it: from [`Timestamp::STORABLE_FROM`] to before
    /// [`Timestamp::LATEST`]. Nobody alive was born earlier, and calendars, sums of days and
    /// every clock's shift stay far from the ends of what can be computed with.
    #[must_use]
    pub const fn is_storable(self) -> bool {
        self.0 >= Self::STORABLE_FROM.0 && self.0 < Self::LATEST.0
    }

    fn checked<E: serde::de::Error>(self) -> Result<Timestamp, E> {
        if self.is_storable() {
            Ok(self)
        } else {
            let found = self.0;
            Err(E::custom(format_args!(
                "{found} microseconds from 1970 is a time outside 1900 to 2199"
            )))
        }
    }

    /// Earliest moment a journal accepts: 2000-01-01T00:00:00Z.
    pub const EARLIEST: Timestamp = Timestamp(946_684_800_000_000);
    /// Latest moment a journal accepts: 2200-01-01T00:00:00Z.
    pub const LATEST: Timestamp = Timestamp(7_258_118_400_000_000);

    /// From chrono, cut to the microsecond.
    #[must_use]
    pub fn from_utc(moment: DateTime<Utc>) -> Timestamp {
        Timestamp(moment.timestamp_micros())
    }

    /// To chrono. A value outside chrono's range (about ±262,000 years) becomes its nearest end.
    #[must_use]
    pub fn to_utc(self) -> DateTime<Utc> {
        DateTime::from_timestamp_micros(self.0).unwrap_or(if self.0 < 0 {
            DateTime::<Utc>::MIN_UTC
        } else {
            DateTime::<Utc>::MAX_UTC
        })
    }

    /// This moment and `span` of elapsed time; stops at the ends of the range.
    #[must_use]
    pub const fn plus(self, span: Span) -> Timestamp {
        Timestamp(self.0.saturating_add(span.0))
    }

    /// Elapsed time from `earlier` to this moment; negative if `earlier` is later.
    #[must_use]
    pub const fn since(self, earlier: Timestamp) -> Span {
        Span(self.0.saturating_sub(earlier.0))
    }

    /// RFC 3339 in UTC with microseconds, for machines: `2026-10-25T01:30:00.000000Z`.
    #[must_use]
    pub fn rfc3339(self) -> String {
        self.to_utc().format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string()
    }
}

/// Elapsed time in microseconds: what a stopwatch shows, whatever the wall clock did.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Span(pub i64);

impl Span {
    /// No time at all.
    pub const ZERO: Span = Span(0);

    /// So many minutes.
    #[must_use]
    pub const fn minutes(minutes: i64) -> Span {
        Span(minutes.saturating_mul(60_000_000))
    }

    /// So many hours.
    #[must_use]
    pub const fn hours(hours: i64) -> Span {
        Span::minutes(hours.saturating_mul(60))
    }

    /// So many days of 24 hours.
    #[must_use]
    pub const fn days(days: i64) -> Span {
        Span::hours(days.saturating_mul(24))
    }

    /// Whole minutes, towards zero.
    #[must_use]
    pub const fn whole_minutes(self) -> i64 {
        self.0 / 60_000_000
    }

    /// To chrono.
    #[must_use]
    pub const fn to_delta(self) -> TimeDelta {
        TimeDelta::microseconds(self.0)
    }

    /// As people on the ward write it: `4hr 32min`, `2d 3hr`, `45min`, `0min`. Two units at
    /// most, zero units dropped, a leading minus if negative. Units and spacing follow the
    /// NHS Common User Interface guidance D+Tb-0017…0031 (clinical reference, section 5).
    #[must_use]
    pub fn spoken(self) -> String {
        let minutes = self.whole_minutes().unsigned_abs();
        let (days, hours, mins) = (minutes / 1440, minutes / 60 % 24, minutes % 60);
        let parts = match (days, hours, mins) {
            (0, 0, m) => vec![format!("{m}min")],
            (0, h, 0) => vec![format!("{h}hr")],
            (0, h, m) => vec![format!("{h}hr"), format!("{m}min")],
            (d, 0, _) => vec![format!("{d}d")],
            (d, h, _) => vec![format!("{d}d"), format!("{h}hr")],
        };
        let sign = if self.whole_minutes() < 0 { "-" } else { "" };
        format!("{sign}{}", parts.join(" "))
    }
}

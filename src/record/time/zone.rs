//! The ward's own wall clock.

use std::fmt;
use std::str::FromStr;

use chrono::{DateTime, LocalResult, NaiveDate, NaiveDateTime, TimeZone};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::Timestamp;

/// About 200,000 years either side of 1970: well inside what chrono can add an offset to.
const FARTHEST_MICROS: i64 = 6_300_000_000_000_000_000;

/// The time zone a ward lives in, by its IANA name (`Europe/London`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct WardZone(Tz);

/// A name that is no time zone.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is not a time zone; give an IANA name such as Europe/London")]
pub struct ZoneError(pub String);

impl WardZone {
    /// Europe/London.
    pub const LONDON: WardZone = WardZone(Tz::Europe__London);
    /// UTC.
    pub const UTC: WardZone = WardZone(Tz::UTC);

    /// This moment on the ward's clock.
    #[must_use]
    pub fn local(self, moment: Timestamp) -> DateTime<Tz> {
        // A moment forged to the end of the range must not overflow when the offset is added:
        // it is shown as a year nobody can mistake for a date on the ward.
        let shown = Timestamp(moment.0.clamp(-FARTHEST_MICROS, FARTHEST_MICROS));
        shown.to_utc().with_timezone(&self.0)
    }

    /// The moments at which the ward's clock showed `wall`: one as a rule, two in the
    /// autumn overlap (earlier first), none in the spring gap.
    #[must_use]
    pub fn moments(self, wall: NaiveDateTime) -> Vec<Timestamp> {
        let to_stamp = |local: DateTime<Tz>| Timestamp::from_utc(local.to_utc());
        match self.0.from_local_datetime(&wall) {
            LocalResult::None => vec![],
            LocalResult::Single(one) => vec![to_stamp(one)],
            LocalResult::Ambiguous(first, second) => vec![to_stamp(first), to_stamp(second)],
        }
    }

    /// The date on the ward's calendar.
    #[must_use]
    pub fn date(self, moment: Timestamp) -> NaiveDate {
        self.local(moment).date_naive()
    }

    /// `BST`, `GMT`, …
    #[must_use]
    pub fn abbreviation(self, moment: Timestamp) -> String {
        self.local(moment).format("%Z").to_string()
    }

    /// `HH:mm`, 24-hour, with the zone's letters added only where that wall-clock time
    /// happens twice (`01:30 BST`, `01:30 GMT`).
    #[must_use]
    pub fn clock_time(self, moment: Timestamp) -> String {
        let local = self.local(moment);
        let wall = local.naive_local();
        if self.moments(wall).len() > 1 {
            format!("{} {}", local.format("%H:%M"), local.format("%Z"))
        } else {
            local.format("%H:%M").to_string()
        }
    }

    /// `25-Oct-2026 09:43`, as the NHS Common User Interface guidance D+Ta-0002…0010 and
    /// D+Tb-0008 write it.
    #[must_use]
    pub fn date_time(self, moment: Timestamp) -> String {
        format!(
            "{} {}",
            show_date(self.date(moment)),
            self.clock_time(moment)
        )
    }

    /// `Sun 25-Oct-2026 09:43`.
    #[must_use]
    pub fn day_date_time(self, moment: Timestamp) -> String {
        format!(
            "{} {}",
            self.local(moment).format("%a"),
            self.date_time(moment)
        )
    }

    /// `Sun 09:43`: for lists that span a few days.
    #[must_use]
    pub fn day_time(self, moment: Timestamp) -> String {
        format!(
            "{} {}",
            self.local(moment).format("%a"),
            self.clock_time(moment)
        )
    }
}

/// `05-Jan-2026`.
#[must_use]
pub fn show_date(date: NaiveDate) -> String {
    date.format("%d-%b-%Y").to_string()
}

impl fmt::Display for WardZone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0.name())
    }
}

impl FromStr for WardZone {
    type Err = ZoneError;
    fn from_str(name: &str) -> Result<Self, ZoneError> {
        name.parse()
            .map(WardZone)
            .map_err(|_| ZoneError(name.to_owned()))
    }
}

impl From<WardZone> for String {
    fn from(zone: WardZone) -> String {
        zone.to_string()
    }
}

impl TryFrom<String> for WardZone {
    type Error = ZoneError;
    fn try_from(name: String) -> Result<Self, ZoneError> {
        name.parse()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Such a time stands in no entry we write; a forged frame may hold any.
    #[test]
    fn the_ends_of_the_range_are_shown_without_a_panic() {
        for moment in [i64::MIN, i64::MIN + 1, i64::MAX, i64::MAX - 1] {
            let shown = WardZone::LONDON.day_date_time(Timestamp(moment));
            assert!(!shown.is_empty());
            assert!(!WardZone::LONDON.clock_time(Timestamp(moment)).is_empty());
        }
    }
}

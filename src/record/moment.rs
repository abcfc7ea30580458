//! Moments and dates as fields of an entry.

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::field::{FieldValue, ReadContext, Shape, ShowContext};
use super::ids::Digest;
use super::problem::Problem;
use super::time::{
    Leaning, Repeat, TimeRefusal, Timestamp, parse_date, parse_moment, parse_repeat, show_date,
};

/// A refused time says what is wrong and then what to say instead; an entry's refusal keeps
/// the two apart.
fn problem(refusal: &TimeRefusal, otherwise: &str) -> Problem {
    let text = refusal.to_string();
    match text.split_once("; say ") {
        Some((what, accepted)) => Problem::new(what, accepted),
        None => Problem::new(text, otherwise),
    }
}

/// A moment that has passed: a time of day means its last occurrence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Past(pub Timestamp);

/// A moment to come: a time of day means its next occurrence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Due(pub Timestamp);

fn read_moment(text: &str, cx: &ReadContext, leaning: Leaning) -> Result<Timestamp, Problem> {
    let hint = match leaning {
        Leaning::Past => Past::HINT,
        Leaning::Future => Due::HINT,
    };
    parse_moment(text, cx.now, cx.zone, leaning)
        .map(|moment| moment.at)
        .map_err(|refusal| problem(&refusal, hint))
}

impl FieldValue for Past {
    const SHAPE: Shape = Shape::Past;
    const HINT: &'static str = "when it was, e.g. 12:30, -20m, yesterday 22:15";

    fn read(text: &str, cx: &ReadContext) -> Result<Self, Problem> {
        let moment = read_moment(text, cx, Leaning::Past)?;
        if moment > cx.now {
            let what = format!("{} is still to come", cx.zone.day_date_time(moment));
            return Err(Problem::new(what, "a time that has passed"));
        }
        Ok(Past(moment))
    }
    fn show(&self, cx: &ShowContext) -> Option<String> {
        Some(cx.zone.day_date_time(self.0))
    }
    fn typed(&self, _: &ShowContext) -> Option<String> {
        Some(self.0.rfc3339())
    }
}

impl FieldValue for Due {
    const SHAPE: Shape = Shape::Future;
    const HINT: &'static str = "when it is due, e.g. 14:00, +4h, tomorrow 09:00";

    fn read(text: &str, cx: &ReadContext) -> Result<Self, Problem> {
        read_moment(text, cx, Leaning::Future).map(Due)
    }
    fn show(&self, cx: &ShowContext) -> Option<String> {
        Some(cx.zone.day_date_time(self.0))
    }
    fn typed(&self, _: &ShowContext) -> Option<String> {
        Some(self.0.rfc3339())
    }
}

/// A calendar date without a time: days since 1970-01-01, negative before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(pub i32);

impl Day {
    const EPOCH_FROM_CE: i32 = 719_163;

    /// Whether a stored entry can hold it: the same years as
    /// [`Timestamp::is_storable`](super::time::Timestamp::is_storable).
    #[must_use]
    pub const fn is_storable(self) -> bool {
        const MICROS: i64 = 86_400_000_000;
        self.0 as i64 >= Timestamp::STORABLE_FROM.0 / MICROS
            && (self.0 as i64) < Timestamp::LATEST.0 / MICROS
    }

    /// From chrono.
    #[must_use]
    pub fn from_date(date: NaiveDate) -> Day {
        Day(date.num_days_from_ce() - Self::EPOCH_FROM_CE)
    }

    /// To chrono; a day outside its range becomes the nearest end.
    #[must_use]
    pub fn to_date(self) -> NaiveDate {
        let from_ce = self.0.saturating_add(Self::EPOCH_FROM_CE);
        let end = if self.0 < 0 {
            NaiveDate::MIN
        } else {
            NaiveDate::MAX
        };
        NaiveDate::from_num_days_from_ce_opt(from_ce).unwrap_or(end)
    }
}

impl Serialize for Day {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        if out.is_human_readable() {
            out.collect_str(&self.to_date())
        } else {
            out.serialize_i32(self.0)
        }
    }
}

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        if input.is_human_readable() {
            let text = String::deserialize(input)?;
            text.parse()
                .map(Day::from_date)
                .map_err(serde::de::Error::custom)
        } else {
            let day = Day(i32::deserialize(input)?);
            if day.is_storable() {
                Ok(day)
            } else {
                let found = day.0;
                Err(serde::de::Error::custom(format_args!(
                    "{found} days from 1970 is a date outside 1900 to 2199"
                )))
            }
        }
    }
}

impl FieldValue for Day {
    const SHAPE: Shape = Shape::Date;
    const HINT: &'static str = "a date, e.g. 02-Jul-1944";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        parse_date(text)
            .map(Day::from_date)
            .map_err(|refusal| problem(&refusal, Self::HINT))
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(show_date(self.to_date()))
    }
}

impl FieldValue for Digest {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str = "64 hexadecimal digits";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        text.parse()
            .map_err(|error: super::ids::IdError| Problem::new(error.to_string(), Self::HINT))
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(self.to_string())
    }
}

impl FieldValue for Repeat {
    const SHAPE: Shape = Shape::Repeat;
    const HINT: &'static str = "e.g. every 4h, daily 09:00, every 2d";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        parse_repeat(text).map_err(|refusal| problem(&refusal, Self::HINT))
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(self.to_string())
    }
}

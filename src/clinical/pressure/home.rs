//! The average of measurements at home (NG136 recommendation 1.2.7): two readings at least a
//! minute apart, seated, twice a day, for at least four days and ideally seven; the first
//! day is dropped and the rest averaged.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{Pressure, Range, Setting};
use crate::record::time::{Span, Timestamp, WardZone, show_date};

/// The rule.
pub const HOME_SOURCE: &str = "NICE NG136 (2019, as amended), recommendation 1.2.7";
/// To be shown beside an average.
pub const HOME_CAUTION: &str = "Of seated readings with a checked device and cuff; a stage needs a clinic value as well. Take out standing and lying readings first.";

/// One measurement at home.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HomeReading {
    /// When it was taken.
    pub taken_at: Timestamp,
    /// What it was.
    pub pressure: Pressure,
}

/// A mean of pressures, kept as sums so that no limit meets a rounded value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Average {
    /// Sum of the systolic values, mmHg.
    pub sbp_sum: i64,
    /// Sum of the diastolic values, mmHg.
    pub dbp_sum: i64,
    /// How many; 1 or more.
    pub count: i64,
}

impl Average {
    /// The range it lies in.
    #[must_use]
    pub fn range(self, setting: Setting) -> Range {
        Range::of_sums(self.sbp_sum, self.dbp_sum, self.count, setting)
    }

    /// Whether it is under a target in both numbers, compared before anything is rounded.
    #[must_use]
    pub const fn is_under(self, (sbp, dbp): (i64, i64)) -> bool {
        self.sbp_sum < sbp * self.count && self.dbp_sum < dbp * self.count
    }

    /// As people read it: whole mmHg, half up. Where rounding up would show a limit the
    /// average does not reach, one decimal is shown, cut off: `134.9/84` is not `135/84`.
    #[must_use]
    pub fn shown(self, setting: Setting) -> String {
        let whole = |sum: i64| (2 * sum + self.count) / (2 * self.count);
        let (sbp, dbp) = (whole(self.sbp_sum), whole(self.dbp_sum));
        if Range::of_sums(sbp, dbp, 1, setting) == self.range(setting) {
            return format!("{sbp}/{dbp}");
        }
        let tenths = |sum: i64| format!("{}.{}", sum / self.count, sum * 10 / self.count % 10);
        format!("{}/{}", tenths(self.sbp_sum), tenths(self.dbp_sum))
    }
}

/// What an average at home rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HomeAverage {
    /// The mean of the readings used.
    pub average: Average,
    /// Days with readings, the dropped first one included.
    pub days: usize,
    /// Where the measuring fell short of the rule.
    pub notes: Vec<HomeNote>,
}

/// Where the measuring fell short of the rule; the average stands, with this beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HomeNote {
    /// Fewer than four readings on a day.
    FewReadings {
        /// The day.
        date: NaiveDate,
        /// How many.
        count: usize,
    },
    /// Two readings less than a minute apart.
    TooClose {
        /// The day.
        date: NaiveDate,
    },
    /// Fewer than seven days: enough, not ideal.
    UnderSevenDays,
}

impl HomeNote {
    /// As people read it.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            HomeNote::FewReadings { date, count } => {
                format!("{}: {count} of 4 readings", show_date(*date))
            }
            HomeNote::TooClose { date } => {
                format!("{}: readings less than a minute apart", show_date(*date))
            }
            HomeNote::UnderSevenDays => "fewer than the ideal 7 days".to_owned(),
        }
    }
}

/// Too little to average.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum HomeError {
    /// Fewer than four days with readings.
    #[error(
        "home readings cover {}; an average needs at least 4, the first of which is dropped", counted(*days)
    )]
    TooFewDays {
        /// How many days.
        days: usize,
    },
}

fn counted(days: usize) -> String {
    match days {
        1 => "1 day".to_owned(),
        _ => format!("{days} days"),
    }
}

/// The average of `readings`, in any order; days are those of the ward's calendar.
///
/// # Errors
/// [`HomeError::TooFewDays`] under four days.
pub fn home_average(readings: &[HomeReading], zone: WardZone) -> Result<HomeAverage, HomeError> {
    let mut by_day: BTreeMap<NaiveDate, Vec<HomeReading>> = BTreeMap::new();
    for reading in readings {
        by_day
            .entry(zone.date(reading.taken_at))
            .or_default()
            .push(*reading);
    }
    let days = by_day.len();
    if days < 4 {
        return Err(HomeError::TooFewDays { days });
    }
    let used = by_day.values().skip(1).flatten();
    let average = used.fold(
        Average {
            sbp_sum: 0,
            dbp_sum: 0,
            count: 0,
        },
        |sum, reading| Average {
            sbp_sum: sum.sbp_sum + i64::from(reading.pressure.sbp()),
            dbp_sum: sum.dbp_sum + i64::from(reading.pressure.dbp()),
            count: sum.count + 1,
        },
    );
    Ok(HomeAverage {
        average,
        days,
        notes: notes(by_day),
    })
}

fn notes(by_day: BTreeMap<NaiveDate, Vec<HomeReading>>) -> Vec<HomeNote> {
    let mut notes = Vec::new();
    if by_day.len() < 7 {
        notes.push(HomeNote::UnderSevenDays);
    }
    for (date, mut readings) in by_day {
        readings.sort_by_key(|reading| reading.taken_at);
        if readings.len() < 4 {
            notes.push(HomeNote::FewReadings {
                date,
                count: readings.len(),
            });
        }
        let close =
            |pair: &[HomeReading]| pair[1].taken_at.since(pair[0].taken_at) < Span::minutes(1);
        if readings.windows(2).any(close) {
            notes.push(HomeNote::TooClose { date });
        }
    }
    notes
}

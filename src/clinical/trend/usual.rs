//! A patient's usual range of one sign.

use super::estimate::{mad, median};
use super::{Sample, Sign};
use crate::record::time::{Span, Timestamp, WardZone};

/// A usual range, and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usual {
    /// Median, in steps of the sign.
    pub median: f64,
    /// Robust standard deviation: 1.4826 times the MAD, at least the sign's repeatability,
    /// widened for few readings.
    pub spread: f64,
    /// Lowest usual value, a whole step.
    pub low: i32,
    /// Highest usual value, a whole step.
    pub high: i32,
    /// How many readings it rests on.
    pub readings: usize,
    /// The median is that of this quarter of the day only.
    pub time_of_day: bool,
}

/// Fewest readings of a usual range, and the time they must span.
pub(super) const READINGS_MIN: usize = 8;
pub(super) const SPAN_MIN: Span = Span::days(1);
/// Days after which the time of day is taken into account.
const DAYS_FOR_TIME_OF_DAY: Span = Span::days(5);
/// The usual range reaches so many spreads to either side.
const SPREADS: f64 = 2.0;
/// MAD to standard deviation for normal noise (1 ÷ the 75th percentile of the normal).
const MAD_TO_SPREAD: f64 = 1.4826;

/// The spread of a few readings is itself uncertain, and mostly too small: widened by 3 ÷ their
/// number. Ours; without it a false alarm is three times as frequent in the first days.
#[expect(clippy::cast_precision_loss, reason = "a count of readings")]
fn widened(readings: usize) -> f64 {
    1.0 + 3.0 / readings as f64
}

/// What is usual for a patient at `about` on the ward's clock, from `samples` in order of
/// time; `None` under 8 readings or 24 hours. From five days on, the median is that of the same
/// quarter of the day if that has readings enough; the spread stays that of all.
#[must_use]
pub fn usual(sign: Sign, samples: &[Sample], about: Timestamp, zone: WardZone) -> Option<Usual> {
    let (first, last) = (samples.first()?, samples.last()?);
    let span = last.at.since(first.at);
    if samples.len() < READINGS_MIN || span < SPAN_MIN {
        return None;
    }
    let all: Vec<f64> = samples
        .iter()
        .map(|sample| f64::from(sample.value))
        .collect();
    let spread = (MAD_TO_SPREAD * mad(&all)?).max(sign.spread_min()) * widened(all.len());
    let quarter = quarter_of_day(about, zone);
    let same = |sample: &&Sample| quarter_of_day(sample.at, zone) == quarter;
    let of_quarter: Vec<f64> = samples
        .iter()
        .filter(same)
        .map(|sample| f64::from(sample.value))
        .collect();
    let time_of_day = span >= DAYS_FOR_TIME_OF_DAY && of_quarter.len() >= READINGS_MIN;
    let median = median(if time_of_day { &of_quarter } else { &all })?;
    Some(range(median, spread, samples.len(), time_of_day))
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "vital signs are at most 450 steps"
)]
fn range(median: f64, spread: f64, readings: usize, time_of_day: bool) -> Usual {
    let reach = SPREADS * spread;
    let (low, high) = (
        (median - reach).floor() as i32,
        (median + reach).ceil() as i32,
    );
    Usual {
        median,
        spread,
        low,
        high,
        readings,
        time_of_day,
    }
}

/// 0 to 3: night, morning, afternoon, evening by the ward's clock.
fn quarter_of_day(at: Timestamp, zone: WardZone) -> u32 {
    use chrono::Timelike;
    zone.local(at).hour() / 6
}

impl Usual {
    /// So many spreads above (or, negative, below) the median.
    #[must_use]
    pub fn deviation(&self, value: i32) -> f64 {
        (f64::from(value) - self.median) / self.spread
    }

    /// Outside the range as shown.
    #[must_use]
    pub const fn is_outside(&self, value: i32) -> bool {
        value < self.low || value > self.high
    }
}

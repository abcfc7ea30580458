//! A patient's usual range of one sign.

use super::{Sample, Sign};
use crate::clinical::policy::Trend as Policy;
use crate::record::time::{Span, Timestamp, WardZone};

/// A usual range, and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usual {
    /// Median, in steps of the sign.
    pub median: f64,
    /// Robust standard deviation: 1.4826 times the MAD, at least the sign's repeatability,
    /// widened for few readings.
    pub spread: f64,
    /// The spread that counts below the median: `spread`, or less where that would take the
    /// range into values that score.
    pub spread_below: f64,
    /// The same above the median.
    pub spread_above: f64,
    /// As measured it reaches so far below values that score nothing that the patient was ill,
    /// or lives, there.
    pub reached_below: bool,
    /// The same above them.
    pub reached_above: bool,
    /// Lowest usual value, a whole step.
    pub low: i32,
    /// Highest usual value, a whole step.
    pub high: i32,
    /// How many readings it rests on.
    pub readings: usize,
    /// The median is that of this quarter of the day only.
    pub time_of_day: bool,
}

/// The time the readings of a usual range must span.
const SPAN_MIN: Span = Span::days(1);
/// Days after which the time of day is taken into account.
const DAYS_FOR_TIME_OF_DAY: Span = Span::days(5);
/// MAD to standard deviation for normal noise (1 ÷ the 75th percentile of the normal).
const MAD_TO_SPREAD: f64 = 1.4826;

/// The spread of a few readings is itself uncertain, and mostly too small: widened by 3 ÷ their
/// number. Ours; without it a false alarm is three times as frequent in the first days.
#[expect(clippy::cast_precision_loss, reason = "a count of readings")]
fn widened(readings: usize) -> f64 {
    1.0 + 3.0 / readings as f64
}

/// Readings taken while somebody is ill must not make illness usual. Where the median scores
/// nothing by NEWS2 and the spread is more than this many times the sign's repeatability, which
/// is what an ordinary day does, readings that score are left out, and what is left reaches no
/// further than to the end of the values that score nothing. A median that itself scores may be
/// the patient's own (lungs, rhythm): there all readings count, and the sentence says so. Ours;
/// what it does to somebody who comes in ill is measured in the tests.
const ORDINARY: f64 = 1.5;

/// Middle and spread of sorted values.
#[derive(Clone, Copy)]
struct Centre<'a> {
    values: &'a [i32],
    median: f64,
    spread: f64,
}

impl Centre<'_> {
    fn of(sign: Sign, values: &[i32]) -> Option<Centre<'_>> {
        let deviation = half(twice_mad(values)?);
        Some(Centre {
            values,
            median: half(twice_median(values)?),
            spread: (MAD_TO_SPREAD * deviation).max(sign.spread_min()) * widened(values.len()),
        })
    }

    fn ordinary(&self, sign: Sign) -> f64 {
        ORDINARY * sign.spread_min() * widened(self.values.len())
    }

    /// Without the readings that score, where they made the spread what it is and enough stay.
    fn when_well(self, sign: Sign, enough: usize) -> Self {
        let well = sign.of_no_score(self.values);
        if !sign.scores_nothing_at(self.median)
            || self.spread <= self.ordinary(sign)
            || well.len() < enough
        {
            return self;
        }
        Centre::of(sign, well).unwrap_or(self)
    }

    /// Whether it reaches into scores below and above, further than an ordinary day does.
    fn reaches(&self, sign: Sign, spreads: f64) -> (bool, bool) {
        let (low, high) = sign.no_score();
        let wide = self.spread > self.ordinary(sign);
        let reaches = |median_scores: bool, end_scores: bool| median_scores || wide && end_scores;
        let reach = spreads * self.spread;
        (
            reaches(self.median < low, self.median - reach < low),
            reaches(self.median > high, self.median + reach > high),
        )
    }

    /// The spreads that count below and above the median.
    fn sides(&self, sign: Sign, spreads: f64) -> (f64, f64) {
        if !sign.scores_nothing_at(self.median) {
            return (self.spread, self.spread);
        }
        let (low, high) = sign.no_score();
        let side = |room: f64| self.spread.min((room / spreads).max(self.ordinary(sign)));
        (side(self.median - low), side(high - self.median))
    }
}

/// What is usual for a patient at `about` on the ward's clock, from `samples` in order of
/// time; `None` under 8 readings or 24 hours. From five days on, the median is that of the same
/// quarter of the day if that has readings enough; the spread stays that of all.
#[must_use]
pub fn usual(sign: Sign, samples: &[Sample], about: Timestamp, zone: WardZone) -> Option<Usual> {
    usual_by(&Policy::default(), sign, samples, about, zone)
}

/// The same by a ward's policy.
#[must_use]
pub fn usual_by(
    policy: &Policy,
    sign: Sign,
    samples: &[Sample],
    about: Timestamp,
    zone: WardZone,
) -> Option<Usual> {
    let mut gathered = Gathered::default();
    for sample in samples {
        gathered.add(*sample, quarter_of_day(sample.at, zone));
    }
    gathered.usual(policy, sign, quarter_of_day(about, zone))
}

/// Readings so far, kept sorted, so that a long series is walked once: what was usual before
/// each of its readings costs one pass over the earlier ones and no sorting.
#[derive(Debug, Default)]
pub(super) struct Gathered {
    all: Vec<i32>,
    of_quarter: [Vec<i32>; 4],
    first_and_last: Option<(Timestamp, Timestamp)>,
}

impl Gathered {
    /// Adds a reading taken in `quarter` of the day, not earlier than those before it.
    pub(super) fn add(&mut self, sample: Sample, quarter: usize) {
        let first = self.first_and_last.map_or(sample.at, |(first, _)| first);
        self.first_and_last = Some((first, sample.at));
        insert(&mut self.all, sample.value);
        if let Some(values) = self.of_quarter.get_mut(quarter) {
            insert(values, sample.value);
        }
    }

    /// What is usual in `quarter` of the day, from the readings added so far.
    pub(super) fn usual(&self, policy: &Policy, sign: Sign, quarter: usize) -> Option<Usual> {
        let (first, last) = self.first_and_last?;
        let (span, readings) = (last.since(first), self.all.len());
        if readings < policy.usual_readings || span < SPAN_MIN {
            return None;
        }
        let measured = Centre::of(sign, &self.all)?;
        let (reached_below, reached_above) = measured.reaches(sign, policy.usual_spreads);
        let centre = measured.when_well(sign, policy.usual_readings);
        let by_quarter = policy.by_time_of_day && span >= DAYS_FOR_TIME_OF_DAY;
        let enough = |values: &&Vec<i32>| by_quarter && values.len() >= policy.usual_readings;
        let of_quarter = self.of_quarter.get(quarter).filter(enough);
        let median = match of_quarter {
            Some(values) => half(twice_median(values)?),
            None => centre.median,
        };
        let (below, above) = Centre { median, ..centre }.sides(sign, policy.usual_spreads);
        Some(Usual {
            median,
            spread: centre.spread,
            spread_below: below,
            spread_above: above,
            reached_below,
            reached_above,
            low: whole((median - policy.usual_spreads * below).floor()),
            high: whole((median + policy.usual_spreads * above).ceil()),
            readings,
            time_of_day: of_quarter.is_some(),
        })
    }
}

fn insert(sorted: &mut Vec<i32>, value: i32) {
    let at = sorted.partition_point(|known| *known <= value);
    sorted.insert(at, value);
}

/// Twice the median of sorted values, a whole number even between two of them. Wider than the
/// values: no sum or distance here can overflow, whatever was recorded.
fn twice_median(sorted: &[i32]) -> Option<i64> {
    let upper = sorted.get(sorted.len() / 2)?;
    let lower = sorted.get((sorted.len().checked_sub(1)?) / 2)?;
    Some(i64::from(*lower) + i64::from(*upper))
}

/// Twice the median absolute deviation of sorted values. Deviations grow to both sides of the
/// median, so the two sides are merged up to the middle instead of being sorted.
fn twice_mad(sorted: &[i32]) -> Option<i64> {
    let centre = twice_median(sorted)?;
    let twice = |value: &i32| 2 * i64::from(*value);
    let split = sorted.partition_point(|value| twice(value) < centre);
    let mut below = sorted[..split]
        .iter()
        .rev()
        .map(|value| centre - twice(value))
        .peekable();
    let mut above = sorted[split..]
        .iter()
        .map(|value| twice(value) - centre)
        .peekable();
    let mut next = || match (below.peek(), above.peek()) {
        (Some(b), Some(a)) if b < a => below.next(),
        (_, Some(_)) => above.next(),
        _ => below.next(),
    };
    let (lower, upper) = ((sorted.len() - 1) / 2, sorted.len() / 2);
    let mut last = None;
    for at in 0..=upper {
        let deviation = next()?;
        if at == lower {
            last = Some(deviation);
        }
        if at == upper {
            return last.map(|lower| i64::midpoint(lower, deviation));
        }
    }
    None
}

/// Half of a whole number of at most 34 bits, which an `f64` holds exactly.
#[expect(clippy::cast_precision_loss, reason = "at most 34 bits")]
fn half(twice: i64) -> f64 {
    twice as f64 / 2.0
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "vital signs are at most 450 steps; beyond an i32 the cast stops at its end"
)]
fn whole(steps: f64) -> i32 {
    steps as i32
}

/// 0 to 3: night, morning, afternoon, evening by the ward's clock.
pub(super) fn quarter_of_day(at: Timestamp, zone: WardZone) -> usize {
    use chrono::Timelike;
    usize::try_from(zone.local(at).hour() / 6).unwrap_or(0)
}

impl Usual {
    /// Back from an illness: `value` scores nothing, and the usual it is held against reached
    /// into scores on the other side.
    pub(super) fn is_recovery(&self, sign: Sign, value: i32) -> bool {
        let value = f64::from(value);
        sign.scores_nothing_at(value)
            && (self.reached_above && value < self.median
                || self.reached_below && value > self.median)
    }

    /// So many spreads above (or, negative, below) the median.
    #[must_use]
    pub fn deviation(&self, value: i32) -> f64 {
        let away = f64::from(value) - self.median;
        match away < 0.0 {
            true => away / self.spread_below,
            false => away / self.spread_above,
        }
    }

    /// Outside the range as shown.
    #[must_use]
    pub const fn is_outside(&self, value: i32) -> bool {
        value < self.low || value > self.high
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::clinical::trend::{mad, median};

    proptest! {
        /// The quick estimators are the plain ones, which agree with SciPy.
        #[test]
        fn sorted_estimators_are_the_plain_ones(values in proptest::collection::vec(0_i32..450, 0..60)) {
            let plain: Vec<f64> = values.iter().map(|value| f64::from(*value)).collect();
            let mut sorted = Vec::new();
            values.iter().for_each(|value| insert(&mut sorted, *value));
            prop_assert_eq!(twice_median(&sorted).map(half), median(&plain));
            prop_assert_eq!(twice_mad(&sorted).map(half), mad(&plain));
        }
    }

    /// No reading, however far from anything a body does, makes the arithmetic give way. The
    /// ends of what a sign can hold and of what an entry can store; found by a hostile audit.
    #[test]
    fn extremes_of_every_sign_give_a_range_or_none() {
        for sign in Sign::ALL {
            for extremes in [
                [i32::MIN, i32::MAX],
                [i32::MAX, i32::MAX],
                [i32::MIN, i32::MIN],
                [0, i32::MAX],
                [i32::MIN, 0],
            ] {
                let samples: Vec<Sample> = (0_i64..24)
                    .map(|at| Sample {
                        at: Timestamp(1_792_000_000_000_000).plus(Span::hours(6 * at)),
                        value: extremes[usize::from(at % 2 == 1)],
                    })
                    .collect();
                let last = samples[23].at;
                let found = usual(sign, &samples, last, WardZone::LONDON).expect("a range");
                assert!(found.low <= found.high, "{sign:?} {extremes:?} {found:?}");
                assert!(found.spread.is_finite() && found.median.is_finite());
                for extreme in extremes {
                    assert!(found.deviation(extreme).is_finite());
                }
            }
        }
    }
}

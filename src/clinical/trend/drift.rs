//! Has a sign drifted from its usual? A one-sided cumulative sum of robust deviations.
//!
//! Each reading is compared with what was usual half a day before it, so that a slow change
//! does not become its own baseline at once. Invariants: a reading adds at most
//! [`DEVIATION_MAX`] less [`SLACK`], which is under [`LIMIT`], so no single reading, however
//! wild, is a drift; and the state at a moment depends on readings up to that moment only.

use super::usual::{Gathered, Usual, quarter_of_day};
use super::{Sample, Sign};
use crate::clinical::policy::Trend as Policy;
use crate::record::time::{Span, Timestamp, WardZone};

/// On which side of usual.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Higher than usual.
    Above,
    /// Lower than usual.
    Below,
}

/// A drift that holds at the latest reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Drift {
    /// Which way.
    pub side: Side,
    /// The first reading of the run that became a drift.
    pub since: Timestamp,
}

/// Deviations up to this many spreads are noise.
const SLACK: f64 = 1.0;
/// A drift begins when the sum reaches this.
const LIMIT: f64 = 5.0;
/// The sum grows no further, so that recovery shows within a few readings.
const SUM_MAX: f64 = 1.5 * LIMIT;
/// What one reading can count, in spreads.
const DEVIATION_MAX: f64 = 3.0;
/// A reading is compared with what was usual this long before it.
const LAG: Span = Span::hours(12);

const _: () = assert!(
    DEVIATION_MAX - SLACK < LIMIT,
    "one reading alone would be a drift"
);

/// The running sum of one side.
#[derive(Debug, Clone, Copy)]
struct Run {
    side: Side,
    sum: f64,
    since: Timestamp,
}

impl Run {
    fn add(&mut self, sign: Sign, usual: &Usual, sample: Sample) {
        let away = match self.side {
            _ if usual.is_recovery(sign, sample.value) => 0.0,
            Side::Above => usual.deviation(sample.value),
            Side::Below => -usual.deviation(sample.value),
        };
        if self.sum <= 0.0 {
            self.since = sample.at;
        }
        self.sum = (self.sum + away.min(DEVIATION_MAX) - SLACK).clamp(0.0, SUM_MAX);
    }

    fn drift(&self) -> Option<Drift> {
        (self.sum >= LIMIT).then_some(Drift {
            side: self.side,
            since: self.since,
        })
    }
}

/// Whether the sign had drifted after each of `samples` (in order of time).
pub(super) fn path(
    policy: &Policy,
    sign: Sign,
    samples: &[Sample],
    zone: WardZone,
) -> Vec<Option<Drift>> {
    let start = |side: &Side| Run {
        side: *side,
        sum: 0.0,
        since: Timestamp::EARLIEST,
    };
    let mut runs: Vec<Run> = sign.watched().iter().map(start).collect();
    let quarters: Vec<usize> = samples.iter().map(|s| quarter_of_day(s.at, zone)).collect();
    let (mut gathered, mut before) = (Gathered::default(), 0);
    let mut path = Vec::with_capacity(samples.len());
    for (sample, quarter) in samples.iter().zip(&quarters) {
        while samples[before].at.plus(LAG) <= sample.at {
            gathered.add(samples[before], quarters[before]);
            before += 1;
        }
        if let Some(usual) = gathered.usual(policy, sign, *quarter) {
            runs.iter_mut()
                .for_each(|run| run.add(sign, &usual, *sample));
        }
        path.push(runs.iter().find_map(Run::drift));
    }
    path
}

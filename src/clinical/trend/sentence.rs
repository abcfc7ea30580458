//! One sign of one patient at one moment, and the sentence that says it.

use super::drift::{self, Drift, Side};
use super::estimate::{Slope, theil_sen};
use super::usual::{Usual, usual_by};
use super::{Sample, Sign};
use crate::clinical::policy::Trend as Policy;
use crate::record::time::{Span, Timestamp, WardZone};

/// What is known of one sign.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// Which sign.
    pub sign: Sign,
    /// The latest reading.
    pub latest: Sample,
    /// What was usual before it; `None` with too few readings.
    pub usual: Option<Usual>,
    /// How many readings there are in all, the latest included.
    pub readings: usize,
    /// How many a usual range takes.
    pub readings_needed: usize,
    /// The slope of the last hours, a step an hour, and the time it spans; only where its
    /// confidence interval leaves out 0.
    pub slope: Option<(Slope, Span)>,
    /// Outside the usual range without a break since.
    pub outside_since: Option<Timestamp>,
    /// Drifted from usual, in the direction of deterioration.
    pub drift: Option<Drift>,
}

/// What `samples` (of one sign, in any order) say as of `as_of`; later ones are left out.
/// `None` without a reading.
#[must_use]
pub fn assess(sign: Sign, samples: &[Sample], as_of: Timestamp, zone: WardZone) -> Option<Trend> {
    assess_by(&Policy::default(), sign, samples, as_of, zone)
}

/// The same by a ward's policy.
#[must_use]
pub fn assess_by(
    policy: &Policy,
    sign: Sign,
    samples: &[Sample],
    as_of: Timestamp,
    zone: WardZone,
) -> Option<Trend> {
    let mut samples: Vec<Sample> = samples.iter().copied().filter(|s| s.at <= as_of).collect();
    samples.sort_by_key(|sample| sample.at);
    let latest = *samples.last()?;
    let drift = drift::path(policy, sign, &samples, zone)
        .last()
        .copied()
        .flatten();
    // A drift's own readings are not part of what was usual before it.
    let begun = drift.map_or(latest.at, |drift| drift.since);
    let earlier: Vec<Sample> = samples.iter().copied().filter(|s| s.at < begun).collect();
    let usual = usual_by(policy, sign, &earlier, latest.at, zone);
    let outside_since = usual.and_then(|usual| outside_since(&samples, &usual));
    let slope = slope(policy, &samples, latest.at);
    Some(Trend {
        sign,
        latest,
        usual,
        readings: samples.len(),
        readings_needed: policy.usual_readings,
        slope,
        outside_since,
        drift,
    })
}

/// So many spreads away, one reading is enough. Ours.
const FAR: f64 = 3.0;

fn outside_since(samples: &[Sample], usual: &Usual) -> Option<Timestamp> {
    let run = samples
        .iter()
        .rev()
        .take_while(|sample| usual.is_outside(sample.value));
    run.last().map(|sample| sample.at)
}

fn slope(policy: &Policy, samples: &[Sample], latest: Timestamp) -> Option<(Slope, Span)> {
    let from = latest.plus(Span(-policy.slope_over.0));
    let recent: Vec<&Sample> = samples.iter().filter(|sample| sample.at >= from).collect();
    let first = recent.first()?.at;
    if recent.len() < policy.slope_readings {
        return None;
    }
    let point = |sample: &&Sample| (hours(sample.at.since(first)), f64::from(sample.value));
    let points: Vec<(f64, f64)> = recent.iter().map(point).collect();
    let slope = theil_sen(&points)?;
    (slope.low > 0.0 || slope.high < 0.0).then_some((slope, latest.since(first)))
}

#[expect(clippy::cast_precision_loss, reason = "minutes of half a day")]
fn hours(span: Span) -> f64 {
    span.whole_minutes() as f64 / 60.0
}

/// NEWS2 totals to set beside a drift.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Totals {
    /// Of the newest set.
    pub now: u8,
    /// Of the last complete set before the drift began.
    pub before: Option<u8>,
}

impl Totals {
    fn beside(self) -> String {
        match self.before {
            Some(before) if before == self.now => format!("; NEWS2 still {before}"),
            Some(before) => format!("; NEWS2 {}, {before} before it began", self.now),
            None => format!("; NEWS2 {}", self.now),
        }
    }
}

impl Trend {
    /// Outside the usual range on a side where that is deterioration.
    #[must_use]
    pub fn is_worse_than_usual(&self) -> bool {
        let (Some(usual), Some(_)) = (&self.usual, self.outside_since) else {
            return false;
        };
        let side = match self.latest.value > usual.high {
            true => Side::Above,
            false => Side::Below,
        };
        self.sign.watched().contains(&side) && !usual.is_recovery(self.sign, self.latest.value)
    }

    /// Whether somebody should look. A drift; or outside the usual range on the side of
    /// deterioration, in two readings in a row or by half as far again as the range reaches. One reading just
    /// outside is chance once in twenty, and a slope by itself is mostly the time of day or
    /// recovery: both are said, and neither asks for anything.
    #[must_use]
    pub fn asks_for_a_look(&self) -> bool {
        let again = self
            .outside_since
            .is_some_and(|since| since < self.latest.at);
        let deviation = self
            .usual
            .map_or(0.0, |usual| usual.deviation(self.latest.value).abs());
        self.drift.is_some() || self.is_worse_than_usual() && (again || deviation >= FAR)
    }

    /// A plain sentence, such as `HR 104 at 14:00, usual 78 to 88, above usual for 6hr, rising
    /// 3/h over 6hr; NEWS2 still 1`. The scores are the caller's, if there are any to set beside it.
    #[must_use]
    pub fn sentence(&self, zone: WardZone, news2: Option<Totals>) -> String {
        let mut said = format!(
            "{} {} at {}",
            self.sign.label(),
            self.sign.measure().show(self.latest.value),
            zone.clock_time(self.latest.at)
        );
        match &self.usual {
            Some(usual) => said += &self.against(usual),
            None => {
                said += &format!(
                    ", no usual range yet ({} {}; it takes {} over a day before this one)",
                    self.readings,
                    if self.readings == 1 {
                        "reading"
                    } else {
                        "readings"
                    },
                    self.readings_needed
                );
            }
        }
        if let Some((slope, over)) = &self.slope {
            said += &self.moving(slope, *over);
        }
        match news2 {
            Some(totals) if self.drift.is_some() => said + &totals.beside(),
            _ => said,
        }
    }

    fn against(&self, usual: &Usual) -> String {
        let number = |steps| self.sign.measure().number(steps);
        let mut said = format!(", usual {} to {}", number(usual.low), number(usual.high));
        if usual.time_of_day {
            said += " at this time of day";
        }
        if !self.sign.scores_nothing_at(usual.median) {
            said += match self.sign {
                Sign::Spo2 => " (which scores on scale 1: so in health, or measured while ill)",
                _ => " (which scores: so in health, or measured while ill)",
            };
        }
        if let Some(since) = self.outside_since {
            let side = if self.latest.value > usual.high {
                "above"
            } else {
                "below"
            };
            match self.latest.at.since(since) {
                Span::ZERO => said += &format!(", {side} usual"),
                span => said += &format!(", {side} usual for {}", span.spoken()),
            }
        } else if let Some(drift) = self.drift {
            let side = match drift.side {
                Side::Above => "upwards",
                Side::Below => "downwards",
            };
            said += &format!(
                ", drifting {side} for {}",
                self.latest.at.since(drift.since).spoken()
            );
        }
        said
    }

    fn moving(&self, slope: &Slope, over: Span) -> String {
        let way = if slope.per_unit > 0.0 {
            "rising"
        } else {
            "falling"
        };
        let per_hour = match self.sign.measure().places {
            0 => slope.per_unit.abs(),
            _ => slope.per_unit.abs() / 10.0,
        };
        format!(", {way} {}/h over {}", short(per_hour), over.spoken())
    }
}

/// One or two figures, no trailing zeros: 3, 1, 0.5, 0.05.
fn short(value: f64) -> String {
    let places = match value {
        v if v >= 2.0 => 0,
        v if v >= 0.1 => 1,
        _ => 2,
    };
    let said = format!("{value:.places$}");
    if places == 0 {
        return said;
    }
    said.trim_end_matches('0').trim_end_matches('.').to_owned()
}

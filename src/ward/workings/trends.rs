//! Each vital sign against the patient's own usual.

use super::{About, Desk, Part, Weight, Working};
use crate::clinical::trend::{self, Sample, Sign, Trend};
use crate::record::time::Timestamp;
use crate::ward::Patient;
use crate::ward::observations::ObservationSet;

/// How many of the newest sets a trend looks at.
const SETS_MAX: usize = 200;

const SOURCE: &str =
    "median, median absolute deviation, Theil-Sen slope (Sen 1968), cumulative sum (Page 1954)";

/// The sets a trend is drawn from, oldest first: the newest of this stay that hold a vital sign.
/// Their number has a limit, as the cost of a trend grows with its square.
pub(super) fn trended(patient: &Patient, until: Timestamp) -> Vec<&ObservationSet> {
    let newest = patient
        .sets_of_stay()
        .iter()
        .rev()
        .filter(|set| set.stamp.occurred_at <= until && set.has_vital_sign());
    let mut sets: Vec<&ObservationSet> = newest.take(SETS_MAX).collect();
    sets.reverse();
    sets
}

pub(super) fn trends(desk: &Desk<'_>) -> Vec<Working> {
    let recent = trended(desk.patient, desk.now);
    let total = recent.last().and_then(|set| set.total());
    let policy = desk.policy.values().trend();
    let of_sign = |sign: Sign| {
        let read: Vec<(&ObservationSet, Sample)> = recent
            .iter()
            .filter_map(|set| Some((*set, set.sample(sign)?)))
            .collect();
        let samples: Vec<Sample> = read.iter().map(|(_, sample)| *sample).collect();
        let trend = trend::assess_by(&policy, sign, &samples, desk.now, desk.zone)?;
        let entries = read.iter().map(|(set, _)| set.stamp.seq).collect();
        Some(Working {
            about: About::Trend,
            weight: weight(&trend),
            text: said(desk, &trend, total),
            parts: parts(&trend),
            entries,
            source: SOURCE,
            caution: trend::CAUTION,
        })
    };
    Sign::ALL.into_iter().filter_map(of_sign).collect()
}

/// The sentence; where its reading is not of today, how old that is.
fn said(desk: &Desk<'_>, trend: &Trend, total: Option<u8>) -> String {
    let said = trend.sentence(desk.zone, total);
    let at = trend.latest.at;
    if desk.zone.date(at) == desk.zone.date(desk.now) {
        return said;
    }
    format!("{said} (read {} ago)", desk.now.since(at).spoken())
}

/// Worth a look once it has left, or is leaving, what is usual for this patient.
const fn weight(trend: &Trend) -> Weight {
    if trend.drift.is_some() || trend.outside_since.is_some() || trend.slope.is_some() {
        Weight::Look
    } else {
        Weight::Say
    }
}

fn parts(trend: &Trend) -> Vec<Part> {
    let measure = trend.sign.measure();
    let mut parts = vec![
        Part::new("latest", measure.show(trend.latest.value)),
        Part::new("readings", trend.readings.to_string()),
    ];
    if let Some(usual) = &trend.usual {
        parts.push(Part::new(
            "usual",
            format!(
                "{} to {}",
                measure.number(usual.low),
                measure.show(usual.high)
            ),
        ));
    }
    parts
}

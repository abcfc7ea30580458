//! Each vital sign against the patient's own usual.

use super::{About, Desk, Part, Weight, Working};
use crate::clinical::trend::{self, Sample, Sign, Totals, Trend};
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
            text: said(desk, &trend, totals(&recent, &trend)),
            parts: parts(desk, &trend),
            entries,
            source: SOURCE,
            caution: trend::CAUTION,
        })
    };
    Sign::ALL.into_iter().filter_map(of_sign).collect()
}

/// The sentence; where its reading is not of today, how old that is.
fn said(desk: &Desk<'_>, trend: &Trend, totals: Option<Totals>) -> String {
    let said = trend.sentence(desk.zone, totals);
    let at = trend.latest.at;
    if desk.zone.date(at) == desk.zone.date(desk.now) {
        return said;
    }
    format!("{said} (read {} ago)", desk.now.since(at).spoken())
}

/// What the newest set scores, and what the last complete one before the drift did.
fn totals(recent: &[&ObservationSet], trend: &Trend) -> Option<Totals> {
    let now = recent.last()?.total()?;
    let begun = trend.drift?.since;
    let mut earlier = recent.iter().rev();
    let before = earlier.find_map(|set| set.total().filter(|_| set.stamp.occurred_at < begun));
    Some(Totals { now, before })
}

fn weight(trend: &Trend) -> Weight {
    match trend.asks_for_a_look() {
        true => Weight::Look,
        false => Weight::Say,
    }
}

fn parts(desk: &Desk<'_>, trend: &Trend) -> Vec<Part> {
    let measure = trend.sign.measure();
    let mut parts = vec![
        Part::new("latest", measure.show(trend.latest.value)),
        Part::new("readings", trend.readings.to_string()),
    ];
    if let Some(usual) = &trend.usual {
        let (low, high) = (measure.number(usual.low), measure.show(usual.high));
        let away = usual.deviation(trend.latest.value);
        parts.push(Part::new("usual", format!("{low} to {high}")));
        parts.push(Part::new(
            "deviation",
            format!("{away:+.1} robust standard deviations"),
        ));
    }
    if let Some((slope, over)) = &trend.slope {
        let number = |steps: f64| format!("{:+.2}", steps / trend.sign.steps_in_one());
        let (low, high) = (number(slope.low), number(slope.high));
        parts.push(Part::new(
            "slope",
            format!(
                "{} an hour over {}, 95 % interval {low} to {high}",
                number(slope.per_unit),
                over.spoken()
            ),
        ));
    }
    if let Some(since) = trend.outside_since {
        parts.push(Part::new("outside usual since", desk.when(since)));
    }
    if let Some(drift) = trend.drift {
        parts.push(Part::new("drifting since", desk.when(drift.since)));
    }
    parts
}

//! Measures of the ward by day as XmR charts.

use serde::Serialize;

use super::WardDay;
use crate::clinical::xmr::{POINTS_FOR_LIMITS, Xmr, xmr};
use crate::record::moment::Day as Date;

/// What is charted.
const CHARTED: [&str; 6] = [
    "here",
    "admitted",
    "contacts",
    "unreached",
    "alerts-raised",
    "late",
];

/// A measure of the ward by day, with what its chart signals.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Series {
    /// The daily figure that is charted.
    pub name: &'static str,
    /// The whole days it is counted of.
    pub days: Vec<crate::record::moment::Day>,
    /// The figure of each of those days.
    pub values: Vec<u64>,
    /// On how many of the first days mean and limits rest.
    pub fixed_on: usize,
    /// Mean of those.
    pub mean: f64,
    /// Mean of how much each of those differs from the one before.
    pub mean_range: f64,
    /// Lower limit, as computed: it may be below 0, which no count reaches.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Days beyond a limit.
    pub outside: Vec<crate::record::moment::Day>,
    /// Days in a run of 7 or more on one side of the mean.
    pub shift: Vec<crate::record::moment::Day>,
    /// Days among 7 or more that rise, or fall, without a break.
    pub trend: Vec<crate::record::moment::Day>,
    /// Days that are two or three of three close to the same limit.
    pub two_of_three: Vec<crate::record::moment::Day>,
}

/// Every measure of which there are whole days enough for limits.
pub(super) fn series(days: &[WardDay]) -> Vec<Series> {
    CHARTED
        .iter()
        .filter_map(|name| charted(name, days))
        .collect()
}

#[expect(clippy::cast_precision_loss, reason = "counts of a day")]
fn charted(name: &'static str, days: &[WardDay]) -> Option<Series> {
    let whole = days.iter().filter(|day| day.whole);
    let points: Vec<(Date, u64)> = whole
        .filter_map(|day| Some((day.date, day.count(name)?)))
        .collect();
    if points.len() < POINTS_FOR_LIMITS {
        return None;
    }
    let values: Vec<f64> = points.iter().map(|(_, value)| *value as f64).collect();
    let chart = xmr(&values, POINTS_FOR_LIMITS).ok()?;
    Some(of_chart(name, &points, &chart))
}

fn of_chart(name: &'static str, points: &[(Date, u64)], chart: &Xmr) -> Series {
    let marked = |which: fn(&crate::clinical::xmr::Signals) -> bool| {
        let signals = chart.signals.iter().zip(points);
        let marked = signals.filter(|(signals, _)| which(signals));
        marked.map(|(_, (date, _))| *date).collect()
    };
    Series {
        name,
        days: points.iter().map(|(date, _)| *date).collect(),
        values: points.iter().map(|(_, value)| *value).collect(),
        fixed_on: POINTS_FOR_LIMITS,
        mean: chart.mean,
        mean_range: chart.mean_range,
        low: chart.low,
        high: chart.high,
        outside: marked(|signals| signals.outside),
        shift: marked(|signals| signals.shift),
        trend: marked(|signals| signals.trend),
        two_of_three: marked(|signals| signals.two_of_three),
    }
}

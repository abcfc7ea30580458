//! XmR charts (individual values and moving range) for measures of the ward: response times,
//! overdue tasks, falls.
//!
//! Source: the rules of the NHS "Making Data Count" charts as its published R library states
//! them: centre the mean, limits 2.66 mean moving ranges away, moving-range limit 3.267;
//! shift 7, trend 7, two of three; outliers are not screened out. Not for one patient's vital
//! signs, which depend on each other: there a hint at most.

/// Points on which limits are fixed; with fewer they are trial limits, and to be called so.
pub const POINTS_FOR_LIMITS: usize = 12;
/// Shortest run on one side of the mean that is a shift.
const SHIFT: usize = 7;
/// Fewest points, each above (or each below) the one before, that are a trend.
const TREND: usize = 7;

/// A chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Xmr {
    /// Mean of the points the limits rest on.
    pub mean: f64,
    /// Mean moving range of those.
    pub mean_range: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// Upper limit of a moving range.
    pub range_high: f64,
    /// Fewer than 12 points: say so.
    pub trial: bool,
    /// What each point signals, in order.
    pub signals: Vec<Signals>,
}

/// What one point signals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Signals {
    /// Beyond a limit.
    pub outside: bool,
    /// In a run of 7 or more on one side of the mean.
    pub shift: bool,
    /// Among 7 or more rising or falling without a break.
    pub trend: bool,
    /// One of two or three close to the same limit among three on that side.
    pub two_of_three: bool,
}

/// Why there is no chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum XmrError {
    /// Fewer than two points have no moving range.
    #[error(
        "a chart needs at least 2 points, and 12 for limits that are not on trial; there are {0}"
    )]
    TooFew(usize),
    /// A point that is not a number.
    #[error("point {0} is not a number")]
    NotANumber(usize),
}

/// Draws the chart of `values`, in order, with limits from the first `fixed_on` of them (all,
/// if there are fewer). Points after those are judged by the same limits; a chart is given
/// new ones only for a known change, with its reason.
///
/// # Errors
/// [`XmrError`].
#[expect(clippy::cast_precision_loss, reason = "counts of points")]
pub fn xmr(values: &[f64], fixed_on: usize) -> Result<Xmr, XmrError> {
    if let Some(at) = values.iter().position(|value| !value.is_finite()) {
        return Err(XmrError::NotANumber(at));
    }
    let used = &values[..fixed_on.min(values.len())];
    if used.len() < 2 {
        return Err(XmrError::TooFew(used.len()));
    }
    let mean = used.iter().sum::<f64>() / used.len() as f64;
    let ranges = used.windows(2).map(|pair| (pair[1] - pair[0]).abs());
    let mean_range = ranges.sum::<f64>() / (used.len() - 1) as f64;
    let reach = 2.66 * mean_range;
    Ok(Xmr {
        mean,
        mean_range,
        low: mean - reach,
        high: mean + reach,
        range_high: 3.267 * mean_range,
        trial: used.len() < POINTS_FOR_LIMITS,
        signals: signals(values, mean, reach),
    })
}

fn signals(values: &[f64], mean: f64, reach: f64) -> Vec<Signals> {
    let mut signals = vec![Signals::default(); values.len()];
    for (signal, value) in signals.iter_mut().zip(values) {
        signal.outside = (value - mean).abs() > reach;
    }
    // A point on the mean belongs to neither side and ends the run.
    let side = |value: f64| {
        if value > mean {
            1
        } else {
            -i8::from(value < mean)
        }
    };
    mark_runs(
        values,
        SHIFT,
        |a, b| side(a) != 0 && side(a) == side(b),
        |at| signals[at].shift = true,
    );
    mark_runs(values, TREND, |a, b| b > a, |at| signals[at].trend = true);
    mark_runs(values, TREND, |a, b| b < a, |at| signals[at].trend = true);
    for at in 0..values.len().saturating_sub(2) {
        for sign in [1.0, -1.0] {
            let away = |n: usize| sign * (values[n] - mean);
            let three = at..at + 3;
            let near = |n: &usize| away(*n) > reach * 2.0 / 3.0 && away(*n) <= reach;
            if three.clone().all(|n| away(n) > 0.0) && three.clone().filter(near).count() >= 2 {
                three
                    .filter(near)
                    .for_each(|n| signals[n].two_of_three = true);
            }
        }
    }
    signals
}

/// Marks every point of each unbroken run, of at least `least` points, in which each pair of
/// neighbours `go_on`.
fn mark_runs(
    values: &[f64],
    least: usize,
    go_on: impl Fn(f64, f64) -> bool,
    mut mark: impl FnMut(usize),
) {
    let mut begun = 0;
    for at in 1..=values.len() {
        if at < values.len() && go_on(values[at - 1], values[at]) {
            continue;
        }
        if at - begun >= least {
            (begun..at).for_each(&mut mark);
        }
        begun = at;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const W8: &str = include_str!("../../tests/vectors/xmr.psv");

    /// Clinical reference W8: two independent calculations agreed.
    #[test]
    fn w8_every_chart() {
        let mut seen = 0;
        for line in W8
            .lines()
            .filter(|line| !line.starts_with('#') && !line.is_empty())
        {
            let cell: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
            let number = |text: &str| text.parse::<f64>().expect("a number");
            let values: Vec<f64> = cell[1].split(", ").map(number).collect();
            let chart = xmr(&values, values.len()).expect("a chart");
            let (low, high) = cell[4].split_once(" to ").expect("limits");
            for (ours, theirs) in [
                (chart.mean, cell[2]),
                (chart.mean_range, cell[3]),
                (chart.low, low),
                (chart.high, high),
                (chart.range_high, cell[5]),
            ] {
                assert!((ours - number(theirs)).abs() < 0.001, "{line}: {ours}");
            }
            let marked = |which: fn(&Signals) -> bool| {
                let at = chart.signals.iter().enumerate().filter(|(_, s)| which(s));
                let at: Vec<String> = at.map(|(at, _)| at.to_string()).collect();
                if at.is_empty() {
                    "—".to_owned()
                } else {
                    format!("[{}]", at.join(", "))
                }
            };
            assert_eq!(marked(|s| s.outside), cell[6], "{line}");
            assert_eq!(marked(|s| s.shift), cell[7], "{line}");
            assert_eq!(marked(|s| s.trend), cell[8], "{line}");
            assert_eq!(marked(|s| s.two_of_three), cell[9], "{line}");
            assert!(!chart.trial);
            seen += 1;
        }
        assert_eq!(seen, 10);
    }

    #[test]
    fn limits_may_be_fixed_on_the_first_points() {
        let values = [10.0, 12.0, 11.0, 13.0, 90.0];
        let chart = xmr(&values, 4).expect("a chart");
        assert!(chart.trial && (chart.mean - 11.5).abs() < 1e-9);
        assert!(chart.signals[4].outside && !chart.signals[3].outside);
        assert_eq!(xmr(&values[..1], 12), Err(XmrError::TooFew(1)));
        assert_eq!(xmr(&[1.0, f64::NAN], 12), Err(XmrError::NotANumber(1)));
    }

    /// Falling runs count too.
    #[test]
    fn a_falling_trend_is_a_trend() {
        let falling: Vec<f64> = (0..7).rev().map(f64::from).collect();
        let chart = xmr(&falling, 7).expect("a chart");
        assert!(chart.signals.iter().all(|signal| signal.trend));
        let broken = xmr(&falling[..6], 6).expect("a chart");
        assert!(broken.signals.iter().all(|signal| !signal.trend));
    }
}

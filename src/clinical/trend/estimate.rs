//! Robust estimators: one wild value does not move them.

/// The middle value, or the mean of the middle two; `None` of nothing.
#[must_use]
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    middle(&sorted)
}

fn middle(sorted: &[f64]) -> Option<f64> {
    let upper = sorted.get(sorted.len() / 2)?;
    let lower = sorted.get((sorted.len() - 1) / 2)?;
    Some(f64::midpoint(*lower, *upper))
}

/// Median absolute deviation from the median, unscaled; `None` of nothing.
#[must_use]
pub fn mad(values: &[f64]) -> Option<f64> {
    let centre = median(values)?;
    let away: Vec<f64> = values.iter().map(|value| (value - centre).abs()).collect();
    median(&away)
}

/// A straight line through noisy points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Rise a unit of x: the median of the slopes of all pairs.
    pub per_unit: f64,
    /// Median y less slope times median x.
    pub intercept: f64,
    /// Lower end of the 95 % confidence interval of the slope.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Most points of a slope: pairs grow with the square. The latest are kept.
const POINTS_MAX: usize = 500;

/// Theil–Sen slope of `(x, y)` points in order of x, with Sen's confidence interval; `None`
/// without two different x.
#[must_use]
pub fn theil_sen(points: &[(f64, f64)]) -> Option<Slope> {
    let points = &points[points.len().saturating_sub(POINTS_MAX)..];
    let mut slopes = Vec::with_capacity(points.len() * points.len() / 2);
    for (at, (x1, y1)) in points.iter().enumerate() {
        let later = points[at + 1..].iter().filter(|(x2, _)| x2 > x1);
        slopes.extend(later.map(|(x2, y2)| (y2 - y1) / (x2 - x1)));
    }
    slopes.sort_by(f64::total_cmp);
    let (xs, ys): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let per_unit = middle(&slopes)?;
    let (low, high) = interval(&slopes, &xs, &ys);
    Some(Slope {
        per_unit,
        intercept: median(&ys)? - per_unit * median(&xs)?,
        low,
        high,
    })
}

/// Sen 1968, equation 2.6, with its correction for ties, at 95 %.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "counts of at most 125,000 pairs; clamped to the slopes there are"
)]
fn interval(slopes: &[f64], xs: &[f64], ys: &[f64]) -> (f64, f64) {
    const Z: f64 = 1.959_963_984_540_054;
    let term = |k: usize| (k * k.saturating_sub(1) * (2 * k + 5)) as f64;
    let ties = |values: &[f64]| repeats(values).into_iter().map(term).sum::<f64>();
    let variance = (term(ys.len()) - ties(xs) - ties(ys)) / 18.0;
    let (pairs, reach) = (slopes.len() as f64, Z * variance.max(0.0).sqrt());
    let last = slopes.len() - 1;
    let upper = ((pairs + reach) / 2.0).round_ties_even().max(0.0) as usize;
    let lower = (((pairs - reach) / 2.0).round_ties_even() - 1.0).max(0.0) as usize;
    (slopes[lower.min(last)], slopes[upper.min(last)])
}

/// How often each value that occurs more than once occurs.
fn repeats(values: &[f64]) -> Vec<usize> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let runs = sorted.chunk_by(|a, b| a.total_cmp(b).is_eq());
    runs.map(<[f64]>::len).filter(|count| *count > 1).collect()
}

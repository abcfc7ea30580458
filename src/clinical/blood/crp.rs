//! CRP while an infection is treated.
//!
//! Common practice, no single source: CRP lags behind the illness by a day or so, peaks on the
//! second or third day and then halves about daily once treatment works. So a rise is no
//! failure on the first two days of treatment and a reason to look after that.

use crate::record::quantity::Decimal;
use crate::record::time::{Span, Timestamp};

/// How CRP went since treatment began.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CrpCourse {
    /// The highest value since then, and when; the earliest if it was reached twice.
    pub peak: (Timestamp, Decimal),
    /// The latest value, and when.
    pub latest: (Timestamp, Decimal),
    /// The latest is higher than the one before it.
    pub rising: bool,
    /// It is, and 48 hours of treatment are over: look for why.
    pub rising_on_treatment: bool,
}

impl CrpCourse {
    /// The latest value as a share of the peak, whole per cent, half up; for showing only.
    /// `None` if the peak is 0.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "0 to 100")]
    pub fn percent_of_peak(&self) -> Option<i32> {
        let peak = self.peak.1.to_f64();
        let share = (100.0 * self.latest.1.to_f64() / peak + 0.5).floor();
        (peak > 0.0).then_some(share as i32)
    }
}

/// The course of exact `values` (when the sample was taken, mg/L; any order) since treatment
/// began. Values before that, or after `as_of`, are left out; `None` with fewer than two.
#[must_use]
pub fn crp_course(
    values: &[(Timestamp, Decimal)],
    treated_from: Timestamp,
    as_of: Timestamp,
) -> Option<CrpCourse> {
    let mut values: Vec<(Timestamp, Decimal)> = values
        .iter()
        .copied()
        .filter(|(at, _)| (treated_from..=as_of).contains(at))
        .collect();
    values.sort_by_key(|(at, _)| *at);
    let [.., before, latest] = values.as_slice() else {
        return None;
    };
    let highest = |peak: (Timestamp, Decimal), next: &(Timestamp, Decimal)| {
        if next.1.compare(peak.1).is_gt() {
            *next
        } else {
            peak
        }
    };
    let rising = latest.1.compare(before.1).is_gt();
    let long_enough = latest.0.since(treated_from) >= Span::hours(48);
    Some(CrpCourse {
        peak: values.iter().fold(values[0], highest),
        latest: *latest,
        rising,
        rising_on_treatment: rising && long_enough,
    })
}

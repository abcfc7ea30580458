//! Trends against the patient's own usual: what is usual, how far from it, how fast, since when.
//!
//! A score compares everybody with the same table, so somebody can leave their own usual
//! range hours before a point is scored. Estimators: median and median absolute deviation,
//! Theil–Sen slope with Sen's 1968 confidence interval; checked against SciPy. The drift
//! detector is a one-sided cumulative sum (Page 1954) over robust deviations; its limits are
//! ours, and how late and how often wrong a look is asked for is measured in the tests and
//! stated in `docs/clinical.md`. Hints for a reader, never a reason to withhold an alert.

mod drift;
mod estimate;
mod sentence;
mod usual;

#[cfg(test)]
mod tests;

pub use drift::{Drift, Side};
pub use estimate::{Slope, mad, median, theil_sen};
pub use sentence::{Totals, Trend, assess, assess_by};
pub use usual::{Usual, usual, usual_by};

use crate::record::quantity::{
    Measure, PulsePerMin, RespRatePerMin, Spo2Percent, SystolicMmHg, TemperatureDeciC,
};
use crate::record::time::Timestamp;

/// To be shown beside a trend.
pub const CAUTION: &str =
    "Computed against the patient's own earlier readings: a hint to look, not a finding.";

/// One reading, in the smallest charted step of its sign (temperature in tenths).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sample {
    /// When it was taken.
    pub at: Timestamp,
    /// Its value.
    pub value: i32,
}

/// The vital signs that are trended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sign {
    /// Respiration rate.
    Rr,
    /// Oxygen saturation.
    Spo2,
    /// Systolic pressure.
    Sbp,
    /// Pulse.
    Hr,
    /// Body temperature. A wearable's skin temperature has its own series; never mix them.
    Temp,
}

impl Sign {
    /// All of them.
    pub const ALL: [Sign; 5] = [Sign::Rr, Sign::Spo2, Sign::Sbp, Sign::Hr, Sign::Temp];

    /// As people read it.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Sign::Rr => "RR",
            Sign::Spo2 => "SpO2",
            Sign::Sbp => "systolic",
            Sign::Hr => "HR",
            Sign::Temp => "temperature",
        }
    }

    /// As JSON carries it.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Sign::Rr => "rr",
            Sign::Spo2 => "spo2",
            Sign::Sbp => "sbp",
            Sign::Hr => "hr",
            Sign::Temp => "temp",
        }
    }

    /// Unit, limits and how a value is written.
    #[must_use]
    pub const fn measure(self) -> &'static Measure {
        match self {
            Sign::Rr => &RespRatePerMin::MEASURE,
            Sign::Spo2 => &Spo2Percent::MEASURE,
            Sign::Sbp => &SystolicMmHg::MEASURE,
            Sign::Hr => &PulsePerMin::MEASURE,
            Sign::Temp => &TemperatureDeciC::MEASURE,
        }
    }

    /// How many steps make one of its unit: 10 where a value has one decimal.
    #[must_use]
    pub fn steps_in_one(self) -> f64 {
        10_f64.powi(i32::try_from(self.measure().places).unwrap_or(0))
    }

    /// Smallest spread believed, in steps: the repeatability of one careful measurement. A few
    /// equal readings would otherwise make every next one look wild. Common practice, no source.
    const fn spread_min(self) -> f64 {
        match self {
            Sign::Rr => 1.5,
            Sign::Spo2 => 1.0,
            Sign::Sbp => 6.0,
            Sign::Hr => 4.0,
            Sign::Temp => 2.0,
        }
    }

    /// Lowest and highest value that scores nothing by NEWS2, in steps; saturation on scale 1.
    /// Somebody on scale 2 has a median below that, or a range well inside what scores nothing.
    const fn no_score(self) -> (f64, f64) {
        match self {
            Sign::Rr => (12.0, 20.0),
            Sign::Spo2 => (96.0, 100.0),
            Sign::Sbp => (111.0, 219.0),
            Sign::Hr => (51.0, 90.0),
            Sign::Temp => (361.0, 380.0),
        }
    }

    fn scores_nothing_at(self, steps: f64) -> bool {
        let (low, high) = self.no_score();
        (low..=high).contains(&steps)
    }

    /// Those of sorted `values` that score nothing.
    fn of_no_score(self, values: &[i32]) -> &[i32] {
        let (low, high) = self.no_score();
        let from = values.partition_point(|value| f64::from(*value) < low);
        let to = values.partition_point(|value| f64::from(*value) <= high);
        &values[from..to]
    }

    /// The side on which leaving the usual range is deterioration. Pressure rising and
    /// temperature falling do harm too, but slowly or rarely; they show in the sentence and in
    /// NEWS2, and watching every side of every sign would cry wolf twice as often.
    const fn watched(self) -> &'static [Side] {
        match self {
            Sign::Rr => &[Side::Above, Side::Below],
            Sign::Spo2 | Sign::Sbp => &[Side::Below],
            Sign::Hr | Sign::Temp => &[Side::Above],
        }
    }
}

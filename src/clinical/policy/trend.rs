//! What counts as a patient's usual, and over how long a slope is taken.

use super::{Key, Preset, Section, Values, independent, tenths};
use crate::record::time::Span;

const OURS: &str =
    "ours; how often it misleads is measured in docs/clinical.md for the default only";

const READINGS: Key = Key::whole(
    "trend.usual_readings",
    8,
    (4, 100),
    "readings",
    "A usual range takes so many readings over a day; until then none is shown.",
    OURS,
);

const SPREADS: Key = Key::number(
    "trend.usual_spreads",
    Preset::Number(tenths(20)),
    (tenths(10), tenths(40)),
    "robust standard deviations",
    "The usual range reaches so many spreads to either side of the median.",
    OURS,
);

const TIME_OF_DAY: Key = Key::flag(
    "trend.by_time_of_day",
    true,
    "From five days on, compare with the same quarter of the day where that has readings enough.",
    OURS,
);

const SLOPE_HOURS: Key = Key::whole(
    "trend.slope_hours",
    12,
    (2, 72),
    "hours",
    "The slope is taken over so many hours before the latest reading.",
    OURS,
);

const SLOPE_READINGS: Key = Key::whole(
    "trend.slope_readings",
    4,
    (4, 50),
    "readings",
    "A slope takes at least so many readings in that time.",
    OURS,
);

pub(super) const SECTION: Section = Section {
    name: "trend",
    about: "Trends against the patient's own usual",
    keys: &[
        &READINGS,
        &SPREADS,
        &TIME_OF_DAY,
        &SLOPE_HOURS,
        &SLOPE_READINGS,
    ],
    check: independent,
};

/// How a trend is taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Fewest readings of a usual range.
    pub usual_readings: usize,
    /// How many spreads it reaches to either side.
    pub usual_spreads: f64,
    /// Compare with the same quarter of the day.
    pub by_time_of_day: bool,
    /// The slope is taken over this long.
    pub slope_over: Span,
    /// And over so many readings at least.
    pub slope_readings: usize,
}

impl Default for Trend {
    fn default() -> Trend {
        Values::default().trend()
    }
}

impl Values {
    /// The section `trend`.
    #[must_use]
    pub fn trend(&self) -> Trend {
        Trend {
            usual_readings: self.count(&READINGS),
            usual_spreads: self
                .number_or(&SPREADS)
                .map_or(2.0, |number| number.to_f64()),
            by_time_of_day: self.flag(&TIME_OF_DAY),
            slope_over: self.hours(&SLOPE_HOURS),
            slope_readings: self.count(&SLOPE_READINGS),
        }
    }
}

//! Targets of blood pressure at home. Ranges and the signs that make a severe one a same-day
//! referral are published and no policy.

use super::values::{at_most, ordered};
use super::{Conflict, Key, Section, Values};
use crate::record::time::Span;

const TARGET: &str = "NICE NG136 1.4.22, home average";
const OURS: &str =
    "ours; NG136 1.5.1 asks for a repeat within 7 days of a severe one without signs";

macro_rules! target {
    ($name:literal, $preset:literal, $limits:expr, $whom:literal) => {
        Key::whole(
            concat!("pressure.target.", $name),
            $preset,
            $limits,
            "mmHg",
            concat!("The home average to stay under ", $whom, "."),
            TARGET,
        )
    };
}

const SYSTOLIC: Key = target!("systolic", 135, (100, 180), "systolic, under 80 years");
const DIASTOLIC: Key = target!("diastolic", 85, (50, 120), "diastolic, under 80 years");
const SYSTOLIC_80: Key = target!(
    "systolic_from_80",
    145,
    (100, 180),
    "systolic, at 80 years and over"
);
const DIASTOLIC_80: Key = target!(
    "diastolic_from_80",
    85,
    (50, 120),
    "diastolic, at 80 years and over"
);

const AFTER_RAISED: Key = Key::whole(
    "pressure.repeat_after_raised_minutes",
    1_440,
    (5, 10_080),
    "minutes",
    "A raised pressure is measured again within so many minutes.",
    OURS,
);

const AFTER_SEVERE: Key = Key::whole(
    "pressure.repeat_after_severe_minutes",
    60,
    (5, 10_080),
    "minutes",
    "A severe pressure without signs is measured again within so many minutes.",
    OURS,
);

pub(super) const SECTION: Section = Section {
    name: "pressure",
    about: "Blood pressure at home (the list of signs is fixed)",
    keys: &[
        &SYSTOLIC,
        &DIASTOLIC,
        &SYSTOLIC_80,
        &DIASTOLIC_80,
        &AFTER_RAISED,
        &AFTER_SEVERE,
    ],
    check,
};

fn check(values: &Values) -> Vec<Conflict> {
    [
        ordered(values, &DIASTOLIC, &SYSTOLIC),
        ordered(values, &DIASTOLIC_80, &SYSTOLIC_80),
        at_most(values, &AFTER_SEVERE, &AFTER_RAISED),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Targets and repeats.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pressure {
    /// To stay under, systolic and diastolic, mmHg, under 80 years.
    pub target: (i64, i64),
    /// The same from 80 years on.
    pub target_from_80: (i64, i64),
    /// A raised pressure is measured again within this.
    pub repeat_after_raised: Span,
    /// A severe one within this.
    pub repeat_after_severe: Span,
}

impl Pressure {
    /// The home average to stay under, mmHg, by age in years.
    #[must_use]
    pub const fn target_at(&self, age_years: u32) -> (i64, i64) {
        if age_years >= 80 {
            self.target_from_80
        } else {
            self.target
        }
    }
}

impl Values {
    /// The section `pressure`.
    #[must_use]
    pub fn pressure(&self) -> Pressure {
        Pressure {
            target: (self.whole(&SYSTOLIC), self.whole(&DIASTOLIC)),
            target_from_80: (self.whole(&SYSTOLIC_80), self.whole(&DIASTOLIC_80)),
            repeat_after_raised: self.minutes(&AFTER_RAISED),
            repeat_after_severe: self.minutes(&AFTER_SEVERE),
        }
    }
}

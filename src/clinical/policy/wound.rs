//! Four-week markers of wounds, and when a dressing is due by default.

use super::{Key, Section, Values, independent};
use crate::record::kind::wound::WoundType;

const DIABETIC: Key = Key::whole(
    "wound.four_weeks.diabetic_foot_ulcer_percent",
    50,
    (20, 90),
    "per cent of the first area",
    "A diabetic foot ulcer that is less than this much smaller after four weeks calls for a fresh look.",
    "Sheehan 2003 (midpoint 53 %; 50 % is its rounded consensus form)",
);

const VENOUS: Key = Key::whole(
    "wound.four_weeks.venous_leg_ulcer_percent",
    40,
    (20, 90),
    "per cent of the first area",
    "A venous leg ulcer that is less than this much smaller after four weeks calls for a fresh look.",
    "consensus wording; Phillips 2000 found 40 % by week 3",
);

pub(super) const SECTION: Section = Section {
    name: "wound",
    about: "Wounds",
    keys: &[&DIABETIC, &VENOUS],
    check: independent,
};

/// What is expected of wounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wound {
    diabetic_foot_ulcer: i64,
    venous_leg_ulcer: i64,
}

impl Wound {
    /// Least reduction of area at four weeks, per cent; most kinds of wound have none.
    #[must_use]
    pub const fn four_weeks_percent(&self, kind: WoundType) -> Option<i64> {
        match kind {
            WoundType::DiabeticFootUlcer => Some(self.diabetic_foot_ulcer),
            WoundType::VenousLegUlcer => Some(self.venous_leg_ulcer),
            _ => None,
        }
    }
}

impl Values {
    /// The section `wound`.
    #[must_use]
    pub fn wound(&self) -> Wound {
        Wound {
            diabetic_foot_ulcer: self.whole(&DIABETIC),
            venous_leg_ulcer: self.whole(&VENOUS),
        }
    }
}

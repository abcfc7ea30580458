//! Blood pressure: mean arterial pressure, pulse pressure, shock index, ranges, and the
//! average of measurements at home.
//!
//! Sources: NICE guideline NG136, *Hypertension in adults* (2019, as amended), for ranges,
//! home measurement, targets and same-day referral; Allgöwer and Burri 1967 for the shock
//! index (from memory); the mean-pressure formula is common practice. None of these
//! replaces NEWS2.

use crate::record::observed::PressureSign;

mod home;

#[cfg(test)]
mod tests;

pub use home::{
    Average, HOME_CAUTION, HOME_SOURCE, HomeAverage, HomeError, HomeNote, HomeReading, home_average,
};

/// To be shown beside a range.
pub const RANGE_CAUTION: &str =
    "A stage needs a clinic value and an average taken at home: one reading only lies in a range.";

/// One blood pressure: systolic above diastolic, both possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Pressure {
    sbp: i32,
    dbp: i32,
}

/// Why two numbers are no blood pressure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PressureError {
    /// Outside the hard limits (common practice, no source).
    #[error("{which} pressure {given} mmHg is not possible; accepted are {low} to {high}")]
    NotPossible {
        /// `systolic` or `diastolic`.
        which: &'static str,
        /// mmHg.
        given: i32,
        /// Smallest accepted.
        low: i32,
        /// Largest accepted.
        high: i32,
    },
    /// Systolic not above diastolic.
    #[error("systolic {sbp} must be above diastolic {dbp}; are they the wrong way round?")]
    WrongWayRound {
        /// mmHg.
        sbp: i32,
        /// mmHg.
        dbp: i32,
    },
    /// A pulse outside the hard limits.
    #[error("pulse {0} is not possible; accepted are 20 to 300")]
    Pulse(i32),
}

impl Pressure {
    /// A pressure in mmHg.
    ///
    /// # Errors
    /// [`PressureError`] outside 40–300 systolic or 20–200 diastolic, or systolic not above diastolic.
    pub fn new(sbp: i32, dbp: i32) -> Result<Pressure, PressureError> {
        for (which, given, low, high) in [("systolic", sbp, 40, 300), ("diastolic", dbp, 20, 200)] {
            if given < low || given > high {
                return Err(PressureError::NotPossible {
                    which,
                    given,
                    low,
                    high,
                });
            }
        }
        if sbp <= dbp {
            return Err(PressureError::WrongWayRound { sbp, dbp });
        }
        Ok(Pressure { sbp, dbp })
    }

    /// Systolic, mmHg.
    #[must_use]
    pub const fn sbp(self) -> i32 {
        self.sbp
    }

    /// Diastolic, mmHg.
    #[must_use]
    pub const fn dbp(self) -> i32 {
        self.dbp
    }

    /// Mean arterial pressure in thirds of a mmHg, exact: SBP + 2·DBP.
    #[must_use]
    pub const fn mean_in_thirds(self) -> i32 {
        self.sbp + 2 * self.dbp
    }

    /// Mean arterial pressure as shown, to the nearest whole mmHg. Compare limits with
    /// [`Pressure::mean_in_thirds`], never with this.
    #[must_use]
    pub const fn mean_shown(self) -> i32 {
        (2 * self.mean_in_thirds() + 3) / 6
    }

    /// Pulse pressure, mmHg.
    #[must_use]
    pub const fn pulse_pressure(self) -> i32 {
        self.sbp - self.dbp
    }

    /// Shock index, pulse ÷ SBP, in hundredths as shown, rounded half up.
    ///
    /// # Errors
    /// [`PressureError::Pulse`] outside 20–300.
    pub fn shock_index_in_hundredths(self, hr: i32) -> Result<i32, PressureError> {
        if !(20..=300).contains(&hr) {
            return Err(PressureError::Pulse(hr));
        }
        Ok((200 * hr + self.sbp) / (2 * self.sbp))
    }

    /// Whether the shock index is 0.9 or more, which is concerning (from memory: 0.5 to 0.7 is
    /// usual, 0.9 to 1.0 and over concerning), compared without dividing.
    #[must_use]
    pub const fn shock_index_is_concerning(self, hr: i32) -> bool {
        10 * hr >= 9 * self.sbp
    }

    /// Why the writer must confirm a possible pressure (common practice, no source).
    #[must_use]
    pub fn unusual(self) -> Option<&'static str> {
        match self.pulse_pressure() {
            ..15 => Some("systolic and diastolic are less than 15 mmHg apart"),
            121.. => Some("systolic and diastolic are more than 120 mmHg apart"),
            _ => None,
        }
    }
}

/// Where a pressure was measured, which decides its limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Setting {
    /// By staff, with the clinic limits.
    Clinic,
    /// By the patient at home, or ambulatory.
    Home,
}

/// The range a pressure lies in. Either number reaching its limit counts: "135/85 or
/// higher" does not say whether both must (our policy P4).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Range {
    /// Under 140/90 in clinic, under 135/85 at home.
    Below,
    /// From there to under stage 2.
    Stage1,
    /// From 160/100 in clinic, 150/95 at home.
    Stage2,
    /// Systolic 180 or diastolic 120 and over. NG136 defines it for clinic values only; a
    /// single value at home that high is no less alarming, so it is shown there too.
    Severe,
}

impl Range {
    /// The range of a pressure in whole mmHg.
    #[must_use]
    pub fn of(pressure: Pressure, setting: Setting) -> Range {
        Range::of_sums(i64::from(pressure.sbp), i64::from(pressure.dbp), 1, setting)
    }

    /// The range of the mean of `count` pressures, from their sums: exact, never rounded.
    fn of_sums(sbp: i64, dbp: i64, count: i64, setting: Setting) -> Range {
        let reaches = |s: i64, d: i64| sbp >= s * count || dbp >= d * count;
        let (stage_1, stage_2) = match setting {
            Setting::Clinic => ((140, 90), (160, 100)),
            Setting::Home => ((135, 85), (150, 95)),
        };
        if reaches(180, 120) {
            Range::Severe
        } else if reaches(stage_2.0, stage_2.1) {
            Range::Stage2
        } else if reaches(stage_1.0, stage_1.1) {
            Range::Stage1
        } else {
            Range::Below
        }
    }

    /// As JSON carries it.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Range::Below => "below",
            Range::Stage1 => "stage-1",
            Range::Stage2 => "stage-2",
            Range::Severe => "severe",
        }
    }

    /// As people read it.
    #[must_use]
    pub const fn text(self, setting: Setting) -> &'static str {
        match (self, setting) {
            (Range::Below, Setting::Clinic) => "below 140/90",
            (Range::Below, Setting::Home) => "below 135/85",
            (Range::Stage1, _) => "in the stage 1 range",
            (Range::Stage2, _) => "in the stage 2 range",
            (Range::Severe, _) => "in the severe range (180 systolic or 120 diastolic and over)",
        }
    }
}

/// Signs that turn a severe pressure into a same-day referral (NG136 1.5.2 and 1.5.3).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SevereSign {
    /// Retinal haemorrhage or papilloedema.
    Retina,
    /// New confusion.
    NewConfusion,
    /// Chest pain.
    ChestPain,
    /// Signs of heart failure.
    HeartFailure,
    /// Acute kidney injury.
    AcuteKidneyInjury,
    /// Suspected phaeochromocytoma.
    Phaeochromocytoma,
    /// Breathlessness: taken for a sign of heart failure until somebody looked. Ours.
    Breathless,
    /// Disturbed sight: taken for a sign of the retina until somebody looked. Ours.
    Sight,
}

impl SevereSign {
    /// As people read it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            SevereSign::Retina => "retinal haemorrhage or papilloedema",
            SevereSign::NewConfusion => "new confusion",
            SevereSign::ChestPain => "chest pain",
            SevereSign::HeartFailure => "signs of heart failure",
            SevereSign::AcuteKidneyInjury => "an AKI alert",
            SevereSign::Phaeochromocytoma => "suspected phaeochromocytoma",
            SevereSign::Breathless => "breathlessness",
            SevereSign::Sight => "disturbed sight",
        }
    }

    /// What was written down, as a sign. A headache is none by itself, and "none" is none.
    #[must_use]
    pub const fn of(written: PressureSign) -> Option<SevereSign> {
        match written {
            PressureSign::ChestPain => Some(SevereSign::ChestPain),
            PressureSign::Breathless => Some(SevereSign::Breathless),
            PressureSign::HeartFailure => Some(SevereSign::HeartFailure),
            PressureSign::Sight => Some(SevereSign::Sight),
            PressureSign::Retina => Some(SevereSign::Retina),
            PressureSign::Phaeochromocytoma => Some(SevereSign::Phaeochromocytoma),
            PressureSign::Headache | PressureSign::NoneFound => None,
        }
    }
}

/// What NG136 asks for at a pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SevereAction {
    /// Not in the severe range: nothing here.
    None,
    /// Severe, no sign: look for target-organ damage soon, see again within 7 days.
    InvestigateSoon,
    /// Severe with a sign: specialist assessment the same day.
    SameDay,
}

/// What a single pressure asks for, with the signs that were found (none known is no proof
/// that there are none).
#[must_use]
pub fn severe_action(pressure: Pressure, signs: &[SevereSign]) -> SevereAction {
    match (Range::of(pressure, Setting::Clinic), signs) {
        (Range::Severe, []) => SevereAction::InvestigateSoon,
        (Range::Severe, _) => SevereAction::SameDay,
        _ => SevereAction::None,
    }
}

/// Whether systolic pressure fell by 20 mmHg or more on standing (NG136 1.1.6).
#[must_use]
pub const fn postural_drop(lying_or_sitting: Pressure, standing: Pressure) -> bool {
    lying_or_sitting.sbp - standing.sbp >= 20
}

/// Whether the arms differ by more than 15 mmHg systolic (NG136 1.2.1): if they do again on
/// repeating, measure in the arm with the higher value from then on.
#[must_use]
pub const fn arms_differ(left: Pressure, right: Pressure) -> bool {
    (left.sbp - right.sbp).abs() > 15
}

/// The home-average target to stay under, mmHg, by age in years (NG136 1.4.22).
#[must_use]
pub const fn home_target(age_years: u32) -> (i32, i32) {
    if age_years >= 80 {
        (145, 85)
    } else {
        (135, 85)
    }
}

//! Wounds: area, volume, how fast they close, and what a wound record should hold.
//!
//! Sources: geometry for areas and volume; Ramanujan's approximation for the perimeter of an
//! ellipse; Gilman 1990 for linear healing; the four-week markers beside [`Marker`]. Lengths
//! are whole millimetres (cm to 0.1), so that reductions are compared exactly. A rectangle
//! overstates the area and a box the volume: name the method, and never mix two in one series.

mod dataset;
mod series;

#[cfg(test)]
mod tests;

use std::cmp::Ordering;
use std::f64::consts::PI;

pub use dataset::{ITEMS, ITEMS_LOOKED_AT, NOT_LOOKED_AT, missing_items};
pub use series::{CurvePoint, FourWeeks, curve, four_weeks};

use crate::record::kind::wound::{Infection, PressureCategory, WoundType};
use crate::record::quantity::LengthMm;

/// To be shown with what is computed of a wound.
pub const SOURCE: &str = "geometry; Ramanujan's perimeter; Gilman 1990; four-week markers: Sheehan 2003, Phillips 2000; IWII 2022; EPUAP 2019";
/// To be shown beside it.
pub const CAUTION: &str = "A rectangle overstates the area and a box the volume; a marker says when to reassess, never that a wound will not heal.";

/// How large a wound is. Both sides 0 is a healed wound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Size {
    length_mm: i32,
    width_mm: i32,
    depth_mm: Option<i32>,
}

/// Why numbers are no size of a wound.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SizeError {
    /// Outside 0 to 100 cm.
    #[error("{which} {} cm is not possible; accepted are 0 to 100 cm, to one decimal", cm(*given_mm))]
    NotPossible {
        /// `length`, `width` or `depth`.
        which: &'static str,
        /// Millimetres.
        given_mm: i32,
    },
    /// A side of 0 beside one that is not.
    #[error("length and width must both be 0 (healed) or both be more; check the one that is 0")]
    OneSideZero,
    /// Two measurements in the wrong order or at the same time.
    #[error("the later measurement must be at least a day after the earlier one")]
    NotLater,
    /// Nothing to compare with.
    #[error("the first measurement has no area, so there is no reduction to state")]
    NoFirstArea,
}

fn cm(mm: i32) -> String {
    let sign = if mm < 0 { "-" } else { "" };
    format!(
        "{sign}{}.{}",
        mm.unsigned_abs() / 10,
        mm.unsigned_abs() % 10
    )
}

impl Size {
    /// A size in millimetres.
    ///
    /// # Errors
    /// [`SizeError`] outside 0–1000 mm, or if only one side is 0.
    pub fn new(length_mm: i32, width_mm: i32, depth_mm: Option<i32>) -> Result<Size, SizeError> {
        let (low, high) = LengthMm::MEASURE.hard;
        let sides = [
            ("length", Some(length_mm)),
            ("width", Some(width_mm)),
            ("depth", depth_mm),
        ];
        for (which, given) in sides {
            if let Some(given_mm) = given.filter(|mm| *mm < low || *mm > high) {
                return Err(SizeError::NotPossible { which, given_mm });
            }
        }
        if (length_mm == 0) != (width_mm == 0) {
            return Err(SizeError::OneSideZero);
        }
        Ok(Size {
            length_mm,
            width_mm,
            depth_mm,
        })
    }

    /// Closed: no area left.
    #[must_use]
    pub const fn is_healed(self) -> bool {
        self.length_mm == 0
    }

    /// Rectangle, length × width, mm², exact. Divide by 100 for cm².
    #[must_use]
    pub fn rectangle_mm2(self) -> i64 {
        i64::from(self.length_mm) * i64::from(self.width_mm)
    }

    /// Ellipse, π/4 · length × width, cm².
    #[must_use]
    pub fn ellipse_cm2(self) -> f64 {
        PI / 4.0 * self.length_cm() * self.width_cm()
    }

    /// Box, length × width × depth, mm³, exact; `None` without a depth. Divide by 1000 for cm³.
    #[must_use]
    pub fn box_mm3(self) -> Option<i64> {
        self.depth_mm
            .map(|depth| self.rectangle_mm2() * i64::from(depth))
    }

    /// Perimeter of the ellipse, cm: π[3(a+b) − √((3a+b)(a+3b))], a and b half the sides.
    #[must_use]
    pub fn perimeter_cm(self) -> f64 {
        let (a, b) = (self.length_cm() / 2.0, self.width_cm() / 2.0);
        PI * (3.0 * (a + b) - ((3.0 * a + b) * (a + 3.0 * b)).sqrt())
    }

    fn length_cm(self) -> f64 {
        f64::from(self.length_mm) / 10.0
    }

    fn width_cm(self) -> f64 {
        f64::from(self.width_mm) / 10.0
    }
}

/// How much smaller an area became: exact, the same for rectangle and ellipse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reduction {
    before_mm2: i64,
    after_mm2: i64,
}

impl Reduction {
    /// From `before`, the first measurement of this episode (or since a stated restart, after
    /// debridement or merging), to `after`.
    ///
    /// # Errors
    /// [`SizeError::NoFirstArea`] if `before` has none.
    pub fn between(before: Size, after: Size) -> Result<Reduction, SizeError> {
        if before.is_healed() {
            return Err(SizeError::NoFirstArea);
        }
        Ok(Reduction {
            before_mm2: before.rectangle_mm2(),
            after_mm2: after.rectangle_mm2(),
        })
    }

    /// Percentage area reduction; negative if the wound grew. For showing only.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        reason = "areas are at most a million mm²"
    )]
    pub fn percent(self) -> f64 {
        100.0 * (self.before_mm2 - self.after_mm2) as f64 / self.before_mm2 as f64
    }

    /// The area is what it was.
    #[must_use]
    pub const fn is_none(self) -> bool {
        self.before_mm2 == self.after_mm2
    }

    /// Percentage area reduction to four decimals, cut off towards 0 and never rounded, so that
    /// no limit is shown as reached that is not.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most a hundred million")]
    pub fn percent_cut_off(self) -> f64 {
        self.cut_off(1_000_000) as f64 / 10_000.0
    }

    /// `40.0 % smaller`, `8.5 % larger`, `the same area`: one decimal, cut off both ways. The
    /// one wording for sheet and workings.
    #[must_use]
    pub fn shown(self) -> String {
        let way = match self.after_mm2.cmp(&self.before_mm2) {
            Ordering::Less => "smaller",
            Ordering::Equal => return "the same area".to_owned(),
            Ordering::Greater => "larger",
        };
        match self.cut_off(1000).abs() {
            0 => format!("less than 0.1 % {way}"),
            tenths => format!("{}.{} % {way}", tenths / 10, tenths % 10),
        }
    }

    /// The reduction as a share of `whole`, cut off towards 0.
    const fn cut_off(self, whole: i64) -> i64 {
        whole * (self.before_mm2 - self.after_mm2) / self.before_mm2
    }

    /// Whether the reduction is at least so many per cent, compared exactly.
    #[must_use]
    pub fn reaches(self, percent: u8) -> bool {
        100 * (self.before_mm2 - self.after_mm2) >= i64::from(percent) * self.before_mm2
    }
}

/// Linear healing (Gilman 1990), cm: how far the edge moved in, whatever the shape. The loss
/// of ellipse area over the mean of the two perimeters; negative if the wound grew, 0 if it
/// was healed both times.
#[must_use]
pub fn gilman_cm(before: Size, after: Size) -> f64 {
    let mean_perimeter = f64::midpoint(before.perimeter_cm(), after.perimeter_cm());
    if mean_perimeter == 0.0 {
        return 0.0;
    }
    (before.ellipse_cm2() - after.ellipse_cm2()) / mean_perimeter
}

/// [`gilman_cm`] a week, over `days` between the measurements.
///
/// # Errors
/// [`SizeError::NotLater`] under one day.
pub fn gilman_cm_per_week(before: Size, after: Size, days: u32) -> Result<f64, SizeError> {
    if days == 0 {
        return Err(SizeError::NotLater);
    }
    Ok(gilman_cm(before, after) * 7.0 / f64::from(days))
}

/// A published sign of good healing at four weeks, for one kind of wound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Marker {
    /// Least reduction of area, per cent.
    pub percent: u8,
    /// Where it comes from.
    pub source: &'static str,
}

impl Marker {
    /// The marker for a kind of wound; most kinds have none.
    #[must_use]
    pub const fn of(kind: WoundType) -> Option<Marker> {
        match kind {
            WoundType::DiabeticFootUlcer => Some(Marker {
                percent: 50,
                source: "Sheehan 2003 (midpoint 53 %; 50 % is its rounded consensus form)",
            }),
            WoundType::VenousLegUlcer => Some(Marker {
                percent: 40,
                source: "consensus wording; Phillips 2000 found 40 % by week 3",
            }),
            _ => None,
        }
    }

    /// What to say when it is not reached. Never "will not heal": half of those who reach a
    /// marker do not heal by 12 weeks, and some who miss it do.
    #[must_use]
    pub fn not_reached(self) -> String {
        format!(
            "less than {} % smaller at 4 weeks: reassess cause, infection, compression or offloading, and circulation; consider a specialist",
            self.percent
        )
    }
}

/// Whether signs of infection call for escalation now (IWII 2022: spreading or systemic).
#[must_use]
pub const fn escalate_for_infection(infection: Infection) -> bool {
    matches!(infection, Infection::Spreading | Infection::Systemic)
}

/// Whether a category seen now contradicts one seen before: a pressure ulcer is never staged
/// backwards, a healing category 4 stays "category 4, healing" (EPUAP/NPIAP/PPPIA 2019).
#[must_use]
pub fn is_reverse_staged(before: PressureCategory, now: PressureCategory) -> bool {
    let depth = |category| match category {
        PressureCategory::One => Some(1),
        PressureCategory::Two => Some(2),
        PressureCategory::Three => Some(3),
        PressureCategory::Four => Some(4),
        // Base hidden or skin unbroken: the depth is not known, so nothing contradicts it.
        PressureCategory::Unstageable | PressureCategory::DeepTissue => None,
    };
    depth(before)
        .zip(depth(now))
        .is_some_and(|(before, now)| now < before)
}

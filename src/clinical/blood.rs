//! Blood results: flags, critical values, change, and CRP under treatment.
//!
//! Sources: critical (telephone) limits from the Royal College of Pathologists, *The
//! communication of critical and unexpected pathology results*, G158, October 2017, chemistry
//! as quoted by a laboratory that adopted it and haematology from memory; typical ranges from
//! NHS England Pathology Harmony and laboratory handbooks, most from memory. Laboratories
//! differ: the laboratory's own range on the result always wins, and a ward's policy may
//! replace every limit here. A haemolysed or old sample is no result and must not come here.

mod crp;

#[cfg(test)]
mod tests;

use std::cmp::Ordering;

pub use crp::{CrpCourse, crp_course};

use crate::clinical::policy::{Blood, Values};
use crate::record::kind::episode::Sex;
use crate::record::kind::sample::{Analyte, Comparator, LabResult, ResultValue};
use crate::record::quantity::Decimal;

/// Of flags and critical values.
pub const SOURCE: &str =
    "the laboratory's own range; critical limits: RCPath G158 (2017), haematology from memory";
/// To be shown beside a flag that rests on the laboratory's range, or on none.
pub const CAUTION: &str = "Laboratories differ: the laboratory's own range and its call decide.";
/// To be shown beside a flag that rests on a typical range.
pub const TYPICAL_CAUTION: &str =
    "Typical adult range: this laboratory gave none with the result, and laboratories differ.";

/// A range; an open end has no limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Range {
    /// Lowest value within.
    pub low: Option<Decimal>,
    /// Highest value within, or the first above it.
    pub high: Option<Decimal>,
    /// `high` itself is above: "less than 5".
    pub high_is_above: bool,
}

/// Where a result lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Flag {
    /// Below the range.
    Low,
    /// Within it.
    Within,
    /// Above it.
    High,
    /// No range, or a result such as `<5` that could lie on either side of a limit.
    Unknown,
}

/// Whose range a flag rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RangeOwner {
    /// The laboratory's own, given with the result.
    Laboratory,
    /// The ward's policy, or the typical range it did not replace.
    Policy,
    /// Nobody gave one.
    Nobody,
}

/// Flags a result by the laboratory's range, or by the policy's if that is missing.
#[must_use]
pub fn flag(result: &ResultValue, policy: Option<Range>) -> (Flag, RangeOwner) {
    let own = Range {
        low: result.low,
        high: result.high,
        high_is_above: false,
    };
    let (range, owner) = match (own.low.or(own.high), policy) {
        (Some(_), _) => (own, RangeOwner::Laboratory),
        (None, Some(policy)) => (policy, RangeOwner::Policy),
        (None, None) => return (Flag::Unknown, RangeOwner::Nobody),
    };
    (place(result, range), owner)
}

fn place(result: &ResultValue, range: Range) -> Flag {
    let order = |limit: Option<Decimal>| limit.map(|limit| result.value.compare(limit));
    let (to_low, to_high) = (order(range.low), order(range.high));
    match result.comparator {
        Comparator::Exact if to_low == Some(Ordering::Less) => Flag::Low,
        Comparator::Exact if to_high == Some(Ordering::Greater) => Flag::High,
        Comparator::Exact if range.high_is_above && to_high == Some(Ordering::Equal) => Flag::High,
        Comparator::Exact => Flag::Within,
        // Strictly below a value that is no higher than the lower limit.
        Comparator::Below if to_low.is_some_and(Ordering::is_le) => Flag::Low,
        Comparator::Below if to_low.is_none() && to_high.is_some_and(Ordering::is_le) => {
            Flag::Within
        }
        Comparator::Above if to_high.is_some_and(Ordering::is_ge) => Flag::High,
        Comparator::Above if to_high.is_none() && to_low.is_some_and(Ordering::is_ge) => {
            Flag::Within
        }
        Comparator::Below | Comparator::Above => Flag::Unknown,
    }
}

/// A typical adult range, where the laboratory gave none; `None` where it differs too much
/// between laboratories, or depends on a sex that is not known. A ward's policy may have its own:
/// [`crate::clinical::policy::Blood::range`].
#[must_use]
pub fn typical_range(analyte: Analyte, sex: Sex) -> Option<Range> {
    Values::default().blood().range(analyte, sex)
}

/// One end of what is critical.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bound {
    /// The limit.
    pub limit: Decimal,
    /// A value equal to the limit is critical too.
    pub inclusive: bool,
}

/// Values that are told by voice at once, read back, and recorded at both ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Critical {
    /// Critical at or below.
    pub low: Option<Bound>,
    /// Critical at or above.
    pub high: Option<Bound>,
}

impl Critical {
    /// The published limits; neither end for a test without guidance (lactate, albumin, white
    /// cells, and ALT, whose limit is fifteen times the laboratory's own).
    #[must_use]
    pub fn published(analyte: Analyte) -> Critical {
        Values::default().blood().critical(analyte)
    }

    /// Whether a result is critical. `<20` and `>300` are so if every value they allow is.
    #[must_use]
    pub fn holds(&self, result: &ResultValue) -> bool {
        let reaches = |bound: Option<Bound>, beyond: Ordering, open: Comparator| {
            let Some(bound) = bound else { return false };
            let order = result.value.compare(bound.limit);
            match result.comparator {
                Comparator::Exact => order == beyond || bound.inclusive && order.is_eq(),
                // Strictly beyond the number, so reaching the limit is enough.
                comparator => comparator == open && (order == beyond || order.is_eq()),
            }
        };
        reaches(self.low, Ordering::Less, Comparator::Below)
            || reaches(self.high, Ordering::Greater, Comparator::Above)
    }
}

/// Whether ALT is critical: at least fifteen times the laboratory's upper limit, which must
/// have been given.
#[must_use]
pub fn alt_is_critical(result: &ResultValue) -> Option<bool> {
    if result.analyte != Analyte::Alt || result.comparator == Comparator::Below {
        return None;
    }
    let upper = result.high?;
    let limit = Decimal {
        mantissa: upper.mantissa.checked_mul(15)?,
        places: upper.places,
    };
    Some(result.value.compare(limit).is_ge())
}

/// Whether one value is critical by a ward's limits, or by the laboratory's own for ALT.
#[must_use]
pub fn value_is_critical(value: &ResultValue, limits: Blood<'_>) -> bool {
    limits.critical(value.analyte).holds(value) || alt_is_critical(value) == Some(true)
}

/// Whether a report is critical: the laboratory called it so, or one of its values is. Whether
/// its sample was fit does not matter here: what somebody must look at at once is not made
/// quiet by a doubt about it. Everything that says "critical" of a result asks here.
#[must_use]
pub fn is_critical(result: &LabResult, limits: Blood<'_>) -> bool {
    let by_value = |value| value_is_critical(value, limits);
    result.critical == Some(true) || result.values.iter().any(by_value)
}

/// What a result is more (or, negative, less) than an earlier one of the same test; `None` if
/// the tests differ, or one of the two is not an exact value.
#[must_use]
pub fn change(before: &ResultValue, now: &ResultValue) -> Option<Decimal> {
    let exact = |r: &ResultValue| r.comparator == Comparator::Exact;
    if before.analyte != now.analyte || !exact(before) || !exact(now) {
        return None;
    }
    let places = before.value.places.max(now.value.places);
    let scaled = |value: Decimal| {
        value
            .mantissa
            .checked_mul(10_i64.checked_pow(u32::from(places - value.places))?)
    };
    let mantissa = scaled(now.value)?.checked_sub(scaled(before.value)?)?;
    Some(Decimal { mantissa, places })
}

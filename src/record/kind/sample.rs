//! Samples and results. A result has five owners: taken, arrived, resulted, seen, acted on.

mod limits;

use std::cmp::Ordering;

pub use limits::Limits;

use serde::{Deserialize, Serialize};

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::field::{FieldValue, ReadContext, Shape, ShowContext};
use crate::record::ids::Seq;
use crate::record::moment::Due;
use crate::record::person::Handle;
use crate::record::problem::Problem;
use crate::record::quantity::Decimal;
use crate::record::text::{Line, Note};

fields! {
    /// A sample taken.
    Sample {
        /// What was taken: bloods, urine, swab.
        what: Line,
        /// Which tests were asked for.
        tests: Line,
        /// Where from: vein, line, wound number.
        site: Option<Line>,
        /// When a result is expected.
        result_by: Option<Due>,
        /// Who will look at the result.
        reviewer: Option<Handle>,
        /// The task it came from.
        source: Option<Seq>,
    }
}

impl CrossCheck for Sample {
    fn cross_check(&self, findings: &mut Findings) {
        if self.result_by.is_none() {
            findings.ask("result_by", "nothing says when a result should be there");
        }
    }
}

choices! {
    /// Where a sample is.
    SampleMove {
        Sent = "sent", "sent";
        Arrived = "arrived", "arrived at the laboratory";
        Rejected = "rejected", "rejected by the laboratory";
        Lost = "lost", "lost";
    }
}

fields! {
    /// What happened to a sample on its way.
    SampleStep {
        /// Which sample.
        sample: Seq,
        /// What happened.
        step: SampleMove,
        /// How it went or why it was rejected.
        detail: Option<Line>,
    }
}

impl CrossCheck for SampleStep {
    fn cross_check(&self, findings: &mut Findings) {
        if matches!(self.step, SampleMove::Rejected | SampleMove::Lost) && self.detail.is_none() {
            findings.refuse(
                "detail",
                "is missing",
                "why it was rejected, or how it was lost",
            );
        }
    }
}

choices! {
    /// Tests with a known unit; any other is named in words.
    Analyte {
        Crp = "crp", "CRP";
        WhiteCells = "wcc", "white cells", also "wbc";
        Neutrophils = "neut", "neutrophils", also "neutrophils";
        Haemoglobin = "hb", "haemoglobin", also "haemoglobin";
        Platelets = "plt", "platelets", also "platelets";
        Urea = "urea", "urea";
        Creatinine = "creat", "creatinine", also "cr" | "creatinine";
        Sodium = "na", "sodium", also "sodium";
        Potassium = "k", "potassium", also "potassium";
        Alt = "alt", "ALT";
        Albumin = "alb", "albumin", also "albumin";
        Lactate = "lactate", "lactate";
        Glucose = "glucose", "glucose";
    }
}

impl Analyte {
    /// The unit UK laboratories report it in (clinical reference, section 8).
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Analyte::Crp => "mg/L",
            Analyte::WhiteCells | Analyte::Neutrophils | Analyte::Platelets => "10⁹/L",
            Analyte::Haemoglobin | Analyte::Albumin => "g/L",
            Analyte::Creatinine => "µmol/L",
            Analyte::Alt => "U/L",
            Analyte::Urea
            | Analyte::Sodium
            | Analyte::Potassium
            | Analyte::Lactate
            | Analyte::Glucose => "mmol/L",
        }
    }
}

choices! {
    /// Whether a value is exact or beyond what the laboratory measures.
    Comparator {
        Exact = "exact", "exactly";
        Below = "below", "below";
        Above = "above", "above";
    }
}

/// One measured value, exactly as reported, with the laboratory's own range where it gave one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ResultValue {
    /// Which test.
    pub analyte: Analyte,
    /// `<5` and `>300` are reported as such.
    pub comparator: Comparator,
    /// The number as reported.
    pub value: Decimal,
    /// The laboratory's lower limit.
    pub low: Option<Decimal>,
    /// The laboratory's upper limit.
    pub high: Option<Decimal>,
}

impl ResultValue {
    /// Outside the laboratory's own range; `None` where it gave none, or where a result such
    /// as `<5` could lie on either side of a limit.
    #[must_use]
    pub fn is_outside_range(&self) -> Option<bool> {
        if self.low.is_none() && self.high.is_none() {
            return None;
        }
        let to = |limit: Option<Decimal>| limit.map(|limit| self.value.compare(limit));
        let (to_low, to_high) = (to(self.low), to(self.high));
        match self.comparator {
            Comparator::Exact => {
                let below = to_low.is_some_and(Ordering::is_lt);
                Some(below || to_high.is_some_and(Ordering::is_gt))
            }
            Comparator::Below if to_low.is_some_and(Ordering::is_le) && !self.starts_at_zero() => {
                Some(true)
            }
            // No result is below nothing, so `<5` is within a range that starts there.
            Comparator::Below if self.low.is_none() || self.starts_at_zero() => {
                to_high.and_then(|order| order.is_le().then_some(false))
            }
            Comparator::Above if to_high.is_some_and(Ordering::is_ge) => Some(true),
            Comparator::Above if self.high.is_none() => {
                to_low.and_then(|order| order.is_ge().then_some(false))
            }
            Comparator::Below | Comparator::Above => None,
        }
    }

    fn starts_at_zero(&self) -> bool {
        self.low.is_some_and(|low| low.mantissa <= 0)
    }
}

impl FieldValue for ResultValue {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str = "test value (range): crp 148 (0-5); k 4.1 (3.5-5.3); plt <20";
    const MANY: bool = true;

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        let (main, range) = match text.split_once('(') {
            None => (text, None),
            Some((main, range)) => (main, Some(range.trim_end().trim_end_matches(')'))),
        };
        let mut words = main.split_whitespace();
        let name = words.next().unwrap_or_default();
        let analyte = Analyte::from_code(name).ok_or_else(|| {
            let codes: Vec<&str> = Analyte::CHOICES.iter().map(|c| c.code).collect();
            Problem::new(format!("\"{name}\" is not a known test"), codes.join(", "))
        })?;
        let (comparator, value) = read_value(words.next().unwrap_or_default())
            .ok_or_else(|| Problem::new(format!("\"{text}\" has no number"), Self::HINT))?;
        check_unit(analyte, &words.collect::<Vec<_>>().join(" "))?;
        if let Some(problem) = analyte.limits().refuses(analyte, value) {
            return Err(problem);
        }
        let (low, high) = match range {
            None => (None, None),
            Some(range) => read_range(range)?,
        };
        Ok(ResultValue {
            analyte,
            comparator,
            value,
            low,
            high,
        })
    }

    fn show(&self, cx: &ShowContext) -> Option<String> {
        let flag = match self.is_outside_range() {
            Some(true) => " outside range",
            _ => "",
        };
        let typed = self.numbers();
        let _ = cx;
        Some(format!("{} {typed}{flag}", self.analyte.label()))
    }
    fn typed(&self, _: &ShowContext) -> Option<String> {
        Some(format!("{} {}", self.analyte.code(), self.numbers()))
    }
    fn unusual(&self) -> Option<String> {
        self.analyte.limits().asks(self.analyte, self.value)
    }
}

impl ResultValue {
    /// `<5 mg/L (0-5)`.
    #[must_use]
    pub fn numbers(&self) -> String {
        let mark = match self.comparator {
            Comparator::Exact => "",
            Comparator::Below => "<",
            Comparator::Above => ">",
        };
        let range = match (self.low, self.high) {
            (None, None) => String::new(),
            (Some(low), Some(high)) => format!(" ({low}-{high})"),
            (Some(low), None) => format!(" (>{low})"),
            (None, Some(high)) => format!(" (<{high})"),
        };
        format!("{mark}{} {}{range}", self.value, self.analyte.unit())
    }
}

fn read_value(text: &str) -> Option<(Comparator, Decimal)> {
    let (comparator, number) = match text.split_at_checked(1) {
        Some(("<", rest)) => (Comparator::Below, rest),
        Some((">", rest)) => (Comparator::Above, rest),
        _ => (Comparator::Exact, text),
    };
    Decimal::parse(number)
        .filter(|value| value.mantissa >= 0)
        .map(|value| (comparator, value))
}

fn check_unit(analyte: Analyte, unit: &str) -> Result<(), Problem> {
    let plain = |text: &str| {
        text.to_lowercase()
            .replace(['*', '^', ' '], "")
            .replace("10⁹", "109")
            .replace(['μ', 'µ'], "u")
    };
    if unit.is_empty() || plain(unit) == plain(analyte.unit()) {
        return Ok(());
    }
    let what = format!("\"{unit}\" is not the unit of {}", analyte.label());
    Err(Problem::new(
        what,
        format!("{}; values are never converted", analyte.unit()),
    ))
}

fn read_range(text: &str) -> Result<(Option<Decimal>, Option<Decimal>), Problem> {
    let text = text.trim();
    let wrong = || Problem::new(format!("\"{text}\" is no range"), "low-high, <high or >low");
    let number = |text: &str| Decimal::parse(text.trim()).ok_or_else(wrong);
    if let Some(high) = text.strip_prefix('<') {
        return Ok((None, Some(number(high)?)));
    }
    if let Some(low) = text.strip_prefix('>') {
        return Ok((Some(number(low)?), None));
    }
    let (low, high) = text.split_once('-').ok_or_else(wrong)?;
    let (low, high) = (number(low)?, number(high)?);
    if low.compare(high).is_gt() {
        Err(wrong())
    } else {
        Ok((Some(low), Some(high)))
    }
}

choices! {
    /// Whether the sample was fit to be measured.
    SampleQuality {
        Fit = "fit", "fit for testing";
        Haemolysed = "haemolysed", "haemolysed";
        Old = "old", "too old";
        Insufficient = "insufficient", "too little";
    }
}

fields! {
    /// What the laboratory reported.
    LabResult {
        /// The sample it belongs to.
        sample: Option<Seq>,
        /// Each value with its range: crp 148 (0-5); k 4.1 (3.5-5.3).
        values: Vec<ResultValue>,
        /// Result in words, for anything that is not a number.
        words: Option<Note>,
        /// Whether the sample was fit.
        quality: Option<SampleQuality>,
        /// The laboratory called it critical.
        critical: Option<bool>,
        /// Who phoned it through.
        phoned_by: Option<Line>,
        /// It was read back.
        read_back: Option<bool>,
    }
}

impl CrossCheck for LabResult {
    fn cross_check(&self, findings: &mut Findings) {
        if self.values.is_empty() && self.words.is_none() {
            findings.refuse("values", "no value is given", ResultValue::HINT);
        }
        let unfit = self
            .quality
            .is_some_and(|quality| quality != SampleQuality::Fit);
        if unfit
            && self
                .values
                .iter()
                .any(|value| value.analyte == Analyte::Potassium)
        {
            findings.refuse(
                "values",
                "a potassium from an unfit sample is not a result",
                "leave it out and ask for a repeat",
            );
        }
        if self.critical == Some(true) && self.read_back != Some(true) {
            findings.ask("read_back", "a critical result that was not read back");
        }
    }
}

choices! {
    /// What was decided about a result.
    ResultDecision {
        NoneNeeded = "none-needed", "seen, nothing to do";
        Acted = "acted", "acted on";
        Repeat = "repeat", "to be repeated";
        Escalated = "escalated", "escalated";
    }
}

fields! {
    /// Somebody looked at a result and decided.
    ResultReview {
        /// Which result.
        result: Seq,
        /// What was decided.
        decision: ResultDecision,
        /// What was made of it and done.
        action: Option<Note>,
        /// When it is to be repeated.
        repeat_by: Option<Due>,
    }
}

impl CrossCheck for ResultReview {
    fn cross_check(&self, findings: &mut Findings) {
        if self.decision == ResultDecision::Acted && self.action.is_none() {
            findings.refuse("action", "is missing", "what was done");
        }
        if self.decision == ResultDecision::Repeat && self.repeat_by.is_none() {
            findings.refuse("repeat_by", "is missing", "when, e.g. tomorrow 09:00");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From the meaning of the words alone: `<5` is any value below 5 and not below 0.
    #[test]
    fn a_value_beyond_what_is_measured_is_outside_only_where_that_is_certain() {
        let cx = ReadContext {
            now: crate::record::time::Timestamp(0),
            zone: crate::record::time::WardZone::LONDON,
        };
        for (typed, outside) in [
            ("crp 5 (0-5)", Some(false)),
            ("crp 5.1 (0-5)", Some(true)),
            ("crp >300 (0-5)", Some(true)),
            ("crp >5 (0-5)", Some(true)),
            ("crp <5 (0-5)", Some(false)),
            ("crp <6 (0-5)", None),
            ("plt <20 (150-400)", Some(true)),
            ("plt <150 (150-400)", Some(true)),
            ("plt <200 (150-400)", None),
            ("plt >200 (150-400)", None),
            ("plt >200 (>150)", Some(false)),
            ("lactate <1 (<2)", Some(false)),
            ("k 4.1", None),
        ] {
            let value = ResultValue::read(typed, &cx).expect(typed);
            assert_eq!(value.is_outside_range(), outside, "{typed}");
        }
    }
}

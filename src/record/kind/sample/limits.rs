//! What a laboratory can report of each test: beyond the *hard* limits a number is physically
//! impossible or in another unit and is refused; beyond the *ask* limits it is possible and so
//! rare that the writer confirms it.
//!
//! Common practice, no source: the clinical reference gives ranges and critical limits, none of
//! these. They are wide on purpose. Nothing is clamped and nothing converted.

use super::Analyte;
use crate::record::problem::Problem;
use crate::record::quantity::Decimal;

/// Limits of one test in its unit, both ends accepted without a question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Refused outside.
    pub hard: (Decimal, Decimal),
    /// Asked about outside.
    pub ask: (Decimal, Decimal),
    /// The other unit a number outside is probably in.
    pub other_unit: Option<&'static str>,
}

const fn whole(number: i64) -> Decimal {
    tenths(number * 10)
}

const fn tenths(number: i64) -> Decimal {
    Decimal {
        mantissa: number,
        places: 1,
    }
}

impl Analyte {
    /// What of this test is possible, and what is asked about.
    #[must_use]
    #[rustfmt::skip] // one line a test, so that it reads as the table it is
    pub const fn limits(self) -> Limits {
        const CELLS: Option<&str> = Some("cells/µL is a thousand times the number: ask for 10⁹/L");
        const PER_DL: Option<&str> = Some("a number ten times too small is probably in g/dL: ask for g/L");
        const MG_DL: Option<&str> = Some("it may be in mg/dL: ask for mmol/L");
        let (hard, ask, other_unit) = match self {
            Analyte::Crp         => ((whole(0), whole(1_000)),    (whole(0), whole(600)),     None),
            Analyte::WhiteCells  => ((whole(0), whole(1_000)),    (tenths(5), whole(100)),    CELLS),
            Analyte::Neutrophils => ((whole(0), whole(500)),      (tenths(2), whole(75)),     CELLS),
            Analyte::Haemoglobin => ((whole(20), whole(300)),     (whole(50), whole(220)),    PER_DL),
            Analyte::Platelets   => ((whole(0), whole(6_000)),    (whole(10), whole(1_500)),  CELLS),
            Analyte::Urea        => ((tenths(1), whole(150)),     (whole(1), whole(60)),      MG_DL),
            Analyte::Creatinine  => ((whole(5), whole(5_000)),    (whole(20), whole(1_500)),  Some("a number near 1 is probably in mg/dL: ask for µmol/L")),
            Analyte::Sodium      => ((whole(80), whole(220)),     (whole(110), whole(170)),   None),
            Analyte::Potassium   => ((tenths(5), whole(20)),      (whole(2), whole(8)),       Some("check the decimal point: 45 may be 4.5")),
            Analyte::Alt         => ((whole(0), whole(50_000)),   (whole(0), whole(5_000)),   None),
            Analyte::Albumin     => ((whole(6), whole(100)),      (whole(10), whole(60)),     PER_DL),
            Analyte::Lactate     => ((whole(0), whole(50)),       (tenths(2), whole(20)),     MG_DL),
            Analyte::Glucose     => ((tenths(1), whole(150)),     (whole(2), whole(50)),      MG_DL),
        };
        Limits { hard, ask, other_unit }
    }
}

impl Limits {
    /// Why a value is not possible, and what would be.
    #[must_use]
    pub fn refuses(self, analyte: Analyte, value: Decimal) -> Option<Problem> {
        is_outside(self.hard, value).then(|| {
            Problem::new(
                format!(
                    "{} {value} {} is not possible",
                    analyte.label(),
                    analyte.unit()
                ),
                format!("{}{}", between(self.hard, analyte), self.hint()),
            )
        })
    }

    /// Why the writer must confirm a possible value.
    #[must_use]
    pub fn asks(self, analyte: Analyte, value: Decimal) -> Option<String> {
        is_outside(self.ask, value).then(|| {
            format!(
                "{} {value} {} is outside {}, beyond which it is asked about{}",
                analyte.label(),
                analyte.unit(),
                between(self.ask, analyte),
                self.hint()
            )
        })
    }

    fn hint(self) -> String {
        self.other_unit
            .map_or(String::new(), |unit| format!(" ({unit})"))
    }
}

fn is_outside((low, high): (Decimal, Decimal), value: Decimal) -> bool {
    value.compare(low).is_lt() || value.compare(high).is_gt()
}

fn between((low, high): (Decimal, Decimal), analyte: Analyte) -> String {
    format!("{} to {} {}", low.plain(), high.plain(), analyte.unit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::field::{FieldValue, ReadContext};
    use crate::record::kind::sample::ResultValue;

    fn read(text: &str) -> Result<Option<String>, String> {
        let cx = ReadContext {
            now: crate::record::time::Timestamp(0),
            zone: crate::record::time::WardZone::LONDON,
        };
        match ResultValue::read(text, &cx) {
            Ok(value) => Ok(value.unusual()),
            Err(problem) => Err(format!("{}; {}", problem.what, problem.accepted)),
        }
    }

    /// Every limit on both sides, by a thousandth.
    #[test]
    fn every_limit_holds_on_both_sides() {
        for analyte in Analyte::ALL {
            let limits = analyte.limits();
            let by = |limit: Decimal, thousandths: i64| {
                let mantissa = limit.mantissa * 100 + thousandths;
                let sign = if mantissa < 0 { "-" } else { "" };
                let digits = mantissa.unsigned_abs();
                let number = format!("{sign}{}.{:03}", digits / 1000, digits % 1000);
                read(&format!("{} {number}", analyte.code()))
            };
            assert!(by(limits.hard.0, -1).is_err(), "{analyte:?}");
            assert!(by(limits.hard.0, 0).is_ok(), "{analyte:?}");
            assert!(by(limits.hard.1, 0).is_ok(), "{analyte:?}");
            assert!(by(limits.hard.1, 1).is_err(), "{analyte:?}");
            assert_eq!(by(limits.ask.0, 0), Ok(None), "{analyte:?}");
            assert_eq!(by(limits.ask.1, 0), Ok(None), "{analyte:?}");
            assert!(matches!(by(limits.ask.1, 1), Ok(Some(_))), "{analyte:?}");
            let under = by(limits.ask.0, -1);
            assert!(!matches!(under, Ok(None)), "{analyte:?}: {under:?}");
        }
    }

    /// The reviewer's three: creatinine in mg/dL, haemoglobin in g/dL, a lost decimal point.
    #[test]
    fn another_unit_is_refused_with_its_name() {
        for (typed, hint) in [
            ("creat 1.1", "mg/dL"),
            ("hb 14.0", "g/dL"),
            ("alb 4.2", "g/dL"),
            ("k 45", "4.5"),
            ("wcc 11000", "cells/µL"),
        ] {
            let said = read(typed).expect_err(typed);
            assert!(
                said.contains(hint) && said.contains("not possible"),
                "{said}"
            );
        }
        let asked = read("glucose 90").expect("possible").expect("asked about");
        assert!(
            asked.contains("mg/dL") && asked.contains("2 to 50 mmol/L"),
            "{asked}"
        );
    }

    /// No critical or typical value is asked about, or every one of them would be.
    #[test]
    fn what_is_critical_is_still_taken_without_a_question() {
        for typed in [
            "na 120",
            "na 160",
            "k 2.5",
            "k 6.5",
            "urea 30",
            "creat 354",
            "glucose 25",
            "crp 300",
            "hb 69",
            "neut 0.4",
            "plt 29",
            "plt 1001",
            "plt <20",
            "crp <5",
            "creat >1000",
        ] {
            assert_eq!(read(typed), Ok(None), "{typed}");
        }
    }
}

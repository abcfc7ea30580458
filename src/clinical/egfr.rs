//! Estimated glomerular filtration rate by the two CKD-EPI creatinine equations.
//!
//! Sources: Levey and others 2009 (here without its race term, the United Kingdom's use by
//! NICE NG203 and the UK Kidney Association) and Inker and others 2021 (United States). The
//! two differ by several mL/min, so every output names its equation. Not valid while
//! creatinine is changing (AKI), in pregnancy, after amputation or at extremes of muscle; not
//! for dosing high-risk medicines, for which the MHRA asks for creatinine clearance.

use crate::clinical::creatinine::Creatinine;
use crate::record::kind::episode::Sex;

/// To be shown beside every estimate.
pub const CAUTION: &str = "Not valid in AKI or while creatinine is changing, in pregnancy, after amputation or at extremes of muscle; not for dosing high-risk medicines.";

/// Which equation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Equation {
    /// CKD-EPI 2009 without its race term: the United Kingdom's.
    CkdEpi2009,
    /// CKD-EPI 2021: the United States'.
    CkdEpi2021,
}

impl Equation {
    /// As people read it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Equation::CkdEpi2009 => "CKD-EPI 2009 without ethnicity",
            Equation::CkdEpi2021 => "CKD-EPI 2021",
        }
    }

    /// Constant, α women, α men, exponent above κ, age base, factor for women.
    const fn terms(self) -> [f64; 6] {
        match self {
            Equation::CkdEpi2009 => [141.0, -0.329, -0.411, -1.209, 0.993, 1.018],
            Equation::CkdEpi2021 => [142.0, -0.241, -0.302, -1.200, 0.9938, 1.012],
        }
    }
}

/// Why there is no estimate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum EgfrError {
    /// Under 18, or no possible age.
    #[error("age {0} is outside 18 to 120 years, for which the equations are meant")]
    Age(u32),
    /// Sex neither male nor female, or not known.
    #[error(
        "the equations have a form for women and one for men only; say which is meant (f or m)"
    )]
    Sex,
}

/// An estimate and its equation, in mL/min/1.73 m².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Egfr {
    /// Which equation.
    pub equation: Equation,
    /// The estimate, unrounded. For showing and comparing, not for storing.
    pub value: f64,
}

impl Egfr {
    /// As a United Kingdom laboratory reports it: whole, half up, and above 90 as `>90`
    /// (from memory).
    #[must_use]
    pub fn reported(&self) -> String {
        let whole = self.whole();
        if self.value > 90.0 {
            ">90".to_owned()
        } else {
            whole.to_string()
        }
    }

    /// To the nearest whole number, half up.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "between 0 and about 400")]
    pub fn whole(&self) -> i32 {
        (self.value + 0.5).floor() as i32
    }
}

/// Estimates by one equation.
///
/// # Errors
/// [`EgfrError`] where the equation is not meant for this person.
pub fn egfr(
    equation: Equation,
    creatinine: Creatinine,
    age_years: u32,
    sex: Sex,
) -> Result<Egfr, EgfrError> {
    let female = match sex {
        Sex::Female => true,
        Sex::Male => false,
        Sex::Other | Sex::NotKnown | Sex::NotSpecified | Sex::Indeterminate => {
            return Err(EgfrError::Sex);
        }
    };
    if !(18..=120).contains(&age_years) {
        return Err(EgfrError::Age(age_years));
    }
    let [constant, alpha_women, alpha_men, exponent, age_base, women] = equation.terms();
    let (kappa, alpha, factor) = if female {
        (0.7, alpha_women, women)
    } else {
        (0.9, alpha_men, 1.0)
    };
    let ratio = creatinine.mg_per_dl() / kappa;
    let value = constant
        * ratio.min(1.0).powf(alpha)
        * ratio.max(1.0).powf(exponent)
        * age_base.powf(f64::from(age_years))
        * factor;
    Ok(Egfr { equation, value })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const W6: &str = include_str!("../../tests/vectors/egfr.psv");

    fn creatinine(value: i32) -> Creatinine {
        Creatinine::from_micromol_per_l(value).expect("possible")
    }

    #[test]
    fn w6_every_row() {
        let mut seen = 0;
        for line in W6
            .lines()
            .filter(|line| !line.starts_with('#') && !line.is_empty())
        {
            let cell: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
            let number = |at: usize| cell[at].parse::<f64>().expect("a number");
            let value = creatinine(cell[0].parse().expect("µmol/L"));
            let age = cell[2].parse().expect("years");
            let sex = Sex::from_code(cell[3]).expect("f or m");
            assert!((value.mg_per_dl() - number(1)).abs() < 0.0001, "{line}");
            for (equation, at) in [(Equation::CkdEpi2009, 4), (Equation::CkdEpi2021, 6)] {
                let egfr = egfr(equation, value, age, sex).expect("an adult");
                assert!(
                    (egfr.value - number(at)).abs() < 0.001,
                    "{line}: {}",
                    egfr.value
                );
                assert_eq!(egfr.whole().to_string(), cell[at + 1], "{line}");
            }
            seen += 1;
        }
        assert_eq!(seen, 15);
    }

    #[test]
    fn where_there_is_no_estimate_it_says_why() {
        let of = |age, sex| egfr(Equation::CkdEpi2009, creatinine(80), age, sex);
        assert_eq!(of(17, Sex::Male), Err(EgfrError::Age(17)));
        assert!(of(18, Sex::Male).is_ok() && of(120, Sex::Male).is_ok());
        assert_eq!(of(121, Sex::Male), Err(EgfrError::Age(121)));
        for sex in [
            Sex::Other,
            Sex::NotKnown,
            Sex::NotSpecified,
            Sex::Indeterminate,
        ] {
            assert_eq!(of(50, sex), Err(EgfrError::Sex));
        }
        assert_eq!(
            of(50, Sex::Male).map(|e| e.reported()),
            Ok(">90".to_owned())
        );
        assert_eq!(
            of(50, Sex::Female).map(|e| e.reported()),
            Ok("74".to_owned())
        );
    }

    proptest! {
        /// More creatinine and more years never give a higher estimate.
        #[test]
        fn falls_with_creatinine_and_age(value in 5_i32..4000, more in 0_i32..1000, age in 18_u32..100, older in 0_u32..20) {
            for equation in [Equation::CkdEpi2009, Equation::CkdEpi2021] {
                for sex in [Sex::Female, Sex::Male] {
                    let of = |v, a| egfr(equation, creatinine(v), a, sex).expect("an adult").value;
                    prop_assert!(of(value + more, age) <= of(value, age));
                    prop_assert!(of(value, age + older) <= of(value, age));
                }
            }
        }
    }
}

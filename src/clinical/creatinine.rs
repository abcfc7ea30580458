//! Serum creatinine, exactly as reported.

use crate::record::kind::sample::Analyte;
use crate::record::quantity::Decimal;

/// Creatinine in thousandths of a µmol/L, so that no threshold meets a rounded value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Creatinine(pub(in crate::clinical) i64);

/// Why a number is no creatinine.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CreatinineError {
    /// Outside 5 to 5,000 µmol/L (ours: no published limits).
    #[error(
        "creatinine {given} µmol/L is not possible; accepted are 5 to 5,000 (a value near 1 is probably in mg/dL: ask for µmol/L)"
    )]
    NotPossible {
        /// As given.
        given: String,
    },
    /// More than three decimals.
    #[error(
        "creatinine {given} µmol/L is finer than any laboratory reports; give the reported value"
    )]
    TooFine {
        /// As given.
        given: String,
    },
}

impl Creatinine {
    /// As the laboratory reported it, in µmol/L.
    ///
    /// # Errors
    /// [`CreatinineError`].
    pub fn from_reported(value: Decimal) -> Result<Creatinine, CreatinineError> {
        let given = value.plain();
        let places = u32::from(value.places);
        let thousandths = match places {
            0..=3 => value.mantissa.checked_mul(10_i64.pow(3 - places)),
            _ if value.mantissa % 10_i64.pow(places - 3) == 0 => {
                Some(value.mantissa / 10_i64.pow(places - 3))
            }
            _ => return Err(CreatinineError::TooFine { given }),
        };
        // One table says what is possible: an entry and a calculator accept the same.
        let refused = Analyte::Creatinine
            .limits()
            .refuses(Analyte::Creatinine, value);
        match (thousandths, refused) {
            (Some(n), None) => Ok(Creatinine(n)),
            _ => Err(CreatinineError::NotPossible { given }),
        }
    }

    /// From whole µmol/L.
    ///
    /// # Errors
    /// [`CreatinineError`].
    pub fn from_micromol_per_l(value: i32) -> Result<Creatinine, CreatinineError> {
        Creatinine::from_reported(Decimal {
            mantissa: i64::from(value),
            places: 0,
        })
    }

    /// Thousandths of a µmol/L (nmol/L).
    #[must_use]
    pub const fn nanomol_per_l(self) -> i64 {
        self.0
    }

    /// mg/dL, for equations written in it: µmol/L ÷ 88.4.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most seven digits")]
    pub fn mg_per_dl(self) -> f64 {
        self.0 as f64 / 1000.0 / 88.4
    }

    /// µmol/L as people read it.
    #[must_use]
    pub fn shown(self) -> String {
        Decimal {
            mantissa: self.0,
            places: 3,
        }
        .plain()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reported_values_are_kept_exactly() {
        let read = |text: &str| {
            let value = Decimal::parse(text).expect("a decimal");
            Creatinine::from_reported(value)
                .map(Creatinine::shown)
                .map_err(|e| e.to_string())
        };
        assert_eq!(read("120"), Ok("120".to_owned()));
        assert_eq!(read("120.50"), Ok("120.5".to_owned()));
        assert_eq!(read("120.5000"), Ok("120.5".to_owned()));
        assert!(read("120.0005").expect_err("too fine").contains("finer"));
        assert!(read("1.2").expect_err("mg/dL").contains("mg/dL"));
        assert!(read("4.999").is_err() && read("5").is_ok());
        assert!(read("5000").is_ok() && read("5000.001").is_err() && read("-90").is_err());
        let top = Creatinine::from_reported(Decimal {
            mantissa: i64::MAX,
            places: 0,
        });
        assert!(top.is_err());
    }

    proptest::proptest! {
        /// µmol/L to mg/dL and back is the same µmol/L.
        #[test]
        fn units_round_trip(value in 5_i32..=5000) {
            let mg = Creatinine::from_micromol_per_l(value).expect("possible").mg_per_dl();
            proptest::prop_assert!((mg * 88.4 - f64::from(value)).abs() < 1e-9);
        }
    }
}

//! The NHS number: ten digits, the last a modulus-11 check digit.
//!
//! Source: NHS Connecting for Health, `tech_nn_check_digit.pdf` (as quoted in the clinical
//! reference, section 4). Its arithmetic says nothing about whose number it is.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::field::{FieldValue, ReadContext, Shape, ShowContext};
use super::problem::Problem;

/// A number whose check digit is right. Whether it was traced to this person is another fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct NhsNumber(u64);

/// Why ten digits are no NHS number.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NhsNumberError {
    /// Something other than digits, spaces and hyphens.
    #[error("an NHS number has only digits, and \"{0}\" is not one")]
    NotADigit(char),
    /// Not ten digits.
    #[error("an NHS number has 10 digits; this has {0}")]
    Length(usize),
    /// The first nine digits have no check digit at all, so nobody was ever issued them.
    #[error("no NHS number begins with these nine digits (the check digit would be 10)")]
    NoCheckDigit,
    /// The last digit is wrong: one digit mistyped, or two swapped.
    #[error("the last digit should be {expected}, not {actual}: a digit is mistyped or swapped")]
    CheckDigit {
        /// What the first nine digits demand.
        expected: u8,
        /// What was given.
        actual: u8,
    },
    /// All ten digits alike: passes the arithmetic, refused by our policy (reference P5).
    #[error("ten equal digits are not accepted as an NHS number")]
    AllEqual,
}

impl NhsNumber {
    /// Reads ten digits for the record; spaces and hyphens between them are dropped.
    ///
    /// # Errors
    /// Says which rule the text breaks, ten equal digits included.
    pub fn read(text: &str) -> Result<NhsNumber, NhsNumberError> {
        let number = NhsNumber::by_arithmetic(text)?;
        if number.is_all_equal() {
            return Err(NhsNumberError::AllEqual);
        }
        Ok(number)
    }

    /// The published arithmetic alone, for whoever asks only that: ten equal digits may pass.
    ///
    /// # Errors
    /// Says which rule the text breaks.
    pub fn by_arithmetic(text: &str) -> Result<NhsNumber, NhsNumberError> {
        let mut digits = Vec::with_capacity(10);
        for c in text.chars().filter(|c| !matches!(c, ' ' | '-')) {
            let digit = c.to_digit(10).ok_or(NhsNumberError::NotADigit(c))?;
            digits.push(u8::try_from(digit).unwrap_or(0));
        }
        if digits.len() != 10 {
            return Err(NhsNumberError::Length(digits.len()));
        }
        let expected = check_digit(&digits).ok_or(NhsNumberError::NoCheckDigit)?;
        if digits[9] != expected {
            return Err(NhsNumberError::CheckDigit {
                expected,
                actual: digits[9],
            });
        }
        Ok(NhsNumber(
            digits.iter().fold(0, |n, d| n * 10 + u64::from(*d)),
        ))
    }

    /// Ten equal digits: refused in entry though they pass the arithmetic (reference P5).
    #[must_use]
    pub const fn is_all_equal(self) -> bool {
        self.0.is_multiple_of(1_111_111_111)
    }

    /// In the range 999 000 0000 to 999 999 9999, which is kept for tests and never issued.
    #[must_use]
    pub const fn is_reserved_for_tests(self) -> bool {
        self.0 >= 9_990_000_000
    }
}

/// The check digit of the first nine digits; `None` where it would be 10.
fn check_digit(digits: &[u8]) -> Option<u8> {
    let sum: u32 = digits
        .iter()
        .take(9)
        .zip((2..=10).rev())
        .map(|(d, w)| u32::from(*d) * w)
        .sum();
    match 11 - sum % 11 {
        11 => Some(0),
        10 => None,
        digit => u8::try_from(digit).ok(),
    }
}

impl fmt::Display for NhsNumber {
    /// 3-3-4, single spaces (NHS Common User Interface guidance NUM-0001).
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (a, b, c) = (self.0 / 10_000_000, self.0 / 10_000 % 1000, self.0 % 10_000);
        write!(f, "{a:03} {b:03} {c:04}")
    }
}

impl FieldValue for NhsNumber {
    const SHAPE: Shape = Shape::Structured;
    const HINT: &'static str = "10 digits, spaces allowed, e.g. 999 000 0018";

    fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
        NhsNumber::read(text).map_err(|error| Problem::new(error.to_string(), Self::HINT))
    }
    fn show(&self, _: &ShowContext) -> Option<String> {
        Some(self.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Clinical reference W4; the first is the specimen worked in the published algorithm.
    #[test]
    fn published_specimen_and_worked_cases() {
        for (text, shown) in [
            ("9434765919", "943 476 5919"),
            ("9990000018", "999 000 0018"),
            ("999-999-9980", "999 999 9980"),
            ("999 160 0426", "999 160 0426"),
        ] {
            assert_eq!(
                NhsNumber::read(text).map(|n| n.to_string()),
                Ok(shown.to_owned())
            );
        }
        let wrong = |text| NhsNumber::read(text).unwrap_err();
        assert_eq!(wrong("9991234567"), NhsNumberError::NoCheckDigit);
        assert_eq!(
            wrong("9995554443"),
            NhsNumberError::CheckDigit {
                expected: 5,
                actual: 3
            }
        );
        assert_eq!(wrong("999123456"), NhsNumberError::Length(9));
        assert_eq!(wrong("99912345600"), NhsNumberError::Length(11));
        assert_eq!(wrong("4444444444"), NhsNumberError::AllEqual);
        assert_eq!(wrong("99900O0018"), NhsNumberError::NotADigit('O'));
    }

    /// Clinical reference W4, every row: first nine digits, their check digit, the digit given.
    #[test]
    fn w4_every_row() {
        for (text, expected) in [
            ("9990000018", Some(8)),
            ("9990000026", Some(6)),
            ("9990000034", Some(4)),
            ("9991234567", None),
            ("9991234560", None),
            ("9995554443", Some(5)),
            ("9990000115", Some(5)),
            ("9990001235", Some(5)),
            ("9998887776", Some(1)),
            ("9999999999", Some(9)),
            ("9999999980", Some(0)),
            ("9990000042", Some(2)),
            ("9990000069", Some(9)),
            ("9991000003", Some(3)),
            ("9991100075", Some(5)),
            ("9991200142", Some(2)),
            ("9991400281", Some(1)),
            ("9991500359", Some(9)),
            ("9991600426", Some(6)),
            ("9991300210", None),
            ("9992100770", None),
            ("9994502450", None),
        ] {
            let digits: Vec<u8> = text.bytes().map(|b| b - b'0').collect();
            assert_eq!(check_digit(&digits), expected, "{text}");
            let valid = expected == Some(digits[9]);
            assert_eq!(NhsNumber::by_arithmetic(text).is_ok(), valid, "{text}");
            // P5: refused in entry, and nowhere else.
            let entered = valid && text != "9999999999";
            assert_eq!(NhsNumber::read(text).is_ok(), entered, "{text}");
        }
    }

    proptest::proptest! {
        /// One digit mistyped, or two different neighbours swapped, is always found.
        #[test]
        fn slips_are_found(nine in 0_u64..1_000_000_000, at in 0_usize..10, other in 0_u8..10) {
            let mut digits: Vec<u8> = format!("{nine:09}").bytes().map(|b| b - b'0').collect();
            let Some(check) = check_digit(&digits) else { return Ok(()) };
            digits.push(check);
            let text = |digits: &[u8]| digits.iter().map(u8::to_string).collect::<String>();
            let mut mistyped = digits.clone();
            mistyped[at] = other;
            proptest::prop_assert!(mistyped == digits || NhsNumber::read(&text(&mistyped)).is_err());
            let mut swapped = digits.clone();
            swapped.swap(at, (at + 1) % 10);
            let neighbours = at < 9 && swapped != digits;
            proptest::prop_assert!(!neighbours || NhsNumber::read(&text(&swapped)).is_err());
        }
    }
}

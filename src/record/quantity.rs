//! Measured quantities. Each is a whole number of its smallest charted step (a temperature
//! of 37.1 °C is 371 tenths), so that no threshold ever meets a binary fraction.
//!
//! Limits are those of the clinical reference, section 2 (common practice, no single
//! source): *hard* limits refuse, *ask* limits make the writer confirm. Nothing is clamped
//! and nothing is rounded: a value finer than the chart is refused with a request for the
//! charted value.

use serde::{Deserialize, Serialize};

use super::field::{FieldValue, ReadContext, Shape, ShowContext};
use super::problem::Problem;

/// A unit a person may type and what it is worth: `steps` per one of it.
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    /// As typed, lower case.
    pub text: &'static str,
    /// How many of the quantity's smallest steps one of this unit is.
    pub steps: i64,
}

/// A unit people may type that is refused, and why.
#[derive(Debug, Clone, Copy)]
pub struct WrongUnit {
    /// As typed, lower case.
    pub text: &'static str,
    /// What to do instead.
    pub hint: &'static str,
}

/// What is fixed for one quantity.
#[derive(Debug, Clone, Copy)]
pub struct Measure {
    /// Shown unit.
    pub unit: &'static str,
    /// Decimal places shown and accepted.
    pub places: u32,
    /// Units accepted; the first is meant when none is typed.
    pub units: &'static [Unit],
    /// Units refused with a hint.
    pub wrong: &'static [WrongUnit],
    /// Refused outside, in steps.
    pub hard: (i32, i32),
    /// Confirmed outside, in steps.
    pub ask: (i32, i32),
}

impl Measure {
    /// Reads a number with an optional unit as a whole number of steps.
    ///
    /// # Errors
    /// Says what is wrong and what would be accepted.
    pub fn read(&self, text: &str) -> Result<i32, Problem> {
        let text = text.trim();
        let split = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
            .unwrap_or(text.len());
        let (number, typed) = (&text[..split], text[split..].trim());
        let number = &self.with_point(number)?;
        let unit = typed.to_lowercase();
        if number.is_empty() {
            return Err(Problem::new(
                format!("\"{text}\" is not a number"),
                self.range(),
            ));
        }
        if let Some(wrong) = self.wrong.iter().find(|wrong| wrong.text == unit) {
            return Err(Problem::new(
                format!("\"{text}\" is in {typed}: {}", wrong.hint),
                self.range(),
            ));
        }
        let steps = match self.units.iter().find(|known| known.text == unit) {
            Some(known) => known.steps,
            None if unit.is_empty() => self.units[0].steps,
            None => {
                let units: Vec<&str> = self
                    .units
                    .iter()
                    .map(|u| u.text)
                    .filter(|unit| !unit.is_empty())
                    .collect();
                let what = format!("\"{typed}\" is not a unit of this reading");
                return Err(Problem::new(
                    what,
                    format!("{} in {}", self.range(), units.join(", ")),
                ));
            }
        };
        let value = self.scale(text, number, steps)?;
        if value < self.hard.0 || value > self.hard.1 {
            return Err(Problem::new(
                format!("{text} is not possible here"),
                self.range(),
            ));
        }
        Ok(value)
    }

    /// The number with a point where a comma was typed for one: `36,8`. Three digits behind a comma can
    /// be thousands, and no comma belongs into what is charted in whole numbers.
    fn with_point(&self, number: &str) -> Result<String, Problem> {
        let Some((whole, fraction)) = number.split_once(',') else {
            return Ok(number.to_owned());
        };
        let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
        let is_number = digits(whole) && digits(fraction);
        if is_number && fraction.len() <= 2 && self.places > 0 {
            return Ok(format!("{whole}.{fraction}"));
        }
        let what = if is_number && fraction.len() == 3 {
            format!("\"{number}\" could be {whole}{fraction} or {whole}.{fraction}")
        } else {
            format!("\"{number}\" is not a number")
        };
        Err(Problem::new(what, self.range()))
    }

    fn scale(&self, text: &str, number: &str, steps: i64) -> Result<i32, Problem> {
        let decimal = Decimal::parse(number)
            .ok_or_else(|| Problem::new(format!("\"{text}\" is not a number"), self.range()))?;
        let finer = || {
            let what = format!("{text} is finer than the chart");
            Problem::new(
                what,
                format!("{}, as charted; it is never rounded for you", self.range()),
            )
        };
        let scaled = decimal.mantissa.checked_mul(steps).ok_or_else(finer)?;
        let divisor = 10_i64.pow(u32::from(decimal.places));
        if scaled % divisor != 0 {
            return Err(finer());
        }
        i32::try_from(scaled / divisor)
            .map_err(|_| Problem::new(format!("{text} is not possible here"), self.range()))
    }

    /// What is accepted, in words.
    #[must_use]
    pub fn range(&self) -> String {
        let (low, high) = (self.number(self.hard.0), self.number(self.hard.1));
        let grain = match self.places {
            0 => "a whole number",
            1 => "a number with at most one decimal",
            _ => "a number with at most two decimals",
        };
        format!("{grain} from {low} to {high} {}", self.unit)
            .trim_end()
            .to_owned()
    }

    /// The number without its unit: no trailing zeros beyond the charted places.
    #[must_use]
    pub fn number(&self, steps: i32) -> String {
        let mut decimal = Decimal {
            mantissa: i64::from(steps),
            places: 0,
        };
        decimal.places = u8::try_from(self.places).unwrap_or(0);
        // Temperature is charted as 37.0, flow and weight as 2 and 72.5.
        if self.places == 1 && self.unit == "°C" {
            decimal.to_string()
        } else {
            decimal.plain()
        }
    }

    /// The number and its unit.
    #[must_use]
    pub fn show(&self, steps: i32) -> String {
        let gap = if matches!(self.unit, "%" | "/min" | "/10" | "") {
            ""
        } else {
            " "
        };
        format!("{}{gap}{}", self.number(steps), self.unit)
    }

    fn unusual(&self, steps: i32) -> Option<String> {
        let (low, high) = self.ask;
        (steps < low || steps > high).then(|| {
            format!(
                "{} is outside the usual {} to {}",
                self.show(steps),
                self.number(low),
                self.show(high)
            )
        })
    }
}

/// A decimal number exactly as written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Decimal {
    /// All digits, with the sign.
    pub mantissa: i64,
    /// How many of them stand after the point.
    pub places: u8,
}

impl Decimal {
    /// Reads `12`, `-0.5`, `.5`; no exponents, no separators, at most six decimals.
    #[must_use]
    pub fn parse(text: &str) -> Option<Decimal> {
        let (sign, digits) = match text.strip_prefix('-') {
            Some(rest) => (-1, rest),
            None => (1, text.strip_prefix('+').unwrap_or(text)),
        };
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let all = format!("{whole}{fraction}");
        let plain = !all.is_empty() && all.bytes().all(|b| b.is_ascii_digit());
        let trailing_point = digits.ends_with('.');
        if !plain || trailing_point || fraction.len() > 6 || all.len() > 15 {
            return None;
        }
        let places = u8::try_from(fraction.len()).ok()?;
        Some(Decimal {
            mantissa: sign * all.parse::<i64>().ok()?,
            places,
        })
    }

    /// Without trailing zeros after the point: 5, not 5.0.
    #[must_use]
    pub fn plain(self) -> String {
        let mut short = self;
        while short.places > 0 && short.mantissa % 10 == 0 {
            short.mantissa /= 10;
            short.places -= 1;
        }
        short.to_string()
    }

    /// Compares two decimals exactly.
    #[must_use]
    pub fn compare(self, other: Decimal) -> std::cmp::Ordering {
        let places = self.places.max(other.places);
        let scaled =
            |d: Decimal| i128::from(d.mantissa) * 10_i128.pow(u32::from(places - d.places));
        scaled(self).cmp(&scaled(other))
    }

    /// Nearest binary fraction, for drawing only.
    #[must_use]
    #[expect(
        clippy::cast_precision_loss,
        reason = "for drawing only, never for a threshold"
    )]
    pub fn to_f64(self) -> f64 {
        self.mantissa as f64 / 10_f64.powi(i32::from(self.places))
    }
}

impl std::fmt::Display for Decimal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign = if self.mantissa < 0 { "-" } else { "" };
        let power = 10_u64.pow(u32::from(self.places));
        let size = self.mantissa.unsigned_abs();
        if self.places == 0 {
            return write!(f, "{sign}{size}");
        }
        let width = usize::from(self.places);
        write!(f, "{sign}{}.{:0width$}", size / power, size % power)
    }
}

/// Declares one quantity.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal, places $places:literal,
     units [$($text:literal = $steps:literal),+], wrong [$($wtext:literal = $whint:literal),*],
     hard $hlow:literal..$hhigh:literal, ask $alow:literal..$ahigh:literal, hint $hint:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub i32);

        impl $name {
            /// Unit, limits and accepted spellings.
            pub const MEASURE: Measure = Measure {
                unit: $unit,
                places: $places,
                units: &[$(Unit { text: $text, steps: $steps }),+],
                wrong: &[$(WrongUnit { text: $wtext, hint: $whint }),*],
                hard: ($hlow, $hhigh),
                ask: ($alow, $ahigh),
            };
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&Self::MEASURE.show(self.0))
            }
        }

        impl FieldValue for $name {
            const SHAPE: Shape = Shape::Number { unit: $unit };
            const HINT: &'static str = $hint;

            fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
                Self::MEASURE.read(text).map($name)
            }
            fn show(&self, _: &ShowContext) -> Option<String> {
                Some(self.to_string())
            }
            fn typed(&self, _: &ShowContext) -> Option<String> {
                Some(Self::MEASURE.number(self.0))
            }
            fn unusual(&self) -> Option<String> {
                Self::MEASURE.unusual(self.0)
            }
        }
    };
}

quantity!(
    /// Respiration rate, breaths a minute. 0 is an event, not a reading.
    RespRatePerMin, "/min", places 0, units ["" = 1, "/min" = 1, "bpm" = 1], wrong [],
    hard 1..80, ask 8..35, hint "breaths a minute, 1 to 80, e.g. 18"
);
quantity!(
    /// Oxygen saturation, whole per cent.
    Spo2Percent, "%", places 0, units ["" = 1, "%" = 1], wrong [],
    hard 40..100, ask 85..100, hint "per cent, 40 to 100, e.g. 96"
);
quantity!(
    /// Pulse, beats a minute.
    PulsePerMin, "/min", places 0, units ["" = 1, "/min" = 1, "bpm" = 1], wrong [],
    hard 20..300, ask 40..150, hint "beats a minute, 20 to 300, e.g. 88"
);
quantity!(
    /// Systolic blood pressure, mmHg.
    SystolicMmHg, "mmHg", places 0, units ["" = 1, "mmhg" = 1], wrong ["kpa" = "give mmHg"],
    hard 40..300, ask 80..220, hint "mmHg, 40 to 300, e.g. 128"
);
quantity!(
    /// Diastolic blood pressure, mmHg.
    DiastolicMmHg, "mmHg", places 0, units ["" = 1, "mmhg" = 1], wrong ["kpa" = "give mmHg"],
    hard 20..200, ask 40..120, hint "mmHg, 20 to 200, e.g. 76"
);
quantity!(
    /// Temperature in tenths of a degree Celsius.
    TemperatureDeciC, "°C", places 1, units ["" = 10, "c" = 10, "°c" = 10, "cel" = 10],
    wrong ["f" = "take it in °C; a converted value would be rounded",
           "°f" = "take it in °C; a converted value would be rounded"],
    hard 250..450, ask 340..410, hint "°C to one decimal, 25.0 to 45.0, e.g. 37.1"
);
quantity!(
    /// Oxygen flow in hundredths of a litre a minute.
    FlowCentiLPerMin, "L/min", places 2, units ["" = 100, "l" = 100, "l/min" = 100, "lpm" = 100], wrong [],
    hard 25..6000, ask 50..1500, hint "L/min, 0.25 to 60, e.g. 2"
);
quantity!(
    /// Inspired oxygen in per cent.
    Fio2Percent, "%", places 0, units ["%" = 1, "" = 1], wrong [],
    hard 21..100, ask 21..60, hint "per cent, 21 to 100, e.g. 28%"
);
quantity!(
    /// Capillary blood glucose in tenths of a mmol/L.
    GlucoseDeciMmolPerL, "mmol/L", places 1, units ["" = 10, "mmol/l" = 10, "mmol" = 10],
    wrong ["mg/dl" = "give mmol/L; a converted value would be rounded"],
    hard 5..600, ask 40..200, hint "mmol/L, 0.5 to 60, e.g. 6.4"
);
quantity!(
    /// Weight in tenths of a kilogram.
    WeightDeciKg, "kg", places 1, units ["" = 10, "kg" = 10],
    wrong ["lb" = "give kg", "lbs" = "give kg", "pounds" = "give kg",
           "st" = "give kg", "stone" = "give kg", "stones" = "give kg"],
    hard 200..3500, ask 350..2000, hint "kg, 20 to 350, e.g. 72.5"
);
quantity!(
    /// Pain on the 0 to 10 scale.
    Pain, "/10", places 0, units ["" = 1, "/10" = 1], wrong [],
    hard 0..10, ask 0..10, hint "0 (none) to 10 (worst imaginable)"
);
quantity!(
    /// Volume in millilitres.
    VolumeMl, "mL", places 0, units ["" = 1, "ml" = 1, "l" = 1000], wrong [],
    hard 0..20000, ask 0..6000, hint "mL, 0 to 20,000, e.g. 350"
);
quantity!(
    /// A wound's length, width or depth in millimetres; typed in cm.
    LengthMm, "cm", places 1, units ["" = 10, "cm" = 10, "mm" = 1], wrong ["in" = "give cm"],
    hard 0..1000, ask 0..300, hint "cm to one decimal, e.g. 3.2 (or 32mm)"
);
quantity!(
    /// A share of a wound bed in whole per cent.
    SharePercent, "%", places 0, units ["" = 1, "%" = 1], wrong [],
    hard 0..100, ask 0..100, hint "per cent, 0 to 100"
);
quantity!(
    /// A small count.
    Count, "", places 0, units ["" = 1], wrong [], hard 0..99, ask 0..20, hint "a whole number, 0 to 99"
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_exactly_or_refused() {
        assert_eq!(TemperatureDeciC::MEASURE.read("37.1"), Ok(371));
        assert_eq!(TemperatureDeciC::MEASURE.read("37"), Ok(370));
        assert_eq!(TemperatureDeciC::MEASURE.read("37.10 C"), Ok(371));
        assert_eq!(LengthMm::MEASURE.read("3.2cm"), Ok(32));
        assert_eq!(LengthMm::MEASURE.read("32 mm"), Ok(32));
        assert_eq!(VolumeMl::MEASURE.read("1.5L"), Ok(1500));
        assert_eq!(FlowCentiLPerMin::MEASURE.read("0.5L/min"), Ok(50));
        for (measure, wrong) in [
            (TemperatureDeciC::MEASURE, "37.15"),
            (TemperatureDeciC::MEASURE, "98.6f"),
            (TemperatureDeciC::MEASURE, "98.6"),
            (RespRatePerMin::MEASURE, "0"),
            (RespRatePerMin::MEASURE, "18.5"),
            (RespRatePerMin::MEASURE, "1e1"),
            (Spo2Percent::MEASURE, "101"),
            (PulsePerMin::MEASURE, "88 mmHg"),
            (PulsePerMin::MEASURE, ""),
            (PulsePerMin::MEASURE, "٨٨"),
        ] {
            assert!(measure.read(wrong).is_err(), "{wrong:?} was accepted");
        }
    }

    #[test]
    fn a_comma_is_a_point_where_it_can_be_nothing_else() {
        assert_eq!(TemperatureDeciC::MEASURE.read("36,8"), Ok(368));
        assert_eq!(WeightDeciKg::MEASURE.read("72,5 kg"), Ok(725));
        for (measure, wrong) in [
            (VolumeMl::MEASURE, "1,200"),
            (TemperatureDeciC::MEASURE, "36,85"),
            (TemperatureDeciC::MEASURE, "36,"),
            (TemperatureDeciC::MEASURE, ",8"),
            (TemperatureDeciC::MEASURE, "3,6,8"),
            (TemperatureDeciC::MEASURE, "36.8,1"),
            (PulsePerMin::MEASURE, "88,5"),
            (PulsePerMin::MEASURE, "88,0"),
        ] {
            assert!(measure.read(wrong).is_err(), "{wrong:?} was accepted");
        }
        let problem = VolumeMl::MEASURE.read("1,200").unwrap_err();
        assert!(problem.what.contains("could be"), "{}", problem.what);
    }

    #[test]
    fn a_refused_number_says_what_would_do() {
        let problem = RespRatePerMin::MEASURE.read("95").unwrap_err();
        assert_eq!(problem.what, "95 is not possible here");
        assert_eq!(problem.accepted, "a whole number from 1 to 80 /min");
        let problem = TemperatureDeciC::MEASURE.read("99f").unwrap_err();
        assert!(problem.what.contains("take it in °C"), "{}", problem.what);
    }

    #[test]
    fn shown_without_needless_zeros() {
        assert_eq!(TemperatureDeciC(370).to_string(), "37.0 °C");
        assert_eq!(FlowCentiLPerMin(200).to_string(), "2 L/min");
        assert_eq!(FlowCentiLPerMin(50).to_string(), "0.5 L/min");
        assert_eq!(
            Decimal::parse("5.00").map(Decimal::plain),
            Some("5".to_owned())
        );
        assert_eq!(
            Decimal::parse("-0.5").map(|d| d.to_string()),
            Some("-0.5".to_owned())
        );
    }

    #[test]
    fn unusual_values_ask_at_the_limit_and_not_before() {
        assert_eq!(RespRatePerMin(35).unusual(), None);
        assert!(RespRatePerMin(36).unusual().is_some());
        assert_eq!(RespRatePerMin(8).unusual(), None);
        assert!(RespRatePerMin(7).unusual().is_some());
    }
}

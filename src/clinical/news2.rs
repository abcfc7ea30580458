//! NEWS2: points, total, band, single 3 and minimum monitoring.
//!
//! Source: Royal College of Physicians, *National Early Warning Score (NEWS) 2*, updated
//! report, December 2017: charts 1 (points), 2 (bands) and 4 (monitoring). For people of 16
//! and over who are not pregnant. It is an aid to judgement, not a substitute for it.
//!
//! Invariants, each kept by a test:
//! - `total` exists only if all seven parts do, and is their sum;
//! - a value further from normal never scores less;
//! - nothing missing counts as 0: not a reading, not the oxygen, not the scale.

mod applies;
mod scale;
mod series;
mod table;

#[cfg(test)]
mod tests;

pub use applies::{Context, Doubt, doubts};
pub use scale::{is_above_target_on_oxygen, scale_2_in_words};
pub use series::{
    Change, NextSet, OxygenChange, Row, change, in_band_since, next_set, next_set_by, oxygen_change,
};

use crate::record::kind::observation::Observation;
use crate::record::observed::{Acvpu, Oxygen, Reading, Spo2Scale};
use crate::record::quantity::{
    PulsePerMin, RespRatePerMin, Spo2Percent, SystolicMmHg, TemperatureDeciC,
};
use crate::record::time::Span;

/// To be shown where the score is shown.
pub const SOURCE: &str = "NEWS2 © Royal College of Physicians 2017";

/// To be shown where the score is shown.
pub const CAUTION: &str = "NEWS2 aids judgement and does not replace it; for people of 16 and over who are not pregnant. Concern overrides a low score.";

/// One set of observations. `None` is "not known", never "normal".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Set {
    /// Respirations a minute, 1 to 80.
    pub rr: Option<i32>,
    /// Oxygen saturation, per cent, 40 to 100.
    pub spo2: Option<i32>,
    /// Which saturation scale applies.
    pub scale: Option<Spo2Scale>,
    /// Any supplemental oxygen.
    pub oxygen: Option<bool>,
    /// Systolic blood pressure, mmHg, 40 to 300.
    pub sbp: Option<i32>,
    /// Pulse a minute, 20 to 300.
    pub hr: Option<i32>,
    /// Consciousness.
    pub acvpu: Option<Acvpu>,
    /// Core-type body temperature in tenths of a degree Celsius, 250 to 450. A wearable's
    /// skin temperature is another quantity and must never come here.
    pub temp_deci_c: Option<i32>,
}

impl Set {
    /// The scored part of a recorded set, read by `scale`. Readings that could not be obtained
    /// are missing, and a skin temperature is not a temperature.
    #[must_use]
    pub fn of(observation: &Observation, scale: Option<Spo2Scale>) -> Set {
        Set {
            rr: value(observation.rr.as_ref()).map(|v: RespRatePerMin| v.0),
            spo2: value(observation.spo2.as_ref()).map(|v: Spo2Percent| v.0),
            scale,
            oxygen: observation.oxygen.map(Oxygen::is_supplemental),
            sbp: value(observation.sbp.as_ref()).map(|v: SystolicMmHg| v.0),
            hr: value(observation.hr.as_ref()).map(|v: PulsePerMin| v.0),
            acvpu: observation.acvpu,
            temp_deci_c: value(observation.temp.as_ref()).map(|v: TemperatureDeciC| v.0),
        }
    }
}

fn value<Q: Copy>(reading: Option<&Reading<Q>>) -> Option<Q> {
    reading.and_then(Reading::value)
}

/// What the score needs: its seven parts, and the scale by which one of them is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Input {
    /// Respiration rate.
    Rr,
    /// Oxygen saturation.
    Spo2,
    /// Saturation scale.
    Scale,
    /// Air or oxygen.
    Oxygen,
    /// Systolic blood pressure.
    Sbp,
    /// Pulse.
    Hr,
    /// Consciousness.
    Acvpu,
    /// Temperature.
    Temp,
}

impl Input {
    /// All, in the order of the chart.
    pub const ALL: [Input; 8] = [
        Input::Rr,
        Input::Spo2,
        Input::Scale,
        Input::Oxygen,
        Input::Sbp,
        Input::Hr,
        Input::Acvpu,
        Input::Temp,
    ];

    /// As JSON carries it.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Input::Rr => "rr",
            Input::Spo2 => "spo2",
            Input::Scale => "scale",
            Input::Oxygen => "oxygen",
            Input::Sbp => "sbp",
            Input::Hr => "hr",
            Input::Acvpu => "acvpu",
            Input::Temp => "temp",
        }
    }

    /// As people read it.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Input::Rr => "respiration rate",
            Input::Spo2 => "SpO2",
            Input::Scale => "SpO2 scale",
            Input::Oxygen => "air or oxygen",
            Input::Sbp => "systolic blood pressure",
            Input::Hr => "pulse",
            Input::Acvpu => "consciousness (ACVPU)",
            Input::Temp => "temperature",
        }
    }
}

/// Points of the parts that are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Parts {
    /// Respiration rate.
    pub rr: Option<u8>,
    /// Oxygen saturation; unknown without a scale.
    pub spo2: Option<u8>,
    /// Air or oxygen.
    pub oxygen: Option<u8>,
    /// Systolic blood pressure.
    pub sbp: Option<u8>,
    /// Pulse.
    pub hr: Option<u8>,
    /// Consciousness.
    pub acvpu: Option<u8>,
    /// Temperature.
    pub temp: Option<u8>,
}

impl Parts {
    /// Each part in the order of the chart.
    #[must_use]
    pub const fn each(&self) -> [(Input, Option<u8>); 7] {
        [
            (Input::Rr, self.rr),
            (Input::Spo2, self.spo2),
            (Input::Oxygen, self.oxygen),
            (Input::Sbp, self.sbp),
            (Input::Hr, self.hr),
            (Input::Acvpu, self.acvpu),
            (Input::Temp, self.temp),
        ]
    }

    /// Whether any known part scores 3. Oxygen never does: it is 0 or 2.
    #[must_use]
    pub fn has_single_3(&self) -> bool {
        self.each().iter().any(|(_, points)| *points == Some(3))
    }

    /// What the known parts come to. No part takes points away, so a total is never less.
    fn floor(&self) -> u8 {
        self.each().iter().filter_map(|(_, points)| *points).sum()
    }

    fn total(&self) -> Option<u8> {
        self.each()
            .iter()
            .try_fold(0, |sum, (_, points)| Some(sum + (*points)?))
    }
}

/// Clinical risk by chart 2.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Band {
    /// 0 to 4 without a single 3.
    Low,
    /// 3 or 4 with a single 3.
    LowMedium,
    /// 5 or 6: the key threshold for an urgent response.
    Medium,
    /// 7 or more.
    High,
}

impl Band {
    /// `low`, `low-medium`, `medium`, `high`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Band::Low => "low",
            Band::LowMedium => "low-medium",
            Band::Medium => "medium",
            Band::High => "high",
        }
    }
}

/// Minimum monitoring by chart 4, written for hospital wards. What it becomes for somebody
/// at home is the ward's policy; this is the published default.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Monitoring {
    /// Every 12 hours.
    TwelveHourly,
    /// Every 4 to 6 hours.
    FourToSixHourly,
    /// Every hour.
    Hourly,
    /// Continuously.
    Continuous,
}

impl Monitoring {
    /// As people read it, and as JSON carries it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Monitoring::TwelveHourly => "12-hourly",
            Monitoring::FourToSixHourly => "4-6-hourly",
            Monitoring::Hourly => "1-hourly",
            Monitoring::Continuous => "continuous",
        }
    }

    /// When the next set is due after one, soonest and latest; the same but for "4 to 6
    /// hours". `None` for continuous monitoring, which has no next set.
    #[must_use]
    pub const fn next_set(self) -> Option<(Span, Span)> {
        match self {
            Monitoring::TwelveHourly => Some((Span::hours(12), Span::hours(12))),
            Monitoring::FourToSixHourly => Some((Span::hours(4), Span::hours(6))),
            Monitoring::Hourly => Some((Span::hours(1), Span::hours(1))),
            Monitoring::Continuous => None,
        }
    }
}

/// The whole score of a complete set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Total {
    /// Sum of the seven parts, 0 to 20.
    pub total: u8,
    /// Clinical risk.
    pub band: Band,
    /// Minimum monitoring.
    pub monitoring: Monitoring,
}

/// What a set of observations comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct News2 {
    /// Points of the parts that are known.
    pub parts: Parts,
    /// Any known part scores 3. Show it beside the total, and without one: it calls for the
    /// single-3 response at least even in an incomplete set.
    pub single_3: bool,
    /// Only for a complete set.
    pub score: Option<Total>,
    /// What an incomplete set lacks, in the order of the chart; empty for a complete one.
    pub missing: Vec<Input>,
}

impl News2 {
    /// The least monitoring that is certain: the score's, or of an incomplete set what 5 points
    /// or more or a single 3 call for already. `None` says only that it cannot be known.
    #[must_use]
    pub fn monitoring(&self) -> Option<Monitoring> {
        match self.score {
            Some(score) => Some(score.monitoring),
            None => self
                .floor_calls()
                .then(|| monitoring(self.parts.floor(), self.single_3)),
        }
    }

    /// Of an incomplete set, the points its known parts come to: what was not measured can only
    /// add to them, so this is a lower bound and no total. `None` for a complete set, and where
    /// it would be 0 and say nothing.
    #[must_use]
    pub fn at_least(&self) -> Option<u8> {
        let floor = self.parts.floor();
        (self.score.is_none() && floor > 0).then_some(floor)
    }

    /// The band that an incomplete set has reached whatever else would be measured; `None` below
    /// 5 points without a single 3, where the band is not known.
    #[must_use]
    pub fn band_at_least(&self) -> Option<Band> {
        (self.score.is_none() && self.floor_calls())
            .then(|| band(self.parts.floor(), self.single_3))
    }

    fn floor_calls(&self) -> bool {
        self.single_3 || self.parts.floor() >= 5
    }

    /// `at least 7 (high) from what was measured`: never said as a total.
    #[must_use]
    pub fn at_least_in_words(&self) -> Option<String> {
        let band = self
            .band_at_least()
            .map_or(String::new(), |band| format!(" ({})", band.code()));
        Some(format!(
            "at least {}{band} from what was measured",
            self.at_least()?
        ))
    }
}

/// A value that is no reading. Nothing is scored then, lest a slip of the keyboard lend the
/// other parts a total.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum News2Error {
    /// Outside the hard limits (clinical reference, section 2: common practice, no source).
    #[error("{} {given} is not possible; accepted are {low} to {high}", input.label())]
    NotPossible {
        /// Which value.
        input: Input,
        /// What was given, in its charted unit.
        given: i32,
        /// Smallest accepted.
        low: i32,
        /// Largest accepted.
        high: i32,
    },
    /// Outside the hard limits for temperature.
    #[error("temperature {} °C is not possible; accepted are 25.0 to 45.0", deci(*given_deci_c))]
    TemperatureNotPossible {
        /// Tenths of a degree.
        given_deci_c: i32,
    },
    /// 90 to 110 can only be Fahrenheit.
    #[error("temperature {} looks like Fahrenheit; give it in °C, to one decimal", deci(*given_deci))]
    Fahrenheit {
        /// Tenths of a degree.
        given_deci: i32,
    },
}

/// Tenths as a decimal: 371 is 37.1.
fn deci(tenths: i32) -> String {
    let sign = if tenths < 0 { "-" } else { "" };
    format!(
        "{sign}{}.{}",
        tenths.unsigned_abs() / 10,
        tenths.unsigned_abs() % 10
    )
}

/// Scores a set.
///
/// # Errors
/// [`News2Error`] if a value is outside its hard limits; the first such, in chart order.
pub fn score(set: &Set) -> Result<News2, News2Error> {
    check(set)?;
    let parts = table::points(set);
    let single_3 = parts.has_single_3();
    let score = parts.total().map(|total| Total {
        total,
        band: band(total, single_3),
        monitoring: monitoring(total, single_3),
    });
    let missing = if score.is_some() {
        Vec::new()
    } else {
        missing(set)
    };
    Ok(News2 {
        parts,
        single_3,
        score,
        missing,
    })
}

fn check(set: &Set) -> Result<(), News2Error> {
    let limits = [
        (Input::Rr, set.rr, RespRatePerMin::MEASURE.hard),
        (Input::Spo2, set.spo2, Spo2Percent::MEASURE.hard),
        (Input::Sbp, set.sbp, SystolicMmHg::MEASURE.hard),
        (Input::Hr, set.hr, PulsePerMin::MEASURE.hard),
    ];
    for (input, value, (low, high)) in limits {
        if let Some(given) = value.filter(|v| *v < low || *v > high) {
            return Err(News2Error::NotPossible {
                input,
                given,
                low,
                high,
            });
        }
    }
    let (temp_low, temp_high) = TemperatureDeciC::MEASURE.hard;
    match set.temp_deci_c {
        Some(given_deci @ 900..=1100) => Err(News2Error::Fahrenheit { given_deci }),
        Some(given_deci_c) if given_deci_c < temp_low || given_deci_c > temp_high => {
            Err(News2Error::TemperatureNotPossible { given_deci_c })
        }
        _ => Ok(()),
    }
}

/// What keeps the set from a total. The scale is named even where the saturation is missing
/// too: both will be needed.
fn missing(set: &Set) -> Vec<Input> {
    let absent = [
        (Input::Rr, set.rr.is_none()),
        (Input::Spo2, set.spo2.is_none()),
        (Input::Scale, set.scale.is_none()),
        (Input::Oxygen, set.oxygen.is_none()),
        (Input::Sbp, set.sbp.is_none()),
        (Input::Hr, set.hr.is_none()),
        (Input::Acvpu, set.acvpu.is_none()),
        (Input::Temp, set.temp_deci_c.is_none()),
    ];
    absent
        .into_iter()
        .filter(|(_, gone)| *gone)
        .map(|(input, _)| input)
        .collect()
}

const fn band(total: u8, single_3: bool) -> Band {
    match total {
        7.. => Band::High,
        5 | 6 => Band::Medium,
        _ if single_3 => Band::LowMedium,
        _ => Band::Low,
    }
}

const fn monitoring(total: u8, single_3: bool) -> Monitoring {
    match total {
        7.. => Monitoring::Continuous,
        5 | 6 => Monitoring::Hourly,
        _ if single_3 => Monitoring::Hourly,
        1..=4 => Monitoring::FourToSixHourly,
        0 => Monitoring::TwelveHourly,
    }
}

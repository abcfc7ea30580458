//! The calculators: one JSON object in, one JSON object out.
//!
//! For `score --ndjson` and `score NAME`. An answer is `{"ok":true,…}` with the calculator's
//! own fields, or `{"ok":false,"error":"…"}` with a sentence that says what is wrong or
//! missing and what would be accepted. Numbers are read from their decimal text, never
//! through binary fractions: 37.1 is 371 tenths, and 37.15 is refused, not rounded. Every
//! field, unit and answer is listed in `docs/clinical.md`, which a test compares with
//! [`CALCULATORS`].

mod bedside;
mod blood;
mod bp;
mod course;
mod fields;
mod news2;
mod news2_series;
mod person;
mod pressure;
mod trend;
mod typed;
mod ward;
mod words;
mod wound_dataset;
mod wound_series;

#[cfg(test)]
mod tests;

pub use typed::{NotAPair, Typed, typed, words_of};

use serde::Serialize;

use fields::Fields;

use crate::record::time::{WardZone, ZoneError};

/// Longest object that is read, in bytes.
const LINE_BYTES_MAX: usize = 64 * 1024;

/// One calculator.
#[derive(Debug)]
pub struct Calculator {
    /// The value of `"calc"`, and the word after `score`.
    pub name: &'static str,
    /// What it works out, with its source.
    pub about: &'static str,
    /// The fields it takes.
    pub fields: &'static [Field],
    /// A line it answers, for the reference.
    pub example: &'static str,
    run: fn(&Fields<'_>) -> Result<String, Refused>,
}

/// One field of a calculator.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// Its name in JSON.
    pub name: &'static str,
    /// What it holds: meaning, unit, range.
    pub holds: &'static str,
    /// Without it there is no answer.
    pub required: bool,
}

impl Field {
    const fn must(name: &'static str, holds: &'static str) -> Field {
        Field {
            name,
            holds,
            required: true,
        }
    }

    const fn may(name: &'static str, holds: &'static str) -> Field {
        Field {
            name,
            holds,
            required: false,
        }
    }
}

/// Every calculator.
pub const CALCULATORS: &[Calculator] = &[
    news2::NEWS2,
    news2_series::NEWS2_SERIES,
    pressure::MAP,
    bp::BP,
    pressure::HOME_BP,
    blood::AKI,
    blood::EGFR,
    blood::BLOOD,
    course::BLOOD_SERIES,
    course::CRP,
    bedside::WOUND,
    wound_series::WOUND_SERIES,
    wound_dataset::WOUND_DATASET,
    words::ACVPU,
    bedside::GCS,
    bedside::FOUR_AT,
    words::PAIN,
    words::TREATMENT_DAY,
    bedside::FLUID,
    trend::TREND,
    person::NHS_NUMBER,
    person::AGE,
    person::STAY,
    ward::XMR,
    ward::OCCUPANCY,
    ward::RETENTION,
];

/// Answers one line. Never panics and never prints what it was given unescaped.
#[must_use]
pub fn answer(line: &str) -> String {
    match run(line) {
        Ok(answer) => answer,
        Err(refused) => refused.json(),
    }
}

fn run(line: &str) -> Result<String, Refused> {
    if line.len() > LINE_BYTES_MAX {
        return Err(Refused::TooLong { bytes: line.len() });
    }
    let fields = Fields::parse(line)?;
    let name = fields.text("calc")?.ok_or(Refused::NoCalculator)?;
    let calculator = CALCULATORS
        .iter()
        .find(|calculator| calculator.name == name)
        .ok_or(Refused::UnknownCalculator { given: name })?;
    fields.refuse_unknown(calculator)?;
    (calculator.run)(&fields)
}

/// Why there is no number. Shown, a sentence.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(super) enum Refused {
    #[error("the line has {bytes} bytes; at most {LINE_BYTES_MAX} are read")]
    TooLong { bytes: usize },
    #[error("this is not one JSON object: {why}")]
    NotAnObject { why: String },
    #[error("\"calc\" is missing; give one of {}", names())]
    NoCalculator,
    #[error("there is no calculator \"{given}\"; give one of {}", names())]
    UnknownCalculator { given: String },
    #[error("\"{field}\" is not a field of {calculator}; its fields are {known}")]
    UnknownField {
        field: String,
        calculator: &'static str,
        known: String,
    },
    #[error("\"{field}\" is given twice")]
    GivenTwice { field: String },
    #[error("\"{field}\" must be {wanted}")]
    WrongType { field: String, wanted: &'static str },
    #[error(
        "\"{field}\" is {given}, which is finer than is charted; give {wanted}: it is never rounded for you"
    )]
    TooFine {
        field: String,
        given: String,
        wanted: &'static str,
    },
    #[error("\"{field}\" is {given}, which is not possible; accepted are {accepted}")]
    NotPossible {
        field: String,
        given: String,
        accepted: String,
    },
    #[error("{} missing; no number is given without", listed(.0))]
    Missing(Vec<&'static str>),
    #[error("the set is incomplete: {} missing, so there is no total", listed(&.0.missing))]
    IncompleteNews2(Box<news2::Incomplete>),
    #[error("{0}")]
    Said(String),
}

impl Refused {
    /// Any of the library's own refusals: already a sentence.
    fn said(error: impl std::error::Error) -> Refused {
        Refused::Said(error.to_string())
    }

    fn json(&self) -> String {
        #[derive(Serialize)]
        struct Answer<'a> {
            ok: bool,
            error: String,
            #[serde(flatten, skip_serializing_if = "Option::is_none")]
            known: Option<&'a news2::Incomplete>,
        }
        let known = match self {
            Refused::IncompleteNews2(known) => Some(known.as_ref()),
            _ => None,
        };
        to_json(&Answer {
            ok: false,
            error: self.to_string(),
            known,
        })
    }
}

fn names() -> String {
    let names: Vec<&str> = CALCULATORS
        .iter()
        .map(|calculator| calculator.name)
        .collect();
    names.join(", ")
}

/// `a is`, `a and b are`, `a, b and c are`.
fn listed(names: &[&str]) -> String {
    match names {
        [] => "nothing is".to_owned(),
        [one] => format!("{one} is"),
        [all @ .., last] => format!("{} and {last} are", all.join(", ")),
    }
}

/// What is missing, if anything is.
fn require(wanted: &[(&'static str, bool)]) -> Result<(), Refused> {
    let missing: Vec<&str> = wanted
        .iter()
        .filter(|(_, there)| !there)
        .map(|(n, _)| *n)
        .collect();
    if missing.is_empty() {
        Ok(())
    } else {
        Err(Refused::Missing(missing))
    }
}

/// The ward's time zone, Europe/London if none is given.
fn zone(fields: &Fields<'_>) -> Result<WardZone, Refused> {
    match fields.text("zone")? {
        None => Ok(WardZone::LONDON),
        Some(name) => name
            .parse()
            .map_err(|error: ZoneError| Refused::said(error)),
    }
}

/// For showing: limits are compared long before a number comes here.
fn four_places(value: f64) -> f64 {
    (value * 10_000.0).round() / 10_000.0
}

/// Answers hold only strings, whole numbers and finite fractions, so this cannot fail; if it
/// ever did, the line would say so and stay JSON.
fn to_json(answer: &impl Serialize) -> String {
    serde_json::to_string(answer)
        .unwrap_or_else(|_| r#"{"ok":false,"error":"the answer cannot be written"}"#.to_owned())
}

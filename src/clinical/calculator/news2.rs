//! `news2`.

use serde::{Serialize, Serializer};

use super::fields::Fields;
use super::{Calculator, Field, Refused, to_json};
use crate::clinical::news2::{self, Input, Parts, Set};
use crate::record::observed::{Acvpu, Spo2Scale};

pub(super) const NEWS2: Calculator = Calculator {
    name: "news2",
    about: "NEWS2: parts, total, band, single 3 (Royal College of Physicians, 2017)",
    fields: &[
        Field::must("rr", "respirations a minute, whole, 1 to 80"),
        Field::must("spo2", "oxygen saturation in %, whole, 40 to 100"),
        Field::must("scale", "SpO2 scale, 1, or 2 if prescribed"),
        Field::must("oxygen", "any supplemental oxygen, true or false"),
        Field::must("sbp", "systolic pressure in mmHg, whole, 40 to 300"),
        Field::must("hr", "pulse a minute, whole, 20 to 300"),
        Field::must("acvpu", "consciousness: A, C (new confusion), V, P or U"),
        Field::must("temp", "temperature in °C, one decimal, 25.0 to 45.0"),
    ],
    example: r#"{"calc":"news2","rr":18,"spo2":96,"scale":1,"oxygen":false,"sbp":120,"hr":88,"acvpu":"A","temp":37.1}"#,
    run,
};

/// What is known of an incomplete set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(in crate::clinical) struct Incomplete {
    /// What is missing.
    pub(super) missing: Vec<&'static str>,
    parts: Known,
    single_3: bool,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Known(Parts);

impl Serialize for Known {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        let known = self
            .0
            .each()
            .into_iter()
            .filter_map(|(part, points)| Some((part.code(), points?)));
        out.collect_map(known)
    }
}

#[derive(Serialize)]
struct Answer {
    ok: bool,
    total: u8,
    parts: Known,
    band: &'static str,
    single_3: bool,
}

/// The inputs of one set, as far as they are given.
pub(super) fn set(fields: &Fields<'_>) -> Result<Set, Refused> {
    Ok(Set {
        rr: fields.whole("rr")?,
        spo2: fields.whole("spo2")?,
        scale: scale(fields)?,
        oxygen: fields.yes_no("oxygen")?,
        sbp: fields.whole("sbp")?,
        hr: fields.whole("hr")?,
        acvpu: acvpu(fields)?,
        temp_deci_c: fields.steps("temp", 1)?,
    })
}

fn run(fields: &Fields<'_>) -> Result<String, Refused> {
    let set = set(fields)?;
    let scored = news2::score(&set).map_err(Refused::said)?;
    let (parts, single_3) = (Known(scored.parts), scored.single_3);
    let Some(score) = scored.score else {
        let missing = scored.missing.into_iter().map(Input::code).collect();
        return Err(Refused::IncompleteNews2(Box::new(Incomplete {
            missing,
            parts,
            single_3,
        })));
    };
    Ok(to_json(&Answer {
        ok: true,
        total: score.total,
        parts,
        band: score.band.code(),
        single_3,
    }))
}

fn scale(fields: &Fields<'_>) -> Result<Option<Spo2Scale>, Refused> {
    match fields.within("scale", 0, (1, 2))? {
        None => Ok(None),
        Some(1) => Ok(Some(Spo2Scale::Scale1)),
        Some(_) => Ok(Some(Spo2Scale::Scale2)),
    }
}

pub(super) fn acvpu(fields: &Fields<'_>) -> Result<Option<Acvpu>, Refused> {
    let Some(text) = fields.text("acvpu")? else {
        return Ok(None);
    };
    match text.as_str() {
        "A" | "a" | "alert" => Ok(Some(Acvpu::Alert)),
        "C" | "c" | "confused" => Ok(Some(Acvpu::Confused)),
        "V" | "v" | "voice" => Ok(Some(Acvpu::Voice)),
        "P" | "p" | "pain" => Ok(Some(Acvpu::Pain)),
        "U" | "u" | "unresponsive" => Ok(Some(Acvpu::Unresponsive)),
        _ => Err(Refused::WrongType {
            field: "acvpu".to_owned(),
            wanted: "one of A (alert), C (new confusion), V (voice), P (pain), U (unresponsive)",
        }),
    }
}

//! `aki`, `egfr` and `blood`.

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, require, to_json};
use crate::clinical::aki::{self, InRange, LabRange, Person, Reading};
use crate::clinical::blood::{
    CAUTION, Flag, RangeOwner, SOURCE, TYPICAL_CAUTION, flag, typical_range, value_is_critical,
};
use crate::clinical::creatinine::Creatinine;
use crate::clinical::egfr::{self, Equation, egfr};
use crate::clinical::policy::Values;
use crate::record::kind::episode::Sex;
use crate::record::kind::sample::{Analyte, Comparator, ResultValue};
use crate::record::quantity::Decimal;
use crate::record::time::{Span, Timestamp};

pub(super) const AKI: Calculator = Calculator {
    name: "aki",
    about: "acute kidney injury alert (NHS England algorithm, 2014)",
    fields: &[
        Field::must("creatinine", "new serum creatinine in µmol/L, 5 to 5000"),
        Field::must("age", "whole years, 0 to 120"),
        Field::must(
            "previous",
            "a list of {\"creatinine\": µmol/L, \"hours_ago\" or \"days_ago\": whole number}; [] if there is none",
        ),
        Field::may("low", "the laboratory's lower limit, µmol/L"),
        Field::may("high", "the laboratory's upper limit, µmol/L"),
    ],
    example: r#"{"calc":"aki","creatinine":120,"age":70,"previous":[{"creatinine":80,"days_ago":7}]}"#,
    run: run_aki,
};

pub(super) const EGFR: Calculator = Calculator {
    name: "egfr",
    about: "eGFR by CKD-EPI 2009 without ethnicity (United Kingdom) and CKD-EPI 2021",
    fields: &[
        Field::must("creatinine", "serum creatinine in µmol/L, 5 to 5000"),
        Field::must("age", "whole years, 18 to 120"),
        Field::must("sex", "F or M"),
    ],
    example: r#"{"calc":"egfr","creatinine":80,"age":70,"sex":"f"}"#,
    run: run_egfr,
};

pub(super) const BLOOD: Calculator = Calculator {
    name: "blood",
    about: "flag of one result by the laboratory's range or a typical one, and whether it is critical",
    fields: &[
        Field::must(
            "test",
            "crp, wcc, neut, hb, plt, urea, creat, na, k, alt, alb, lactate or glucose",
        ),
        Field::must(
            "value",
            "number in the test's usual unit, or text such as \"<5\" or \">300\"",
        ),
        Field::may("low", "the laboratory's lower limit"),
        Field::may("high", "the laboratory's upper limit"),
        Field::may("sex", "F or M; some typical ranges depend on it"),
    ],
    example: r#"{"calc":"blood","test":"k","value":6.5,"low":3.5,"high":5.0}"#,
    run: run_blood,
};

fn creatinine(fields: &Fields<'_>, name: &str) -> Result<Option<Creatinine>, Refused> {
    let Some(value) = fields.decimal(name)? else {
        return Ok(None);
    };
    Creatinine::from_reported(value)
        .map(Some)
        .map_err(Refused::said)
}

fn age(fields: &Fields<'_>) -> Result<Option<u32>, Refused> {
    let age = fields.within("age", 0, (0, 120))?;
    Ok(age.and_then(|years| u32::try_from(years).ok()))
}

#[derive(Serialize)]
struct AkiAnswer {
    ok: bool,
    stage: Option<u8>,
    reference: Option<f64>,
    reference_rule: Option<&'static str>,
    ratio: Option<f64>,
    rise_48h: Option<f64>,
    in_range: Option<&'static str>,
    says: String,
    caution: &'static str,
}

fn run_aki(fields: &Fields<'_>) -> Result<String, Refused> {
    let (new, age) = (creatinine(fields, "creatinine")?, age(fields)?);
    let previous = fields.objects("previous", &["creatinine", "hours_ago", "days_ago"], "aki")?;
    let wanted = [
        ("creatinine", new.is_some()),
        ("age", age.is_some()),
        ("previous", previous.is_some()),
    ];
    require(&wanted)?;
    let (Some(new), Some(age_years), Some(previous)) = (new, age, previous) else {
        return Err(Refused::Missing(vec!["creatinine"]));
    };
    let earlier: Vec<Reading> = previous.iter().map(earlier).collect::<Result<_, _>>()?;
    let person = Person {
        age_years,
        range: range(fields)?,
    };
    let aki = aki::detect(
        Reading {
            value: new,
            taken_at: INDEX,
        },
        &earlier,
        person,
    );
    Ok(to_json(&AkiAnswer {
        ok: true,
        stage: aki.stage.map(aki::Stage::number),
        reference: aki.reference.map(|reference| reference.value_shown()),
        reference_rule: aki.reference.map(|reference| reference.baseline.code()),
        ratio: aki.reference.map(|reference| reference.ratio_cut_off()),
        rise_48h: aki.rise_48h_micromol_per_l(),
        in_range: (aki.in_range != InRange::Unknown).then(|| aki.in_range.text()),
        says: aki.sentence(new),
        caution: aki::CAUTION,
    }))
}

/// Any moment will do: only ages count.
const INDEX: Timestamp = Timestamp(0);

fn earlier(fields: &Fields<'_>) -> Result<Reading, Refused> {
    let value = creatinine(fields, "creatinine")?;
    let hours = fields.within("hours_ago", 0, (0, 1_000_000))?;
    let days = fields.within("days_ago", 0, (0, 40_000))?;
    let age = match (hours, days) {
        (Some(hours), None) => Some(Span::hours(i64::from(hours))),
        (None, Some(days)) => Some(Span::days(i64::from(days))),
        (None, None) => None,
        (Some(_), Some(_)) => {
            return Err(Refused::Said(
                "a previous result has both hours_ago and days_ago; give one".to_owned(),
            ));
        }
    };
    let (Some(value), Some(age)) = (value, age) else {
        return Err(Refused::Missing(vec![
            "creatinine or hours_ago of a previous result",
        ]));
    };
    Ok(Reading {
        value,
        taken_at: INDEX.plus(Span(-age.0)),
    })
}

fn range(fields: &Fields<'_>) -> Result<LabRange, Refused> {
    let (low, high) = (creatinine(fields, "low")?, creatinine(fields, "high")?);
    if low.zip(high).is_some_and(|(low, high)| low >= high) {
        return Err(Refused::Said(LOW_UNDER_HIGH.to_owned()));
    }
    Ok(LabRange { low, high })
}

const LOW_UNDER_HIGH: &str = "low must be less than high";

#[derive(Serialize)]
struct EgfrAnswer {
    ok: bool,
    ckd_epi_2009: i32,
    ckd_epi_2021: i32,
    reported_uk: String,
    reported_by: &'static str,
    unit: &'static str,
    caution: &'static str,
}

fn run_egfr(fields: &Fields<'_>) -> Result<String, Refused> {
    let (value, age, sex) = (
        creatinine(fields, "creatinine")?,
        age(fields)?,
        sex(fields)?,
    );
    require(&[
        ("creatinine", value.is_some()),
        ("age", age.is_some()),
        ("sex", sex.is_some()),
    ])?;
    let (Some(value), Some(age), Some(sex)) = (value, age, sex) else {
        return Err(Refused::Missing(vec!["creatinine"]));
    };
    let uk = egfr(Equation::CkdEpi2009, value, age, sex).map_err(Refused::said)?;
    let us = egfr(Equation::CkdEpi2021, value, age, sex).map_err(Refused::said)?;
    Ok(to_json(&EgfrAnswer {
        ok: true,
        ckd_epi_2009: uk.whole(),
        ckd_epi_2021: us.whole(),
        reported_uk: uk.reported(),
        reported_by: Equation::CkdEpi2009.text(),
        unit: "mL/min/1.73 m²",
        caution: egfr::CAUTION,
    }))
}

pub(super) fn sex(fields: &Fields<'_>) -> Result<Option<Sex>, Refused> {
    let Some(text) = fields.text("sex")? else {
        return Ok(None);
    };
    match Sex::from_code(&text) {
        Some(sex) => Ok(Some(sex)),
        None => Err(Refused::WrongType {
            field: "sex".to_owned(),
            wanted: "F or M",
        }),
    }
}

#[derive(Serialize)]
struct BloodAnswer {
    ok: bool,
    flag: &'static str,
    range_from: &'static str,
    critical: bool,
    unit: &'static str,
    /// Why an entry would ask about this value before taking it.
    #[serde(skip_serializing_if = "Option::is_none")]
    check: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    says: Option<String>,
    source: &'static str,
    caution: &'static str,
}

/// As JSON carries it.
pub(super) const fn flag_code(flag: Flag) -> &'static str {
    match flag {
        Flag::Low => "low",
        Flag::Within => "within",
        Flag::High => "high",
        Flag::Unknown => "unknown",
    }
}

fn run_blood(fields: &Fields<'_>) -> Result<String, Refused> {
    let (analyte, value) = (analyte(fields)?, reported(fields)?);
    require(&[("test", analyte.is_some()), ("value", value.is_some())])?;
    let (Some(analyte), Some((comparator, value))) = (analyte, value) else {
        return Err(Refused::Missing(vec!["test"]));
    };
    let limits = analyte.limits();
    if let Some(problem) = limits.refuses(analyte, value) {
        let said = format!("{}; accepted are {}", problem.what, problem.accepted);
        return Err(Refused::Said(said));
    }
    let (low, high) = (fields.decimal("low")?, fields.decimal("high")?);
    if low
        .zip(high)
        .is_some_and(|(low, high)| low.compare(high).is_ge())
    {
        return Err(Refused::Said(LOW_UNDER_HIGH.to_owned()));
    }
    let result = ResultValue {
        analyte,
        comparator,
        value,
        low,
        high,
    };
    let sex = sex(fields)?.unwrap_or(Sex::NotKnown);
    let (flag, owner) = flag(&result, typical_range(analyte, sex));
    let critical = value_is_critical(&result, Values::default().blood());
    Ok(to_json(&BloodAnswer {
        ok: true,
        flag: flag_code(flag),
        range_from: match owner {
            RangeOwner::Laboratory => "laboratory",
            RangeOwner::Policy => "typical",
            RangeOwner::Nobody => "none",
        },
        critical,
        unit: analyte.unit(),
        check: limits.asks(analyte, value),
        says: unplaced(flag, owner, analyte),
        source: SOURCE,
        caution: match owner {
            RangeOwner::Policy => TYPICAL_CAUTION,
            RangeOwner::Laboratory | RangeOwner::Nobody => CAUTION,
        },
    }))
}

/// Why a result has no flag, and what would give it one.
fn unplaced(flag: Flag, owner: RangeOwner, analyte: Analyte) -> Option<String> {
    if flag != Flag::Unknown {
        return None;
    }
    let test = analyte.label();
    Some(match owner {
        RangeOwner::Nobody if typical_range(analyte, Sex::Female).is_some() => format!(
            "the typical range of {test} depends on sex: give sex (F or M), or the laboratory's low and high"
        ),
        RangeOwner::Nobody => {
            format!("no typical range of {test} is held: give the laboratory's low and high")
        }
        RangeOwner::Laboratory | RangeOwner::Policy => {
            "the value could lie on either side of a limit of the range".to_owned()
        }
    })
}

pub(super) fn analyte(fields: &Fields<'_>) -> Result<Option<Analyte>, Refused> {
    let Some(text) = fields.text("test")? else {
        return Ok(None);
    };
    let wanted = "a test such as crp, wcc, hb, urea, creat, na or k";
    let unknown = Refused::WrongType {
        field: "test".to_owned(),
        wanted,
    };
    Analyte::from_code(&text).map(Some).ok_or(unknown)
}

/// A number, or `"<5"` and `">300"` as laboratories report what they cannot measure.
pub(super) fn reported(fields: &Fields<'_>) -> Result<Option<(Comparator, Decimal)>, Refused> {
    let wanted = "a number of 0 or more, or a text such as \"<5\"";
    let refused = || Refused::WrongType {
        field: "value".to_owned(),
        wanted,
    };
    let (comparator, value) = match fields.text("value") {
        Ok(None) => return Ok(None),
        Err(_) => (
            Comparator::Exact,
            fields.decimal("value").map_err(|_| refused())?,
        ),
        Ok(Some(text)) => match text.split_at_checked(1) {
            Some(("<", number)) => (Comparator::Below, Decimal::parse(number)),
            Some((">", number)) => (Comparator::Above, Decimal::parse(number)),
            _ => return Err(refused()),
        },
    };
    let value = value
        .filter(|value| value.mantissa >= 0)
        .ok_or_else(refused)?;
    Ok(Some((comparator, value)))
}

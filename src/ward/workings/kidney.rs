//! Acute kidney injury by the published algorithm, and estimated kidney function.

use super::bloods::{Measured, series};
use super::{About, Desk, Part, Weight, Working, capital};
use crate::clinical::aki::{self, Aki, LabRange, Person, Stage, detect};
use crate::clinical::creatinine::Creatinine;
use crate::clinical::egfr::{self, Equation, egfr};
use crate::record::kind::episode::Sex;
use crate::record::kind::sample::{Analyte, Comparator, ResultValue};
use crate::record::quantity::Decimal;
use crate::record::time::age_on;

const AKI_SOURCE: &str = "NHS England AKI algorithm, NHS/PSA/D/2014/010";
const EGFR_SOURCE: &str =
    "CKD-EPI 2009 without ethnicity, as used in the United Kingdom; CKD-EPI 2021";

pub(super) fn kidney(desk: &Desk<'_>) -> Vec<Working> {
    let measured = series(desk, Analyte::Creatinine);
    let Some(newest) = measured.last() else {
        return Vec::new();
    };
    if newest.value.comparator != Comparator::Exact {
        let why = "is not an exact value, so no stage and no eGFR are given";
        return vec![refused(newest, why.to_owned())];
    }
    let value = match Creatinine::from_reported(newest.value.value) {
        Ok(value) => value,
        Err(error) => return vec![refused(newest, format!("is not used: {error}"))],
    };
    let Some(age_years) = age_at(desk, newest) else {
        let why = "the age is not known, so no stage and no eGFR are given";
        return vec![refused(newest, why.to_owned())];
    };
    let injury = injury(desk, &measured, value, age_years);
    let stage = injury.0;
    let mut worked = vec![injury.1];
    worked.push(function(desk, newest, value, age_years, stage));
    worked
}

/// Whether the newest creatinine of this stay gives an AKI alert.
pub(super) fn has_alert(desk: &Desk<'_>) -> bool {
    let measured = series(desk, Analyte::Creatinine);
    let began = desk.patient.admitted().map(|stamp| stamp.occurred_at);
    let of_stay = measured
        .last()
        .filter(|newest| began.is_none_or(|began| newest.at >= began));
    let Some(newest) = of_stay.filter(|newest| newest.value.comparator == Comparator::Exact) else {
        return false;
    };
    let value = Creatinine::from_reported(newest.value.value).ok();
    let Some((value, age_years)) = value.zip(age_at(desk, newest)) else {
        return false;
    };
    let stage = injury(desk, &measured, value, age_years).0;
    stage.is_some_and(|stage| stage != Stage::None)
}

fn age_at(desk: &Desk<'_>, measured: &Measured<'_>) -> Option<u32> {
    let born = desk.patient.details.as_ref()?.born.to_date();
    age_on(born, desk.zone.date(measured.at)).map(|age| age.years)
}

fn refused(newest: &Measured<'_>, why: String) -> Working {
    Working {
        about: About::Kidney,
        weight: Weight::Say,
        text: format!("Creatinine {} {why}", newest.value.numbers()),
        parts: Vec::new(),
        entries: vec![newest.seq()],
        source: AKI_SOURCE,
        caution: aki::CAUTION,
    }
}

fn injury(
    desk: &Desk<'_>,
    measured: &[Measured<'_>],
    value: Creatinine,
    age_years: u32,
) -> (Option<Stage>, Working) {
    let usable: Vec<(aki::Reading, &Measured<'_>)> = measured
        .iter()
        .filter(|measured| measured.value.comparator == Comparator::Exact)
        .filter_map(|measured| {
            let value = Creatinine::from_reported(measured.value.value).ok()?;
            let taken_at = measured.at;
            Some((aki::Reading { value, taken_at }, measured))
        })
        .collect();
    // The caller has seen that the newest one is usable.
    let newest = measured.last().map_or(desk.now, |measured| measured.at);
    let new = aki::Reading {
        value,
        taken_at: newest,
    };
    let earlier: Vec<aki::Reading> = usable.iter().map(|(reading, _)| *reading).collect();
    let limit = |of: fn(&ResultValue) -> Option<Decimal>| {
        let limit = measured.last().and_then(|measured| of(measured.value))?;
        Creatinine::from_reported(limit).ok()
    };
    let range = LabRange {
        low: limit(|value| value.low),
        high: limit(|value| value.high),
    };
    let found = detect(new, &earlier, Person { age_years, range });
    let unseen = measured.last().is_some_and(|m| m.life.is_unreviewed());
    let mut text = capital(&found.sentence(value));
    let potassium = measured.last().and_then(|m| high_potassium(m));
    // RCPath G158: stages 2 and 3, and stage 1 with potassium over 6.0, are told by voice.
    let by_voice = match found.stage {
        Some(Stage::Two | Stage::Three) => true,
        Some(Stage::One) => potassium.is_some(),
        Some(Stage::None) | None => false,
    };
    if let Some(potassium) = potassium.filter(|_| by_voice) {
        text += &format!("; potassium {potassium}");
    }
    if by_voice {
        text += "; to be told by voice and read back";
    }
    let working = Working {
        about: About::Kidney,
        weight: match found.stage {
            Some(Stage::One | Stage::Two | Stage::Three) if unseen => Weight::Act,
            Some(Stage::One | Stage::Two | Stage::Three) => Weight::Look,
            Some(Stage::None) | None => Weight::Say,
        },
        text,
        parts: parts(&found),
        entries: usable.iter().map(|(_, measured)| measured.seq()).collect(),
        source: AKI_SOURCE,
        caution: aki::CAUTION,
    };
    (found.stage, working)
}

/// Potassium of the same result, if it is over 6.0 mmol/L.
fn high_potassium(measured: &Measured<'_>) -> Option<String> {
    let limit = Decimal {
        mantissa: 60,
        places: 1,
    };
    let values = &measured.life.reported.body.values;
    let potassium = values.iter().find(|v| v.analyte == Analyte::Potassium)?;
    let beyond = match potassium.comparator {
        Comparator::Exact => potassium.value.compare(limit).is_gt(),
        Comparator::Above => potassium.value.compare(limit).is_ge(),
        Comparator::Below => false,
    };
    beyond.then(|| potassium.numbers())
}

fn parts(found: &Aki) -> Vec<Part> {
    let mut parts = Vec::new();
    if let Some(reference) = &found.reference {
        parts.push(Part::new(
            "reference",
            format!(
                "{} µmol/L, {}",
                reference.value_shown(),
                reference.baseline.text()
            ),
        ));
        parts.push(Part::new("ratio", reference.ratio_text()));
    }
    if let Some(rise) = found.rise_48h_micromol_per_l() {
        parts.push(Part::new(
            "over the lowest of 48 h",
            format!("{rise} µmol/L"),
        ));
    }
    parts.push(Part::new("range", found.in_range.text()));
    if found.value_rule_unchecked {
        parts.push(Part::new(
            "not checked",
            "under 18 and no upper limit given: stage 3 by value",
        ));
    }
    parts
}

fn function(
    desk: &Desk<'_>,
    newest: &Measured<'_>,
    value: Creatinine,
    age_years: u32,
    stage: Option<Stage>,
) -> Working {
    let sex = desk
        .patient
        .details
        .as_ref()
        .map_or(Sex::NotKnown, |d| d.sex);
    let by = |equation| egfr(equation, value, age_years, sex);
    let text = match by(Equation::CkdEpi2009) {
        Ok(estimate) => {
            let injured = stage.is_some_and(|stage| stage != Stage::None);
            let doubt = if injured {
                ", not valid: creatinine is changing (AKI)"
            } else {
                ""
            };
            format!(
                "eGFR {} mL/min/1.73 m² ({}){doubt}",
                estimate.reported(),
                estimate.equation.text()
            )
        }
        Err(error) => format!("No eGFR: {error}"),
    };
    let other = by(Equation::CkdEpi2021)
        .ok()
        .map(|estimate| Part::new(estimate.equation.text(), estimate.reported()));
    Working {
        about: About::Kidney,
        weight: Weight::Say,
        text,
        parts: other.into_iter().collect(),
        entries: vec![newest.seq()],
        source: EGFR_SOURCE,
        caution: egfr::CAUTION,
    }
}

//! `nhs_number`, `age` and `stay`.

use chrono::NaiveDate;
use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, require, to_json, zone};
use crate::clinical::stay::stay;
use crate::record::nhs_number::NhsNumber;
use crate::record::time::{age_on, parse_date};

pub(super) const NHS_NUMBER: Calculator = Calculator {
    name: "nhs_number",
    about: "whether ten digits can be an NHS number (modulus 11 check digit)",
    fields: &[Field::must(
        "number",
        "ten digits in quotes; spaces and hyphens are dropped",
    )],
    example: r#"{"calc":"nhs_number","number":"999 000 0018"}"#,
    run: nhs_number,
};

pub(super) const AGE: Calculator = Calculator {
    name: "age",
    about: "exact age on a date, 29 February included",
    fields: &[
        Field::must(
            "born",
            "date of birth: 1944-07-02, 02-Jul-1944 or 02/07/1944 (day first)",
        ),
        Field::must("on", "the date, in the same forms"),
    ],
    example: r#"{"calc":"age","born":"29-Feb-1944","on":"2026-02-28"}"#,
    run: age,
};

pub(super) const STAY: Calculator = Calculator {
    name: "stay",
    about: "length of stay in midnights (bed days) and elapsed minutes",
    fields: &[
        Field::must("admitted", "RFC 3339 time"),
        Field::must("left", "RFC 3339 time, not before admission"),
        Field::may("zone", "time zone of the ward; Europe/London if not given"),
    ],
    example: r#"{"calc":"stay","admitted":"2026-10-24T09:00:00Z","left":"2026-10-26T10:00:00Z"}"#,
    run: length_of_stay,
};

#[derive(Serialize)]
struct NumberAnswer {
    ok: bool,
    shown: String,
    reserved_for_tests: bool,
    /// Whether an entry takes it: the arithmetic and our policy.
    accepted_in_entry: bool,
    caution: &'static str,
}

const NUMBER_CAUTION: &str = "Arithmetic only: it says nothing of whose number it is or whether it was ever issued; ten equal digits pass it and are refused in entry.";

fn nhs_number(fields: &Fields<'_>) -> Result<String, Refused> {
    let text = fields
        .text("number")?
        .ok_or_else(|| Refused::Missing(vec!["number"]))?;
    let number = NhsNumber::by_arithmetic(&text).map_err(Refused::said)?;
    Ok(to_json(&NumberAnswer {
        ok: true,
        shown: number.to_string(),
        reserved_for_tests: number.is_reserved_for_tests(),
        accepted_in_entry: !number.is_all_equal(),
        caution: NUMBER_CAUTION,
    }))
}

#[derive(Serialize)]
struct AgeAnswer {
    ok: bool,
    years: u32,
    months: u32,
    days: u32,
}

pub(super) fn date(fields: &Fields<'_>, name: &str) -> Result<Option<NaiveDate>, Refused> {
    let Some(text) = fields.text(name)? else {
        return Ok(None);
    };
    parse_date(&text).map(Some).map_err(Refused::said)
}

fn age(fields: &Fields<'_>) -> Result<String, Refused> {
    let (born, on) = (date(fields, "born")?, date(fields, "on")?);
    require(&[("born", born.is_some()), ("on", on.is_some())])?;
    let age = born.zip(on).and_then(|(born, on)| age_on(born, on));
    let age =
        age.ok_or_else(|| Refused::Said("\"on\" is before \"born\"; check both dates".to_owned()))?;
    Ok(to_json(&AgeAnswer {
        ok: true,
        years: age.years,
        months: age.months,
        days: age.days,
    }))
}

#[derive(Serialize)]
struct StayAnswer {
    ok: bool,
    midnights: i64,
    elapsed_min: i64,
}

fn length_of_stay(fields: &Fields<'_>) -> Result<String, Refused> {
    let zone = zone(fields)?;
    let (admitted, left) = (fields.moment("admitted")?, fields.moment("left")?);
    require(&[("admitted", admitted.is_some()), ("left", left.is_some())])?;
    let (admitted, left) = (admitted.unwrap_or_default(), left.unwrap_or_default());
    let stay = stay(admitted, left, zone).map_err(Refused::said)?;
    Ok(to_json(&StayAnswer {
        ok: true,
        midnights: stay.midnights,
        elapsed_min: stay.elapsed.whole_minutes(),
    }))
}

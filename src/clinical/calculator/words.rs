//! `acvpu`, `pain` and `treatment_day`: small things that are looked up rather than worked out.

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, person::date, require, to_json};
use crate::clinical::scales::acvpu_caution;
use crate::clinical::stay::day_of;

pub(super) const ACVPU: Calculator = Calculator {
    name: "acvpu",
    about: "what an ACVPU letter asks for before it is trusted; it does not convert to a coma scale",
    fields: &[Field::must("acvpu", "A, C (new confusion), V, P or U")],
    example: r#"{"calc":"acvpu","acvpu":"V"}"#,
    run: run_acvpu,
};

pub(super) const PAIN: Calculator = Calculator {
    name: "pain",
    about: "pain by the numeric rating scale, 0 none to 10 worst imaginable, and its change (common practice)",
    fields: &[
        Field::may("rest", "at rest, 0 to 10; this or moving is required"),
        Field::may("moving", "on movement, 0 to 10"),
        Field::may("before", "the worst when asked before, 0 to 10"),
    ],
    example: r#"{"calc":"pain","rest":3,"moving":6,"before":8}"#,
    run: run_pain,
};

pub(super) const TREATMENT_DAY: Calculator = Calculator {
    name: "treatment_day",
    about: "which day of treatment it is: 1 on the date of the first dose (common practice)",
    fields: &[
        Field::must(
            "began",
            "date of the first dose: 2026-03-01, 01-Mar-2026 or 01/03/2026 (day first)",
        ),
        Field::must("on", "the date, in the same forms"),
    ],
    example: r#"{"calc":"treatment_day","began":"2028-02-28","on":"2028-03-01"}"#,
    run: run_day,
};

#[derive(Serialize)]
struct AcvpuAnswer {
    ok: bool,
    letter: String,
    says: &'static str,
    source: &'static str,
    caution: &'static str,
}

fn run_acvpu(fields: &Fields<'_>) -> Result<String, Refused> {
    let acvpu = super::news2::acvpu(fields)?.ok_or_else(|| Refused::Missing(vec!["acvpu"]))?;
    Ok(to_json(&AcvpuAnswer {
        ok: true,
        letter: acvpu.to_string(),
        says: acvpu_caution(acvpu).unwrap_or("alert: nothing more is asked for"),
        source: "Royal College of Physicians, 2017 (new confusion); common practice",
        caution: "No coma score can be derived from a letter, nor a letter from a coma score.",
    }))
}

#[derive(Serialize)]
struct PainAnswer {
    ok: bool,
    worst: i32,
    since_before: Option<i32>,
    source: &'static str,
    caution: &'static str,
}

fn run_pain(fields: &Fields<'_>) -> Result<String, Refused> {
    let asked = |name| fields.within(name, 0, (0, 10));
    let (rest, moving, before) = (asked("rest")?, asked("moving")?, asked("before")?);
    let worst = rest
        .max(moving)
        .ok_or_else(|| Refused::Missing(vec!["rest or moving"]))?;
    Ok(to_json(&PainAnswer {
        ok: true,
        worst,
        since_before: before.map(|before| worst - before),
        source: "numeric rating scale: common practice, no source",
        caution: "What the patient says it is. Ask again after analgesia.",
    }))
}

#[derive(Serialize)]
struct DayAnswer {
    ok: bool,
    day: i64,
    source: &'static str,
    caution: &'static str,
}

fn run_day(fields: &Fields<'_>) -> Result<String, Refused> {
    let (began, on) = (date(fields, "began")?, date(fields, "on")?);
    require(&[("began", began.is_some()), ("on", on.is_some())])?;
    let (Some(began), Some(on)) = (began, on) else {
        return Err(Refused::Missing(vec!["began"]));
    };
    let day = day_of(began, on)
        .ok_or_else(|| Refused::Said("the date is before the treatment began".to_owned()))?;
    Ok(to_json(&DayAnswer {
        ok: true,
        day,
        source: "common practice, no source",
        caution: "Counts calendar days from the first dose, not doses taken.",
    }))
}

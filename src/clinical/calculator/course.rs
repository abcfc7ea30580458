//! `blood_series` and `crp`: one test over time.

use serde::Serialize;

use super::blood::{analyte, reported, sex};
use super::fields::Fields;
use super::{Calculator, Field, Refused, require, to_json};
use crate::clinical::blood::{self, Bound, alt_is_critical, crp_course, typical_range};
use crate::clinical::policy::Values;
use crate::record::kind::episode::Sex;
use crate::record::kind::sample::{Analyte, Comparator, ResultValue};
use crate::record::quantity::Decimal;
use crate::record::time::Timestamp;

pub(super) const BLOOD_SERIES: Calculator = Calculator {
    name: "blood_series",
    about: "one blood test over time: flag, change, critical with its reason, how long unreviewed",
    fields: &[
        Field::must("test", "as in blood"),
        Field::must(
            "results",
            "a list of {\"at\": RFC 3339 time, \"value\": as in blood, \"low\" and \"high\": the laboratory's limits, may be left out}, in any order",
        ),
        Field::may("sex", "F or M; some typical ranges depend on it"),
        Field::may(
            "as_of",
            "RFC 3339 time; later results are left out; the latest result if not given",
        ),
        Field::may(
            "reviewed_at",
            "RFC 3339 time the latest result was looked at",
        ),
    ],
    example: r#"{"calc":"blood_series","test":"k","results":[{"at":"2026-03-01T08:00:00Z","value":4.8,"low":3.5,"high":5.3},{"at":"2026-03-02T08:00:00Z","value":6.6,"low":3.5,"high":5.3}],"as_of":"2026-03-02T11:00:00Z"}"#,
    run: run_series,
};

pub(super) const CRP: Calculator = Calculator {
    name: "crp",
    about: "CRP under treatment: peak, share of the peak, rising after two days",
    fields: &[
        Field::must(
            "values",
            "a list of {\"at\": RFC 3339 time, \"value\": mg/L}, in any order",
        ),
        Field::must(
            "treated_from",
            "RFC 3339 time treatment began; earlier values are left out",
        ),
        Field::may(
            "as_of",
            "RFC 3339 time; later values are left out; the latest value if not given",
        ),
    ],
    example: r#"{"calc":"crp","treated_from":"2026-03-01T08:00:00Z","values":[{"at":"2026-03-01T09:00:00Z","value":96},{"at":"2026-03-03T09:00:00Z","value":180},{"at":"2026-03-04T09:00:00Z","value":88}]}"#,
    run: run_crp,
};

#[derive(Serialize)]
struct SeriesAnswer {
    ok: bool,
    at: Timestamp,
    value: String,
    flag: &'static str,
    since_before: Option<f64>,
    since_first: Option<f64>,
    critical: bool,
    critical_because: Option<String>,
    unreviewed_minutes: Option<i64>,
    unit: &'static str,
    source: &'static str,
    caution: &'static str,
}

const SOURCE: &str =
    "the laboratory's own range; critical limits: RCPath G158 (2017), haematology from memory";
const CAUTION: &str = "Laboratories differ: the laboratory's own range and its call decide.";

fn run_series(fields: &Fields<'_>) -> Result<String, Refused> {
    let analyte = analyte(fields)?;
    let list = fields.objects("results", &["at", "value", "low", "high"], "blood_series")?;
    require(&[("test", analyte.is_some()), ("results", list.is_some())])?;
    let (Some(analyte), Some(list)) = (analyte, list) else {
        return Err(Refused::Missing(vec!["test"]));
    };
    let mut results: Vec<(Timestamp, ResultValue)> = list
        .iter()
        .map(|fields| result(analyte, fields))
        .collect::<Result<_, _>>()?;
    results.sort_by_key(|(at, _)| *at);
    let as_of = fields
        .moment("as_of")?
        .or(results.last().map(|(at, _)| *at));
    results.retain(|(at, _)| Some(*at) <= as_of);
    let (Some(as_of), Some(((at, now), earlier))) = (as_of, results.split_last()) else {
        return Err(Refused::Said(
            "there is no result up to that time".to_owned(),
        ));
    };
    let reviewed = fields.moment("reviewed_at")?.filter(|seen| *seen <= as_of);
    if reviewed.is_some_and(|seen| seen < *at) {
        return Err(Refused::Said(
            "reviewed_at is before the latest result".to_owned(),
        ));
    }
    let sex = sex(fields)?.unwrap_or(Sex::NotKnown);
    let more = |then: &(Timestamp, ResultValue)| blood::change(&then.1, now).map(Decimal::to_f64);
    let because = critical_because(now);
    Ok(to_json(&SeriesAnswer {
        ok: true,
        at: *at,
        value: now.numbers(),
        flag: super::blood::flag_code(blood::flag(now, typical_range(analyte, sex)).0),
        since_before: earlier.last().and_then(more),
        since_first: earlier.first().and_then(more),
        critical: because.is_some(),
        critical_because: because,
        unreviewed_minutes: reviewed.is_none().then(|| as_of.since(*at).whole_minutes()),
        unit: analyte.unit(),
        source: SOURCE,
        caution: CAUTION,
    }))
}

fn result(analyte: Analyte, fields: &Fields<'_>) -> Result<(Timestamp, ResultValue), Refused> {
    let (at, value) = (fields.moment("at")?, reported(fields)?);
    require(&[("at", at.is_some()), ("value", value.is_some())])?;
    let (Some(at), Some((comparator, value))) = (at, value) else {
        return Err(Refused::Missing(vec!["at"]));
    };
    if let Some(problem) = analyte.limits().refuses(analyte, value) {
        let said = format!("{}; accepted are {}", problem.what, problem.accepted);
        return Err(Refused::Said(said));
    }
    let (low, high) = (fields.decimal("low")?, fields.decimal("high")?);
    if low
        .zip(high)
        .is_some_and(|(low, high)| low.compare(high).is_ge())
    {
        return Err(Refused::Said("low must be less than high".to_owned()));
    }
    let result = ResultValue {
        analyte,
        comparator,
        value,
        low,
        high,
    };
    Ok((at, result))
}

/// Which limit makes a result critical.
fn critical_because(result: &ResultValue) -> Option<String> {
    if alt_is_critical(result) == Some(true) {
        return Some("at least 15 times the laboratory's upper limit".to_owned());
    }
    let critical = Values::default().blood().critical(result.analyte);
    let of = |bound: Option<Bound>, is_high: bool| {
        let bound = bound?;
        let one = blood::Critical {
            low: (!is_high).then_some(bound),
            high: is_high.then_some(bound),
        };
        let way = match (is_high, bound.inclusive) {
            (true, true) => "at or above",
            (true, false) => "above",
            (false, true) => "at or below",
            (false, false) => "below",
        };
        let said = format!("{way} {} {}", bound.limit, result.analyte.unit());
        one.holds(result).then_some(said)
    };
    of(critical.low, false).or_else(|| of(critical.high, true))
}

#[derive(Serialize)]
struct CrpAnswer {
    ok: bool,
    peak: f64,
    peak_at: Timestamp,
    latest: f64,
    latest_at: Timestamp,
    percent_of_peak: Option<i32>,
    rising: bool,
    rising_on_treatment: bool,
    source: &'static str,
    caution: &'static str,
}

fn run_crp(fields: &Fields<'_>) -> Result<String, Refused> {
    let list = fields.objects("values", &["at", "value"], "crp")?;
    let from = fields.moment("treated_from")?;
    require(&[("values", list.is_some()), ("treated_from", from.is_some())])?;
    let values: Vec<(Timestamp, Decimal)> = list
        .unwrap_or_default()
        .iter()
        .map(|fields| {
            let (at, result) = result(Analyte::Crp, fields)?;
            match result.comparator {
                Comparator::Exact => Ok((at, result.value)),
                _ => Err(Refused::Said(
                    "a course takes exact values; leave out those such as \"<5\"".to_owned(),
                )),
            }
        })
        .collect::<Result<_, _>>()?;
    let last = values.iter().map(|(at, _)| *at).max().unwrap_or_default();
    let as_of = fields.moment("as_of")?.unwrap_or(last);
    let course = crp_course(&values, from.unwrap_or_default(), as_of).ok_or_else(|| {
        Refused::Said("fewer than two values since treatment began, so no course".to_owned())
    })?;
    Ok(to_json(&CrpAnswer {
        ok: true,
        peak: course.peak.1.to_f64(),
        peak_at: course.peak.0,
        latest: course.latest.1.to_f64(),
        latest_at: course.latest.0,
        percent_of_peak: course.percent_of_peak(),
        rising: course.rising,
        rising_on_treatment: course.rising_on_treatment,
        source: "common practice, no source",
        caution: "CRP lags a day behind the illness: a rise in the first two days of treatment is no failure.",
    }))
}

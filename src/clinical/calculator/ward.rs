//! `xmr`, `occupancy` and `retention`: measures of the ward, not of a patient.

use chrono::NaiveDate;
use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, four_places, require, to_json};
use crate::clinical::occupancy::{Occupancy, hundredths_per_100_000};
use crate::clinical::retention::{self, RecordType, review_on};
use crate::clinical::xmr::{POINTS_FOR_LIMITS, xmr};
use crate::record::time::{parse_date, show_date};

/// Most points a chart is drawn of.
const POINTS_MAX: usize = 1000;

pub(super) const XMR: Calculator = Calculator {
    name: "xmr",
    about: "XmR chart of a ward's measure: limits, and what each point signals",
    fields: &[
        Field::must(
            "values",
            "a list of 2 to 1000 numbers in order of time, at most six decimals",
        ),
        Field::may(
            "fixed_on",
            "how many of the first points the limits rest on, 2 to 1000; all if not given",
        ),
    ],
    example: r#"{"calc":"xmr","values":[10,12,11,13,10,12,11,25,13,11,12,10]}"#,
    run: chart,
};

pub(super) const OCCUPANCY: Calculator = Calculator {
    name: "occupancy",
    about: "occupancy at a snapshot, and places for 100,000 people",
    fields: &[
        Field::must("patients", "patients at the snapshot, 0 to 100000"),
        Field::must("capacity", "open places, 0 to 100000"),
        Field::may(
            "population",
            "people of 16 and over registered with a general practice, 1 to 100000000",
        ),
    ],
    example: r#"{"calc":"occupancy","patients":33,"capacity":40,"population":412000}"#,
    run: occupancy,
};

pub(super) const RETENTION: Calculator = Calculator {
    name: "retention",
    about: "the earliest date on which a record is reviewed (England, Records Management Code 2021)",
    fields: &[
        Field::must(
            "last_entry",
            "date of the last entry: 2026-04-14, 14-Apr-2026 or 14/04/2026 (day first)",
        ),
        Field::must(
            "record",
            "\"adult\", \"mental-health\" or \"controlled-drugs\"",
        ),
    ],
    example: r#"{"calc":"retention","last_entry":"2024-02-29","record":"adult"}"#,
    run: retained,
};

#[derive(Serialize)]
struct ChartAnswer {
    ok: bool,
    mean: f64,
    mean_range: f64,
    low: f64,
    high: f64,
    range_high: f64,
    trial: bool,
    outside: Vec<usize>,
    shift: Vec<usize>,
    trend: Vec<usize>,
    two_of_three: Vec<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    says: Option<String>,
}

fn chart(fields: &Fields<'_>) -> Result<String, Refused> {
    let values = fields.decimals("values", POINTS_MAX)?;
    require(&[("values", values.is_some())])?;
    let values: Vec<f64> = values
        .unwrap_or_default()
        .into_iter()
        .map(crate::record::quantity::Decimal::to_f64)
        .collect();
    let fixed_on = match fields.within("fixed_on", 0, (2, 1000))? {
        None => values.len(),
        Some(count) => usize::try_from(count).unwrap_or(values.len()),
    };
    let chart = xmr(&values, fixed_on).map_err(Refused::said)?;
    let at = |signals: fn(&crate::clinical::xmr::Signals) -> bool| {
        let marked = chart.signals.iter().enumerate();
        marked
            .filter(|(_, signal)| signals(signal))
            .map(|(at, _)| at)
            .collect()
    };
    Ok(to_json(&ChartAnswer {
        ok: true,
        mean: four_places(chart.mean),
        mean_range: four_places(chart.mean_range),
        low: four_places(chart.low),
        high: four_places(chart.high),
        range_high: four_places(chart.range_high),
        trial: chart.trial,
        outside: at(|signal| signal.outside),
        shift: at(|signal| signal.shift),
        trend: at(|signal| signal.trend),
        two_of_three: at(|signal| signal.two_of_three),
        says: chart
            .trial
            .then(|| format!("trial limits: they rest on fewer than {POINTS_FOR_LIMITS} points")),
    }))
}

#[derive(Serialize)]
struct OccupancyAnswer {
    ok: bool,
    occupancy_percent: Option<f64>,
    above_80_percent: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    capacity_per_100_000: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    says: Option<&'static str>,
}

#[expect(clippy::cast_precision_loss, reason = "counts of at most nine digits")]
fn occupancy(fields: &Fields<'_>) -> Result<String, Refused> {
    let count = |name, high| -> Result<Option<u32>, Refused> {
        let given = fields.within(name, 0, (0, high))?;
        Ok(given.and_then(|count| u32::try_from(count).ok()))
    };
    let (patients, capacity) = (count("patients", 100_000)?, count("capacity", 100_000)?);
    let population = match fields.within("population", 0, (1, 100_000_000))? {
        None => None,
        Some(people) => u32::try_from(people).ok(),
    };
    require(&[
        ("patients", patients.is_some()),
        ("capacity", capacity.is_some()),
    ])?;
    let capacity = capacity.unwrap_or_default();
    let occupancy = Occupancy {
        patients: patients.unwrap_or_default(),
        capacity,
    };
    let places = population.and_then(|people| hundredths_per_100_000(capacity, people));
    let share = occupancy.tenths_of_percent();
    Ok(to_json(&OccupancyAnswer {
        ok: true,
        occupancy_percent: share.map(|tenths| tenths as f64 / 10.0),
        above_80_percent: occupancy.is_above_80_percent(),
        capacity_per_100_000: places.map(|hundredths| hundredths as f64 / 100.0),
        says: share
            .is_none()
            .then_some("occupancy is not defined without an open place"),
    }))
}

#[derive(Serialize)]
struct RetentionAnswer {
    ok: bool,
    years: i32,
    review_on: String,
    caution: &'static str,
}

fn retained(fields: &Fields<'_>) -> Result<String, Refused> {
    let (last, record) = (fields.text("last_entry")?, fields.text("record")?);
    require(&[("last_entry", last.is_some()), ("record", record.is_some())])?;
    let last: NaiveDate = parse_date(&last.unwrap_or_default()).map_err(Refused::said)?;
    let given = record.unwrap_or_default();
    let record = RecordType::ALL
        .into_iter()
        .find(|record| record.code() == given)
        .ok_or_else(|| Refused::WrongType {
            field: "record".to_owned(),
            wanted: "\"adult\", \"mental-health\" or \"controlled-drugs\"",
        })?;
    let review = review_on(record, last).ok_or_else(|| {
        Refused::Said("the period ends beyond the calendar; check the year".to_owned())
    })?;
    Ok(to_json(&RetentionAnswer {
        ok: true,
        years: record.years(),
        review_on: show_date(review),
        caution: retention::CAUTION,
    }))
}

//! `wound_series`: one wound over time.

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, four_places, require, to_json, zone};
use crate::clinical::wound::{
    FourWeeks, Size, curve, escalate_for_infection, four_weeks, gilman_cm_per_week,
    is_reverse_staged,
};
use crate::record::kind::wound::{Infection, PressureCategory, WoundType};
use crate::record::time::Timestamp;

pub(super) const WOUND_SERIES: Calculator = Calculator {
    name: "wound_series",
    about: "one wound over time: healing curve, four-week marker, Gilman a week, infection stage (IWII 2022), category staged backwards (EPUAP 2019), days to dressing",
    fields: &[
        Field::must(
            "measured",
            "a list of {\"at\": RFC 3339 time, \"length\", \"width\": cm, one decimal}, in any order",
        ),
        Field::may(
            "type",
            "kind of wound, such as venous-leg-ulcer, for its four-week marker",
        ),
        Field::may(
            "infection",
            "none, covert-local, overt-local, spreading or systemic",
        ),
        Field::may(
            "category_before",
            "pressure-ulcer category before: 1 to 4, unstageable or deep-tissue",
        ),
        Field::may("category", "pressure-ulcer category now"),
        Field::may("next_dressing", "RFC 3339 time of the next change"),
        Field::may(
            "as_of",
            "RFC 3339 time; the latest measurement if not given",
        ),
        Field::may(
            "zone",
            "time zone whose midnights count; Europe/London if not given",
        ),
    ],
    example: r#"{"calc":"wound_series","type":"venous-leg-ulcer","measured":[{"at":"2026-03-01T10:00:00Z","length":4.0,"width":3.0},{"at":"2026-03-15T10:00:00Z","length":3.6,"width":2.6},{"at":"2026-03-29T10:00:00Z","length":3.2,"width":2.1}],"infection":"spreading","next_dressing":"2026-03-31T10:00:00Z"}"#,
    run,
};

const SOURCE: &str =
    "geometry; Gilman 1990; four-week markers: Sheehan 2003, Phillips 2000; IWII 2022; EPUAP 2019";
const CAUTION: &str = "A rectangle overstates the area; a marker says when to reassess, never that a wound will not heal.";

#[derive(Serialize)]
struct Answer {
    ok: bool,
    curve: Vec<Point>,
    gilman_cm_per_week: Option<f64>,
    four_weeks: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    escalate_for_infection: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    staged_backwards: Option<bool>,
    #[serde(skip_serializing_if = "Option::is_none")]
    days_to_dressing: Option<i64>,
    source: &'static str,
    caution: &'static str,
}

#[derive(Serialize)]
struct Point {
    at: Timestamp,
    area_rectangle_cm2: f64,
    reduction_percent: f64,
}

fn run(fields: &Fields<'_>) -> Result<String, Refused> {
    let list = fields.objects("measured", &["at", "length", "width"], "wound_series")?;
    let list = list.ok_or_else(|| Refused::Missing(vec!["measured"]))?;
    let mut measured: Vec<(Timestamp, Size)> = list.iter().map(size).collect::<Result<_, _>>()?;
    measured.sort_by_key(|(at, _)| *at);
    let asked = fields.moment("as_of")?;
    let as_of = asked
        .or(measured.last().map(|(at, _)| *at))
        .unwrap_or_default();
    measured.retain(|(at, _)| *at <= as_of);
    let points = curve(&measured).map_err(Refused::said)?;
    let kind = choice(fields, "type", WoundType::from_code, KINDS)?;
    let infection = choice(fields, "infection", Infection::from_code, INFECTIONS)?;
    let category = |name| choice(fields, name, PressureCategory::from_code, CATEGORIES);
    let categories = category("category_before")?.zip(category("category")?);
    let zone = zone(fields)?;
    let due = fields.moment("next_dressing")?;
    let four_weeks = kind.map(|kind| four_weeks(kind, &measured)).transpose();
    Ok(to_json(&Answer {
        ok: true,
        curve: points.iter().map(point).collect(),
        gilman_cm_per_week: per_week(&measured)?,
        four_weeks: four_weeks.map_err(Refused::said)?.map(said),
        escalate_for_infection: infection.map(escalate_for_infection),
        staged_backwards: categories.map(|(before, now)| is_reverse_staged(before, now)),
        days_to_dressing: due.map(|due| (zone.date(due) - zone.date(as_of)).num_days()),
        source: SOURCE,
        caution: CAUTION,
    }))
}

#[expect(clippy::cast_precision_loss, reason = "at most a million mm²")]
fn point(point: &crate::clinical::wound::CurvePoint) -> Point {
    Point {
        at: point.taken_at,
        area_rectangle_cm2: point.rectangle_mm2 as f64 / 100.0,
        // Cut off, never rounded up to a marker.
        reduction_percent: point.reduction.percent_cut_off(),
    }
}

fn size(fields: &Fields<'_>) -> Result<(Timestamp, Size), Refused> {
    let (at, length, width) = (
        fields.moment("at")?,
        fields.steps("length", 1)?,
        fields.steps("width", 1)?,
    );
    require(&[
        ("at", at.is_some()),
        ("length", length.is_some()),
        ("width", width.is_some()),
    ])?;
    let size = Size::new(length.unwrap_or_default(), width.unwrap_or_default(), None);
    Ok((at.unwrap_or_default(), size.map_err(Refused::said)?))
}

/// From the first to the last measurement, a day apart or more.
fn per_week(measured: &[(Timestamp, Size)]) -> Result<Option<f64>, Refused> {
    let [(began, first), .., (ended, last)] = measured else {
        return Ok(None);
    };
    let days = ended.since(*began).whole_minutes() / (24 * 60);
    match u32::try_from(days) {
        Ok(days) if days > 0 => gilman_cm_per_week(*first, *last, days)
            .map(|rate| Some(four_places(rate)))
            .map_err(Refused::said),
        _ => Ok(None),
    }
}

const KINDS: &str =
    "a kind of wound, such as pressure-ulcer, venous-leg-ulcer or diabetic-foot-ulcer";
const INFECTIONS: &str = "one of none, covert-local, overt-local, spreading or systemic";
const CATEGORIES: &str = "1, 2, 3, 4, unstageable or deep-tissue, in quotes";

fn choice<T>(
    fields: &Fields<'_>,
    name: &'static str,
    read: fn(&str) -> Option<T>,
    wanted: &'static str,
) -> Result<Option<T>, Refused> {
    let Some(text) = fields.text(name)? else {
        return Ok(None);
    };
    read(&text).map(Some).ok_or_else(|| Refused::WrongType {
        field: name.to_owned(),
        wanted,
    })
}

fn said(found: FourWeeks) -> String {
    match found {
        FourWeeks::NoMarker => "no marker is published for this kind".to_owned(),
        FourWeeks::NotYet { .. } => "not measured at or after four weeks yet".to_owned(),
        FourWeeks::Reached(marker) => {
            format!(
                "at least {} % smaller at four weeks ({})",
                marker.percent, marker.source
            )
        }
        FourWeeks::NotReached(marker) => marker.not_reached(),
    }
}

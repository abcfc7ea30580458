//! `wound`, `gcs`, `4at` and `fluid`.

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, four_places, require, to_json};
use crate::clinical::fluid::{self, Fluid, Way, balance, urine_is_low};
use crate::clinical::scales::{self, Coma, FOUR_AT_CREDIT, FourAt};
use crate::clinical::wound::{self, Marker, Reduction, Size, gilman_cm, gilman_cm_per_week};
use crate::record::kind::wound::WoundType;

pub(super) const WOUND: Calculator = Calculator {
    name: "wound",
    about: "area (rectangle and ellipse), volume, reduction, linear healing (Gilman 1990)",
    fields: &[
        Field::must(
            "length",
            "cm, one decimal, 0 to 100; 0 with width 0 is healed",
        ),
        Field::must("width", "cm, one decimal, 0 to 100"),
        Field::may("depth", "cm, one decimal, 0 to 100"),
        Field::may("first_length", "length at the first measurement, cm"),
        Field::may("first_width", "width at the first measurement, cm"),
        Field::may("days", "whole days since the first measurement, 1 to 36500"),
        Field::may(
            "type",
            "kind of wound, such as venous-leg-ulcer, for its four-week marker",
        ),
    ],
    example: r#"{"calc":"wound","length":3.2,"width":2.1,"first_length":4,"first_width":3,"days":28,"type":"venous-leg-ulcer"}"#,
    run: run_wound,
};

pub(super) const GCS: Calculator = Calculator {
    name: "gcs",
    about: "Glasgow Coma Scale; no total if a part is not testable",
    fields: &[
        Field::must("eye", "1 to 4, or \"NT\""),
        Field::must("verbal", "1 to 5, or \"NT\""),
        Field::must("motor", "1 to 6, or \"NT\""),
    ],
    example: r#"{"calc":"gcs","eye":4,"verbal":"NT","motor":6}"#,
    run: gcs,
};

pub(super) const FOUR_AT: Calculator = Calculator {
    name: "4at",
    about: "4AT for delirium (© MacLullich, Ryan, Cash; the4at.com)",
    fields: &[
        Field::must("alertness", "0 or 4"),
        Field::must("amt4", "0, 1 or 2"),
        Field::must("attention", "0, 1 or 2"),
        Field::must("acute_change", "0 or 4"),
    ],
    example: r#"{"calc":"4at","alertness":0,"amt4":1,"attention":2,"acute_change":4}"#,
    run: four_at,
};

pub(super) const FLUID: Calculator = Calculator {
    name: "fluid",
    about: "fluid balance of what was recorded in a window",
    fields: &[
        Field::must("from", "RFC 3339 time, included"),
        Field::must("to", "RFC 3339 time, not included"),
        Field::must(
            "amounts",
            "a list of {\"at\": RFC 3339 time, \"way\": \"in\", \"urine\" or \"out\", \"ml\": 0 to 20000}",
        ),
        Field::may("weight", "kg, one decimal, 20 to 350; for urine in mL/kg/h"),
    ],
    example: r#"{"calc":"fluid","from":"2026-03-01T08:00:00Z","to":"2026-03-01T20:00:00Z","amounts":[{"at":"2026-03-01T09:00:00Z","way":"in","ml":500},{"at":"2026-03-01T12:00:00Z","way":"urine","ml":300}],"weight":60}"#,
    run: run_fluid,
};

#[derive(Serialize)]
struct WoundAnswer {
    ok: bool,
    healed: bool,
    area_rectangle_cm2: f64,
    area_ellipse_cm2: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    volume_box_cm3: Option<f64>,
    perimeter_cm: f64,
    #[serde(flatten)]
    change: Option<WoundChange>,
    source: &'static str,
    caution: &'static str,
}

#[derive(Serialize)]
struct WoundChange {
    reduction_percent: f64,
    gilman_cm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    gilman_cm_per_week: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    marker: Option<MarkerAnswer>,
}

#[derive(Serialize)]
struct MarkerAnswer {
    percent: u8,
    reached: bool,
    source: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    says: Option<String>,
}

#[expect(clippy::cast_precision_loss, reason = "at most a thousand million mm³")]
fn run_wound(fields: &Fields<'_>) -> Result<String, Refused> {
    let (length, width) = (fields.steps("length", 1)?, fields.steps("width", 1)?);
    let size = size(
        ("length", length),
        ("width", width),
        fields.steps("depth", 1)?,
    )?;
    Ok(to_json(&WoundAnswer {
        ok: true,
        healed: size.is_healed(),
        area_rectangle_cm2: size.rectangle_mm2() as f64 / 100.0,
        area_ellipse_cm2: four_places(size.ellipse_cm2()),
        volume_box_cm3: size.box_mm3().map(|mm3| mm3 as f64 / 1000.0),
        perimeter_cm: four_places(size.perimeter_cm()),
        change: wound_change(fields, size)?,
        source: wound::SOURCE,
        caution: wound::CAUTION,
    }))
}

fn size(
    length: (&'static str, Option<i32>),
    width: (&'static str, Option<i32>),
    depth: Option<i32>,
) -> Result<Size, Refused> {
    require(&[(length.0, length.1.is_some()), (width.0, width.1.is_some())])?;
    Size::new(
        length.1.unwrap_or_default(),
        width.1.unwrap_or_default(),
        depth,
    )
    .map_err(Refused::said)
}

fn wound_change(fields: &Fields<'_>, now: Size) -> Result<Option<WoundChange>, Refused> {
    let (length, width) = (
        fields.steps("first_length", 1)?,
        fields.steps("first_width", 1)?,
    );
    let days = fields
        .within("days", 0, (1, 36_500))?
        .and_then(|days| u32::try_from(days).ok());
    let kind = kind(fields)?;
    if length.is_none() && width.is_none() {
        return match (days, kind) {
            (None, None) => Ok(None),
            _ => Err(Refused::Missing(vec!["first_length", "first_width"])),
        };
    }
    let first = size(("first_length", length), ("first_width", width), None)?;
    let reduction = Reduction::between(first, now).map_err(Refused::said)?;
    let per_week = match days {
        None => None,
        Some(days) => Some(gilman_cm_per_week(first, now, days).map_err(Refused::said)?),
    };
    // Before four weeks a marker says nothing.
    let marker = kind
        .and_then(Marker::of)
        .filter(|_| days.is_some_and(|days| days >= 28));
    Ok(Some(WoundChange {
        reduction_percent: reduction.percent_cut_off(),
        gilman_cm: four_places(gilman_cm(first, now)),
        gilman_cm_per_week: per_week.map(four_places),
        marker: marker.map(|marker| marker_answer(marker, reduction)),
    }))
}

fn marker_answer(marker: Marker, reduction: Reduction) -> MarkerAnswer {
    let reached = reduction.reaches(marker.percent);
    MarkerAnswer {
        percent: marker.percent,
        reached,
        source: marker.source,
        says: (!reached).then(|| marker.not_reached()),
    }
}

fn kind(fields: &Fields<'_>) -> Result<Option<WoundType>, Refused> {
    let Some(text) = fields.text("type")? else {
        return Ok(None);
    };
    let wanted = "a kind of wound, such as pressure-ulcer, venous-leg-ulcer or diabetic-foot-ulcer";
    let unknown = Refused::WrongType {
        field: "type".to_owned(),
        wanted,
    };
    WoundType::from_code(&text).map(Some).ok_or(unknown)
}

#[derive(Serialize)]
struct ComaAnswer {
    ok: bool,
    total: Option<u8>,
    parts: String,
    suggests_confusion: bool,
    source: &'static str,
    caution: &'static str,
}

fn gcs(fields: &Fields<'_>) -> Result<String, Refused> {
    let parts = ["eye", "verbal", "motor"];
    let read = parts.map(|name| (name, fields.points_or_nt(name)));
    let mut points = [None; 3];
    let mut given = Vec::new();
    for (at, (name, part)) in read.into_iter().enumerate() {
        let part = part?;
        given.push((name, part.is_some()));
        points[at] = part.flatten();
    }
    require(&given)?;
    let coma = Coma::new(points[0], points[1], points[2]).map_err(Refused::said)?;
    Ok(to_json(&ComaAnswer {
        ok: true,
        total: coma.total(),
        parts: coma.parts_text(),
        suggests_confusion: coma.suggests_confusion(),
        source: scales::COMA_SOURCE,
        caution: scales::COMA_CAUTION,
    }))
}

#[derive(Serialize)]
struct FourAtAnswer {
    ok: bool,
    total: u8,
    reading: &'static str,
    credit: &'static str,
    source: &'static str,
    caution: &'static str,
}

fn four_at(fields: &Fields<'_>) -> Result<String, Refused> {
    let names = ["alertness", "amt4", "attention", "acute_change"];
    let mut points = [0; 4];
    let mut given = Vec::new();
    for (at, name) in names.into_iter().enumerate() {
        let part = fields.whole(name)?;
        given.push((name, part.is_some()));
        points[at] = part.unwrap_or_default();
    }
    require(&given)?;
    let four_at = FourAt::new(points[0], points[1], points[2], points[3]).map_err(Refused::said)?;
    Ok(to_json(&FourAtAnswer {
        ok: true,
        total: four_at.total(),
        reading: four_at.reading().text(),
        credit: FOUR_AT_CREDIT,
        source: scales::FOUR_AT_SOURCE,
        caution: scales::FOUR_AT_CAUTION,
    }))
}

#[derive(Serialize)]
struct FluidAnswer {
    ok: bool,
    in_ml: i64,
    out_ml: i64,
    net_ml: i64,
    urine_ml: Option<i64>,
    counted: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    urine_under_half_ml_per_kg_h: Option<bool>,
    source: &'static str,
    caution: &'static str,
}

fn run_fluid(fields: &Fields<'_>) -> Result<String, Refused> {
    let (from, to) = (fields.moment("from")?, fields.moment("to")?);
    let amounts = fields.objects("amounts", &["at", "way", "ml"], "fluid")?;
    require(&[
        ("from", from.is_some()),
        ("to", to.is_some()),
        ("amounts", amounts.is_some()),
    ])?;
    let (from, to) = (from.unwrap_or_default(), to.unwrap_or_default());
    let amounts = amounts.unwrap_or_default();
    let amounts: Vec<Fluid> = amounts.iter().map(amount).collect::<Result<_, _>>()?;
    let balance = balance(&amounts, from, to).map_err(Refused::said)?;
    let low = match fields
        .within("weight", 1, (200, 3500))?
        .and_then(|kg| u32::try_from(kg).ok())
    {
        None => None,
        Some(weight) => urine_is_low(&balance, weight, from, to).map_err(Refused::said)?,
    };
    Ok(to_json(&FluidAnswer {
        ok: true,
        in_ml: balance.in_ml,
        out_ml: balance.out_ml,
        net_ml: balance.net_ml(),
        urine_ml: balance.urine_ml,
        counted: balance.counted,
        urine_under_half_ml_per_kg_h: low,
        source: fluid::SOURCE,
        caution: fluid::CAUTION,
    }))
}

fn amount(fields: &Fields<'_>) -> Result<Fluid, Refused> {
    let at = fields.moment("at")?;
    let ml = fields
        .within("ml", 0, (0, 20_000))?
        .and_then(|ml| u32::try_from(ml).ok());
    let way = match fields.text("way")?.as_deref() {
        Some("in") => Some(Way::In),
        Some("urine") => Some(Way::Urine),
        Some("out") => Some(Way::OtherOut),
        Some(_) => {
            let wanted = "\"in\", \"urine\" or \"out\"";
            return Err(Refused::WrongType {
                field: "way".to_owned(),
                wanted,
            });
        }
        None => None,
    };
    require(&[
        ("at", at.is_some()),
        ("way", way.is_some()),
        ("ml", ml.is_some()),
    ])?;
    Ok(Fluid {
        at: at.unwrap_or_default(),
        way: way.unwrap_or(Way::In),
        ml: ml.unwrap_or_default(),
    })
}

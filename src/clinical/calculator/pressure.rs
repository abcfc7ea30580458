//! `map` and `home_bp`.

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, require, to_json, zone};
use crate::clinical::pressure::{
    HOME_CAUTION, HOME_SOURCE, HomeNote, HomeReading, Pressure, RANGE_CAUTION, Range, Setting,
    home_average, home_target,
};

pub(super) const MAP: Calculator = Calculator {
    name: "map",
    about: "mean arterial pressure, pulse pressure, shock index and the ranges of NICE NG136",
    fields: &[
        Field::must("sbp", "systolic pressure in mmHg, whole, 40 to 300"),
        Field::must(
            "dbp",
            "diastolic pressure in mmHg, whole, 20 to 200, below systolic",
        ),
        Field::may(
            "hr",
            "pulse a minute, whole, 20 to 300; for the shock index",
        ),
    ],
    example: r#"{"calc":"map","sbp":120,"dbp":80,"hr":80}"#,
    run: map,
};

pub(super) const HOME_BP: Calculator = Calculator {
    name: "home_bp",
    about: "average of home measurements without the first day (NICE NG136 1.2.7), against the target for the age (1.4.22)",
    fields: &[
        Field::must(
            "readings",
            "a list of {\"at\": RFC 3339 time, \"sbp\": mmHg, \"dbp\": mmHg}",
        ),
        Field::may("age", "whole years, 18 to 120; for the target"),
        Field::may(
            "zone",
            "time zone whose calendar divides the days; Europe/London if not given",
        ),
    ],
    example: r#"{"calc":"home_bp","readings":[{"at":"2026-03-01T08:00:00Z","sbp":150,"dbp":92},{"at":"2026-03-02T08:00:00Z","sbp":136,"dbp":84},{"at":"2026-03-03T08:00:00Z","sbp":134,"dbp":83},{"at":"2026-03-04T08:00:00Z","sbp":135,"dbp":84}]}"#,
    run: home_bp,
};

#[derive(Serialize)]
struct MapAnswer {
    ok: bool,
    map: i32,
    pulse_pressure: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    shock_index: Option<f64>,
    clinic_range: &'static str,
    home_range: &'static str,
    caution: &'static str,
}

fn pressure(fields: &Fields<'_>) -> Result<Pressure, Refused> {
    let (sbp, dbp) = (fields.whole("sbp")?, fields.whole("dbp")?);
    require(&[("sbp", sbp.is_some()), ("dbp", dbp.is_some())])?;
    Pressure::new(sbp.unwrap_or_default(), dbp.unwrap_or_default()).map_err(Refused::said)
}

fn map(fields: &Fields<'_>) -> Result<String, Refused> {
    let pressure = pressure(fields)?;
    let shock_index = match fields.whole("hr")? {
        None => None,
        Some(hr) => Some(
            pressure
                .shock_index_in_hundredths(hr)
                .map_err(Refused::said)?,
        ),
    };
    Ok(to_json(&MapAnswer {
        ok: true,
        map: pressure.mean_shown(),
        pulse_pressure: pressure.pulse_pressure(),
        shock_index: shock_index.map(|hundredths| f64::from(hundredths) / 100.0),
        clinic_range: Range::of(pressure, Setting::Clinic).code(),
        home_range: Range::of(pressure, Setting::Home).code(),
        caution: RANGE_CAUTION,
    }))
}

#[derive(Serialize)]
struct HomeAnswer {
    ok: bool,
    average: String,
    range: &'static str,
    readings_used: i64,
    days: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    target_under: Option<[i32; 2]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    under_target: Option<bool>,
    notes: Vec<String>,
    source: &'static str,
    caution: &'static str,
}

fn home_bp(fields: &Fields<'_>) -> Result<String, Refused> {
    let zone = zone(fields)?;
    let readings = fields.objects("readings", &["at", "sbp", "dbp"], "home_bp")?;
    let readings = readings.ok_or_else(|| Refused::Missing(vec!["readings"]))?;
    let readings: Vec<HomeReading> = readings.iter().map(reading).collect::<Result<_, _>>()?;
    let age = fields.within("age", 0, (18, 120))?;
    let age = age.and_then(|years| u32::try_from(years).ok());
    let home = home_average(&readings, zone).map_err(Refused::said)?;
    let target = age.map(home_target);
    Ok(to_json(&HomeAnswer {
        ok: true,
        average: home.average.shown(Setting::Home),
        range: home.average.range(Setting::Home).code(),
        readings_used: home.average.count,
        days: home.days,
        target_under: target.map(|(sbp, dbp)| [sbp, dbp]),
        under_target: target
            .map(|(sbp, dbp)| home.average.is_under((i64::from(sbp), i64::from(dbp)))),
        notes: home.notes.iter().map(HomeNote::text).collect(),
        source: HOME_SOURCE,
        caution: HOME_CAUTION,
    }))
}

fn reading(fields: &Fields<'_>) -> Result<HomeReading, Refused> {
    let taken_at = fields
        .moment("at")?
        .ok_or_else(|| Refused::Missing(vec!["at"]))?;
    Ok(HomeReading {
        taken_at,
        pressure: pressure(fields)?,
    })
}

//! `trend`.

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, four_places, require, to_json, zone};
use crate::clinical::trend::{self, Sample, Side, Sign, assess};
use crate::record::time::Timestamp;

pub(super) const TREND: Calculator = Calculator {
    name: "trend",
    about: "one vital sign against the patient's own usual: median and MAD, Theil-Sen slope, drift",
    fields: &[
        Field::must(
            "sign",
            "rr, spo2, sbp, hr or temp (body temperature; never a wearable's)",
        ),
        Field::must(
            "readings",
            "a list of {\"at\": RFC 3339 time, \"value\": number in the charted unit}",
        ),
        Field::may(
            "as_of",
            "RFC 3339 time; later readings are left out; the latest reading if not given",
        ),
        Field::may("zone", "time zone of the ward; Europe/London if not given"),
    ],
    example: r#"{"calc":"trend","sign":"hr","readings":[{"at":"2026-03-01T00:00:00Z","value":80}]}"#,
    run,
};

#[derive(Serialize)]
struct Answer {
    ok: bool,
    says: String,
    readings: usize,
    usual: Option<[f64; 2]>,
    deviation: Option<f64>,
    slope_per_hour: Option<f64>,
    slope_interval: Option<[f64; 2]>,
    outside_since: Option<Timestamp>,
    drift: Option<&'static str>,
    drift_since: Option<Timestamp>,
    caution: &'static str,
}

fn run(fields: &Fields<'_>) -> Result<String, Refused> {
    let sign = sign(fields)?;
    let readings = fields.objects("readings", &["at", "value"], "trend")?;
    require(&[("sign", sign.is_some()), ("readings", readings.is_some())])?;
    let (Some(sign), Some(readings)) = (sign, readings) else {
        return Err(Refused::Missing(vec!["sign"]));
    };
    let samples: Vec<Sample> = readings
        .iter()
        .map(|r| sample(sign, r))
        .collect::<Result<_, _>>()?;
    let latest = samples
        .iter()
        .map(|sample| sample.at)
        .max()
        .unwrap_or_default();
    let as_of = fields.moment("as_of")?.unwrap_or(latest);
    let zone = zone(fields)?;
    let trend = assess(sign, &samples, as_of, zone).ok_or_else(|| {
        Refused::Said("there is no reading up to that time, so no trend".to_owned())
    })?;
    let shown = |steps: f64| {
        four_places(steps / 10_f64.powi(i32::try_from(sign.measure().places).unwrap_or(0)))
    };
    Ok(to_json(&Answer {
        ok: true,
        says: trend.sentence(zone, None),
        readings: trend.readings,
        usual: trend
            .usual
            .map(|u| [shown(f64::from(u.low)), shown(f64::from(u.high))]),
        deviation: trend
            .usual
            .map(|u| four_places(u.deviation(trend.latest.value))),
        slope_per_hour: trend.slope.map(|(slope, _)| shown(slope.per_unit)),
        slope_interval: trend
            .slope
            .map(|(slope, _)| [shown(slope.low), shown(slope.high)]),
        outside_since: trend.outside_since,
        drift: trend.drift.map(|drift| match drift.side {
            Side::Above => "above",
            Side::Below => "below",
        }),
        drift_since: trend.drift.map(|drift| drift.since),
        caution: trend::CAUTION,
    }))
}

fn sign(fields: &Fields<'_>) -> Result<Option<Sign>, Refused> {
    let Some(text) = fields.text("sign")? else {
        return Ok(None);
    };
    let wanted = "rr, spo2, sbp, hr or temp";
    let unknown = Refused::WrongType {
        field: "sign".to_owned(),
        wanted,
    };
    Sign::ALL
        .into_iter()
        .find(|sign| sign.code() == text)
        .map(Some)
        .ok_or(unknown)
}

fn sample(sign: Sign, fields: &Fields<'_>) -> Result<Sample, Refused> {
    let measure = sign.measure();
    let places = usize::try_from(measure.places).unwrap_or(0);
    let (at, value) = (
        fields.moment("at")?,
        fields.within("value", places, measure.hard)?,
    );
    require(&[("at", at.is_some()), ("value", value.is_some())])?;
    Ok(Sample {
        at: at.unwrap_or_default(),
        value: value.unwrap_or_default(),
    })
}

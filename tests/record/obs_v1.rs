//! Observations as version 1 stored them: frozen values, by hand.

use handfast::record::ids::Seq;
use handfast::record::kind::old::ObservationV1;
use handfast::record::observed::{
    Acvpu, Oxygen, OxygenDevice, Posture, Reading, ReadingSource, Rhythm, TemperatureSite,
};
use handfast::record::quantity::{
    DiastolicMmHg, Fio2Percent, FlowCentiLPerMin, GlucoseDeciMmolPerL, Pain, PulsePerMin,
    RespRatePerMin, Spo2Percent, SystolicMmHg, TemperatureDeciC, VolumeMl, WeightDeciKg,
};

use crate::samples::{Sample, Stored, full_envelope, minimal_envelope, seen_score};

/// Every stored case of version 1, in the order of its file.
pub fn samples() -> Vec<Sample> {
    let all = [
        ("full", full_envelope(), full()),
        ("minimal", minimal_envelope(), nothing()),
        ("not obtained", minimal_envelope(), not_obtained()),
        ("on air", minimal_envelope(), on_air()),
    ];
    all.into_iter()
        .map(|(name, envelope, fields)| Sample {
            name: name.to_owned(),
            envelope,
            fields: Stored::ObservationV1(Box::new(fields)),
        })
        .collect()
}

#[expect(
    clippy::unnecessary_wraps,
    reason = "every field of the set is optional"
)]
fn read<Q>(value: Q) -> Option<Reading<Q>> {
    Some(Reading::Value {
        value,
        source: None,
    })
}

#[expect(
    clippy::unnecessary_wraps,
    reason = "every field of the set is optional"
)]
fn from<Q>(value: Q, source: ReadingSource) -> Option<Reading<Q>> {
    Some(Reading::Value {
        value,
        source: Some(source),
    })
}

fn full() -> ObservationV1 {
    let words = |field: &str| format!("{field}: “first” line\nsecond line, 2 × 5 µg £3 — Zoë");
    ObservationV1 {
        rr: from(RespRatePerMin(18), ReadingSource::Patient),
        spo2: from(Spo2Percent(96), ReadingSource::Monitored),
        oxygen: Some(Oxygen::Given {
            device: OxygenDevice::Cannula,
            flow: Some(FlowCentiLPerMin(250)),
            fio2: None,
        }),
        sbp: read(SystolicMmHg(128)),
        dbp: read(DiastolicMmHg(76)),
        hr: read(PulsePerMin(88)),
        acvpu: Some(Acvpu::Unresponsive),
        temp: from(TemperatureDeciC(371), ReadingSource::Staff),
        temp_site: Some(TemperatureSite::Rectal),
        skin_temp: read(TemperatureDeciC(371)),
        glucose: read(GlucoseDeciMmolPerL(64)),
        weight: read(WeightDeciKg(725)),
        pain: Some(Pain(7)),
        pain_moving: Some(Pain(7)),
        fluid_in: Some(VolumeMl(350)),
        urine: Some(VolumeMl(350)),
        rhythm: Some(Rhythm::Irregular),
        posture: Some(Posture::Standing),
        source: Some(ReadingSource::Staff),
        judgement: Some(words("judgement").as_str().into()),
        action: Some(words("action").as_str().into()),
        worry: Some("worry: naïve, 10⁹ <b> 🩺".into()),
        during: Some(Seq(258)),
        score: Some(seen_score()),
    }
}

fn not_obtained() -> ObservationV1 {
    ObservationV1 {
        rr: Some(Reading::NotObtained {
            reason: "asleep".to_owned(),
        }),
        spo2: read(Spo2Percent(88)),
        oxygen: Some(Oxygen::Given {
            device: OxygenDevice::Venturi,
            flow: None,
            fio2: Some(Fio2Percent(28)),
        }),
        skin_temp: from(TemperatureDeciC(334), ReadingSource::Monitored),
        ..nothing()
    }
}

fn on_air() -> ObservationV1 {
    ObservationV1 {
        oxygen: Some(Oxygen::Air),
        temp: read(TemperatureDeciC(371)),
        temp_site: Some(TemperatureSite::Oral),
        ..nothing()
    }
}

const fn nothing() -> ObservationV1 {
    ObservationV1 {
        rr: None,
        spo2: None,
        oxygen: None,
        sbp: None,
        dbp: None,
        hr: None,
        acvpu: None,
        temp: None,
        temp_site: None,
        skin_temp: None,
        glucose: None,
        weight: None,
        pain: None,
        pain_moving: None,
        fluid_in: None,
        urine: None,
        rhythm: None,
        posture: None,
        source: None,
        judgement: None,
        action: None,
        worry: None,
        during: None,
        score: None,
    }
}

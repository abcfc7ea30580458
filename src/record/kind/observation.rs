//! Observation reviews: a set of readings, what they score and what the reviewer made of them.

use serde::{Deserialize, Serialize};

use super::declare::{CrossCheck, Findings, fields};
use crate::record::ids::Seq;
use crate::record::losses::FluidOut;
use crate::record::observed::{
    Acvpu, Arm, Oxygen, Posture, PressureSign, Reading, ReadingSource, Rhythm, TemperatureSite,
};
use crate::record::quantity::{
    DiastolicMmHg, GlucoseDeciMmolPerL, Pain, PulsePerMin, RespRatePerMin, Spo2Percent,
    SystolicMmHg, TemperatureDeciC, VolumeMl, WeightDeciKg,
};
use crate::record::scales::{FourAtAnswers, Gcs};
use crate::record::text::{Line, Note};

/// The score the writer saw when writing, so that "who knew what" does not depend on which
/// version of the program reads it. Filled in by the program.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SeenScore {
    /// Total, if the set was complete.
    pub total: Option<u8>,
    /// Saturation scale used: 1 or 2.
    pub scale: u8,
    /// Any single parameter scored 3.
    pub single_3: bool,
    /// Names of the parts that were missing.
    pub missing: Vec<String>,
}

fields! {
    /// A set of readings, reviewed.
    Observation {
        /// Respiration rate.
        rr: Option<Reading<RespRatePerMin>>,
        /// Oxygen saturation.
        spo2: Option<Reading<Spo2Percent>>,
        /// Air, or oxygen by device and flow.
        oxygen: Option<Oxygen>,
        /// Systolic blood pressure.
        sbp: Option<Reading<SystolicMmHg>>,
        /// Diastolic blood pressure.
        dbp: Option<Reading<DiastolicMmHg>>,
        /// Pulse.
        hr: Option<Reading<PulsePerMin>>,
        /// Consciousness: alert, confused (new), voice, pain, unresponsive.
        acvpu: Option<Acvpu>,
        /// Body temperature.
        temp: Option<Reading<TemperatureDeciC>>,
        /// Where it was taken.
        temp_site: Option<TemperatureSite>,
        /// Skin temperature from a wearable: charted, never scored.
        skin_temp: Option<Reading<TemperatureDeciC>>,
        /// Blood glucose.
        glucose: Option<Reading<GlucoseDeciMmolPerL>>,
        /// Weight.
        weight: Option<Reading<WeightDeciKg>>,
        /// Pain at rest, 0 to 10.
        pain: Option<Pain>,
        /// Pain on movement, 0 to 10.
        pain_moving: Option<Pain>,
        /// Glasgow Coma Scale: its parts; the total is worked out.
        gcs: Option<Gcs>,
        /// 4AT for delirium: its items, or the total.
        four_at: Option<FourAtAnswers>,
        /// Fluid in, millilitres.
        fluid_in: Option<VolumeMl>,
        /// Urine passed, millilitres.
        urine: Option<VolumeMl>,
        /// Any other loss, what it was and how much: drain, vomit, stool.
        fluid_out: Vec<FluidOut>,
        /// Pulse regular or irregular.
        rhythm: Option<Rhythm>,
        /// Posture for blood pressure.
        posture: Option<Posture>,
        /// Arm for blood pressure.
        arm: Option<Arm>,
        /// Signs asked for beside a severe pressure; none if asked for and not there.
        signs: Vec<PressureSign>,
        /// Where the set came from: monitored, patient, carer, staff.
        source: Option<ReadingSource>,
        /// The reviewer's judgement.
        judgement: Option<Note>,
        /// The action decided.
        action: Option<Note>,
        /// Worry without a number: whose and about what. It raises an alert.
        worry: Option<Line>,
        /// The contact these were taken in, or the alert they answer.
        during: Option<Seq>,
    }
    seen {
        /// The score the writer saw.
        score: Option<SeenScore>,
    }
}

impl Observation {
    /// No reading at all, not even one that could not be obtained.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rr.is_none()
            && self.spo2.is_none()
            && self.oxygen.is_none()
            && self.sbp.is_none()
            && self.dbp.is_none()
            && self.hr.is_none()
            && self.acvpu.is_none()
            && self.temp.is_none()
            && self.skin_temp.is_none()
            && self.glucose.is_none()
            && self.weight.is_none()
            && self.pain.is_none()
            && self.pain_moving.is_none()
            && self.fluid_in.is_none()
            && self.gcs.is_none()
            && self.four_at.is_none()
            && self.urine.is_none()
            && self.fluid_out.is_empty()
            && self.signs.is_empty()
    }
}

impl CrossCheck for Observation {
    fn cross_check(&self, findings: &mut Findings) {
        if self.is_empty() && self.worry.is_none() {
            findings.refuse(
                "rr",
                "no reading is given",
                "at least one reading, e.g. rr 18",
            );
        }
        self.check_pressure(findings);
        self.check_signs(findings);
        self.check_alertness(findings);
        if self.temp.is_none() && self.temp_site.is_some() {
            findings.refuse(
                "temp",
                "a site is given without a temperature",
                "temp, e.g. 37.1",
            );
        }
    }
}

impl Observation {
    fn check_signs(&self, findings: &mut Findings) {
        let none = self.signs.contains(&PressureSign::NoneFound);
        if none
            && self
                .signs
                .iter()
                .any(|sign| *sign != PressureSign::NoneFound)
        {
            findings.refuse(
                "signs",
                "none is given beside a sign",
                "either the signs, e.g. chest-pain; sight, or none",
            );
        }
    }

    /// Alert by ACVPU and not alert by another scale: one of them is wrong, or the confusion is
    /// long-standing. ACVPU's confusion scores 3, so it is asked about.
    fn check_alertness(&self, findings: &mut Findings) {
        if self.acvpu != Some(Acvpu::Alert) {
            return;
        }
        if let Some(gcs) = self.gcs {
            let drowsy = gcs.eye.is_some_and(|eye| eye < 4);
            let confused = gcs.verbal.is_some_and(|verbal| verbal < 5);
            if drowsy || confused {
                findings.ask(
                    "gcs",
                    "ACVPU says alert and the coma scale does not: new confusion is acvpu confused, which scores 3",
                );
            }
        }
        let items = self.four_at.and_then(FourAtAnswers::items);
        if let Some([alertness, .., change]) = items
            && (alertness == Some(4) || change == Some(4))
        {
            findings.ask(
                "four_at",
                "ACVPU says alert and the 4AT does not: new confusion is acvpu confused, which scores 3",
            );
        }
    }

    fn check_pressure(&self, findings: &mut Findings) {
        let value = |reading: &Option<Reading<SystolicMmHg>>| {
            reading.as_ref().and_then(Reading::value).map(|v| v.0)
        };
        let sbp = value(&self.sbp);
        let dbp = self.dbp.as_ref().and_then(Reading::value).map(|v| v.0);
        let (Some(sbp), Some(dbp)) = (sbp, dbp) else {
            return;
        };
        if sbp <= dbp {
            // The pair is wrong, and nobody can tell from here which half.
            let swapped = match sbp < dbp {
                true => format!("{dbp}/{sbp} if the two were swapped, or the pair measured again"),
                false => "the pair measured again".to_owned(),
            };
            findings.refuse(
                "bp",
                format!("{sbp}/{dbp}: the systolic is not above the diastolic"),
                format!("systolic/diastolic, the higher one first: {swapped}"),
            );
        } else if !(15..=120).contains(&(sbp - dbp)) {
            findings.ask(
                "bp",
                format!("{sbp}/{dbp}: pulse pressure {} is unusual", sbp - dbp),
            );
        }
    }
}

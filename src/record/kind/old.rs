//! Kind versions that are no longer written. They are read for ever: each is a frozen
//! struct that is never edited, and a step that turns it into the next version.

use serde::{Deserialize, Serialize};

use super::contact::{Contact, ContactMode, ContactOutcome, NextStep, Spoken, Starter, Witness};
use super::observation::{Observation, SeenScore};
use super::ward::{StaffChanged, StaffEnrolled, StaffMove};
use crate::record::ids::{PersonKey, Seq};
use crate::record::moment::Due;
use crate::record::observed::{
    Acvpu, Oxygen, Posture, Reading, ReadingSource, Rhythm, TemperatureSite,
};
use crate::record::person::Handle;
use crate::record::quantity::{
    Count, DiastolicMmHg, GlucoseDeciMmolPerL, Pain, PulsePerMin, RespRatePerMin, Spo2Percent,
    SystolicMmHg, TemperatureDeciC, VolumeMl, WeightDeciKg,
};
use crate::record::role::Role;
use crate::record::text::{Line, Note};

/// Contact, version 1: before it was asked whether two identifiers were checked, and before
/// a worry could be stated in the contact itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ContactV1 {
    /// How.
    pub mode: ContactMode,
    /// What came of it.
    pub outcome: ContactOutcome,
    /// Whom the ward spoke with.
    pub spoke_to: Option<Spoken>,
    /// Name of the carer or professional.
    pub spoke_name: Option<Line>,
    /// Who started it.
    pub started_by: Option<Starter>,
    /// How the patient is.
    pub how: Option<Note>,
    /// Who says so.
    pub said_by: Option<Witness>,
    /// Advice given.
    pub advice: Option<Note>,
    /// Safety net.
    pub safety_net: Option<Note>,
    /// Next contact due.
    pub next: Option<Due>,
    /// Who makes it.
    pub next_by: Option<Handle>,
    /// The alert this answers.
    pub answers: Option<Seq>,
    /// Which attempt this was.
    pub attempt: Option<Count>,
    /// What is done as nobody was reached.
    pub then: Option<NextStep>,
}

impl From<ContactV1> for Contact {
    /// What version 1 did not ask stays unknown.
    fn from(old: ContactV1) -> Contact {
        Contact {
            mode: old.mode,
            outcome: old.outcome,
            spoke_to: old.spoke_to,
            spoke_name: old.spoke_name,
            started_by: old.started_by,
            how: old.how,
            said_by: old.said_by,
            identified: None,
            worry: None,
            advice: old.advice,
            safety_net: old.safety_net,
            next: old.next,
            next_by: old.next_by,
            answers: old.answers,
            attempt: old.attempt,
            then: old.then,
        }
    }
}

/// Enrolment, version 1: before people had reading keys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StaffEnrolledV1 {
    /// Handle.
    pub handle: Handle,
    /// Full name.
    pub name: Line,
    /// Role.
    pub role: Role,
    /// Registration number.
    pub registration: Option<Line>,
    /// Public signing key.
    pub key: Option<PersonKey>,
}

impl From<StaffEnrolledV1> for StaffEnrolled {
    fn from(old: StaffEnrolledV1) -> StaffEnrolled {
        StaffEnrolled {
            handle: old.handle,
            name: old.name,
            role: old.role,
            registration: old.registration,
            key: old.key,
            reading: None,
        }
    }
}

/// Staff change, version 1: before people had reading keys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StaffChangedV1 {
    /// Who.
    pub handle: Handle,
    /// What changes.
    pub change: StaffMove,
    /// New role.
    pub role: Option<Role>,
    /// Why.
    pub reason: Line,
    /// New public key.
    pub key: Option<PersonKey>,
}

impl From<StaffChangedV1> for StaffChanged {
    fn from(old: StaffChangedV1) -> StaffChanged {
        StaffChanged {
            handle: old.handle,
            change: old.change,
            role: old.role,
            reason: old.reason,
            key: old.key,
            reading: None,
        }
    }
}

/// Observations, version 1: before coma scale, 4AT, losses beside urine and the signs that matter
/// beside a severe pressure could be written down.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ObservationV1 {
    /// Respiration rate.
    pub rr: Option<Reading<RespRatePerMin>>,
    /// Oxygen saturation.
    pub spo2: Option<Reading<Spo2Percent>>,
    /// Air, or oxygen by device and flow.
    pub oxygen: Option<Oxygen>,
    /// Systolic blood pressure.
    pub sbp: Option<Reading<SystolicMmHg>>,
    /// Diastolic blood pressure.
    pub dbp: Option<Reading<DiastolicMmHg>>,
    /// Pulse.
    pub hr: Option<Reading<PulsePerMin>>,
    /// Consciousness: alert, confused (new), voice, pain, unresponsive.
    pub acvpu: Option<Acvpu>,
    /// Body temperature.
    pub temp: Option<Reading<TemperatureDeciC>>,
    /// Where it was taken.
    pub temp_site: Option<TemperatureSite>,
    /// Skin temperature from a wearable: charted, never scored.
    pub skin_temp: Option<Reading<TemperatureDeciC>>,
    /// Blood glucose.
    pub glucose: Option<Reading<GlucoseDeciMmolPerL>>,
    /// Weight.
    pub weight: Option<Reading<WeightDeciKg>>,
    /// Pain at rest, 0 to 10.
    pub pain: Option<Pain>,
    /// Pain on movement, 0 to 10.
    pub pain_moving: Option<Pain>,
    /// Fluid in, millilitres.
    pub fluid_in: Option<VolumeMl>,
    /// Urine passed, millilitres.
    pub urine: Option<VolumeMl>,
    /// Pulse regular or irregular.
    pub rhythm: Option<Rhythm>,
    /// Posture for blood pressure.
    pub posture: Option<Posture>,
    /// Where the set came from: monitored, patient, carer, staff.
    pub source: Option<ReadingSource>,
    /// The reviewer's judgement.
    pub judgement: Option<Note>,
    /// The action decided.
    pub action: Option<Note>,
    /// Worry without a number: whose and about what. It raises an alert.
    pub worry: Option<Line>,
    /// The contact these were taken in, or the alert they answer.
    pub during: Option<Seq>,
    /// The score the writer saw.
    pub score: Option<SeenScore>,
}

impl From<ObservationV1> for Observation {
    /// What version 1 could not say stays unknown.
    fn from(old: ObservationV1) -> Observation {
        Observation {
            rr: old.rr,
            spo2: old.spo2,
            oxygen: old.oxygen,
            sbp: old.sbp,
            dbp: old.dbp,
            hr: old.hr,
            acvpu: old.acvpu,
            temp: old.temp,
            temp_site: old.temp_site,
            skin_temp: old.skin_temp,
            glucose: old.glucose,
            weight: old.weight,
            pain: old.pain,
            pain_moving: old.pain_moving,
            gcs: None,
            four_at: None,
            fluid_in: old.fluid_in,
            urine: old.urine,
            fluid_out: Vec::new(),
            rhythm: old.rhythm,
            posture: old.posture,
            arm: None,
            signs: Vec::new(),
            source: old.source,
            judgement: old.judgement,
            action: old.action,
            worry: old.worry,
            during: old.during,
            score: old.score,
        }
    }
}

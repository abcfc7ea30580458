//! B: why the patient is on the ward and what is usual for them.

use serde::Serialize;

use super::situation::show_context;
use crate::record::field::FieldValue;
use crate::record::kind::episode::ReferralSource;
use crate::record::observed::Spo2Scale;
use crate::view::origin::{Origin, Subject};
use crate::ward::Patient;

/// Why the patient is here, and the baseline.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Background {
    /// Why the patient is on the ward.
    pub reason: Option<String>,
    /// Who sent them.
    pub referred_by: Option<ReferralSource>,
    /// Relevant history.
    pub history: Option<String>,
    /// Treatment now.
    pub treatment: Option<String>,
    /// Usual values, each in words: `RR 18/min`.
    pub baseline: Vec<String>,
    /// Usual mental state, above all long-standing confusion.
    pub usual_mind: Option<String>,
    /// Saturation scale in force.
    pub scale: Option<Spo2Scale>,
    /// Who prescribed scale 2, and its target.
    pub scale_by: Option<String>,
    /// Oxygen at home before admission, in words; `None` if nobody has stated it.
    pub home_oxygen: Option<String>,
    /// Consultant or GP responsible.
    pub consultant: Option<String>,
    /// Who admitted the patient and when.
    pub admitted: Option<Origin>,
    /// What changed in the plan or details, newest first, those since the last accepted sheet.
    pub changed: Vec<PlanChange>,
}

/// A change of plan or details.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlanChange {
    /// Why.
    pub why: String,
    /// What changed, field by field.
    pub what: Vec<String>,
    /// Who and when.
    pub origin: Origin,
}

pub(super) fn background(subject: &Subject<'_>, patient: &Patient) -> Background {
    let Some(details) = &patient.details else {
        return Background::default();
    };
    let cx = show_context(subject);
    let usual = [
        ("RR", details.base_rr.show(&cx)),
        ("SpO2", details.base_spo2.show(&cx)),
        ("systolic", details.base_sbp.show(&cx)),
        ("HR", details.base_hr.show(&cx)),
        ("weight", details.base_weight.show(&cx)),
    ];
    Background {
        reason: Some(details.reason.0.clone()),
        referred_by: Some(details.source),
        history: details.background.as_ref().map(|note| note.0.clone()),
        treatment: details.treatment.as_ref().map(|note| note.0.clone()),
        baseline: usual
            .into_iter()
            .filter_map(|(label, value)| Some(format!("{label} {}", value?)))
            .collect(),
        usual_mind: details.base_mind.as_ref().map(|mind| mind.0.clone()),
        scale: Some(details.scale),
        scale_by: details.scale_by.as_ref().map(|by| by.0.clone()),
        home_oxygen: details.home_oxygen.show(&cx),
        consultant: details.consultant.as_ref().map(|name| name.0.clone()),
        admitted: patient.admitted().map(|stamp| subject.origin(stamp)),
        changed: changes(subject, patient),
    }
}

fn changes(subject: &Subject<'_>, patient: &Patient) -> Vec<PlanChange> {
    let cx = show_context(subject);
    let lines = patient.changes.iter().rev().map(|held| {
        use crate::record::kind::declare::Fields;
        let shown = held.body.show(&cx).into_iter();
        PlanChange {
            why: held.body.why.0.clone(),
            what: shown
                .filter(|field| !matches!(field.name, "why" | "key_safe"))
                .map(|field| format!("{}: {}", field.name.replace('_', " "), field.text))
                .collect(),
            origin: subject.origin(&held.stamp),
        }
    });
    lines.filter(|line| line.origin.is_new).collect()
}

//! What is known of somebody before anything went wrong: one fixed list, so that what nobody
//! recorded stands on it as missing and is not simply absent.

use super::handover::{Reaching, reaching, smoker};
use super::origin::Vantage;
use super::words::NOT_RECORDED;
use crate::clinical::news2::scale_2_in_words;
use crate::record::field::{FieldValue, ShowContext};
use crate::record::kind::episode::Admission;
use crate::record::observed::Spo2Scale;
use crate::ward::Patient;

/// One thing that may be known of a patient.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    /// What it is.
    pub label: &'static str,
    /// What is known; words that say so where nothing is.
    pub said: String,
}

/// The list, always whole and in one order. `secrets` shows a key-safe code, which only roles
/// that visit may read. Nothing of a patient whose admission could not be read.
#[must_use]
pub fn baseline(vantage: &Vantage<'_>, patient: &Patient, secrets: bool) -> Vec<Known> {
    let Some(details) = &patient.details else {
        return Vec::new();
    };
    let cx = ShowContext {
        zone: vantage.zone(),
        secrets,
    };
    let reach = reaching(patient);
    let mut list = usual(details, &cx);
    list.extend(breathing(details, &reach, &cx));
    list.extend(plan(details, &cx));
    list.extend(visiting(details, &cx));
    list
}

fn known(label: &'static str, value: &impl FieldValue, cx: &ShowContext) -> Known {
    let said = value.show(cx).filter(|said| !said.trim().is_empty());
    Known {
        label,
        said: said.unwrap_or_else(|| NOT_RECORDED.to_owned()),
    }
}

fn usual(details: &Admission, cx: &ShowContext) -> Vec<Known> {
    vec![
        known("usual respiration", &details.base_rr, cx),
        known("usual saturation", &details.base_spo2, cx),
        known("usual systolic", &details.base_sbp, cx),
        known("usual pulse", &details.base_hr, cx),
        known("weight, admission", &details.base_weight, cx),
        known("usual mind", &details.base_mind, cx),
    ]
}

/// The scale the saturation is scored on, and what burns beside oxygen.
fn breathing(details: &Admission, reach: &Reaching, cx: &ShowContext) -> Vec<Known> {
    let scale = match details.scale {
        Spo2Scale::Scale2 => scale_2_in_words(details.scale_by.as_ref().map(|by| by.0.as_str())),
        Spo2Scale::Scale1 => known("", &details.scale, cx).said,
    };
    let smokes = match smoker(reach) {
        Some((_, words)) => words.to_owned(),
        None => known("", &details.smoker, cx).said,
    };
    vec![
        Known {
            label: "saturation scale",
            said: scale,
        },
        known("home oxygen", &details.home_oxygen, cx),
        Known {
            label: "smoking at home",
            said: smokes,
        },
        known("pregnant", &details.pregnant, cx),
        known("spinal injury", &details.spinal_injury, cx),
    ]
}

fn plan(details: &Admission, cx: &ShowContext) -> Vec<Known> {
    vec![
        known("reason", &details.reason, cx),
        known("history", &details.background, cx),
        known("treatment", &details.treatment, cx),
        known("if worse", &details.plan, cx),
        known("CPR form", &details.form_kept, cx),
        known("responsible", &details.consultant, cx),
    ]
}

fn visiting(details: &Admission, cx: &ShowContext) -> Vec<Known> {
    vec![
        known("lone-worker risk", &details.lone_worker, cx),
        known("getting in", &details.access, cx),
        known("key safe", &details.key_safe, cx),
        known("language", &details.language, cx),
        known("hearing and sight", &details.hearing, cx),
    ]
}

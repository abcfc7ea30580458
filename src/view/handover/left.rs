//! What is still open although the patient has left, and what concerns the ward itself.

use serde::Serialize;

use super::assessment::{SupplyLine, supplies};
use super::plan::{DueLine, QueryLine, due_line, note, queries};
use super::results::{ResultLine, result_line};
use super::situation::{AlertLine, EscalationLine, open_alerts, open_escalations};
use crate::record::kind::contact::{NoteTopic, NursingNote};
use crate::record::kind::episode::Destination;
use crate::record::time::{Span, Timestamp};
use crate::view::origin::{NameRef, Statement, Subject, Vantage};
use crate::ward::shifts::HandoverStepHeld;
use crate::ward::{Held, Ledgers, Patient};

/// A patient who is not on the ward and has something open.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeftBlock {
    /// Who.
    pub who: NameRef,
    /// NHS number or local number.
    pub number: Option<String>,
    /// When the patient left; `None` if never admitted in this journal.
    pub left_at: Option<Timestamp>,
    /// Where to.
    pub to: Option<Destination>,
    /// Open alerts.
    pub alerts: Vec<AlertLine>,
    /// Open escalations.
    pub escalations: Vec<EscalationLine>,
    /// Tasks and whatever else is due.
    pub due: Vec<DueLine>,
    /// Results nobody has looked at.
    pub results: Vec<ResultLine>,
    /// Supplies that did not arrive.
    pub supplies: Vec<SupplyLine>,
    /// Unanswered handover queries.
    pub queries: Vec<QueryLine>,
}

/// What concerns the ward and no single patient.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WardBlock {
    /// Open alerts.
    pub alerts: Vec<AlertLine>,
    /// Every open task.
    pub due: Vec<DueLine>,
    /// Notes since the last accepted sheet, newest first; what to watch for and questions
    /// stay.
    pub notes: Vec<Statement>,
    /// Unanswered handover queries.
    pub queries: Vec<QueryLine>,
}

/// Everybody who is not on the ward and has something open.
pub(super) fn left_open(vantage: &Vantage<'_>, open: &[&HandoverStepHeld]) -> Vec<LeftBlock> {
    let gone = vantage
        .ward
        .patients()
        .filter(|patient| !patient.is_current());
    let mut blocks: Vec<LeftBlock> = gone
        .map(|patient| left_block(vantage, patient, open))
        .filter(|block| {
            !(block.alerts.is_empty()
                && block.escalations.is_empty()
                && block.due.is_empty()
                && block.results.is_empty()
                && block.supplies.is_empty()
                && block.queries.is_empty())
        })
        .collect();
    blocks.sort_by(|a, b| (&a.who.name, a.who.patient).cmp(&(&b.who.name, b.who.patient)));
    blocks
}

fn left_block(vantage: &Vantage<'_>, patient: &Patient, open: &[&HandoverStepHeld]) -> LeftBlock {
    let subject = &Subject {
        vantage: vantage.of(Some(patient.pseudonym)),
        standings: patient.log.standings(),
    };
    let vantage = &subject.vantage;
    let id = patient.pseudonym;
    let unreviewed = patient.results.values().filter(|life| life.is_unreviewed());
    let details = patient.details.as_ref();
    let discharge = patient
        .episode()
        .and_then(|episode| episode.discharged.as_ref());
    LeftBlock {
        who: NameRef::of(patient),
        number: details.and_then(|d| match (d.nhs, &d.local_number) {
            (Some(nhs), _) => Some(format!("NHS {nhs}")),
            (None, Some(local)) => Some(format!("local {local}")),
            (None, None) => None,
        }),
        left_at: patient.left_at(),
        to: discharge.map(|held| held.body.to),
        alerts: open_alerts(subject, patient.ledgers.alerts.values()),
        escalations: open_escalations(subject, patient),
        due: patient
            .due_items()
            .iter()
            .map(|item| due_line(vantage, item, &patient.ledgers))
            .collect(),
        results: unreviewed
            .map(|life| result_line(subject, patient, life))
            .collect(),
        supplies: supplies(subject, patient),
        queries: queries(subject, open, |step| step.patient == Some(id)),
    }
}

pub(super) fn ward_block(vantage: &Vantage<'_>, open: &[&HandoverStepHeld]) -> WardBlock {
    let subject = &vantage.on(None);
    let common = vantage.ward.common();
    let due = vantage.ward.due_items();
    WardBlock {
        alerts: open_alerts(subject, common.alerts.values()),
        due: due
            .iter()
            .filter(|item| item.patient.is_none())
            .map(|item| due_line(vantage, item, common))
            .collect(),
        notes: common
            .notes
            .iter()
            .rev()
            .filter(|held| is_shown(vantage, common, held))
            .map(|held| note(subject, common, held))
            .collect(),
        queries: queries(subject, open, |step| step.patient.is_none()),
    }
}

fn is_shown(vantage: &Vantage<'_>, common: &Ledgers, held: &Held<NursingNote>) -> bool {
    let stays = match held.body.topic {
        Some(NoteTopic::WatchFor) => true,
        Some(NoteTopic::Question) => common.answer_to(held.seq()).is_none(),
        _ => false,
    };
    stays
        || match vantage.since {
            Some(since) => held.seq() > since,
            None => held.stamp.recorded_at > vantage.now.plus(Span(-Span::days(1).0)),
        }
}

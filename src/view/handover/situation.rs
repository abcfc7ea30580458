//! S: how the patient is now, and how old that knowledge is.

use serde::Serialize;

use super::score::{RecentSet, ScoreNow, recent, score_now};
use super::stay;
use crate::clinical::news2::{self, OxygenChange};
use crate::record::field::{FieldValue, ShowContext};
use crate::record::kind::alert::{AlertSource, CallMode, EscalationMove, Severity};
use crate::record::kind::contact::{
    Contact, ContactMode, ContactOutcome, NextStep, Spoken, Witness,
};
use crate::record::observed::Oxygen;
use crate::record::time::Timestamp;
use crate::view::origin::{Origin, Subject, Writer};
use crate::ward::Patient;
use crate::ward::alerts::AlertLife;
use crate::ward::escalations::EscalationLife;
use crate::ward::observations::ObservationSet;

/// How the patient is now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Situation {
    /// Open escalations, oldest first.
    pub escalations: Vec<EscalationLine>,
    /// Open alerts, most severe and then oldest first.
    pub alerts: Vec<AlertLine>,
    /// The newest set of readings of this stay; `None` if there is none.
    pub score: Option<ScoreNow>,
    /// No reading for longer than the ward's policy allows.
    pub silence: Option<Silence>,
    /// What the patient breathes, by the newest statement.
    pub oxygen: Option<OxygenNow>,
    /// The newest few sets, oldest first.
    pub recent: Vec<RecentSet>,
    /// The newest contact in which somebody was reached.
    pub last_contact: Option<ContactLine>,
    /// Attempts since then, if the newest ones reached nobody.
    pub unreached: Option<Unreached>,
}

/// Silence is not stability.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Silence {
    /// The newest reading; `None` if there was none in this stay.
    pub last_reading_at: Option<Timestamp>,
}

/// What the patient breathes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OxygenNow {
    /// Device and flow, in words.
    pub words: String,
    /// Any supplemental oxygen.
    pub supplemental: bool,
    /// The change against the statement before that one, which the score may not show.
    pub change: Option<&'static str>,
    /// What it was before, in words.
    pub before: Option<String>,
    /// When it was stated, and by whom.
    pub origin: Origin,
}

/// An open alert.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AlertLine {
    /// Who raised it and when.
    pub origin: Origin,
    /// What raised it.
    pub source: AlertSource,
    /// What it is.
    pub what: String,
    /// How soon somebody must act.
    pub severity: Severity,
    /// Who has it; `None` if nobody.
    pub holder: Option<Writer>,
    /// Since when.
    pub held_since: Option<Timestamp>,
    /// Its newest step in words.
    pub newest_step: Option<String>,
}

/// An open escalation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EscalationLine {
    /// Who made it and when.
    pub origin: Origin,
    /// To whom, role and name.
    pub to: String,
    /// How.
    pub how: CallMode,
    /// What was asked for.
    pub asked: String,
    /// What was happening.
    pub situation: String,
    /// Somebody answered.
    pub answered: bool,
    /// Who answered.
    pub answered_by: Option<String>,
    /// The agreed plan.
    pub plan: Option<String>,
    /// The plan was read back; `None` if nobody has stated it.
    pub read_back: Option<bool>,
    /// When the plan is to be looked at again.
    pub review_at: Option<Timestamp>,
    /// By when an answer is needed, while there is none.
    pub answer_by: Option<Timestamp>,
    /// Who is next when nobody answers.
    pub next_in_chain: Option<String>,
    /// Calls nobody answered.
    pub unanswered_calls: usize,
}

/// A contact and who said how the patient was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ContactLine {
    /// Who wrote it and when it was.
    pub origin: Origin,
    /// How.
    pub mode: ContactMode,
    /// What came of it.
    pub outcome: ContactOutcome,
    /// Whom the ward spoke with.
    pub spoke_to: Option<Spoken>,
    /// Their name.
    pub spoke_name: Option<String>,
    /// How the patient was.
    pub how: Option<String>,
    /// Who said so.
    pub said_by: Option<Witness>,
    /// What is done as nobody was reached.
    pub then: Option<NextStep>,
}

/// Nobody has been reached.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unreached {
    /// How many attempts.
    pub attempts: usize,
    /// The first of them.
    pub since: Timestamp,
    /// The newest.
    pub last: ContactLine,
}

pub(super) fn situation(subject: &Subject<'_>, patient: &Patient) -> Situation {
    let sets = stay::sets(patient);
    Situation {
        escalations: open_escalations(subject, patient),
        alerts: open_alerts(subject, patient.ledgers.alerts.values()),
        score: score_now(subject, patient, &sets),
        silence: silence(subject, patient, &sets),
        oxygen: oxygen_now(subject, &sets),
        recent: recent(&sets),
        last_contact: stay::contacts(patient)
            .rev()
            .find(|held| !held.body.outcome.is_unreached())
            .map(|held| contact_line(subject, &held.stamp, &held.body)),
        unreached: unreached(subject, patient),
    }
}

pub(super) fn open_alerts<'a>(
    subject: &Subject<'_>,
    alerts: impl Iterator<Item = &'a AlertLife>,
) -> Vec<AlertLine> {
    let mut lines: Vec<AlertLine> = alerts
        .filter(|alert| alert.is_open())
        .map(|alert| alert_line(subject, alert))
        .collect();
    lines.sort_by_key(|line| (line.severity, line.origin.occurred_at, line.origin.seq));
    lines
}

fn alert_line(subject: &Subject<'_>, alert: &AlertLife) -> AlertLine {
    let newest = alert.steps.last();
    let ward = subject.vantage.ward;
    AlertLine {
        origin: subject.origin_with(&alert.stamp, newest.map(|step| step.stamp.seq)),
        source: alert.source,
        what: alert.what.clone(),
        severity: alert.severity,
        holder: alert
            .holder()
            .map(|(handle, _)| Writer::of_handle(ward, handle)),
        held_since: alert.holder().map(|(_, since)| *since),
        newest_step: newest.map(|step| {
            let what = step.body.what.as_deref().map(|what| format!(": {what}"));
            format!("{}{}", step.body.step, what.unwrap_or_default())
        }),
    }
}

pub(super) fn open_escalations(subject: &Subject<'_>, patient: &Patient) -> Vec<EscalationLine> {
    let open = patient.escalations.values().filter(|life| life.is_open());
    open.map(|life| escalation_line(subject, life)).collect()
}

fn escalation_line(subject: &Subject<'_>, life: &EscalationLife) -> EscalationLine {
    let made = &life.made.body;
    let answer = life.answer().map(|held| &held.body);
    let newest = life.steps.last().map(|step| step.stamp.seq);
    let name = made
        .to_name
        .as_ref()
        .map(|name| format!(" ({name})"))
        .unwrap_or_default();
    let text = |note: &crate::record::text::Note| note.0.clone();
    EscalationLine {
        origin: subject.origin_with(&life.made.stamp, newest),
        to: format!("{}{name}", made.to_role),
        how: made.how,
        asked: text(&made.recommendation),
        situation: text(&made.situation),
        answered: answer.is_some(),
        answered_by: answer.and_then(|step| step.by.as_ref().map(|by| by.0.clone())),
        plan: answer.and_then(|step| step.plan.as_ref().map(text)),
        read_back: answer.and_then(|step| step.read_back),
        review_at: life.review_due(),
        answer_by: life.answer_due(),
        next_in_chain: made.next_in_chain.as_ref().map(|next| next.0.clone()),
        unanswered_calls: life
            .steps
            .iter()
            .filter(|step| step.body.step == EscalationMove::NoAnswer)
            .count(),
    }
}

fn contact_line(
    subject: &Subject<'_>,
    stamp: &crate::ward::Stamp,
    contact: &Contact,
) -> ContactLine {
    ContactLine {
        origin: subject.origin(stamp),
        mode: contact.mode,
        outcome: contact.outcome,
        spoke_to: contact.spoke_to,
        spoke_name: contact.spoke_name.as_ref().map(|name| name.0.clone()),
        how: contact.how.as_ref().map(|how| how.0.clone()),
        said_by: contact.said_by,
        then: contact.then,
    }
}

pub(super) fn unreached(subject: &Subject<'_>, patient: &Patient) -> Option<Unreached> {
    let tries = patient.unreached();
    let last = tries.last()?;
    Some(Unreached {
        attempts: tries.len(),
        since: tries.first()?.stamp.occurred_at,
        last: contact_line(subject, &last.stamp, &last.body),
    })
}

pub(super) fn silence(
    subject: &Subject<'_>,
    patient: &Patient,
    sets: &[&ObservationSet],
) -> Option<Silence> {
    let vantage = &subject.vantage;
    let allowed = vantage.ward.policy().values().record().silence;
    let newest = sets.iter().rev().find(|set| set.has_vital_sign());
    let last_reading_at = newest.map(|set| set.stamp.occurred_at);
    let quiet_since = last_reading_at.or(patient.admitted().map(|stamp| stamp.occurred_at))?;
    (vantage.now.since(quiet_since) > allowed || last_reading_at.is_none())
        .then_some(Silence { last_reading_at })
}

fn oxygen_now(subject: &Subject<'_>, sets: &[&ObservationSet]) -> Option<OxygenNow> {
    let cx = show_context(subject);
    let mut stated = sets
        .iter()
        .rev()
        .filter_map(|set| Some((set, set.body.oxygen?)));
    let (set, now) = stated.next()?;
    let before = stated.next().map(|(_, oxygen)| oxygen);
    let change = before.and_then(|before| news2::oxygen_change(before, now));
    Some(OxygenNow {
        words: now.show(&cx).unwrap_or_default(),
        supplemental: now.is_supplemental(),
        change: change.map(OxygenChange::words),
        before: before
            .filter(|_| change.is_some())
            .and_then(|o: Oxygen| o.show(&cx)),
        origin: subject.origin(&set.stamp),
    })
}

pub(super) fn show_context(subject: &Subject<'_>) -> ShowContext {
    ShowContext {
        zone: subject.vantage.zone(),
        secrets: false,
    }
}

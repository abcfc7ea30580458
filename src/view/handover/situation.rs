//! S: how the patient is now, and how old that knowledge is.

use serde::Serialize;

use super::stay;
use crate::clinical::news2::{self, Context, Doubt, News2, OxygenChange, Set};
use crate::record::field::{FieldValue, ShowContext};
use crate::record::ids::Seq;
use crate::record::kind::alert::{AlertSource, CallMode, EscalationMove, Severity};
use crate::record::kind::contact::{
    Contact, ContactMode, ContactOutcome, NextStep, Spoken, Witness,
};
use crate::record::kind::episode::Stated;
use crate::record::observed::{Oxygen, Reading, ReadingSource, Spo2Scale};
use crate::record::quantity::{DiastolicMmHg, SystolicMmHg};
use crate::record::time::{Span, Timestamp};
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

/// A set of readings and what it scores. An incomplete set has no total.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ScoreNow {
    /// Who took it and when; its age is the sheet's moment less this.
    pub origin: Origin,
    /// Where the readings came from.
    pub source: Option<ReadingSource>,
    /// Total of a complete set.
    pub total: Option<u8>,
    /// `low`, `low-medium`, `medium`, `high`; of a complete set.
    pub band: Option<&'static str>,
    /// A known part scores 3, also in an incomplete set.
    pub single_3: bool,
    /// Saturation scale in force.
    pub scale: Option<Spo2Scale>,
    /// Each part in the order of the chart.
    pub parts: Vec<PartLine>,
    /// What an incomplete set lacks, in words.
    pub missing: Vec<&'static str>,
    /// Against the newest earlier complete set.
    pub since_last: Option<ScoreChange>,
    /// Against the newest complete set that was on the last accepted sheet.
    pub since_handover: Option<ScoreChange>,
    /// The newest complete set, when this one is not.
    pub last_total: Option<TotalThen>,
    /// Reasons to doubt the score, in words.
    pub doubts: Vec<&'static str>,
    /// Readings that are charted and not scored, in words: skin temperature, glucose, pain.
    pub others: Vec<String>,
}

/// One part of the score.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PartLine {
    /// `rr`, `spo2`, `oxygen`, `sbp`, `hr`, `acvpu`, `temp`.
    pub code: &'static str,
    /// As people read it on a chart.
    pub label: &'static str,
    /// The value in words; `None` where it is missing.
    pub value: Option<String>,
    /// Its points; `None` where they are not known.
    pub points: Option<u8>,
}

/// How a total changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ScoreChange {
    /// Points more, or negative.
    pub points: i16,
    /// The earlier total.
    pub from: TotalThen,
}

/// A total as it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TotalThen {
    /// The total.
    pub total: u8,
    /// When the set was taken.
    pub at: Timestamp,
    /// The entry.
    pub seq: Seq,
}

/// One of the newest few sets.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RecentSet {
    /// The entry.
    pub seq: Seq,
    /// When it was taken.
    pub at: Timestamp,
    /// Total of a complete set.
    pub total: Option<u8>,
    /// Respirations a minute.
    pub rr: Option<i32>,
    /// Saturation, per cent.
    pub spo2: Option<i32>,
    /// Pulse a minute.
    pub hr: Option<i32>,
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

/// How many of the newest sets are shown.
const RECENT_SETS: usize = 5;

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
    let allowed = Span::hours(vantage.ward.policy().silence_hours());
    let newest = sets.iter().rev().find(|set| set.has_vital_sign());
    let last_reading_at = newest.map(|set| set.stamp.occurred_at);
    let quiet_since = last_reading_at.or(patient.admitted().map(|stamp| stamp.occurred_at))?;
    (vantage.now.since(quiet_since) > allowed || last_reading_at.is_none())
        .then_some(Silence { last_reading_at })
}

fn recent(sets: &[&ObservationSet]) -> Vec<RecentSet> {
    let with_signs: Vec<&&ObservationSet> = sets.iter().filter(|s| s.has_vital_sign()).collect();
    let from = with_signs.len().saturating_sub(RECENT_SETS);
    with_signs[from..]
        .iter()
        .map(|set| {
            let readings = Set::of(&set.body, set.scale);
            RecentSet {
                seq: set.stamp.seq,
                at: set.stamp.occurred_at,
                total: set.total(),
                rr: readings.rr,
                spo2: readings.spo2,
                hr: readings.hr,
            }
        })
        .collect()
}

fn score_now(
    subject: &Subject<'_>,
    patient: &Patient,
    sets: &[&ObservationSet],
) -> Option<ScoreNow> {
    let set = *sets.iter().rev().find(|set| set.has_vital_sign())?;
    let news2 = set.news2();
    let score = news2.as_ref().and_then(|news2| news2.score);
    let earlier: Vec<TotalThen> = sets
        .iter()
        .filter(|other| other.stamp.seq != set.stamp.seq)
        .filter_map(|other| total_then(other))
        .collect();
    let change = |from: Option<&TotalThen>| {
        let (from, total) = (from?, score?.total);
        Some(ScoreChange {
            points: i16::from(total) - i16::from(from.total),
            from: from.clone(),
        })
    };
    let handed_over = subject.vantage.since.and_then(|since| {
        let on_sheet = |then: &&TotalThen| then.seq <= since;
        earlier.iter().rev().find(on_sheet)
    });
    Some(ScoreNow {
        origin: subject.origin(&set.stamp),
        source: set.body.source,
        total: score.map(|score| score.total),
        band: score.map(|score| score.band.code()),
        single_3: news2.as_ref().is_some_and(|news2| news2.single_3),
        scale: set.scale,
        parts: parts(subject, set, news2.as_ref()),
        missing: news2
            .iter()
            .flat_map(|news2| news2.missing.iter().map(|input| input.label()))
            .collect(),
        since_last: change(earlier.last()),
        since_handover: change(handed_over),
        last_total: earlier.last().filter(|_| score.is_none()).cloned(),
        doubts: doubts(subject, patient, set),
        others: others(subject, set),
    })
}

fn total_then(set: &ObservationSet) -> Option<TotalThen> {
    Some(TotalThen {
        total: set.total()?,
        at: set.stamp.occurred_at,
        seq: set.stamp.seq,
    })
}

fn parts(subject: &Subject<'_>, set: &ObservationSet, news2: Option<&News2>) -> Vec<PartLine> {
    let cx = show_context(subject);
    let body = &set.body;
    let values = [
        ("RR", body.rr.show(&cx)),
        ("SpO2", body.spo2.show(&cx)),
        ("oxygen", body.oxygen.show(&cx)),
        ("BP", pressure(&cx, set)),
        ("HR", body.hr.show(&cx)),
        ("ACVPU", body.acvpu.show(&cx)),
        ("temp", body.temp.show(&cx)),
    ];
    let points = news2.map(|news2| news2.parts).unwrap_or_default();
    points
        .each()
        .into_iter()
        .zip(values)
        .map(|((input, points), (label, value))| PartLine {
            code: input.code(),
            label,
            value,
            points,
        })
        .collect()
}

fn others(subject: &Subject<'_>, set: &ObservationSet) -> Vec<String> {
    let cx = show_context(subject);
    let body = &set.body;
    let named = [
        ("diastolic", diastolic(&cx, set)),
        ("pulse", body.rhythm.show(&cx)),
        ("skin temp, not scored", body.skin_temp.show(&cx)),
        ("glucose", body.glucose.show(&cx)),
        ("weight", body.weight.show(&cx)),
        ("pain", body.pain.show(&cx)),
        ("pain on movement", body.pain_moving.show(&cx)),
    ];
    named
        .into_iter()
        .filter_map(|(label, value)| Some(format!("{label} {}", value?)))
        .collect()
}

/// `128/76 mmHg` where both were read the same way; else the systolic alone.
fn pressure(cx: &ShowContext, set: &ObservationSet) -> Option<String> {
    match both_pressures(set) {
        Some((sbp, dbp)) => Some(format!("{}/{dbp}", sbp.0)),
        None => set.body.sbp.show(cx),
    }
}

fn diastolic(cx: &ShowContext, set: &ObservationSet) -> Option<String> {
    match both_pressures(set) {
        Some(_) => None,
        None => set.body.dbp.show(cx),
    }
}

fn both_pressures(set: &ObservationSet) -> Option<(SystolicMmHg, DiastolicMmHg)> {
    match (&set.body.sbp, &set.body.dbp) {
        (
            Some(Reading::Value {
                value: sbp,
                source: None,
            }),
            Some(Reading::Value {
                value: dbp,
                source: None,
            }),
        ) => Some((*sbp, *dbp)),
        _ => None,
    }
}

fn doubts(subject: &Subject<'_>, patient: &Patient, set: &ObservationSet) -> Vec<&'static str> {
    let vantage = &subject.vantage;
    let details = patient.details.as_ref();
    let asked = |stated: Option<Stated>| match stated {
        Some(Stated::Yes) => Some(true),
        Some(Stated::No) => Some(false),
        Some(Stated::NotAsked) | None => None,
    };
    let taken_on = vantage.zone().date(set.stamp.occurred_at);
    let context = Context {
        age_years: patient.age_on(taken_on).map(|age| age.years),
        pregnant: details.and_then(|d| asked(d.pregnant)),
        high_spinal_injury: details.and_then(|d| asked(d.spinal_injury)),
        scale_2_prescribed: details.is_some_and(|d| d.scale_by.is_some()),
        skin_temperature_only: set.body.temp.is_none() && set.body.skin_temp.is_some(),
        taken_at: set.stamp.occurred_at,
        as_of: vantage.now,
        stale_after: Span::hours(vantage.ward.policy().silence_hours()),
    };
    news2::doubts(&Set::of(&set.body, set.scale), &context)
        .into_iter()
        .map(Doubt::text)
        .collect()
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
        change: change.map(oxygen_change_words),
        before: before
            .filter(|_| change.is_some())
            .and_then(|o: Oxygen| o.show(&cx)),
        origin: subject.origin(&set.stamp),
    })
}

const fn oxygen_change_words(change: OxygenChange) -> &'static str {
    match change {
        OxygenChange::Started => "started",
        OxygenChange::Increased => "increased",
        OxygenChange::Decreased => "decreased",
        OxygenChange::Stopped => "stopped",
        OxygenChange::NotComparable => "changed, amounts not comparable",
    }
}

pub(super) fn show_context(subject: &Subject<'_>) -> ShowContext {
    ShowContext {
        zone: subject.vantage.zone(),
        secrets: false,
    }
}

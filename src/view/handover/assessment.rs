//! A: what people make of it, and what was computed; never mixed.

use serde::Serialize;

use super::stay;
use crate::clinical::stay::day_of;
use crate::record::ids::Seq;
use crate::record::kind::contact::NoteTopic;
use crate::record::kind::contact::Witness;
use crate::record::kind::supply::{DoseOutcome, KitMove, LineType, SupplyMove};
use crate::record::time::{Span, Timestamp};
use crate::view::origin::{Origin, Statement, Subject};
use crate::ward::Patient;
use crate::ward::samples::SampleLife;
use crate::ward::supplies::{KitLife, LineLife, SupplyLife};
use crate::ward::workings::{Weight, Working, workings};

/// What people make of it, what was computed, and what there is to look at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Assessment {
    /// The nurse's judgement with the newest set that has one.
    pub judgement: Option<Statement>,
    /// The action decided with it.
    pub action: Option<String>,
    /// Notes written since the last accepted sheet, newest first.
    pub notes: Vec<Statement>,
    /// What the program worked out and somebody should look at, most pressing first.
    pub computed: Vec<Working>,
    /// Wounds that are not healed.
    pub wounds: Vec<super::wounds::WoundLine>,
    /// Results nobody has looked at, and recent ones outside their range.
    pub results: Vec<super::results::ResultLine>,
    /// Samples whose result is awaited, or that came to nothing.
    pub samples: Vec<SampleLine>,
    /// Supplies that have not reached the patient.
    pub supplies: Vec<SupplyLine>,
    /// Monitoring kit in the house.
    pub kit: Vec<KitLine>,
    /// Lines and devices in the patient.
    pub lines: Vec<BodyLineLine>,
    /// The newest report of each medicine.
    pub doses: Vec<DoseLine>,
}

/// A sample on its way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SampleLine {
    /// Who took it and when.
    pub origin: Origin,
    /// What was taken and which tests.
    pub what: String,
    /// Where it is, in words.
    pub state: String,
    /// Nothing will come of it: take another.
    pub failed: bool,
    /// When the result should be there.
    pub result_by: Option<Timestamp>,
}

/// A supply that has not reached the patient.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SupplyLine {
    /// Who asked for it and when.
    pub origin: Origin,
    /// What.
    pub item: String,
    /// Where it is; `None` before it was prepared.
    pub state: Option<SupplyMove>,
    /// Who has it.
    pub holder: Option<String>,
    /// It set out and the patient does not have it.
    pub failed: bool,
    /// When it should be there.
    pub needed_by: Option<Timestamp>,
    /// The next dose that depends on it.
    pub dose_due: Option<Timestamp>,
    /// Which dose will be missed.
    pub dose_missed: Option<String>,
}

/// Monitoring kit in the house.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct KitLine {
    /// Who issued it and when.
    pub origin: Origin,
    /// What.
    pub item: String,
    /// Serial number now.
    pub serial: String,
    /// Why it measures nothing now.
    pub silent: Option<KitMove>,
    /// Since when.
    pub silent_since: Option<Timestamp>,
    /// It was issued and nobody has said that it works.
    pub not_confirmed_working: bool,
}

/// A line or device in the patient.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BodyLineLine {
    /// Who entered it and when.
    pub origin: Origin,
    /// What it is.
    pub kind: LineType,
    /// Where.
    pub site: String,
    /// Day of the line, 1 on the day it was put in; `None` if its date is still to come.
    pub day: Option<i64>,
    /// Newest site score, 0 (healthy) to 5.
    pub site_score: Option<i32>,
    /// When that was.
    pub scored_at: Option<Timestamp>,
    /// Blocked, by its newest care.
    pub blocked: bool,
    /// Who can flush or change it at night.
    pub night_cover: Option<String>,
    /// Next care due.
    pub next_care: Option<Timestamp>,
}

/// The newest report of one medicine.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DoseLine {
    /// Who reported it and when.
    pub origin: Origin,
    /// Medicine, dose and route.
    pub medicine: String,
    /// What came of the newest dose.
    pub outcome: DoseOutcome,
    /// It was missed, refused, vomited, or nobody knows.
    pub not_taken: bool,
    /// When the last dose was taken.
    pub last_taken: Option<Timestamp>,
    /// When the next is due.
    pub next_due: Option<Timestamp>,
    /// Who said so.
    pub said_by: Option<Witness>,
}

pub(super) fn assessment(subject: &Subject<'_>, patient: &Patient) -> Assessment {
    let sets = stay::sets(patient);
    let judged = sets.iter().rev().find(|set| set.body.judgement.is_some());
    Assessment {
        judgement: judged.and_then(|set| {
            let text = set.body.judgement.as_ref()?.0.clone();
            Some(Statement {
                text,
                said_by: None,
                topic: None,
                origin: subject.origin(&set.stamp),
            })
        }),
        action: judged.and_then(|set| set.body.action.as_ref().map(|note| note.0.clone())),
        notes: new_notes(subject, patient),
        computed: computed(subject, patient),
        wounds: super::wounds::open_wounds(subject, patient),
        results: super::results::results(subject, patient),
        samples: samples(subject, patient),
        supplies: supplies(subject, patient),
        kit: patient
            .kit
            .values()
            .filter(|life| life.is_out())
            .map(|life| kit_line(subject, life))
            .collect(),
        lines: patient
            .lines
            .values()
            .filter(|life| life.is_in())
            .map(|life| body_line(subject, life))
            .collect(),
        doses: doses(subject, patient),
    }
}

/// Notes since the last accepted sheet; what to watch for and questions stand elsewhere. With
/// no earlier handover, the notes of the last day.
fn new_notes(subject: &Subject<'_>, patient: &Patient) -> Vec<Statement> {
    let vantage = &subject.vantage;
    let day_ago = vantage.now.plus(Span(-Span::days(1).0));
    let elsewhere = [Some(NoteTopic::WatchFor), Some(NoteTopic::Question)];
    let notes = patient.ledgers.notes.iter().rev();
    notes
        .filter(|held| !elsewhere.contains(&held.body.topic))
        .filter(|held| match vantage.since {
            Some(since) => held.seq() > since,
            None => held.stamp.recorded_at > day_ago,
        })
        .map(|held| super::plan::note(subject, &patient.ledgers, held))
        .collect()
}

/// What was worked out and asks for a look; the rest is in the patient's workings.
fn computed(subject: &Subject<'_>, patient: &Patient) -> Vec<Working> {
    let mut worked = workings(subject.vantage.ward, patient, subject.vantage.now);
    worked.retain(|working| working.weight < Weight::Say);
    worked
}

fn samples(subject: &Subject<'_>, patient: &Patient) -> Vec<SampleLine> {
    let proven = |(_, life): &(&Seq, &SampleLife)| !life.taken.stamp.limited;
    let newest = patient.samples.iter().rev().find(proven);
    let newest = newest.map(|(seq, _)| *seq);
    let lines = patient.samples.iter().filter_map(|(seq, life)| {
        // A failed sample matters until another one was taken.
        let failed = life.has_failed() && Some(*seq) == newest && life.results.is_empty();
        if !failed && !life.is_awaited() {
            return None;
        }
        let last = life.steps.last();
        let detail = last.and_then(|step| step.body.detail.as_ref());
        let state = match last {
            None => "taken, not yet sent".to_owned(),
            Some(step) => match detail {
                Some(detail) => format!("{}: {detail}", step.body.step),
                None => step.body.step.to_string(),
            },
        };
        Some(SampleLine {
            origin: subject.origin_with(&life.taken.stamp, last.map(|step| step.seq())),
            what: format!("{}: {}", life.taken.body.what, life.taken.body.tests),
            state,
            failed,
            result_by: life.result_due(),
        })
    });
    lines.collect()
}

pub(super) fn supplies(subject: &Subject<'_>, patient: &Patient) -> Vec<SupplyLine> {
    let open = patient.supplies.values().filter(|life| life.is_open());
    open.map(|life| supply_line(subject, life)).collect()
}

fn supply_line(subject: &Subject<'_>, life: &SupplyLife) -> SupplyLine {
    let asked = &life.asked.body;
    let newest: Option<Seq> = life.steps.last().map(|step| step.seq());
    let holder = life.steps.last().and_then(|step| step.body.holder.as_ref());
    SupplyLine {
        origin: subject.origin_with(&life.asked.stamp, newest),
        item: asked.item.0.clone(),
        state: life.where_it_is(),
        holder: holder.map(|holder| holder.0.clone()),
        failed: life.where_it_is().is_some_and(SupplyMove::has_failed),
        needed_by: asked.needed_by.map(|due| due.0),
        dose_due: asked.dose_due.map(|due| due.0),
        dose_missed: life.dose_missed().map(str::to_owned),
    }
}

fn kit_line(subject: &Subject<'_>, life: &KitLife) -> KitLine {
    let silent = life.silent_since();
    let issued = &life.issued.body;
    KitLine {
        origin: subject.origin_with(&life.issued.stamp, life.steps.last().map(|s| s.seq())),
        item: issued.item.0.clone(),
        serial: life.serial().to_owned(),
        silent: silent.map(|(step, _)| step),
        silent_since: silent.map(|(_, since)| since),
        not_confirmed_working: issued.working != Some(true)
            && !life.steps.iter().any(|s| s.body.step == KitMove::Working),
    }
}

fn body_line(subject: &Subject<'_>, life: &LineLife) -> BodyLineLine {
    use crate::record::kind::supply::LineMove;
    let today = subject.vantage.zone().date(subject.vantage.now);
    let found = &life.found.body;
    let scored = life.care.iter().rev().find(|c| c.body.site_score.is_some());
    let blocked = life.care.last().map(|care| care.body.step) == Some(LineMove::Blocked);
    BodyLineLine {
        origin: subject.origin_with(&life.found.stamp, life.care.last().map(|c| c.seq())),
        kind: found.kind,
        site: found.site.0.clone(),
        day: day_of(found.inserted.to_date(), today),
        site_score: life.site_score(),
        scored_at: scored.map(|care| care.stamp.occurred_at),
        blocked,
        night_cover: found.night_cover.as_ref().map(|cover| cover.0.clone()),
        next_care: life.next_care(),
    }
}

fn doses(subject: &Subject<'_>, patient: &Patient) -> Vec<DoseLine> {
    let mut lines: Vec<DoseLine> = Vec::new();
    for held in patient.doses.iter().rev() {
        let in_stay = stay::holds(patient, held.stamp.occurred_at);
        let medicine = held.body.medicine.as_str();
        if !in_stay || lines.iter().any(|line| line.medicine == medicine) {
            continue;
        }
        lines.push(DoseLine {
            origin: subject.origin(&held.stamp),
            medicine: medicine.to_owned(),
            outcome: held.body.outcome,
            not_taken: !matches!(held.body.outcome, DoseOutcome::Taken | DoseOutcome::Given),
            last_taken: last_taken(patient, medicine),
            next_due: held.body.next_due.map(|due| due.0),
            said_by: held.body.said_by,
        });
    }
    lines
}

/// When a medicine was last taken: as stated, or when a dose of it was reported as taken.
fn last_taken(patient: &Patient, medicine: &str) -> Option<Timestamp> {
    let of_it = patient.doses.iter().rev();
    let mut of_it = of_it.filter(|held| held.body.medicine.as_str() == medicine);
    of_it.find_map(|held| {
        let stated = held.body.last_taken.map(|past| past.0);
        let at = held.stamp.occurred_at;
        match held.body.outcome {
            // Staff gave it then; what is stated beside it is the dose before.
            DoseOutcome::Given => Some(at),
            DoseOutcome::Taken => stated.or(Some(at)),
            _ => stated,
        }
    })
}

//! What could be done next: offers of one key each. An offer is a draft, never an act.

use super::Station;
use super::outcome::Offer;
use crate::clinical::news2::{Monitoring, News2};
use crate::record::draft::Draft;
use crate::record::entry::Entry;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::contact::ContactOutcome;
use crate::record::kind::sample::SampleQuality;
use crate::record::kind::{Body, Kind};
use crate::ward::due::DueSort;
use crate::ward::{Patient, Read};

/// Most offers after one entry: more would have to be read.
const OFFERS_MAX: usize = 4;

/// What could follow the newest entry.
pub(super) fn offers(station: &Station, patient: Option<Pseudonym>, seq: Seq) -> Vec<Offer> {
    let Ok(Read::Entry(entry)) = station.entry(seq) else {
        return Vec::new();
    };
    let known = patient.and_then(|patient| station.ward().patient(patient));
    let mut offers = Vec::new();
    match &entry.body {
        Body::Contact(contact) => {
            let reached = contact.outcome != ContactOutcome::NoAnswer;
            if let Some(alert) = contact.answers.filter(|_| reached) {
                offers.push(close_alert(alert, 'c', "resolved"));
                offers.push(close_alert(alert, 'm', "mistake"));
            }
            if reached {
                offers.extend(known.and_then(|known| done_task(station, known, &entry, "call")));
            }
        }
        Body::Observation(_) => {
            offers.extend(known.and_then(|known| done_task(station, known, &entry, "obs")));
            if let Some(known) = known {
                offers.extend(escalate(known, seq));
            }
        }
        Body::Alert(_) => offers.push(take_alert(seq)),
        Body::AlertStep(step) => offers.extend(after_step(station, patient, step.alert)),
        Body::LabResult(result) => {
            let unfit = result
                .quality
                .is_some_and(|quality| quality != SampleQuality::Fit);
            offers.push(review(seq, unfit));
        }
        Body::SupplyStep(step) if step.step.has_failed() => {
            offers.push(offer(
                't',
                "task: tell the prescriber a dose may be missed",
                Draft::new(Kind::Task)
                    .with("what", "tell the prescriber which dose is missed")
                    .with("due", "+30m")
                    .with("kind", "medicine")
                    .with("source", seq.to_string()),
            ));
        }
        _ => {}
    }
    offers.truncate(OFFERS_MAX);
    for offer in &mut offers {
        if offer.draft.patient.is_none() {
            offer.draft.patient = patient.map(|patient| patient.to_string());
        }
    }
    offers
}

fn offer(key: char, label: impl Into<String>, draft: Draft) -> Offer {
    Offer {
        key,
        label: label.into(),
        draft,
    }
}

fn close_alert(alert: Seq, key: char, outcome: &str) -> Offer {
    let draft = Draft::new(Kind::AlertStep)
        .with("alert", alert.to_string())
        .with("step", "closed")
        .with("outcome", outcome);
    let as_what = if outcome == "mistake" {
        "raised by mistake"
    } else {
        outcome
    };
    offer(key, format!("close alert {alert}: {as_what}"), draft)
}

fn take_alert(alert: Seq) -> Offer {
    let draft = Draft::new(Kind::AlertStep)
        .with("alert", alert.to_string())
        .with("step", "taken");
    offer('t', format!("take alert {alert}"), draft)
}

/// What follows a step in an alert's life: what was acted on may be closed; whoever only took it
/// has a call to make.
fn after_step(station: &Station, patient: Option<Pseudonym>, alert: Seq) -> Option<Offer> {
    let ledgers = station.ward().ledgers_of(patient)?;
    let life = ledgers.alerts.get(&alert).filter(|life| life.is_open())?;
    if life.time_to_action().is_some() {
        return Some(close_alert(alert, 'c', "resolved"));
    }
    patient?;
    let call = Draft::new(Kind::Contact)
        .with("mode", "phone")
        .with("answers", alert.to_string());
    Some(offer('p', format!("phone about alert {alert}"), call))
}

/// The task of this sort that is due soonest, if the entry may be what it asks for: made within
/// the task's window or later, without a window from when it is due soon by the ward's policy.
/// What asks for a set of readings is done by a complete one only.
fn done_task(station: &Station, patient: &Patient, entry: &Entry, sort: &str) -> Option<Offer> {
    let due_soon = station.ward().policy().values().sheet().due_soon;
    let made = entry.occurred_at();
    let set = patient.sets.iter().find(|set| set.stamp.seq == entry.seq);
    let is_partial = set.is_some_and(|set| set.total().is_none());
    let due = patient.due_items().into_iter().find(|item| {
        let task = patient.ledgers.tasks.get(&item.seq);
        let too_early = match item.from {
            Some(from) => from > made,
            None => item.due > made.plus(due_soon),
        };
        item.sort == DueSort::Task
            && !too_early
            && !(is_partial && names_a_set(&item.what))
            && task.is_some_and(|task| task.set.body.kind.is_some_and(|kind| kind.code() == sort))
    })?;
    let draft = Draft::new(Kind::TaskStep)
        .with("task", due.seq.to_string())
        .with("step", "done");
    Some(offer(
        'd',
        format!("task {} done: {}", due.seq, due.what),
        draft,
    ))
}

/// Whether a task asks for a set of readings in so many words ("Evening set", "full set").
fn names_a_set(what: &str) -> bool {
    let mut words = what.split(|c: char| !c.is_alphanumeric());
    words.any(|word| word.eq_ignore_ascii_case("set") || word.eq_ignore_ascii_case("news2"))
}

/// The published response to this score asks for more than routine care.
fn escalate(patient: &Patient, seq: Seq) -> Option<Offer> {
    let set = patient.sets.iter().find(|set| set.stamp.seq == seq)?;
    let news2 = set.news2()?;
    let monitoring = news2.monitoring();
    let asks = matches!(
        monitoring,
        Some(Monitoring::Hourly | Monitoring::Continuous)
    );
    if !asks {
        return None;
    }
    let situation = match news2.score {
        Some(score) => format!("NEWS2 {} ({})", score.total, score.band.code()),
        None => incomplete(&news2),
    };
    let draft = Draft::new(Kind::Escalation)
        .with("situation", situation)
        .with("about", seq.to_string());
    Some(offer('e', "escalate (SBAR form)", draft))
}

/// `NEWS2 at least 7 (high) from what was measured; the set is incomplete`.
fn incomplete(news2: &News2) -> String {
    let floor = news2.at_least_in_words().unwrap_or_default();
    let single = if news2.single_3 {
        "; a single part scores 3"
    } else {
        ""
    };
    format!("NEWS2 {floor}{single}; the set is incomplete")
}

fn review(result: Seq, unfit: bool) -> Offer {
    let draft = Draft::new(Kind::ResultReview).with("result", result.to_string());
    if unfit {
        return offer(
            'r',
            "review it: to be repeated",
            draft.with("decision", "repeat"),
        );
    }
    offer('r', "review it now", draft)
}

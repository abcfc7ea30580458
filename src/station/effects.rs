//! What an entry changed, in sentences for whoever wrote it.

use super::Station;
use crate::clinical::news2::{Band, NextSet, Row, next_set_by};
use crate::record::ids::{PersonKey, Pseudonym, Seq};
use crate::record::kind::Body;
use crate::record::kind::alert::AlertMove;
use crate::ward::alerts::AlertLife;
use crate::ward::{Patient, Read};

/// What the newest entry, `seq`, changed.
pub(super) fn changes(station: &Station, patient: Option<Pseudonym>, seq: Seq) -> Vec<String> {
    let Ok(Read::Entry(entry)) = station.entry(seq) else {
        return Vec::new();
    };
    let zone = station.zone();
    let known = patient.and_then(|patient| station.ward().patient(patient));
    let mut said = Vec::new();
    match &entry.body {
        Body::Contact(contact) => {
            if let Some(alert) = contact.answers {
                let reached = !contact.outcome.is_unreached();
                said.push(answered(station, patient, alert, &entry.author, reached));
            }
            if contact.worry.is_some() {
                said.push(format!("alert {seq} raised: the worry you wrote down"));
            }
            let agreed = known.and_then(|known| known.next_contact()?.body.next);
            said.push(match (contact.next, agreed) {
                (Some(due), _) => format!("next contact {}", zone.day_time(due.0)),
                (None, Some(due)) => {
                    format!("the next contact stays as agreed: {}", zone.day_time(due.0))
                }
                (None, None) => "no next contact is planned".to_owned(),
            });
        }
        Body::Observation(_) => {
            said.extend(known.and_then(|known| scored(known, seq)));
            said.extend(known.map_or(Vec::new(), |known| called_for(station, known, seq)));
        }
        Body::AlertStep(step) => {
            let verb = match step.step {
                AlertMove::Taken => "is yours",
                AlertMove::Closed => "is closed",
                AlertMove::Released => "waits for somebody again",
                AlertMove::HandedOver => "is handed over",
                AlertMove::Seen => "is marked seen",
                AlertMove::Actioned => "is marked acted on",
                AlertMove::Escalated => "is marked escalated",
            };
            said.push(format!("alert {} {verb}", step.alert));
        }
        Body::HandoverStep(step) => {
            let digest = step.digest.map(|digest| format!("; sheet {digest}"));
            said.push(format!(
                "handover {}: {}{}",
                step.handover,
                step.step.label(),
                digest.unwrap_or_default()
            ));
        }
        Body::TaskStep(step) => {
            let ledgers = station.ward().ledgers_of(patient);
            let task = ledgers.and_then(|ledgers| ledgers.tasks.get(&step.task));
            said.push(match task {
                Some(task) if task.is_open() => {
                    format!("task {}: next due {}", step.task, zone.day_time(task.due))
                }
                _ => format!("task {}: {}", step.task, step.step.label()),
            });
        }
        Body::Task(task) => said.push(format!("due {}", zone.day_time(task.due.0))),
        Body::Wound(wound) => {
            said.extend(
                wound
                    .wound
                    .map(|number| format!("this is wound {}", number.0)),
            );
        }
        Body::Amendment(amendment) => {
            said.push(format!("{} {}", amendment.target, amendment.act.label()));
        }
        _ => {}
    }
    said
}

/// What answering did to an alert. It stays with the colleague who has it, and whoever
/// answered is told so: two people may be acting on it. A call that nobody took has not
/// acted on anything.
fn answered(
    station: &Station,
    patient: Option<Pseudonym>,
    alert: Seq,
    by: &PersonKey,
    reached: bool,
) -> String {
    let ledgers = station.ward().ledgers_of(patient);
    let life = ledgers.and_then(|ledgers| ledgers.alerts.get(&alert));
    let me = station.ward().staff_by_key(by).map(|staff| &staff.handle);
    let colleague = life
        .and_then(AlertLife::holder)
        .filter(|(holder, _)| Some(holder) != me);
    match (colleague, reached) {
        (Some((holder, since)), reached) => format!(
            "alert {alert}: {}; it is still with {}, since {}",
            if reached {
                "acted on by you"
            } else {
                "you tried, nobody was reached"
            },
            station.name_of(holder),
            station.zone().day_time(*since)
        ),
        (None, true) => format!("alert {alert}: taken and acted on by you"),
        (None, false) => format!("alert {alert}: yours; nobody was reached yet"),
    }
}

/// `NEWS2 3 (low), 1 more than at …`, or what is missing.
/// What the score calls for by the ward's policy: when the next set is due, and who does what.
fn called_for(station: &Station, patient: &Patient, seq: Seq) -> Vec<String> {
    let set = patient.sets.iter().find(|set| set.stamp.seq == seq);
    let Some((set, news2)) = set.and_then(|set| Some((set, set.news2()?))) else {
        return Vec::new();
    };
    let Some(row) = Row::of(&news2) else {
        return Vec::new();
    };
    let policy = station.ward().policy().values().news2();
    let called = policy.row(row);
    let whose = if called.is_ward_s_own {
        "by this ward's policy"
    } else {
        "as published for hospital wards"
    };
    let mut said = Vec::new();
    said.extend(match next_set_by(&policy, &news2, set.stamp.occurred_at) {
        NextSet::Due { to, .. } => {
            let due = station.zone().day_time(to);
            Some(format!("next set due by {due}, {whose}"))
        }
        NextSet::Continuous => Some(format!("monitoring is to be continuous, {whose}")),
        NextSet::CompleteThisOne => None,
    });
    if row != Row::Zero {
        let within = called
            .answer_within
            .map_or(String::new(), |span| format!(", within {}", span.spoken()));
        let (response, by) = (called.response.trim_end_matches('.'), &called.answered_by);
        said.push(format!(
            "called for, {whose}: {response}. Answers: {by}{within}"
        ));
    }
    said
}

fn scored(patient: &Patient, seq: Seq) -> Option<String> {
    let set = patient.sets.iter().find(|set| set.stamp.seq == seq)?;
    let news2 = set.news2()?;
    let Some(score) = news2.score else {
        let missing: Vec<&str> = news2.missing.iter().map(|part| part.label()).collect();
        let single = if news2.single_3 {
            "; one reading scores 3"
        } else {
            ""
        };
        return Some(format!(
            "no NEWS2 total: {} missing{single}",
            missing.join(", ")
        ));
    };
    let single = if news2.single_3 && score.band != Band::High {
        ", a single 3"
    } else {
        ""
    };
    let before = patient.last_total_before(set.stamp.occurred_at);
    let change = before.map_or(String::new(), |(_, total)| match score.total.cmp(&total) {
        std::cmp::Ordering::Greater => format!(", up from {total}"),
        std::cmp::Ordering::Less => format!(", down from {total}"),
        std::cmp::Ordering::Equal => format!(", unchanged from {total}"),
    });
    let band = score.band.code();
    let monitoring = score.monitoring.text();
    Some(format!(
        "NEWS2 {} ({band}{single}){change}; published minimum: {monitoring}",
        score.total
    ))
}

//! What an entry changed, in sentences for whoever wrote it.

use super::{Station, amended};
use crate::clinical::news2::{News2, Total, scale_2_in_words};
use crate::clinical::trend::{self, Sample, Sign};
use crate::record::entry::Entry;
use crate::record::ids::{PersonKey, Pseudonym, Seq};
use crate::record::kind::Body;
use crate::record::kind::alert::AlertMove;
use crate::record::kind::contact::NoteTopic;
use crate::record::kind::shift::HandoverMove;
use crate::record::observed::Spo2Scale;
use crate::ward::alerts::AlertLife;
use crate::ward::observations::ObservationSet;
use crate::ward::workings::{self, About, Weight};
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
                (Some(due), _) => format!(
                    "next contact {}{}",
                    zone.day_time(due.0),
                    falls_to(station, known, &entry)
                ),
                (None, Some(due)) => {
                    format!("the next contact stays as agreed: {}", zone.day_time(due.0))
                }
                (None, None) => "no next contact is planned".to_owned(),
            });
        }
        Body::Observation(_) => {
            said.extend(known.map_or(Vec::new(), |known| scored(station, known, seq)));
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
                "handover {}{}: {}{}",
                step.handover,
                known.map_or_else(String::new, |one| format!(", {}", name_and_slot(one))),
                step.step.label(),
                digest.unwrap_or_default()
            ));
            if step.step == HandoverMove::Accepted {
                let comes = station.comes_with(step.handover, patient);
                said.extend(comes.into_iter().map(|one| format!("yours now: {one}")));
                said.extend(held_back(station, step.handover));
            }
        }
        Body::TaskStep(step) => {
            let ledgers = station.ward().ledgers_of(patient);
            let task = ledgers.and_then(|ledgers| ledgers.tasks.get(&step.task));
            let whose = known.map_or_else(|| "the ward".to_owned(), name_and_slot);
            let what = task.map_or(String::new(), |task| format!(" \"{}\"", task.set.body.what));
            let next = task
                .filter(|task| task.is_open())
                .map_or(String::new(), |task| {
                    format!("; next due {}", zone.day_time(task.due))
                });
            said.push(format!(
                "task {}{what}, {whose}: {}{next}",
                step.task,
                step.step.label()
            ));
        }
        Body::Note(note) if note.topic == Some(NoteTopic::Answer) => {
            let related = entry.envelope.related.iter();
            said.extend(related.map(|seq| format!("question {seq} is answered")));
        }
        Body::Task(task) => said.push(format!(
            "due {}; whose: {}",
            zone.day_time(task.due.0),
            match (&task.person, task.role) {
                (Some(person), _) => station.name_of(person).to_owned(),
                (None, Some(role)) => format!("any {}", role.label().to_lowercase()),
                (None, None) => "nobody".to_owned(),
            }
        )),
        Body::Wound(wound) => {
            said.extend(
                wound
                    .wound
                    .map(|number| format!("this is wound {}", number.0)),
            );
        }
        Body::Amendment(amendment) => {
            said.push(format!("{} {}", amendment.target, amendment.act.label()));
            said.extend(amended::changes(station, patient, seq, amendment.target));
        }
        _ => {}
    }
    said.extend(known.map_or(Vec::new(), |known| worked_out(station, known, seq)));
    said
}

/// Whose the next contact is, where it is not the writer's: a list of their own has it not.
fn falls_to(station: &Station, patient: Option<&Patient>, entry: &Entry) -> String {
    let me = station.ward().staff_by_key(&entry.author);
    let due = patient.map(Patient::due_items).unwrap_or_default();
    let due = due.into_iter().find(|item| item.seq == entry.seq);
    let whose = due.and_then(|item| item.owner);
    let other = whose.filter(|whose| me.is_none_or(|me| me.handle != *whose));
    other.map_or(String::new(), |whose| {
        format!("; it falls to {}", station.name_of(&whose))
    })
}

/// `T07 PELL, Rose (Mrs)`.
pub(super) fn name_and_slot(patient: &Patient) -> String {
    match patient.slot() {
        Some(slot) => format!("{slot} {}", patient.name_line()),
        None => patient.name_line(),
    }
}

/// Who is not taken over although the ward is, and why, a sentence each.
fn held_back(station: &Station, handover: Seq) -> Vec<String> {
    let ward = station.ward();
    let Some(life) = ward.handovers().get(&handover) else {
        return Vec::new();
    };
    let open = life.open_queries();
    let sentence = |patient: Pseudonym| {
        let known = ward.patient(patient)?;
        let by = life.held_back_by(patient)?;
        let text = by.held.body.text.as_ref();
        let text = text
            .map(|text| text.0.replace('\n', " "))
            .unwrap_or_default();
        let why = match by.held.body.step {
            HandoverMove::Declined => format!("not accepted ({}): {text}", by.held.seq()),
            _ if open.iter().any(|query| query.held.seq() == by.held.seq()) => {
                format!(
                    "your question {} is not answered: \"{text}\"",
                    by.held.seq()
                )
            }
            _ => format!(
                "question {} was answered after the ward was accepted",
                by.held.seq()
            ),
        };
        Some(format!("NOT TAKEN OVER: {}, {why}", name_and_slot(known)))
    };
    let mut said: Vec<String> = life
        .patients_held_back()
        .into_iter()
        .filter_map(sentence)
        .collect();
    if !said.is_empty() {
        said.push("accept them one by one once that is settled".to_owned());
    }
    said
}

/// What the program works out from the new entry and somebody should look at, and what a coma
/// scale, a 4AT or an amount of fluid comes to: nobody adds those up by hand. A set's score and
/// trends have their own lines.
fn worked_out(station: &Station, patient: &Patient, seq: Seq) -> Vec<String> {
    let worked = workings::workings(station.ward(), patient, station.now());
    let of_entry = worked.into_iter().filter(|working| {
        let wanted = matches!(working.about, About::Consciousness | About::Fluid);
        (working.weight < Weight::Say || wanted)
            && working.entries.last() == Some(&seq)
            && !matches!(working.about, About::Score | About::Trend)
    });
    of_entry
        .map(|working| format!("[computed] {}", working.text))
        .collect()
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

/// What the score calls for by the ward's policy: when the next set is due, and who does what.
/// A set written down late, behind a newer one, calls for nothing now.
fn called_for(station: &Station, patient: &Patient, seq: Seq) -> Vec<String> {
    let called = workings::called_for(station.ward(), patient, station.now());
    called
        .into_iter()
        .filter(|working| working.entries.last() == Some(&seq))
        .map(|working| working.text)
        .collect()
}

/// `NEWS2 3 (low), up from 1 at Sun 14:00`, or what is missing and the last complete total; the
/// parts; and what is outside this patient's own usual.
fn scored(station: &Station, patient: &Patient, seq: Seq) -> Vec<String> {
    let Some(set) = patient.sets.iter().find(|set| set.stamp.seq == seq) else {
        return Vec::new();
    };
    let Some(news2) = set.news2().filter(|_| set.has_vital_sign()) else {
        return Vec::new();
    };
    let zone = station.zone();
    let before = patient
        .last_total_before(set.stamp.occurred_at)
        .map(|(then, total)| (total, zone.day_time(then.stamp.occurred_at)));
    let mut said = vec![match news2.score {
        Some(score) => total(&score, news2.single_3, before),
        None => no_total(&news2, before),
    }];
    said.push(parts(&news2));
    if set.scale == Some(Spo2Scale::Scale2) {
        let details = patient.details.as_ref();
        let by = details.and_then(|details| details.scale_by.as_ref());
        said.push(scale_2_in_words(by.map(|by| by.0.as_str())));
    }
    said.extend(unusual_for(station, patient, set));
    said
}

fn total(score: &Total, single_3: bool, before: Option<(u8, String)>) -> String {
    let single = if single_3 { ", A SINGLE 3" } else { "" };
    let change = before.map_or(String::new(), |(total, at)| match score.total.cmp(&total) {
        std::cmp::Ordering::Greater => format!(", up from {total} at {at}"),
        std::cmp::Ordering::Less => format!(", down from {total} at {at}"),
        std::cmp::Ordering::Equal => format!(", unchanged from {total} at {at}"),
    });
    format!(
        "NEWS2 {} ({}{single}){change}; published minimum: {}",
        score.total,
        score.band.code(),
        score.monitoring.text()
    )
}

fn no_total(news2: &News2, before: Option<(u8, String)>) -> String {
    let missing: Vec<&str> = news2.missing.iter().map(|part| part.label()).collect();
    let single = if news2.single_3 {
        "; A SINGLE 3: one reading scores 3"
    } else {
        ""
    };
    let floor = news2.at_least_in_words();
    let floor = floor.map_or(String::new(), |floor| match news2.monitoring() {
        Some(least) => format!(
            "; {}, published minimum for that: {}",
            floor.replacen("at least", "AT LEAST", 1),
            least.text()
        ),
        None => format!("; {floor}"),
    });
    let last = before.map_or(String::new(), |(total, at)| {
        format!("; last complete NEWS2 {total} at {at}")
    });
    format!(
        "no NEWS2 total: {} missing{floor}{single}{last}",
        missing.join(", ")
    )
}

/// Points of each part that is known, by the word that is typed for it.
fn parts(news2: &News2) -> String {
    let known = news2
        .parts
        .each()
        .into_iter()
        .filter_map(|(input, points)| Some(format!("{} {}", input.code(), points?)));
    let known: Vec<String> = known.collect();
    match known.as_slice() {
        [] => "points: none can be given".to_owned(),
        known => format!("points: {}", known.join(", ")),
    }
}

/// Readings of this set outside what is usual for the patient; nothing with too few earlier
/// readings to know that.
fn unusual_for(station: &Station, patient: &Patient, set: &ObservationSet) -> Option<String> {
    let policy = station.ward().policy().values().trend();
    let until = set.stamp.occurred_at;
    let sets = workings::trended(patient, until);
    let outside = Sign::ALL.into_iter().filter_map(|sign| {
        set.sample(sign)?;
        let samples: Vec<Sample> = sets.iter().filter_map(|set| set.sample(sign)).collect();
        let trend = trend::assess_by(&policy, sign, &samples, until, station.zone())?;
        let usual = trend.usual?;
        if trend.latest.at != until || !usual.is_outside(trend.latest.value) {
            return None;
        }
        let side = if trend.latest.value > usual.high {
            "above"
        } else {
            "below"
        };
        let number = |steps| sign.measure().number(steps);
        Some(format!(
            "{} {} {side} usual {} to {}",
            sign.label(),
            number(trend.latest.value),
            number(usual.low),
            number(usual.high)
        ))
    });
    let outside: Vec<String> = outside.collect();
    (!outside.is_empty()).then(|| format!("for this patient: {}", outside.join("; ")))
}

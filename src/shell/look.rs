//! What the shell needs from the ward's state: the small copy for the line editor, the status
//! line, and what a notice says.

use super::known::{Known, KnownPatient, OpenEntry};
use super::status::Status;
use crate::record::entry::Entry;
use crate::record::ids::{PersonKey, Pseudonym, Seq};
use crate::record::kind::Body;
use crate::record::kind::alert::AlertMove;
use crate::record::kind::shift::HandoverMove;
use crate::record::person::Handle;
use crate::record::time::{Timestamp, show_date};
use crate::station::Station;
use crate::view::page::Reservations;
use crate::ward::alerts::AlertLife;
use crate::ward::{Patient, Read, Ward};

/// How much of an entry is said where only its beginning is.
const BEGINNING: usize = 100;

/// A patient, as the shell chooses and shows one.
pub(super) fn known_patient(patient: &Patient) -> KnownPatient {
    let details = patient.details.as_ref();
    let born = details.map(|details| format!("born {}", show_date(details.born.to_date())));
    let area = details.map(|details| details.area.0.clone());
    let detail: Vec<String> = [born, area].into_iter().flatten().collect();
    KnownPatient {
        key: patient.pseudonym.to_string(),
        slot: patient.slot().map(str::to_owned),
        name: patient.name_line(),
        detail: detail.join(", "),
    }
}

/// What of the journal could not be read, a line each; empty if all could.
pub(super) fn not_complete(reservations: &Reservations) -> String {
    let said = reservations.sentences().into_iter();
    said.map(|said| format!("\n{said} `handfast verify` says more."))
        .collect()
}

/// `T07 PELL, Rose (Mrs)`, or `the ward`.
pub(super) fn who(ward: &Ward, patient: Option<Pseudonym>) -> String {
    match patient.and_then(|patient| ward.patient(patient)) {
        None => "the ward".to_owned(),
        Some(patient) => match patient.slot() {
            Some(slot) => format!("{slot} {}", patient.name_line()),
            None => patient.name_line(),
        },
    }
}

/// `T07 PELL Rose`, for lists that are cut off at the right.
fn in_short(ward: &Ward, patient: Option<Pseudonym>) -> String {
    match patient.and_then(|patient| ward.patient(patient)) {
        None => "ward".to_owned(),
        Some(patient) => format!("{} {}", patient.slot().unwrap_or("-"), patient.short_name()),
    }
}

/// An entry in one line: what it is, whose, and how it begins; of a step also what it was about.
pub(super) fn what_it_is(station: &Station, seq: Seq) -> String {
    let Ok(Read::Entry(entry)) = station.entry(seq) else {
        return "an entry that cannot be read".to_owned();
    };
    let ward = station.ward();
    let ledgers = ward.ledgers_of(entry.patient);
    let about = match &entry.body {
        Body::TaskStep(step) => ledgers
            .and_then(|ledgers| ledgers.tasks.get(&step.task))
            .map(|task| task.set.body.what.0.clone()),
        Body::AlertStep(step) => ledgers
            .and_then(|ledgers| ledgers.alerts.get(&step.alert))
            .map(|alert| alert.what.clone()),
        _ => None,
    };
    let about = about.map_or(String::new(), |about| format!(" (\"{about}\")"));
    let fields = entry.body.show(&station.show_context(None));
    let fields: Vec<String> = fields
        .into_iter()
        .map(|field| format!("{} {}", field.name, field.text))
        .collect();
    let fields = fields.join("; ").replace('\n', " ");
    format!(
        "{}, {}: {}{about}",
        entry.kind(),
        who(ward, entry.patient),
        super::prompt::cut(&fields, BEGINNING)
    )
}

/// Everything the line editor knows, taken anew.
pub(super) fn known(
    station: &Station,
    person: Option<(&Handle, &str)>,
    selected: Option<Pseudonym>,
) -> Known {
    let (ward, now) = (station.ward(), station.now());
    Known {
        patients: ward.caseload().into_iter().map(known_patient).collect(),
        open: open_entries(ward, now),
        staff: ward
            .roster()
            .filter(|s| !s.is_suspended())
            .map(|s| (s.handle.to_string(), s.name.clone()))
            .collect(),
        status: Status::of(station, person),
        selected: selected.and_then(|one| ward.patient(one)).map(|patient| {
            let mut known = known_patient(patient);
            if patient.left_at().is_some() {
                known.name = format!("(LEFT) {}", known.name);
            }
            known
        }),
        answers: Vec::new(),
        asking: false,
    }
}

/// Open alerts of everybody, the most urgent and then the oldest first.
pub(super) fn open_alerts(ward: &Ward) -> Vec<(Option<Pseudonym>, &AlertLife)> {
    let of_patients = ward.patients().flat_map(|patient| {
        patient
            .ledgers
            .alerts
            .values()
            .map(move |alert| (Some(patient.pseudonym), alert))
    });
    let of_ward = ward.common().alerts.values().map(|alert| (None, alert));
    let mut open: Vec<_> = of_patients
        .chain(of_ward)
        .filter(|(_, alert)| alert.is_open())
        .collect();
    open.sort_by_key(|(_, alert)| (alert.severity, alert.stamp.occurred_at, alert.seq()));
    open
}

fn open_entries(ward: &Ward, now: Timestamp) -> Vec<OpenEntry> {
    let mut open = Vec::new();
    let mut add = |field, seq: Seq, patient: Option<Pseudonym>, label: String| {
        open.push(OpenEntry {
            seq,
            field,
            label: format!("{}: {label}", in_short(ward, patient)),
            patient: patient.map(|one| one.to_string()),
        });
    };
    for (patient, alert) in open_alerts(ward) {
        add(
            "alert",
            alert.seq(),
            patient,
            format!("{}, {}", alert.what, alert.age(now).spoken()),
        );
    }
    for item in ward.due_items() {
        if item.sort == crate::ward::due::DueSort::Task {
            let due = ward.zone().day_time(item.due);
            add(
                "task",
                item.seq,
                item.patient,
                format!("{}, due {due}", item.what),
            );
        }
    }
    for patient in ward.patients() {
        let who = Some(patient.pseudonym);
        for life in patient.escalations.values().filter(|life| life.is_open()) {
            add(
                "escalation",
                life.seq(),
                who,
                format!("to {}", life.made.body.to_role),
            );
        }
        for (seq, life) in patient.samples.iter().filter(|(_, life)| life.is_awaited()) {
            add("sample", *seq, who, life.taken.body.tests.0.clone());
        }
        for (seq, _) in patient
            .results
            .iter()
            .filter(|(_, life)| life.is_unreviewed())
        {
            add("result", *seq, who, "not yet looked at".to_owned());
        }
        for (seq, life) in patient.supplies.iter().filter(|(_, life)| life.is_open()) {
            add("supply", *seq, who, life.asked.body.item.0.clone());
        }
        for life in patient.lines.values().filter(|life| life.is_in()) {
            add(
                "line",
                life.seq(),
                who,
                format!("{}, {}", life.found.body.kind, life.found.body.site),
            );
        }
        for (seq, life) in patient.kit.iter().filter(|(_, life)| life.is_out()) {
            add(
                "kit",
                *seq,
                who,
                format!("{}, {}", life.issued.body.item, life.serial()),
            );
        }
    }
    for (seq, _) in ward
        .handovers()
        .iter()
        .filter(|(_, life)| life.is_pending())
    {
        add("handover", *seq, None, "not yet accepted".to_owned());
    }
    open
}

/// What another person's entry says to whoever is typing, if it concerns them: its number first,
/// since that is what is typed next.
pub(super) fn notice(
    station: &Station,
    entry: &Entry,
    me: Option<(&Handle, PersonKey)>,
) -> Option<String> {
    if me.is_some_and(|(_, key)| key == entry.author) {
        return None;
    }
    let ward = station.ward();
    let said = said(ward, entry, me.map(|(handle, _)| handle))?;
    let by = ward
        .staff_by_key(&entry.author)
        .map_or_else(|| entry.author.short(), |staff| staff.name.clone());
    let at = station.zone().clock_time(entry.occurred_at());
    Some(format!(
        "! {} {at} {said}; {} ({by})",
        entry.seq,
        who(ward, entry.patient)
    ))
}

fn said(ward: &Ward, entry: &Entry, me: Option<&Handle>) -> Option<String> {
    let mine = |handle: &Option<Handle>| me.is_some() && handle.as_ref() == me;
    match &entry.body {
        Body::Alert(alert) => Some(format!("ALERT {}: {}", alert.severity.code(), alert.what)),
        Body::Contact(contact) => contact
            .worry
            .as_ref()
            .map(|worry| format!("WORRY: {worry}")),
        Body::Observation(obs) => obs.worry.as_ref().map(|worry| format!("WORRY: {worry}")),
        Body::Escalation(escalation) => Some(format!(
            "ESCALATION to {}: {}",
            escalation.to_role, escalation.situation
        )),
        Body::AlertStep(step) => alert_step(step.step, step.alert, mine(&step.to)),
        Body::Task(task) if mine(&task.person) => Some(format!("TASK for you: {}", task.what)),
        Body::TaskStep(step) if mine(&step.to) => Some(format!("TASK {} is yours now", step.task)),
        Body::LabResult(result) if ward.policy().calls_critical(result) => {
            Some("CRITICAL RESULT".to_owned())
        }
        Body::HandoverStep(step) => match (step.step, &step.text) {
            (HandoverMove::Query, Some(text)) => Some(format!("QUESTION on the handover: {text}")),
            (HandoverMove::Given, _) => Some("HANDOVER given".to_owned()),
            (HandoverMove::Accepted, _) => Some("HANDOVER accepted".to_owned()),
            (HandoverMove::Declined, _) => Some("HANDOVER not accepted".to_owned()),
            _ => None,
        },
        _ => None,
    }
}

fn alert_step(step: AlertMove, alert: Seq, to_me: bool) -> Option<String> {
    match step {
        AlertMove::HandedOver if to_me => Some(format!("ALERT {alert} is handed to you")),
        AlertMove::Taken => Some(format!("alert {alert} is taken")),
        AlertMove::Closed => Some(format!("alert {alert} is closed")),
        _ => None,
    }
}

//! What a night nurse looked for and did not find.

use super::*;
use crate::record::time::Span;
use crate::view::lists::{DueFilter, due_list};
use crate::view::origin::Vantage;

const ON_OXYGEN: &str = "rr 18 nc 1 bp 128/76 hr 88 temp 37.1 al";

fn put(desk: &mut Desk, kind: Kind, patient: &str, fields: &[(&str, &str)]) -> Seq {
    let mut draft = Draft::new(kind);
    draft.patient = Some(patient.to_owned());
    draft.confirm = true;
    for (name, value) in fields {
        draft.set(name, (*value).to_owned());
    }
    let tom = desk.tom.clone();
    let receipt = held(&desk.session.station).submit(&tom, &draft);
    receipt.expect("recorded").seq
}

/// RCP NEWS2 (2017), chart 1: on scale 2 the target is 88 to 92 %, and 93 and over on oxygen
/// is too much.
#[test]
fn scale_2_and_what_is_above_its_target_are_said() {
    let mut desk = desk();
    let said = desk.turn(&format!("obs s95 {ON_OXYGEN}"));
    assert!(
        said.contains("points:") && !said.contains("scale 2"),
        "{said}"
    );
    put(
        &mut desk,
        Kind::EpisodeChange,
        "T09",
        &[
            ("scale", "2"),
            ("scale_by", "Dr Amin"),
            ("why", "prescribed"),
        ],
    );
    let scale = "SpO2 scale 2, target 88 to 92 %, prescribed by Dr Amin";
    let above = "SpO2 95 % is above target on oxygen";
    desk.session.state = State::Ready(None);
    let said = desk.turn(&format!("obs s95 {ON_OXYGEN} confirm"));
    assert!(said.contains(scale) && said.contains(above), "{said}");
    let card = desk.turn("t09");
    assert!(card.contains(scale), "{card}");
    let workings = {
        let station = held(&desk.session.station);
        let patient = station.resolve_patient("T09").expect("found");
        let patient = station.ward().patient(patient).expect("known");
        crate::ward::workings::workings(station.ward(), patient, station.now())
    };
    assert!(workings.iter().any(|one| one.text.starts_with(above)));
    let mut parts = workings.iter().flat_map(|one| &one.parts);
    assert!(parts.any(|part| part.value == scale));
    desk.session.state = State::Ready(None);
    let said = desk.turn(&format!("obs s92 {ON_OXYGEN} confirm"));
    assert!(
        said.contains(scale) && !said.contains("above target"),
        "{said}"
    );
    let card = desk.turn("t07");
    assert!(!card.contains("scale 2"), "{card}");
}

#[test]
fn one_patients_list_says_whose_it_is_and_what_is_overdue_elsewhere() {
    let mut desk = desk();
    put(
        &mut desk,
        Kind::Task,
        "T09",
        &[
            ("what", "ring the chemist"),
            ("due", "+2h"),
            ("role", "nurse"),
        ],
    );
    let late = [("what", "ring the son"), ("due", "+30m"), ("role", "nurse")];
    put(&mut desk, Kind::Task, "T07", &late);
    let station = held(&desk.session.station);
    let vantage = Vantage {
        ward: station.ward(),
        now: station.now().plus(Span::hours(1)),
        since: None,
    };
    let patient = Some(station.resolve_patient("T09").expect("found"));
    let one = due_list(
        &vantage,
        &DueFilter {
            patient,
            ..DueFilter::default()
        },
    );
    let page = format!("{:?}", one.page());
    assert!(
        page.contains("OSEI, Kofi only: 1, 0 overdue; 1 overdue elsewhere"),
        "{page}"
    );
    let all = format!("{:?}", due_list(&vantage, &DueFilter::default()).page());
    assert!(all.contains("Due: 2, 1 overdue"), "{all}");
}

/// Ours, no source: theirs, their patients', and what is left to their role.
#[test]
fn what_falls_to_somebody_is_theirs_their_patients_and_their_roles() {
    let mut desk = desk();
    let task = |what, more: (&'static str, &'static str)| [("what", what), ("due", "+1h"), more];
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &task("of maya", ("person", "maya")),
    );
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &task("of tom", ("person", "tom")),
    );
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &task("of nurses", ("role", "nurse")),
    );
    put(
        &mut desk,
        Kind::Task,
        "T07",
        &task("of doctors", ("role", "doctor")),
    );
    put(
        &mut desk,
        Kind::Task,
        "T09",
        &task("of tom on T09", ("person", "tom")),
    );
    put(&mut desk, Kind::Allocation, "T09", &[("to", "maya")]);
    let station = held(&desk.session.station);
    let vantage = Vantage {
        ward: station.ward(),
        now: station.now(),
        since: None,
    };
    let falls_to = Some((Handle("maya".to_owned()), Role::Nurse));
    let list = due_list(
        &vantage,
        &DueFilter {
            falls_to,
            ..DueFilter::default()
        },
    );
    let what: Vec<&str> = list.items.iter().map(|row| row.due.what.as_str()).collect();
    assert_eq!(what, ["of maya", "of nurses", "of tom on T09"]);
}

#[test]
fn a_task_for_a_set_is_offered_after_a_complete_set_of_its_time_only() {
    let mut desk = desk();
    let due = [
        ("what", "Full set"),
        ("due", "+30m"),
        ("kind", "obs"),
        ("role", "nurse"),
    ];
    let task = put(&mut desk, Kind::Task, "T09", &due);
    let offer = format!("task {task} done");
    let said = desk.turn("obs s96 air confirm");
    assert!(
        said.contains("no NEWS2 total") && !said.contains(&offer),
        "{said}"
    );
    desk.session.state = State::Ready(None);
    let full = "obs rr 18 s96 air bp 128/76 hr 88 temp 37.1 al confirm";
    let said = desk.turn(&format!("{full} at 02:10 late \"busy\""));
    assert!(said.contains("NEWS2 0") && !said.contains(&offer), "{said}");
    desk.session.state = State::Ready(None);
    let said = desk.turn(full);
    assert!(said.contains(&offer), "{said}");
}

/// RCPath G158 (2017): potassium is told by voice from 6.5 mmol/L on, whether or not whoever
/// typed it in ticked "critical".
#[test]
fn a_critical_result_nobody_has_seen_counts_in_the_status_line_and_is_told_to_others() {
    let mut desk = desk();
    let status = |desk: &Desk| {
        let known = super::super::look::known(&held(&desk.session.station), None, None);
        known.status.fitted(100)
    };
    assert!(!status(&desk).contains("CRITICAL"), "{}", status(&desk));
    put(
        &mut desk,
        Kind::LabResult,
        "T09",
        &[("values", "k 4.1 (3.5-5.3)")],
    );
    assert!(!status(&desk).contains("CRITICAL"), "{}", status(&desk));
    let seq = put(
        &mut desk,
        Kind::LabResult,
        "T09",
        &[("values", "k 6.8 (3.5-5.3)")],
    );
    let said = status(&desk);
    assert!(
        said.contains("1 CRITICAL result unseen (0min) | no open alerts"),
        "{said}"
    );
    let told = {
        let station = held(&desk.session.station);
        let Ok(Read::Entry(entry)) = station.entry(seq) else {
            panic!("{seq} cannot be read")
        };
        super::super::look::notice(&station, &entry, None)
    };
    assert!(told.is_some_and(|told| told.contains("CRITICAL RESULT")));
    desk.turn(&format!("review {seq} escalated"));
    assert!(!status(&desk).contains("CRITICAL"), "{}", status(&desk));
}

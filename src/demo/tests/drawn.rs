//! The ward as the oncoming night shift finds it on Sunday at 20:00, drawn by the real fold.
//! Withdrawals and the one correction concern Friday evening and are left out here.

use super::listener::{Told, listened};
use crate::demo::calendar::{sat, sun};
use crate::demo::cast::{KEEPER, STAFF, WARD, ZONE};
use crate::record::entry::Entry;
use crate::record::envelope::Envelope;
use crate::record::ids::{EntryHash, EntryId, PersonKey, Pseudonym, Seq};
use crate::record::kind::Body;
use crate::record::kind::ward::{StaffEnrolled, WardOpened};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::Timestamp;
use crate::ward::due::DueSort;
use crate::ward::open::OpenSort;
use crate::ward::workings::{About, Weight, Working, workings};
use crate::ward::{EntrySource, Ward};

struct NoSource;

impl EntrySource for NoSource {
    fn entry(&self, _: Seq) -> Option<Entry> {
        None
    }
}

fn key_of(handle: &str) -> PersonKey {
    PersonKey(*blake3::hash(handle.as_bytes()).as_bytes())
}

fn pseudonym_of(slot: &str) -> Pseudonym {
    let mut bytes = [1; 16];
    bytes[..slot.len()].copy_from_slice(slot.as_bytes());
    Pseudonym(bytes)
}

fn entry(seq: u64, at: Timestamp, by: &str, body: Body) -> Entry {
    Entry {
        seq: Seq(seq),
        hash: EntryHash::ZERO,
        id: EntryId::ZERO,
        recorded_at: at,
        author: key_of(by),
        patient: None,
        envelope: Envelope {
            occurred_at: at,
            approximate: false,
            role: Role::Nurse,
            episode: None,
            late_reason: None,
            related: vec![],
            confirmed: vec![],
        },
        body,
    }
}

fn told_entry(told: Told) -> Option<Entry> {
    let read = told.read?;
    let mut entry = entry(told.seq.0, told.at, told.by, read.body);
    entry.patient = read.patient.as_deref().map(pseudonym_of);
    entry.envelope.occurred_at = read.occurred_at;
    Some(entry)
}

fn drawn() -> Ward {
    let mut ward = Ward::new();
    let opened = WardOpened {
        name: WARD.into(),
        zone: ZONE.to_string().as_str().into(),
        teaching: true,
    };
    let at = crate::demo::cast::OPENED;
    ward.apply(&entry(1, at, KEEPER.handle, opened.into()), &NoSource);
    for (seq, member) in (2..).zip(std::iter::once(&KEEPER).chain(&STAFF)) {
        let enrolled = StaffEnrolled {
            handle: Handle(member.handle.to_owned()),
            name: member.name.into(),
            role: member.role,
            registration: None,
            key: Some(key_of(member.handle)),
            reading: None,
        };
        ward.apply(&entry(seq, at, KEEPER.handle, enrolled.into()), &NoSource);
    }
    for told in listened().told {
        if let Some(entry) = told_entry(told) {
            ward.apply(&entry, &NoSource);
        }
    }
    assert_eq!(ward.doubtful(), [], "everybody wrote what they may");
    ward
}

fn slot_of(ward: &Ward, patient: Option<Pseudonym>) -> &str {
    let patient = patient.and_then(|patient| ward.patient(patient));
    patient.and_then(|patient| patient.slot()).unwrap_or("")
}

#[test]
fn what_is_open_is_what_the_story_left_open() {
    let ward = drawn();
    let open = |sort| {
        let items = ward.open_items(sun(20, 0));
        let mut slots: Vec<_> = items
            .into_iter()
            .filter(|item| item.sort == sort)
            .map(|item| slot_of(&ward, item.patient).to_owned())
            .collect();
        slots.sort();
        slots
    };
    assert_eq!(open(OpenSort::Alert), ["T05", "T14", "T18"]);
    assert_eq!(open(OpenSort::Escalation), ["T05"]);
    assert_eq!(open(OpenSort::UnreviewedResult), ["T02"]);
    assert_eq!(open(OpenSort::UndeliveredSupply), ["T05", "T12", "T14"]);
    assert_eq!(open(OpenSort::OverdueTask), ["T06", "T08", "T09", "T14"]);
}

/// Overdue is what somebody left undone, not what the story forgot to write down.
#[test]
fn nothing_else_is_overdue() {
    let ward = drawn();
    let items = ward.due_items().into_iter();
    let overdue: Vec<_> = items
        .filter(|item| item.is_overdue(sun(20, 0)))
        .map(|item| format!("{} {}", slot_of(&ward, item.patient), item.sort.code()))
        .collect();
    assert_eq!(
        overdue,
        [
            "T06 task",
            "T08 next-contact",
            "T08 task",
            "T09 task",
            "T14 task",
            "T14 next-contact",
        ]
    );
    let tonight = ward.due_items().into_iter();
    let tonight = tonight.filter(|item| (sun(20, 0)..sun(23, 59)).contains(&item.due));
    let review = tonight
        .clone()
        .find(|item| item.sort == DueSort::EscalationReview);
    assert_eq!(slot_of(&ward, review.unwrap().patient), "T05");
    assert!(tonight.count() >= 6);
}

#[test]
fn the_caseload_is_those_who_stayed_or_came() {
    let ward = drawn();
    let slots: Vec<_> = ward
        .caseload()
        .iter()
        .filter_map(|patient| patient.slot())
        .collect();
    let wanted = [1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 13, 14, 17, 18].map(|n| format!("T{n:02}"));
    assert_eq!(slots, wanted);
    let silent = ward.patient(pseudonym_of("T14")).unwrap();
    assert!(silent.kit.values().any(|kit| kit.silent_since().is_some()));
    let arthur = ward.patient(pseudonym_of("T02")).unwrap();
    assert_eq!(ward.similar_names(arthur).len(), 1);
}

fn worked(ward: &Ward, slot: &str, at: Timestamp, about: About) -> Vec<Working> {
    let patient = ward.patient(pseudonym_of(slot)).unwrap();
    let mut all = workings(ward, patient, at);
    all.retain(|working| working.about == about);
    all
}

fn saying<'a>(worked: &'a [Working], words: &str) -> &'a Working {
    let found = worked.iter().find(|working| working.text.contains(words));
    found.unwrap_or_else(|| panic!("nothing says \"{words}\": {worked:?}"))
}

/// Every set of her Sunday totals 0, and the drift is there by the evening and was not on Saturday.
#[test]
fn a_drift_shows_while_the_score_has_not_moved() {
    let ward = drawn();
    let audrey = ward.patient(pseudonym_of("T09")).unwrap();
    let sunday = audrey
        .sets
        .iter()
        .filter(|set| set.stamp.occurred_at > sun(8, 0));
    let totals: Vec<_> = sunday.map(|set| set.total()).collect();
    assert_eq!(totals, [Some(0); 4]);
    let evening = worked(&ward, "T09", sun(20, 0), About::Trend);
    let pulse = saying(&evening, "NEWS2 still 0");
    assert!(pulse.text.starts_with("HR 90"), "{pulse:?}");
    assert_eq!(pulse.weight, Weight::Look);
    let before = worked(&ward, "T09", sat(20, 0), About::Trend);
    assert!(
        before.iter().all(|one| one.weight == Weight::Say),
        "{before:?}"
    );
}

#[test]
fn one_wound_reaches_its_four_week_marker_and_one_misses_it() {
    let ward = drawn();
    let wounds = worked(&ward, "T06", sun(20, 0), About::Wound);
    let foot = saying(&wounds, "less than 50 % smaller at 4 weeks");
    assert_eq!(foot.weight, Weight::Look);
    assert!(foot.text.starts_with("Wound 1:"), "{foot:?}");
    saying(&wounds, "59.2 % smaller");
    let leg = saying(&wounds, "at least 40 % smaller at four weeks");
    assert_eq!(leg.weight, Weight::Say);
    assert!(leg.text.starts_with("Wound 2:"), "{leg:?}");
}

#[test]
fn urine_is_low_by_the_daughter_s_chart_and_the_4at_is_computed() {
    let ward = drawn();
    let fluid = &worked(&ward, "T05", sun(20, 0), About::Fluid)[0];
    assert!(
        fluid.text.contains("urine is under 0.5 mL/kg/h"),
        "{fluid:?}"
    );
    assert!(fluid.text.contains("in 420 mL, out 180 mL"), "{fluid:?}");
    assert_eq!(fluid.weight, Weight::Look);
    let mind = worked(&ward, "T05", sun(20, 0), About::Consciousness);
    assert_eq!(
        saying(&mind, "4AT 7: possible delirium").weight,
        Weight::Look
    );
}

/// The score does not see it: 0, and the same day.
#[test]
fn a_severe_pressure_with_a_sign_is_for_the_same_day() {
    let ward = drawn();
    let at_three = worked(&ward, "T08", sun(15, 0), About::Pressure);
    let severe = saying(
        &at_three,
        "with disturbed sight: specialist assessment the same day",
    );
    assert_eq!(severe.weight, Weight::Act);
    let peter = ward.patient(pseudonym_of("T08")).unwrap();
    let set = peter
        .sets
        .iter()
        .find(|set| Some(&set.stamp.seq) == severe.entries.last());
    assert_eq!(set.unwrap().total(), Some(0));
    let evening = worked(&ward, "T08", sun(20, 0), About::Pressure);
    assert!(
        evening.iter().all(|one| one.weight > Weight::Act),
        "{evening:?}"
    );
}

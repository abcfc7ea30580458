//! What holds for any entries at all.

use std::collections::BTreeSet;

use handfast::record::time::{Span, Timestamp};
use handfast::ward::Ward;
use handfast::ward::open::{OpenItem, OpenSort};
use proptest::prelude::*;

use crate::material::{Act, Story, fold};

prop_compose! {
    /// Any act, mostly written when it happened.
    pub fn act()(
        (kind, who, patient, form) in any::<(u8, u8, u8, u8)>(),
        refers in 0_u16..120,
        minutes in 0_u16..120,
        late in prop_oneof![3 => Just(0_u16), 1 => 0_u16..600],
    ) -> Act {
        Act { kind, who, patient, refers, form, minutes, late }
    }
}

pub fn acts() -> impl Strategy<Value = Vec<Act>> {
    proptest::collection::vec(act(), 0..60)
}

proptest! {
    #[test]
    fn folding_in_two_parts_is_folding_at_once(acts in acts(), cut in any::<prop::sample::Index>()) {
        let story = Story::of(&acts);
        let cut = cut.index(story.entries.len() + 1);
        let mut ward = fold(&story.entries[..cut], &story);
        for entry in &story.entries[cut..] {
            ward.apply(entry, &story);
        }
        prop_assert_eq!(ward, story.ward());
    }

    #[test]
    fn folding_in_batches_is_folding_one_by_one(acts in acts(), cut in any::<prop::sample::Index>()) {
        let story = Story::of(&acts);
        let cut = cut.index(story.entries.len() + 1);
        let mut ward = Ward::new();
        for part in [&story.entries[..cut], &story.entries[cut..]] {
            let mut batch = ward.batch(&story);
            for entry in part {
                batch.apply(entry);
            }
            batch.finish();
        }
        prop_assert_eq!(ward, story.ward());
    }

    #[test]
    fn a_ward_that_was_put_away_goes_on_like_one_that_was_not(
        acts in acts(),
        cut in any::<prop::sample::Index>(),
    ) {
        let story = Story::of(&acts);
        let cut = cut.index(story.entries.len() + 1);
        let layout = bincode::config::legacy();
        let before = fold(&story.entries[..cut], &story);
        let bytes = bincode::serde::encode_to_vec(&before, layout).unwrap();
        let (mut ward, used): (Ward, usize) =
            bincode::serde::decode_from_slice(&bytes, layout).unwrap();
        prop_assert_eq!(used, bytes.len());
        for entry in &story.entries[cut..] {
            ward.apply(entry, &story);
        }
        prop_assert_eq!(ward, story.ward());
    }

    #[test]
    fn every_question_has_an_answer(acts in acts(), text in ".{0,12}") {
        let story = Story::of(&acts);
        ask_everything(&story.ward(), story.now, &text);
    }

    #[test]
    fn what_is_open_is_what_the_ledgers_say_is_open(acts in acts(), later in 0_i64..3_000) {
        let story = Story::of(&acts);
        let ward = story.ward();
        let now = story.now.plus(Span::minutes(later));
        let listed: Vec<OpenItem> = ward.open_items(now);
        let set: BTreeSet<OpenItem> = listed.iter().copied().collect();
        prop_assert_eq!(set.len(), listed.len(), "nothing twice");
        prop_assert_eq!(set, open_by_hand(&ward, now));
    }

    #[test]
    fn what_is_due_is_in_order_and_holds_every_open_task(acts in acts()) {
        let ward = Story::of(&acts).ward();
        let due = ward.due_items();
        prop_assert!(due.is_sorted_by_key(|item| (item.due, item.sort, item.seq)));
        let ledgers = ward.patients().map(|patient| &patient.ledgers).chain([ward.common()]);
        for task in ledgers.flat_map(|ledgers| ledgers.tasks.values()) {
            let listed = due.iter().filter(|item| item.seq == task.seq() && item.due == task.due);
            prop_assert_eq!(listed.count(), usize::from(task.is_open()), "{:?}", task);
        }
    }

    /// An overdue task, and a supply with a time, is in both lists.
    #[test]
    fn what_is_open_and_timed_is_also_due(acts in acts()) {
        let story = Story::of(&acts);
        let ward = story.ward();
        let due: BTreeSet<_> = ward.due_items().iter().map(|item| item.seq).collect();
        for item in ward.open_items(story.now) {
            let timed = item.sort == OpenSort::OverdueTask
                || (item.sort == OpenSort::UndeliveredSupply
                    && item.patient.and_then(|patient| ward.patient(patient)).is_some_and(|p| {
                        p.supplies[&item.seq].asked.body.needed_by.is_some()
                    }));
            prop_assert!(!timed || due.contains(&item.seq), "{:?}", item);
        }
    }
}

/// The same list, from each ledger's own words.
fn open_by_hand(ward: &Ward, now: Timestamp) -> BTreeSet<OpenItem> {
    let mut open = BTreeSet::new();
    let mut add = |sort, seq, patient| {
        open.insert(OpenItem { sort, seq, patient });
    };
    let patients = ward.patients().map(|p| (Some(p.pseudonym), &p.ledgers));
    for (patient, ledgers) in patients.chain([(None, ward.common())]) {
        for alert in ledgers.alerts.values() {
            if alert.outcome().is_none()
                && !alert
                    .steps
                    .iter()
                    .any(|step| step.body.step.code() == "closed")
            {
                add(OpenSort::Alert, alert.seq(), patient);
            }
        }
        for task in ledgers.tasks.values() {
            if task.is_open() && task.due < now {
                add(OpenSort::OverdueTask, task.seq(), patient);
            }
        }
    }
    for patient in ward.patients() {
        let who = Some(patient.pseudonym);
        for life in patient.escalations.values() {
            if !life
                .steps
                .iter()
                .any(|step| step.body.step.code() == "closed")
            {
                add(OpenSort::Escalation, life.seq(), who);
            }
        }
        for (seq, life) in &patient.results {
            if life.reviews.is_empty() {
                add(OpenSort::UnreviewedResult, *seq, who);
            }
        }
        for (seq, life) in &patient.supplies {
            let given_up = life
                .steps
                .iter()
                .any(|step| step.body.no_longer_needed == Some(true));
            let last = life.steps.last().map(|step| step.body.step.code());
            if !given_up && !matches!(last, Some("delivered" | "destroyed")) {
                add(OpenSort::UndeliveredSupply, *seq, who);
            }
        }
    }
    open
}

fn ask_everything(ward: &Ward, now: Timestamp, text: &str) {
    let _ = ward.find_patient(text);
    let _ = (ward.caseload(), ward.due_items(), ward.open_items(now));
    let _ = ward.last_accepted();
    for life in ward.handovers().values() {
        let _ = (life.accepted(), life.declined(), life.is_pending());
        let _ = (life.open_queries(), life.patients_held_back());
    }
    let _ = handfast::ward::shifts::shift_at(ward.shifts(), now);
    let _ = handfast::ward::shifts::shift_after(ward.shifts(), now);
    for patient in ward.patients() {
        let _ = (patient.name_line(), patient.short_name(), patient.slot());
        let _ = (
            patient.last_contact(),
            patient.last_reached(),
            patient.unreached(),
        );
        let _ = (patient.last_set(), patient.last_total_before(now));
        let _ = (ward.similar_names(patient), patient.log.standings());
        let _ = (patient.watch_for().count(), patient.due_items());
        for alert in patient.ledgers.alerts.values() {
            let _ = (alert.waited(now), alert.age(now), alert.time_to_action());
        }
        for wound in patient.wounds.values() {
            let _ = (wound.newest(), wound.next_change(), wound.packing());
        }
        for kit in patient.kit.values() {
            let _ = (kit.is_out(), kit.silent_since(), kit.serial());
        }
    }
}

//! Withdrawing is as if it had never been written; correcting is as if it had been written
//! right at once; and both can be undone. The log alone remembers.

use handfast::record::entry::Entry;
use handfast::record::envelope::Envelope;
use handfast::record::ids::Seq;
use handfast::record::kind::{Body, Kind};
use handfast::ward::{Standing, Ward};
use proptest::prelude::*;
use serde_json::Value;

use crate::laws::{act, acts};
use crate::material::{Act, KINDS, Story, fold};

/// What no amendment undoes.
fn is_lasting(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::WardOpened
            | Kind::StaffEnrolled
            | Kind::StaffChanged
            | Kind::PolicyChanged
            | Kind::Access
            | Kind::DamageAccepted
            | Kind::WardKey
            | Kind::Checkpoint
    )
}

/// A wound's number is never used again, so a withdrawn wound leaves its mark on the numbers
/// of those after it: that has a test of its own. What an entry in doubt states is not looked at:
/// a wound in it is numbered like a new one.
fn may_shift_wound_numbers(story: &Story, target: &Entry) -> bool {
    let concerns_wounds = matches!(target.kind(), Kind::Wound | Kind::Amendment);
    let ward = story.ward();
    let is_numbered_here = |entry: &Entry| {
        let in_doubt = entry.kind() == Kind::Wound && ward.doubt(entry.seq).is_some();
        is_unnumbered(entry) || in_doubt
    };
    concerns_wounds
        && story
            .entries
            .iter()
            .any(|entry| is_numbered_here(entry) && entry.patient == target.patient)
}

/// It begins a wound, and is given a number for it.
fn is_unnumbered(entry: &Entry) -> bool {
    matches!(&entry.body, Body::Wound(wound) if wound.wound.is_none())
}

/// Everything but the log and what counts entries.
fn state(ward: &Ward) -> Value {
    let mut state = serde_json::to_value(ward).unwrap();
    let whole = state.as_object_mut().unwrap();
    whole.remove("head");
    whole.remove("newest_recorded_at");
    // An entry in doubt stays named, whether it stands or not.
    whole.remove("doubtful");
    whole["common"].as_object_mut().unwrap().remove("log");
    let patients = whole["patients"].as_object_mut().unwrap();
    for patient in patients.values_mut() {
        let patient = patient.as_object_mut().unwrap();
        patient.remove("log");
        patient.retain(|name, _| !name.starts_with("wound_numbers"));
    }
    // A patient of whom nothing stands is nobody.
    patients.retain(|_, patient| {
        let parts = patient.as_object().unwrap();
        parts
            .iter()
            .any(|(name, part)| name != "pseudonym" && !is_empty(part))
    });
    state
}

fn is_empty(part: &Value) -> bool {
    match part {
        Value::Null => true,
        Value::Array(items) => items.is_empty(),
        Value::Object(parts) => parts.values().all(is_empty),
        _ => false,
    }
}

fn without(story: &Story, seq: Seq) -> Vec<Entry> {
    let kept = story.entries.iter().filter(|entry| entry.seq != seq);
    kept.cloned().collect()
}

/// An entry that may be amended, and has not been.
fn target(story: &Story, at: prop::sample::Index) -> Option<Entry> {
    let amended: Vec<Seq> = story
        .entries
        .iter()
        .filter_map(|entry| match &entry.body {
            Body::Amendment(amendment) => Some(amendment.target),
            _ => None,
        })
        .collect();
    let fit: Vec<&Entry> = story
        .entries
        .iter()
        .filter(|entry| !is_lasting(entry.kind()) && !amended.contains(&entry.seq))
        .collect();
    (!fit.is_empty()).then(|| at.get(&fit).to_owned().clone())
}

proptest! {
    #[test]
    fn withdrawn_is_as_if_never_written(acts in acts(), at in any::<prop::sample::Index>()) {
        let mut story = Story::of(&acts);
        let Some(target) = target(&story, at) else { return Ok(()) };
        prop_assume!(!may_shift_wound_numbers(&story, &target));
        let never = fold(&without(&story, target.seq), &story);
        let by = story.withdraw(target.seq);
        let ward = story.ward();
        prop_assume!(ward.doubt(by).is_none());
        prop_assert_eq!(state(&ward), state(&never), "{:?}", target);
        let standing = ward.log_of(target.patient).unwrap().standing_of(target.seq);
        let by_this = matches!(standing, Standing::Withdrawn { by: at, .. } if at == by);
        prop_assert!(by_this);
    }

    #[test]
    fn corrected_is_as_if_written_right(
        acts in acts(),
        at in any::<prop::sample::Index>(),
        other in act(),
    ) {
        let mut story = Story::of(&acts);
        let Some(target) = target(&story, at) else { return Ok(()) };
        prop_assume!(target.kind() != Kind::Amendment);
        prop_assume!(!may_shift_wound_numbers(&story, &target));
        let right = other_form(&story, &target, other);
        // Corrected to say no number, it keeps the one it had.
        prop_assume!(!is_unnumbered(&right));
        let mut written_right = story.clone();
        let place = usize::try_from(target.seq.0 - 1).unwrap();
        written_right.entries[place] = right.clone();
        let by = story.correct(target.seq, &right.envelope, &right.body);
        let ward = story.ward();
        prop_assume!(ward.doubt(by).is_none());
        prop_assert_eq!(state(&ward), state(&written_right.ward()));
        let log = ward.log_of(target.patient).unwrap();
        let corrected = matches!(log.standing_of(target.seq), Standing::Corrected { .. });
        prop_assert!(corrected);
        prop_assert_eq!(log.as_corrected(&target).map(|entry| entry.body), Some(right.body));
    }

    #[test]
    fn an_amendment_withdrawn_puts_back_what_was(
        acts in acts(),
        at in any::<prop::sample::Index>(),
        other in act(),
        correct in any::<bool>(),
    ) {
        let mut story = Story::of(&acts);
        let Some(target) = target(&story, at) else { return Ok(()) };
        prop_assume!(!may_shift_wound_numbers(&story, &target));
        let before = state(&story.ward());
        let amendment = if correct && target.kind() != Kind::Amendment {
            let right = other_form(&story, &target, other);
            story.correct(target.seq, &right.envelope, &right.body)
        } else {
            story.withdraw(target.seq)
        };
        let back = story.withdraw(amendment);
        let ward = story.ward();
        prop_assume!(ward.doubt(back).is_none() && ward.doubt(amendment).is_none());
        prop_assert_eq!(state(&ward), before, "{:?}", target);
        let log = ward.log_of(target.patient).unwrap();
        prop_assert_eq!(log.standing_of(target.seq), Standing::Stands);
    }

    /// Amending something else, and taking that back, changes nothing anywhere.
    #[test]
    fn drawing_anew_draws_the_same(acts in acts()) {
        let mut story = Story::of(&acts);
        let before = state(&story.ward());
        for patient in [Some(0), Some(1), Some(2), None] {
            let note = story.log(1, patient, Kind::Note, "text=a slip");
            story.withdraw(note);
        }
        prop_assert_eq!(state(&story.ward()), before);
    }
}

/// The same entry with the fields of another of its kind, at another time.
fn other_form(story: &Story, target: &Entry, other: Act) -> Entry {
    let kind = KINDS.iter().position(|kind| *kind == target.kind());
    let other = Act {
        kind: u8::try_from(kind.unwrap()).unwrap(),
        ..other
    };
    let mut apart = story.clone();
    apart.act(other);
    let made = apart.entries.last().unwrap().clone();
    // Written right it would not have happened after it was written.
    let occurred_at = made.envelope.occurred_at.min(target.recorded_at);
    Entry {
        envelope: Envelope {
            occurred_at,
            ..made.envelope
        },
        body: made.body,
        ..target.clone()
    }
}

//! Shifts, and handing the ward from one to the next.

use handfast::record::ids::Seq;
use handfast::record::kind::Kind;
use handfast::record::time::Span;
use handfast::ward::shifts::{HandoverLife, shift_after, shift_at};

use crate::material::{Story, pseudonym};

fn prepared() -> (Story, Seq) {
    let mut story = Story::begin();
    let seq = story.log(
        1,
        None,
        Kind::Handover,
        "from_shift=Day; to_shift=Night; receiver=tom",
    );
    (story, seq)
}

fn step(story: &mut Story, handover: Seq, patient: Option<usize>, step: &str) -> Seq {
    story.wait(1);
    let fields = format!("handover={handover}; step={step}");
    story.log(2, patient, Kind::HandoverStep, &fields)
}

fn life(story: &Story, seq: Seq) -> HandoverLife {
    story.ward().handovers()[&seq].clone()
}

#[test]
fn accepted_is_said_once_and_by_somebody() {
    let (mut story, handover) = prepared();
    assert!(life(&story, handover).is_pending());
    assert_eq!(story.ward().last_accepted(), None);
    step(&mut story, handover, None, "given");
    assert!(life(&story, handover).is_pending());
    let accepted = step(&mut story, handover, None, "accepted");
    step(&mut story, handover, None, "accepted");
    let found = life(&story, handover);
    assert_eq!(found.accepted().unwrap().seq, accepted);
    assert!(!found.is_pending());
    assert_eq!(story.ward().last_accepted().unwrap().seq(), handover);
}

#[test]
fn declined_holds_and_is_not_settled_once_more() {
    let (mut story, handover) = prepared();
    let declined = step(&mut story, handover, None, "declined; text=no allocation");
    let found = life(&story, handover);
    assert_eq!(found.declined().unwrap().held.seq(), declined);
    assert!(!found.is_pending());
    let after = step(&mut story, handover, None, "accepted");
    let found = life(&story, handover);
    assert!(found.declined().is_some() && found.accepted().is_none());
    assert!(story.ward().doubt(after).is_some());
}

/// The receiver may query or hold back one patient without holding up the rest.
#[test]
fn one_patient_can_be_queried_and_held_back() {
    let (mut story, handover) = prepared();
    let query = step(
        &mut story,
        handover,
        Some(0),
        "query; text=who has the key?",
    );
    step(&mut story, handover, Some(1), "declined; text=no plan");
    step(&mut story, handover, None, "accepted");
    let found = life(&story, handover);
    assert!(found.accepted().is_some());
    assert_eq!(
        found.patients_held_back(),
        [pseudonym(1), pseudonym(0)],
        "declined, and asked about without an answer"
    );
    assert_eq!(found.open_queries().len(), 1);
    assert_eq!(found.open_queries()[0].patient, Some(pseudonym(0)));
    step(
        &mut story,
        handover,
        Some(0),
        &format!("answer; text=maya; query={query}"),
    );
    step(&mut story, handover, Some(1), "accepted");
    let found = life(&story, handover);
    assert_eq!(
        found.patients_held_back(),
        [pseudonym(0)],
        "an answer that comes later is read before the patient is taken"
    );
    assert_eq!(
        story.ward().not_taken_over(),
        [(handover, pseudonym(0))],
        "and until then the ward says so"
    );
    step(&mut story, handover, Some(0), "accepted");
    let found = life(&story, handover);
    assert_eq!(found.patients_held_back(), []);
    assert!(found.open_queries().is_empty());
    assert_eq!(story.ward().not_taken_over(), []);
}

/// Design, the receiver may query one patient without holding up the rest: answered before,
/// or taken by name with the question open, nobody is held back.
#[test]
fn a_patient_is_held_back_only_by_a_question_that_is_open() {
    let (mut story, handover) = prepared();
    let query = step(
        &mut story,
        handover,
        Some(0),
        "query; text=who has the key?",
    );
    step(&mut story, handover, Some(1), "query; text=who visits?");
    let answer = format!("answer; text=maya; query={query}");
    step(&mut story, handover, Some(0), &answer);
    step(&mut story, handover, Some(1), "accepted");
    step(&mut story, handover, None, "accepted");
    let found = life(&story, handover);
    assert_eq!(found.patients_held_back(), []);
    assert_eq!(found.open_queries().len(), 1, "and the question stays open");
}

/// What is new of somebody who was held back is what nobody has taken over, not what was
/// written since the sheet that was accepted without them.
#[test]
fn what_nobody_took_over_stays_new() {
    let (mut story, first) = prepared();
    let head = |story: &Story, handover| life(story, handover).sheet_head();
    let whole = head(&story, first);
    step(&mut story, first, Some(0), "query; text=who has the key?");
    step(&mut story, first, None, "accepted");
    let ward = story.ward();
    assert_eq!(ward.taken_over_with(pseudonym(0), whole), Seq::NONE);
    assert_eq!(ward.taken_over_with(pseudonym(1), whole), whole);
    step(&mut story, first, Some(0), "accepted");
    assert_eq!(story.ward().taken_over_with(pseudonym(0), whole), whole);
}

#[test]
fn a_query_is_never_withdrawn() {
    let (mut story, handover) = prepared();
    let query = step(
        &mut story,
        handover,
        Some(0),
        "query; text=who has the key?",
    );
    let withdrawal = story.withdraw(query);
    assert_eq!(life(&story, handover).open_queries().len(), 1);
    assert!(story.ward().doubt(withdrawal).is_some());
}

#[test]
fn a_handover_drawn_anew_has_its_steps_again() {
    let (mut story, handover) = prepared();
    step(
        &mut story,
        handover,
        Some(0),
        "query; text=who has the key?",
    );
    step(&mut story, handover, None, "accepted");
    let before = life(&story, handover);
    let withdrawal = story.withdraw(handover);
    assert!(story.ward().doubt(withdrawal).is_some());
    // Of the ward, and of the patient the query names: each has its part drawn anew.
    for patient in [None, Some(0)] {
        let note = story.log(1, patient, Kind::Note, "text=later");
        story.withdraw(note);
        assert_eq!(life(&story, handover), before);
    }
}

#[test]
fn the_shift_that_is_on_begins_at_its_first_minute_and_ends_before_its_last() {
    let mut story = Story::begin();
    story.log(
        1,
        None,
        Kind::Shift,
        "name=Night; from=+1h; until=+11h; staff=maya",
    );
    story.log(
        1,
        None,
        Kind::Shift,
        "name=Day; from=+11h; until=+23h; staff=tom",
    );
    let ward = story.ward();
    let at = |minutes: i64| {
        let moment = story.now.plus(Span::minutes(minutes));
        shift_at(ward.shifts(), moment).map(|held| held.body.name.as_str())
    };
    assert_eq!(
        [at(59), at(60), at(659), at(660)],
        [None, Some("Night"), Some("Night"), Some("Day")]
    );
    assert_eq!(at(23 * 60), None);
    let after = |minutes: i64| {
        let moment = story.now.plus(Span::minutes(minutes));
        shift_after(ward.shifts(), moment).map(|held| held.body.name.as_str())
    };
    assert_eq!(
        [after(0), after(60), after(660)],
        [Some("Night"), Some("Day"), None]
    );
}

/// A shift entered again, with other staff, is the one that counts.
#[test]
fn of_two_shifts_at_once_the_later_written_is_on() {
    let mut story = Story::begin();
    for staff in ["maya", "tom"] {
        story.log(
            1,
            None,
            Kind::Shift,
            &format!("name=Night; from=+1h; until=+11h; staff={staff}"),
        );
    }
    let ward = story.ward();
    let on = shift_at(ward.shifts(), story.now.plus(Span::minutes(90))).unwrap();
    assert_eq!(on.body.staff[0].as_str(), "tom");
}

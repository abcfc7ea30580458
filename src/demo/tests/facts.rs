//! What each story is about.

use std::collections::BTreeSet;

use super::listener::{bodies, listened, pick};
use crate::clinical::news2;
use crate::demo::calendar;
use crate::demo::cast::ZONE;
use crate::record::ids::Seq;
use crate::record::kind::Body;
use crate::record::observed::Spo2Scale;
use crate::record::time::{Span, Timestamp};

#[test]
fn the_slow_deterioration_is_seen_before_she_feels_it_and_somebody_answers() {
    let listener = listened();
    let sets = bodies(&listener, "T01", pick!(Observation));
    let first: Vec<_> = sets
        .iter()
        .take(5)
        .map(|(_, set)| news2::score(&news2::Set::of(set, Some(Spo2Scale::Scale1))))
        .collect();
    let totals: Vec<_> = first
        .iter()
        .map(|score| score.as_ref().unwrap().score.unwrap().total)
        .collect();
    assert_eq!(totals, [1, 1, 2, 3, 5]);
    let rates: Vec<_> = sets
        .iter()
        .take(5)
        .map(|(_, set)| set.rr.as_ref().unwrap().value().unwrap().0)
        .collect();
    assert_eq!(rates, [16, 18, 19, 21, 22]);
    let steps: Vec<_> = bodies(&listener, "T01", pick!(EscalationStep))
        .iter()
        .map(|(_, step)| step.step.code())
        .collect();
    assert_eq!(
        steps,
        [
            "no-answer",
            "next-called",
            "answered",
            "reviewed",
            "reviewed",
            "closed"
        ]
    );
    let ill = listener
        .told
        .iter()
        .find(|told| told.slot() == Some("T01") && told.words().contains("I do feel ill"))
        .unwrap();
    let asked = bodies(&listener, "T01", pick!(Escalation))[0].0;
    assert!(ill.at.since(asked.at) > Span::hours(4));
}

#[test]
fn the_help_call_is_a_mistake_answered_within_minutes() {
    let listener = listened();
    let (raised, _) = bodies(&listener, "T02", pick!(Alert))[0];
    let (closed, step) = *bodies(&listener, "T02", pick!(AlertStep)).last().unwrap();
    assert_eq!(step.alert, raised.seq);
    assert_eq!(step.outcome.map(|outcome| outcome.code()), Some("mistake"));
    assert!(closed.at.since(raised.at) < Span::minutes(10));
}

#[test]
fn the_raised_pressure_is_repeated_the_same_afternoon() {
    let listener = listened();
    let pressures: Vec<_> = bodies(&listener, "T08", pick!(Observation))
        .iter()
        .filter_map(|(told, set)| Some((told.at, set.sbp.as_ref()?.value()?.0)))
        .collect();
    let high = pressures.iter().find(|(_, sbp)| *sbp >= 170).unwrap();
    let next = pressures.iter().find(|(at, _)| *at > high.0).unwrap();
    assert!(next.1 < 160 && next.0.since(high.0) < Span::hours(5));
}

#[test]
fn results_rise_and_fall_one_is_haemolysed_and_one_unseen() {
    let listener = listened();
    let crp: Vec<_> = bodies(&listener, "T04", pick!(LabResult))
        .iter()
        .map(|(_, result)| result.values[0].value.mantissa)
        .collect();
    assert_eq!(crp, [96, 148, 171, 92]);
    let results = bodies(&listener, "", pick!(LabResult));
    assert!(results.iter().any(|(_, result)| {
        result
            .quality
            .is_some_and(|quality| quality.code() == "haemolysed")
    }));
    let seen: BTreeSet<_> = bodies(&listener, "", pick!(ResultReview))
        .iter()
        .map(|(_, review)| review.result)
        .collect();
    let unseen: Vec<_> = results
        .iter()
        .filter(|(told, _)| !seen.contains(&told.seq))
        .map(|(told, _)| told.slot())
        .collect();
    assert_eq!(unseen, [Some("T02")]);
}

#[test]
fn one_wound_heals_and_one_does_not() {
    let listener = listened();
    let areas = |slot| {
        let looks = bodies(&listener, slot, pick!(Wound));
        let area = |wound: &crate::record::kind::wound::WoundAssessment| {
            wound.length.unwrap().0 * wound.width.unwrap().0
        };
        // The first wound: its first look has no number yet.
        looks
            .iter()
            .filter(|(_, wound)| {
                wound.kind != crate::record::kind::wound::WoundType::VenousLegUlcer
            })
            .map(|(_, wound)| area(wound))
            .collect::<Vec<_>>()
    };
    assert_eq!(areas("T07"), [34 * 16, 20 * 9, 0]);
    assert!(areas("T06").is_sorted() && areas("T06").len() == 4);
    assert_eq!(
        bodies(&listener, "T07", pick!(Wound))
            .last()
            .unwrap()
            .1
            .healed,
        Some(true)
    );
}

#[test]
fn the_medicine_goes_to_the_wrong_door_and_comes_back() {
    let listener = listened();
    let steps = bodies(&listener, "T10", pick!(SupplyStep));
    let codes: Vec<_> = steps.iter().map(|(_, step)| step.step.code()).collect();
    assert_eq!(
        codes,
        [
            "prepared",
            "checked",
            "with-courier",
            "wrong-address",
            "returned",
            "with-courier",
            "delivered"
        ]
    );
    assert!(steps[3].1.dose_missed.is_some());
    assert_eq!(
        steps[6].1.identity.map(|identity| identity.code()),
        Some("two-identifiers")
    );
}

#[test]
fn the_wrong_patient_entries_are_withdrawn_and_entered_anew_in_the_right_record() {
    let listener = listened();
    let told = |seq: Seq| listener.told.iter().find(|told| told.seq == seq).unwrap();
    let moved: Vec<_> = listener
        .withdrawn
        .iter()
        .filter_map(|(target, anew)| Some((told(*target).slot(), told((*anew)?).slot())))
        .collect();
    assert_eq!(
        moved,
        [(Some("T02"), Some("T09")), (Some("T02"), Some("T09"))]
    );
    let families: Vec<_> = bodies(&listener, "", pick!(Admission))
        .iter()
        .map(|(_, admission)| admission.family.0.clone())
        .collect();
    assert_eq!(
        families.iter().filter(|family| *family == "Pell").count(),
        2
    );
    assert_eq!(listener.corrected.len(), 1);
}

#[test]
fn half_past_one_happens_twice_and_both_sets_are_there() {
    let listener = listened();
    let sets = bodies(&listener, "T03", pick!(Observation));
    let at = |moment: Timestamp| {
        sets.iter()
            .find(|(told, _)| (0..5).contains(&told.at.since(moment).whole_minutes()))
            .unwrap()
            .0
    };
    let (first, second) = (at(calendar::sun_bst(1, 30)), at(calendar::sun(1, 30)));
    assert!((58..=62).contains(&second.at.since(first.at).whole_minutes()));
    assert!(
        ZONE.clock_time(first.at).ends_with("BST") && ZONE.clock_time(second.at).ends_with("GMT")
    );
}

#[test]
fn handovers_are_questioned_refused_in_part_and_taken() {
    let listener = listened();
    let steps = bodies(&listener, "", pick!(HandoverStep));
    let count = |code| {
        steps
            .iter()
            .filter(|(_, step)| step.step.code() == code)
            .count()
    };
    assert_eq!(
        (
            count("given"),
            count("query"),
            count("answer"),
            count("declined")
        ),
        (5, 3, 3, 1)
    );
    let taken: Vec<_> = listener.accepted.iter().map(|(at, _)| *at).collect();
    assert_eq!(taken.len(), 5);
    assert!(*taken.last().unwrap() < calendar::sun(8, 30));
}

#[test]
fn the_dying_are_scored_and_not_chased() {
    let listener = listened();
    let (_, admission) = bodies(&listener, "T12", pick!(Admission))[0];
    assert_eq!(
        (admission.ceiling.code(), admission.form_kept.is_some()),
        ("comfort", true)
    );
    let (_, set) = bodies(&listener, "T12", pick!(Observation))[0];
    assert!(
        news2::score(&news2::Set::of(set, Some(Spo2Scale::Scale1)))
            .unwrap()
            .score
            .unwrap()
            .total
            >= 7
    );
    assert_eq!(bodies(&listener, "T12", pick!(Escalation)).len(), 0);
}

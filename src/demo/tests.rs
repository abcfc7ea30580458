//! The story is told to a sink that reads every draft as the station would, and is then
//! checked fact by fact.

use std::collections::{BTreeMap, BTreeSet};
use std::convert::Infallible;

use super::cast::{Member, STAFF, ZONE};
use super::player::{Correction, Withdrawal};
use super::{StorySink, calendar, play, story};
use crate::clinical::news2;
use crate::record::draft::{Draft, ReadDraft};
use crate::record::field::{ReadContext, ShowContext};
use crate::record::ids::Seq;
use crate::record::kind::{Body, Kind};
use crate::record::observed::Spo2Scale;
use crate::record::time::{Span, Timestamp};

/// One entry as told.
struct Told {
    at: Timestamp,
    by: &'static str,
    seq: Seq,
    kind: &'static str,
    read: Option<ReadDraft>,
}

impl Told {
    fn slot(&self) -> Option<&str> {
        self.read.as_ref()?.patient.as_deref()
    }

    /// The stated fields in words, joined.
    fn words(&self) -> String {
        let cx = ShowContext {
            zone: ZONE,
            secrets: true,
        };
        let shown = self.read.as_ref().map(|read| read.body.show(&cx));
        let parts = shown
            .into_iter()
            .flatten()
            .map(|field| format!("{}={}", field.name, field.text));
        parts.collect::<Vec<_>>().join("|")
    }
}

#[derive(Default)]
struct Listener {
    told: Vec<Told>,
    withdrawn: Vec<(Seq, Option<Seq>)>,
    corrected: Vec<Seq>,
    accepted: Vec<(Timestamp, Seq)>,
    complaints: Vec<String>,
}

impl Listener {
    fn hear(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        kind: &'static str,
        draft: Option<&Draft>,
    ) -> Result<Seq, Infallible> {
        let seq = Seq(self.told.len() as u64 + 3);
        let cx = ReadContext {
            now: at,
            zone: ZONE,
        };
        let read = draft.and_then(|draft| match draft.read(&cx) {
            Ok(read) => {
                if !read.confirmed {
                    for unusual in &read.unusual {
                        self.complaints
                            .push(format!("{seq} {kind} {:?}: {unusual}", draft.patient));
                    }
                }
                Some(read)
            }
            Err(refusals) => {
                for refusal in refusals {
                    self.complaints
                        .push(format!("{seq} {kind} {:?}: {refusal}", draft.patient));
                }
                None
            }
        });
        let by = by.handle;
        self.told.push(Told {
            at,
            by,
            seq,
            kind,
            read,
        });
        Ok(seq)
    }
}

impl StorySink for Listener {
    type Error = Infallible;

    fn open(&mut self, _: Timestamp, _: &str, _: &'static Member) -> Result<(), Infallible> {
        Ok(())
    }
    fn enrol(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        _: &'static Member,
    ) -> Result<Seq, Infallible> {
        self.hear(at, by, "staff", None)
    }
    fn log(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        draft: &Draft,
    ) -> Result<Seq, Infallible> {
        let kind = Kind::from_name(&draft.kind).map_or("unknown", Kind::name);
        self.hear(at, by, kind, Some(draft))
    }
    fn withdraw(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        what: &Withdrawal<'_>,
    ) -> Result<Seq, Infallible> {
        self.withdrawn.push((what.target, what.entered_anew));
        self.hear(at, by, "amendment", None)
    }
    fn correct(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        what: &Correction<'_>,
    ) -> Result<Seq, Infallible> {
        self.corrected.push(what.target);
        self.hear(at, by, "amendment", None)
    }
    fn prepare_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        draft: &Draft,
    ) -> Result<Seq, Infallible> {
        self.hear(at, by, "handover", Some(draft))
    }
    fn accept_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        handover: Seq,
    ) -> Result<Seq, Infallible> {
        self.accepted.push((at, handover));
        self.hear(at, by, "handover-step", None)
    }
}

fn listened() -> Listener {
    let mut listener = Listener::default();
    play(&mut listener).unwrap();
    listener
}

#[test]
fn every_draft_is_accepted_and_nothing_unusual_is_left_unconfirmed() {
    let complaints = listened().complaints;
    assert!(complaints.is_empty(), "{}", complaints.join("\n"));
}

#[test]
fn big_enough_and_every_kind_that_people_log() {
    let listener = listened();
    assert!(
        listener.told.len() >= 450,
        "{} entries",
        listener.told.len()
    );
    let admitted: BTreeSet<_> = listener
        .told
        .iter()
        .filter(|told| told.kind == "admission")
        .filter_map(Told::slot)
        .collect();
    assert!(admitted.len() >= 16, "{admitted:?}");
    assert!(STAFF.len() + 1 >= 9);
    let told: BTreeSet<_> = listener.told.iter().map(|told| told.kind).collect();
    for kind in Kind::ALL.iter().filter(|kind| !kind.is_made_by_program()) {
        assert!(told.contains(kind.name()), "no {}", kind.name());
    }
    let writers: BTreeSet<_> = listener.told.iter().map(|told| told.by).collect();
    assert!(writers.len() >= 9, "{writers:?}");
}

#[test]
fn told_the_same_twice() {
    assert_eq!(story(), story());
}

#[test]
fn in_time_order_over_three_days_and_nobody_writes_two_entries_at_once() {
    let scenes = story();
    assert!(scenes.is_sorted_by(|a, b| a.recorded_at < b.recorded_at));
    assert!(scenes[0].recorded_at >= calendar::thu(20, 0));
    let last = scenes.last().unwrap().recorded_at;
    assert!(last > calendar::sun(19, 0) && last <= calendar::sun(20, 0));
    let mut by: BTreeMap<&str, Timestamp> = BTreeMap::new();
    for scene in &scenes {
        if let Some(before) = by.insert(scene.author, scene.recorded_at) {
            let gap = scene.recorded_at.since(before).0;
            assert!(
                gap >= 14_000_000,
                "{} wrote twice in {gap} µs: {scene:?}",
                scene.author
            );
        }
    }
}

#[test]
fn moments_fall_where_the_clock_says() {
    let shown = |moment| ZONE.day_date_time(moment);
    assert_eq!(shown(calendar::thu(20, 0)), "Thu 22-Oct-2026 20:00");
    assert_eq!(shown(calendar::sat(23, 30)), "Sat 24-Oct-2026 23:30");
    assert_eq!(shown(calendar::sun_bst(1, 30)), "Sun 25-Oct-2026 01:30 BST");
    assert_eq!(shown(calendar::sun(1, 30)), "Sun 25-Oct-2026 01:30 GMT");
    assert_eq!(shown(calendar::sun(20, 0)), "Sun 25-Oct-2026 20:00");
}

#[test]
fn nobody_on_the_ward_could_be_real() {
    let listener = listened();
    for told in listener.told.iter().filter(|told| told.kind == "admission") {
        let Some(Body::Admission(admission)) = told.read.as_ref().map(|read| &read.body) else {
            panic!("an admission was refused");
        };
        assert!(admission.nhs.unwrap().is_reserved_for_tests());
    }
    // Ofcom keeps 01632 960000 to 960999 for drama.
    for told in &listener.told {
        let words = told.words();
        for (at, _) in words.match_indices("01632") {
            assert_eq!(&words[at..at + 9], "01632 960", "{words}");
        }
    }
}

/// Where a nurse wrote a total, it is the one NEWS2 gives; an incomplete set claims none.
#[test]
fn totals_that_nurses_wrote_are_the_ones_computed() {
    let mut checked = 0;
    for told in listened().told {
        let slot = told.slot().map(str::to_owned);
        let Some(Body::Observation(observation)) = told.read.map(|read| read.body) else {
            continue;
        };
        let words = observation
            .judgement
            .as_ref()
            .map_or("", |note| note.as_str())
            .to_lowercase();
        let scale = if slot.as_deref() == Some("T03") {
            Spo2Scale::Scale2
        } else {
            Spo2Scale::Scale1
        };
        let computed = news2::score(&news2::Set::of(&observation, Some(scale)));
        let total = computed
            .ok()
            .and_then(|score| score.score.map(|total| u32::from(total.total)));
        let claimed = words.split_once("total ").and_then(|(_, rest)| {
            let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
            digits.parse::<u32>().ok()
        });
        if let Some(claimed) = claimed {
            assert_eq!(Some(claimed), total, "{slot:?} {} {words}", told.seq);
            checked += 1;
        }
    }
    assert!(checked > 40, "{checked}");
}

/// Bodies of one kind, with who told them and when.
fn bodies<'a, T>(
    listener: &'a Listener,
    slot: &str,
    pick: impl Fn(&'a Body) -> Option<&'a T>,
) -> Vec<(&'a Told, &'a T)> {
    let told = listener
        .told
        .iter()
        .filter(|told| slot.is_empty() || told.slot() == Some(slot));
    told.filter_map(|told| Some((told, pick(&told.read.as_ref()?.body)?)))
        .collect()
}

macro_rules! pick {
    ($kind:ident) => {
        |body| match body {
            Body::$kind(fields) => Some(fields),
            _ => None,
        }
    };
}

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
        looks
            .iter()
            .map(|(_, wound)| area(wound))
            .collect::<Vec<_>>()
    };
    assert_eq!(areas("T07"), [34 * 16, 20 * 9, 0]);
    assert!(areas("T06").is_sorted() && areas("T06").len() == 3);
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

/// What the oncoming night shift finds on Sunday at 20:00.
#[test]
fn enough_is_open_at_the_end() {
    let listener = listened();
    let closed: BTreeSet<_> = bodies(&listener, "", pick!(AlertStep))
        .iter()
        .filter(|(_, step)| step.outcome.is_some())
        .map(|(_, step)| step.alert)
        .collect();
    let open: Vec<_> = bodies(&listener, "", pick!(Alert))
        .iter()
        .filter(|(told, _)| !closed.contains(&told.seq))
        .map(|(told, _)| told.slot().unwrap())
        .collect();
    assert_eq!(open, ["T05", "T14", "T18"]);
    let ended: BTreeSet<_> = bodies(&listener, "", pick!(EscalationStep))
        .iter()
        .filter(|(_, step)| step.outcome.is_some())
        .map(|(_, step)| step.escalation)
        .collect();
    let waiting: Vec<_> = bodies(&listener, "", pick!(Escalation))
        .iter()
        .filter(|(told, _)| !ended.contains(&told.seq))
        .map(|(told, _)| told.slot().unwrap())
        .collect();
    assert_eq!(waiting, ["T05"]);
    let there: BTreeSet<_> = bodies(&listener, "", pick!(SupplyStep))
        .iter()
        .filter(|(_, step)| step.step.is_final())
        .map(|(_, step)| step.supply)
        .collect();
    let coming: Vec<_> = bodies(&listener, "", pick!(Supply))
        .iter()
        .filter(|(told, _)| !there.contains(&told.seq))
        .map(|(told, _)| told.slot().unwrap())
        .collect();
    assert_eq!(coming, ["T12", "T14", "T05"]);
    let silent = bodies(&listener, "T14", pick!(KitStep))
        .last()
        .unwrap()
        .1
        .step;
    assert!(silent.is_silent());
    let left: BTreeSet<_> = bodies(&listener, "", pick!(TaskStep))
        .iter()
        .map(|(_, step)| step.task)
        .collect();
    let overdue: Vec<_> = bodies(&listener, "", pick!(Task))
        .iter()
        .filter(|(told, task)| !left.contains(&told.seq) && task.due.0 < calendar::sun(20, 0))
        .map(|(told, _)| told.slot().unwrap())
        .collect();
    assert_eq!(overdue, ["T08", "T09", "T06", "T14"]);
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

/// Prints the story for a person to read: `cargo test --lib print_story -- --ignored --nocapture`.
#[test]
#[ignore = "for reading"]
fn print_story() {
    for told in listened().told {
        println!(
            "{} {} {:7} {:15} {:4} {}",
            told.seq,
            ZONE.day_time(told.at),
            told.by,
            told.kind,
            told.slot().unwrap_or(""),
            told.words()
        );
    }
}

/// Nobody is in two places: contacts of one person never overlap, and a visit has ten minutes
/// in the car before and after it.
#[test]
fn nobody_is_in_two_places_at_once() {
    let listener = listened();
    let mut last: BTreeMap<&str, (Timestamp, bool, Seq)> = BTreeMap::new();
    let mut contacts = bodies(&listener, "", pick!(Contact));
    contacts.retain(|(told, _)| {
        listener
            .withdrawn
            .iter()
            .all(|(target, _)| *target != told.seq)
    });
    contacts.sort_by_key(|(told, _)| told.read.as_ref().unwrap().occurred_at);
    let mut clashes = vec![];
    for (told, contact) in contacts {
        let visit = contact.mode.code() == "visit";
        let began = told.read.as_ref().unwrap().occurred_at;
        if let Some((ended, was_visit, before)) = last.get(told.by) {
            let car = Span::minutes(if visit || *was_visit { 10 } else { 0 });
            if began < ended.plus(car) {
                clashes.push(format!(
                    "{} {before} to {}, {} {} from {}",
                    told.by,
                    ZONE.day_time(*ended),
                    told.seq,
                    told.slot().unwrap(),
                    ZONE.day_time(began)
                ));
            }
        }
        last.insert(told.by, (told.at, visit, told.seq));
    }
    assert!(clashes.is_empty(), "{}", clashes.join("\n"));
}

/// Nurses, assistants and the sister write only on a shift of theirs, or within half an hour of
/// its end; on the opening evening three of the day staff stayed to copy the paper record.
#[test]
fn everybody_writes_on_shift() {
    let listener = listened();
    let shifts = bodies(&listener, "", pick!(Shift));
    let on = |told: &Told| {
        shifts.iter().any(|(_, shift)| {
            let hours = shift.from.0..shift.until.0.plus(Span::minutes(30));
            hours.contains(&told.at) && shift.staff.iter().any(|handle| handle.as_str() == told.by)
        })
    };
    let stayed = |told: &Told| {
        told.at < calendar::thu(21, 30) && ["hester", "joss", "imke"].contains(&told.by)
    };
    for told in listener
        .told
        .iter()
        .filter(|told| !["wren", "amos"].contains(&told.by))
    {
        assert!(
            on(told) || stayed(told),
            "{} {} by {}",
            told.seq,
            ZONE.day_time(told.at),
            told.by
        );
    }
}

/// The ward's own policy: more than an hour after is late, and late has a reason.
#[test]
fn late_entries_say_why() {
    let listener = listened();
    let mut late = 0;
    for told in &listener.told {
        let Some(read) = &told.read else { continue };
        if told.at.since(read.occurred_at) > Span::hours(1) {
            assert!(read.late_reason.is_some(), "{} {}", told.seq, told.words());
            late += 1;
        }
    }
    assert!(late > 30, "{late}");
}

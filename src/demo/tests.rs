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
use crate::record::time::Timestamp;

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
        _: Seq,
    ) -> Result<Seq, Infallible> {
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

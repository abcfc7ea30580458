//! What holds for the story as a whole.

use std::collections::{BTreeMap, BTreeSet};

use super::listener::{Told, bodies, listened, pick};
use crate::clinical::news2;
use crate::demo::cast::{KEEPER, STAFF, ZONE};
use crate::demo::{calendar, story};
use crate::record::ids::Seq;
use crate::record::kind::{Body, Kind};
use crate::record::observed::Spo2Scale;
use crate::record::time::{Span, Timestamp};

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

/// `docs/demo-ward.md` names every member of the staff with their PIN, and every patient.
#[test]
fn the_page_about_the_demo_is_true() {
    let page = include_str!("../../../docs/demo-ward.md");
    for member in std::iter::once(&KEEPER).chain(&STAFF) {
        let line = page
            .lines()
            .find(|line| line.starts_with(&format!("| `{}` |", member.handle)));
        let line = line.unwrap_or_else(|| panic!("{} is not on the page", member.handle));
        assert!(
            line.contains(member.name) && line.ends_with(&format!("| {} |", member.pin)),
            "{line}"
        );
        assert!(line.contains(member.role.label()), "{line}");
    }
    for (_, admission) in bodies(&listened(), "", pick!(Admission)) {
        let slot = admission.slot.as_ref().unwrap();
        let name = format!(
            "| {slot} | {}, {} |",
            admission.family.0.to_uppercase(),
            admission.given
        );
        assert!(page.contains(&name), "{name}");
    }
}

//! Extracts: what is cut out, put in, swapped or claimed falsely does not verify.

use std::sync::LazyLock;

use handfast::journal::note::{NoteKind, SignedNote, VerifierKey};
use handfast::journal::{FileReader, ReadJournal, Signer as _, SigningSeed};
use handfast::record::ids::{EntryHash, Pseudonym, Seq, TreeHash, from_hex, to_hex};
use handfast::record::kind::Body;
use handfast::record::time::Timestamp;
use handfast::station::extract::check::{Withheld, check, read};
use handfast::station::extract::{Extract, ExtractRequest, Scope, Shown};
use handfast::ward::Read;
use zeroize::Zeroizing;

use crate::ward::{Ward, faults};

fn patient(ward: &Ward) -> Pseudonym {
    let (station, _) = ward.station();
    station.ward().patients().next().unwrap().pseudonym
}

fn request(patient: Pseudonym) -> ExtractRequest {
    ExtractRequest {
        scope: Scope {
            patient: Some(patient),
            ..Scope::default()
        },
        words: "one patient".to_owned(),
        purpose: "a test".to_owned(),
        made_by: "a test".to_owned(),
        ..ExtractRequest::default()
    }
}

/// An extract of one patient's record, all of it.
fn whole() -> &'static Extract {
    static MADE: LazyLock<Extract> = LazyLock::new(|| {
        let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
        // Two checkpoints, and acts before, between and after them.
        ward.checkpoint(kept.path(), "a");
        ward.suspend_and_reinstate();
        ward.checkpoint(kept.path(), "b");
        ward.suspend_and_reinstate();
        let (mut station, keeper) = ward.station();
        let extract = station.extract(&keeper, &request(patient(&ward))).unwrap();
        let (found, _) = ward.verify(&[]);
        assert_eq!(faults(&found).len(), 0);
        extract
    });
    &MADE
}

fn problems(extract: &Extract) -> Vec<String> {
    // As it is after it was written, mailed and read.
    let text = serde_json::to_string(extract).unwrap();
    check(&read(text.as_bytes()).unwrap()).problems
}

#[test]
fn an_honest_extract_holds_and_is_complete() {
    let extract = whole();
    assert_eq!(problems(extract), Vec::<String>::new());
    let checked = check(extract);
    let one = &checked.patients[0];
    assert_eq!(checked.patients.len(), 1);
    assert_eq!((one.shown, one.withheld), (one.in_all, 0));
    assert!(one.in_all > 10, "{one:?}");
    assert_eq!(checked.shown, extract.entries.len());
}

#[test]
fn withheld_entries_are_counted_with_their_reasons_and_the_rest_holds() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    ward.checkpoint(kept.path(), "a");
    let (mut station, keeper) = ward.station();
    let whose = patient(&ward);
    let held = whole().entries[3].seq;
    let mut request = request(whose);
    request.withheld = vec![(held, "names a neighbour".to_owned())];
    let extract = station.extract(&keeper, &request).unwrap();
    let text = serde_json::to_string(&extract).unwrap();
    let hidden = whole().entries[3].frame.as_deref().unwrap();
    assert!(!text.contains(hidden), "its bytes are not in the file");
    assert_eq!(problems(&extract), Vec::<String>::new());
    let checked = check(&extract);
    let reason = "names a neighbour".to_owned();
    let place = held.0;
    assert_eq!(checked.withheld, [Withheld { place, reason }]);
    let one = &checked.patients[0];
    assert_eq!((one.shown + 1, one.withheld), (one.in_all, 1));
    // Held back without a word: that is no extract any more.
    let mut silent = extract;
    let entry = silent
        .entries
        .iter_mut()
        .find(|entry| entry.seq == held)
        .unwrap();
    entry.withheld = None;
    assert!(!problems(&silent).is_empty());
}

/// Each of these, and the extract no longer holds.
#[test]
fn nothing_can_be_cut_out_put_in_swapped_or_claimed() {
    let good = whole();
    let mut attacks: Vec<(&str, Extract)> = Vec::new();
    let mut attack = |what, change: &dyn Fn(&mut Extract)| {
        let mut extract = good.clone();
        change(&mut extract);
        assert_ne!(&extract, good, "{what} changes something");
        attacks.push((what, extract));
    };
    attack("a byte of an entry", &|extract| {
        let frame = extract.entries[2].frame.as_mut().unwrap();
        let mut bytes = from_hex(frame).unwrap();
        bytes[230] ^= 1;
        *frame = to_hex(&bytes);
    });
    attack("bytes after an entry", &|extract| {
        extract.entries[2].frame.as_mut().unwrap().push_str("00");
    });
    attack("two entries change places", &|extract| {
        let (one, two) = (extract.entries[1].clone(), extract.entries[2].clone());
        extract.entries[1].frame = two.frame;
        extract.entries[2].frame = one.frame;
    });
    attack("another number", &|extract| {
        extract.entries[1].seq = Seq(99_999)
    });
    attack("another place", &|extract| extract.entries[1].index += 1);
    attack("a shorter record claimed", &|extract| {
        let entry = extract.entries.pop().unwrap();
        let parts = extract.patients.iter_mut();
        for part in parts {
            part.hashes.retain(|hash| *hash != entry.hash);
        }
    });
    attack("the claim left out", &|extract| extract.patients.clear());
    attack("a hash put into the claim", &|extract| {
        extract.patients[1].hashes.push(EntryHash([3; 32]));
    });
    attack("the claim proved by another way", &|extract| {
        extract.patients[1].path[0] = TreeHash([3; 32]);
    });
    attack("a member of staff left out", &|extract| {
        extract.authority.remove(3);
    });
    attack("the first entry left out", &|extract| {
        extract.authority.remove(0);
    });
    attack("the ward's key left out", &|extract| {
        let key_entry = extract.authority.len() - 2;
        extract.authority.remove(key_entry);
    });
    attack("the checkpoint's entry left out", &|extract| {
        extract.authority.pop();
    });
    attack("another size in the checkpoint", &|extract| {
        let size = check(extract).checkpoint.unwrap().size.to_string();
        extract.checkpoint = extract.checkpoint.replacen(&size, &format!("{size}0"), 1);
    });
    attack("another key", &|extract| {
        let other = handfast::journal::note::VerifierKey {
            name: "handfast/other".parse().unwrap(),
            kind: handfast::journal::note::NoteKind::Note,
            key: handfast::record::ids::PersonKey([1; 32]),
        };
        extract.ward_key = other.to_string();
    });
    attack("another journal", &|extract| extract.journal.0[0] ^= 1);
    attack("one entry left out and another counted twice", &|extract| {
        extract.entries.remove(10);
        let mut twice = extract.entries[5].clone();
        (twice.frame, twice.withheld) = (None, Some("third party".to_owned()));
        extract.entries.push(twice);
    });
    attack("one withheld twice under two numbers", &|extract| {
        let held = |seq, entry: &Shown| Shown {
            seq,
            frame: None,
            withheld: Some("reason".to_owned()),
            ..entry.clone()
        };
        let entry = extract.entries.remove(10);
        extract.entries.remove(20);
        extract
            .entries
            .extend([held(entry.seq, &entry), held(Seq(5), &entry)]);
    });
    attack("shown and withheld at once", &|extract| {
        extract.entries[3].withheld = Some("reason".to_owned());
    });
    attack("what a patient has in all, twice", &|extract| {
        let part = extract.patients[1].clone();
        extract.patients.push(part);
    });
    // The same statement, signed with a key of the attacker's under the ward's name.
    attack("a key that nobody announced", &|extract| {
        let fresh = SigningSeed::from_bytes(&Zeroizing::new([77; 32]));
        let text = check(extract).checkpoint.unwrap();
        let name = text.key_name().unwrap();
        let note = SignedNote::sign(text.to_text(), &name, &fresh).unwrap();
        extract.checkpoint = note.to_text();
        let kind = NoteKind::Note;
        let key = fresh.public();
        extract.ward_key = VerifierKey { name, kind, key }.to_string();
    });
    for (what, extract) in attacks {
        assert!(!problems(&extract).is_empty(), "{what}");
    }
}

/// Entries simply not shown: it still holds, and says that it is not all.
#[test]
fn an_extract_that_shows_less_says_so() {
    let mut extract = whole().clone();
    extract.entries.pop();
    assert_eq!(problems(&extract), Vec::<String>::new());
    let one = &check(&extract).patients[0];
    assert_eq!(one.shown + 1, one.in_all);
}

/// However little is shown, whoever the file speaks of is named with a total.
#[test]
fn nothing_shown_or_all_withheld_still_has_its_total() {
    let mut nothing = whole().clone();
    nothing.entries.clear();
    assert_eq!(problems(&nothing), Vec::<String>::new());
    let all = check(whole()).patients[0].in_all;
    let one = &check(&nothing).patients[0];
    assert_eq!((one.in_all, one.shown, one.withheld), (all, 0, 0));
    let mut held = whole().clone();
    for entry in &mut held.entries {
        (entry.frame, entry.withheld) = (None, Some("x".to_owned()));
    }
    assert_eq!(problems(&held), Vec::<String>::new());
    let one = &check(&held).patients[0];
    assert_eq!((one.in_all, one.shown, one.withheld), (all, 0, all));
}

/// A number that nothing proves is not told: the place is.
#[test]
fn a_false_number_on_a_withheld_entry_is_not_told() {
    let mut extract = whole().clone();
    let entry = &mut extract.entries[4];
    let place = entry.index + 1;
    (entry.frame, entry.withheld) = (None, Some("x".to_owned()));
    entry.seq = Seq(99_999);
    let checked = check(&extract);
    assert_eq!(checked.withheld.len(), 1);
    assert_eq!(checked.withheld[0].place, place);
}

/// Whatever an extract is limited to: what withdraws or corrects an entry of it is in it, and said of it.
#[test]
fn no_limit_cuts_an_amendment_away() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    ward.checkpoint(kept.path(), "a");
    let reader = FileReader::open(ward.path()).unwrap();
    let amendments = reader.read_from(Seq(1)).filter_map(|frame| {
        let frame = frame.ok()?;
        let target = match &Read::from_frame(&frame).entry()?.body {
            Body::Amendment(amendment) => amendment.target,
            _ => return None,
        };
        Some((*frame.header(), target))
    });
    let mut seen = 0;
    for (amends, target) in amendments.collect::<Vec<_>>() {
        let mut request = request(amends.patient);
        request.scope.until = Some(Timestamp(amends.recorded_at.0 - 1));
        let (mut station, keeper) = ward.station();
        let extract = station.extract(&keeper, &request).unwrap();
        let checked = check(&extract);
        assert_eq!(checked.problems, Vec::<String>::new());
        let shown = checked.entries.iter().find(|shown| shown.seq == target);
        let by: Vec<Seq> = shown.unwrap().amended.iter().map(|one| one.by).collect();
        assert!(by.contains(&amends.seq), "{target}: {by:?}");
        seen += 1;
    }
    assert!(seen > 0);
}

#[test]
fn what_is_no_extract_is_refused() {
    for text in [
        "",
        "{}",
        "[]",
        "null",
        "{\"format\":\"handfast extract 1\"}",
    ] {
        assert!(read(text.as_bytes()).is_err(), "{text:?}");
    }
    let mut newer = whole().clone();
    newer.format = "handfast extract 2".to_owned();
    assert!(read(serde_json::to_string(&newer).unwrap().as_bytes()).is_err());
}

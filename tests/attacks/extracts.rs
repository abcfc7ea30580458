//! Extracts: what is cut out, put in, swapped or claimed falsely does not verify.

use std::sync::LazyLock;

use handfast::record::ids::{EntryHash, Pseudonym, Seq, TreeHash, from_hex, to_hex};
use handfast::station::extract::check::{check, read};
use handfast::station::extract::{Extract, ExtractRequest, Scope};

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
        withheld: Vec::new(),
    }
}

/// An extract of one patient's record, all of it.
fn whole() -> &'static Extract {
    static MADE: LazyLock<Extract> = LazyLock::new(|| {
        let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
        ward.checkpoint(kept.path(), "a");
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
    assert_eq!(checked.withheld, [(held, "names a neighbour".to_owned())]);
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

//! Somebody changes the folder: whatever they do is found and located, and what they did not
//! touch stays readable.

use std::ops::Range;
use std::path::Path;

use super::bench_material::*;
use crate::journal::verify::{Finding, Verdict, Verification, VerifyOptions, Wrong, verify};
use crate::journal::{
    FileReader, Head, Layout, ReadJournal, SEGMENT_HEADER_BYTES, Store, WriteOptions,
};
use crate::record::ids::{JournalId, Seq};

/// Three segments with entries 1..=3, 4..=6 and 7..=9, cleanly closed.
fn journal() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    fill(dir.path(), 1..=9);
    dir
}

fn fill(dir: &Path, numbers: std::ops::RangeInclusive<u64>) {
    let small = WriteOptions {
        segment_bytes: 600,
        ..options()
    };
    let (store, _) = crate::journal::FileStore::open_writer(dir, &small).unwrap();
    for n in numbers {
        store.append(vec![entry(n)], None).unwrap();
    }
}

fn check(dir: &Path) -> Verification {
    verify(dir, VerifyOptions::default()).unwrap()
}

fn segments(dir: &Path) -> Vec<Seq> {
    crate::journal::open::list_segments(&crate::journal::disk::RealDisk, &Layout::new(dir)).unwrap()
}

fn path_of(dir: &Path, first: u64) -> std::path::PathBuf {
    Layout::new(dir).segment(Seq(first))
}

/// Where each frame of a segment lies.
fn frames(bytes: &[u8]) -> Vec<Range<usize>> {
    let mut ranges = Vec::new();
    let mut at = SEGMENT_HEADER_BYTES;
    while let Ok(header) = crate::journal::Header::parse(&bytes[at..]) {
        ranges.push(at..at + header.frame_bytes());
        at += header.frame_bytes();
    }
    ranges
}

/// Rewrites a segment as its header and these frames of it.
fn rearrange(dir: &Path, first: u64, order: &[usize]) {
    let path = path_of(dir, first);
    let bytes = std::fs::read(&path).unwrap();
    let ranges = frames(&bytes);
    let mut new = bytes[..SEGMENT_HEADER_BYTES].to_vec();
    for &index in order {
        new.extend_from_slice(&bytes[ranges[index].clone()]);
    }
    std::fs::write(path, new).unwrap();
}

fn kinds(verification: &Verification) -> Vec<&Wrong> {
    verification.findings.iter().map(|f| &f.what).collect()
}

#[test]
fn an_untouched_journal_is_sound() {
    let dir = journal();
    assert_eq!(
        segments(dir.path()),
        [Seq(1), Seq(3), Seq(5), Seq(7), Seq(9)]
    );
    let found = check(dir.path());
    assert_eq!(found.findings, []);
    assert!(found.is_sound());
    assert_eq!((found.entries, found.head.seq), (9, Seq(9)));
}

#[test]
fn every_altered_byte_is_found_and_located_and_the_rest_stays_readable() {
    let dir = journal();
    for first in segments(dir.path()) {
        let path = path_of(dir.path(), first.0);
        let sound = std::fs::read(&path).unwrap();
        let ranges = frames(&sound);
        for at in 0..sound.len() {
            for pattern in [0x01, 0xff] {
                let mut bytes = sound.clone();
                bytes[at] ^= pattern;
                std::fs::write(&path, &bytes).unwrap();
                let place = ranges.iter().position(|range| range.contains(&at));
                altered(dir.path(), first, at, place);
            }
        }
        std::fs::write(&path, &sound).unwrap();
    }
}

/// `place` is which entry of the segment holds the altered byte; `None` is the header.
fn altered(dir: &Path, first: Seq, at: usize, place: Option<usize>) {
    let found = verify(dir, VerifyOptions::default()).unwrap();
    assert!(!found.is_sound(), "segment {first} byte {at}: not found");
    let hit = |finding: &Finding| match place {
        None => finding.segment == Some(first) && finding.offset == Some(0),
        Some(index) => finding.seq == Some(Seq(first.0 + index as u64)),
    };
    let all = &found.findings;
    assert!(all.iter().any(hit), "segment {first} byte {at}: {all:?}");
    // At most the entry itself and the link or end after it are blamed.
    assert!(all.len() <= 2, "segment {first} byte {at}: {all:?}");
    if place.is_none() && (8..10).contains(&at) {
        // It now claims to be newer: named here, and a reader that cannot read it all refuses.
        return;
    }
    let reader = FileReader::open(dir).unwrap();
    let readable = reader.read_from(Seq(1)).filter(Result::is_ok).count();
    let lost = usize::from(place.is_some());
    assert!(
        readable >= 9 - lost,
        "segment {first} byte {at}: {readable}"
    );
}

#[test]
fn a_dropped_entry_is_missing_by_number() {
    let dir = journal();
    rearrange(dir.path(), 3, &[1]);
    let found = check(dir.path());
    assert_eq!(kinds(&found), [&Wrong::Missing]);
    assert_eq!(found.findings[0].seq, Some(Seq(3)));
    let read = all(&FileReader::open(dir.path()).unwrap());
    assert_eq!(read.iter().filter(|item| item.is_ok()).count(), 8);
    assert_eq!(read.iter().filter(|item| item.is_err()).count(), 1);
}

#[test]
fn swapped_and_repeated_entries_are_found() {
    let dir = journal();
    rearrange(dir.path(), 3, &[1, 0]);
    let found = check(dir.path());
    assert!(!found.is_sound());
    assert!(
        found.findings.iter().any(|f| f.seq == Some(Seq(3))),
        "{:?}",
        found.findings
    );
    let dir = journal();
    rearrange(dir.path(), 3, &[0, 1, 1]);
    let found = check(dir.path());
    assert_eq!(kinds(&found), [&Wrong::OutOfOrder { expected: Seq(5) }]);
    assert_eq!(found.findings[0].seq, Some(Seq(4)));
    assert_eq!(payloads(&FileReader::open(dir.path()).unwrap()).len(), 9);
}

#[test]
fn a_removed_segment_is_missing_and_a_removed_end_is_remembered() {
    let dir = journal();
    std::fs::remove_file(path_of(dir.path(), 5)).unwrap();
    let found = check(dir.path());
    assert_eq!(kinds(&found), [&Wrong::Missing]);
    assert_eq!(
        (found.findings[0].seq, found.findings[0].last),
        (Some(Seq(5)), Some(Seq(6)))
    );
    let dir = journal();
    std::fs::remove_file(path_of(dir.path(), 9)).unwrap();
    let found = check(dir.path());
    assert!(
        matches!(kinds(&found)[..], [Wrong::MissingAtEnd { .. }]),
        "{found:?}"
    );
    // Whoever also removes the note is caught by any head kept elsewhere.
    std::fs::remove_file(Layout::new(dir.path()).flushed_note()).unwrap();
    assert_eq!(check(dir.path()).verdict(), Verdict::EndNotVouchedFor);
    let remembered = Head {
        seq: Seq(9),
        hash: crate::record::ids::EntryHash([1; 32]),
    };
    let options = VerifyOptions {
        remembered: vec![remembered],
        ..VerifyOptions::default()
    };
    assert!(!verify(dir.path(), options).unwrap().is_sound());
}

#[test]
fn every_truncation_is_found() {
    let dir = journal();
    let path = path_of(dir.path(), 7);
    let sound = std::fs::read(&path).unwrap();
    for len in 0..sound.len() {
        std::fs::write(&path, &sound[..len]).unwrap();
        let found = check(dir.path());
        assert!(!found.is_sound(), "cut to {len}");
        assert!(
            found
                .findings
                .iter()
                .any(|f| f.seq >= Some(Seq(7)) || f.segment == Some(Seq(7)))
        );
    }
}

#[test]
fn an_entry_from_another_journal_does_not_fit_and_hides_nothing() {
    let dir = journal();
    let other = tempfile::tempdir().unwrap();
    crate::journal::FileStore::create(other.path(), JournalId([8; 16])).unwrap();
    fill(other.path(), 1..=9);
    let (ours, theirs) = (path_of(dir.path(), 3), path_of(other.path(), 7));
    let mut bytes = std::fs::read(&ours).unwrap();
    let foreign = std::fs::read(theirs).unwrap();
    let (here, there) = (frames(&bytes)[0].clone(), frames(&foreign)[0].clone());
    bytes.splice(here, foreign[there].to_vec());
    std::fs::write(&ours, bytes).unwrap();
    let found = check(dir.path());
    assert!(!found.is_sound());
    assert!(
        found.findings.iter().any(|f| f.seq == Some(Seq(3))),
        "{:?}",
        found.findings
    );
    let read = all(&FileReader::open(dir.path()).unwrap());
    let seqs: Vec<u64> = read.iter().flatten().map(|frame| frame.seq().0).collect();
    assert_eq!(seqs, [1, 2, 4, 5, 6, 7, 8, 9], "{read:?}");
}

#[test]
fn a_whole_segment_from_another_journal_is_foreign() {
    let dir = journal();
    let other = tempfile::tempdir().unwrap();
    crate::journal::FileStore::create(other.path(), JournalId([8; 16])).unwrap();
    fill(other.path(), 1..=9);
    std::fs::copy(path_of(other.path(), 5), path_of(dir.path(), 5)).unwrap();
    let found = check(dir.path());
    let foreign = |wrong: &&Wrong| matches!(wrong, Wrong::SegmentForeign { .. });
    assert!(kinds(&found).iter().any(foreign), "{:?}", found.findings);
}

#[test]
fn whoever_recomputes_the_hashes_still_lacks_the_signature() {
    let dir = journal();
    let path = path_of(dir.path(), 9);
    let mut bytes = std::fs::read(&path).unwrap();
    let range = frames(&bytes)[0].clone();
    let payload_at = range.start + crate::journal::HEADER_BYTES;
    bytes[payload_at] ^= 1;
    let body = range.end - 32;
    let hash = crate::journal::chain::entry_hash(&bytes[range.start..body]);
    bytes[body..].copy_from_slice(&hash.0);
    std::fs::write(&path, bytes).unwrap();
    let found = check(dir.path());
    assert!(
        kinds(&found).contains(&&Wrong::Signature),
        "{:?}",
        found.findings
    );
}

#[test]
fn bytes_that_belong_to_no_entry_are_found() {
    let dir = journal();
    let path = path_of(dir.path(), 3);
    let mut bytes = std::fs::read(&path).unwrap();
    let between = frames(&bytes)[1].start;
    bytes.splice(between..between, *b"hfen and more");
    std::fs::write(&path, bytes).unwrap();
    let found = check(dir.path());
    assert_eq!(kinds(&found), [&Wrong::Stray { bytes: 13 }]);
    assert_eq!(payloads(&FileReader::open(dir.path()).unwrap()).len(), 9);
}

#[test]
fn the_judge_hears_every_entry_in_order_and_its_words_are_findings() {
    let dir = journal();
    let mut heard = Vec::new();
    let mut judge = |frame: &crate::journal::SignedFrame| {
        heard.push(frame.seq().0);
        (frame.seq() == Seq(4)).then(|| "is signed by somebody unknown".to_owned())
    };
    let mut steps = 0;
    let mut progress = |_| steps += 1;
    let options = VerifyOptions {
        judge: Some(&mut judge),
        progress: Some(&mut progress),
        ..VerifyOptions::default()
    };
    let found = verify(dir.path(), options).unwrap();
    assert!(matches!(kinds(&found)[..], [Wrong::Author(_)]));
    assert_eq!(found.findings[0].seq, Some(Seq(4)));
    assert_eq!((heard, steps), ((1..=9).collect(), 5));
}

#[test]
fn a_clock_set_back_is_a_note() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let mut early = entry(2);
    early.recorded_at = crate::record::time::Timestamp::EARLIEST;
    open(dir.path())
        .append(vec![entry(1), early], None)
        .unwrap();
    let found = check(dir.path());
    assert!(matches!(kinds(&found)[..], [Wrong::ClockBackwards { .. }]));
    assert!(found.is_sound());
}

/// Somebody with a key writes their own entry anew, signature and all; the next one, which
/// they did not sign, still names the old one.
#[test]
fn an_author_who_rewrites_their_own_entry_breaks_the_chain_after_it() {
    let dir = journal();
    let path = path_of(dir.path(), 3);
    let bytes = std::fs::read(&path).unwrap();
    let ranges = frames(&bytes);
    let header = crate::journal::Header::parse(&bytes[ranges[0].clone()]).unwrap();
    let mut new = bytes[..SEGMENT_HEADER_BYTES].to_vec();
    let own_key = entry(3).signer;
    assert_eq!(own_key.public(), header.author);
    crate::journal::frame::encode(&header, b"entry X", &*own_key, &mut new);
    new.extend_from_slice(&bytes[ranges[1].clone()]);
    assert_eq!(new.len(), bytes.len());
    std::fs::write(&path, new).unwrap();
    let found = check(dir.path());
    assert!(
        matches!(kinds(&found)[..], [Wrong::Link { .. }]),
        "{:?}",
        found.findings
    );
    assert_eq!(found.findings[0].seq, Some(Seq(4)));
    let reader = FileReader::open(dir.path()).unwrap();
    for read in [all(&reader).swap_remove(3), reader.read(Seq(4))] {
        let link = matches!(
            &read,
            Err(crate::journal::ReadError::Damaged { seq: Seq(4), what, .. })
                if matches!(**what, crate::journal::Damage::Link { .. })
        );
        assert!(link, "{read:?}");
    }
}

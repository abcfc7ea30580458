//! The machine dies, the disk fails: every acknowledged entry survives, nothing is
//! acknowledged that did not, and what is left verifies.

use super::bench_material::*;
use crate::journal::disk::simulated::{Fault, SimulatedDisk};
use crate::journal::verify::{Level, VerifyOptions, Wrong, verify_on};
use crate::journal::{
    AppendError, Appended, FileStore, OpenError, ReadJournal, Store, WriteOptions,
};
use crate::record::ids::Seq;

fn small() -> WriteOptions {
    WriteOptions {
        segment_bytes: 1_500,
        ..options()
    }
}

fn made(seed: u64) -> SimulatedDisk {
    let disk = SimulatedDisk::new(seed, &[]);
    FileStore::create_on(&disk, &layout(), JOURNAL).unwrap();
    disk
}

/// Appends entries in groups of 1 to 3 until something fails; returns what was acknowledged.
fn write(disk: &SimulatedDisk, from: u64, rounds: u64) -> Vec<(u64, Appended)> {
    let mut acknowledged = Vec::new();
    let Ok((store, _)) = simulated_open(disk, &small()) else {
        return acknowledged;
    };
    let mut next = from;
    for round in 0..rounds {
        let last = next + round % 3;
        match store.append(entries(next..=last), None) {
            Ok(answers) => acknowledged.extend((next..=last).zip(answers)),
            Err(_) => break,
        }
        next = last + 1;
    }
    acknowledged
}

fn verified(disk: &SimulatedDisk, context: &str) {
    let found = verify_on(disk, &layout(), VerifyOptions::default()).unwrap();
    assert_eq!(found.findings, [], "{context}");
}

/// The same where no writer closed cleanly, so that no note names the newest entry or a segment
/// was just begun. Torn bytes or half an append would still be something left lying.
fn verified_but_not_vouched_for(disk: &SimulatedDisk, context: &str) {
    let found = verify_on(disk, &layout(), VerifyOptions::default()).unwrap();
    let beside = found.findings.iter().filter(|finding| {
        let end = matches!(
            finding.what,
            Wrong::EndNotVouched { .. } | Wrong::NoEntryInLast
        );
        finding.level != Level::End || !end
    });
    assert_eq!(beside.count(), 0, "{context}: {:?}", found.findings);
}

/// Everything acknowledged is in the journal where it was said to be.
fn survives(journal: &dyn ReadJournal, acknowledged: &[(u64, Appended)], context: &str) {
    for (n, answer) in acknowledged {
        let frame = journal.read(answer.seq).expect(context);
        assert_eq!(frame.hash(), answer.hash, "{context}: entry {n}");
        assert_eq!(
            journal.find(entry(*n).id).unwrap(),
            Some(answer.seq),
            "{context}"
        );
    }
}

/// Runs with the faults, crashes, reopens, and checks; then does so once more, so that
/// recovery itself is crashed as well.
fn crash_and_recover(seed: u64, faults: &[Fault], again: Fault) -> u64 {
    let context = format!("seed {seed}, {faults:?}, then {again:?}");
    let disk = made(seed).after_exit(faults);
    let mut acknowledged = write(&disk, 1, 12);
    let calls = disk.calls();
    let disk = disk.after_crash(&[again]);
    acknowledged.extend(write(&disk, 1_000, 4));
    let disk = disk.after_crash(&[]);
    let (store, report) =
        simulated_open(&disk, &small()).unwrap_or_else(|e| panic!("{context}: {e}"));
    assert!(report.damaged.is_empty(), "{context}: {report:?}");
    survives(&store, &acknowledged, &context);
    let more = store.append(vec![entry(2_000)], None).unwrap();
    acknowledged.push((2_000, more[0]));
    drop(store);
    verified(&disk, &context);
    survives(&simulated_reader(&disk), &acknowledged, &context);
    calls
}

#[test]
fn a_crash_at_any_call_loses_nothing_acknowledged() {
    for seed in 0..5 {
        let mut at = 1;
        loop {
            let calls = crash_and_recover(seed, &[Fault::Crash(at)], Fault::Crash(at % 9 + 1));
            if calls < at {
                break;
            }
            at += 1;
        }
        assert!(at > 40, "only {at} calls were crashed");
    }
}

#[test]
fn a_failed_flush_and_then_a_crash_loses_nothing_acknowledged() {
    for seed in 0..12 {
        for at in 1..40 {
            crash_and_recover(seed, &[Fault::FailedFlush(at)], Fault::Crash(seed % 12 + 1));
        }
    }
}

#[test]
fn a_short_write_and_then_a_crash_loses_nothing_acknowledged() {
    for seed in 0..8 {
        for at in 1..40 {
            crash_and_recover(
                seed,
                &[Fault::ShortWrite(at)],
                Fault::FailedFlush(seed % 12 + 1),
            );
        }
    }
}

/// The kernel forgets a failed flush: the next one says all is well, and reading shows every
/// entry right although the disk does not have it. What survived a failed flush must reach
/// the disk again before anything is acknowledged.
#[test]
fn what_survived_a_failed_flush_is_flushed_anew_before_it_is_acknowledged() {
    let mut rescued = 0;
    for seed in 0..60 {
        let disk = made(seed);
        let first = write(&disk, 1, 2);
        let calls = disk.calls();
        // The next open makes no call; the write is the first and its flush the second.
        let disk = disk.after_exit(&[Fault::FailedFlush(2)]);
        assert!(calls > 0);
        let (store, _) = simulated_open(&disk, &small()).unwrap();
        let failed = store.append(entries(10..=12), None).unwrap_err();
        let ids: Vec<_> = entries(10..=12).iter().map(|e| e.id).collect();
        assert!(
            matches!(&failed, AppendError::NotKnown { ids: of, .. } if *of == ids),
            "{failed}"
        );
        let closed = store.append(vec![entry(13)], None).unwrap_err();
        assert!(matches!(closed, AppendError::Closed { .. }), "{closed}");
        assert_eq!(payloads(&store).len(), 3, "reading goes on");
        drop(store);
        let disk = disk.after_exit(&[]);
        let (store, report) = simulated_open(&disk, &small()).unwrap();
        rescued += report.reflushed;
        // Asking again by id is safe, whatever became of the first attempt.
        let again = store.append(entries(10..=12), None).unwrap();
        drop(store);
        let disk = disk.after_crash(&[]);
        let reader = simulated_reader(&disk);
        let answers: Vec<_> = (10..=12).zip(again).collect();
        survives(&reader, &first, "before");
        survives(&reader, &answers, &format!("seed {seed}"));
        assert_eq!(payloads(&reader).len(), 6);
        verified_but_not_vouched_for(&disk, "after");
    }
    assert!(rescued > 0, "nothing ever survived a failed flush");
}

#[test]
fn a_full_disk_records_nothing_and_loses_nothing() {
    let mut full = 0;
    for room in (400..4_000).step_by(7) {
        let disk = made(room).after_exit(&[Fault::Full(room)]);
        let Ok((store, _)) = simulated_open(&disk, &small()) else {
            continue;
        };
        let mut acknowledged = Vec::new();
        for n in 1..=9 {
            match store.append(vec![entry(n)], None) {
                Ok(answers) => acknowledged.push((n, answers[0])),
                Err(error) => {
                    assert_eq!(error, AppendError::DiskFull);
                    full += 1;
                }
            }
        }
        survives(&store, &acknowledged, "while full");
        // What was written before the disk was found full is undone, not left lying.
        verified_but_not_vouched_for(&disk, "while full");
        drop(store);
        let disk = disk.after_exit(&[]);
        let (store, _) = simulated_open(&disk, &small()).unwrap();
        survives(&store, &acknowledged, "with room again");
        assert_eq!(all(&store).len(), acknowledged.len());
        store.append(vec![entry(50)], None).unwrap();
        drop(store);
        verified(&disk, "with room again");
    }
    assert!(full > 200);
}

/// A disk that says "flushed" and did not can lose acknowledged entries; no journal can
/// prevent that. A head remembered elsewhere makes it known.
#[test]
fn a_lying_flush_is_discovered_by_a_head_kept_elsewhere() {
    let mut discovered = 0;
    for seed in 0..30 {
        let disk = made(seed).after_exit(&[Fault::LyingFlush(1)]);
        let (store, _) = simulated_open(&disk, &options()).unwrap();
        store.append(entries(1..=4), None).unwrap();
        let remembered = store.head();
        drop(store);
        let disk = disk.after_crash(&[]);
        let careful = WriteOptions {
            expected_at_least: Some(remembered),
            ..options()
        };
        match simulated_open(&disk, &careful) {
            Ok((store, _)) => assert_eq!(store.head(), remembered),
            Err(OpenError::Damaged { report }) => {
                assert!(!report.damaged.is_empty());
                discovered += 1;
            }
            Err(other) => panic!("{other}"),
        }
    }
    assert!(discovered > 0);
}

/// Entries of one append stand or fall together.
#[test]
fn an_append_is_never_half_there() {
    for seed in 0..200 {
        let disk = made(seed).after_exit(&[Fault::Crash(2)]);
        let (store, _) = simulated_open(&disk, &options()).unwrap();
        store.append(entries(1..=5), None).unwrap_err();
        drop(store);
        let disk = disk.after_crash(&[]);
        assert!([0, 5].contains(&all(&simulated_reader(&disk)).len()));
        let (store, _) = simulated_open(&disk, &options()).unwrap();
        assert!([Seq(0), Seq(5)].contains(&store.head().seq));
    }
}

//! Faults of the real kernel: a full file system, a read-only one, a flush that fails. They
//! need root and mounts; where that is not possible, each says that it was skipped.

use std::path::Path;
use std::process::Command;

use handfast::journal::verify::{VerifyOptions, verify};
use handfast::journal::{
    AppendError, Concern, FileReader, FileStore, OpenError, ReadJournal, Store, concerns,
};
use handfast::record::ids::{JournalId, Seq};

use crate::material::{entry, open};

/// A file system mounted for one test.
struct Mounted {
    dir: tempfile::TempDir,
}

impl Mounted {
    /// `None`, saying so, where this machine does not let us mount.
    fn new(what: &str, args: &[&str]) -> Option<Mounted> {
        let dir = tempfile::tempdir().unwrap();
        let mounted = run("mount", &[args, &[path(dir.path())]].concat());
        if mounted {
            return Some(Mounted { dir });
        }
        eprintln!("SKIPPED: {what}: this machine does not let the test mount a file system");
        None
    }

    fn path(&self) -> &Path {
        self.dir.path()
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        run("umount", &["-l", path(self.dir.path())]);
    }
}

fn path(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn run(program: &str, args: &[&str]) -> bool {
    let output = Command::new(program).args(args).output();
    output.is_ok_and(|output| output.status.success())
}

#[test]
fn a_full_file_system_records_nothing_loses_nothing_and_goes_on_when_there_is_room() {
    let tmpfs = ["-t", "tmpfs", "-o", "size=256k", "tmpfs"];
    let Some(disk) = Mounted::new("full disk", &tmpfs) else {
        return;
    };
    let dir = disk.path().join("journal");
    FileStore::create(&dir, JournalId([1; 16])).unwrap();
    let told = concerns(&dir);
    assert!(
        matches!(told[..], [Concern::LittleRoom { bytes }] if bytes < 256 << 10),
        "{told:?}"
    );
    std::fs::write(disk.path().join("ballast"), vec![0; 64 * 1024]).unwrap();
    let store = open(&dir).unwrap();
    let mut recorded = 0;
    let refused = loop {
        match store.append(vec![entry(recorded + 1, 700)], None) {
            Ok(_) => recorded += 1,
            Err(error) => break error,
        }
        assert!(recorded < 1_000, "the disk never filled");
    };
    assert_eq!(refused, AppendError::DiskFull);
    assert_eq!(store.head().seq, Seq(recorded));
    std::fs::remove_file(disk.path().join("ballast")).unwrap();
    store.append(vec![entry(recorded + 1, 700)], None).unwrap();
    drop(store);
    let found = verify(&dir, VerifyOptions::default()).unwrap();
    assert_eq!((found.entries, found.findings), (recorded + 1, vec![]));
}

#[test]
fn a_read_only_file_system_can_be_read_and_says_why_it_is_not_written() {
    let Some(disk) = Mounted::new("read-only", &["-t", "tmpfs", "tmpfs"]) else {
        return;
    };
    let dir = disk.path().join("journal");
    FileStore::create(&dir, JournalId([1; 16])).unwrap();
    open(&dir)
        .unwrap()
        .append(vec![entry(1, 10)], None)
        .unwrap();
    // A process another test is just starting may hold our files open for a moment.
    let read_only = || run("mount", &["-o", "remount,ro", path(disk.path())]);
    let made = (0..100).any(|_| {
        let made = read_only();
        if !made {
            std::thread::sleep(std::time::Duration::from_millis(20));
        }
        made
    });
    assert!(made, "the file system could not be made read-only");
    let Err(refused) = open(&dir) else {
        panic!("opened for writing")
    };
    assert!(matches!(refused, OpenError::ReadOnly { .. }), "{refused}");
    assert!(
        refused.to_string().contains("can still be read"),
        "{refused}"
    );
    assert_eq!(FileReader::open(&dir).unwrap().head().seq, Seq(1));
    assert!(verify(&dir, VerifyOptions::default()).unwrap().is_sound());
}

/// A journal on ext4 on a loop device whose backing tmpfs is then filled: writes succeed into
/// the page cache and the flush fails with EIO; flushing again would say that all is well.
struct FailingFlush {
    // Dropped in this order: what is mounted above first.
    disk: Mounted,
    below: Mounted,
}

impl FailingFlush {
    fn new(features: &str) -> Option<FailingFlush> {
        let tmpfs = ["-t", "tmpfs", "-o", "size=24m", "tmpfs"];
        let below = Mounted::new("failing flush", &tmpfs)?;
        let image = below.path().join("image");
        let made = run("truncate", &["-s", "64M", path(&image)])
            && run("mkfs.ext4", &["-q", "-F", "-O", features, path(&image)]);
        if !made {
            eprintln!("SKIPPED: failing flush: no mkfs.ext4 here");
            return None;
        }
        let disk = Mounted::new("failing flush", &["-o", "loop", path(&image)])?;
        Some(FailingFlush { disk, below })
    }

    /// Appends until a flush fails; returns how many entries were acknowledged.
    fn fail(&self, dir: &Path) -> u64 {
        FileStore::create(dir, JournalId([1; 16])).unwrap();
        let store = open(dir).unwrap();
        let mut recorded = 0;
        for _ in 0..4 {
            store
                .append(vec![entry(recorded + 1, 4_000)], None)
                .unwrap();
            recorded += 1;
        }
        // Fails when the room is gone, which is the purpose.
        let _ = std::fs::write(self.below.path().join("ballast"), vec![1; 32 << 20]);
        let failed = loop {
            let batch = (recorded + 1..recorded + 17)
                .map(|n| entry(n, 60_000))
                .collect();
            match store.append(batch, None) {
                Ok(answers) => recorded += answers.len() as u64,
                Err(error) => break error,
            }
            assert!(recorded < 2_000, "the flush never failed");
        };
        let not_known = matches!(&failed, AppendError::NotKnown { ids, .. } if ids.len() == 16);
        assert!(not_known, "{failed}");
        let closed = store.append(vec![entry(9_999, 10)], None).unwrap_err();
        assert!(matches!(closed, AppendError::Closed { .. }), "{closed}");
        assert_eq!(
            store.head().seq,
            Seq(recorded),
            "only what was acknowledged counts"
        );
        let readable = store.read_from(Seq(1)).filter(Result::is_ok).count() as u64;
        assert_eq!(readable, recorded, "reading goes on");
        drop(store);
        std::fs::remove_file(self.below.path().join("ballast")).unwrap();
        // From here on: what the disk really holds, not what the page cache says.
        let _ = std::fs::write("/proc/sys/vm/drop_caches", "3");
        recorded
    }
}

#[test]
fn a_flush_that_fails_is_not_known_and_nothing_acknowledged_is_lost() {
    let Some(disk) = FailingFlush::new("has_journal") else {
        return;
    };
    let dir = disk.disk.path().join("journal");
    let recorded = disk.fail(&dir);
    let reader = FileReader::open(&dir).unwrap();
    for n in 1..=recorded {
        reader.read(Seq(n)).unwrap();
    }
    match open(&dir) {
        Ok(store) => drop(store.append(vec![entry(20_000, 10)], None).unwrap()),
        // The kernel has taken the file system to read-only; a fresh mount is needed.
        Err(OpenError::ReadOnly { .. }) => {}
        Err(other) => panic!("{other}"),
    }
}

/// Without its own journal, ext4 (Linux 6.18) was seen to confirm a flush and lose the data.
/// Nothing can prevent that; it must not go unnoticed.
#[test]
fn what_a_lying_file_system_loses_is_discovered_at_the_next_opening() {
    let Some(disk) = FailingFlush::new("^has_journal") else {
        return;
    };
    let dir = disk.disk.path().join("journal");
    let recorded = disk.fail(&dir);
    let reader = FileReader::open(&dir).unwrap();
    let lost = (1..=recorded)
        .filter(|n| reader.read(Seq(*n)).is_err())
        .count();
    let refused = matches!(open(&dir), Err(OpenError::Damaged { .. }));
    assert_eq!(
        refused,
        lost > 0,
        "{lost} of {recorded} acknowledged entries lost"
    );
}

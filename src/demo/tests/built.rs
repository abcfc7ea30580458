//! The story written into a real journal by the station, with every rule of the station.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

use tempfile::TempDir;

use crate::demo::build::build;
use crate::demo::calendar::{sun, thu};
use crate::journal::Layout;
use crate::journal::verify::{VerifyOptions, verify};
use crate::station::Station;
use crate::station::judge::RightsJudge;

fn built(dir: &Path) -> Station {
    build(dir).unwrap_or_else(|error| panic!("{error}"))
}

/// One built journal for every test that only looks at it; left to the system's temporary
/// folder, since statics are never dropped.
static DEMO: LazyLock<TempDir> = LazyLock::new(|| {
    let dir = TempDir::new().unwrap();
    drop(built(dir.path()));
    dir
});

/// Every file of a folder, by name.
fn files_of(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = std::fs::read_dir(folder).unwrap();
    files
        .map(|file| {
            let file = file.unwrap();
            let name = file.file_name().to_string_lossy().into_owned();
            (name, std::fs::read(file.path()).unwrap())
        })
        .collect()
}

fn segments(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    files_of(&Layout::new(dir).segments_dir())
}

fn checkpoints(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    files_of(&Layout::new(dir).checkpoints_dir())
}

#[test]
fn the_station_takes_every_scene_and_the_journal_verifies() {
    let station = Station::open(DEMO.path()).unwrap();
    let head = station.head();
    assert!(head.seq.0 > 750, "{}", head.seq);
    assert!(station.unreadable().is_empty());
    let mut judge = RightsJudge::new();
    let options = VerifyOptions {
        judge: Some(&mut judge),
        ..VerifyOptions::default()
    };
    let found = verify(DEMO.path(), options).unwrap();
    assert!(found.is_sound(), "{:?}", found.findings);
    assert_eq!((found.head, found.entries), (head, head.seq.0));
}

/// Byte for byte the same, so that what a page shows of it stays true; and not only because
/// nothing was written.
#[test]
fn the_segments_come_out_the_same_every_time() {
    let again = TempDir::new().unwrap();
    drop(built(again.path()));
    assert_eq!(segments(DEMO.path()), segments(again.path()));
    assert_eq!(checkpoints(DEMO.path()), checkpoints(again.path()));
    let key = |dir: &Path| std::fs::read(Layout::new(dir).ward_key()).unwrap();
    assert_eq!(key(DEMO.path()), key(again.path()));
    assert!(
        segments(again.path())
            .values()
            .any(|bytes| bytes.len() > 100_000)
    );
}

/// One on the first act of each of the four days and one with each of the five handovers, as the
/// live program makes them; each is signed and the newest covers all before it.
#[test]
fn the_demo_ward_has_its_key_and_a_trail_of_checkpoints() {
    use crate::record::kind::proof::CheckpointCause::{Day, Handover};
    let station = Station::open(DEMO.path()).unwrap();
    assert!(station.ward().ward_key().is_some());
    let seqs = (1..=station.head().seq.0).map(crate::record::ids::Seq);
    let mut causes = Vec::new();
    for read in station.entries(seqs).into_iter().flatten() {
        if let crate::ward::Read::Entry(entry) = read
            && let crate::record::kind::Body::Checkpoint(made) = entry.body
        {
            causes.push(made.cause);
        }
    }
    let count = |cause| causes.iter().filter(|one| **one == cause).count();
    assert_eq!(
        (count(Day), count(Handover), causes.len()),
        (4, 5, 9),
        "{causes:?}"
    );
    assert_eq!(checkpoints(DEMO.path()).len(), 9);
}

#[test]
fn a_folder_that_holds_a_journal_is_left_alone() {
    let before = Station::open(DEMO.path()).unwrap().head();
    let key = Layout::new(DEMO.path()).root().join("keys");
    let keys = || {
        std::fs::read_dir(&key)
            .unwrap()
            .map(|file| std::fs::read(file.unwrap().path()).unwrap())
            .collect::<Vec<_>>()
    };
    let kept = keys();
    let refused = build(DEMO.path()).map(|_| ()).unwrap_err().to_string();
    assert!(
        refused.contains("journal") && !refused.contains("wren"),
        "{refused}"
    );
    assert_eq!(Station::open(DEMO.path()).unwrap().head(), before);
    assert_eq!(keys(), kept);
}

/// Each accepted sheet can be drawn again to the byte, and the PINs on the page open the keys.
#[test]
fn sheets_are_drawn_again_and_pins_unlock() {
    let mut station = Station::open(DEMO.path()).unwrap();
    let handovers: Vec<_> = station.ward().handovers().keys().copied().collect();
    assert_eq!(handovers.len(), 5);
    for handover in handovers {
        let state = station.handover_sheet(handover).unwrap().unwrap();
        assert!(state.is_same(), "{handover}");
        let life = &station.ward().handovers()[&handover];
        assert!(life.accepted().is_some() && life.patients_held_back().is_empty());
    }
    for member in std::iter::once(&crate::demo::cast::KEEPER).chain(&crate::demo::cast::STAFF) {
        let handle = crate::record::person::Handle(member.handle.to_owned());
        assert_eq!(
            station.unlock(&handle, member.pin).unwrap().role,
            member.role
        );
    }
    let newest = station.ward().newest_recorded_at();
    assert!((thu(20, 0)..sun(20, 0)).contains(&newest));
}

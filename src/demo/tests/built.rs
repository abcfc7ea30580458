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

fn segments(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = std::fs::read_dir(Layout::new(dir).segments_dir()).unwrap();
    files
        .map(|file| {
            let file = file.unwrap();
            let name = file.file_name().to_string_lossy().into_owned();
            (name, std::fs::read(file.path()).unwrap())
        })
        .collect()
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
    assert!(
        segments(again.path())
            .values()
            .any(|bytes| bytes.len() > 100_000)
    );
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

//! Keys and staff when something fails half way, or two do the same at once.

use std::path::{Path, PathBuf};

use super::*;
use crate::journal::{FileStore, WriteOptions};
use crate::record::kind::ward::StaffMove;
use crate::station::keys::{Cost, NewKey};

fn nell() -> Handle {
    Handle("nell".into())
}

fn keeper(desk: &mut Desk) -> Actor {
    desk.station
        .unlock(&Handle("kay".into()), "000000")
        .unwrap()
}

fn key_file(desk: &Desk, name: &str) -> PathBuf {
    desk.station.layout().keys_dir().join(name)
}

fn request(handle: &str, secret: &str) -> StaffRequest {
    StaffRequest {
        handle: Handle(handle.into()),
        name: handle.to_uppercase(),
        role: Role::Nurse,
        registration: None,
        secret: secret.to_owned().into(),
    }
}

fn in_use(dir: &Path) -> FileStore {
    let options = WriteOptions::new("somebody else", Timestamp(0));
    FileStore::open_writer(dir, &options).unwrap().0
}

fn unlocks(desk: &mut Desk, secret: &str) -> bool {
    desk.station.unlock(&nell(), secret).is_ok()
}

#[test]
fn a_busy_journal_leaves_the_old_key_as_it_was() {
    let mut desk = desk();
    let kay = keeper(&mut desk);
    let before = std::fs::read(key_file(&desk, "nell.key")).unwrap();
    let busy = in_use(desk._dir.path());
    let answer = desk
        .station
        .replace_key(&kay, &nell(), "another-1", "forgot");
    assert!(answer.is_err_and(|error| error.to_string().contains("in use by somebody else")));
    drop(busy);
    assert_eq!(std::fs::read(key_file(&desk, "nell.key")).unwrap(), before);
    assert!(!key_file(&desk, "nell.key.new").exists());
    assert!(unlocks(&mut desk, "nell-secret"));
}

#[test]
fn an_append_that_fails_leaves_the_old_key_as_it_was() {
    let mut desk = desk();
    let kay = keeper(&mut desk);
    let head = desk.station.head();
    // Longer than any entry may be: the key lies beside already when that is found.
    let reason = "x".repeat(80_000);
    let answer = desk
        .station
        .replace_key(&kay, &nell(), "another-1", &reason);
    assert!(answer.is_err());
    assert_eq!(desk.station.head(), head);
    assert!(!key_file(&desk, "nell.key.new").exists());
    assert!(unlocks(&mut desk, "nell-secret"));
    let nurse = desk.nurse.clone();
    let note = Draft::new(Kind::Note)
        .with("text", "still here")
        .with("patient", "T01");
    desk.station.submit(&nurse, &note).unwrap();

    let mut long = request("newcomer", "first-pin");
    long.name = "x".repeat(80_000);
    assert!(desk.station.enrol(&kay, &long).is_err());
    assert!(!key_file(&desk, "newcomer.key").exists());
    assert!(!key_file(&desk, "newcomer.key.new").exists());
    desk.station
        .enrol(&kay, &request("newcomer", "first-pin"))
        .unwrap();
    let newcomer = Handle("newcomer".into());
    desk.station.unlock(&newcomer, "first-pin").unwrap();
}

#[test]
fn a_new_key_that_is_recorded_is_the_only_one() {
    let mut desk = desk();
    let kay = keeper(&mut desk);
    for _ in 0..3 {
        assert!(!unlocks(&mut desk, "wrong one"));
    }
    desk.station
        .replace_key(&kay, &nell(), "another-1", "forgot")
        .unwrap();
    assert!(!key_file(&desk, "nell.key.new").exists());
    assert!(unlocks(&mut desk, "another-1"), "and the tries begin anew");
    assert!(!unlocks(&mut desk, "nell-secret"));
}

/// Stops where a crash would: the new file lies beside, and its entry is there or not.
fn crash(desk: &mut Desk, recorded: bool) {
    let kay = keeper(desk);
    let key = NewKey::make(
        desk.station.layout(),
        &nell(),
        "another-1",
        Cost::of_journal(true),
    )
    .unwrap();
    let public = key.public();
    let known = desk.station.ward().staff(&nell()).unwrap().key;
    let layout = desk.station.layout().clone();
    let _waiting = key.put_beside(&layout, known).unwrap();
    if recorded {
        let changed = crate::record::kind::ward::StaffChanged {
            handle: nell(),
            change: StaffMove::KeyReplaced,
            role: None,
            reason: "forgot".into(),
            key: Some(public),
            reading: None,
        };
        desk.station.append_body(&kay, changed.into()).unwrap();
    }
    assert!(key_file(desk, "nell.key.new").exists());
}

#[test]
fn after_a_crash_the_key_that_the_journal_knows_is_the_one_in_use() {
    let mut desk = desk();
    crash(&mut desk, false);
    assert!(unlocks(&mut desk, "nell-secret"));
    assert!(!unlocks(&mut desk, "another-1"));
    crash(&mut desk, true);
    assert!(unlocks(&mut desk, "another-1"));
    assert!(!key_file(&desk, "nell.key.new").exists(), "it moved");
    assert!(!unlocks(&mut desk, "nell-secret"));
}

/// The only copy of the key that the journal knows lies beside, and cannot be moved to its place.
#[test]
fn a_known_key_that_cannot_be_moved_is_not_written_over() {
    let mut desk = desk();
    crash(&mut desk, true);
    std::fs::remove_file(key_file(&desk, "nell.tries")).unwrap();
    std::fs::create_dir(key_file(&desk, "nell.tries")).unwrap();
    let only_copy = std::fs::read(key_file(&desk, "nell.key.new")).unwrap();
    let kay = keeper(&mut desk);
    let head = desk.station.head();
    // An append that would fail takes the new key away again; one that succeeds leaves it.
    for reason in ["x".repeat(80_000), "forgot".to_owned()] {
        let answer = desk
            .station
            .replace_key(&kay, &nell(), "a-third-1", &reason);
        let told = answer.map(|_| ()).unwrap_err().to_string();
        assert!(
            told.contains("nell.key.new") && told.contains("nell.tries"),
            "{told}"
        );
    }
    let left = std::fs::read(key_file(&desk, "nell.key.new")).unwrap();
    assert_eq!(left, only_copy);
    assert_eq!(desk.station.head(), head);

    std::fs::remove_dir(key_file(&desk, "nell.tries")).unwrap();
    assert!(unlocks(&mut desk, "another-1"));
    desk.station
        .replace_key(&kay, &nell(), "a-third-1", "forgot")
        .unwrap();
    assert!(unlocks(&mut desk, "a-third-1"));
}

#[test]
fn a_second_new_key_does_not_write_over_the_first_one_left_beside() {
    let mut desk = desk();
    crash(&mut desk, true);
    let kay = keeper(&mut desk);
    let reason = "x".repeat(80_000);
    desk.station
        .replace_key(&kay, &nell(), "a-third-1", &reason)
        .unwrap_err();
    assert!(unlocks(&mut desk, "another-1"));
}

#[test]
fn a_key_file_the_journal_does_not_know_is_not_unlocked() {
    let mut desk = desk();
    let kay = keeper(&mut desk);
    let old = std::fs::read(key_file(&desk, "nell.key")).unwrap();
    desk.station
        .replace_key(&kay, &nell(), "another-1", "stolen")
        .unwrap();
    std::fs::write(key_file(&desk, "nell.key"), old).unwrap();
    let told = desk.station.unlock(&nell(), "nell-secret").err().unwrap();
    assert!(told.to_string().contains("another key"), "{told}");
    // A key file without an enrolment lets nobody in, and does not stand in the way of one.
    std::fs::copy(key_file(&desk, "ned.key"), key_file(&desk, "newcomer.key")).unwrap();
    let newcomer = Handle("newcomer".into());
    assert!(desk.station.unlock(&newcomer, "ned-secret").is_err());
    desk.station
        .enrol(&kay, &request("newcomer", "first-pin"))
        .unwrap();
    desk.station.unlock(&newcomer, "first-pin").unwrap();
}

#[test]
fn of_two_who_enrol_one_handle_at_once_the_second_is_refused() {
    let desk = desk();
    let (dir, clock) = (desk._dir.path(), &desk.clock);
    for round in 0..4 {
        let handle = format!("newcomer-{round}");
        let start = std::sync::Barrier::new(2);
        let answers: Vec<_> = std::thread::scope(|scope| {
            let enrolling = ["first-pin", "other-pin"].map(|secret| {
                let (handle, start) = (handle.clone(), &start);
                scope.spawn(move || {
                    let mut station = Station::open_with(dir, clock.clone()).unwrap();
                    let kay = station.unlock(&Handle("kay".into()), "000000").unwrap();
                    start.wait();
                    let answer = station.enrol(&kay, &request(&handle, secret));
                    (secret, answer.map(|_| ()))
                })
            });
            enrolling.map(|one| one.join().unwrap()).into()
        });
        let taken: Vec<_> = answers
            .iter()
            .filter(|(_, answer)| answer.is_ok())
            .collect();
        assert_eq!(taken.len(), 1, "{answers:?}");
        let refused = answers.iter().find_map(|(_, answer)| answer.as_ref().err());
        let refused = refused.unwrap().to_string();
        assert!(refused.contains("already belongs to somebody"), "{refused}");
        let mut station = Station::open_with(dir, clock.clone()).unwrap();
        station.unlock(&Handle(handle), taken[0].0).unwrap();
    }
}

#[test]
fn what_a_keeper_may_is_decided_on_the_newest_state() {
    let mut desk = desk();
    let kay = keeper(&mut desk);
    let mut second = request("kim", "kim-secret");
    second.role = Role::Keeper;
    desk.station.enrol(&kay, &second).unwrap();
    let mut other = Station::open_with(desk._dir.path(), desk.clock.clone()).unwrap();
    let kim = other.unlock(&Handle("kim".into()), "kim-secret").unwrap();
    desk.station
        .change_staff(
            &kay,
            &Handle("kim".into()),
            StaffMove::Suspended,
            None,
            "left",
        )
        .unwrap();
    let answer = other.change_staff(&kim, &nell(), StaffMove::Suspended, None, "no reason");
    assert!(answer.is_err_and(|error| error.to_string().contains("suspended")));
}

#[test]
fn many_unlocks_at_once_with_the_right_pin_all_succeed() {
    let desk = desk();
    let (dir, clock) = (desk._dir.path(), &desk.clock);
    let start = std::sync::Barrier::new(8);
    std::thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| {
                let mut station = Station::open_with(dir, clock.clone()).unwrap();
                start.wait();
                for _ in 0..3 {
                    station.unlock(&nell(), "nell-secret").unwrap();
                }
            });
        }
    });
    // Wrong ones at the same time are all counted.
    let start = std::sync::Barrier::new(6);
    let told: Vec<String> = std::thread::scope(|scope| {
        let trying: Vec<_> = (0..6)
            .map(|_| {
                scope.spawn(|| {
                    let mut station = Station::open_with(dir, clock.clone()).unwrap();
                    start.wait();
                    let answer = station.unlock(&nell(), "wrong one");
                    answer.err().unwrap().to_string()
                })
            })
            .collect();
        trying.into_iter().map(|one| one.join().unwrap()).collect()
    });
    let wrong = told
        .iter()
        .filter(|told| told.contains("not the right PIN"));
    assert_eq!(wrong.count(), 3, "{told:?}");
}

#[test]
fn a_linked_count_of_tries_is_not_followed() {
    let mut desk = desk();
    let other = desk._dir.path().join("elsewhere");
    std::fs::write(&other, r#"{"failed":99,"last":0}"#).unwrap();
    let tries = key_file(&desk, "nell.tries");
    std::fs::remove_file(&tries).unwrap();
    std::os::unix::fs::symlink(&other, &tries).unwrap();
    assert!(unlocks(&mut desk, "nell-secret"));
    assert!(!tries.is_symlink());
    let kept = std::fs::read_to_string(&other).unwrap();
    assert_eq!(kept, r#"{"failed":99,"last":0}"#);
}

#[test]
fn people_change_their_own_pin_and_keep_their_key() {
    let mut desk = desk();
    let head = desk.station.head();
    let key = desk.nurse.key();
    let mut change = |old: &str, new: &str| desk.station.change_secret(&nell(), old, new);
    let told = change("wrong one", "better-pin").err().unwrap();
    assert!(told.to_string().contains("not the right PIN"), "{told}");
    let told = change("nell-secret", "short").err().unwrap();
    assert!(told.to_string().contains("at least 6"), "{told}");
    let told = change("nell-secret", "nell-secret").err().unwrap();
    assert!(told.to_string().contains("have already"), "{told}");
    change("nell-secret", "better-pin").unwrap();
    assert_eq!(desk.station.head(), head, "nothing is recorded");
    assert!(!unlocks(&mut desk, "nell-secret"));
    let actor = desk.station.unlock(&nell(), "better-pin").unwrap();
    assert_eq!(actor.key(), key);
}

#[test]
fn a_new_journal_is_not_made_over_what_is_left_of_an_old_one() {
    let desk = desk();
    let dir = desk._dir.path();
    std::fs::remove_dir_all(dir.join("segments")).unwrap();
    let before = listing(dir);
    let request = InitRequest {
        ward: "Other Ward".into(),
        zone: WardZone::LONDON,
        teaching: true,
        handle: Handle("kay".into()),
        name: "Kay".into(),
        secret: "another-1".to_owned().into(),
    };
    let told = Station::init(dir, &request, desk.clock.clone())
        .err()
        .unwrap();
    let told = told.to_string();
    for word in ["keys", "flushed", "nothing was changed", "backup"] {
        assert!(told.contains(word), "{told}");
    }
    assert_eq!(listing(dir), before);
    // Any one of them is enough.
    for name in ["keys/kay.key", "flushed", "index/x", "damage-accepted"] {
        let dir = TempDir::new().unwrap();
        let path = dir.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, "kept").unwrap();
        assert!(Station::init(dir.path(), &request, desk.clock.clone()).is_err());
        assert_eq!(listing(dir.path()).len(), 1, "{name}");
    }
    let dir = TempDir::new().unwrap();
    std::fs::create_dir(dir.path().join("keys")).unwrap();
    std::fs::write(dir.path().join("readme.txt"), "ours").unwrap();
    Station::init(dir.path(), &request, desk.clock.clone()).unwrap();
}

/// Every file with its bytes.
fn listing(dir: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(listing(&path));
        } else {
            found.push((path.clone(), std::fs::read(&path).unwrap()));
        }
    }
    found.sort();
    found
}

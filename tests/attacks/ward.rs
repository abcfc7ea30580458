//! The ward that is attacked: the demo ward, with a key of its own.

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use handfast::demo::build::build;
use handfast::demo::cast::{KEEPER, Member};
use handfast::journal::verify::{Finding, Level, Verification, VerifyOptions, verify};
use handfast::record::kind::ward::StaffMove;
use handfast::record::person::Handle;
use handfast::record::role::Role;
use handfast::station::judge::RightsJudge;
use handfast::station::known_checkpoints::{Compared, KnownCheckpoint, compare};
use handfast::station::{Actor, Made, Station};
use tempfile::TempDir;

/// A folder that may be attacked.
pub struct Ward {
    pub dir: TempDir,
}

fn pristine() -> &'static Path {
    static MADE: LazyLock<TempDir> = LazyLock::new(|| {
        let dir = tempfile::tempdir().unwrap();
        let mut station = build(dir.path()).unwrap();
        if station.ward().ward_key().is_none() {
            let keeper = unlock(&mut station, &KEEPER);
            station.make_ward_key(&keeper, None, None).unwrap();
        }
        dir
    });
    MADE.path()
}

pub fn unlock(station: &mut Station, member: &Member) -> Actor {
    let handle = Handle(member.handle.to_owned());
    station.unlock(&handle, member.pin).unwrap()
}

pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

impl Ward {
    pub fn new() -> Ward {
        let dir = tempfile::tempdir().unwrap();
        copy(pristine(), dir.path());
        Ward { dir }
    }

    pub fn path(&self) -> &Path {
        self.dir.path()
    }

    /// Everything in the folder as it is now, to be put back later.
    pub fn image(&self) -> TempDir {
        let image = tempfile::tempdir().unwrap();
        copy(self.path(), image.path());
        image
    }

    pub fn put_back(&self, image: &TempDir) {
        for entry in std::fs::read_dir(self.path()).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                std::fs::remove_dir_all(path).unwrap();
            } else {
                std::fs::remove_file(path).unwrap();
            }
        }
        copy(image.path(), self.path());
    }

    pub fn station(&self) -> (Station, Actor) {
        let mut station = Station::open(self.path()).unwrap();
        let keeper = unlock(&mut station, &KEEPER);
        (station, keeper)
    }

    /// Two acts like any other.
    pub fn suspend_and_reinstate(&self) {
        let (mut station, keeper) = self.station();
        let nurse = |station: &Station| {
            let mut staff = station.ward().roster();
            let nurse = staff.find(|staff| staff.role == Role::Nurse).unwrap();
            nurse.handle.clone()
        };
        let nurse = nurse(&station);
        for change in [StaffMove::Suspended, StaffMove::Reinstated] {
            let why = "an act like any other";
            station
                .change_staff(&keeper, &nurse, change, None, why)
                .unwrap();
        }
    }

    /// Makes a checkpoint and keeps a copy where the attacker cannot reach it.
    pub fn checkpoint(&self, elsewhere: &Path, name: &str) -> (Made, PathBuf) {
        let (mut station, keeper) = self.station();
        let (_, made) = station.checkpoint(&keeper).unwrap();
        let path = elsewhere.join(name);
        std::fs::write(&path, made.note.to_text()).unwrap();
        (made, path)
    }

    /// What `verify --against` says.
    pub fn verify(&self, against: &[&Path]) -> (Verification, Vec<Compared>) {
        let mut known = KnownCheckpoint::in_folder(self.path());
        let named = against
            .iter()
            .map(|path| KnownCheckpoint::read(path).unwrap());
        known.extend(named);
        let mut judge = RightsJudge::new();
        let options = VerifyOptions {
            judge: Some(&mut judge),
            tree_sizes: known.iter().map(|known| known.text.size).collect(),
            ..VerifyOptions::default()
        };
        let mut found = verify(self.path(), options).unwrap();
        let compared = compare(&mut found, judge.ward_keys(), &known);
        (found, compared)
    }
}

pub fn faults(found: &Verification) -> Vec<&Finding> {
    let findings = found.findings.iter();
    findings.filter(|one| one.level == Level::Fault).collect()
}

//! A sealed ward at work. Each person has a station of their own, as each process has.

mod access;
mod attacks;
mod destroyed;
mod two_people;

use std::path::Path;

use super::*;
use crate::journal::verify::{VerifyOptions, verify};
use crate::journal::{
    FileReader, FileStore, NewEntry, ReadJournal, SealFault, Signer, Store, WriteOptions,
};
use crate::record::codec;
use crate::record::ids::Pseudonym;
use crate::record::kind::ward::StaffMove;
use crate::station::judge::RightsJudge;
use crate::station::sealing::{DestructionRequest, SealingError, Share};

pub(in crate::station) struct SealedWard {
    pub dir: TempDir,
    pub clock: Arc<FixedClock>,
    pub shares: [Share; 3],
}

const PEOPLE: [(&str, Role); 5] = [
    ("nell", Role::Nurse),
    ("ned", Role::Nurse),
    ("ana", Role::Sister),
    ("gov", Role::Governance),
    ("kim", Role::Keeper),
];

impl SealedWard {
    /// A ward whose records are sealed, staff enrolled in one sitting, Ada admitted by nell.
    pub fn new() -> SealedWard {
        let ward = SealedWard::founded();
        let (mut keeper, kay) = ward.at("kay");
        for (handle, role) in PEOPLE {
            keeper.enrol(&kay, &ward.request(handle, role)).unwrap();
        }
        let (mut station, nell) = ward.at("nell");
        let ada = admission("Pell", "Ada", "999 000 0018", "T01");
        station.submit(&nell, &ada).unwrap();
        ward
    }

    pub fn founded() -> SealedWard {
        let dir = TempDir::new().unwrap();
        let clock = Arc::new(FixedClock::new(Timestamp(1_792_000_000_000_000)));
        let request = InitRequest {
            ward: "Test Ward".into(),
            zone: WardZone::LONDON,
            teaching: true,
            handle: Handle("kay".into()),
            name: "Kay".into(),
            secret: "kay-secret".to_owned().into(),
        };
        let (mut station, kay) = Station::init(dir.path(), &request, clock.clone()).unwrap();
        let (_, shares) = station
            .seal_records(&kay, Some("one each"), |_| Ok(()))
            .unwrap();
        SealedWard { dir, clock, shares }
    }

    pub fn request(&self, handle: &str, role: Role) -> StaffRequest {
        StaffRequest {
            handle: Handle(handle.into()),
            name: handle.to_uppercase(),
            role,
            registration: None,
            secret: format!("{handle}-secret").into(),
        }
    }

    pub fn locked(&self) -> Station {
        Station::open_with(self.dir.path(), self.clock.clone()).unwrap()
    }

    pub fn unlock(&self, handle: &str) -> Result<(Station, Actor), StationError> {
        let mut station = self.locked();
        let actor = station.unlock(&Handle(handle.into()), &format!("{handle}-secret"))?;
        Ok((station, actor))
    }

    pub fn at(&self, handle: &str) -> (Station, Actor) {
        self.unlock(handle).unwrap()
    }

    pub fn later(&self, span: crate::record::time::Span) {
        self.clock.set(self.clock.now().plus(span));
    }

    pub fn ring(&self) -> std::path::PathBuf {
        self.dir.path().join("sealing/ring.json")
    }

    pub fn note(&self, by: &str, text: &str) -> Result<Receipt, StationError> {
        let (mut station, actor) = self.unlock(by)?;
        let note = Draft::new(Kind::Note)
            .with("patient", "T01")
            .with("text", text);
        Ok(station.submit(&actor, &note)?)
    }

    pub fn ada(&self) -> Pseudonym {
        let (station, _) = self.at("nell");
        let pseudonym = station
            .ward()
            .patients()
            .next()
            .map(|patient| patient.pseudonym);
        pseudonym.unwrap()
    }

    pub fn verdict(&self) -> (Vec<String>, u64) {
        let mut judge = RightsJudge::new();
        let options = VerifyOptions {
            judge: Some(&mut judge),
            ..VerifyOptions::default()
        };
        let found = verify(self.dir.path(), options).unwrap();
        let faults = found.findings.iter().map(ToString::to_string).collect();
        (faults, judge.unjudged())
    }

    pub fn suspend(&self, handle: &str) {
        let (mut station, kay) = self.at("kay");
        let (handle, suspended) = (Handle(handle.into()), StaffMove::Suspended);
        station
            .change_staff(&kay, &handle, suspended, None, "left")
            .unwrap();
    }

    pub fn discharge(&self, slot: &str) {
        let (mut station, nell) = self.at("nell");
        let leaves = Draft::new(Kind::Discharge)
            .with("patient", slot)
            .with("to", "home")
            .with("summary", "well");
        station.submit(&nell, &leaves).unwrap();
    }

    /// Two people destroy a record.
    pub fn destroy(&self, patient: Pseudonym) -> Seq {
        let (mut desk, kay) = self.at("kay");
        let request = DestructionRequest {
            patient,
            reason: "end of its term".into(),
            early: true,
        };
        let approval = desk.approve_destruction(&kay, &request).unwrap().seq;
        let (mut audit, gov) = self.at("gov");
        audit.destroy_record(&gov, approval, "agreed").unwrap().seq
    }

    pub fn admit(&self, draft: &Draft) {
        let (mut station, nell) = self.at("nell");
        station.submit(&nell, draft).unwrap();
    }
}

/// Whether any file under a folder holds these words.
fn holds(dir: &Path, words: &str) -> bool {
    std::fs::read_dir(dir).unwrap().any(|entry| {
        let path = entry.unwrap().path();
        if path.is_dir() {
            return holds(&path, words);
        }
        let bytes = std::fs::read(&path).unwrap();
        bytes
            .windows(words.len())
            .any(|window| window == words.as_bytes())
    })
}

pub(in crate::station) fn names(station: &Station) -> Vec<String> {
    let current = station
        .ward()
        .patients()
        .filter(|patient| patient.is_current());
    current.map(|patient| patient.name_line()).collect()
}

#[test]
fn who_reads_reads_and_the_folder_holds_nothing_readable() {
    let ward = SealedWard::new();
    ward.note("ned", "lives with a parrot called Gertrude")
        .unwrap();
    for words in ["Pell", "Mill Lane", "chest infection", "Gertrude"] {
        assert!(
            !holds(ward.dir.path(), words),
            "{words} is readable in the folder"
        );
    }
    for reader in ["nell", "ned", "ana"] {
        let (station, _) = ward.at(reader);
        assert_eq!(station.ward().patients().count(), 1);
        assert!(station.reservations().damage.is_empty(), "{reader}");
        let log = station
            .ward()
            .log_of(Some(ward.ada()))
            .unwrap()
            .lines()
            .to_vec();
        assert!(log.len() == 2 && log.iter().all(|line| line.readable));
    }
    assert_eq!(ward.verdict(), (vec![], 2));
}

#[test]
fn governance_keepers_and_nobody_read_nothing_and_are_told_so() {
    let ward = SealedWard::new();
    let stations = [
        ward.at("gov").0,
        ward.at("kay").0,
        ward.at("kim").0,
        ward.locked(),
    ];
    for station in &stations {
        assert!(!station.reads_records());
        let patient = station.ward().patient(ward.ada()).unwrap();
        assert!(!patient.is_current());
        // Not as absent: every page says what is sealed.
        let said = station.reservations().damage.join("; ");
        assert_eq!(
            said,
            "1 entry is sealed (nobody who reads records has unlocked)"
        );
        let read = station.entry(Seq(9)).unwrap();
        let Read::Unreadable(unreadable) = read else {
            panic!("read")
        };
        assert_eq!(unreadable.sealed, Some(SealFault::Locked));
    }
    let (mut station, gov) = ward.at("gov");
    let note = Draft::new(Kind::Note).with("text", "mine");
    assert!(station.submit(&gov, &note).is_err());
}

/// One process, several people: what a nurse opened is not there for whoever comes after.
#[test]
fn locking_and_another_role_take_the_keys_away() {
    let ward = SealedWard::new();
    let (mut station, _) = ward.at("nell");
    assert_eq!(names(&station), ["PELL, Ada"]);
    station.lock_records();
    assert!(names(&station).is_empty() && !station.reads_records());
    station.unlock(&Handle("ned".into()), "ned-secret").unwrap();
    assert_eq!(names(&station), ["PELL, Ada"]);
    station.unlock(&Handle("gov".into()), "gov-secret").unwrap();
    assert!(names(&station).is_empty() && !station.reads_records());
}

#[test]
fn a_newcomer_waits_for_a_colleague_and_is_told_whom() {
    let ward = SealedWard::new();
    let (mut station, kay) = ward.at("kay");
    let (receipt, _) = station
        .enrol(&kay, &ward.request("new", Role::Assistant))
        .unwrap();
    let said = receipt.changed.join("; ");
    assert!(
        said.contains("new can read records once a colleague"),
        "{said}"
    );
    let waits = ward.unlock("new").map(|_| ()).unwrap_err();
    assert!(
        matches!(&waits, StationError::Sealing(SealingError::NotYetFor { colleagues, .. }) if colleagues == "nell, ned, ana" || colleagues == "ana, ned, nell"),
        "{waits}"
    );
    ward.at("ned");
    assert_eq!(names(&ward.at("new").0), ["PELL, Ada"]);
}

#[test]
fn a_suspension_is_effective_at_once_and_renews_the_ring() {
    let ward = SealedWard::new();
    let (mut open, ned) = ward.at("ned");
    let before = std::fs::read_to_string(ward.ring()).unwrap();
    ward.suspend("ned");
    // The process that had it open loses it at its next look.
    open.refresh().unwrap();
    assert!(!open.reads_records() && names(&open).is_empty());
    let note = Draft::new(Kind::Note)
        .with("patient", "T01")
        .with("text", "still here");
    assert!(open.submit(&ned, &note).is_err());
    assert!(ward.unlock("ned").is_err());
    let after = std::fs::read_to_string(ward.ring()).unwrap();
    assert!(before.contains("\"ned\"") && !after.contains("\"ned\""));
    let due = ward.locked().ring_state().unwrap().unwrap();
    assert!(due.due);
    ward.note("nell", "after ned left").unwrap();
    let renewed = ward.locked().ring_state().unwrap().unwrap();
    assert!(!renewed.due && renewed.number > due.number);
    // What ned had copied opens what was there then, and nothing that was written since.
    std::fs::write(ward.ring(), before).unwrap();
    let (station, _) = ward.at("nell");
    let unopened = station.ward().sealing().unopened();
    let missing = unopened.iter().any(|((_, why), met)| {
        matches!(why, SealFault::NoKey(_)) && met.first == station.head().seq
    });
    assert!(missing, "{unopened:?}");
    assert!(
        station
            .reservations()
            .damage
            .join("")
            .contains("not readable")
    );
}

#[test]
fn a_new_key_and_a_new_role_keep_the_ring_right() {
    let ward = SealedWard::new();
    let (mut station, kay) = ward.at("kay");
    let nell = Handle("nell".into());
    station
        .replace_key(&kay, &nell, "nell-secret", "forgot")
        .unwrap();
    assert!(matches!(
        ward.unlock("nell").map(|_| ()),
        Err(StationError::Sealing(SealingError::NotYetFor { .. }))
    ));
    ward.at("ana");
    assert_eq!(names(&ward.at("nell").0), ["PELL, Ada"]);
    let role = Some(Role::Governance);
    let change = StaffMove::RoleChanged;
    station
        .change_staff(&kay, &nell, change, role, "moves on")
        .unwrap();
    let (station, actor) = ward.at("nell");
    assert!(actor.role == Role::Governance && !station.reads_records());
    assert!(
        !std::fs::read_to_string(ward.ring())
            .unwrap()
            .contains("\"nell\"")
    );
}

#[test]
fn two_shares_recover_the_records_when_nobody_is_left_and_one_does_not() {
    let ward = SealedWard::new();
    let (mut station, kay) = ward.at("kay");
    for handle in ["nell", "ned", "ana"] {
        let handle = Handle(handle.into());
        station
            .replace_key(&kay, &handle, &format!("{handle}-secret"), "all lost")
            .unwrap();
    }
    assert!(ward.unlock("nell").is_err());
    let [one, two, three] = &ward.shares;
    let same = station.recover_records(&kay, (one, one), "flood");
    assert!(matches!(
        same,
        Err(StationError::Sealing(SealingError::WrongShares))
    ));
    let elsewhere = SealedWard::founded();
    let mixed = station.recover_records(&kay, (one, &elsewhere.shares[1]), "flood");
    assert!(matches!(
        mixed,
        Err(StationError::Sealing(SealingError::WrongShares))
    ));
    let receipt = station
        .recover_records(&kay, (three, two), "flood")
        .unwrap();
    assert_eq!(receipt.kind, Kind::Access);
    assert!(names(&station).is_empty(), "the keeper reads nothing by it");
    assert_eq!(names(&ward.at("nell").0), ["PELL, Ada"]);
    // Only a keeper may.
    let (mut station, ana) = ward.at("ana");
    assert!(
        station
            .recover_records(&ana, (one, two), "curious")
            .is_err()
    );
}

#[test]
fn a_lost_machine_is_replaced_from_the_backup_and_the_copy_of_the_ring() {
    let ward = SealedWard::new();
    let other = TempDir::new().unwrap();
    copy(
        ward.dir.path(),
        other.path(),
        &["sealing", "index", "index-sealed"],
    );
    let open = |dir: &Path| {
        let mut station = Station::open_with(dir, ward.clock.clone()).unwrap();
        let unlocked = station.unlock(&Handle("nell".into()), "nell-secret");
        unlocked.map(|_| names(&station))
    };
    assert!(matches!(
        open(other.path()),
        Err(StationError::Sealing(SealingError::NoRing { .. }))
    ));
    std::fs::create_dir(other.path().join("sealing")).unwrap();
    std::fs::copy(ward.ring(), other.path().join("sealing/ring.json")).unwrap();
    assert_eq!(open(other.path()).unwrap(), ["PELL, Ada"]);
}

fn copy(from: &Path, to: &Path, without: &[&str]) {
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        if without.contains(&name.as_str()) {
            continue;
        }
        let to = to.join(&name);
        if entry.path().is_dir() {
            std::fs::create_dir_all(&to).unwrap();
            copy(&entry.path(), &to, without);
        } else {
            std::fs::copy(entry.path(), to).unwrap();
        }
    }
}

#[test]
fn the_index_of_a_sealed_ward_is_used_and_holds_nothing_readable() {
    let ward = SealedWard::new();
    let (mut station, _) = ward.at("nell");
    let journal = station.reader.journal();
    let layout = station.layout().clone();
    let key = station.records.as_ref().unwrap().index_key();
    let plain = Index::new(&layout, journal);
    let index = plain.clone().sealed_with(&layout, &key);
    let reader = Arc::clone(&station.reader);
    station.drawn = Drawn::from_journal(&*reader);
    assert_eq!(station.drawn.keep(&index, &reader), None);
    assert!(layout.sealed_index_dir().is_dir());
    for words in ["Pell", "Mill Lane", "chest infection"] {
        assert!(!holds(ward.dir.path(), words), "{words}");
    }
    let (drawn, note) = Drawn::from_index(&reader, &index);
    assert!(note.is_none() && drawn.ward == station.drawn.ward);
    assert!(!drawn.is_worth_keeping() && drawn.ward.patients().count() == 1);
    // With another ring's key it is another index.
    let mut other = key;
    other[0] ^= 1;
    let (_, note) = Drawn::from_index(&reader, &plain.sealed_with(&layout, &other));
    assert_eq!(note, Some(IndexNote::OtherVersion));
}

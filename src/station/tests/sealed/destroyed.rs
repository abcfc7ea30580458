//! A record is destroyed by two people, and stays so.

use super::*;

#[test]
fn two_people_destroy_a_record_here_and_in_a_backup_and_the_chain_holds() {
    let ward = SealedWard::new();
    ward.note("ned", "lives with a parrot").unwrap();
    let (mut station, nell) = ward.at("nell");
    let bo = admission("Quill", "Bo", "999 000 0026", "T02");
    station.submit(&nell, &bo).unwrap();
    let ada = ward.ada_of("PELL");
    let backup = TempDir::new().unwrap();
    copy(
        ward.dir.path(),
        backup.path(),
        &["sealing", "index", "index-sealed"],
    );
    let request = |early| DestructionRequest {
        patient: ada,
        reason: "end of its term".into(),
        early,
    };
    let (mut desk, kay) = ward.at("kay");
    let young = desk
        .approve_destruction(&kay, &request(false))
        .map(|_| ())
        .unwrap_err();
    assert!(
        young.to_string().contains("less than eight years"),
        "{young}"
    );
    let approval = desk.approve_destruction(&kay, &request(true)).unwrap().seq;
    // Not one person, not two keepers, not a nurse.
    let (mut second, kim) = ward.at("kim");
    assert!(desk.destroy_record(&kay, approval, "alone").is_err());
    assert!(
        second
            .destroy_record(&kim, approval, "two keepers")
            .is_err()
    );
    assert!(station.destroy_record(&nell, approval, "a nurse").is_err());
    let (mut audit, gov) = ward.at("gov");
    let other = audit.destroy_record(&gov, Seq(1), "no approval");
    assert!(other.is_err());
    let receipt = audit.destroy_record(&gov, approval, "agreed").unwrap();
    assert!(receipt.changed.join("").contains("older copies"));
    // A process that had it open loses it at its next look.
    station.refresh().unwrap();
    assert_eq!(names(&station), ["QUILL, Bo"]);
    let (after, actor) = ward.at("ana");
    assert_eq!(names(&after), ["QUILL, Bo"]);
    let gone = after.ward().log_of(Some(ada)).unwrap().lines().len();
    assert_eq!(gone, 4, "its entries are there and say nothing");
    let Read::Unreadable(entry) = after.entry(Seq(9)).unwrap() else {
        panic!("read")
    };
    assert!(matches!(entry.sealed, Some(SealFault::NoKey(_))));
    assert!(
        after.reservations().damage.is_empty(),
        "destroyed on purpose is not damage"
    );
    assert!(after.ward().sealing().destroyed().contains_key(&ada));
    drop((after, actor));
    // Nothing can be added, and it cannot be destroyed twice.
    let (mut late, ned) = ward.at("ned");
    let note = Draft::new(Kind::Note)
        .with("patient", ada.to_string())
        .with("text", "x");
    assert!(late.submit(&ned, &note).is_err());
    assert!(desk.approve_destruction(&kay, &request(true)).is_err());
    // The journal's backup, with the ring as it is now: Bo is there, Ada is not.
    std::fs::create_dir(backup.path().join("sealing")).unwrap();
    std::fs::copy(ward.ring(), backup.path().join("sealing/ring.json")).unwrap();
    let mut old = Station::open_with(backup.path(), ward.clock.clone()).unwrap();
    let _ = old.unlock(&Handle("ned".into()), "ned-secret");
    assert!(!names(&old).contains(&"PELL, Ada".to_owned()));
    assert!(!holds(ward.dir.path(), "Pell"));
    let (faults, _) = ward.verdict();
    assert_eq!(faults, Vec::<String>::new());
}

impl SealedWard {
    fn ada_of(&self, family: &str) -> Pseudonym {
        let (station, _) = self.at("nell");
        let found = station
            .ward()
            .patients()
            .find(|patient| patient.name_line().contains(family));
        found.unwrap().pseudonym
    }
}

/// An old copy of the ring that is put back does not bring a destroyed record back by accident.
#[test]
fn a_ring_that_is_put_back_loses_the_destroyed_keys_again() {
    let ward = SealedWard::new();
    let before = std::fs::read(ward.ring()).unwrap();
    let ada = ward.ada();
    let (mut desk, gov) = ward.at("gov");
    let request = DestructionRequest {
        patient: ada,
        reason: "end of its term".into(),
        early: true,
    };
    let approval = desk.approve_destruction(&gov, &request).unwrap().seq;
    let (mut keeper, kay) = ward.at("kay");
    keeper.destroy_record(&kay, approval, "agreed").unwrap();
    std::fs::write(ward.ring(), before).unwrap();
    let (station, _) = ward.at("nell");
    assert!(names(&station).is_empty());
    assert!(
        !std::fs::read_to_string(ward.ring())
            .unwrap()
            .contains(&ada.to_string())
    );
}

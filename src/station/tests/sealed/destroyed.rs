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
    ward.discharge("T01");
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
    assert_eq!(gone, 5, "its entries are there and say nothing");
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
    old.unlock(&Handle("ned".into()), "ned-secret").unwrap();
    assert_eq!(names(&old), ["QUILL, Bo"]);
    let Read::Unreadable(entry) = old.entry(Seq(9)).unwrap() else {
        panic!("read from the backup")
    };
    assert!(matches!(entry.sealed, Some(SealFault::NoKey(_))));
    assert!(!holds(ward.dir.path(), "Pell"));
    let (faults, _) = ward.verdict();
    assert_eq!(faults, Vec::<String>::new());
}

impl SealedWard {
    pub fn ada_of(&self, family: &str) -> Pseudonym {
        let (station, _) = self.at("nell");
        let found = station
            .ward()
            .patients()
            .find(|patient| patient.name_line().contains(family));
        found.unwrap().pseudonym
    }
}

/// An old copy of the ring that is put back does not bring a destroyed record back by accident:
/// neither for whoever unlocks next nor in a session that is open.
#[test]
fn a_ring_that_is_put_back_loses_the_destroyed_keys_again() {
    let ward = SealedWard::new();
    let ada = ward.ada();
    ward.discharge("T01");
    let (mut open, _) = ward.at("ned");
    let before = std::fs::read(ward.ring()).unwrap();
    ward.destroy(ada);
    open.refresh().unwrap();
    let gone = |station: &Station| {
        let read = station.entry(Seq(9)).unwrap();
        matches!(read, Read::Unreadable(entry) if matches!(entry.sealed, Some(SealFault::NoKey(_))))
    };
    assert!(gone(&open));
    std::fs::write(ward.ring(), &before).unwrap();
    // Something to see: an open session looks when there is.
    let (mut station, kay) = ward.at("kay");
    std::fs::write(ward.ring(), &before).unwrap();
    station
        .enrol(&kay, &ward.request("new", Role::Assistant))
        .unwrap();
    std::fs::write(ward.ring(), &before).unwrap();
    open.refresh().unwrap();
    assert!(open.reads_records() && gone(&open));
    let (station, _) = ward.at("nell");
    assert!(gone(&station));
    let ring = std::fs::read_to_string(ward.ring()).unwrap();
    assert!(!ring.contains(&ada.to_string()));
    assert_eq!(ward.verdict().0, Vec::<String>::new());
}

/// Two people can make a mistake together: not that of making somebody vanish who is on the ward.
#[test]
fn nobody_on_the_ward_is_destroyed_by_command_or_by_entries_of_ones_own() {
    let ward = SealedWard::new();
    let ada = ward.ada();
    let request = DestructionRequest {
        patient: ada,
        reason: "a slip".into(),
        early: true,
    };
    let (mut desk, kay) = ward.at("kay");
    let refused = desk.approve_destruction(&kay, &request).map(|_| ());
    let said = refused.unwrap_err().to_string();
    assert!(said.contains("is on the ward"), "{said}");
    // Approved while away, and back before the second person agrees.
    ward.discharge("T01");
    let approval = desk.approve_destruction(&kay, &request).unwrap().seq;
    let back = admission("Pell", "Ada", "999 000 0018", "T01").with("patient", ada.to_string());
    ward.admit(&back);
    let (mut audit, gov) = ward.at("gov");
    let refused = audit.destroy_record(&gov, approval, "agreed").map(|_| ());
    let said = refused.unwrap_err().to_string();
    assert!(said.contains("is on the ward"), "{said}");
    // Past our program: the entry stands, is found, and destroys nothing.
    let body = crate::record::kind::ward::RecordDestroyed {
        approval,
        reason: "agreed".into(),
    };
    audit
        .append_about(&gov, body.into(), Some(ada), None)
        .unwrap();
    let (station, _) = ward.at("nell");
    assert!(station.ward().sealing().destroyed().is_empty());
    assert_eq!(names(&station), ["PELL, Ada"]);
    let (faults, _) = ward.verdict();
    assert!(
        faults.len() == 1 && faults[0].contains("somebody on the ward"),
        "{faults:?}"
    );
}

#[test]
fn the_ward_is_told_of_a_destroyed_record_for_four_weeks() {
    use crate::view::lists::caseload;
    use crate::view::origin::Vantage;
    let ward = SealedWard::new();
    let ada = ward.ada();
    ward.discharge("T01");
    let seq = ward.destroy(ada);
    let said = || {
        let (station, _) = ward.at("nell");
        let vantage = Vantage {
            ward: station.ward(),
            now: station.now(),
            since: None,
        };
        let keys = caseload(&vantage).keys;
        let words = format!("{:?}", caseload(&vantage).page());
        assert_eq!(words.contains("RECORD DESTROYED"), !keys.is_empty());
        keys
    };
    let keys = said();
    assert_eq!(keys.len(), 1);
    assert_eq!(
        (keys[0].seq, keys[0].patient, keys[0].by.len()),
        (seq, Some(ada), 2)
    );
    let (mut station, kay) = ward.at("kay");
    let anew = station.seal_records(&kay, Some("others"), |_| Ok(()));
    let anew = anew.unwrap().0.seq;
    assert_eq!(
        said().iter().map(|line| line.seq).collect::<Vec<_>>(),
        [seq, anew]
    );
    ward.clock.set(ward.locked().now().plus(Span::days(29)));
    assert!(said().is_empty());
}

//! What takes two people, and what one of them alone comes to.

use super::*;
use crate::record::ids::Digest;
use crate::record::kind::ward::DamageAccepted;

/// Flips a bit in the middle of the newest note's payload, in a folder nobody has open.
fn damage(ward: &SealedWard) {
    ward.note("nell", "slept well").unwrap();
    ward.note("nell", "ate well").unwrap();
    let segment = std::fs::read_dir(ward.dir.path().join("segments"))
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    let mut bytes = std::fs::read(&segment).unwrap();
    let at = bytes.len() - 700;
    bytes[at] ^= 1;
    std::fs::write(&segment, bytes).unwrap();
}

#[test]
fn a_keeper_alone_accepts_nothing_where_somebody_could_look_too() {
    let ward = SealedWard::new();
    damage(&ward);
    let (mut keeper, kay) = ward.at("kay");
    let report = keeper.damage().unwrap().unwrap();
    let alone = keeper
        .accept_damage(&kay, None, &report, "seen")
        .unwrap_err();
    let said = alone.to_string();
    assert!(
        said.contains("two people") && said.contains("gov or kim"),
        "{said}"
    );
    // Neither a nurse nor the keeper twice is the second person.
    for handle in ["nell", "kay"] {
        let (_, other) = ward.at(handle);
        assert!(
            keeper
                .accept_damage(&kay, Some(&other), &report, "seen")
                .is_err(),
            "{handle}"
        );
    }
    assert!(ward.note("nell", "x").is_err(), "nothing was accepted");
    let (_, gov) = ward.at("gov");
    keeper
        .accept_damage(&kay, Some(&gov), &report, "seen")
        .unwrap();
    ward.note("nell", "goes on").unwrap();
    // Both stand in the journal, and only what was lost is a fault.
    let (faults, _) = ward.verdict();
    assert!(
        faults.iter().all(|fault| !fault.contains("second person")),
        "{faults:?}"
    );
    assert!(!faults.is_empty());
}

/// As a keeper would do it with a program of their own.
#[test]
fn an_acceptance_that_one_person_forced_counts_for_nothing_and_is_found() {
    let ward = SealedWard::new();
    let (mut keeper, kay) = ward.at("kay");
    let accepted = |what: &str| DamageAccepted {
        findings: Digest(*blake3::hash(what.as_bytes()).as_bytes()),
        what: what.into(),
        reason: "trust me".into(),
    };
    keeper
        .append_body(&kay, accepted("entry #9 is damaged").into())
        .unwrap();
    assert!(
        !keeper
            .ward()
            .damage_accepted()
            .contains("entry #9 is damaged")
    );
    let (faults, _) = ward.verdict();
    assert!(
        faults
            .iter()
            .any(|fault| fault.contains("without a second person")),
        "{faults:?}"
    );
    // An approval of something else does not lend itself to it.
    let (_, gov) = ward.at("gov");
    let writer = keeper.open_writer(&kay).unwrap();
    let other = Digest([7; 32]);
    let act = crate::record::kind::ward::FourEyesAct::AcceptDamage;
    let approval = keeper
        .approve(Some(&gov), &writer, (act, other), "seen")
        .unwrap();
    let authorised = keeper.authorise(&kay, Kind::DamageAccepted).unwrap();
    let body = accepted("entry #9 is damaged");
    let decided =
        super::super::super::submit::Decided::about_ward(authorised, body.into()).related(approval);
    keeper.append(&kay, &writer, decided).unwrap();
    assert!(
        !keeper
            .ward()
            .damage_accepted()
            .contains("entry #9 is damaged")
    );
}

#[test]
fn a_ward_of_one_keeper_can_go_on() {
    let ward = SealedWard::founded();
    let (keeper, kay) = ward.at("kay");
    assert!(keeper.ward().could_be_second(&kay.handle).is_empty());
    assert!(keeper.check_second(&kay, None).is_ok());
}

//! What takes two people, and what one of them alone comes to.

use super::*;
use crate::record::ids::Digest;
use crate::record::kind::ward::{DamageAccepted, FourEyesAct};
use crate::record::text::Note;
use crate::record::time::Span;
use crate::station::submit::Decided;
use crate::ward::second::{PUT_BACK, digest_of};

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
    let act = FourEyesAct::AcceptDamage;
    let approval = keeper
        .approve(Some(&gov), &writer, (act, &[other]), "seen")
        .unwrap()
        .pop();
    let authorised = keeper.authorise(&kay, Kind::DamageAccepted).unwrap();
    let body = accepted("entry #9 is damaged");
    let decided = Decided::about_ward(authorised, body.into()).related(approval);
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

/// Kay accepts, by a program of their own, with an approval of gov's: as it stands, of that act and digest.
struct Forced {
    keeper: Station,
    kay: Actor,
    gov: Actor,
}

impl Forced {
    fn at(ward: &SealedWard) -> Forced {
        let (keeper, kay) = ward.at("kay");
        let (_, gov) = ward.at("gov");
        Forced { keeper, kay, gov }
    }

    fn approval(&mut self, act: FourEyesAct, what: &str) -> Seq {
        let report = digest_of(&Note(what.to_owned()));
        let writer = self.keeper.open_writer(&self.kay).unwrap();
        let gov = Some(&self.gov);
        let approved = self.keeper.approve(gov, &writer, (act, &[report]), "seen");
        approved.unwrap()[0]
    }

    /// Whether the acceptance counts.
    fn accept(&mut self, approval: Seq, what: &str, findings: &str) -> bool {
        let writer = self.keeper.open_writer(&self.kay).unwrap();
        let authorised = self
            .keeper
            .authorise(&self.kay, Kind::DamageAccepted)
            .unwrap();
        let body = DamageAccepted {
            findings: digest_of(&Note(findings.to_owned())),
            what: Note(what.to_owned()),
            reason: "trust me".into(),
        };
        let decided = Decided::about_ward(authorised, body.into()).related(Some(approval));
        self.keeper.append(&self.kay, &writer, decided).unwrap();
        let accepted = self.keeper.ward().damage_accepted();
        what.lines().all(|line| accepted.contains(line))
    }
}

fn without_second(ward: &SealedWard) -> usize {
    let (faults, _) = ward.verdict();
    let found = faults
        .iter()
        .filter(|fault| fault.contains("second person"));
    found.count()
}

/// One approval is good for one acceptance, of exactly what it names, while it holds.
#[test]
fn an_approval_lends_itself_to_nothing_else_and_no_second_time() {
    let ward = SealedWard::new();
    let mut forced = Forced::at(&ward);
    let act = FourEyesAct::AcceptDamage;
    let approval = forced.approval(act, "entry #9 is damaged");
    // Other places under the digest that was approved of.
    assert!(!forced.accept(approval, "entry #3 is damaged", "entry #9 is damaged"));
    assert_eq!(without_second(&ward), 1);
    assert!(forced.accept(approval, "entry #9 is damaged", "entry #9 is damaged"));
    assert_eq!(without_second(&ward), 1, "what was approved of counts");
    // A second time it is used up, which shows in what verify says alone.
    forced.accept(approval, "entry #9 is damaged", "entry #9 is damaged");
    assert_eq!(without_second(&ward), 2);
    // Too old.
    let old = forced.approval(act, "entry #4 is damaged");
    ward.later(Span::days(8));
    assert!(!forced.accept(old, "entry #4 is damaged", "entry #4 is damaged"));
    assert_eq!(without_second(&ward), 3);
    // Of the other act.
    let put_back = format!("{PUT_BACK}entry #2");
    let other = forced.approval(act, &put_back);
    assert!(!forced.accept(other, &put_back, &put_back));
    assert_eq!(without_second(&ward), 4);
    let restore = forced.approval(FourEyesAct::Restore, &put_back);
    assert!(forced.accept(restore, &put_back, &put_back));
    assert_eq!(without_second(&ward), 4);
}

/// Each entry of a long report rests on an approval of its own places.
#[test]
fn a_long_report_is_approved_of_part_by_part() {
    let ward = SealedWard::new();
    let mut forced = Forced::at(&ward);
    let places: Vec<String> = (1..2_000)
        .map(|n| format!("entry #{n} is damaged"))
        .collect();
    let mut report = DamageReport::of_places(places.clone());
    report.digest = digest_of(&Note("whatever the screen named".to_owned()));
    let Forced { keeper, kay, gov } = &mut forced;
    keeper
        .accept_damage(kay, Some(gov), &report, "seen")
        .unwrap();
    let accepted = keeper.ward().damage_accepted();
    assert!(places.iter().all(|place| accepted.contains(place)));
    assert_eq!(without_second(&ward), 0);
}

/// The only two who could look have gone: one left, the other lost the computer.
#[test]
fn staff_may_change_while_damage_waits_so_that_nobody_is_locked_out_for_good() {
    let ward = SealedWard::new();
    damage(&ward);
    let (mut keeper, kay) = ward.at("kay");
    let report = keeper.damage().unwrap().unwrap();
    let said = keeper
        .accept_damage(&kay, None, &report, "seen")
        .unwrap_err();
    assert!(said.to_string().contains("staff suspend"), "{said}");
    let gov = Handle("gov".into());
    let gone = |keeper: &mut Station, handle: &str| {
        let (handle, suspended) = (Handle(handle.into()), StaffMove::Suspended);
        keeper.change_staff(&kay, &handle, suspended, None, "left")
    };
    // What would be refused anyway tells the folder nothing.
    assert!(gone(&mut keeper, "zork").is_err());
    assert!(!keeper.layout().damage_accepted().exists());
    gone(&mut keeper, "kim").unwrap();
    // Nothing else is written, and the damage is named as before.
    assert!(ward.note("nell", "x").is_err());
    assert!(keeper.damage().unwrap().is_some());
    keeper
        .replace_key(&kay, &gov, "another-secret", "computer stolen")
        .unwrap();
    assert!(ward.note("nell", "x").is_err());
    let second = keeper.unlock(&gov, "another-secret").unwrap();
    let report = keeper.damage().unwrap().unwrap();
    assert!(keeper.accept_damage(&kay, None, &report, "x").is_err());
    keeper
        .accept_damage(&kay, Some(&second), &report, "seen")
        .unwrap();
    ward.note("nell", "goes on").unwrap();
    let (faults, _) = ward.verdict();
    let of_rights = |fault: &&String| fault.contains("may not") || fault.contains("second person");
    assert_eq!(faults.iter().filter(of_rights).count(), 0, "{faults:?}");
}

#[test]
fn with_nobody_left_the_keeper_alone_accepts_and_that_is_written() {
    let ward = SealedWard::new();
    damage(&ward);
    let (mut keeper, kay) = ward.at("kay");
    for handle in ["kim", "gov"] {
        let (handle, suspended) = (Handle(handle.into()), StaffMove::Suspended);
        keeper
            .change_staff(&kay, &handle, suspended, None, "left")
            .unwrap();
    }
    let report = keeper.damage().unwrap().unwrap();
    keeper.accept_damage(&kay, None, &report, "seen").unwrap();
    ward.note("nell", "goes on").unwrap();
    assert_eq!(without_second(&ward), 0);
}

//! What a loss excuses, and for how long; who may mend it.

use super::*;
use crate::record::kind::alert::{AlertMove, AlertOutcome};
use crate::station::judge::RightsJudge;
use crate::ward::staff::STAND_IN;

fn closing(alert: Seq) -> Body {
    AlertStep {
        alert,
        step: AlertMove::Closed,
        outcome: Some(AlertOutcome::Resolved),
        what: None,
        to: None,
        take_over: None,
    }
    .into()
}

fn is_open(station: &Station, alert: Seq) -> bool {
    let patient = station.patient_of(alert);
    let ledgers = station.ward().ledgers_of(patient).unwrap();
    ledgers.alerts[&alert].is_open()
}

fn note() -> Draft {
    Draft::new(Kind::Note)
        .with("text", "on")
        .with("patient", "pell")
}

#[test]
fn an_unreadable_entry_by_a_stranger_excuses_nothing_and_stops_writing() {
    let mut desk = desk();
    let alert = desk.alert();
    let patient = desk.station.patient_of(alert);
    let strange = slip_in_bytes(&desk, Arc::new(strangers_key()), None, (60_000, 1), vec![1]);
    let unsigned = Arc::new(Forger(desk.nurse.key()));
    slip_in_bytes(&desk, unsigned, None, (60_000, 1), vec![1]);
    slip_in(&desk, Arc::new(strangers_key()), patient, &closing(alert));
    let station = fresh(&desk);
    assert!(is_open(&station, alert));
    let doubts: Vec<Seq> = station
        .ward()
        .doubtful()
        .iter()
        .map(|one| one.seq)
        .collect();
    assert_eq!(doubts.len(), 3);
    assert_eq!(doubts[0], strange);
    let told = refused(desk.log(note()));
    assert!(told.contains("author unknown"), "{told}");
}

/// A newer program may have enrolled somebody: what follows is named, and ends nothing here.
#[test]
fn an_unreadable_entry_by_somebody_on_the_staff_makes_nobody_known() {
    let mut desk = desk();
    let alert = desk.alert();
    let patient = desk.station.patient_of(alert);
    slip_in_bytes(&desk, desk.nurse.signer.clone(), None, (60_000, 1), vec![1]);
    slip_in(&desk, Arc::new(strangers_key()), patient, &closing(alert));
    let station = fresh(&desk);
    assert!(is_open(&station, alert));
    assert_eq!(station.ward().doubtful().len(), 1);
    accept_all(&mut desk.station);
    assert!(is_open(&fresh(&desk), alert), "no acceptance asks for it");
}

fn accept_all(station: &mut Station) {
    station.refresh().unwrap();
    let keeper = station.unlock(&Handle("kay".into()), "000000").unwrap();
    let report = station.damage().unwrap().unwrap();
    station
        .accept_damage(&keeper, None, &report, "seen")
        .unwrap();
}

/// A flipped bit and a forged "closed" together close nothing, until a keeper has accepted both.
#[test]
fn what_is_lost_excuses_nobody_until_a_keeper_accepts_it() {
    let mut desk = desk();
    let alert = desk.alert();
    let patient = desk.station.patient_of(alert);
    let target = desk.log(note()).unwrap().seq;
    let lost = Draft::new(Kind::Note).with("text", "slept badly");
    desk.log(lost.with("patient", "pell")).unwrap();
    desk.log(note()).unwrap();
    let stranger = || Arc::new(strangers_key());
    let closed = slip_in(&desk, stranger(), patient, &closing(alert));
    let away = Amendment {
        target,
        act: AmendmentAct::Withdraw,
        cause: AmendmentCause::Mistaken,
        reason: None,
        entered_anew: None,
        replacement: None,
    };
    slip_in(&desk, stranger(), patient, &away.into());
    flip(&desk.station, b"slept badly");
    let noted = |station: &Station| {
        let notes = &station.ward().ledgers_of(patient).unwrap().notes;
        notes.iter().any(|note| note.seq() == target)
    };
    let mut station = fresh(&desk);
    assert!(is_open(&station, alert) && noted(&station));
    let whole = station.head().seq;
    accept_all(&mut station);
    for station in [station, fresh(&desk), redrawn(fresh(&desk), patient)] {
        assert!(!is_open(&station, alert), "{closed} is vouched for now");
        assert!(!noted(&station));
        assert!(!station.reservations().complete, "and still said");
        // As then known it was not.
        let then = station.as_at(whole).ward;
        assert!(then.ledgers_of(patient).unwrap().alerts[&alert].is_open());
    }
    let third = raise_past_the_station(&desk, alert);
    slip_in(&desk, stranger(), patient, &closing(third));
    let doubt = fresh(&desk).ward().doubtful().last().cloned().unwrap();
    assert!(!doubt.waits);
}

/// The same alert once more, truly signed, while the station writes nothing.
fn raise_past_the_station(desk: &Desk, like: Seq) -> Seq {
    let Read::Entry(entry) = desk.station.entry(like).unwrap() else {
        panic!()
    };
    let nurse = desk.nurse.signer.clone();
    slip_in(desk, nurse, entry.patient, &entry.body)
}

#[test]
fn accepted_damage_excuses_nothing_that_comes_after_the_acceptance() {
    let mut desk = desk();
    let alert = desk.alert();
    let patient = desk.station.patient_of(alert);
    let lost = Draft::new(Kind::Note).with("text", "slept badly");
    desk.log(lost.with("patient", "pell")).unwrap();
    desk.log(note()).unwrap();
    flip(&desk.station, b"slept badly");
    let mut station = fresh(&desk);
    let keeper = station.unlock(&Handle("kay".into()), "000000").unwrap();
    let report = station.damage().unwrap().unwrap();
    station
        .accept_damage(&keeper, None, &report, "seen")
        .unwrap();
    slip_in(&desk, Arc::new(strangers_key()), patient, &closing(alert));
    assert!(is_open(&fresh(&desk), alert));
    station.refresh().unwrap();
    assert!(is_open(&station, alert));
}

/// One bad byte in the entry that enrolled the keeper: they accept that, and enrol themselves.
#[test]
fn whoever_opened_the_ward_is_keeper_while_their_enrolment_is_lost() {
    let mut desk = desk();
    desk.log(note()).unwrap();
    flip(&desk.station, b"Kay");
    let mut station = fresh(&desk);
    assert!(
        station.ward().staff(&Handle("nell".into())).is_some(),
        "the keeper enrolled her"
    );
    assert!(
        station.ward().doubtful().is_empty(),
        "{:?}",
        station.ward().doubtful()
    );
    assert!(station.unlock(&Handle("mallory".into()), "000000").is_err());
    assert!(station.unlock(&Handle("kay".into()), "111111").is_err());
    let keeper = station.unlock(&Handle("kay".into()), "000000").unwrap();
    assert_eq!(
        (keeper.handle.as_str(), keeper.role),
        (STAND_IN, Role::Keeper)
    );
    refused(station.submit(&desk.nurse, &note()));
    let report = station.damage().unwrap().unwrap();
    station
        .accept_damage(&keeper, None, &report, "seen")
        .unwrap();
    station.submit(&desk.nurse, &note()).unwrap();
    station
        .enrol(&keeper, &request("kay", Role::Keeper, "222222"))
        .unwrap();
    // It is Kay again, by the new key, here and after a fold of everything.
    let mut station = fresh(&desk);
    let again = station.unlock(&Handle("kay".into()), "222222").unwrap();
    assert_eq!(again.handle.as_str(), "kay");
    let leave = StaffMove::Suspended;
    station
        .change_staff(&again, &keeper.handle, leave, None, "enrolled anew")
        .unwrap();
    assert!(station.ward().doubtful().is_empty());
    let said = super::super::judged::found(desk._dir.path(), RightsJudge::new());
    let of_authors = |(_, what): &&(Seq, String)| what.contains("nobody on the staff");
    assert_eq!(said.iter().filter(of_authors).count(), 0, "{said:?}");
}

#[test]
fn a_second_keeper_whose_enrolment_is_lost_is_enrolled_anew_by_the_first() {
    let mut desk = desk();
    let kay = Handle("kay".into());
    let first = desk.station.unlock(&kay, "000000").unwrap();
    let station = &mut desk.station;
    station
        .enrol(&first, &request("kim", Role::Keeper, "kim-secret"))
        .unwrap();
    let kim = station.unlock(&Handle("kim".into()), "kim-secret").unwrap();
    station
        .enrol(&kim, &request("nia", Role::Nurse, "nia-secret"))
        .unwrap();
    let nia = station.unlock(&Handle("nia".into()), "nia-secret").unwrap();
    let written = station.submit(&nia, &note()).unwrap().seq;
    flip(station, b"KIM");
    let mut station = fresh(&desk);
    let doubts: Vec<Seq> = station
        .ward()
        .doubtful()
        .iter()
        .map(|one| one.seq)
        .collect();
    assert_eq!(doubts.len(), 2, "what Kim and Nia wrote is named");
    assert!(doubts.contains(&written));
    assert!(station.unlock(&Handle("kim".into()), "kim-secret").is_err());
    let first = station.unlock(&kay, "000000").unwrap();
    let report = station.damage().unwrap().unwrap();
    station
        .accept_damage(&first, None, &report, "seen")
        .unwrap();
    for (handle, role) in [("kim", Role::Keeper), ("nia", Role::Nurse)] {
        station
            .enrol(&first, &request(handle, role, "new-secret"))
            .unwrap();
    }
    let mut station = fresh(&desk);
    let nia = station.unlock(&Handle("nia".into()), "new-secret").unwrap();
    station.submit(&nia, &note()).unwrap();
    let kim = station.unlock(&Handle("kim".into()), "new-secret").unwrap();
    station
        .enrol(&kim, &request("new", Role::Nurse, "new-secret"))
        .unwrap();
    assert_eq!(station.ward().doubtful().len(), 2);
}

fn request(handle: &str, role: Role, secret: &str) -> StaffRequest {
    StaffRequest {
        handle: Handle(handle.into()),
        name: handle.to_uppercase(),
        role,
        registration: None,
        secret: secret.to_owned().into(),
    }
}

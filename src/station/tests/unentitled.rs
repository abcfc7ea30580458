//! Entries truly signed by somebody on the staff whose role may not write them: the fold gives
//! them no more than entries nobody signed, and finds the ones that verification finds.

use super::judge::RightsJudge;
use super::judged::{Forged, amendment, note};
use super::*;
use crate::record::kind::Body;
use crate::record::kind::alert::{AlertMove, AlertOutcome, AlertStep};
use crate::record::kind::episode::{Destination, Discharge};
use crate::record::kind::ward::{AmendmentAct, StaffMove};
use crate::ward::Author;

impl Desk {
    fn sister(&mut self) -> Actor {
        let kay = self.actor("kay");
        let sister = StaffRequest {
            handle: Handle("sid".into()),
            name: "Sid".into(),
            role: Role::Sister,
            registration: None,
            secret: "sid-secret".to_owned().into(),
        };
        self.station.enrol(&kay, &sister).unwrap();
        self.actor("sid")
    }

    /// Past every rule of the station, about the patient.
    fn forge_about(&self, actor: &Actor, body: impl Into<Body>) -> Seq {
        let mut forged = Forged::by(self, actor, body);
        forged.patient = self.station.resolve_patient("pell").ok();
        forged.write(self._dir.path(), actor)
    }

    fn draws_anew(&self) -> Station {
        Station::open_with(self._dir.path(), self.clock.clone()).unwrap()
    }

    /// The fold doubts exactly what the verifier's judge finds.
    fn fold_and_judge_agree(&self, on: &[Seq]) {
        let station = self.draws_anew();
        let doubtful = station.ward().doubtful().iter();
        let doubtful: Vec<Seq> = doubtful.map(|one| one.seq).collect();
        assert_eq!(doubtful, on, "the fold");
        let found = self.found(RightsJudge::new()).into_iter();
        let found: Vec<Seq> = found.map(|(seq, _)| seq).collect();
        assert_eq!(found, on, "the judge");
    }
}

fn closing(alert: Seq) -> AlertStep {
    AlertStep {
        alert,
        step: AlertMove::Closed,
        outcome: Some(AlertOutcome::Resolved),
        what: None,
        to: None,
        take_over: None,
    }
}

fn is_open(station: &Station, alert: Seq) -> bool {
    let patient = station.patient_of(alert);
    station.ward().ledgers_of(patient).unwrap().alerts[&alert].is_open()
}

/// As folded, and as drawn anew after an amendment.
fn both_ways(desk: &Desk, look: impl Fn(&Station)) {
    let mut station = desk.draws_anew();
    look(&station);
    let source = crate::ward::draw::Source(&*station.reader);
    for patient in [None, station.resolve_patient("pell").ok()] {
        station.drawn.ward.redraw(patient, &source);
    }
    look(&station);
}

#[test]
fn an_alert_closed_by_governance_stays_open_and_the_entry_is_named() {
    let mut desk = desk();
    let alert = desk.alert();
    let gov = desk.actor("gov");
    let closed = desk.forge_about(&gov, closing(alert));
    both_ways(&desk, |station| {
        assert!(is_open(station, alert));
        let said = &station.reservations().unproved[0];
        let words = "a governance officer may not write it";
        assert!(
            said.contains(&closed.to_string()) && said.contains(words),
            "{said}"
        );
        let patient = station.patient_of(alert);
        let line = station.ward().log_of(patient).unwrap().line(closed);
        let line = line.expect("it stays in the timeline");
        assert!(line.readable && matches!(line.author, Author::Unproved(..)));
    });
    desk.fold_and_judge_agree(&[closed]);
    // Nobody writes until a keeper has looked; and the alert is then closed by a nurse.
    let close = Draft::new(Kind::AlertStep)
        .with("alert", alert.to_string())
        .with("step", "close")
        .with("outcome", "resolved");
    let told = refused(desk.log(close.clone()));
    assert!(told.contains("may not write it"), "{told}");
    let kay = desk.actor("kay");
    let report = desk.station.damage().unwrap().unwrap();
    desk.station.accept_damage(&kay, &report, "seen").unwrap();
    assert!(is_open(&desk.draws_anew(), alert), "accepted, and open");
    desk.log(close).unwrap();
    assert!(!is_open(&desk.draws_anew(), alert));
}

/// What such an entry opens is looked at, as with one that nobody signed.
#[test]
fn an_alert_raised_by_governance_is_on_the_list() {
    let mut desk = desk();
    let alert = desk.alert();
    let Read::Entry(entry) = desk.station.entry(alert).unwrap() else {
        panic!()
    };
    let gov = desk.actor("gov");
    let raised = desk.forge_about(&gov, entry.body);
    both_ways(&desk, |station| assert!(is_open(station, raised)));
    desk.fold_and_judge_agree(&[raised]);
}

#[test]
fn the_role_counts_that_somebody_had_when_they_wrote() {
    let mut desk = desk();
    let kay = desk.actor("kay");
    let ned = desk.actor("ned");
    let before = desk.forge_about(&ned, discharged());
    let role = Some(Role::Assistant);
    let change = StaffMove::RoleChanged;
    desk.station.refresh().unwrap();
    desk.station
        .change_staff(&kay, &Handle("ned".into()), change, role, "wrong band")
        .unwrap();
    let mut ned = desk.actor("ned");
    desk.fold_and_judge_agree(&[]);
    // Whatever the entry itself says.
    let after = desk.forge_about(&ned, discharged());
    desk.fold_and_judge_agree(&[after]);
    ned.role = Role::Nurse;
    let lies = desk.forge_about(&ned, discharged());
    desk.fold_and_judge_agree(&[after, lies]);
    let station = desk.draws_anew();
    let patient = station.resolve_patient("pell").unwrap();
    let episode = station.ward().patient(patient).unwrap().episodes.last();
    let discharge = episode.unwrap().discharged.as_ref().unwrap();
    assert_eq!(discharge.seq(), before);
}

fn discharged() -> Body {
    Discharge {
        to: Destination::SelfDischarge,
        summary: "well".into(),
        arranged: None,
        told: None,
    }
    .into()
}

#[test]
fn anothers_entry_stands_unless_the_sister_amends_it() {
    let mut desk = desk();
    let sid = desk.sister();
    let (target, other) = (note(&mut desk), note(&mut desk));
    let (ned, nell) = (desk.actor("ned"), desk.nurse.clone());
    let withdraw = |seq| amendment(seq, AmendmentAct::Withdraw);
    let forged = desk.forge_about(&ned, withdraw(target));
    let stands = |station: &Station, seq: Seq| {
        let patient = station.patient_of(seq);
        let notes = &station.ward().ledgers_of(patient).unwrap().notes;
        notes.iter().any(|note| note.seq() == seq)
    };
    both_ways(&desk, |station| {
        assert!(stands(station, target));
        let said = &station.reservations().unproved[0];
        assert!(said.contains("it is another's"), "{said}");
    });
    desk.fold_and_judge_agree(&[forged]);
    desk.forge_about(&nell, withdraw(target));
    desk.forge_about(&sid, withdraw(other));
    both_ways(&desk, |station| {
        assert!(!stands(station, target) && !stands(station, other));
    });
    desk.fold_and_judge_agree(&[forged]);
}

/// Whoever's name a forged entry bears may withdraw it.
#[test]
fn a_forged_entry_is_withdrawn_by_the_one_it_names() {
    let mut desk = desk();
    let nell = desk.nurse.clone();
    let gov = desk.actor("gov");
    let alert = desk.alert();
    let Read::Entry(entry) = desk.station.entry(alert).unwrap() else {
        panic!()
    };
    let raised = desk.forge_about(&gov, entry.body);
    let by_nell = desk.forge_about(&nell, amendment(raised, AmendmentAct::Withdraw));
    desk.fold_and_judge_agree(&[raised, by_nell]);
    both_ways(&desk, |station| assert!(is_open(station, raised)));
}

#[test]
fn what_is_never_amended_stands_whoever_amends_it() {
    let mut desk = desk();
    let nell = desk.nurse.clone();
    let request = HandoverRequest::default();
    let prepared = desk.station.prepare_handover(&nell, &request).unwrap().seq;
    let forged = desk.forge(&nell, amendment(prepared, AmendmentAct::Withdraw));
    both_ways(&desk, |station| {
        assert!(station.ward().handovers().contains_key(&prepared));
        let said = &station.reservations().unproved[0];
        assert!(said.contains("never amended"), "{said}");
    });
    desk.fold_and_judge_agree(&[forged]);
}

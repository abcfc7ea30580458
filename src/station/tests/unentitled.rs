//! Entries truly signed by somebody on the staff whose role may not write them: the fold gives
//! them no more than entries nobody signed, and finds the ones that verification finds.

use super::judge::RightsJudge;
use super::judged::{Forged, amendment, note};
use super::*;
use crate::record::ids::{Digest, EntryHash};
use crate::record::kind::Body;
use crate::record::kind::alert::{AlertMove, AlertOutcome, AlertStep};
use crate::record::kind::episode::{Destination, Discharge};
use crate::record::kind::shift::{Handover, HandoverMove, HandoverStep, SheetName};
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
    pub(super) fn forge_about(&self, actor: &Actor, body: impl Into<Body>) -> Seq {
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
    let mut close = close;
    close.confirm = true;
    let told = refused(desk.log(close.clone()));
    assert!(told.contains("may not write it"), "{told}");
    let kay = desk.actor("kay");
    let report = desk.station.damage().unwrap().unwrap();
    desk.station
        .accept_damage(&kay, None, &report, "seen")
        .unwrap();
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

/// Prepares a handover; gives its entry and the digest of its sheet.
fn prepared(desk: &mut Desk) -> (Seq, Digest) {
    let nurse = desk.nurse.clone();
    let request = HandoverRequest::default();
    let seq = desk.station.prepare_handover(&nurse, &request).unwrap().seq;
    let state = desk.station.handover_sheet(seq).unwrap().unwrap();
    (seq, state.named)
}

const fn accepting(handover: Seq, digest: Option<Digest>) -> HandoverStep {
    HandoverStep {
        handover,
        step: HandoverMove::Accepted,
        text: None,
        query: None,
        digest,
    }
}

#[test]
fn a_handover_is_settled_once_and_by_the_sheet_it_names() {
    let mut desk = desk();
    let (handover, named) = prepared(&mut desk);
    let (ned, nell) = (desk.actor("ned"), desk.nurse.clone());
    let by_giver = desk.forge(&nell, accepting(handover, Some(named)));
    let of_another = desk.forge(&ned, accepting(handover, Some(Digest([7; 32]))));
    let accepted = |station: &Station| {
        let life = &station.ward().handovers()[&handover];
        life.accepted().map(|stamp| stamp.seq)
    };
    both_ways(&desk, |station| assert_eq!(accepted(station), None));
    let right = desk.forge(&ned, accepting(handover, Some(named)));
    let mut again = accepting(handover, Some(named));
    let twice = desk.forge(&ned, again.clone());
    again.step = HandoverMove::Declined;
    let after_all = desk.forge(&ned, again);
    both_ways(&desk, |station| {
        assert_eq!(accepted(station), Some(right));
        assert!(station.ward().handovers()[&handover].declined().is_none());
        let said = station.reservations().unproved.join("\n");
        for words in ["whoever gave", "accepts another sheet", "settles once more"] {
            assert!(said.contains(words), "{words}: {said}");
        }
    });
    desk.fold_and_judge_agree(&[by_giver, of_another, twice, after_all]);
}

/// Accepting and declining is for who can be in charge; asking is not, nor is answering.
#[test]
fn an_assistant_settles_no_handover() {
    let mut desk = desk();
    let kay = desk.actor("kay");
    let pip = StaffRequest {
        handle: Handle("pip".into()),
        name: "Pip".into(),
        role: Role::Assistant,
        registration: None,
        secret: "pip-secret".to_owned().into(),
    };
    desk.station.enrol(&kay, &pip).unwrap();
    let pip = desk.actor("pip");
    let (handover, named) = prepared(&mut desk);
    let mut step = |step: &str, patient: Option<&str>| {
        let (patient, text) = (patient.map(str::to_owned), Some("why".to_owned()));
        let station = &mut desk.station;
        station.handover_step(&pip, handover, step, patient, text, None)
    };
    let asked = step("query", Some("pell")).unwrap().seq;
    for (verdict, patient) in [
        ("accepted", None),
        ("declined", None),
        ("accepted", Some("pell")),
    ] {
        let told = step(verdict, patient).unwrap_err().to_string();
        let told = told.replace('\n', " ");
        for words in [
            "an assistant practitioner",
            "a registered nurse or a ward sister",
        ] {
            assert!(told.contains(words), "{verdict}: {told}");
        }
    }
    let by_pip = desk.forge(&pip, accepting(handover, Some(named)));
    let mut declining = accepting(handover, None);
    declining.step = HandoverMove::Declined;
    declining.text = Some("no".into());
    let declined = desk.forge(&pip, declining);
    both_ways(&desk, |station| {
        let life = &station.ward().handovers()[&handover];
        assert!(life.is_pending() && life.open_queries().len() == 1);
        assert_eq!(life.open_queries()[0].held.seq(), asked);
        let said = station.reservations().unproved.join("\n");
        assert!(said.contains("an assistant practitioner may not"), "{said}");
    });
    desk.fold_and_judge_agree(&[by_pip, declined]);
    let right = desk.actor("ned");
    desk.forge(&right, accepting(handover, Some(named)));
    both_ways(&desk, |station| {
        assert!(station.ward().handovers()[&handover].accepted().is_some());
    });
}

/// Whoever takes over is on a shift that begins or is on, and that the giver is not on.
#[test]
fn whoever_is_on_no_oncoming_shift_is_asked() {
    let asked = |shifts: &[(&str, &str, &str)]| {
        let mut desk = desk();
        for (from, until, staff) in shifts {
            let shift = Draft::new(Kind::Shift)
                .with("name", "Shift")
                .with("from", *from)
                .with("until", *until)
                .with("staff", *staff);
            desk.log(shift).unwrap();
        }
        let (handover, _) = prepared(&mut desk);
        let ned = desk.actor("ned");
        let station = &mut desk.station;
        match station.handover_step(&ned, handover, "accepted", None, None, None) {
            Ok(_) => false,
            Err(SubmitError::Confirm(asked)) => {
                assert!(asked[0].what.contains("no oncoming shift"), "{asked:?}");
                true
            }
            Err(other) => panic!("{other}"),
        }
    };
    // Nothing is entered: it is not known, and not asked.
    assert!(!asked(&[]));
    assert!(!asked(&[("+1m", "+1h", "nell")]));
    assert!(!asked(&[("+1m", "+1h", "nell"), ("+1h", "+9h", "ned")]));
    assert!(!asked(&[("+1m", "+1h", "ned")]));
    assert!(asked(&[("+1m", "+1h", "nell; ned"), ("+1m", "+9h", "gov")]));
    assert!(asked(&[("+1m", "+1h", "gov"), ("+2h", "+9h", "ned")]));
}

/// What such a handover named would count as seen.
#[test]
fn a_handover_that_names_another_head_is_none() {
    let desk = desk();
    let nurse = desk.nurse.clone();
    let head = desk.station.head();
    let handover = |head_seq, head_hash| Handover {
        from_shift: "Day".into(),
        to_shift: "Night".into(),
        receiver: None,
        opening: None,
        sheet: Some(SheetName {
            as_of: desk.clock.now(),
            head_seq,
            head_hash,
            digest: Digest([7; 32]),
        }),
    };
    let right = desk.forge(&nurse, handover(head.seq, head.hash));
    let other_hash = desk.forge(&nurse, handover(right, EntryHash([7; 32])));
    let other_entry = desk.forge(&nurse, handover(head.seq, head.hash));
    both_ways(&desk, |station| {
        let there: Vec<Seq> = station.ward().handovers().keys().copied().collect();
        assert_eq!(there, [right]);
    });
    desk.fold_and_judge_agree(&[other_hash, other_entry]);
}

/// One said to be of tomorrow would be the newest until then.
#[test]
fn readings_from_a_time_to_come_stand_beside_the_newest() {
    let mut desk = desk();
    let set = |hr: &str| {
        Draft::new(Kind::Observation)
            .with("patient", "pell")
            .with("hr", hr)
    };
    let real = desk.log(set("110"));
    let real = real.map_or_else(|error| panic!("{error}"), |receipt| receipt.seq);
    let body = set("70").read(&desk.station.read_context()).unwrap().body;
    let nurse = desk.nurse.clone();
    let mut forged = Forged::by(&desk, &nurse, body);
    forged.patient = desk.station.resolve_patient("pell").ok();
    forged.occurred_at = desk.clock.now().plus(Span::hours(20));
    let forged = forged.write(desk._dir.path(), &nurse);
    both_ways(&desk, |station| {
        let patient = station.resolve_patient("pell").unwrap();
        let newest = station.ward().patient(patient).unwrap().last_set().unwrap();
        assert_eq!(newest.stamp.seq, real);
    });
    desk.fold_and_judge_agree(&[forged]);
}

/// The role shown is the one the staff entries give, not the one the entry says.
#[test]
fn an_entry_that_says_another_role_is_shown_with_the_right_one() {
    let mut desk = desk();
    let mut liar = desk.nurse.clone();
    liar.role = Role::Sister;
    let body = Draft::new(Kind::Note).with("text", "x");
    let body = body.with("patient", "pell");
    let body = body.read(&desk.station.read_context()).unwrap().body;
    let said = desk.forge_about(&liar, body);
    both_ways(&desk, |station| {
        let patient = station.patient_of(said);
        let notes = &station.ward().ledgers_of(patient).unwrap().notes;
        let author = &notes.last().unwrap().stamp.author;
        assert_eq!(*author, Author::Staff(Handle("nell".into()), Role::Nurse));
    });
    let found = desk.found(RightsJudge::new());
    assert!(found.len() == 1 && found[0].1.contains("says it was written as"));
    desk.station.refresh().unwrap();
}

//! What verification says of entries that this program would not have written: each is signed
//! truly, in its place, and breaks one rule.

use super::judge::RightsJudge;
use super::*;
use crate::journal::verify::{VerifyOptions, verify};
use crate::journal::{FileStore, NewEntry, Store, WriteOptions};
use crate::record::codec;
use crate::record::envelope::Envelope;
use crate::record::ids::Pseudonym;
use crate::record::ids::{Digest, EntryHash, JournalId};
use crate::record::kind::Body;
use crate::record::kind::shift::{Handover, HandoverMove, HandoverStep, SheetName};
use crate::record::kind::ward::{
    Amendment, AmendmentAct, Replacement, StaffChanged, StaffEnrolled, StaffMove, WardOpened,
};

/// An entry as its author says it.
pub(super) struct Forged {
    body: Body,
    role: Role,
    pub patient: Option<Pseudonym>,
    pub occurred_at: Timestamp,
    pub recorded_at: Timestamp,
}

impl Forged {
    pub fn by(desk: &Desk, actor: &Actor, body: impl Into<Body>) -> Forged {
        Forged {
            body: body.into(),
            role: actor.role,
            patient: None,
            occurred_at: desk.clock.now(),
            recorded_at: desk.clock.now(),
        }
    }

    /// Writes it past every rule of the station; gives its number.
    pub fn write(self, dir: &std::path::Path, actor: &Actor) -> Seq {
        let envelope = plain(self.occurred_at, self.role);
        let kind = self.body.kind();
        let entry = NewEntry {
            id: EntryId(IdSource::Random.next_id().unwrap()),
            recorded_at: self.recorded_at,
            kind: kind.code(),
            kind_version: kind.version(),
            patient: self.patient.unwrap_or(Pseudonym::ZERO),
            encoding: codec::ENCODING,
            payload: codec::encode(&envelope, &self.body).unwrap(),
            signer: actor.signer.clone(),
            seal: None,
        };
        let options = WriteOptions::new("a forger", Timestamp(0));
        let (store, _) = FileStore::open_writer(dir, &options).unwrap();
        store.append(vec![entry], None).unwrap()[0].seq
    }
}

fn plain(occurred_at: Timestamp, role: Role) -> Envelope {
    Envelope {
        occurred_at,
        approximate: false,
        role,
        episode: None,
        late_reason: None,
        related: Vec::new(),
        confirmed: Vec::new(),
    }
}

impl Desk {
    pub(super) fn actor(&mut self, handle: &str) -> Actor {
        let secret = match handle {
            "kay" => "000000".to_owned(),
            other => format!("{other}-secret"),
        };
        self.station
            .unlock(&Handle(handle.into()), &secret)
            .unwrap()
    }

    pub(super) fn forge(&self, actor: &Actor, body: impl Into<Body>) -> Seq {
        Forged::by(self, actor, body).write(self._dir.path(), actor)
    }

    /// What the judge finds, by entry.
    pub(super) fn found(&self, judge: RightsJudge) -> Vec<(Seq, String)> {
        found(self._dir.path(), judge)
    }
}

pub(super) fn found(dir: &std::path::Path, mut judge: RightsJudge) -> Vec<(Seq, String)> {
    let options = VerifyOptions {
        judge: Some(&mut judge),
        ..VerifyOptions::default()
    };
    let found = verify(dir, options).unwrap().findings;
    let faults = found
        .into_iter()
        .filter(|finding| finding.level == crate::journal::verify::Level::Fault);
    faults
        .map(|finding| (finding.seq.unwrap(), finding.what.to_string()))
        .collect()
}

pub(super) fn note(desk: &mut Desk) -> Seq {
    let note = Draft::new(Kind::Note)
        .with("text", "slept well")
        .with("patient", "pell");
    desk.log(note).unwrap().seq
}

pub(super) fn amendment(target: Seq, act: AmendmentAct) -> Amendment {
    Amendment {
        target,
        act,
        cause: AmendmentCause::Typing,
        reason: None,
        entered_anew: None,
        replacement: None,
    }
}

/// One forged entry breaks one rule: it, and nothing else, is found, in these words.
fn is_found(desk: &Desk, forged: Seq, words: &str) {
    let found = desk.found(RightsJudge::new());
    assert_eq!(found.len(), 1, "{words}: {found:?}");
    assert_eq!(found[0].0, forged, "{found:?}");
    assert!(found[0].1.contains(words), "{words}: {found:?}");
}

#[test]
fn an_amendment_of_anothers_entry_is_found_unless_the_sister_wrote_it() {
    let mut desk = desk();
    let target = note(&mut desk);
    let kay = desk.actor("kay");
    let sister = StaffRequest {
        handle: Handle("sid".into()),
        name: "Sid".into(),
        role: Role::Sister,
        registration: None,
        secret: "sid-secret".to_owned().into(),
    };
    desk.station.enrol(&kay, &sister).unwrap();
    let (sid, ned) = (desk.actor("sid"), desk.actor("ned"));
    let own = desk.nurse.clone();
    let (second, third) = (note(&mut desk), note(&mut desk));
    let withdraw = |seq| amendment(seq, AmendmentAct::Withdraw);
    desk.forge_about(&own, withdraw(target));
    desk.forge_about(&sid, withdraw(second));
    assert_eq!(desk.found(RightsJudge::new()), []);
    let forged = desk.forge_about(&ned, withdraw(third));
    is_found(&desk, forged, "which nell wrote");
}

#[test]
fn an_amendment_of_what_is_never_amended_is_found() {
    for (target, act, words) in [
        (Seq(2), AmendmentAct::Withdraw, "never amended"),
        (Seq(900), AmendmentAct::Withdraw, "not there yet"),
    ] {
        let mut desk = desk();
        let sid = StaffRequest {
            handle: Handle("sid".into()),
            name: "Sid".into(),
            role: Role::Sister,
            registration: None,
            secret: "sid-secret".to_owned().into(),
        };
        let kay = desk.actor("kay");
        desk.station.enrol(&kay, &sid).unwrap();
        let sid = desk.actor("sid");
        let forged = desk.forge(&sid, amendment(target, act));
        is_found(&desk, forged, words);
    }
}

#[test]
fn a_correction_into_another_kind_or_a_time_to_come_is_found() {
    let now_and_later = |desk: &Desk| (desk.clock.now(), desk.clock.now().plus(Span::hours(3)));
    for (kind, later, words) in [
        (Kind::Task, false, "another kind"),
        (Kind::Note, true, "after the correction"),
    ] {
        let mut desk = desk();
        let target = note(&mut desk);
        let nurse = desk.nurse.clone();
        let (now, to_come) = now_and_later(&desk);
        let draft = match kind {
            Kind::Note => Draft::new(kind).with("text", "slept badly"),
            _ => Draft::new(kind).with("what", "ring").with("due", "+1h"),
        };
        let read = draft
            .with("patient", "pell")
            .read(&desk.station.read_context())
            .unwrap();
        let envelope = plain(if later { to_come } else { now }, nurse.role);
        let mut correction = amendment(target, AmendmentAct::Correct);
        correction.replacement = Some(Replacement {
            kind: kind.code(),
            version: kind.version(),
            payload: codec::encode(&envelope, &read.body).unwrap(),
        });
        let forged = desk.forge_about(&nurse, correction);
        is_found(&desk, forged, words);
    }
}

#[test]
fn an_acceptance_of_another_sheet_or_by_the_giver_is_found() {
    let step = |handover, digest| HandoverStep {
        handover,
        step: HandoverMove::Accepted,
        text: None,
        query: None,
        digest,
    };
    let prepare = |desk: &mut Desk| {
        let nurse = desk.nurse.clone();
        let request = HandoverRequest::default();
        let seq = desk.station.prepare_handover(&nurse, &request).unwrap().seq;
        let state = desk.station.handover_sheet(seq).unwrap().unwrap();
        (seq, state.named)
    };
    for (digest, by, words) in [
        ("other", "ned", "accepts another sheet"),
        ("none", "ned", "accepts another sheet"),
        ("named", "nell", "by whoever gave"),
        ("named", "ned", ""),
    ] {
        let mut desk = desk();
        let (handover, named) = prepare(&mut desk);
        let digest = match digest {
            "named" => Some(named),
            "other" => Some(Digest([7; 32])),
            _ => None,
        };
        let actor = desk.actor(by);
        let forged = desk.forge(&actor, step(handover, digest));
        if words.is_empty() {
            assert_eq!(desk.found(RightsJudge::new()), []);
            let again = desk.forge(&actor, step(handover, digest));
            is_found(&desk, again, "settles once more");
        } else {
            is_found(&desk, forged, words);
        }
    }
    let mut desk = desk();
    let ned = desk.actor("ned");
    let forged = desk.forge(&ned, step(Seq(3), Some(Digest([7; 32]))));
    is_found(&desk, forged, "no handover prepared before");
}

#[test]
fn a_sheet_that_is_not_drawn_from_the_entry_before_it_is_found() {
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
    desk.forge(&nurse, handover(head.seq, head.hash));
    assert_eq!(desk.found(RightsJudge::new()), []);
    let forged = desk.forge(&nurse, handover(head.seq, EntryHash([7; 32])));
    is_found(&desk, forged, "not from the entry before it");
}

#[test]
fn times_that_cannot_be_are_found() {
    let desk = desk();
    let nurse = desk.nurse.clone();
    let text = |desk: &Desk| {
        let draft = Draft::new(Kind::Note)
            .with("text", "x")
            .with("patient", "pell");
        let body = draft.read(&desk.station.read_context()).unwrap().body;
        let mut forged = Forged::by(desk, &nurse, body);
        forged.patient = desk.station.resolve_patient("pell").ok();
        forged
    };
    let now = desk.clock.now();
    let mut to_come = text(&desk);
    to_come.occurred_at = now.plus(Span::hours(5));
    let forged = to_come.write(desk._dir.path(), &nurse);
    is_found(&desk, forged, "5hr after it was recorded");

    let mut desk = super::desk();
    let nurse = desk.nurse.clone();
    let mut ahead = text(&desk);
    ahead.recorded_at = now.plus(Span::hours(24 * 400));
    let ahead = ahead.write(desk._dir.path(), &nurse);
    assert_eq!(
        desk.found(RightsJudge::new()),
        [],
        "nothing to compare with"
    );
    note(&mut desk);
    let next = Seq(ahead.0 + 1);
    is_found(&desk, next, "before the entry before it");
    // Less than a day back is a note, not a fault.
    let mut back = text(&desk);
    back.recorded_at = Timestamp(now.0 - Span::hours(2).0);
    back.occurred_at = back.recorded_at;
    back.write(desk._dir.path(), &nurse);
    is_found(&desk, next, "before the entry before it");
}

/// A ward opened by one key, whose first keeper has another; not a teaching journal.
fn founded_by(opener: &Actor, keeper: &Actor, at: Timestamp) -> TempDir {
    let dir = TempDir::new().unwrap();
    FileStore::create(dir.path(), JournalId([9; 16])).unwrap();
    let entry = |body: Body| Forged {
        body,
        role: Role::Keeper,
        patient: None,
        occurred_at: at,
        recorded_at: at,
    };
    let opened = WardOpened {
        name: "Test Ward".into(),
        zone: "Europe/London".into(),
        teaching: false,
    };
    entry(opened.into()).write(dir.path(), opener);
    let enrolled = StaffEnrolled {
        handle: keeper.handle.clone(),
        name: "Kay".into(),
        role: Role::Keeper,
        registration: None,
        key: Some(keeper.key()),
        reading: None,
    };
    entry(enrolled.clone().into()).write(dir.path(), keeper);
    dir
}

#[test]
fn whoever_opens_the_ward_is_its_first_keeper() {
    let mut desk = desk();
    let (kay, nell) = (desk.actor("kay"), desk.nurse.clone());
    let now = desk.clock.now();
    let right = founded_by(&kay, &kay, now);
    assert_eq!(found(right.path(), RightsJudge::new()), []);
    let wrong = founded_by(&nell, &kay, now);
    let said = found(wrong.path(), RightsJudge::new());
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].1.contains("did not open the ward"), "{said:?}");
    // The fold says the same, by the same rule: the key that opened the ward is keeper.
    let station = Station::open_with(wrong.path(), desk.clock.clone()).unwrap();
    assert!(station.ward().staff(&kay.handle).is_none());
    assert_eq!(station.ward().doubtful().len(), 1);
    let station = Station::open_with(right.path(), desk.clock.clone()).unwrap();
    assert!(station.ward().staff(&kay.handle).is_some());
    assert!(station.ward().doubtful().is_empty());
}

#[test]
fn a_time_to_come_is_found_once_where_the_clock_is_known() {
    let mut desk = desk();
    let kay = desk.actor("kay");
    let now = desk.clock.now();
    let dir = founded_by(&kay, &kay, now.plus(Span::hours(48)));
    assert_eq!(found(dir.path(), RightsJudge::new()), []);
    let said = found(dir.path(), RightsJudge::at(now));
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].1.contains("present time"), "{said:?}");
    // A teaching journal's clock is its story's.
    assert_eq!(desk.found(RightsJudge::at(Timestamp(0))), []);
}

/// One entry at the end of what can be stored must not end a teaching journal.
#[test]
fn a_story_told_to_the_end_of_time_goes_on_by_the_computers_clock() {
    let mut desk = desk();
    let nurse = desk.nurse.clone();
    let body = Draft::new(Kind::Note).with("text", "x");
    let body = body.with("patient", "pell");
    let body = body.read(&desk.station.read_context()).unwrap().body;
    let mut last = Forged::by(&desk, &nurse, body);
    last.patient = desk.station.resolve_patient("pell").ok();
    last.recorded_at = Timestamp(Timestamp::LATEST.0 - 1_000_000);
    last.occurred_at = last.recorded_at;
    let last = last.write(desk._dir.path(), &nurse);
    let mut station = Station::open(desk._dir.path()).unwrap();
    let nell = station
        .unlock(&Handle("nell".into()), "nell-secret")
        .unwrap();
    let draft = Draft::new(Kind::Note).with("text", "on");
    let next = station.submit(&nell, &draft.with("patient", "pell"));
    let next = next.map_or_else(|error| panic!("{error}"), |receipt| receipt.seq);
    assert_eq!(next, Seq(last.0 + 1));
    is_found(&desk, next, "before the entry before it");
    drop(desk.station.refresh());
}

#[test]
fn a_second_enrolment_of_a_handle_is_found() {
    let mut desk = desk();
    let kay = desk.actor("kay");
    let again = StaffEnrolled {
        handle: Handle("nell".into()),
        name: "Another".into(),
        role: Role::Keeper,
        registration: None,
        key: Some(kay.key()),
        reading: None,
    };
    let forged = desk.forge(&kay, again);
    is_found(&desk, forged, "a handle that is taken");
}

#[test]
fn an_enrolment_that_the_station_would_refuse_is_found() {
    let enrolment = |handle: &str, key: PersonKey| StaffEnrolled {
        handle: Handle(handle.into()),
        name: "Another".into(),
        role: Role::Nurse,
        registration: None,
        key: Some(key),
        reading: None,
    };
    let fresh = PersonKey([9; 32]);
    for handle in ["../../x", "\u{1b}[2J", "Nell", "nell ", "", "x"] {
        let mut desk = desk();
        let kay = desk.actor("kay");
        let forged = desk.forge(&kay, enrolment(handle, fresh));
        is_found(&desk, forged, "is no handle");
        let found = desk.found(RightsJudge::new());
        assert!(!found[0].1.contains('\u{1b}'), "{found:?}");
        let request = StaffRequest {
            handle: Handle(handle.into()),
            name: "Another".into(),
            role: Role::Nurse,
            registration: None,
            secret: "long-enough".to_owned().into(),
        };
        desk.station.refresh().unwrap();
        assert!(desk.station.enrol(&kay, &request).is_err(), "{handle:?}");
    }
    let mut desk = desk();
    let kay = desk.actor("kay");
    let nells = desk.nurse.key();
    let forged = desk.forge(&kay, enrolment("nora", nells));
    is_found(&desk, forged, "with the key of nell");
}

#[test]
fn a_change_that_leaves_no_keeper_is_refused_and_found() {
    for (change, role) in [
        (StaffMove::Suspended, None),
        (StaffMove::RoleChanged, Some(Role::Nurse)),
    ] {
        let mut desk = desk();
        let kay = desk.actor("kay");
        let handle = Handle("kay".into());
        let told = desk
            .station
            .change_staff(&kay, &handle, change, role, "left");
        let told = told.map(|receipt| receipt.seq).unwrap_err().to_string();
        assert!(told.contains("the last keeper"), "{told}");
        let forged = desk.forge(
            &kay,
            StaffChanged {
                handle,
                change,
                role,
                reason: "left".into(),
                key: None,
                reading: None,
            },
        );
        is_found(&desk, forged, "leaves no keeper");
    }
}

#[test]
fn a_reference_to_what_is_of_another_record_or_kind_is_found() {
    use crate::record::kind::alert::{AlertMove, AlertStep};
    let mut desk = desk();
    let nurse = desk.nurse.clone();
    let (alert, note) = (desk.alert(), note(&mut desk));
    let quill = desk
        .log(admission("Quill", "Bo", "999 000 0026", "T02"))
        .unwrap()
        .patient;
    let pell = desk.station.patient_of(alert);
    let step = |alert| AlertStep {
        alert,
        step: AlertMove::Taken,
        outcome: None,
        what: None,
        to: None,
        take_over: None,
    };
    let forge = |named, patient| {
        let mut forged = Forged::by(&desk, &nurse, step(named));
        forged.patient = patient;
        forged.write(desk._dir.path(), &nurse)
    };
    forge(alert, pell);
    let other = forge(alert, quill);
    let none = forge(note, pell);
    let ahead = forge(Seq(900), pell);
    let found = desk.found(RightsJudge::new());
    let words: Vec<(Seq, &str)> = found.iter().map(|(seq, w)| (*seq, w.as_str())).collect();
    assert_eq!(words.len(), 3, "{words:?}");
    for ((seq, words), (at, said)) in words.iter().zip([
        (other, "another record"),
        (none, "and it is none"),
        (ahead, "not there yet"),
    ]) {
        assert!(*seq == at && words.contains(said), "{words}");
    }
}

#[test]
fn an_amendment_of_what_was_withdrawn_is_found_until_that_is_withdrawn() {
    let mut desk = desk();
    let nurse = desk.nurse.clone();
    let target = note(&mut desk);
    let pell = desk.station.patient_of(target);
    let withdraw = |desk: &Desk, seq| {
        let mut forged = Forged::by(desk, &nurse, amendment(seq, AmendmentAct::Withdraw));
        forged.patient = pell;
        forged.write(desk._dir.path(), &nurse)
    };
    let first = withdraw(&desk, target);
    let again = withdraw(&desk, target);
    is_found(&desk, again, "withdrawn before");
    withdraw(&desk, first);
    withdraw(&desk, target);
    is_found(&desk, again, "withdrawn before");
}

#[test]
fn entries_of_unknown_kinds_are_counted_and_said_not_to_be_judged() {
    use crate::journal::verify::Verdict;
    let desk = desk();
    let nurse = desk.nurse.clone();
    for kind in [60_000, 60_000, 60_001] {
        let options = WriteOptions::new("a newer program", Timestamp(0));
        let (store, _) = FileStore::open_writer(desk._dir.path(), &options).unwrap();
        let entry = NewEntry {
            id: EntryId(IdSource::Random.next_id().unwrap()),
            recorded_at: desk.clock.now(),
            kind,
            kind_version: 1,
            patient: Pseudonym::ZERO,
            encoding: codec::ENCODING,
            payload: vec![1],
            seal: None,
            signer: nurse.signer.clone(),
        };
        store.append(vec![entry], None).unwrap();
    }
    let mut judge = RightsJudge::new();
    let options = VerifyOptions {
        judge: Some(&mut judge),
        ..VerifyOptions::default()
    };
    let found = verify(desk._dir.path(), options).unwrap();
    assert_eq!(found.verdict(), Verdict::NotAllJudged);
    assert_eq!(found.not_judged(), 3);
    let said: Vec<String> = found.findings.iter().map(|f| f.what.to_string()).collect();
    assert_eq!(said.len(), 2, "{said:?}");
    assert!(said[0].contains("first of 2 of kind 60000"), "{said:?}");
}

//! One act after another on a real folder.

mod judged;
mod people;
pub(super) mod sealed;
mod unentitled;

use std::sync::Arc;

use tempfile::TempDir;

use super::clock::FixedClock;
use super::*;
use crate::record::draft::Draft;
use crate::record::kind::Kind;
use crate::record::kind::ward::AmendmentCause;
use crate::record::time::Span;

mod forged;

struct Desk {
    _dir: TempDir,
    clock: Arc<FixedClock>,
    station: Station,
    nurse: Actor,
}

fn desk() -> Desk {
    let dir = TempDir::new().unwrap();
    let clock = Arc::new(FixedClock::new(Timestamp(1_792_000_000_000_000)));
    let request = InitRequest {
        ward: "Test Ward".into(),
        zone: WardZone::LONDON,
        teaching: true,
        handle: Handle("kay".into()),
        name: "Kay".into(),
        secret: "000000".to_owned().into(),
    };
    let (mut station, keeper) = Station::init(dir.path(), &request, clock.clone()).unwrap();
    for (handle, role) in [
        ("nell", Role::Nurse),
        ("ned", Role::Nurse),
        ("gov", Role::Governance),
    ] {
        let request = StaffRequest {
            handle: Handle(handle.into()),
            name: handle.to_uppercase(),
            role,
            registration: None,
            secret: format!("{handle}-secret").into(),
        };
        station.enrol(&keeper, &request).unwrap();
    }
    let nurse = station
        .unlock(&Handle("nell".into()), "nell-secret")
        .unwrap();
    let mut desk = Desk {
        _dir: dir,
        clock,
        station,
        nurse,
    };
    desk.log(admission("Pell", "Ada", "999 000 0018", "T01"))
        .unwrap();
    desk
}

pub(in crate::station) fn admission(family: &str, given: &str, nhs: &str, slot: &str) -> Draft {
    Draft::new(Kind::Admission)
        .with("family", family)
        .with("given", given)
        .with("born", "02-Jul-1944")
        .with("sex", "female")
        .with("nhs", nhs)
        .with("slot", slot)
        .with("area", "Mill Lane")
        .with("source", "gp")
        .with("reason", "chest infection")
        .with("allergies", "none known")
        .with("ceiling", "full")
        .with("resuscitation", "attempt")
        .with("scale", "1")
}

impl Desk {
    fn log(&mut self, draft: Draft) -> Result<Receipt, SubmitError> {
        let nurse = self.nurse.clone();
        self.station.submit(&nurse, &draft)
    }

    fn alert(&mut self) -> Seq {
        let draft = Draft::new(Kind::Alert)
            .with("patient", "pell")
            .with("source", "help")
            .with("what", "pressed the button")
            .with("severity", "urgent");
        self.log(draft).unwrap().seq
    }
}

fn refused(result: Result<Receipt, SubmitError>) -> String {
    match result {
        Err(error) => error.to_string(),
        Ok(receipt) => panic!("{} was recorded", receipt.seq),
    }
}

#[test]
fn a_set_of_readings_is_scored_and_the_score_is_kept_with_it() {
    let mut desk = desk();
    let set = Draft::new(Kind::Observation)
        .with("patient", "T01")
        .with("rr", "22")
        .with("spo2", "94")
        .with("oxygen", "air")
        .with("sbp", "118")
        .with("hr", "96")
        .with("acvpu", "alert")
        .with("temp", "37.0");
    let receipt = desk.log(set).unwrap();
    // Clinical reference W2, set 6: NEWS2 4, low.
    assert!(
        receipt.changed[0].starts_with("NEWS2 4 (low)"),
        "{:?}",
        receipt.changed
    );
    let Read::Entry(entry) = desk.station.entry(receipt.seq).unwrap() else {
        panic!()
    };
    let crate::record::kind::Body::Observation(body) = entry.body else {
        panic!()
    };
    assert_eq!(body.score.and_then(|score| score.total), Some(4));
}

#[test]
fn the_second_to_take_an_alert_is_told_who_has_it() {
    let mut desk = desk();
    let alert = desk.alert();
    let take = Draft::new(Kind::AlertStep)
        .with("alert", alert.to_string())
        .with("step", "take");
    desk.log(take.clone()).unwrap();
    let mut second = Station::open_with(desk._dir.path(), desk.clock.clone()).unwrap();
    let ned = second.unlock(&Handle("ned".into()), "ned-secret").unwrap();
    let told = refused(second.submit(&ned, &take));
    assert!(told.contains("is with NELL"), "{told}");
    second.submit(&ned, &take.with("take_over", "yes")).unwrap();
    desk.station.refresh().unwrap();
    let patient = desk.station.resolve_patient("pell").unwrap();
    let life = &desk.station.ward().patient(patient).unwrap().ledgers.alerts[&alert];
    assert_eq!(life.holder().map(|(who, _)| who.as_str()), Some("ned"));
}

#[test]
fn what_is_refused_says_what_would_be_accepted() {
    let mut desk = desk();
    let note = |patient: &str| {
        Draft::new(Kind::Note)
            .with("text", "slept well")
            .with("patient", patient)
    };
    let told = refused(desk.log(note("Pall")));
    assert!(
        told.contains("no patient on this ward") && told.contains("PELL, Ada"),
        "{told}"
    );
    let told = refused(desk.log(note("pell").with("topik", "skin")));
    assert!(told.contains("topik") && told.contains("topic"), "{told}");
    let future = note("pell").with("at", "+2h");
    assert!(refused(desk.log(future)).contains("still to come"));
    let governance = desk
        .station
        .unlock(&Handle("gov".into()), "gov-secret")
        .unwrap();
    let told = refused(desk.station.submit(&governance, &note("pell")));
    assert!(
        told.contains("may not write \"note\"") && told.contains("registered nurse"),
        "{told}"
    );
    let step = Draft::new(Kind::TaskStep)
        .with("task", "#6")
        .with("step", "done");
    let told = refused(desk.log(step));
    assert!(told.contains("not a task that stands"), "{told}");
}

#[test]
fn a_discharged_patient_takes_late_entries_and_nothing_new() {
    let mut desk = desk();
    let start = desk.station.now();
    desk.clock.set(start.plus(Span::hours(5)));
    let leave = Draft::new(Kind::Discharge)
        .with("patient", "pell")
        .with("to", "home")
        .with("summary", "well");
    desk.log(leave).unwrap();
    let note = Draft::new(Kind::Note)
        .with("text", "rang")
        .with("patient", "pell");
    assert!(refused(desk.log(note.clone())).contains("left the ward"));
    let late = note.with("at", "-2h").with("late_reason", "system down");
    desk.log(late).unwrap();
}

#[test]
fn a_late_entry_asks_for_its_reason() {
    let mut desk = desk();
    desk.clock.set(desk.station.now().plus(Span::hours(5)));
    let note = Draft::new(Kind::Note)
        .with("text", "rang")
        .with("patient", "pell")
        .with("at", "-2h");
    let Err(SubmitError::Confirm(asked)) = desk.log(note.clone()) else {
        panic!("not asked")
    };
    assert_eq!(asked[0].field, "late_reason");
    desk.log(note.with("confirm", "yes")).unwrap();
}

#[test]
fn withdrawn_and_corrected_entries_keep_their_originals() {
    let mut desk = desk();
    let nurse = desk.nurse.clone();
    let alert = desk.alert();
    let reason = AmendmentReason {
        cause: AmendmentCause::WrongPatient,
        words: None,
    };
    desk.station.withdraw(&nurse, alert, &reason, None).unwrap();
    let patient = desk.station.resolve_patient("pell").unwrap();
    let pell = desk.station.ward().patient(patient).unwrap();
    assert!(pell.ledgers.alerts.is_empty());
    assert!(pell.log.holds(alert), "the original is still in the log");
    let again = desk.station.withdraw(&nurse, alert, &reason, None);
    assert!(refused(again).contains("was withdrawn"));
    let note = Draft::new(Kind::Note)
        .with("text", "right leg")
        .with("patient", "pell");
    let note = desk.log(note).unwrap().seq;
    let typing = AmendmentReason {
        cause: AmendmentCause::Typing,
        words: None,
    };
    let change = [("text".to_owned(), "left leg".to_owned())];
    desk.station
        .correct(&nurse, note, &change, &typing, false)
        .unwrap();
    let pell = desk.station.ward().patient(patient).unwrap();
    assert_eq!(pell.ledgers.notes[0].body.text.as_str(), "left leg");
    let ned = desk
        .station
        .unlock(&Handle("ned".into()), "ned-secret")
        .unwrap();
    let told = refused(desk.station.withdraw(&ned, note, &typing, None));
    assert!(told.contains("was written by NELL"), "{told}");
}

#[test]
fn wrong_pins_slow_down_and_say_so() {
    let mut desk = desk();
    let nell = Handle("nell".into());
    for _ in 0..3 {
        let told = desk
            .station
            .unlock(&nell, "wrong one")
            .err()
            .map(|error| error.to_string());
        assert!(told.unwrap_or_default().contains("not the right PIN"));
    }
    let told = desk
        .station
        .unlock(&nell, "nell-secret")
        .err()
        .map(|error| error.to_string());
    assert!(told.unwrap_or_default().contains("try again in 5 seconds"));
}

#[test]
fn what_was_written_verifies_with_its_authors() {
    let mut desk = desk();
    desk.alert();
    let mut judge = judge::RightsJudge::new();
    let options = crate::journal::verify::VerifyOptions {
        judge: Some(&mut judge),
        ..Default::default()
    };
    let found = crate::journal::verify::verify(desk._dir.path(), options).unwrap();
    assert!(found.is_sound(), "{:?}", found.findings);
    assert_eq!(found.entries, desk.station.head().seq.0);
}

#[test]
fn as_of_shows_only_what_was_recorded_by_then() {
    let mut desk = desk();
    let before = desk.station.now();
    desk.clock.set(before.plus(Span::hours(1)));
    let alert = desk.alert();
    let then = desk.station.as_of(before).ward;
    assert!(then.open_items(before).is_empty());
    let now = desk.station.now();
    let open = desk.station.as_of(now).ward.open_items(now);
    assert_eq!(
        open.iter().map(|item| item.seq).collect::<Vec<_>>(),
        [alert]
    );
}

#[test]
fn a_handed_over_sheet_is_drawn_again_to_the_byte() {
    let mut desk = desk();
    desk.alert();
    let nurse = desk.nurse.clone();
    let request = HandoverRequest {
        receiver: Some(Handle("ned".into())),
        opening: Some("quiet night".into()),
        ..HandoverRequest::default()
    };
    desk.clock.set(desk.station.now().plus(Span::minutes(5)));
    let handover = desk.station.prepare_handover(&nurse, &request).unwrap().seq;
    let alert = desk.alert();
    let ned = desk
        .station
        .unlock(&Handle("ned".into()), "ned-secret")
        .unwrap();
    let ask = Some("since when?".to_owned());
    desk.station
        .handover_step(&ned, handover, "query", Some("pell".into()), ask, None)
        .unwrap();
    desk.clock.set(desk.station.now().plus(Span::hours(3)));
    desk.station
        .handover_step(&ned, handover, "accept", None, None, None)
        .unwrap();
    let state = desk.station.handover_sheet(handover).unwrap().unwrap();
    assert!(state.is_same(), "{} is not {}", state.digest, state.named);
    let life = &desk.station.ward().handovers()[&handover];
    assert!(life.accepted().is_some());
    // What came after it was prepared is not on it.
    assert!(state.sheet.head.journal_seq < alert);
}

#[test]
fn an_alert_of_the_ward_is_not_closed_through_a_patient() {
    let mut desk = desk();
    let ward_alert = Draft::new(Kind::Alert)
        .with("source", "kit")
        .with("what", "the hub is down")
        .with("severity", "urgent");
    let alert = desk.log(ward_alert).unwrap().seq;
    let close = Draft::new(Kind::AlertStep)
        .with("alert", alert.to_string())
        .with("step", "closed")
        .with("outcome", "resolved");
    let told = refused(desk.log(close.clone().with("patient", "pell")));
    assert!(told.contains("belongs to the ward"), "{told}");
    let acted = Draft::new(Kind::AlertStep)
        .with("alert", alert.to_string())
        .with("step", "actioned")
        .with("what", "restarted");
    desk.log(acted).unwrap();
    desk.log(close).unwrap();
    assert!(
        desk.station
            .ward()
            .open_items(desk.station.now())
            .is_empty()
    );
}

#[test]
fn a_correction_is_checked_like_a_new_entry() {
    let mut desk = desk();
    let nurse = desk.nurse.clone();
    let task = Draft::new(Kind::Task)
        .with("patient", "pell")
        .with("what", "ring")
        .with("due", "+1h");
    let task = desk.log(task).unwrap().seq;
    let done = Draft::new(Kind::TaskStep)
        .with("task", task.to_string())
        .with("step", "done");
    let done = desk.log(done).unwrap().seq;
    let reason = AmendmentReason {
        cause: AmendmentCause::Typing,
        words: None,
    };
    let wrong = [("task".to_owned(), "#9999".to_owned())];
    let told = refused(desk.station.correct(&nurse, done, &wrong, &reason, true));
    assert!(told.contains("there is no entry #9999"), "{told}");
    let common = [("late_reason".to_owned(), "busy".to_owned())];
    let told = refused(desk.station.correct(&nurse, done, &common, &reason, true));
    assert!(told.contains("is not corrected"), "{told}");
}

#[test]
fn after_discharge_a_help_call_is_asked_about_and_taken() {
    let mut desk = desk();
    let leave = Draft::new(Kind::Discharge)
        .with("patient", "pell")
        .with("to", "home")
        .with("summary", "well");
    desk.log(leave).unwrap();
    let call = Draft::new(Kind::Alert)
        .with("patient", "pell")
        .with("source", "help")
        .with("what", "pressed the button")
        .with("severity", "urgent");
    let asked = desk.log(call.clone());
    assert!(matches!(asked, Err(SubmitError::Confirm(_))));
    desk.log(call.with("confirm", "yes")).unwrap();
}

#[test]
fn nobody_accepts_what_they_gave() {
    let mut desk = desk();
    let nurse = desk.nurse.clone();
    let request = HandoverRequest {
        receiver: Some(Handle("ned".into())),
        ..HandoverRequest::default()
    };
    let handover = desk.station.prepare_handover(&nurse, &request).unwrap().seq;
    let own = desk
        .station
        .handover_step(&nurse, handover, "accept", None, None, None);
    assert!(refused(own).contains("whoever gave"));
    let ned = desk
        .station
        .unlock(&Handle("ned".into()), "ned-secret")
        .unwrap();
    desk.station
        .handover_step(&ned, handover, "accept", None, None, None)
        .unwrap();
    let late = desk.station.handover_step(
        &ned,
        handover,
        "decline",
        None,
        Some("changed my mind".into()),
        None,
    );
    assert!(refused(late).contains("settled already"));
}

#[test]
fn a_refused_init_leaves_nothing_behind() {
    let dir = TempDir::new().unwrap();
    let place = dir.path().join("ward");
    let clock = Arc::new(FixedClock::new(Timestamp(1_792_000_000_000_000)));
    let mut request = InitRequest {
        ward: "Test Ward".into(),
        zone: WardZone::LONDON,
        teaching: true,
        handle: Handle("kay".into()),
        name: "Kay".into(),
        secret: "12345".to_owned().into(),
    };
    assert!(Station::init(&place, &request, clock.clone()).is_err());
    assert!(!place.exists());
    request.secret = "123456".to_owned().into();
    Station::init(&place, &request, clock).unwrap();
}

#[test]
fn what_is_recorded_is_for_the_account_that_records_it() {
    use std::os::unix::fs::PermissionsExt;
    let desk = desk();
    let mut places = vec![desk._dir.path().to_path_buf()];
    let mut looked_at = 0;
    while let Some(place) = places.pop() {
        for entry in std::fs::read_dir(&place).unwrap() {
            let entry = entry.unwrap();
            let mode = entry.metadata().unwrap().permissions().mode();
            assert_eq!(mode & 0o077, 0, "{} is {mode:o}", entry.path().display());
            looked_at += 1;
            if entry.path().is_dir() {
                places.push(entry.path());
            }
        }
    }
    assert!(looked_at > 5, "keys and segments were looked at");
}

#[test]
fn two_small_files_written_at_once_keep_their_own_contents() {
    let dir = TempDir::new().unwrap();
    std::thread::scope(|scope| {
        for name in ["x.key", "x.tries"] {
            let path = dir.path().join(name);
            scope.spawn(move || {
                for _ in 0..200 {
                    crate::journal::replace_small_file(&path, name.as_bytes()).unwrap();
                    assert_eq!(std::fs::read(&path).unwrap(), name.as_bytes());
                }
            });
        }
    });
}

#[test]
fn nothing_is_written_after_damage_until_a_keeper_accepts_it() {
    let mut desk = desk();
    let first = desk.alert();
    desk.alert();
    // One byte of an earlier entry's payload.
    let segment = desk.station.layout().segment(Seq(1));
    let mut bytes = std::fs::read(&segment).unwrap();
    let words = b"pressed the button";
    let at = bytes
        .windows(words.len())
        .position(|window| window == words)
        .unwrap();
    bytes[at] ^= 1;
    std::fs::write(&segment, &bytes).unwrap();
    let mut station = Station::open_with(desk._dir.path(), desk.clock.clone()).unwrap();
    let note = Draft::new(Kind::Note)
        .with("text", "on")
        .with("patient", "pell");
    let nell = station
        .unlock(&Handle("nell".into()), "nell-secret")
        .unwrap();
    let told = refused(station.submit(&nell, &note));
    assert!(told.contains("until a keeper accepts"), "{told}");
    let report = station.damage().unwrap().expect("there is damage");
    assert!(
        report.places[0].contains(&first.to_string()),
        "{:?}",
        report.places
    );
    assert!(
        station
            .accept_damage(&nell, None, &report, "read it")
            .is_err(),
        "a nurse may not"
    );
    let keeper = station.unlock(&Handle("kay".into()), "000000").unwrap();
    station
        .accept_damage(&keeper, None, &report, "governance told")
        .unwrap();
    station.submit(&nell, &note).unwrap();
}

#[test]
fn as_of_passes_over_what_a_fast_clock_wrote_and_keeps_what_follows() {
    let mut desk = desk();
    let noon = desk.clock.now();
    desk.clock.set(noon.plus(Span::hours(6)));
    let fast = desk.alert();
    desk.clock.set(noon.plus(Span::minutes(5)));
    let right = desk.alert();
    let ward = desk.station.as_of(noon.plus(Span::hours(1))).ward;
    let alerts = &ward.patients().next().unwrap().ledgers.alerts;
    assert!(alerts.contains_key(&right));
    assert!(!alerts.contains_key(&fast));
}

#[test]
fn reaching_somebody_and_speaking_to_nobody_is_refused() {
    let mut desk = desk();
    let contact = Draft::new(Kind::Contact)
        .with("patient", "T01")
        .with("mode", "phone")
        .with("outcome", "reached")
        .with("spoke_to", "nobody");
    let said = refused(desk.log(contact));
    assert!(said.contains("nobody was spoken to"), "{said}");
}

#[test]
fn a_call_that_nobody_took_is_not_said_to_have_acted_on_an_alert() {
    let mut desk = desk();
    let alert = desk.alert();
    let call = |outcome: &str| {
        Draft::new(Kind::Contact)
            .with("patient", "pell")
            .with("mode", "phone")
            .with("outcome", outcome)
            .with("then", "next-of-kin")
            .with("answers", alert.to_string())
            .with("confirm", "yes")
    };
    let said = |receipt: Receipt| receipt.changed[0].clone();
    let nobody = said(desk.log(call("no-answer")).unwrap());
    assert_eq!(
        nobody,
        format!("alert {alert}: yours; nobody was reached yet")
    );
    let reached = said(desk.log(call("reached")).unwrap());
    assert_eq!(reached, format!("alert {alert}: taken and acted on by you"));
    let ned = Handle("ned".into());
    desk.nurse = desk.station.unlock(&ned, "ned-secret").unwrap();
    let colleague = said(desk.log(call("no-answer")).unwrap());
    let wanted = format!("alert {alert}: you tried, nobody was reached; it is still with NELL");
    assert!(colleague.starts_with(&wanted), "{colleague}");
}

#[test]
fn a_contact_that_says_nothing_of_the_next_one_leaves_it_as_agreed() {
    let mut desk = desk();
    let call = |next: Option<&str>| {
        let draft = Draft::new(Kind::Contact)
            .with("patient", "pell")
            .with("mode", "phone")
            .with("outcome", "reached");
        match next {
            Some(next) => draft.with("next", next),
            None => draft,
        }
    };
    let said = |receipt: Receipt| receipt.changed.join("; ");
    let none = said(desk.log(call(None)).unwrap());
    assert_eq!(none, "no next contact is planned");
    let agreed = said(desk.log(call(Some("+4h"))).unwrap());
    let when = agreed.strip_prefix("next contact ").unwrap().to_owned();
    let kept = said(desk.log(call(None)).unwrap());
    assert_eq!(kept, format!("the next contact stays as agreed: {when}"));
}

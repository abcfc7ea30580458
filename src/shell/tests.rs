//! A nurse at one keyboard, without a terminal.

mod acts;
mod asked_for;
mod entering;
mod lacking;
mod night;
mod opening;
mod together;
mod whose;

use std::sync::{Arc, Mutex};

use super::draft::{Kept, Parked};
use super::known::SharedKnown;
use super::session::{Next, Session, State, held};
use crate::line_input::LineTooLong;
use crate::record::draft::Draft;
use crate::record::ids::{EntryId, Seq};
use crate::record::kind::Kind;
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::{Timestamp, WardZone};
use crate::shorthand::{Entries, Parsed, parse};
use crate::station::clock::FixedClock;
use crate::station::{Actor, InitRequest, Offer, StaffRequest, Station, SubmitError};
use crate::ward::Read;

const PIN: &str = "4729-11";

pub(super) struct Desk {
    pub(super) session: Session,
    /// A colleague at another keyboard.
    tom: Actor,
    _dir: tempfile::TempDir,
}

/// A ward that was just opened, in a folder of its own, and its keeper.
fn ward() -> (tempfile::TempDir, Station, Actor) {
    let dir = tempfile::tempdir().expect("a folder");
    let request = InitRequest {
        ward: "Tansy Ward".to_owned(),
        zone: WardZone::LONDON,
        teaching: true,
        handle: Handle("keeper".to_owned()),
        name: "Kit Keeper".to_owned(),
        secret: PIN.to_owned().into(),
    };
    let clock = Arc::new(FixedClock::new(Timestamp(1_784_208_000_000_000)));
    let path = dir.path().join("journal");
    let (station, keeper) = Station::init(&path, &request, clock).expect("a ward");
    (dir, station, keeper)
}

fn nurse(handle: &str, name: &str) -> StaffRequest {
    StaffRequest {
        handle: Handle(handle.to_owned()),
        name: name.to_owned(),
        role: Role::Nurse,
        registration: None,
        secret: PIN.to_owned().into(),
    }
}

fn admission(family: &str, given: &str, slot: &str, nhs: &str) -> Draft {
    Draft::new(Kind::Admission)
        .with("patient", "new")
        .with("family", family)
        .with("given", given)
        .with("born", "02-Jul-1944")
        .with("sex", "female")
        .with("nhs", nhs)
        .with("slot", slot)
        .with("area", "Fernhill")
        .with("source", "gp")
        .with("reason", "chest infection")
        .with("allergies", "none known")
        .with("ceiling", "full")
        .with("resuscitation", "attempt")
        .with("scale", "1")
}

/// Maya signed in on a ward with two patients; the second is selected.
pub(super) fn desk() -> Desk {
    let (dir, mut station, keeper) = ward();
    for (handle, name) in [("maya", "Maya Lind"), ("tom", "Tom Arkwright")] {
        station
            .enrol(&keeper, &nurse(handle, name))
            .expect("enrolled");
    }
    let mut unlock = |handle: &str| {
        let handle = Handle(handle.to_owned());
        station.unlock(&handle, PIN).expect("unlocked")
    };
    let (actor, tom) = (unlock("maya"), unlock("tom"));
    for (family, slot, nhs) in [
        ("Pell", "T07", "999 000 0018"),
        ("Osei", "T09", "999 000 0026"),
    ] {
        let draft = admission(family, "Kofi", slot, nhs);
        station.submit(&actor, &draft).expect("admitted");
    }
    let station = Arc::new(Mutex::new(station));
    let mut session = Session::new(station, SharedKnown::default(), true);
    session.unlocked(actor);
    session.turn("t09");
    Desk {
        session,
        tom,
        _dir: dir,
    }
}

impl Desk {
    fn turn(&mut self, line: &str) -> String {
        self.session.turn(line)
    }

    /// Records an entry, and gives its number.
    fn records(&mut self, line: &str) -> Seq {
        let said = self.turn(line);
        let head = self.head();
        assert!(said.contains(&format!("{head} ")), "{line}: {said}");
        head
    }

    fn head(&self) -> Seq {
        held(&self.session.station).head().seq
    }

    fn entries(&self, line: &str) -> Entries {
        match parse(line, &self.session.context()) {
            Ok(Parsed::Entries(entries)) => entries,
            other => panic!("{line}: {other:?}"),
        }
    }

    /// As if the journal's answer for the entry at `index` of a line had not come.
    fn unanswered(&mut self, line: &str, index: usize, seqs: &[Seq], id: EntryId) -> String {
        let cause = "flush failed".to_owned();
        let error = SubmitError::NotKnown {
            id,
            further: Vec::new(),
            cause,
        };
        let entries = self.entries(line);
        self.session.stopped_at(index, seqs, entries, line, &error)
    }

    fn id_of(&self, seq: Seq) -> EntryId {
        match held(&self.session.station).entry(seq) {
            Ok(Read::Entry(entry)) => entry.id,
            _ => panic!("{seq} cannot be read"),
        }
    }

    /// The question a form asks, without its patient.
    fn question(&mut self) -> String {
        let mark = self.session.ask().mark;
        let question = mark.strip_prefix("T09 OSEI ");
        let question = question.or_else(|| mark.strip_prefix("patient? "));
        question.unwrap_or(&mark).to_owned()
    }

    fn refilled(&self) -> &str {
        match &self.session.state {
            State::Ready(Some(refill)) => &refill.line,
            other => panic!("{other:?}"),
        }
    }
}

// Offers.

#[test]
fn an_offer_is_gone_once_somebody_moves_on() {
    let mut desk = desk();
    let offer = Offer {
        key: 'x',
        label: "a task".to_owned(),
        draft: Draft::new(Kind::Task),
    };
    for (line, left) in [
        ("t07", 0),
        ("ward", 0),
        ("sel t09", 0),
        ("tasks", 0),
        ("obs rr 18 s96 air", 0),
        ("obs rr frog", 1),
    ] {
        desk.session.offers = vec![offer.clone()];
        let said = desk.turn(line);
        let offered = desk.session.offers.iter().filter(|one| one.key == 'x');
        assert_eq!(offered.count(), left, "{line}: {said}");
    }
}

// Undo.

#[test]
fn undo_takes_back_a_withdrawal_and_not_what_was_before_it() {
    let mut desk = desk();
    let first = desk.records("note slept well");
    let second = desk.records("note eats well");
    let withdrawal = desk.records(&format!("withdraw {first} typing"));
    let said = desk.turn("undo");
    assert!(
        said.contains(&format!("{withdrawal} is taken back")),
        "{said}"
    );
    let said = desk.turn("undo");
    assert!(said.contains(&format!("Take back {second}?")), "{said}");
    let said = desk.turn("y");
    assert!(said.contains(&format!("{second} is taken back")), "{said}");
}

#[test]
fn undo_passes_over_what_can_never_be_taken_back_once_it_has_said_so() {
    let mut desk = desk();
    let note = desk.records("note slept well");
    let said = desk.turn("handover prepare");
    let handover = desk.head();
    assert!(handover > note, "{said}");
    let said = desk.turn("undo");
    assert!(
        said.contains(&format!("{handover} is not taken back")),
        "{said}"
    );
    assert!(said.contains(&format!("again takes back {note}")), "{said}");
    let said = desk.turn("undo");
    assert!(said.contains(&format!("{note} is taken back")), "{said}");
}

// What the journal gave no answer for.

const CALL: &str = "v reached rr18 s96 air n+4h \"well, eating\"";

#[test]
fn an_entry_that_was_recorded_after_all_is_not_entered_again() {
    let mut desk = desk();
    let call = desk.entries(CALL);
    assert_eq!((call.drafts.len(), call.links.len()), (2, 1), "{call:?}");
    // The contact stands, the answer for it never came.
    let contact = desk.records("v reached n+4h \"well, eating\"");
    let id = desk.id_of(contact);
    let said = desk.unanswered(CALL, 0, &[], id);
    assert!(
        said.contains(&id.to_string()) && !said.contains("tries it again"),
        "{said}"
    );
    let said = desk.turn("draft");
    assert!(
        said.contains(&format!("It is recorded: {contact}.")),
        "{said}"
    );
    assert_eq!(desk.head(), Seq(contact.0 + 1), "the readings only: {said}");
    assert!(said.contains(&format!("during {contact}")), "{said}");
    assert_eq!(desk.turn("draft"), "Nothing is kept for you.");
}

#[test]
fn an_entry_that_was_not_recorded_is_entered_with_the_rest() {
    let mut desk = desk();
    let before = desk.head();
    desk.unanswered(CALL, 0, &[], EntryId([7; 16]));
    let said = desk.turn("draft");
    assert!(said.starts_with("It had not been recorded."), "{said}");
    assert_eq!(desk.head(), Seq(before.0 + 2), "{said}");
    assert!(
        said.contains(&format!("during #{}", before.0 + 1)),
        "{said}"
    );
}

#[test]
fn the_rest_of_a_line_still_cites_what_was_recorded_of_it() {
    let mut desk = desk();
    let contact = desk.records("v reached n+4h \"well, eating\"");
    let full = SubmitError::Refused(Vec::new());
    let entries = desk.entries(CALL);
    let said = desk.session.stopped_at(1, &[contact], entries, CALL, &full);
    assert!(said.contains("\"draft\" tries it again"), "{said}");
    let said = desk.turn("draft");
    assert!(said.contains(&format!("during {contact}")), "{said}");
}

// What is kept.

#[test]
fn everything_kept_comes_back_and_quit_says_what_would_be_lost() {
    let mut desk = desk();
    for line in ["note one", "note two"] {
        desk.session.park(Parked::Line(line.to_owned()));
    }
    let said = desk.turn("quit");
    assert!(
        said.contains("note one") && said.contains("note two"),
        "{said}"
    );
    assert_eq!(desk.session.next, Next::Go);
    assert!(desk.turn("draft").contains("T09 OSEI: note one"));
    assert_eq!(desk.refilled(), "note two");
    desk.turn("draft");
    assert_eq!(desk.refilled(), "note one");
    desk.session.park(Parked::Line("note one".to_owned()));
    assert!(desk.turn("quit").contains("lost when the shell ends"));
    assert!(desk.turn("quit").is_empty());
    assert_eq!(desk.session.next, Next::Quit);
}

#[test]
fn a_form_left_by_the_end_of_the_input_is_kept_and_said() {
    let mut desk = desk();
    desk.turn("alert");
    assert!(matches!(desk.session.state, State::Form(_)));
    assert!(desk.session.quit().contains("a form"));
    assert_eq!(desk.session.next, Next::Go);
    desk.session.quit();
    assert_eq!(desk.session.next, Next::Quit);
}

#[test]
fn of_other_people_quit_says_only_how_much_is_kept() {
    let mut desk = desk();
    let tom = Handle("tom".to_owned());
    let theirs = vec![Kept {
        patient: None,
        what: Parked::Line("note about somebody".to_owned()),
    }];
    desk.session.parked.insert(tom, theirs);
    let said = desk.turn("quit");
    assert!(
        said.contains("tom: 1 kept") && !said.contains("somebody"),
        "{said}"
    );
}

#[test]
fn a_line_too_long_is_refused_in_words() {
    let mut desk = desk();
    let said = desk.session.too_long(LineTooLong { most: 10 });
    assert!(
        said.contains("Nothing was recorded") && said.contains("10 bytes"),
        "{said}"
    );
    assert_eq!(desk.session.refused, 1);
}

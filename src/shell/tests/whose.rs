//! Nothing goes to a patient it was not meant for.

use super::*;

impl Desk {
    /// Keeps a line of T07's that was not confirmed, and opens T09.
    fn kept_of_pell_with_osei_open(&mut self) {
        self.turn("t07");
        let said = self.turn("obs rr 40 sats 80");
        assert!(said.contains("for T07 PELL, Kofi"), "{said}");
        self.turn("cancel");
        self.turn("t09");
    }

    fn patient_of(&self, seq: Seq) -> String {
        let station = held(&self.session.station);
        super::super::look::who(station.ward(), station.patient_of(seq))
    }

    fn open(&self) -> String {
        self.session.full(self.session.patient)
    }
}

#[test]
fn a_kept_line_goes_to_the_patient_it_was_typed_for() {
    let mut desk = desk();
    desk.kept_of_pell_with_osei_open();
    let said = desk.turn("draft");
    assert!(said.contains("T07 PELL, Kofi is selected again"), "{said}");
    assert_eq!(desk.open(), "T07 PELL, Kofi");
    let line = desk.refilled().to_owned();
    assert_eq!(line, "obs rr 40 sats 80");
    desk.turn(&line);
    assert_eq!(desk.session.ask().mark, "T07 PELL record it? y/N");
    let before = desk.head();
    desk.turn("y");
    assert_eq!(desk.head(), Seq(before.0 + 1));
    assert_eq!(desk.patient_of(desk.head()), "T07 PELL, Kofi");
}

#[test]
fn a_line_kept_with_nobody_selected_is_brought_back_with_nobody_selected() {
    let mut desk = desk();
    desk.turn("ward");
    desk.session.interrupted("obs rr 18");
    desk.turn("t09");
    let said = desk.turn("draft");
    assert!(said.contains("No patient is selected"), "{said}");
    let before = desk.head();
    desk.turn("obs rr 18");
    assert_eq!(desk.head(), before, "it asks for whom");
}

#[test]
fn a_kept_form_goes_to_its_patient_and_names_it_in_heading_prompt_and_question() {
    let mut desk = desk();
    desk.turn("t07");
    let said = desk.turn("alert");
    assert!(said.contains("for T07 PELL, Kofi: "), "{said}");
    assert_eq!(desk.session.ask().mark, "T07 PELL source 1/5");
    desk.turn("kit");
    desk.turn("cancel");
    desk.turn("t09");
    let said = desk.turn("draft");
    assert!(said.contains("T07 PELL, Kofi is selected again"), "{said}");
    assert_eq!(desk.session.ask().mark, "T07 PELL what 2/5");
    desk.turn("oximeter flat");
    desk.turn("soon");
    desk.turn(".");
    assert_eq!(desk.patient_of(desk.head()), "T07 PELL, Kofi");
    assert_eq!(desk.open(), "T07 PELL, Kofi");
}

#[test]
fn of_several_the_open_patients_comes_first_and_the_others_are_listed_by_patient() {
    let mut desk = desk();
    desk.session.interrupted("note of Osei");
    desk.kept_of_pell_with_osei_open();
    let said = desk.turn("draft");
    assert_eq!(desk.refilled(), "note of Osei");
    assert_eq!(desk.open(), "T09 OSEI, Kofi");
    assert!(!said.contains("selected again"), "{said}");
    assert!(said.contains("T07 PELL: obs rr 40 sats 80"), "{said}");
}

#[test]
fn what_is_kept_names_its_patient_when_quitting_and_when_unlocking() {
    let mut desk = desk();
    desk.kept_of_pell_with_osei_open();
    desk.turn("alert");
    desk.turn("cancel");
    let said = desk.turn("quit");
    assert!(said.contains("T07 PELL: obs rr 40 sats 80"), "{said}");
    assert!(
        said.contains("T09 OSEI: a form, Alert, source 1/5"),
        "{said}"
    );
    let actor = desk.session.actor.clone().expect("signed in");
    desk.session.lock("");
    let said = desk.session.unlocked(actor);
    assert!(said.contains("T07 PELL: obs rr 40 sats 80"), "{said}");
}

#[test]
fn a_form_about_another_patients_alert_names_that_patient() {
    let mut desk = desk();
    desk.turn("t07");
    desk.turn("alert source kit severity soon what \"flat battery\"");
    let alert = desk.head();
    desk.turn("t09");
    let said = desk.turn(&format!("close {alert}"));
    assert!(said.contains("for T07 PELL, Kofi"), "{said}");
    let mark = desk.session.ask().mark;
    assert!(mark.starts_with("T07 PELL "), "{mark}");
}

#[test]
fn one_letter_opens_nobodys_record() {
    for line in ["k", "pe", "os", "sel p", "sel os"] {
        let mut desk = desk();
        desk.turn("ward");
        let said = desk.turn(line);
        assert!(said.contains("three letters of a name"), "{line}: {said}");
        assert_eq!(desk.session.patient, None, "{line}");
    }
    // Nor does it write into one.
    for line in [
        "note @o slept well",
        "note @k slept well",
        "note @pe slept well",
    ] {
        let mut desk = desk();
        let head = desk.head();
        let said = desk.turn(line);
        assert!(said.contains("three letters of a name"), "{line}: {said}");
        assert_eq!(desk.head(), head, "{line}");
    }
    for line in ["pel", "t07", "sel pell", "999 000 0018"] {
        let mut desk = desk();
        desk.turn("ward");
        desk.turn(line);
        assert_eq!(desk.open(), "T07 PELL, Kofi", "{line}");
    }
}

#[test]
fn an_offer_that_has_lapsed_says_so_and_does_nothing_else() {
    for key in ['o', 'd', 'u'] {
        let mut desk = desk();
        let note = desk.records("note slept well");
        desk.session.offers = vec![Offer {
            key,
            label: "a task for it".to_owned(),
            draft: Draft::new(Kind::Task)
                .with("patient", "t09")
                .with("what", "repeat"),
        }];
        desk.turn("t07");
        let said = desk.turn(&key.to_uppercase().to_string());
        assert!(said.contains("has lapsed"), "{key}: {said}");
        assert!(said.contains("task patient=T09 what=repeat"), "{said}");
        assert_eq!(desk.open(), "T07 PELL, Kofi");
        assert_eq!(desk.head(), note);
    }
}

#[test]
fn undo_of_another_patients_entry_asks_and_names_both() {
    let mut desk = desk();
    let note = desk.records("note slept well");
    desk.turn("t07");
    let said = desk.turn("undo");
    assert!(said.contains("another patient"), "{said}");
    assert!(
        said.contains(&format!("Take back {note}?")) && said.contains("T09 OSEI, Kofi"),
        "{said}"
    );
    assert_eq!(desk.session.ask().mark, "take it back? y/N");
    desk.turn("");
    assert_eq!(desk.head(), note);
    desk.turn("undo");
    let said = desk.turn("y");
    assert!(said.contains(&format!("{note} is taken back")), "{said}");
}

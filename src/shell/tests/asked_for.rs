//! The coma scale, the 4AT, losses and signs at the keyboard.

use super::*;

const WELL: &str = "rr 18 s96 air 128/76 hr 88 temp 37.1";

#[test]
fn both_scales_and_losses_are_typed_as_they_are_said() {
    let mut desk = desk();
    let said = desk.turn(&format!(
        "obs {WELL} confused gcs e4 v4 m6 4at 0 1 2 4 \"muddled\""
    ));
    assert!(said.contains("Coma scale 14 (E4 V4 M6)"), "{said}");
    assert!(said.contains("4AT 7: possible delirium"), "{said}");
    assert!(
        said.contains("NEWS2 3") && said.contains("the 4AT is done"),
        "{said}"
    );
    let said = desk.turn("obs in 500 passed 200 out drain 250 left chest; vomit unmeasured");
    assert!(
        said.contains("balance +50 mL, from 3 amounts; vomit not measured"),
        "{said}"
    );
    let said = desk.turn("obs bp 190/100 src staff signs chest-pain; headache");
    assert!(
        said.contains("with chest pain: specialist assessment the same day"),
        "{said}"
    );
}

#[test]
fn what_is_refused_says_what_would_do_and_keeps_the_line() {
    let mut desk = desk();
    for (line, what) in [
        ("obs gcs 15", "is a total: the parts are always given"),
        ("obs gcs e4 m6", "the verbal part is missing"),
        ("obs 4at 0 1 2", "neither the four items nor a total"),
        ("obs 4at 1 0 0 0", "alertness 1 is not on the form"),
        ("obs out 250", "what was lost"),
        ("obs out vomit", "how much"),
        ("obs signs dizzy", "not one of the values"),
    ] {
        desk.session.state = State::Ready(None);
        let before = desk.head();
        let said = desk.turn(line);
        assert!(said.contains(what), "{line}: {said}");
        assert_eq!((desk.head(), desk.refilled()), (before, line));
    }
}

#[test]
fn none_beside_a_sign_is_asked_again_in_a_form() {
    let mut desk = desk();
    let before = desk.head();
    let said = desk.turn("obs signs none; sight");
    assert!(said.contains("none is given beside a sign"), "{said}");
    assert_eq!(desk.head(), before);
}

/// One of the two is wrong, or the confusion is old: ACVPU scores 3 for what is new.
#[test]
fn alert_beside_a_scale_that_is_not_alert_is_asked_about() {
    for line in ["gcs e4 v4 m6", "gcs e3 v5 m6", "4at 4 0 0 0", "4at 0 0 0 4"] {
        let mut desk = desk();
        let said = desk.turn(&format!("obs {WELL} al {line}"));
        assert!(
            said.contains("new confusion is acvpu confused"),
            "{line}: {said}"
        );
    }
    for line in ["gcs e4 v5 m6", "gcs e4 vnt m6", "4at 0 2 1 0"] {
        let mut desk = desk();
        let said = desk.turn(&format!("obs {WELL} al {line}"));
        assert!(
            said.contains("recorded") || said.contains("NEWS2"),
            "{line}: {said}"
        );
        assert!(!said.contains("acvpu confused"), "{line}: {said}");
    }
}

#[test]
fn a_balance_of_another_window_is_asked_for_by_hours() {
    let mut desk = desk();
    desk.turn("obs in 500 passed 200");
    let said = desk.turn("workings t09 over 3h");
    let said = said + &desk.session.take_drawn().expect("a page");
    assert!(said.contains("Fluids over 3hr"), "{said}");
    for line in [
        "workings over 0h",
        "workings over 169h",
        "workings over 90m",
        "wk over x",
    ] {
        desk.session.state = State::Ready(None);
        let said = desk.turn(line);
        assert!(said.contains("whole hours from 1 to 168"), "{line}: {said}");
        assert_eq!(desk.refilled(), line);
    }
}

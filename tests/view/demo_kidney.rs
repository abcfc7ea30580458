//! The demo shows an acute kidney injury nobody has looked at: creatinine 138 on Saturday and 168
//! on Sunday, 30 µmol/L within 48 hours (NHS England's algorithm: more than 26 is AKI 1).

use handfast::ward::Found;
use handfast::ward::workings::{About, Weight, workings};

use crate::demo_ward::whole;

#[test]
fn the_demo_ends_with_an_aki_alert_that_asks_for_somebody() {
    let demo = whole();
    let Found::One(pell) = demo.ward.find_patient("T02") else {
        panic!("nobody is in T02");
    };
    let patient = demo.ward.patient(pell).unwrap();
    let worked = workings(&demo.ward, patient, demo.now);
    let kidney = worked.iter().find(|w| w.about == About::Kidney).unwrap();
    assert!(
        kidney.text.starts_with("AKI 1 alert: creatinine 168"),
        "{}",
        kidney.text
    );
    assert_eq!(kidney.weight, Weight::Act);
}

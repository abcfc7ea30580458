//! The baseline is one fixed list: what nobody recorded is missing on it for all to see.

use handfast::view::baseline::baseline;
use handfast::view::origin::Vantage;

use crate::demo_ward::DemoWard;
use crate::similar_names::{patient, ward};

fn known(demo: &DemoWard, slot: &str, secrets: bool) -> Vec<(&'static str, String)> {
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: None,
    };
    let list = baseline(&vantage, patient(demo, slot), secrets);
    list.into_iter().map(|one| (one.label, one.said)).collect()
}

/// The list is the same for everybody: what is missing stands on it as missing.
#[test]
fn a_baseline_says_of_each_thing_that_it_is_not_recorded() {
    let demo = ward();
    let said = |slot: &str, label: &str| {
        let list = known(&demo, slot, false);
        let found = list.iter().find(|(name, _)| *name == label);
        found
            .unwrap_or_else(|| panic!("{label} of {slot}"))
            .1
            .clone()
    };
    let labels = |slot: &str| -> Vec<&str> {
        known(&demo, slot, false)
            .into_iter()
            .map(|(label, _)| label)
            .collect()
    };
    assert_eq!(labels("S1"), labels("S2"));
    assert_eq!(labels("S1"), labels("S4"));
    for label in labels("S1") {
        assert!(
            !label.contains('_') && label.chars().count() <= 17,
            "{label}"
        );
    }
    assert_eq!(said("S1", "usual mind"), "Sharp");
    assert_eq!(said("S4", "usual mind"), "not recorded");
    assert_eq!(said("S1", "home oxygen"), "not recorded");
    assert_eq!(said("S1", "if worse"), "Total 5: on-call registrar");
    assert_eq!(said("S4", "if worse"), "not recorded");
    assert_eq!(said("S4", "smoking at home"), "not recorded");
    assert_eq!(
        said("S2", "smoking at home"),
        "SMOKER BESIDE OXYGEN in the house"
    );
    assert!(said("S2", "saturation scale").contains("Dr Amin, 88 to 92 %"));
}

/// Who visits reads the code where the sheet sends them; who does not, reads that there is one.
#[test]
fn a_key_safe_is_read_by_who_may_and_known_of_by_the_others() {
    let demo = ward();
    let key = |secrets: bool| {
        let list = known(&demo, "S1", secrets);
        list.into_iter()
            .find(|(label, _)| *label == "key safe")
            .expect("listed")
            .1
    };
    assert_eq!(key(true), "4711 left of the door");
    assert_eq!(key(false), "held, not shown here");
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: None,
    };
    let none = baseline(&vantage, patient(&demo, "S2"), true);
    assert!(
        none.iter()
            .any(|one| (one.label, one.said.as_str()) == ("key safe", "not recorded"))
    );
}

//! Finding a patient by what people type, and names that could be mixed up.

use handfast::clinical::policy;
use handfast::record::kind::Kind;
use handfast::record::person::Handle;
use handfast::record::time::Span;
use handfast::ward::Found;

use crate::material::{Story, pseudonym};

fn admit(story: &mut Story, patient: usize, family: &str, given: &str, rest: &str) {
    let number = if rest.contains("local_number") {
        String::new()
    } else {
        format!("; local_number=LN-{patient}")
    };
    let fields = format!(
        "family={family}; given={given}; born=01-Jan-1950; sex=female; area=Lane; source=gp; \
         reason=r; allergies=none known; ceiling=full; resuscitation=attempt; scale=1{number}{rest}"
    );
    story.log(1, Some(patient), Kind::Admission, &fields);
}

/// Ada Pell (T01), Arthur Pell (T02), Odette Brambley (T03), and one more.
fn ward_with(family: &str, given: &str, rest: &str) -> Story {
    let mut story = Story::begin();
    admit(&mut story, 3, family, given, rest);
    story
}

#[test]
fn by_slot_numbers_and_names_in_any_case() {
    // NHS number from the range that is never issued.
    let rest = "; known_as=Dot; slot=T04; nhs=999 555 6316; local_number=AB/12";
    let ward = ward_with("O'Hara", "Dorothy", rest).ward();
    let one = |n| Found::One(pseudonym(n));
    for (typed, found) in [
        ("T01", one(0)),
        ("t02", one(1)),
        ("ln-2", one(2)),
        ("ada", one(0)),
        ("PELL ADA", one(0)),
        ("Ada  Pell", one(0)),
        ("Pell, Arthur", one(1)),
        ("bram", one(2)),
        ("ode", one(2)),
        ("9995556316", one(3)),
        ("999 555 6316", one(3)),
        ("dot", one(3)),
        ("o'hara", one(3)),
        ("ab/12", one(3)),
    ] {
        assert_eq!(ward.find_patient(typed), found, "{typed}");
    }
}

#[test]
fn what_could_be_two_is_two_and_a_whole_name_beats_a_beginning() {
    let ward = ward_with("Pelling", "Adam", "").ward();
    assert_eq!(
        ward.find_patient("pell"),
        Found::Many(vec![pseudonym(0), pseudonym(1)]),
        "Pelling only begins with it"
    );
    assert_eq!(ward.find_patient("ada"), Found::One(pseudonym(0)));
    let all = Found::Many(vec![pseudonym(0), pseudonym(1), pseudonym(3)]);
    assert_eq!(ward.find_patient("pel"), all);
}

#[test]
fn nobody_is_guessed() {
    let ward = Story::begin().ward();
    let Found::None { near } = ward.find_patient("bramblley") else {
        panic!("found somebody");
    };
    assert_eq!(near, [pseudonym(2)]);
    for nothing in ["", "  ", ",", "T", "0", "zzzzzz"] {
        let found = ward.find_patient(nothing);
        assert_eq!(found, Found::None { near: vec![] }, "{nothing:?}");
    }
    // Each begins one name only: that is no reason to open, or write into, a record.
    for little in ["o", "br", "BR", "@b", "b r"] {
        let found = ward.find_patient(little);
        assert!(matches!(found, Found::None { .. }), "{little}: {found:?}");
    }
    // All of a slot or a number is enough, however short; all of a short name is not.
    let ward = ward_with("Ng", "Al", "; slot=Q; local_number=Z").ward();
    assert_eq!(ward.find_patient("q"), Found::One(pseudonym(3)));
    assert_eq!(ward.find_patient("z"), Found::One(pseudonym(3)));
    assert!(matches!(ward.find_patient("ng"), Found::None { .. }));
    assert_eq!(ward.find_patient("ng al"), Found::One(pseudonym(3)));
}

#[test]
fn who_has_left_is_found_only_if_nobody_on_the_ward_fits() {
    let mut story = Story::begin();
    story.log(1, Some(0), Kind::Discharge, "to=home; summary=well");
    assert_eq!(story.ward().find_patient("pell"), Found::One(pseudonym(1)));
    assert_eq!(story.ward().find_patient("ada"), Found::One(pseudonym(0)));
    let names: Vec<String> = story
        .ward()
        .caseload()
        .iter()
        .map(|p| p.short_name())
        .collect();
    assert_eq!(names, ["PELL Arthur", "BRAMBLEY Odette"]);
}

#[test]
fn names_alike_are_told_to_each_other() {
    for (family, given, alike) in [
        ("Bramley", "June", true),
        ("BRAMBLEY", "Piers", true),
        ("Odette", "Brambley", true),
        ("Bromley", "June", false),
        ("Lee", "Odette", false),
    ] {
        let ward = ward_with(family, given, "").ward();
        let odette = ward.patient(pseudonym(2)).unwrap();
        let told = ward.similar_names(odette);
        assert_eq!(!told.is_empty(), alike, "{family}, {given}");
    }
    let ward = Story::begin().ward();
    let ada = ward.patient(pseudonym(0)).unwrap();
    let names: Vec<String> = ward
        .similar_names(ada)
        .iter()
        .map(|p| p.short_name())
        .collect();
    assert_eq!(names, ["PELL Arthur"]);
}

#[test]
fn short_names_must_be_the_same_to_be_alike() {
    let mut story = ward_with("Lea", "Kit", "");
    admit(&mut story, 4, "Lee", "Ann", "");
    admit(&mut story, 5, "Lee", "Tam", "");
    let ward = story.ward();
    let lee = ward.patient(pseudonym(4)).unwrap();
    let told: Vec<_> = ward
        .similar_names(lee)
        .iter()
        .map(|p| p.pseudonym)
        .collect();
    assert_eq!(told, [pseudonym(5)]);
}

#[test]
fn a_setting_has_its_default_until_it_is_changed_to_something_usable() {
    let mut story = Story::begin();
    let record = |story: &Story| story.ward().policy().values().record();
    assert_eq!(record(&story).late_entry, Span::minutes(30));
    assert_eq!(record(&story).silence, Span::hours(6));
    for key in policy::keys() {
        assert_eq!(story.ward().policy().values().get(key), key.default());
    }
    story.log(
        2,
        None,
        Kind::PolicyChanged,
        "setting=late_entry_minutes; value=45; reason=r",
    );
    assert_eq!(record(&story).late_entry, Span::minutes(45));
    for useless in ["0", "-5", "soon"] {
        let fields = format!("setting=silence_hours; value={useless}; reason=r");
        story.log(2, None, Kind::PolicyChanged, &fields);
        assert_eq!(record(&story).silence, Span::hours(6), "{useless}");
    }
}

#[test]
fn staff_keep_their_history_and_a_key_its_first_holder() {
    let mut story = Story::begin();
    let maya = Handle::parse("maya").unwrap();
    let enrolled = story.entries[2].seq;
    let suspended = story.log(
        0,
        None,
        Kind::StaffChanged,
        "handle=maya; change=suspended; reason=left",
    );
    let back = story.log(
        0,
        None,
        Kind::StaffChanged,
        "handle=maya; change=role; role=sister; reason=promoted",
    );
    let ward = story.ward();
    let staff = ward.staff(&maya).unwrap();
    assert!(staff.is_suspended(), "a new role does not reinstate");
    assert_eq!(
        staff.standing_at(enrolled),
        None,
        "not yet while being enrolled"
    );
    assert!(!staff.standing_at(suspended).unwrap().suspended);
    assert!(staff.standing_at(back).unwrap().suspended);
    assert_eq!(
        staff.standing_at(back.next()).unwrap().role.code(),
        "sister"
    );
    assert_eq!(ward.staff_by_key(&crate::material::key(1)), Some(staff));
}

//! A wound keeps its number for life, and packing is counted in and out.

use handfast::record::kind::Kind;
use handfast::ward::wounds::Packing;

use crate::material::{Story, pseudonym};

const HEEL: &str = "site=heel; side=left; kind=pressure-ulcer; category=2";
const SHIN: &str = "site=shin; side=right; kind=skin-tear";

fn numbers(story: &Story) -> Vec<(i32, String)> {
    let ward = story.ward();
    let wounds = ward.patient(pseudonym(0)).unwrap().wounds.values();
    wounds
        .map(|wound| (wound.number, wound.newest().unwrap().body.site.0.clone()))
        .collect()
}

#[test]
fn a_number_is_never_given_again_and_never_changes() {
    let mut story = Story::begin();
    let heel = story.log(1, Some(0), Kind::Wound, HEEL);
    story.log(1, Some(0), Kind::Wound, SHIN);
    let both = vec![(1, "heel".to_owned()), (2, "shin".to_owned())];
    assert_eq!(numbers(&story), both);
    let withdrawal = story.withdraw(heel);
    assert_eq!(numbers(&story), both[1..], "the shin stays number 2");
    story.log(
        1,
        Some(0),
        Kind::Wound,
        "site=hip; side=left; kind=pressure-ulcer; category=1",
    );
    assert_eq!(
        numbers(&story)[1],
        (3, "hip".to_owned()),
        "1 is not given again"
    );
    story.withdraw(withdrawal);
    let three = [both, vec![(3, "hip".to_owned())]].concat();
    assert_eq!(numbers(&story), three, "the heel is number 1 again");
}

#[test]
fn a_withdrawn_newest_wound_keeps_its_number_to_itself() {
    let mut story = Story::begin();
    let heel = story.log(1, Some(0), Kind::Wound, HEEL);
    story.withdraw(heel);
    story.log(1, Some(0), Kind::Wound, SHIN);
    assert_eq!(numbers(&story), [(2, "shin".to_owned())]);
}

#[test]
fn a_number_a_correction_names_is_used_up_too() {
    let mut story = Story::begin();
    let heel = story.log(1, Some(0), Kind::Wound, HEEL);
    let entry = story.entries.last().unwrap().clone();
    let right = crate::material::body(Kind::Wound, &format!("wound=4; {HEEL}"), story.now);
    let correction = story.correct(heel, &entry.envelope, &right);
    story.withdraw(correction);
    story.log(1, Some(0), Kind::Wound, SHIN);
    assert_eq!(
        numbers(&story),
        [(1, "heel".to_owned()), (5, "shin".to_owned())]
    );
}

fn packing(changes: &[&str]) -> (i32, bool) {
    let mut story = Story::begin();
    story.log(1, Some(0), Kind::Wound, HEEL);
    for change in changes {
        story.wait(60);
        let kind = if change.contains("site=") {
            Kind::Wound
        } else {
            Kind::Dressing
        };
        story.log(1, Some(0), kind, &format!("wound=1; {change}"));
    }
    let ward = story.ward();
    let Packing { inside, is_counted } = ward.patient(pseudonym(0)).unwrap().wounds[&1].packing();
    (inside, is_counted)
}

#[test]
fn packing_left_in_is_not_forgotten() {
    for (changes, found) in [
        (&[][..], (0, true)),
        (&["applied=foam"], (0, true)),
        (&["applied=rope; packing_in=3"], (3, true)),
        (
            &[
                "applied=rope; packing_in=3",
                "applied=rope; packing_out=2; packing_in=1",
            ],
            (2, true),
        ),
        (
            &["applied=rope; packing_in=2", "applied=foam; packing_out=2"],
            (0, true),
        ),
        // Nobody counted what came out.
        (&["applied=rope; packing_in=2", "applied=foam"], (0, false)),
        (
            &["applied=rope; packing_in=2", "applied=rope; packing_in=2"],
            (2, false),
        ),
        // More came out than was ever counted in.
        (
            &["applied=rope; packing_in=1", "applied=foam; packing_out=2"],
            (0, false),
        ),
        // Once a count is missing it stays missing.
        (
            &[
                "applied=rope; packing_in=2",
                "applied=foam",
                "applied=rope; packing_out=0; packing_in=1",
            ],
            (1, false),
        ),
    ] {
        assert_eq!(packing(changes), found, "{changes:?}");
    }
}

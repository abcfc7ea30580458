//! Against clinical reference W5, computed twice there by independent routines.

use proptest::prelude::*;

use super::*;

const W5: &str = include_str!("../../../tests/vectors/aki.psv");
const NOW: Timestamp = Timestamp::EARLIEST;

fn creatinine(text: &str) -> Creatinine {
    Creatinine::from_micromol_per_l(text.parse().expect("µmol/L")).expect("possible")
}

/// `80@48h`, `70@30d`.
fn earlier(text: &str) -> Reading {
    let (value, age) = text.split_once('@').expect("value@age");
    let (number, unit) = age.split_at(age.len() - 1);
    let number: i64 = number.parse().expect("a number");
    let age = if unit == "h" {
        Span::hours(number)
    } else {
        Span::days(number)
    };
    Reading {
        value: creatinine(value),
        taken_at: NOW.plus(Span(-age.0)),
    }
}

fn new(value: &str) -> Reading {
    Reading {
        value: creatinine(value),
        taken_at: NOW,
    }
}

const ADULT: Person = Person {
    age_years: 70,
    range: LabRange {
        low: None,
        high: None,
    },
};

#[test]
fn w5_every_row() {
    let mut seen = 0;
    for line in W5
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
    {
        let cell: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let before: Vec<Reading> = cell[2].split(", ").map(earlier).collect();
        let age_years = cell[3].parse().expect("years");
        let aki = detect(
            new(cell[1]),
            &before,
            Person {
                age_years,
                range: LabRange::default(),
            },
        );
        let expected = match cell[8] {
            "no baseline" => None,
            "none" => Some(Stage::None),
            "AKI 1" => Some(Stage::One),
            "AKI 2" => Some(Stage::Two),
            "AKI 3" => Some(Stage::Three),
            other => panic!("{other}"),
        };
        assert_eq!(aki.stage, expected, "{line}");
        if let Some(reference) = aki.reference {
            let ratio: f64 = cell[6].parse().expect("a ratio to four decimals");
            let below = ratio - reference.ratio_cut_off();
            assert!(
                (-1e-9..0.000_100_001).contains(&below),
                "cut off, not rounded: {line}"
            );
            let chosen = match reference.baseline {
                Baseline::Lowest7Days => cell[4],
                Baseline::Median365Days => cell[5],
            };
            let chosen: f64 = chosen.parse().expect("the chosen reference");
            assert!((reference.value_shown() - chosen).abs() < 1e-9, "{line}");
        } else {
            assert_eq!(cell[6], "—", "{line}");
        }
        let rise = aki
            .rise_48h_nmol_per_l
            .map_or("—".to_owned(), |n| (n / 1000).to_string());
        assert_eq!(rise, cell[7], "{line}");
        seen += 1;
    }
    assert_eq!(seen, 22);
}

#[test]
fn days_and_hours_at_their_edges() {
    let at = |text, seconds: i64| {
        let mut reading = earlier(text);
        reading.taken_at = reading.taken_at.plus(Span(seconds * 1_000_000));
        reading
    };
    let baseline = |before| {
        detect(new("120"), &[before], ADULT)
            .reference
            .map(|r| r.baseline)
    };
    // 7 d 23 h 59 min 59 s is day 7; one second older is day 8.
    assert_eq!(baseline(at("80@8d", 1)), Some(Baseline::Lowest7Days));
    assert_eq!(baseline(at("80@8d", 0)), Some(Baseline::Median365Days));
    assert_eq!(baseline(at("80@366d", 1)), Some(Baseline::Median365Days));
    assert_eq!(baseline(at("80@366d", 0)), None);
    let rise = |before| detect(new("107"), &[before], ADULT).rise_48h_nmol_per_l;
    assert_eq!(
        (rise(at("80@48h", 0)), rise(at("80@48h", -1))),
        (Some(27_000), None)
    );
    // The same moment and later are not earlier.
    assert_eq!(baseline(at("80@0h", 0)), None);
    assert_eq!(baseline(at("80@0h", 60)), None);
    assert_eq!(baseline(at("80@0h", -1)), Some(Baseline::Lowest7Days));
}

#[test]
fn under_18_the_upper_limit_decides() {
    let child = |range| {
        detect(
            new("181"),
            &[earlier("100@3d")],
            Person {
                age_years: 17,
                range,
            },
        )
    };
    // The lower limit is not needed for it.
    let upper = |text| LabRange {
        low: None,
        high: Some(creatinine(text)),
    };
    assert_eq!(child(upper("60")).stage, Some(Stage::Three));
    assert_eq!(child(upper("61")).stage, Some(Stage::One));
    let unknown = child(LabRange::default());
    assert_eq!(
        (unknown.stage, unknown.value_rule_unchecked),
        (Some(Stage::One), true)
    );
    let said = unknown.sentence(creatinine("181"));
    assert!(said.contains("stage 3 by value was not checked"), "{said}");
    let checked = child(upper("61")).sentence(creatinine("181"));
    assert!(!checked.contains("not checked"), "{checked}");
}

#[test]
fn sentences_say_why() {
    let said = |value, before: &[Reading], person| {
        let new = new(value);
        detect(new, before, person).sentence(new.value)
    };
    assert_eq!(
        said("120", &[earlier("80@7d")], ADULT),
        "AKI 1 alert: creatinine 120 µmol/L is 1.50 times the lowest of the last 7 days (80 µmol/L)"
    );
    assert!(
        said("107", &[earlier("80@1d")], ADULT).ends_with("rose by more than 26 within 48 h (27)")
    );
    let range = LabRange {
        low: Some(creatinine("59")),
        high: Some(creatinine("104")),
    };
    let alone = said(
        "120",
        &[],
        Person {
            age_years: 70,
            range,
        },
    );
    assert!(alone.contains("above the laboratory's range; no result in the last 365 days"));
}

/// A ratio under a stage's limit is never shown as that limit (reference: nothing is rounded
/// into another band).
#[test]
fn a_ratio_is_cut_off_below_the_limit_it_does_not_reach() {
    let of = |value: &str, before: &str| {
        let reported = |text| {
            let value = crate::record::quantity::Decimal::parse(text).expect("a decimal");
            Creatinine::from_reported(value).expect("possible")
        };
        let new = Reading {
            value: reported(value),
            taken_at: NOW,
        };
        let old = Reading {
            value: reported(before),
            taken_at: NOW.plus(Span(-Span::days(3).0)),
        };
        let aki = detect(new, &[old], ADULT);
        let reference = aki.reference.expect("an earlier result");
        (
            aki.stage.expect("a stage"),
            reference.ratio_text(),
            reference.ratio_cut_off(),
        )
    };
    assert_eq!(of("149.9", "100"), (Stage::None, "1.49".to_owned(), 1.499));
    assert_eq!(of("150", "100"), (Stage::One, "1.50".to_owned(), 1.5));
    assert_eq!(of("299.9", "100"), (Stage::Two, "2.99".to_owned(), 2.999));
    assert_eq!(of("300", "100"), (Stage::Three, "3.00".to_owned(), 3.0));
    // As close as three decimals come.
    assert_eq!(of("149.999", "100").2, 1.4999);
}

/// Clinical reference W5 rows 7 and 22 and P8: where NICE NG148 or KDIGO would say more, the
/// explanation says so.
#[test]
fn the_other_wording_is_named_where_it_says_more() {
    let said = |value, before: &[&str]| {
        let before: Vec<Reading> = before.iter().map(|text| earlier(text)).collect();
        detect(new(value), &before, ADULT).sentence(creatinine(value))
    };
    let row_7 = said("106", &["80@1d"]);
    assert!(
        row_7.starts_with("no AKI alert") && row_7.contains("NICE NG148"),
        "{row_7}"
    );
    let row_8 = said("107", &["80@1d"]);
    assert!(
        row_8.starts_with("AKI 1") && !row_8.contains("NICE"),
        "{row_8}"
    );
    assert!(!said("105", &["80@1d"]).contains("NICE"));
    let row_22 = said("400", &["370@24h", "380@90d"]);
    assert!(
        row_22.starts_with("AKI 1") && row_22.contains("KDIGO"),
        "{row_22}"
    );
    // Row 19: 354 with a ratio of 1.61 is not over 354, but KDIGO writes "354 and over".
    assert!(said("354", &["220@4d"]).contains("KDIGO"));
    assert!(!said("353", &["220@4d"]).contains("KDIGO"));
    // Rows 20 and 21: stage 3 here too; and chronic, without a rise.
    assert!(!said("355", &["220@4d"]).contains("KDIGO"));
    assert!(!said("400", &["390@5d", "380@90d"]).contains("KDIGO"));
}

proptest! {
    /// A higher new value never has a lower stage; the order of results does not matter.
    #[test]
    fn monotone_and_order_free(
        value in 30_i32..600, more in 0_i32..200,
        before in proptest::collection::vec((30_i32..600, 0_i64..400 * 24), 0..12),
    ) {
        let mut readings: Vec<Reading> = before.iter().map(|(v, hours)| Reading {
            value: Creatinine::from_micromol_per_l(*v).expect("possible"),
            taken_at: NOW.plus(Span(-Span::hours(*hours).0)),
        }).collect();
        let at = |v| Reading { value: Creatinine::from_micromol_per_l(v).expect("possible"), taken_at: NOW };
        let aki = detect(at(value), &readings, ADULT);
        prop_assert!(detect(at(value + more), &readings, ADULT).stage >= aki.stage);
        readings.reverse();
        prop_assert_eq!(detect(at(value), &readings, ADULT), aki);
    }
}

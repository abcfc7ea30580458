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
    range: None,
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
                range: None,
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
            assert_eq!(format!("{:.4}", reference.ratio_shown()), cell[6], "{line}");
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
    let upper = |text| Some((creatinine("20"), creatinine(text)));
    assert_eq!(child(upper("60")).stage, Some(Stage::Three));
    assert_eq!(child(upper("61")).stage, Some(Stage::One));
    let unknown = child(None);
    assert_eq!(
        (unknown.stage, unknown.value_rule_unchecked),
        (Some(Stage::One), true)
    );
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
    let range = Some((creatinine("59"), creatinine("104")));
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

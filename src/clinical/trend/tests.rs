//! Estimators against SciPy 1.17.1 (`tests/vectors/trend.py` made the vectors), and what is said of
//! small series worked out by hand.

mod measured;

use proptest::prelude::*;
use serde_json::Value;

use super::*;
use crate::clinical::policy::Trend as Policy;
use crate::record::time::{Span, WardZone};

const VECTORS: &str = include_str!("../../../tests/vectors/trend.json");
const LONDON: WardZone = WardZone::LONDON;

fn hour(hours: i64) -> Timestamp {
    Timestamp::EARLIEST.plus(Span::hours(hours))
}

#[test]
fn estimators_agree_with_scipy() {
    let vectors: Value = serde_json::from_str(VECTORS).expect("vectors");
    let cases = vectors["cases"].as_array().expect("cases");
    assert_eq!(cases.len(), 13);
    for case in cases {
        let list = |key: &str| -> Vec<f64> {
            case[key]
                .as_array()
                .expect("a list")
                .iter()
                .filter_map(Value::as_f64)
                .collect()
        };
        let (x, y) = (list("x"), list("y"));
        let points: Vec<(f64, f64)> = x.into_iter().zip(y.iter().copied()).collect();
        let slope = theil_sen(&points).expect("two different x");
        for (ours, key) in [
            (median(&y).expect("values"), "median"),
            (mad(&y).expect("values"), "mad"),
            (slope.per_unit, "slope"),
            (slope.intercept, "intercept"),
            (slope.low, "low"),
            (slope.high, "high"),
        ] {
            let theirs = case[key].as_f64().expect("a number");
            assert!(
                (ours - theirs).abs() < 1e-9,
                "{} {key}: {ours}, SciPy {theirs}",
                case["name"]
            );
        }
    }
    assert_eq!(
        (median(&[]), mad(&[]), theil_sen(&[(1.0, 2.0), (1.0, 3.0)])),
        (None, None, None)
    );
}

/// Readings every four hours from hour 0.
fn every_4h(values: &[i32]) -> Vec<Sample> {
    let sample = |(n, value): (i64, &i32)| Sample {
        at: hour(4 * n),
        value: *value,
    };
    (0..).zip(values).map(sample).collect()
}

#[expect(clippy::unnecessary_wraps, reason = "as the sentence takes it")]
fn totals(now: u8, before: u8) -> Option<Totals> {
    Some(Totals {
        now,
        before: Some(before),
    })
}

#[test]
fn a_sentence_says_usual_now_and_since_when() {
    let mut values = vec![82, 84, 80, 83, 85, 81, 83, 82, 84, 83, 82, 84];
    let samples = every_4h(&values);
    let calm = assess(Sign::Hr, &samples, hour(44), LONDON).expect("readings");
    assert_eq!(
        calm.sentence(LONDON, totals(0, 0)),
        "HR 84/min at 20:00, usual 72 to 94"
    );
    assert_eq!((calm.drift, calm.outside_since), (None, None));
    values.extend([92, 96, 100, 104]);
    let samples = every_4h(&values);
    let rising = assess(Sign::Hr, &samples, hour(60), LONDON).expect("readings");
    assert_eq!(
        rising.sentence(LONDON, totals(1, 1)),
        "HR 104/min at 12:00, usual 73 to 93, above usual for 8hr, rising 1/h over 12hr; NEWS2 still 1"
    );
    assert_eq!(
        rising.drift,
        Some(Drift {
            side: Side::Above,
            since: hour(48)
        })
    );
    // "still" only where it has not moved.
    let moved = rising.sentence(LONDON, totals(4, 1));
    assert!(moved.ends_with("; NEWS2 4, 1 before it began"), "{moved}");
    // As of the evening before, nothing of this was known.
    let before = assess(Sign::Hr, &samples, hour(44), LONDON).expect("readings");
    assert_eq!(before, calm);
    let few = assess(Sign::Hr, &samples[..3], hour(60), LONDON).expect("readings");
    assert!(
        few.sentence(LONDON, None)
            .contains("no usual range yet (3 readings")
    );
    assert_eq!(assess(Sign::Hr, &[], hour(60), LONDON), None);
    let warm = every_4h(&[
        368, 369, 370, 368, 367, 369, 368, 370, 369, 375, 378, 381, 384,
    ]);
    let said = assess(Sign::Temp, &warm, hour(48), LONDON)
        .expect("readings")
        .sentence(LONDON, None);
    assert!(
        said.starts_with("temperature 38.4 °C at 00:00, usual 36.3 to 37.5, above usual for 8hr"),
        "{said}"
    );
    assert!(said.contains("rising 0.07/h"), "{said}");
}

/// Evenings run higher: after enough days an evening reading is compared with evenings.
#[test]
fn the_time_of_day_is_taken_into_account_after_enough_days() {
    let daily = [76, 78, 80, 82, 90, 92];
    let values: Vec<i32> = (0..10).flat_map(|_| daily).collect();
    let samples = every_4h(&values);
    let of = |hours: i64, take: usize| {
        usual(Sign::Hr, &samples[..take], hour(hours), LONDON).expect("enough")
    };
    let (night, evening) = (of(240, 60), of(260, 60));
    assert!(night.time_of_day && evening.time_of_day);
    assert!((night.median - 77.0).abs() < 0.01 && (evening.median - 92.0).abs() < 0.01);
    assert!(!of(72, 18).time_of_day);
}

#[test]
fn one_wild_reading_is_no_drift() {
    let mut values = vec![82, 84, 80, 83, 85, 81, 83, 82, 84, 83, 82, 84];
    values.extend([250, 82, 84]);
    let samples = every_4h(&values);
    assert!(
        drift::path(&Policy::default(), Sign::Hr, &samples, LONDON)
            .iter()
            .all(Option::is_none)
    );
}

/// T01's admission for pneumonia: an ill day and a half, then well. What was measured while ill
/// does not become usual, and getting well is no alarm.
#[test]
fn an_illness_on_admission_does_not_become_usual() {
    let ill_then_well = |ill: [i32; 9], well: [i32; 12]| every_4h(&[&ill[..], &well[..]].concat());
    let usual_of = |sign, samples: &[Sample]| {
        let trend = assess(sign, samples, hour(400), LONDON).expect("readings");
        assert!(!trend.asks_for_a_look(), "getting well: {trend:?}");
        trend.usual.expect("enough")
    };
    let temp = ill_then_well(
        [392, 389, 388, 385, 386, 382, 381, 379, 377],
        [372, 370, 371, 368, 369, 370, 367, 368, 369, 371, 368, 370],
    );
    assert!(
        usual_of(Sign::Temp, &temp).is_outside(384),
        "{:?}",
        usual_of(Sign::Temp, &temp)
    );
    let rr = ill_then_well(
        [26, 25, 26, 24, 24, 23, 23, 22, 21],
        [18, 17, 16, 17, 16, 15, 16, 17, 16, 15, 16, 16],
    );
    let usual = usual_of(Sign::Rr, &rr);
    assert!(usual.is_outside(24) && !usual.is_outside(16), "{usual:?}");
    // Somebody whose own pulse is fast is not called ill for it, and the sentence says so.
    let own = every_4h(&[96, 99, 94, 97, 101, 95, 98, 96, 93, 97, 99, 96]);
    let own = assess(Sign::Hr, &own, hour(44), LONDON).expect("readings");
    assert!(!own.asks_for_a_look());
    let said = own.sentence(LONDON, None);
    assert!(
        said.contains("(which scores: so in health, or measured while ill)"),
        "{said}"
    );
}

/// What is no deterioration asks for nothing: a slope by itself, a pressure that rises, one
/// reading just outside.
#[test]
fn a_look_is_asked_for_deterioration_only() {
    let usual = [120, 126, 124, 130, 122, 128, 126, 124, 130, 122, 126, 124];
    let look = |sign, more: &[i32]| {
        let samples = every_4h(&[&usual[..], more].concat());
        let trend = assess(sign, &samples, hour(400), LONDON).expect("readings");
        (
            trend.asks_for_a_look(),
            trend.slope.is_some(),
            trend.outside_since.is_some(),
        )
    };
    assert_eq!(look(Sign::Sbp, &[122, 125, 128, 132]), (false, true, false));
    assert_eq!(look(Sign::Sbp, &[160, 165]), (false, false, true));
    assert_eq!(look(Sign::Sbp, &[108]), (false, false, true));
    assert!(look(Sign::Sbp, &[108, 107]).0);
    assert!(look(Sign::Sbp, &[90]).0);
}

proptest! {
    /// The order in which readings are given does not matter, nor does what comes after.
    #[test]
    fn order_and_the_future_do_not_matter(values in proptest::collection::vec(60_i32..120, 1..60), as_of in 0_i64..240) {
        let mut samples = every_4h(&values);
        let there = assess(Sign::Hr, &samples, hour(as_of), LONDON);
        let known: Vec<Sample> = samples.iter().copied().filter(|s| s.at <= hour(as_of)).collect();
        prop_assert_eq!(&assess(Sign::Hr, &known, hour(as_of), LONDON), &there);
        samples.reverse();
        prop_assert_eq!(&assess(Sign::Hr, &samples, hour(as_of), LONDON), &there);
    }

    /// A slope lies within its interval; turning the values upside down turns it too.
    #[test]
    fn slopes_turn_with_their_values(values in proptest::collection::vec(-50_i32..50, 2..40)) {
        let up: Vec<(f64, f64)> = (0..).zip(&values).map(|(x, y)| (f64::from(x), f64::from(*y))).collect();
        let down: Vec<(f64, f64)> = up.iter().map(|(x, y)| (*x, -y)).collect();
        let (up, down) = (theil_sen(&up).expect("points"), theil_sen(&down).expect("points"));
        prop_assert!(up.low <= up.per_unit && up.per_unit <= up.high);
        prop_assert!((up.per_unit + down.per_unit).abs() < 1e-9);
    }
}

//! Estimators against SciPy 1.17.1 (`tests/vectors/trend.py` made the vectors), and how late and
//! how often wrong the drift detector is on generated series with known change points.

use proptest::prelude::*;
use serde_json::Value;

use super::*;
use crate::clinical::news2::{self, Set};
use crate::clinical::policy::Trend as Policy;
use crate::record::observed::{Acvpu, Spo2Scale};
use crate::record::time::{Span, WardZone};

const VECTORS: &str = include_str!("../../../tests/vectors/trend.json");
const DOCUMENTED: &str = include_str!("../../../docs/clinical.md");
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

#[test]
fn a_sentence_says_usual_now_and_since_when() {
    let mut values = vec![82, 84, 80, 83, 85, 81, 83, 82, 84, 83, 82, 84];
    let samples = every_4h(&values);
    let calm = assess(Sign::Hr, &samples, hour(44), LONDON).expect("readings");
    assert_eq!(
        calm.sentence(LONDON, Some(0)),
        "HR 84/min at 20:00, usual 72 to 94"
    );
    assert_eq!((calm.drift, calm.outside_since), (None, None));
    values.extend([92, 96, 100, 104]);
    let samples = every_4h(&values);
    let rising = assess(Sign::Hr, &samples, hour(60), LONDON).expect("readings");
    assert_eq!(
        rising.sentence(LONDON, Some(1)),
        "HR 104/min at 12:00, usual 73 to 93, above usual for 8hr, rising 1/h over 12hr; NEWS2 still 1"
    );
    assert_eq!(
        rising.drift,
        Some(Drift {
            side: Side::Above,
            since: hour(48)
        })
    );
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

/// Numbers that look random and are the same everywhere (SplitMix64, public domain).
struct Seeded(u64);

impl Seeded {
    #[expect(clippy::cast_precision_loss, reason = "53 bits")]
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Nearly normal: the sum of twelve uniform numbers less six.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}

/// How one sign of a made-up patient behaves, in steps: spread between patients, between
/// readings, and over the day, and what the illness adds an hour up to its most.
struct Model {
    sign: Sign,
    mean: f64,
    between: f64,
    noise: f64,
    daily: f64,
    per_hour: f64,
    most: f64,
}

/// A chest infection that comes on over a day and a half.
const MODELS: [Model; 5] = [
    Model {
        sign: Sign::Rr,
        mean: 16.0,
        between: 1.0,
        noise: 1.2,
        daily: 0.5,
        per_hour: 0.17,
        most: 7.0,
    },
    Model {
        sign: Sign::Spo2,
        mean: 96.5,
        between: 0.6,
        noise: 0.9,
        daily: 0.2,
        per_hour: -0.1,
        most: -4.0,
    },
    Model {
        sign: Sign::Sbp,
        mean: 128.0,
        between: 7.0,
        noise: 8.0,
        daily: 4.0,
        per_hour: -0.4,
        most: -18.0,
    },
    Model {
        sign: Sign::Hr,
        mean: 76.0,
        between: 5.0,
        noise: 5.0,
        daily: 3.0,
        per_hour: 0.6,
        most: 24.0,
    },
    Model {
        sign: Sign::Temp,
        mean: 368.0,
        between: 2.0,
        noise: 2.5,
        daily: 2.0,
        per_hour: 0.35,
        most: 14.0,
    },
];

/// Readings about every four hours for `days`, noise correlated by 0.3 from one to the next;
/// the illness begins at `onset`.
#[expect(clippy::cast_possible_truncation, reason = "vital signs")]
fn patient(seed: u64, days: i64, onset: Option<i64>) -> Vec<Vec<Sample>> {
    let mut random = Seeded(seed);
    MODELS
        .iter()
        .map(|model| {
            let mean = model.mean + model.between * random.normal();
            let mut noise = 0.0;
            (0..days * 6)
                .map(|n| {
                    let at = hour(4 * n);
                    noise = 0.3 * noise + (1.0_f64 - 0.09).sqrt() * model.noise * random.normal();
                    let day =
                        (std::f64::consts::TAU * f64::from((4 * n % 24) as i32 - 11) / 24.0).sin();
                    let ill = onset.map_or(0.0, |onset| {
                        (4 * n - onset).max(0) as i32 as f64 * model.per_hour
                    });
                    let ill = if model.most > 0.0 {
                        ill.min(model.most)
                    } else {
                        ill.max(model.most)
                    };
                    let (low, high) = model.sign.measure().hard;
                    let value = (mean + noise + model.daily * day + ill).round() as i32;
                    Sample {
                        at,
                        value: value.clamp(low, high),
                    }
                })
                .collect()
        })
        .collect()
}

/// Whether any sign had drifted, reading by reading.
fn drifted(patient: &[Vec<Sample>]) -> Vec<bool> {
    let paths: Vec<Vec<Option<Drift>>> = MODELS
        .iter()
        .zip(patient)
        .map(|(m, samples)| drift::path(&Policy::default(), m.sign, samples, LONDON))
        .collect();
    (0..paths[0].len())
        .map(|at| paths.iter().any(|path| path[at].is_some()))
        .collect()
}

fn total(patient: &[Vec<Sample>], at: usize) -> u8 {
    let value = |sign: usize| Some(patient[sign][at].value);
    let set = Set {
        rr: value(0),
        spo2: value(1),
        scale: Some(Spo2Scale::Scale1),
        oxygen: Some(false),
        sbp: value(2),
        hr: value(3),
        acvpu: Some(Acvpu::Alert),
        temp_deci_c: value(4),
    };
    news2::score(&set)
        .expect("possible")
        .score
        .expect("complete")
        .total
}

/// What `docs/clinical.md` states. Stable patients: drifts begun per patient-week, all five
/// signs together. Ill ones: hours from onset to drift, and to the first NEWS2 of 5 or more.
#[test]
fn delay_and_false_alarms_are_as_documented() {
    const PATIENTS: u64 = 300;
    let (mut false_alarms, mut weeks) = (0_u32, 0.0);
    for seed in 0..PATIENTS {
        let drifted = drifted(&patient(seed, 14, None));
        false_alarms +=
            u32::try_from(drifted.windows(2).filter(|w| !w[0] && w[1]).count()).expect("few");
        weeks += 2.0;
    }
    let rate = f64::from(false_alarms) / weeks;
    let (mut delays, mut leads, mut missed) = (Vec::new(), Vec::new(), 0);
    for seed in 0..PATIENTS {
        let onset = 5 * 24 + i64::try_from(seed % 24).expect("small");
        let ill = patient(1000 + seed, 8, Some(onset));
        let first = usize::try_from(onset / 4 + 1).expect("small");
        let drifted = drifted(&ill);
        let delay = |at: usize| {
            f64::from(i32::try_from(4 * at).expect("small"))
                - f64::from(i32::try_from(onset).expect("small"))
        };
        let Some(at) = (first..drifted.len()).find(|at| drifted[*at]) else {
            missed += 1;
            continue;
        };
        delays.push(delay(at));
        if let Some(scored) = (first..drifted.len()).find(|at| total(&ill, *at) >= 5) {
            leads.push(delay(scored) - delay(at));
        }
    }
    let delay = median(&delays).expect("delays");
    let lead = median(&leads).expect("leads");
    let share =
        f64::from(u32::try_from(leads.iter().filter(|lead| **lead > 0.0).count()).expect("few"))
            / f64::from(u32::try_from(leads.len()).expect("few"));
    let measured = format!(
        "{rate:.2} false alarms a patient-week; drift {delay:.0} h after onset (median), {missed} of {PATIENTS} missed; {lead:.0} h before NEWS2 5 (median), before it in {:.0} %",
        100.0 * share
    );
    assert!(
        DOCUMENTED.contains(&measured),
        "docs/clinical.md should say: {measured}"
    );
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

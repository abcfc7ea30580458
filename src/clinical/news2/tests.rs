//! Against clinical reference W1 (every boundary) and W2 (whole sets), which were rebuilt from
//! two public copies of the charts of the published report; no cell differed.

use proptest::prelude::*;

use super::*;
use crate::record::time::Timestamp;

const NORMAL: Set = Set {
    rr: Some(16),
    spo2: Some(98),
    scale: Some(Spo2Scale::Scale1),
    oxygen: Some(false),
    sbp: Some(120),
    hr: Some(70),
    acvpu: Some(Acvpu::Alert),
    temp_deci_c: Some(370),
};

fn parts(set: Set) -> Parts {
    score(&set).expect("possible values").parts
}

/// Checks `value -> points` for both sides of every boundary in the text of W1.
fn boundaries(cases: &str, part: impl Fn(i32) -> Option<u8>) {
    for case in cases.split(", ") {
        let (value, points) = case.split_once("→").expect("value→points");
        let value: i32 = value.replace('.', "").parse().expect("a number");
        assert_eq!(part(value), points.parse().ok(), "{case}");
    }
}

#[test]
fn w1_every_boundary() {
    boundaries(
        "5→3, 8→3, 9→1, 11→1, 12→0, 20→0, 21→2, 24→2, 25→3, 44→3",
        |v| {
            parts(Set {
                rr: Some(v),
                ..NORMAL
            })
            .rr
        },
    );
    for oxygen in [false, true] {
        boundaries(
            "78→3, 91→3, 92→2, 93→2, 94→1, 95→1, 96→0, 99→0, 100→0",
            |v| {
                parts(Set {
                    spo2: Some(v),
                    oxygen: Some(oxygen),
                    ..NORMAL
                })
                .spo2
            },
        );
    }
    let scale_2 = |v, oxygen| {
        let scale = Some(Spo2Scale::Scale2);
        parts(Set {
            spo2: Some(v),
            scale,
            oxygen: Some(oxygen),
            ..NORMAL
        })
        .spo2
    };
    boundaries(
        "75→3, 83→3, 84→2, 85→2, 86→1, 87→1, 88→0, 92→0, 93→0, 94→0, 96→0, 97→0, 100→0",
        |v| scale_2(v, false),
    );
    boundaries(
        "75→3, 83→3, 84→2, 85→2, 86→1, 87→1, 88→0, 92→0, 93→1, 94→1, 95→2, 96→2, 97→3, 100→3",
        |v| scale_2(v, true),
    );
    boundaries(
        "62→3, 90→3, 91→2, 100→2, 101→1, 110→1, 111→0, 219→0, 220→3, 245→3",
        |v| {
            parts(Set {
                sbp: Some(v),
                ..NORMAL
            })
            .sbp
        },
    );
    boundaries(
        "33→3, 40→3, 41→1, 50→1, 51→0, 90→0, 91→1, 110→1, 111→2, 130→2, 131→3, 170→3",
        |v| {
            parts(Set {
                hr: Some(v),
                ..NORMAL
            })
            .hr
        },
    );
    boundaries(
        "34.0→3, 35.0→3, 35.1→1, 36.0→1, 36.1→0, 38.0→0, 38.1→1, 39.0→1, 39.1→2, 40.5→2",
        |v| {
            parts(Set {
                temp_deci_c: Some(v),
                ..NORMAL
            })
            .temp
        },
    );
    for (acvpu, points) in [
        (Acvpu::Alert, 0),
        (Acvpu::Confused, 3),
        (Acvpu::Voice, 3),
        (Acvpu::Pain, 3),
        (Acvpu::Unresponsive, 3),
    ] {
        assert_eq!(
            parts(Set {
                acvpu: Some(acvpu),
                ..NORMAL
            })
            .acvpu,
            Some(points)
        );
    }
    for scale in [Spo2Scale::Scale1, Spo2Scale::Scale2] {
        let with = |oxygen| {
            parts(Set {
                oxygen: Some(oxygen),
                scale: Some(scale),
                ..NORMAL
            })
            .oxygen
        };
        assert_eq!((with(false), with(true)), (Some(0), Some(2)));
    }
}

/// A set with one value replaced, and that value's hard limits.
type Edge = (fn(i32) -> Set, i32, i32);
/// Points of one value, a normal value, and the hard limits.
type Rule = (fn(i32) -> Option<u8>, i32, i32, i32);

/// W2 as it stands in the reference.
const W2: &str = include_str!("../../../tests/vectors/news2_sets.psv");

#[test]
fn w2_whole_sets() {
    let mut seen = 0;
    for line in W2
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
    {
        let cell: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let number = |at: usize| cell[at].replace('.', "").parse::<i32>().ok();
        let set = Set {
            rr: number(1),
            spo2: number(2),
            scale: Some(if cell[3] == "2" {
                Spo2Scale::Scale2
            } else {
                Spo2Scale::Scale1
            }),
            oxygen: Some(cell[4] == "yes"),
            sbp: number(5),
            hr: number(6),
            acvpu: Some(match cell[7] {
                "A" => Acvpu::Alert,
                "C" => Acvpu::Confused,
                "V" => Acvpu::Voice,
                "P" => Acvpu::Pain,
                "U" => Acvpu::Unresponsive,
                other => panic!("{other}"),
            }),
            temp_deci_c: number(8),
        };
        let news2 = score(&set).expect("possible values");
        let points: Vec<String> = news2
            .parts
            .each()
            .iter()
            .map(|(_, p)| p.expect("complete").to_string())
            .collect();
        let total = news2.score.expect("complete");
        assert_eq!(points.join("+"), cell[9], "set {}", cell[0]);
        assert_eq!(total.total.to_string(), cell[10], "set {}", cell[0]);
        assert_eq!(news2.single_3, cell[11] == "yes", "set {}", cell[0]);
        assert_eq!(total.band.code(), cell[12], "set {}", cell[0]);
        assert_eq!(total.monitoring.text(), cell[13], "set {}", cell[0]);
        assert!(news2.missing.is_empty());
        seen += 1;
    }
    assert_eq!(seen, 20);
}

#[test]
fn an_incomplete_set_has_no_total_and_keeps_its_single_3() {
    let news2 = score(&Set {
        temp_deci_c: None,
        rr: Some(25),
        ..NORMAL
    })
    .expect("possible values");
    assert_eq!((news2.score, news2.single_3), (None, true));
    assert_eq!(news2.missing, [Input::Temp]);
    assert_eq!(news2.parts.rr, Some(3));
    assert_eq!(news2.monitoring(), Some(Monitoring::Hourly));
    let nothing = score(&Set::default()).expect("nothing is possible");
    assert_eq!(nothing.missing, Input::ALL);
    assert_eq!(
        (nothing.monitoring(), nothing.parts),
        (None, Parts::default())
    );
}

#[test]
fn no_gap_is_counted_as_normal() {
    let no_scale = score(&Set {
        scale: None,
        ..NORMAL
    })
    .expect("possible values");
    assert_eq!((no_scale.score, no_scale.parts.spo2), (None, None));
    assert_eq!(no_scale.missing, [Input::Scale]);
    let scale_2 = Set {
        scale: Some(Spo2Scale::Scale2),
        oxygen: None,
        ..NORMAL
    };
    let above = score(&Set {
        spo2: Some(93),
        ..scale_2
    })
    .expect("possible values");
    assert_eq!((above.parts.spo2, above.parts.oxygen), (None, None));
    let within = score(&Set {
        spo2: Some(92),
        ..scale_2
    })
    .expect("possible values");
    assert_eq!((within.parts.spo2, within.score), (Some(0), None));
    assert_eq!(within.missing, [Input::Oxygen]);
}

#[test]
fn what_is_no_reading_is_refused_on_both_sides() {
    let refused = |set: Set| score(&set).expect_err("not possible").to_string();
    let edges: [Edge; 5] = [
        (
            |v| Set {
                rr: Some(v),
                ..NORMAL
            },
            1,
            80,
        ),
        (
            |v| Set {
                spo2: Some(v),
                ..NORMAL
            },
            40,
            100,
        ),
        (
            |v| Set {
                sbp: Some(v),
                ..NORMAL
            },
            40,
            300,
        ),
        (
            |v| Set {
                hr: Some(v),
                ..NORMAL
            },
            20,
            300,
        ),
        (
            |v| Set {
                temp_deci_c: Some(v),
                ..NORMAL
            },
            250,
            450,
        ),
    ];
    for (set, low, high) in edges {
        assert!(score(&set(low)).is_ok() && score(&set(high)).is_ok());
        assert!(refused(set(low - 1)).contains("not possible"));
        assert!(refused(set(high + 1)).contains("not possible"));
        assert!(score(&set(i32::MIN)).is_err() && score(&set(i32::MAX)).is_err());
    }
    assert!(
        refused(Set {
            temp_deci_c: Some(986),
            ..NORMAL
        })
        .contains("98.6 looks like Fahrenheit")
    );
    assert_eq!(
        refused(Set {
            rr: Some(0),
            ..NORMAL
        }),
        "respiration rate 0 is not possible; accepted are 1 to 80"
    );
}

/// A recorded set: what was not obtained is missing, and skin temperature is never scored.
#[test]
fn a_recorded_set_is_scored_without_its_skin_temperature() {
    let recorded = |temp: &str| -> Observation {
        let value = |v: u32| format!(r#"{{"value":{{"value":{v},"source":null}}}}"#);
        let json = format!(
            r#"{{"rr":{},"spo2":{},"oxygen":"air","sbp":{},"hr":{},"acvpu":"alert",{temp}:{},"fluid_out":[],"signs":[]}}"#,
            value(18),
            value(96),
            value(120),
            value(88),
            value(371),
        );
        serde_json::from_str(&json).expect("an observation")
    };
    let scored = |observation: &Observation| {
        score(&Set::of(observation, Some(Spo2Scale::Scale1))).expect("possible values")
    };
    assert_eq!(
        scored(&recorded("\"temp\"")).score.map(|s| s.total),
        Some(0)
    );
    let skin_only = scored(&recorded("\"skin_temp\""));
    assert_eq!(
        (skin_only.score, skin_only.missing),
        (None, vec![Input::Temp])
    );
    let mut refused = recorded("\"temp\"");
    refused.sbp = Some(Reading::NotObtained {
        reason: "declined".to_owned(),
    });
    assert_eq!(scored(&refused).missing, [Input::Sbp]);
}

#[test]
fn doubts_are_named() {
    let noon = Timestamp::EARLIEST;
    let sure = Context {
        age_years: Some(16),
        pregnant: Some(false),
        high_spinal_injury: None,
        scale_2_prescribed: false,
        skin_temperature_only: false,
        taken_at: noon,
        as_of: noon.plus(Span::hours(12)),
        stale_after: Span::hours(12),
    };
    let scale_2 = Set {
        scale: Some(Spo2Scale::Scale2),
        ..NORMAL
    };
    assert_eq!(doubts(&NORMAL, &sure), []);
    assert_eq!(
        doubts(
            &NORMAL,
            &Context {
                age_years: Some(15),
                ..sure
            }
        ),
        [Doubt::Under16]
    );
    assert_eq!(
        doubts(
            &NORMAL,
            &Context {
                age_years: None,
                ..sure
            }
        ),
        [Doubt::AgeUnknown]
    );
    assert_eq!(
        doubts(
            &NORMAL,
            &Context {
                pregnant: Some(true),
                ..sure
            }
        ),
        [Doubt::Pregnant]
    );
    assert_eq!(doubts(&scale_2, &sure), [Doubt::Scale2WithoutPrescriber]);
    assert_eq!(
        doubts(
            &scale_2,
            &Context {
                scale_2_prescribed: true,
                ..sure
            }
        ),
        []
    );
    let late = Context {
        as_of: sure.as_of.plus(Span(1)),
        skin_temperature_only: true,
        ..sure
    };
    assert_eq!(
        doubts(&NORMAL, &late),
        [Doubt::SkinTemperatureNotScored, Doubt::Stale]
    );
}

prop_compose! {
    fn any_set()(
        rr in proptest::option::weighted(0.95, 1..=80),
        spo2 in proptest::option::weighted(0.95, 40..=100),
        scale in proptest::option::weighted(0.95, any::<bool>()),
        oxygen in proptest::option::weighted(0.95, any::<bool>()),
        sbp in proptest::option::weighted(0.95, 40..=300),
        hr in proptest::option::weighted(0.95, 20..=300),
        acvpu in proptest::option::weighted(0.95, 0..5_usize),
        temp_deci_c in proptest::option::weighted(0.95, 250..=450),
    ) -> Set {
        let all = [Acvpu::Alert, Acvpu::Confused, Acvpu::Voice, Acvpu::Pain, Acvpu::Unresponsive];
        Set {
            rr, spo2, oxygen, sbp, hr, temp_deci_c,
            scale: scale.map(|two| if two { Spo2Scale::Scale2 } else { Spo2Scale::Scale1 }),
            acvpu: acvpu.map(|at| all[at]),
        }
    }
}

proptest! {
    /// A total is the sum of seven parts or is not there.
    #[test]
    fn total_is_the_sum_or_absent(set in any_set()) {
        let news2 = score(&set).expect("possible values");
        let known: Vec<u8> = news2.parts.each().iter().filter_map(|(_, p)| *p).collect();
        prop_assert_eq!(news2.score.is_some(), known.len() == 7);
        prop_assert_eq!(news2.score.is_some(), news2.missing.is_empty());
        prop_assert_eq!(news2.single_3, known.contains(&3));
        if let Some(score) = news2.score {
            prop_assert_eq!(score.total, known.iter().sum::<u8>());
            prop_assert!(score.total <= 20);
            prop_assert!(score.band != Band::Low || !news2.single_3 && score.total < 5);
        }
    }

    /// Further from normal never scores less, on either side.
    #[test]
    fn monotone_away_from_normal(a in 0_i32..100_000, b in 0_i32..100_000) {
        let rules: [Rule; 5] = [
            (|v| parts(Set { rr: Some(v), ..NORMAL }).rr, 16, 1, 80),
            (|v| parts(Set { spo2: Some(v), ..NORMAL }).spo2, 98, 40, 100),
            (|v| parts(Set { sbp: Some(v), ..NORMAL }).sbp, 120, 40, 300),
            (|v| parts(Set { hr: Some(v), ..NORMAL }).hr, 70, 20, 300),
            (|v| parts(Set { temp_deci_c: Some(v), ..NORMAL }).temp, 370, 250, 450),
        ];
        for (points, normal, low, high) in rules {
            let span = high - low + 1;
            let (a, b) = (low + a % span, low + b % span);
            let same_side = (a >= normal) == (b >= normal);
            if same_side && (a - normal).abs() <= (b - normal).abs() {
                prop_assert!(points(a) <= points(b), "{a} {b}");
            }
        }
    }

    /// Taking a value away never makes a total appear.
    #[test]
    fn less_known_is_never_more_sure(set in any_set()) {
        let whole = score(&set).expect("possible values");
        let less = score(&Set { sbp: None, ..set }).expect("possible values");
        prop_assert!(less.score.is_none());
        prop_assert!(!less.single_3 || whole.single_3);
    }
}

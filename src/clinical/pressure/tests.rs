//! Against clinical reference W3, computed twice there by independent routines.

use proptest::prelude::*;

use super::*;
use crate::record::observed::PressureSign;
use crate::record::time::{Span, Timestamp, WardZone};

fn bp(sbp: i32, dbp: i32) -> Pressure {
    Pressure::new(sbp, dbp).expect("a pressure")
}

#[test]
fn w3_mean_pulse_pressure_shock_index_and_range() {
    use Range::{Below, Severe, Stage1, Stage2};
    let cases = [
        (120, 80, 80, 93.3333, 93, 40, 67, Below),
        (134, 84, 70, 100.6667, 101, 50, 52, Below),
        (135, 84, 72, 101.0, 101, 51, 53, Stage1),
        (134, 85, 72, 101.3333, 101, 49, 54, Stage1),
        (149, 94, 66, 112.3333, 112, 55, 44, Stage1),
        (150, 94, 90, 112.6667, 113, 56, 60, Stage2),
        (149, 95, 90, 113.0, 113, 54, 60, Stage2),
        (179, 119, 88, 139.0, 139, 60, 49, Stage2),
        (180, 100, 88, 126.6667, 127, 80, 49, Severe),
        (170, 120, 92, 136.6667, 137, 50, 54, Severe),
        (90, 60, 90, 70.0, 70, 30, 100, Below),
        (88, 52, 124, 64.0, 64, 36, 141, Below),
        (110, 70, 99, 83.3333, 83, 40, 90, Below),
        (100, 58, 100, 72.0, 72, 42, 100, Below),
    ];
    for (sbp, dbp, hr, mean, shown, pulse_pressure, shock, range) in cases {
        let p = bp(sbp, dbp);
        assert!(
            (f64::from(p.mean_in_thirds()) / 3.0 - mean).abs() < 0.001,
            "{sbp}/{dbp}"
        );
        assert_eq!(p.mean_shown(), shown, "{sbp}/{dbp}");
        assert_eq!(p.pulse_pressure(), pulse_pressure, "{sbp}/{dbp}");
        assert_eq!(p.shock_index_in_hundredths(hr), Ok(shock), "{sbp}/{dbp}");
        assert_eq!(Range::of(p, Setting::Home), range, "{sbp}/{dbp}");
    }
}

#[test]
fn clinic_ranges_on_both_sides_of_every_limit() {
    use Range::{Below, Severe, Stage1, Stage2};
    for (sbp, dbp, range) in [
        (139, 89, Below),
        (140, 89, Stage1),
        (139, 90, Stage1),
        (159, 99, Stage1),
        (160, 99, Stage2),
        (159, 100, Stage2),
        (179, 119, Stage2),
        (180, 119, Severe),
        (179, 120, Severe),
    ] {
        assert_eq!(
            Range::of(bp(sbp, dbp), Setting::Clinic),
            range,
            "{sbp}/{dbp}"
        );
    }
}

#[test]
fn what_is_no_pressure_is_refused() {
    let said = |sbp, dbp| Pressure::new(sbp, dbp).map_err(|e| e.to_string());
    assert!(said(40, 20).is_ok() && said(300, 200).is_ok());
    assert!(said(39, 20).is_err() && said(301, 90).is_err());
    assert!(said(120, 19).is_err() && said(250, 201).is_err());
    assert_eq!(
        said(80, 120),
        Err("systolic 80 must be above diastolic 120; are they the wrong way round?".to_owned())
    );
    assert!(said(80, 80).is_err());
    assert!(bp(120, 80).shock_index_in_hundredths(19).is_err());
    assert!(bp(94, 80).unusual().is_some());
    assert_eq!((bp(95, 80).unusual(), bp(200, 80).unusual()), (None, None));
    assert!(bp(201, 80).unusual().is_some());
}

/// Four readings a day on successive days, a minute apart in pairs.
fn days(days: &[[(i32, i32); 4]]) -> Vec<HomeReading> {
    let first = Timestamp::EARLIEST;
    let minutes = [8 * 60, 8 * 60 + 1, 20 * 60, 20 * 60 + 1];
    let mut readings = Vec::new();
    for (day, pressures) in (0..).zip(days) {
        for (minute, (sbp, dbp)) in minutes.iter().zip(pressures) {
            let taken_at = first.plus(Span::days(day)).plus(Span::minutes(*minute));
            readings.push(HomeReading {
                taken_at,
                pressure: bp(*sbp, *dbp),
            });
        }
    }
    readings
}

#[test]
fn w3_home_averages() {
    let first = days(&[
        [(160, 98), (158, 97), (152, 95), (150, 94)],
        [(136, 84), (134, 83), (132, 82), (130, 80)],
        [(138, 86), (136, 85), (134, 84), (132, 82)],
        [(135, 84), (133, 83), (131, 82), (130, 81)],
    ]);
    let home = home_average(&first, WardZone::LONDON).expect("four days");
    assert_eq!(
        home.average,
        Average {
            sbp_sum: 1601,
            dbp_sum: 996,
            count: 12
        }
    );
    assert_eq!(home.average.shown(Setting::Home), "133/83");
    assert_eq!(home.average.range(Setting::Home), Range::Below);
    assert_eq!(home.notes, [HomeNote::UnderSevenDays]);

    let second = days(&[
        [(128, 78); 4],
        [(140, 88); 4],
        [(134, 84); 4],
        [(131, 83); 4],
    ]);
    let home = home_average(&second, WardZone::LONDON).expect("four days");
    assert_eq!(
        home.average,
        Average {
            sbp_sum: 1620,
            dbp_sum: 1020,
            count: 12
        }
    );
    assert_eq!(home.average.shown(Setting::Home), "135/85");
    assert_eq!(home.average.range(Setting::Home), Range::Stage1);

    let refused = home_average(&second[..12], WardZone::LONDON).expect_err("three days");
    assert_eq!(refused, HomeError::TooFewDays { days: 3 });
}

#[test]
fn measuring_that_falls_short_is_named() {
    let mut readings = days(&[[(130, 80); 4]; 7]);
    assert_eq!(
        home_average(&readings, WardZone::UTC).map(|h| h.notes),
        Ok(vec![])
    );
    readings[5].taken_at = readings[4].taken_at.plus(Span(59_000_000));
    readings.pop();
    let notes = home_average(&readings, WardZone::UTC)
        .expect("seven days")
        .notes;
    assert!(
        matches!(notes[0], HomeNote::TooClose { .. }) && notes[0].text().contains("02-Jan-2000")
    );
    assert!(matches!(notes[1], HomeNote::FewReadings { count: 3, .. }));
}

/// An average a hair under a limit must not be shown as having reached it.
#[test]
fn rounding_never_shows_a_limit_that_is_not_reached() {
    let nearly = Average {
        sbp_sum: 134 * 12 + 11,
        dbp_sum: 80 * 12,
        count: 12,
    };
    assert_eq!(nearly.range(Setting::Home), Range::Below);
    assert_eq!(nearly.shown(Setting::Home), "134.9/80.0");
}

#[test]
fn severe_postural_and_arms() {
    assert_eq!(
        severe_action(bp(179, 119), &[SevereSign::ChestPain]),
        SevereAction::None
    );
    assert_eq!(
        severe_action(bp(180, 100), &[]),
        SevereAction::InvestigateSoon
    );
    assert_eq!(
        severe_action(bp(170, 120), &[SevereSign::NewConfusion]),
        SevereAction::SameDay
    );
    for (written, same_day) in [
        (PressureSign::ChestPain, true),
        (PressureSign::Breathless, true),
        (PressureSign::HeartFailure, true),
        (PressureSign::Sight, true),
        (PressureSign::Retina, true),
        (PressureSign::Phaeochromocytoma, true),
        (PressureSign::Headache, false),
        (PressureSign::NoneFound, false),
    ] {
        let signs: Vec<SevereSign> = SevereSign::of(written).into_iter().collect();
        let action = severe_action(bp(180, 100), &signs);
        assert_eq!(action == SevereAction::SameDay, same_day, "{written:?}");
    }
    assert!(postural_drop(bp(130, 80), bp(110, 80)) && !postural_drop(bp(130, 80), bp(111, 80)));
    assert!(arms_differ(bp(120, 80), bp(136, 80)) && !arms_differ(bp(120, 80), bp(135, 80)));
    assert_eq!((home_target(79), home_target(80)), ((135, 85), (145, 85)));
}

/// 134.9/84 is under 135/85; 135.0/84 and 134/85.0 are not, whatever would be shown.
#[test]
fn a_target_is_met_by_the_unrounded_average() {
    let average = |sbp_sum, dbp_sum, count| Average {
        sbp_sum,
        dbp_sum,
        count,
    };
    assert!(average(1349, 840, 10).is_under((135, 85)));
    assert!(!average(1350, 840, 10).is_under((135, 85)));
    assert!(!average(1340, 850, 10).is_under((135, 85)));
    assert!(average(1340, 849, 10).is_under((135, 85)));
}

proptest! {
    /// The order of readings does not matter, and what is shown lies in the range stated.
    #[test]
    fn order_of_home_readings_does_not_matter(
        pressures in proptest::collection::vec((90_i32..200, 40_i32..89), 28),
        swaps in proptest::collection::vec((0_usize..28, 0_usize..28), 40),
    ) {
        let week: Vec<[(i32, i32); 4]> = pressures.chunks(4).map(|c| [c[0], c[1], c[2], c[3]]).collect();
        let mut readings = days(&week);
        let before = home_average(&readings, WardZone::LONDON);
        for (a, b) in swaps {
            readings.swap(a, b);
        }
        prop_assert_eq!(&home_average(&readings, WardZone::LONDON), &before);
        let average = before.expect("seven days").average;
        let shown = average.shown(Setting::Home);
        let (sbp, dbp) = shown.split_once('/').expect("two numbers");
        let tenths = |t: &str| t.split_once('.').map_or_else(
            || t.parse::<i64>().expect("whole") * 10,
            |(w, d)| w.parse::<i64>().expect("whole") * 10 + d.parse::<i64>().expect("tenth"),
        );
        let as_shown = Range::of_sums(tenths(sbp), tenths(dbp), 10, Setting::Home);
        prop_assert_eq!(as_shown, average.range(Setting::Home));
    }

    /// MAP lies between diastolic and systolic; a higher pressure never has a lower range.
    #[test]
    fn mean_lies_between_and_ranges_are_monotone(sbp in 41_i32..=300, below in 1_i32..200, more in 0_i32..100) {
        let dbp = sbp - below;
        if let (Ok(low), Ok(high)) = (Pressure::new(sbp, dbp), Pressure::new(sbp + more, dbp)) {
            prop_assert!(low.mean_shown() >= dbp && low.mean_shown() <= sbp);
            for setting in [Setting::Clinic, Setting::Home] {
                prop_assert!(Range::of(high, setting) >= Range::of(low, setting));
            }
        }
    }
}

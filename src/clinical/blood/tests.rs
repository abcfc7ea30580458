//! Every limit on both sides; the published table is written out again here.

use proptest::prelude::*;

use super::*;
use crate::record::time::{Span, Timestamp};

fn decimal(text: &str) -> Decimal {
    Decimal::parse(text).expect("a decimal")
}

/// `k 6.5`, `plt <20`, `crp >300`, with the laboratory's limits if any.
fn result(analyte: Analyte, text: &str, low: Option<&str>, high: Option<&str>) -> ResultValue {
    let (comparator, number) = match text.split_at(1) {
        ("<", rest) => (Comparator::Below, rest),
        (">", rest) => (Comparator::Above, rest),
        _ => (Comparator::Exact, text),
    };
    let (low, high) = (low.map(decimal), high.map(decimal));
    ResultValue {
        analyte,
        comparator,
        value: decimal(number),
        low,
        high,
    }
}

#[test]
fn the_laboratory_s_range_wins() {
    let policy = typical_range(Analyte::Potassium, Sex::NotKnown);
    let own = result(Analyte::Potassium, "5.2", Some("3.5"), Some("5.0"));
    assert_eq!(flag(&own, policy), (Flag::High, RangeOwner::Laboratory));
    let none = result(Analyte::Potassium, "5.2", None, None);
    assert_eq!(flag(&none, policy), (Flag::Within, RangeOwner::Policy));
    assert_eq!(flag(&none, None), (Flag::Unknown, RangeOwner::Nobody));
    let open = result(Analyte::Crp, "6", None, Some("5"));
    assert_eq!(flag(&open, None), (Flag::High, RangeOwner::Laboratory));
}

#[test]
fn flags_on_both_sides_of_each_limit() {
    let place = |text| {
        flag(
            &result(Analyte::Sodium, text, Some("133"), Some("146")),
            None,
        )
        .0
    };
    for (text, expected) in [
        ("132", Flag::Low),
        ("132.9", Flag::Low),
        ("133.0", Flag::Within),
        ("146", Flag::Within),
        ("146.1", Flag::High),
        ("<133", Flag::Low),
        ("<134", Flag::Unknown),
        (">146", Flag::High),
        (">145", Flag::Unknown),
    ] {
        assert_eq!(place(text), expected, "{text}");
    }
    let typical = |text| {
        let policy = typical_range(Analyte::Crp, Sex::NotKnown);
        flag(&result(Analyte::Crp, text, None, None), policy).0
    };
    assert_eq!(
        ["<5", "4.99", "5", "<6"].map(typical),
        [Flag::Within, Flag::Within, Flag::High, Flag::Unknown]
    );
    let crp = |text| flag(&result(Analyte::Crp, text, None, Some("5")), None).0;
    assert_eq!(
        (crp("<5"), crp("<6"), crp(">300")),
        (Flag::Within, Flag::Unknown, Flag::High)
    );
}

/// RCPath G158 (October 2017), chemistry for people over 16; haematology from memory.
#[test]
fn critical_limits_on_both_sides() {
    for (analyte, critical, not) in [
        (Analyte::Sodium, ["120", "160"], ["121", "159"]),
        (Analyte::Potassium, ["2.5", "6.5"], ["2.6", "6.4"]),
        (Analyte::Urea, ["30", "30.0"], ["29.9", "1"]),
        (Analyte::Creatinine, ["354", "355"], ["353", "20"]),
        (Analyte::Glucose, ["2.5", "25"], ["2.6", "24.9"]),
        (Analyte::Crp, ["300", ">300"], ["299", "<300"]),
        (Analyte::Haemoglobin, ["69", "<70"], ["70", "200"]),
        (Analyte::Neutrophils, ["0.4", "50.1"], ["0.5", "50"]),
        (Analyte::Platelets, ["29", "1001"], ["30", "1000"]),
    ] {
        let holds = |text| Critical::published(analyte).holds(&result(analyte, text, None, None));
        assert!(
            critical.map(holds).iter().all(|held| *held),
            "{analyte:?} {critical:?}"
        );
        assert!(
            not.map(holds).iter().all(|held| !*held),
            "{analyte:?} {not:?}"
        );
    }
    let platelets = |text| {
        let result = result(Analyte::Platelets, text, None, None);
        Critical::published(Analyte::Platelets).holds(&result)
    };
    assert!(platelets("<30") && platelets("<20") && !platelets("<31"));
    for analyte in [
        Analyte::Lactate,
        Analyte::Albumin,
        Analyte::WhiteCells,
        Analyte::Alt,
    ] {
        assert_eq!(
            Critical::published(analyte),
            Critical {
                low: None,
                high: None
            }
        );
    }
    let alt = |text, high| alt_is_critical(&result(Analyte::Alt, text, None, high));
    assert_eq!(alt("525", Some("35")), Some(true));
    assert_eq!(alt("524", Some("35")), Some(false));
    assert_eq!((alt("525", None), alt("<525", Some("35"))), (None, None));
}

#[test]
fn typical_ranges_depend_on_sex_only_where_they_do() {
    for analyte in Analyte::ALL {
        let known = typical_range(*analyte, Sex::Female).is_some();
        assert_eq!(known, *analyte != Analyte::Glucose, "{analyte:?}");
        let same = typical_range(*analyte, Sex::Female) == typical_range(*analyte, Sex::Male);
        assert_eq!(
            typical_range(*analyte, Sex::NotKnown).is_none(),
            !same || !known,
            "{analyte:?}"
        );
    }
}

#[test]
fn change_is_exact_or_not_stated() {
    let crp = |text| result(Analyte::Crp, text, None, None);
    let shown = |a, b| change(&crp(a), &crp(b)).map(Decimal::plain);
    assert_eq!(shown("148", "96.5"), Some("-51.5".to_owned()));
    assert_eq!(shown("0.1", "0.3"), Some("0.2".to_owned()));
    assert_eq!((shown("<5", "96"), shown("96", ">300")), (None, None));
    assert_eq!(
        change(&crp("5"), &result(Analyte::Urea, "5", None, None)),
        None
    );
}

#[test]
fn crp_rising_counts_only_after_two_days_of_treatment() {
    let at = |hours: i64| Timestamp::EARLIEST.plus(Span::hours(hours));
    let course = |values: &[(i64, &str)], as_of| {
        let values: Vec<_> = values.iter().map(|(h, v)| (at(*h), decimal(v))).collect();
        crp_course(&values, at(0), at(as_of))
    };
    let falling = [(48, "96"), (0, "148"), (-20, "400"), (24, "210")];
    let fell = course(&falling, 48).expect("values");
    assert_eq!(fell.peak, (at(24), decimal("210")));
    assert_eq!((fell.percent_of_peak(), fell.rising), (Some(46), false));
    let early = course(&falling, 24).expect("values");
    assert_eq!((early.rising, early.rising_on_treatment), (true, false));
    let late = course(&[(24, "148"), (48, "149")], 50).expect("values");
    assert!(late.rising && late.rising_on_treatment);
    let just_under = course(&[(24, "148"), (47, "149")], 50).expect("values");
    assert!(just_under.rising && !just_under.rising_on_treatment);
    assert_eq!(course(&[(0, "148")], 48), None);
}

proptest! {
    /// A higher value is never flagged lower, and change undoes itself.
    #[test]
    fn flags_are_monotone(a in 0_i64..2000, b in 0_i64..2000) {
        let of = |n: i64| ResultValue {
            analyte: Analyte::Sodium, comparator: Comparator::Exact,
            value: Decimal { mantissa: n, places: 1 }, low: Some(decimal("133")), high: Some(decimal("146")),
        };
        let rank = |n| match flag(&of(n), None).0 { Flag::Low => 0, Flag::Within => 1, Flag::High => 2, Flag::Unknown => 9 };
        prop_assert!(rank(a.min(b)) <= rank(a.max(b)));
        let there = change(&of(a), &of(b)).expect("exact");
        let back = change(&of(b), &of(a)).expect("exact");
        prop_assert_eq!(there.mantissa, -back.mantissa);
    }
}

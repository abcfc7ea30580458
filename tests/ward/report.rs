//! The ward's report: what holds for any entries at all, and the nights the clocks change.

use std::collections::BTreeMap;

use handfast::record::ids::Seq;
use handfast::record::kind::Kind;
use handfast::record::time::{Leaning, Span, Timestamp, parse_moment};
use handfast::ward::report::{Counted, Figure, Matter, Period, PeriodRefusal, count};
use proptest::prelude::*;

use crate::laws::acts;
use crate::material::{Story, ZONE};

/// Figures of a moment, not of a stretch of time, and distinct patients: they do not add up.
fn adds_up(figure: &Figure) -> bool {
    let of_a_moment = [
        "here-at-start",
        "here-at-end",
        "open-at-start",
        "open-at-end",
        "end-of-stay-unknown",
        "patients-silent",
        "patients-next-set-late",
        "covered",
        "not-covered",
    ];
    !of_a_moment.contains(&figure.name) && !figure.name.ends_with("before")
}

type Sums = BTreeMap<(String, String), (u64, Vec<Seq>)>;

fn sums<'a>(counted: impl IntoIterator<Item = &'a Counted>) -> Sums {
    let mut sums = Sums::new();
    for part in counted.into_iter().flat_map(|counted| &counted.parts) {
        for figure in part.figures.iter().filter(|f| adds_up(f) && f.count > 0) {
            let name = format!("{} {}", figure.name, figure.of.join(" "));
            let sum = sums.entry((format!("{:?}", part.about), name)).or_default();
            sum.0 += figure.count;
            sum.1.extend(&figure.entries);
        }
    }
    for (_, entries) in sums.values_mut() {
        entries.sort_unstable();
        // A stay, or a repeating task, is counted from in more periods than one.
        entries.dedup();
    }
    sums
}

fn figure<'a>(counted: &'a Counted, about: Matter, name: &str) -> Option<&'a Figure> {
    let part = counted.parts.iter().find(|part| part.about == about)?;
    let mut figures = part.figures.iter();
    figures.find(|figure| figure.name == name && figure.of.is_empty())
}

fn number(counted: &Counted, about: Matter, name: &str) -> u64 {
    figure(counted, about, name).map_or(0, |figure| figure.count)
}

fn period(story: &Story, from: i64, minutes: i64) -> Period {
    let from = story.entries[0].recorded_at.plus(Span::minutes(from));
    let until = from.plus(Span::minutes(minutes));
    Period { from, until }
}

proptest! {
    /// The ends are moments at which something happened: whatever lies on the seam counts once.
    #[test]
    fn figures_of_adjoining_periods_add_up(
        acts in acts(),
        ends in prop::array::uniform3(any::<prop::sample::Index>()),
        beside in prop::array::uniform3(-1_i64..=1),
        later in 0_i64..3_000,
    ) {
        let story = Story::of(&acts);
        let (ward, now) = (story.ward(), story.now.plus(Span::minutes(later)));
        let end = |at: usize| {
            let moment = ends[at].get(&story.entries).envelope.occurred_at;
            moment.plus(Span::minutes(beside[at]))
        };
        let mut ends = [end(0), end(1), end(2)];
        ends.sort_unstable();
        let [from, seam, until] = ends;
        let first = Period { from, until: seam };
        let second = Period { from: seam, until };
        let both = Period { from, until };
        let [first, second, both] = [first, second, both].map(|p| count(&ward, p, now));
        prop_assert_eq!(sums([&first, &second]), sums([&both]));
    }

    #[test]
    fn days_add_up_to_their_period(acts in acts(), from in 0_i64..2_000, long in 1_i64..6_000) {
        let story = Story::of(&acts);
        let counted = count(&story.ward(), period(&story, from, long), story.now);
        for (about, whole, by_day) in [
            (Matter::Admissions, "admitted", "admitted"),
            (Matter::Discharges, "left", "left"),
            (Matter::Beds, "bed-days", "bed-days"),
            (Matter::Contacts, "contacts", "contacts"),
            (Matter::Contacts, "unreached", "unreached"),
            (Matter::Alerts, "raised", "alerts-raised"),
            (Matter::Writing, "late", "late"),
        ] {
            let days = counted.days.iter().filter_map(|day| day.count(by_day));
            prop_assert_eq!(days.sum::<u64>(), number(&counted, about, whole), "{}", whole);
        }
    }

    /// Whoever was there and whoever came, without whoever left, is there.
    #[test]
    fn the_ward_balances(acts in acts(), from in 0_i64..2_000, long in 1_i64..6_000) {
        let story = Story::of(&acts);
        let ward = story.ward();
        // Nothing happens at the very moment of the view.
        let now = story.now.plus(Span::minutes(1));
        let counted = count(&ward, period(&story, from, long), now);
        let of = |about, name| number(&counted, about, name);
        let odd = ward.patients().any(|patient| {
            let (last, earlier) = match patient.episodes.split_last() {
                Some(split) => split,
                None => return false,
            };
            let ends_early = |stay: &&handfast::ward::Episode| {
                let end = stay.discharged.as_ref();
                end.is_some_and(|e| e.stamp.occurred_at < stay.admitted.stamp.occurred_at)
            };
            earlier.iter().any(|stay| stay.discharged.is_none())
                || earlier.iter().chain([last]).any(|stay| ends_early(&stay))
        });
        if !odd && now >= story.entries[0].recorded_at.plus(Span::minutes(from)) {
            prop_assert_eq!(
                of(Matter::Beds, "here-at-start") + of(Matter::Admissions, "admitted"),
                of(Matter::Beds, "here-at-end") + of(Matter::Discharges, "left")
            );
        }
    }

    /// Every alert that is open is either among those that wait, or was raised after the period.
    #[test]
    fn no_open_alert_falls_out(acts in acts(), from in 0_i64..2_000, long in 1_i64..6_000) {
        let story = Story::of(&acts);
        let ward = story.ward();
        let period = period(&story, from, long);
        let counted = count(&ward, period, story.now);
        let mut named: Vec<Seq> = Vec::new();
        for name in ["raised", "open-at-start"] {
            let figure = figure(&counted, Matter::Alerts, name).expect("a figure");
            let last = figure.times.last().expect("times");
            named.extend(last.waiting.iter().map(|one| one.seq));
        }
        named.sort_unstable();
        let ledgers = ward.patients().map(|p| &p.ledgers).chain([ward.common()]);
        let alerts = ledgers.flat_map(|ledgers| ledgers.alerts.values());
        let open = alerts.filter(|a| a.is_open() && a.stamp.occurred_at < period.until);
        let mut open: Vec<Seq> = open.map(|alert| alert.seq()).collect();
        open.sort_unstable();
        prop_assert_eq!(named, open);
    }
}

fn at(said: &str) -> Timestamp {
    let moment = parse_moment(said, Timestamp::EARLIEST, ZONE, Leaning::Past);
    moment.expect("a moment").at
}

fn read(from: Option<&str>, until: Option<&str>, now: &str) -> Result<Period, PeriodRefusal> {
    Period::read(from, until, at(now), ZONE)
}

#[test]
fn a_period_is_seven_whole_days_unless_it_is_named() {
    let now = "04-Nov-2026 19:24";
    let whole = Period {
        from: at("28-Oct-2026 00:00"),
        until: at("04-Nov-2026 00:00"),
    };
    assert_eq!(read(None, None, now), Ok(whole));
    let days = read(Some("28-Oct-2026"), Some("03-Nov-2026"), now);
    assert_eq!(days, Ok(whole), "a day counts whole");
    let moments = read(Some("yesterday 08:00"), Some("12:00"), now).expect("a period");
    assert_eq!(moments.from, at("03-Nov-2026 08:00"));
    assert_eq!(moments.until, at("04-Nov-2026 12:00"));
    let today = read(Some("today"), None, now).expect("today so far");
    assert_eq!(today.until, at(now));
    assert_eq!(read(Some("today"), Some("today"), now), Ok(today));
    let until = read(None, Some("03-Nov-2026"), now).expect("its seven days");
    assert_eq!(until, whole);
}

#[test]
fn a_period_that_is_none_says_why() {
    let now = "04-Nov-2026 19:24";
    for (from, until, why) in [
        (Some("tomorrow 08:00"), None, "is still to come"),
        (None, Some("05-Nov-2026 08:00"), "is still to come"),
        (Some("03-Nov-2026"), Some("02-Nov-2026"), "no time at all"),
        (Some("01-Jan-2001"), None, "longer than ten years"),
        (Some("whenever"), None, "from: "),
        (Some("25-Oct-2026 01:30"), None, "twice"),
    ] {
        let refusal = read(from, until, now).expect_err(why).to_string();
        assert!(refusal.contains(why), "{refusal}");
    }
}

/// The day on which the clocks go back has 25 hours, and the one on which they go forward 23.
#[test]
fn a_day_of_clock_change_is_whole_with_25_or_23_hours() {
    let story = Story::begin();
    let ward = story.ward();
    for (day, hours, now) in [
        ("25-Oct-2026", 25, "26-Oct-2026 12:00"),
        ("28-Mar-2027", 23, "29-Mar-2027 12:00"),
        ("29-Mar-2027", 24, "30-Mar-2027 12:00"),
    ] {
        let period = read(Some(day), Some(day), now).expect("a day");
        assert_eq!(period.until.since(period.from), Span::hours(hours), "{day}");
        let counted = count(&ward, period, at(now));
        let [only] = counted.days.as_slice() else {
            panic!("{day} is one day");
        };
        assert!(only.whole, "{day}");
        // The three of the story are on the ward: at 08:00, and at the midnight that ends it.
        assert_eq!(only.snapshot_at, Some(at(&format!("{day} 08:00"))));
        assert_eq!(
            (only.count("here"), only.count("bed-days")),
            (Some(3), Some(3))
        );
        let covered = figure(&counted, Matter::Shifts, "not-covered").map(|f| f.count);
        assert_eq!(
            covered,
            u64::try_from(hours * 60).ok(),
            "{day}: no shift is recorded"
        );
    }
}

/// Raised at 01:30 by the first clock, acted on at 01:15 by the second: 45 minutes later.
#[test]
fn times_run_on_elapsed_time_through_the_hour_that_happens_twice() {
    let mut story = Story::begin();
    story.now = at("25-Oct-2026 01:30 BST");
    let alert = "source=missing; what=no readings; severity=soon";
    let alert = story.log(1, Some(0), Kind::Alert, alert);
    story.now = at("25-Oct-2026 01:15 GMT");
    let step = format!("alert={alert}; step=actioned; what=rang");
    story.log(1, Some(0), Kind::AlertStep, &step);
    let period = read(Some("25-Oct-2026"), None, "26-Oct-2026 12:00").expect("a day");
    let counted = count(&story.ward(), period, at("26-Oct-2026 12:00"));
    let raised = figure(&counted, Matter::Alerts, "raised").expect("raised");
    let acted = raised.times.iter().find(|spread| spread.name == "acted");
    assert_eq!(acted.and_then(|spread| spread.median), Some(45.0));
    let closed = raised.times.last().expect("closed");
    assert_eq!((closed.median, closed.waiting.len()), (None, 1));
    assert!(closed.longest_waits, "and its age so far is the longest");
}

/// Places are known from the moment they are set, and a share is of those.
#[test]
fn a_share_is_of_the_places_there_were_then() {
    let mut story = Story::begin();
    story.now = at("26-Oct-2026 12:00");
    let set = |places: &str| format!("setting=report.capacity; value={places}; reason=agreed");
    story.log(2, None, Kind::PolicyChanged, &set("4"));
    story.now = at("28-Oct-2026 12:00");
    story.log(2, None, Kind::PolicyChanged, &set("\"unknown\""));
    let now = "30-Oct-2026 12:00";
    let period = read(Some("26-Oct-2026"), Some("29-Oct-2026"), now).expect("days");
    let counted = count(&story.ward(), period, at(now));
    let shares: Vec<_> = counted
        .days
        .iter()
        .map(|day| (day.capacity, day.occupancy_tenths, day.above_80_percent))
        .collect();
    let known = (Some(4), Some(750), Some(false));
    let unknown = (None, None, None);
    assert_eq!(shares, [unknown, known, known, unknown]);
    assert_eq!(counted.days[1].capacity_seq, Some(Seq(8)));
}

/// Twelve whole days make a chart, eleven and a half none; limits rest on the first twelve.
#[test]
fn a_chart_needs_twelve_whole_days() {
    let mut story = Story::begin();
    let alert = "source=missing; what=no readings; severity=soon";
    for day in 0..14 {
        story.now = at("26-Oct-2026 12:00").plus(Span::days(day));
        let many = if day == 13 { 30 } else { 2 + day % 2 };
        for _ in 0..many {
            story.log(1, Some(0), Kind::Alert, alert);
        }
    }
    let ward = story.ward();
    let now = "09-Nov-2026 00:00";
    let series = |from: &str| {
        let period = read(Some(from), None, now).expect("a period");
        count(&ward, period, at(now)).series
    };
    assert_eq!(
        series("28-Oct-2026 00:01"),
        [],
        "eleven whole days and a part"
    );
    let all = series("26-Oct-2026");
    let alerts = all.iter().find(|series| series.name == "alerts-raised");
    let alerts = alerts.expect("alerts are charted");
    // 2, 3, 2, … twelve times: mean 2.5, mean moving range 1, limits 2.66 away.
    assert_eq!(alerts.values.len(), 14);
    assert!((alerts.mean - 2.5).abs() < 1e-9 && (alerts.mean_range - 1.0).abs() < 1e-9);
    assert!((alerts.high - 5.16).abs() < 1e-9 && (alerts.low + 0.16).abs() < 1e-9);
    let outside: Vec<String> = alerts
        .outside
        .iter()
        .map(|d| d.to_date().to_string())
        .collect();
    assert_eq!(outside, ["2026-11-08"]);
}

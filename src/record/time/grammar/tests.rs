//! Oracle: jiff's civil time and disambiguation with the rule the United Kingdom has used
//! since 1996 written as a POSIX zone, so neither zone data nor code are shared with chrono-tz.

use jiff::civil;
use jiff::tz::{AmbiguousOffset, TimeZone};
use proptest::prelude::*;

use super::*;
use crate::record::time::Span;

const LONDON: WardZone = WardZone::LONDON;

fn uk() -> TimeZone {
    TimeZone::posix("GMT0BST,M3.5.0/1,M10.5.0/2").expect("a POSIX zone")
}

/// The moment an RFC 3339 text names.
fn at(text: &str) -> Timestamp {
    Timestamp(
        text.parse::<jiff::Timestamp>()
            .expect("RFC 3339")
            .as_microsecond(),
    )
}

fn moment(text: &str, now: &str, leaning: Leaning) -> Result<Timestamp, TimeRefusal> {
    parse_moment(text, at(now), LONDON, leaning).map(|m| m.at)
}

fn past(text: &str, now: &str) -> Result<Timestamp, TimeRefusal> {
    moment(text, now, Leaning::Past)
}

fn future(text: &str, now: &str) -> Result<Timestamp, TimeRefusal> {
    moment(text, now, Leaning::Future)
}

/// A Thursday afternoon, BST: 14:20 on the ward.
const THURSDAY: &str = "2026-07-16T13:20:00Z";

#[test]
fn every_form_says_what_it_says() {
    let cases = [
        ("now", Leaning::Past, "2026-07-16T13:20:00Z"),
        ("12:30", Leaning::Past, "2026-07-16T11:30:00Z"),
        ("15:30", Leaning::Past, "2026-07-15T14:30:00Z"),
        ("14:20", Leaning::Past, "2026-07-16T13:20:00Z"),
        ("14:21", Leaning::Past, "2026-07-15T13:21:00Z"),
        ("12:30", Leaning::Future, "2026-07-17T11:30:00Z"),
        ("15:30", Leaning::Future, "2026-07-16T14:30:00Z"),
        ("14:20", Leaning::Future, "2026-07-16T13:20:00Z"),
        ("14:19", Leaning::Future, "2026-07-17T13:19:00Z"),
        ("0930", Leaning::Past, "2026-07-16T08:30:00Z"),
        ("at 9:30", Leaning::Past, "2026-07-16T08:30:00Z"),
        ("09:30 BST", Leaning::Past, "2026-07-16T08:30:00Z"),
        ("9:30am", Leaning::Past, "2026-07-16T08:30:00Z"),
        ("9.30 AM", Leaning::Past, "2026-07-16T08:30:00Z"),
        ("3pm", Leaning::Future, "2026-07-16T14:00:00Z"),
        ("3:30pm", Leaning::Future, "2026-07-16T14:30:00Z"),
        ("tomorrow 3 pm", Leaning::Future, "2026-07-17T14:00:00Z"),
        ("25 Oct 3 pm gmt", Leaning::Future, "2026-10-25T15:00:00Z"),
        ("09:30 bst", Leaning::Past, "2026-07-16T08:30:00Z"),
        ("+4h", Leaning::Future, "2026-07-16T17:20:00Z"),
        ("+30m", Leaning::Future, "2026-07-16T13:50:00Z"),
        ("+2d", Leaning::Future, "2026-07-18T13:20:00Z"),
        ("in 30m", Leaning::Future, "2026-07-16T13:50:00Z"),
        ("In 4 Hours", Leaning::Future, "2026-07-16T17:20:00Z"),
        ("in 1h30", Leaning::Future, "2026-07-16T14:50:00Z"),
        ("20m ago", Leaning::Past, "2026-07-16T13:00:00Z"),
        ("-20m", Leaning::Past, "2026-07-16T13:00:00Z"),
        ("today 09:00", Leaning::Past, "2026-07-16T08:00:00Z"),
        ("today 18:00", Leaning::Past, "2026-07-16T17:00:00Z"),
        ("yesterday 22:15", Leaning::Past, "2026-07-15T21:15:00Z"),
        ("tomorrow 09:00", Leaning::Future, "2026-07-17T08:00:00Z"),
        ("Fri 14:00", Leaning::Future, "2026-07-17T13:00:00Z"),
        ("friday 14:00", Leaning::Past, "2026-07-10T13:00:00Z"),
        ("Thu 15:00", Leaning::Future, "2026-07-16T14:00:00Z"),
        ("Thu 14:00", Leaning::Future, "2026-07-23T13:00:00Z"),
        ("Thu 14:00", Leaning::Past, "2026-07-16T13:00:00Z"),
        ("Thu 15:00", Leaning::Past, "2026-07-09T14:00:00Z"),
        ("25 Oct 09:30", Leaning::Future, "2026-10-25T09:30:00Z"),
        ("25-Oct 09:30", Leaning::Past, "2025-10-25T08:30:00Z"),
        ("29 Feb 09:30", Leaning::Past, "2024-02-29T09:30:00Z"),
        ("29 Feb 09:30", Leaning::Future, "2028-02-29T09:30:00Z"),
        ("2 July 2026 0930", Leaning::Past, "2026-07-02T08:30:00Z"),
        ("02/07/2026 09:30", Leaning::Past, "2026-07-02T08:30:00Z"),
        ("2026-10-25 03:30", Leaning::Past, "2026-10-25T03:30:00Z"),
        ("2026-10-25T03:30", Leaning::Past, "2026-10-25T03:30:00Z"),
        (
            "25-Oct-2026 01:30 GMT",
            Leaning::Past,
            "2026-10-25T01:30:00Z",
        ),
        (
            "2026-10-25T01:30:00+01:00",
            Leaning::Past,
            "2026-10-25T00:30:00Z",
        ),
        (
            "2026-07-16T13:19:60Z",
            Leaning::Past,
            "2026-07-16T13:20:00Z",
        ),
    ];
    for (text, leaning, expected) in cases {
        assert_eq!(
            moment(text, THURSDAY, leaning),
            Ok(at(expected)),
            "{text} {leaning:?}"
        );
    }
}

#[test]
fn what_is_not_understood_is_refused_with_what_would_be() {
    let message = |text: &str| {
        parse_moment(text, at(THURSDAY), LONDON, Leaning::Past)
            .map_or_else(|e| e.to_string(), |m| m.at.rfc3339())
    };
    for text in [
        "",
        " ",
        "25:00",
        "24:00",
        "12:60",
        "930",
        "9",
        "12:3",
        "noonish",
        "lunchtime 12:30",
        "+",
        "in",
        "ago",
        "Fri Sat 12:30",
        "12:30 13:30",
        "１２:３０",
        "+ago",
        "\u{1b}[31m12:30",
        "12:30\u{202e}",
        "-",
        "2026-13",
        "13pm",
        "0pm",
        "pm",
        "3:75pm",
        "3.75",
    ] {
        let answer = message(text);
        assert!(answer.contains("is not a "), "{text:?}: {answer}");
    }
    assert!(message("tomorrow").contains("say \"tomorrow 09:00\""));
    assert!(message("Fri").contains("no time"));
    assert!(message("25-Oct-2026").contains("no time"));
    assert!(message("25 Oct 2026").contains("year or in a time"));
    assert!(message("30 Feb 09:00").contains("not in the calendar"));
    assert!(message("30-Feb-2026 09:00").contains("not in the calendar"));
    assert!(message("02/07/26 09:00").contains("all four digits"));
    // Half a day each way from what 12 would mean, and a point is no colon.
    assert!(message("12pm").contains("say 12:00 for noon, 00:00 for midnight"));
    assert!(
        message("12:15 am").contains("say 12:15 or 00:15"),
        "{}",
        message("12:15 am")
    );
    assert!(message("03.30").contains("say 03:30"));
    assert!(message("yesterday 3.30").contains("say 03:30, or 15:30"));
    assert!(message("30m").contains("+30m"));
    assert!(message("+4 cats").contains("say 30m"));
    assert!(
        message("+4000d").contains("too far"),
        "{}",
        message("+4000d")
    );
    assert!(message("01-Jan-1999 09:00").contains("too far"));
    assert!(message("09:30 GMT").contains("it shows BST"));
    assert!(message(&"x".repeat(5000)).len() < 400);
}

#[test]
fn the_hour_that_happens_twice_is_asked_about_and_answered() {
    let morning = "2026-10-25T05:00:00Z";
    let Err(TimeRefusal::HappensTwice {
        first,
        second,
        say_first,
        say_second,
        ..
    }) = past("01:30", morning)
    else {
        panic!("01:30 happened twice");
    };
    assert_eq!(
        (first, second),
        (at("2026-10-25T00:30:00Z"), at("2026-10-25T01:30:00Z"))
    );
    assert_eq!(
        (say_first.as_str(), say_second.as_str()),
        ("01:30 BST", "01:30 GMT")
    );
    assert_eq!(past(&say_first, morning), Ok(first));
    assert_eq!(past(&say_second, morning), Ok(second));
    // Between the two, only one of them is past and only the other is to come.
    let between = "2026-10-25T00:45:00Z";
    assert_eq!(past("01:30", between), Ok(first));
    assert_eq!(future("01:30", between), Ok(second));
    assert!(matches!(
        past("25 Oct 01:30", morning),
        Err(TimeRefusal::HappensTwice { .. })
    ));
    assert!(matches!(
        future("01:30", "2026-10-24T21:00:00Z"),
        Err(TimeRefusal::HappensTwice { .. })
    ));
    // The next night is an ordinary one.
    assert_eq!(
        past("01:30", "2026-10-26T05:00:00Z"),
        Ok(at("2026-10-26T01:30:00Z"))
    );
}

#[test]
fn the_hour_that_never_happens_is_refused_not_moved() {
    for (text, now, leaning) in [
        ("01:30", "2026-03-29T05:00:00Z", Leaning::Past),
        ("01:00", "2026-03-28T22:00:00Z", Leaning::Future),
        ("tomorrow 01:59", "2026-03-28T22:00:00Z", Leaning::Future),
        ("29-Mar-2026 01:30", THURSDAY, Leaning::Past),
        ("Sun 01:30", "2026-03-28T22:00:00Z", Leaning::Future),
    ] {
        let refusal = moment(text, now, leaning).expect_err(text);
        let message = refusal.to_string();
        assert!(
            message.contains("00:59 is followed by 02:00"),
            "{text}: {message}"
        );
    }
    assert_eq!(
        past("00:59", "2026-03-29T05:00:00Z"),
        Ok(at("2026-03-29T00:59:00Z"))
    );
    assert_eq!(
        past("02:00", "2026-03-29T05:00:00Z"),
        Ok(at("2026-03-29T01:00:00Z"))
    );
    // Before the jump, the latest 01:30 is yesterday's; after it, tomorrow's comes next.
    assert_eq!(
        past("01:30", "2026-03-29T00:30:00Z"),
        Ok(at("2026-03-28T01:30:00Z"))
    );
    assert_eq!(
        future("01:30", "2026-03-29T05:00:00Z"),
        Ok(at("2026-03-30T00:30:00Z"))
    );
}

#[test]
fn elapsed_and_wall_clock_part_on_the_clock_change_night() {
    let evening = "2026-10-24T21:00:00Z"; // 22:00 BST
    assert_eq!(future("+12h", evening), Ok(at("2026-10-25T09:00:00Z"))); // 09:00 GMT
    assert_eq!(
        future("tomorrow 10:00", evening),
        Ok(at("2026-10-25T10:00:00Z"))
    );
    // A night shift 22:00-08:00 lasts eleven hours that night.
    let shift =
        parse_window("22:00-08:00", at(evening), LONDON, Leaning::Future).expect("a window");
    assert_eq!(shift.to.since(shift.from), Span::hours(11));
}

#[test]
fn windows() {
    let window = |text: &str, now: &str, leaning| {
        parse_window(text, at(now), LONDON, leaning).map(|w| (w.from, w.to))
    };
    let day = |from: &str, to: &str| Ok((at(from), at(to)));
    let afternoon = day("2026-07-16T13:00:00Z", "2026-07-16T15:00:00Z");
    for text in [
        "14:00-16:00",
        "14:00 - 16:00",
        "between 14:00 and 16:00",
        "14:00 to 16:00",
        "1400–1600",
        "from 14:00 to 16:00",
        "today 14:00-16:00",
    ] {
        assert_eq!(window(text, THURSDAY, Leaning::Future), afternoon, "{text}");
        assert_eq!(window(text, THURSDAY, Leaning::Past), afternoon, "{text}");
    }
    assert_eq!(
        window("14:00-16:00", "2026-07-16T16:00:00Z", Leaning::Future),
        day("2026-07-17T13:00:00Z", "2026-07-17T15:00:00Z")
    );
    assert_eq!(
        window("tomorrow 14:00-16:00", THURSDAY, Leaning::Future),
        day("2026-07-17T13:00:00Z", "2026-07-17T15:00:00Z")
    );
    assert_eq!(
        window("22:00-02:00", "2026-07-15T23:30:00Z", Leaning::Future),
        day("2026-07-15T21:00:00Z", "2026-07-16T01:00:00Z")
    );
    assert_eq!(
        window("25-Oct-2026 01:45 BST-01:15 GMT", THURSDAY, Leaning::Future),
        day("2026-10-25T00:45:00Z", "2026-10-25T01:15:00Z")
    );
    assert!(matches!(
        window("25-Oct-2026 00:30-01:30", THURSDAY, Leaning::Future),
        Err(TimeRefusal::HappensTwice { .. })
    ));
    assert!(matches!(
        window("28-Mar-2027 00:30-01:30", THURSDAY, Leaning::Future),
        Err(TimeRefusal::NeverHappens { .. })
    ));
    for text in [
        "14:00",
        "14:00-14:00",
        "between 14:00",
        "14:00-tomorrow 16:00",
        "-",
        "",
    ] {
        assert!(window(text, THURSDAY, Leaning::Future).is_err(), "{text}");
    }
}

#[test]
fn dates() {
    let born = chrono::NaiveDate::from_ymd_opt(1944, 7, 2);
    for text in [
        "02-Jul-1944",
        "2 Jul 1944",
        "2 july 1944",
        "1944-07-02",
        "02/07/1944",
        "2/7/1944",
        "2-JUL-1944",
    ] {
        assert_eq!(parse_date(text).ok(), born, "{text}");
    }
    for text in ["2 Jul 44", "02/07/44"] {
        assert!(
            matches!(parse_date(text), Err(TimeRefusal::ShortYear { .. })),
            "{text}"
        );
    }
    for text in ["30-Feb-1944", "07/22/1944", "29-Feb-1943", "1944-13-01"] {
        assert!(
            matches!(parse_date(text), Err(TimeRefusal::NoSuchDate { .. })),
            "{text}"
        );
    }
    for text in [
        "",
        "1944",
        "Jul 1944",
        "2 Jul",
        "Jul 2 1944",
        "02-07-1944",
        "2 Juli 1944",
        "+2 Jul 1944",
        "1944-07-02-03",
    ] {
        assert!(
            matches!(parse_date(text), Err(TimeRefusal::NotADate { .. })),
            "{text}"
        );
    }
    assert!(matches!(
        parse_date("02-Jul-1644"),
        Err(TimeRefusal::OutOfRange { .. })
    ));
    let day = |text, leaning| parse_day(text, at(THURSDAY), LONDON, leaning).map(|d| d.to_string());
    assert_eq!(day("Fri", Leaning::Future).as_deref(), Ok("2026-07-17"));
    assert_eq!(day("Thu", Leaning::Future).as_deref(), Ok("2026-07-16"));
    assert_eq!(day("Fri", Leaning::Past).as_deref(), Ok("2026-07-10"));
    assert_eq!(day("2 Jul", Leaning::Future).as_deref(), Ok("2027-07-02"));
    assert_eq!(day("tomorrow", Leaning::Past).as_deref(), Ok("2026-07-17"));
    assert!(day("", Leaning::Past).is_err());
}

#[test]
fn spans() {
    for (text, minutes) in [
        ("4h", 240),
        ("30m", 30),
        ("1h30", 90),
        ("1h 30m", 90),
        ("1h05", 65),
        ("2d", 2880),
        ("90 min", 90),
        ("4hr 32min", 272),
        ("2d 3hr", 3060),
        ("1w", 10080),
        ("0min", 0),
        ("1 hour 5 minutes", 65),
    ] {
        assert_eq!(parse_span(text), Ok(Span::minutes(minutes)), "{text}");
    }
    for text in [
        "",
        "4",
        "h",
        "30m 1h",
        "4h 4h",
        "1h3",
        "1h75",
        "1.5h",
        "-4h",
        "4h!",
        "99999999m",
        "4 y",
    ] {
        assert!(parse_span(text).is_err(), "{text}");
    }
}

#[test]
fn repeats() {
    let daily = |minute_of_day, every_days| Repeat::DailyAt {
        minute_of_day,
        every_days,
    };
    let every = |minutes| Repeat::EveryElapsed { minutes };
    for (text, rule) in [
        ("every 4h", every(240)),
        ("every 30m", every(30)),
        ("every 2d", every(2880)),
        ("hourly", every(60)),
        ("daily 09:00", daily(540, 1)),
        ("daily at 09:00", daily(540, 1)),
        ("Every day 09:00", daily(540, 1)),
        ("every 2d 09:00", daily(540, 2)),
        ("every 2 days at 21:30", daily(1290, 2)),
        ("every 1h30", every(90)),
    ] {
        assert_eq!(parse_repeat(text), Ok(rule), "{text}");
        assert_eq!(parse_repeat(&rule.to_string()), Ok(rule), "{rule}");
    }
    for text in [
        "",
        "every",
        "4h",
        "every 0m",
        "daily 25:00",
        "every 5h 09:00",
        "every Tue",
    ] {
        assert!(
            matches!(parse_repeat(text), Err(TimeRefusal::NotARepeat { .. })),
            "{text}"
        );
    }
    assert!(matches!(
        parse_repeat("daily"),
        Err(TimeRefusal::NeedsTime { .. })
    ));
}

/// Clinical reference W10: hourly through both clock changes.
#[test]
fn hourly_runs_on_elapsed_time() {
    let hourly = Repeat::EveryElapsed { minutes: 60 };
    let first = hourly.next_after(at("2026-10-24T23:30:00Z"), LONDON);
    let second = hourly.next_after(first, LONDON);
    assert_eq!(
        (LONDON.clock_time(first), LONDON.clock_time(second)),
        ("01:30 BST".into(), "01:30 GMT".into())
    );
    let spring = hourly.next_after(at("2026-03-29T00:30:00Z"), LONDON);
    assert_eq!(LONDON.clock_time(spring), "02:30");
}

#[test]
fn daily_runs_on_the_wall_clock() {
    let nine = Repeat::DailyAt {
        minute_of_day: 540,
        every_days: 1,
    };
    assert_eq!(
        nine.next_after(at("2026-10-24T08:00:00Z"), LONDON),
        at("2026-10-25T09:00:00Z")
    );
    assert_eq!(
        nine.next_after(at("2026-03-28T09:00:00Z"), LONDON),
        at("2026-03-29T08:00:00Z")
    );
    // First due before its time of day: later the same day.
    assert_eq!(
        nine.next_after(at("2026-07-16T06:00:00Z"), LONDON),
        at("2026-07-16T08:00:00Z")
    );
    // Put off past midnight: the next morning is not lost.
    assert_eq!(
        nine.next_after(at("2026-07-17T00:00:00Z"), LONDON),
        at("2026-07-17T08:00:00Z")
    );
    let second_day = Repeat::DailyAt {
        minute_of_day: 540,
        every_days: 2,
    };
    assert_eq!(
        second_day.next_after(at("2026-07-16T08:00:00Z"), LONDON),
        at("2026-07-18T08:00:00Z")
    );
    // In the gap: at its end. Twice: the first time, and then not again that night.
    let half_one = Repeat::DailyAt {
        minute_of_day: 90,
        every_days: 1,
    };
    assert_eq!(
        half_one.next_after(at("2026-03-28T01:30:00Z"), LONDON),
        at("2026-03-29T01:00:00Z")
    );
    assert_eq!(
        half_one.next_after(at("2026-10-24T00:30:00Z"), LONDON),
        at("2026-10-25T00:30:00Z")
    );
    assert_eq!(
        half_one.next_after(at("2026-10-25T00:30:00Z"), LONDON),
        at("2026-10-26T01:30:00Z")
    );
    assert_eq!(
        half_one.next_after(at("2026-10-25T01:10:00Z"), LONDON),
        at("2026-10-26T01:30:00Z")
    );
}

/// What jiff makes of a wall-clock time: its moments, earlier first.
fn oracle(wall: civil::DateTime) -> Vec<Timestamp> {
    let with = |offset: jiff::tz::Offset| {
        Timestamp(
            offset
                .to_timestamp(wall)
                .expect("in range")
                .as_microsecond(),
        )
    };
    match uk().to_ambiguous_zoned(wall).offset() {
        AmbiguousOffset::Unambiguous { offset } => vec![with(offset)],
        AmbiguousOffset::Gap { .. } => vec![],
        AmbiguousOffset::Fold { before, after } => vec![with(before), with(after)],
    }
}

fn check_wall(wall: civil::DateTime) {
    let text = wall.strftime("%d-%b-%Y %H:%M").to_string();
    let said = past(&text, THURSDAY);
    match (oracle(wall).as_slice(), said) {
        ([one], Ok(moment)) => assert_eq!(moment, *one, "{text}"),
        ([], Err(TimeRefusal::NeverHappens { .. })) => {}
        (
            [a, b],
            Err(TimeRefusal::HappensTwice {
                first,
                second,
                say_first,
                say_second,
                ..
            }),
        ) => {
            assert_eq!((first, second), (*a, *b), "{text}");
            assert_eq!(
                (past(&say_first, THURSDAY), past(&say_second, THURSDAY)),
                (Ok(*a), Ok(*b))
            );
        }
        (expected, said) => panic!("{text}: jiff says {expected:?}, we say {said:?}"),
    }
}

/// Every minute from 20 hours before to 28 hours after midnight of each clock-change day.
#[test]
fn all_minutes_around_the_clock_changes_agree_with_jiff() {
    let changes = [
        civil::date(2026, 3, 29),
        civil::date(2026, 10, 25),
        civil::date(2027, 3, 28),
        civil::date(2027, 10, 31),
    ];
    for day in changes {
        for minute in -20 * 60..28 * 60_i64 {
            check_wall(day.at(0, 0, 0, 0) + jiff::Span::new().minutes(minute));
        }
    }
}

proptest! {
    /// A full date and time means what jiff says it means.
    #[test]
    fn any_wall_time_agrees_with_jiff(minute in 0_i64..60 * 366 * 1440) {
        check_wall(civil::date(2000, 1, 1).at(0, 0, 0, 0) + jiff::Span::new().minutes(minute));
    }

    /// A bare time is the latest one not after now, or the next one, by jiff's calendar.
    #[test]
    fn a_bare_time_agrees_with_jiff(second in 1_767_225_600_i64..1_830_297_600, hour in 0_i8..24, minute in 0_i8..60) {
        let now = jiff::Timestamp::from_second(second).expect("in range");
        let today = now.to_zoned(uk()).date();
        let on = |days: i64| oracle((today + jiff::Span::new().days(days)).at(hour, minute, 0, 0));
        let text = format!("{hour:02}:{minute:02}");
        let now = Timestamp(second * 1_000_000);
        let minute_start = Timestamp(now.0 - now.0.rem_euclid(60_000_000));
        if let Ok(said) = parse_moment(&text, now, LONDON, Leaning::Past) {
            let expected = on(-1).into_iter().chain(on(0)).filter(|m| *m <= now).max();
            prop_assert_eq!(Some(said.at), expected);
        } else {
            prop_assert!(on(0).len() != 1 || on(-1).len() != 1);
        }
        if let Ok(said) = parse_moment(&text, now, LONDON, Leaning::Future) {
            let expected = on(0).into_iter().chain(on(1)).filter(|m| *m >= minute_start).min();
            prop_assert_eq!(Some(said.at), expected);
        } else {
            prop_assert!(on(0).len() != 1 || on(1).len() != 1);
        }
    }

    /// Whatever is typed is answered, never with a panic, and what a refusal suggests works.
    #[test]
    fn anything_typed_is_answered(text in "\\PC{0,40}|[0-9a-z:+ -]{0,24}") {
        for leaning in [Leaning::Past, Leaning::Future] {
            let _ = parse_moment(&text, at(THURSDAY), LONDON, leaning);
            let _ = parse_window(&text, at(THURSDAY), LONDON, leaning);
            let _ = parse_day(&text, at(THURSDAY), LONDON, leaning);
        }
        let _ = (parse_date(&text), parse_span(&text), parse_repeat(&text));
    }

    /// A repeat goes forward, and a daily one keeps its time on jiff's clock.
    #[test]
    fn a_repeat_goes_forward(second in 1_767_225_600_i64..1_830_297_600, minute_of_day in 0_u16..1440, every_days in 1_u16..8, minutes in 1_u32..10_000) {
        let due = Timestamp(second * 1_000_000);
        let next = Repeat::DailyAt { minute_of_day, every_days }.next_after(due, LONDON);
        prop_assert!(next > due);
        let local = jiff::Timestamp::from_microsecond(next.0).expect("in range").to_zoned(uk());
        let wall = local.date().at(i8::try_from(minute_of_day / 60).expect("hour"), i8::try_from(minute_of_day % 60).expect("minute"), 0, 0);
        match oracle(wall).first() {
            Some(first) => prop_assert_eq!(next, *first),
            None => prop_assert_eq!((local.hour(), local.minute()), (2, 0)),
        }
        let elapsed = Repeat::EveryElapsed { minutes }.next_after(due, LONDON);
        prop_assert_eq!(elapsed.since(due), Span::minutes(i64::from(minutes)));
    }

    /// What the program shows as a length of time, it reads.
    #[test]
    fn a_shown_span_is_read(minutes in 0_i64..1440) {
        prop_assert_eq!(parse_span(&Span::minutes(minutes).spoken()), Ok(Span::minutes(minutes)));
    }
}

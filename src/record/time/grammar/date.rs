//! Days: `02-Jul-1944`, `2 Jul 1944`, `02/07/1944` (day first), `1944-07-02`, and the days
//! people name from today: `tomorrow`, `Fri`, `25 Oct`.

use chrono::{Datelike, Days, NaiveDate, Weekday};

use super::refusal::{shorten, within_reach};
use super::{Leaning, TimeRefusal};
use crate::record::time::{Timestamp, WardZone};

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// A day somebody named, before anyone knows which date it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DaySaid {
    /// None: only a time of day was given.
    None,
    /// So many days from today on the ward's calendar.
    FromToday(i64),
    /// A weekday.
    Weekday(Weekday),
    /// A day of a month, no year.
    DayMonth(u32, u32),
    /// A full date.
    Date(NaiveDate),
}

impl DaySaid {
    /// Reads the words of a day.
    pub(super) fn parse(words: &[&str]) -> Result<DaySaid, TimeRefusal> {
        let said = words.join(" ");
        match words {
            [] => return Ok(DaySaid::None),
            ["today"] => return Ok(DaySaid::FromToday(0)),
            ["tomorrow"] => return Ok(DaySaid::FromToday(1)),
            ["yesterday"] => return Ok(DaySaid::FromToday(-1)),
            [word] if weekday(word).is_some() => {
                return weekday(word)
                    .map(DaySaid::Weekday)
                    .ok_or_else(|| not_a_date(&said));
            }
            _ => {}
        }
        match parts(&said).as_slice() {
            [day, month] if month_number(month).is_some() => day_month(day, month, &said),
            _ => parse_date(&said).map(DaySaid::Date),
        }
    }

    /// The dates this may be, likeliest first, seen from `today`.
    pub(super) fn dates(self, today: NaiveDate, leaning: Leaning) -> Vec<NaiveDate> {
        let step = match leaning {
            Leaning::Past => -1,
            Leaning::Future => 1,
        };
        match self {
            DaySaid::None => [0, step]
                .iter()
                .filter_map(|&n| days_from(today, n))
                .collect(),
            DaySaid::FromToday(days) => days_from(today, days).into_iter().collect(),
            DaySaid::Weekday(weekday) => (0..=7)
                .filter_map(|n| days_from(today, n * step))
                .filter(|date| date.weekday() == weekday)
                .collect(),
            // Nine years reach a 29 February from anywhere, across 2100 too if need be.
            DaySaid::DayMonth(day, month) => (0..9)
                .map(|n| today.year() + n * i32::try_from(step).unwrap_or(1))
                .filter_map(|year| NaiveDate::from_ymd_opt(year, month, day))
                .collect(),
            DaySaid::Date(date) => vec![date],
        }
    }

    /// Whether the leaning decides between several dates.
    pub(super) const fn leans(self) -> bool {
        matches!(
            self,
            DaySaid::None | DaySaid::Weekday(_) | DaySaid::DayMonth(..)
        )
    }
}

/// `date` moved by whole calendar days.
pub(super) fn days_from(date: NaiveDate, days: i64) -> Option<NaiveDate> {
    let count = Days::new(days.unsigned_abs());
    if days < 0 {
        date.checked_sub_days(count)
    } else {
        date.checked_add_days(count)
    }
}

fn weekday(word: &str) -> Option<Weekday> {
    // chrono knows both `fri` and `friday`, in any case, and nothing between.
    word.parse().ok()
}

fn month_number(word: &str) -> Option<u32> {
    let word = word.to_lowercase();
    let place = MONTHS
        .iter()
        .position(|name| *name == word || word.len() == 3 && name.starts_with(&word))?;
    u32::try_from(place + 1).ok()
}

fn day_month(day: &str, month: &str, said: &str) -> Result<DaySaid, TimeRefusal> {
    let month = month_number(month).ok_or_else(|| not_a_date(said))?;
    let day = number(day, 2).ok_or_else(|| not_a_date(said))?;
    // 2000 was a leap year, so 29 February passes here and finds its year later.
    NaiveDate::from_ymd_opt(2000, month, day)
        .map(|_| DaySaid::DayMonth(day, month))
        .ok_or_else(|| TimeRefusal::NoSuchDate {
            given: shorten(said),
        })
}

fn parts(text: &str) -> Vec<&str> {
    text.split(['-', '/', ' '])
        .filter(|part| !part.is_empty())
        .collect()
}

fn number(text: &str, digits_max: usize) -> Option<u32> {
    let plain =
        !text.is_empty() && text.len() <= digits_max && text.bytes().all(|b| b.is_ascii_digit());
    if plain { text.parse().ok() } else { None }
}

fn not_a_date(given: &str) -> TimeRefusal {
    TimeRefusal::NotADate {
        given: shorten(given),
    }
}

/// A full date, for dates of birth and due dates: `02-Jul-1944`, `2 Jul 1944`, `2 July 1944`,
/// `1944-07-02`, or `02/07/1944`, which is day first as in the United Kingdom.
///
/// # Errors
/// [`TimeRefusal`]: `ShortYear` for two-digit years, `NoSuchDate` for 30 February,
/// `OutOfRange` before 1850 or after 2199, `NotADate` for everything else.
pub fn parse_date(text: &str) -> Result<NaiveDate, TimeRefusal> {
    let text = text.trim();
    let pieces = parts(text);
    let [first, second, third] = pieces.as_slice() else {
        return Err(not_a_date(text));
    };
    let named = month_number(second);
    let (day, month, year) = match named {
        Some(month) => (*first, Some(month), *third),
        None if text.contains('/') => (*first, number(second, 2), *third),
        None if first.len() == 4 && text.contains('-') => (*third, number(second, 2), *first),
        None => return Err(not_a_date(text)),
    };
    let (Some(day), Some(month), Some(year_number)) = (number(day, 2), month, number(year, 4))
    else {
        return Err(not_a_date(text));
    };
    if year.len() != 4 {
        return Err(TimeRefusal::ShortYear {
            given: shorten(text),
        });
    }
    i32::try_from(year_number)
        .ok()
        .and_then(|year| NaiveDate::from_ymd_opt(year, month, day))
        .ok_or_else(|| TimeRefusal::NoSuchDate {
            given: shorten(text),
        })
        .and_then(|date| within_reach(date, text))
}

/// A day, full or as people name it: `today`, `tomorrow`, `Fri`, `25 Oct`, or any form
/// [`parse_date`] takes. Today counts as the nearest weekday of its name either way.
///
/// # Errors
/// As [`parse_date`].
pub fn parse_day(
    text: &str,
    now: Timestamp,
    zone: WardZone,
    leaning: Leaning,
) -> Result<NaiveDate, TimeRefusal> {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().collect();
    let said = DaySaid::parse(&words)?;
    let today = zone.date(now);
    let fits = |date: &NaiveDate| match leaning {
        Leaning::Past => *date <= today,
        Leaning::Future => *date >= today,
    };
    match said {
        DaySaid::None => Err(not_a_date(text)),
        said => said
            .dates(today, leaning)
            .into_iter()
            .find(|date| !said.leans() || fits(date))
            .ok_or_else(|| TimeRefusal::NoSuchDate {
                given: shorten(text),
            })
            .and_then(|date| within_reach(date, text)),
    }
}

//! A day (or none), a time on the wall clock and perhaps the zone's letters.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use super::date::DaySaid;
use super::refusal::shorten;
use super::{Leaning, TimeRefusal, parse_span};
use crate::record::time::{Timestamp, WardZone, show_date};

/// What was said, understood but not yet placed.
#[derive(Debug, Clone)]
pub(super) struct WallTime {
    /// The words as typed, for messages and for what to say instead.
    pub(super) said: String,
    /// The day.
    pub(super) day: DaySaid,
    /// The time of day.
    pub(super) time: NaiveTime,
    /// `BST`, upper case.
    pub(super) letters: Option<String>,
}

impl WallTime {
    /// Reads the words; knows no calendar and no clock.
    pub(super) fn parse(text: &str, zone: WardZone) -> Result<WallTime, TimeRefusal> {
        let unknown = || TimeRefusal::Unknown {
            given: shorten(text),
        };
        let lower = split_iso(&text.to_lowercase());
        let mut words: Vec<&str> = lower
            .split_whitespace()
            .filter(|w| !matches!(*w, "at" | "on"))
            .collect();
        let letters = match words.as_slice() {
            [.., time, letters]
                if (clock(time).is_some() || matches!(*time, "am" | "pm"))
                    && names_zone(letters, zone) =>
            {
                let letters = letters.to_uppercase();
                words.pop();
                Some(letters)
            }
            _ => None,
        };
        let Some(mut time_word) = words.pop().map(str::to_owned) else {
            return Err(unknown());
        };
        // `3 pm` in two words.
        if matches!(time_word.as_str(), "am" | "pm")
            && let Some(hour) = words.pop()
        {
            time_word.insert_str(0, hour);
        }
        let time_word = time_word.as_str();
        if let Some(refusal) = half_told(time_word, text) {
            return Err(refusal);
        }
        let Some(time) = clock(time_word) else {
            words.push(time_word);
            return Err(match DaySaid::parse(&words) {
                Ok(_) => TimeRefusal::NeedsTime {
                    given: shorten(text),
                },
                Err(refusal @ (TimeRefusal::NoSuchDate { .. } | TimeRefusal::ShortYear { .. })) => {
                    refusal
                }
                Err(_) if parse_span(text).is_ok() => TimeRefusal::WhichWay {
                    given: shorten(text),
                },
                Err(_) => unknown(),
            });
        };
        let day = match DaySaid::parse(&words) {
            Err(TimeRefusal::NotADate { .. }) => return Err(unknown()),
            other => other?,
        };
        if matches!(day, DaySaid::DayMonth(..)) && !time_word.contains([':', 'm']) {
            return Err(TimeRefusal::YearOrTime {
                given: shorten(text),
            });
        }
        Ok(WallTime {
            said: text.trim().to_owned(),
            day,
            time,
            letters,
        })
    }

    /// The moment this is, seen from `now`.
    pub(super) fn resolve(
        &self,
        now: Timestamp,
        zone: WardZone,
        leaning: Leaning,
    ) -> Result<Timestamp, TimeRefusal> {
        let fits = |moment: Timestamp| match leaning {
            Leaning::Past => moment <= now,
            // Minutes are the grain: due at the running minute is due now, not tomorrow.
            Leaning::Future => moment.0 > now.0.saturating_sub(60_000_000),
        };
        for date in self.day.dates(zone.date(now), leaning) {
            let wall = date.and_time(self.time);
            if self.is_utc() {
                let moment = Timestamp::from_utc(wall.and_utc());
                if fits(moment) || !self.day.leans() {
                    return Ok(moment);
                }
                continue;
            }
            let moments = zone.moments(wall);
            let fitting: Vec<Timestamp> = match moments.as_slice() {
                // Whoever names a time in the gap is told so, rather than given another day.
                [] if !self.day.leans() || fits(gap_end(zone, wall)) => {
                    return Err(gap(zone, wall));
                }
                _ if !self.day.leans() => moments.clone(),
                _ => moments
                    .iter()
                    .copied()
                    .filter(|moment| fits(*moment))
                    .collect(),
            };
            if !fitting.is_empty() {
                // Letters choose among all moments of that day; the leaning only among unlettered.
                let among = if self.letters.is_some() {
                    &moments
                } else {
                    &fitting
                };
                return self.choose(zone, wall, among);
            }
        }
        Err(TimeRefusal::Unknown {
            given: shorten(&self.said),
        })
    }

    /// The one of `moments` that the letters name, or the only one.
    pub(super) fn choose(
        &self,
        zone: WardZone,
        wall: NaiveDateTime,
        moments: &[Timestamp],
    ) -> Result<Timestamp, TimeRefusal> {
        if let Some(letters) = &self.letters {
            let named = |m: &&Timestamp| zone.abbreviation(**m).eq_ignore_ascii_case(letters);
            return moments
                .iter()
                .find(named)
                .copied()
                .ok_or_else(|| TimeRefusal::WrongLetters {
                    letters: letters.clone(),
                    wall: show_wall(wall),
                    shown: moments
                        .iter()
                        .map(|m| zone.abbreviation(*m))
                        .collect::<Vec<_>>()
                        .join(" and "),
                });
        }
        match moments {
            [one] => Ok(*one),
            [first, second, ..] => Err(TimeRefusal::HappensTwice {
                wall: show_wall(wall),
                first: *first,
                second: *second,
                say_first: self.say(zone, *first),
                say_second: self.say(zone, *second),
            }),
            [] => Err(gap(zone, wall)),
        }
    }

    /// The letters are those of no ward's clock but of UTC itself.
    fn is_utc(&self) -> bool {
        matches!(self.letters.as_deref(), Some("UTC" | "Z"))
    }

    /// What to type for exactly this moment: the same words with the zone's letters, or the
    /// whole date with its offset where the zone has no letters.
    fn say(&self, zone: WardZone, moment: Timestamp) -> String {
        let letters = zone.abbreviation(moment);
        if is_letters(&letters) {
            format!("{} {letters}", self.said)
        } else {
            zone.local(moment)
                .format("%Y-%m-%dT%H:%M:%S%:z")
                .to_string()
        }
    }
}

/// `2026-10-25T01:30` (no offset) is a date, a space and a time.
fn split_iso(lower: &str) -> String {
    match lower.split_once('t') {
        Some((date, time)) if date.len() == 10 && clock(time).is_some() => format!("{date} {time}"),
        _ => lower.to_owned(),
    }
}

/// Letters of a zone, and no other word that may follow a time (`01:30 late`): UTC's, those of
/// the British clock, and those the ward's own clock shows.
fn names_zone(word: &str, zone: WardZone) -> bool {
    const ALWAYS: [&str; 4] = ["utc", "z", "gmt", "bst"];
    let months = (0..12).map(|month| Timestamp(A_JANUARY.0 + month * 30 * 86_400_000_000));
    ALWAYS.contains(&word)
        || is_letters(word)
            && months
                .map(|moment| zone.abbreviation(moment))
                .any(|letters| letters.eq_ignore_ascii_case(word))
}

/// A moment in January of a year in which every zone's rules of today hold.
const A_JANUARY: Timestamp = Timestamp(1_768_000_000_000_000);

fn is_letters(word: &str) -> bool {
    (2..=5).contains(&word.len()) && word.bytes().all(|b| b.is_ascii_alphabetic())
}

/// The hour and minute of `3pm`, `3:30pm` or `3.30pm` as digits, and whether it is after noon.
fn of_half_day(word: &str) -> Option<(u32, u32, bool)> {
    let (digits, after_noon) = match word.strip_suffix("pm") {
        Some(digits) => (digits, true),
        None => (word.strip_suffix("am")?, false),
    };
    let (hour, minute) = digits.split_once([':', '.']).unwrap_or((digits, "00"));
    let plain = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if !plain(hour) || !plain(minute) || hour.len() > 2 || minute.len() != 2 {
        return None;
    }
    let (hour, minute) = (hour.parse().ok()?, minute.parse().ok()?);
    ((1..=12).contains(&hour) && minute < 60).then_some((hour, minute, after_noon))
}

/// A word that is nearly a time, and could be two of them: with 12 before am or pm, or with a
/// point, which also stands in dates and in decimals.
fn half_told(word: &str, text: &str) -> Option<TimeRefusal> {
    if let Some((12, minute, _)) = of_half_day(word) {
        let say = match minute {
            0 => "12:00 for noon, 00:00 for midnight".to_owned(),
            _ => format!("12:{minute:02} or 00:{minute:02}"),
        };
        return Some(TimeRefusal::NoonOrMidnight {
            given: shorten(text),
            say,
        });
    }
    let (hour, minute) = word.split_once('.').filter(|_| clock(word).is_none())?;
    let time = clock(&format!("{hour}:{minute}"))?.format("%H:%M");
    let later = hour
        .parse::<u32>()
        .ok()
        .filter(|h| hour.len() == 1 && (1..12).contains(h));
    let say = match later {
        Some(hour) => format!("{time}, or {}:{minute} if it was after noon", hour + 12),
        None => time.to_string(),
    };
    Some(TimeRefusal::Pointed {
        given: shorten(text),
        say,
    })
}

/// `12:30`, `9:30`, `0930`, `3pm` or `3:30pm`; 00:00 to 23:59. Twelve has no half of the day.
pub(super) fn clock(word: &str) -> Option<NaiveTime> {
    if let Some((hour, minute, after_noon)) = of_half_day(word) {
        let hour = hour + if after_noon { 12 } else { 0 };
        return NaiveTime::from_hms_opt(hour, minute, 0).filter(|_| hour % 12 != 0);
    }
    let (hour, minute) = match word.split_once(':') {
        Some((hour, minute)) if (1..=2).contains(&hour.len()) && minute.len() == 2 => {
            (hour, minute)
        }
        None if word.len() == 4 && word.is_ascii() => word.split_at(2),
        _ => return None,
    };
    let number = |digits: &str| match digits.bytes().all(|b| b.is_ascii_digit()) {
        true => digits.parse::<u32>().ok(),
        false => None,
    };
    NaiveTime::from_hms_opt(number(hour)?, number(minute)?, 0)
}

/// The first moment after the gap that swallows `wall`.
fn gap_end(zone: WardZone, wall: NaiveDateTime) -> Timestamp {
    edge(zone, wall, 1).1
}

/// The refusal for a wall-clock time the clock jumps over.
pub(super) fn gap(zone: WardZone, wall: NaiveDateTime) -> TimeRefusal {
    let shown = |at: NaiveDateTime| at.format("%H:%M").to_string();
    TimeRefusal::NeverHappens {
        wall: show_wall(wall),
        last_before: shown(edge(zone, wall, -1).0),
        first_after: shown(edge(zone, wall, 1).0),
    }
}

/// The nearest minute that exists, going in steps of `minutes` from one that does not.
fn edge(zone: WardZone, wall: NaiveDateTime, minutes: i64) -> (NaiveDateTime, Timestamp) {
    // Whole days have been skipped where a date line moved; no gap was longer.
    const MINUTES_MAX: i64 = 25 * 60;
    let exists = |n: i64| {
        let at = wall.checked_add_signed(TimeDelta::minutes(n * minutes))?;
        zone.moments(at).first().map(|moment| (at, *moment))
    };
    (1..=MINUTES_MAX)
        .find_map(exists)
        .unwrap_or((wall, Timestamp::LATEST))
}

fn show_wall(wall: NaiveDateTime) -> String {
    format!("{} {}", show_date(wall.date()), wall.format("%H:%M"))
}

/// The moments at `time` on `date` if there are any, or the first one after the gap.
#[must_use]
pub fn moment_or_gap_end(zone: WardZone, date: NaiveDate, time: NaiveTime) -> Timestamp {
    let wall = date.and_time(time);
    zone.moments(wall)
        .first()
        .copied()
        .unwrap_or_else(|| gap_end(zone, wall))
}

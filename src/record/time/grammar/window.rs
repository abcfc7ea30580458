//! Windows: `14:00-16:00`, `between 14:00 and 16:00`, `tomorrow 14:00-16:00`, `22:00-02:00`.

use super::date::{DaySaid, days_from};
use super::refusal::shorten;
use super::wall::{self, WallTime};
use super::{Leaning, TimeRefusal};
use crate::record::time::{Timestamp, WardZone};

/// A stretch of time, at most a day: `from` is before `to`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// First moment.
    pub from: Timestamp,
    /// Last moment.
    pub to: Timestamp,
}

/// The window `text` names, seen from `now`. A day goes before the first time. An end earlier
/// on the clock than the start is on the next day. Without a day, leaning to the future means
/// the window that ends next (so one that is running counts), to the past the one that began last.
///
/// # Errors
/// [`TimeRefusal`]; both ends are asked about if the clock change makes them ambiguous.
pub fn parse_window(
    text: &str,
    now: Timestamp,
    zone: WardZone,
    leaning: Leaning,
) -> Result<Window, TimeRefusal> {
    let refused = || TimeRefusal::NotAWindow {
        given: shorten(text),
    };
    let (start, end) = ends(text).ok_or_else(refused)?;
    let (start, end) = (WallTime::parse(&start, zone)?, WallTime::parse(&end, zone)?);
    if end.day != DaySaid::None || start.time == end.time && start.letters == end.letters {
        return Err(refused());
    }
    if start.day == DaySaid::None && leaning == Leaning::Future {
        // A window already running ends next, although its start has passed.
        let today = zone.date(now);
        for days in [-1, 0] {
            let begun = dated(&start, days_from(today, days)).ok_or_else(refused)?;
            if let Ok(window) = from_start(&begun, &end, now, zone)
                && window.from <= now
                && now < window.to
            {
                return Ok(window);
            }
        }
    }
    let from = start.resolve(now, zone, leaning)?;
    let begun = dated(&start, Some(zone.date(from))).ok_or_else(refused)?;
    finish(from, &begun, &end, zone)
}

/// Cuts the text into its two ends.
fn ends(text: &str) -> Option<(String, String)> {
    let lower = text.trim().to_lowercase();
    let pair = |(a, b): (&str, &str)| (a.trim().to_owned(), b.trim().to_owned());
    if let Some((day, rest)) = lower.split_once("between ") {
        let (from, to) = rest.split_once(" and ")?;
        return Some(pair((&format!("{day}{from}"), to)));
    }
    let rest = lower.strip_prefix("from ").unwrap_or(&lower);
    if let Some(found) = rest
        .split_once(" to ")
        .or_else(|| rest.split_once('\u{2013}'))
    {
        return Some(pair(found));
    }
    // The last hyphen: dates have some of their own, and they come first.
    rest.rsplit_once('-').map(pair)
}

fn dated(start: &WallTime, date: Option<chrono::NaiveDate>) -> Option<WallTime> {
    Some(WallTime {
        day: DaySaid::Date(date?),
        ..start.clone()
    })
}

fn from_start(
    start: &WallTime,
    end: &WallTime,
    now: Timestamp,
    zone: WardZone,
) -> Result<Window, TimeRefusal> {
    let from = start.resolve(now, zone, Leaning::Future)?;
    finish(from, start, end, zone)
}

/// The first moment after `from` at which the clock shows the end.
fn finish(
    from: Timestamp,
    start: &WallTime,
    end: &WallTime,
    zone: WardZone,
) -> Result<Window, TimeRefusal> {
    let day = zone.date(from);
    for days in [0, 1] {
        let Some(date) = days_from(day, days) else {
            continue;
        };
        let at = date.and_time(end.time);
        let moments = zone.moments(at);
        if moments.is_empty() && (days == 1 || end.time > start.time) {
            return Err(wall::gap(zone, at));
        }
        let later: Vec<Timestamp> = moments.into_iter().filter(|m| *m > from).collect();
        if !later.is_empty() {
            return end.choose(zone, at, &later).map(|to| Window { from, to });
        }
    }
    Err(TimeRefusal::NotAWindow {
        given: shorten(&end.said),
    })
}

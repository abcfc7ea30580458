//! Figures as cells of a table.

use crate::record::time::Span;
use crate::view::page::{Dial, Line, Tone};
use crate::ward::report::{Figure, Spread, Unit};

/// How many, with how many of them are in doubt.
pub(super) fn number(figure: &Figure) -> Line {
    let number = match figure.unit {
        Unit::Minutes => spoken(figure.count as f64),
        _ => figure.count.to_string(),
    };
    let doubtful = match figure.doubtful.len() {
        0 => String::new(),
        some => format!("({some} not proved)"),
    };
    Line::new().strong(number).warn(doubtful)
}

/// A length in the spread's own unit.
pub(super) fn length(value: f64, unit: Unit) -> String {
    match unit {
        Unit::Minutes => spoken(value),
        Unit::Midnights if value.fract() > 0.0 => format!("{value:.1} nights"),
        Unit::Midnights if value.total_cmp(&1.0).is_eq() => "1 night".to_owned(),
        _ => format!("{value:.0} nights"),
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "minutes of a journal's years"
)]
fn spoken(minutes: f64) -> String {
    Span((minutes * 60_000_000.0).round() as i64).spoken()
}

/// The middle, as far as it is known.
pub(super) fn middle(spread: &Spread) -> Line {
    match spread.median {
        Some(value) => Line::of(length(value, spread.unit)),
        None if spread.waiting.is_empty() => Line::new().quiet("-"),
        None => Line::new().warn("waits"),
    }
}

/// The longest, also of what waits.
pub(super) fn longest(spread: &Spread) -> Line {
    let Some(value) = spread.longest else {
        return Line::new().quiet("-");
    };
    let entry = spread.longest_seq.map(|seq| seq.to_string());
    let line = Line::of(length(value, spread.unit));
    let line = if spread.longest_waits {
        line.warn("so far")
    } else {
        line
    };
    line.quiet(entry.unwrap_or_default())
}

/// How many still wait.
pub(super) fn waiting(spread: &Spread) -> Line {
    match spread.waiting.len() {
        0 => Line::of("0"),
        some => Line::new().warn(some.to_string()),
    }
}

/// All of it in one cell: `4min, longest 41min, 2 wait`.
pub(super) fn in_one(spread: &Spread) -> Line {
    let all = spread.ended + spread.waiting.len();
    if all == 0 {
        return Line::new().quiet("-");
    }
    let median = match spread.median {
        Some(value) => (Tone::Plain, length(value, spread.unit)),
        None => (Tone::Warn, "waits".to_owned()),
    };
    let longest = spread.longest.filter(|_| all > 1).map(|value| {
        let so_far = if spread.longest_waits { " so far" } else { "" };
        format!("longest {}{so_far}", length(value, spread.unit))
    });
    let waiting = match spread.waiting.len() {
        0 => String::new(),
        _ if all == 1 => String::new(),
        1 => "1 waits".to_owned(),
        some => format!("{some} wait"),
    };
    Line::new().listed([
        median,
        (Tone::Quiet, longest.unwrap_or_default()),
        (Tone::Warn, waiting),
    ])
}

/// Since when each still waits, the oldest first; beyond a few only how many more.
pub(super) fn still_waiting(
    spread: &Spread,
    dial: Dial,
    beside: impl Fn(crate::record::ids::Seq) -> String,
) -> Vec<Line> {
    const SHOWN: usize = 20;
    let shown = spread.waiting.iter().take(SHOWN).map(|one| {
        let so_long = dial.now.since(one.since).spoken();
        Line::new()
            .warn(format!(
                "{} {}",
                one.seq,
                dial.zone.day_date_time(one.since)
            ))
            .plain(format!(", {so_long}{}", beside(one.seq)))
    });
    let mut lines: Vec<Line> = shown.collect();
    if let more @ 1.. = spread.waiting.len().saturating_sub(SHOWN) {
        lines.push(Line::new().warn(format!("and {more} more, which --json names")));
    }
    lines
}

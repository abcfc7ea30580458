//! Lengths of time: `4h`, `30m`, `1h30`, `2d`, and `4hr 32min` as the program itself shows them.

use super::TimeRefusal;
use super::refusal::shorten;
use crate::record::time::Span;

/// Longest length of time that can be said: ten years. Beyond it, a slip of the keyboard.
const SPAN_MAX: Span = Span::days(3660);

/// A length of elapsed time. Units: `m`/`min`/`minutes`, `h`/`hr`/`hours`, `d`/`days` of 24
/// hours, `w`/`weeks` of seven such days; larger units first, each once. `1h30` is an hour and a half.
///
/// # Errors
/// [`TimeRefusal::NotASpan`], or [`TimeRefusal::OutOfRange`] above ten years.
pub fn parse_span(text: &str) -> Result<Span, TimeRefusal> {
    let refused = || TimeRefusal::NotASpan {
        given: shorten(text),
    };
    let mut rest = text.trim();
    let (mut total, mut last_unit) = (0_i64, i64::MAX);
    while !rest.is_empty() {
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        // Seven digits of minutes are nineteen years: more is a slip, and cannot overflow.
        if digits == 0 || digits > 7 {
            return Err(refused());
        }
        let number: i64 = rest[..digits].parse().map_err(|_| refused())?;
        let after = rest[digits..].trim_start();
        let letters = after.bytes().take_while(u8::is_ascii_alphabetic).count();
        let unit = match unit_minutes(&after[..letters]) {
            // `1h30`: minutes may go without saying, after hours and nowhere else.
            None if after.is_empty() && last_unit == 60 && digits == 2 && number < 60 => 1,
            None => return Err(refused()),
            Some(unit) => unit,
        };
        if unit >= last_unit {
            return Err(refused());
        }
        total += number * unit;
        last_unit = unit;
        rest = after[letters..].trim_start();
    }
    match Span::minutes(total) {
        _ if last_unit == i64::MAX => Err(refused()),
        long if long > SPAN_MAX => Err(TimeRefusal::OutOfRange {
            given: shorten(text),
        }),
        span => Ok(span),
    }
}

fn unit_minutes(letters: &str) -> Option<i64> {
    match letters.to_ascii_lowercase().as_str() {
        "m" | "min" | "mins" | "minute" | "minutes" => Some(1),
        "h" | "hr" | "hrs" | "hour" | "hours" => Some(60),
        "d" | "day" | "days" => Some(24 * 60),
        "w" | "week" | "weeks" => Some(7 * 24 * 60),
        _ => None,
    }
}

/// `+4h`, `in 4 hours`, `-20m`, `20m ago`: the signed span from now; `None` if `said` has
/// none of these forms.
pub(super) fn from_now(said: &str) -> Option<Result<Span, TimeRefusal>> {
    let lower = said.to_lowercase();
    // The refusal shows what was typed, sign and all.
    let refuse = |refusal| match refusal {
        TimeRefusal::OutOfRange { .. } => TimeRefusal::OutOfRange {
            given: shorten(said),
        },
        _ => TimeRefusal::NotASpan {
            given: shorten(said),
        },
    };
    if let Some(later) = lower
        .strip_prefix('+')
        .or_else(|| lower.strip_prefix("in "))
    {
        return Some(parse_span(later).map_err(refuse));
    }
    let earlier = lower
        .strip_suffix(" ago")
        .or_else(|| lower.strip_prefix('-'))
        .or_else(|| lower.strip_prefix('\u{2212}'))?;
    Some(
        parse_span(earlier)
            .map(|span| Span(-span.0))
            .map_err(refuse),
    )
}

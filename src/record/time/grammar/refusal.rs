//! Why a time was not understood, and what would be.

use chrono::NaiveDate;

use crate::record::time::Timestamp;

/// Why a time, date, span, window or repeat rule is refused. Every message says what would
/// be accepted. `given` is what was typed, cut to 60 characters; it is not escaped here.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TimeRefusal {
    /// Not a time in any form.
    #[error(
        "\"{given}\" is not a time; say 12:30, +30m, 20m ago, tomorrow 09:00, Fri 14:00 or 25-Oct-2026 09:00 (24-hour clock)"
    )]
    Unknown {
        /// What was typed.
        given: String,
    },
    /// A length of time that says neither "from now" nor "ago".
    #[error("\"{given}\" is a length of time; say +{given} for later or {given} ago for earlier")]
    WhichWay {
        /// What was typed.
        given: String,
    },
    /// A day and no time of day.
    #[error("\"{given}\" names a day but no time; say \"{given} 09:00\"")]
    NeedsTime {
        /// What was typed.
        given: String,
    },
    /// `25 Oct 2026` could be a year or 20:26.
    #[error(
        "\"{given}\" could end in a year or in a time; write the time with a colon, such as 09:30, and give the year before it if you mean one"
    )]
    YearOrTime {
        /// What was typed.
        given: String,
    },
    /// The clock goes back and shows this time twice.
    #[error(
        "{wall} happens twice, because the clock goes back; say \"{say_first}\" or \"{say_second}\""
    )]
    HappensTwice {
        /// The wall-clock time: `25-Oct-2026 01:30`.
        wall: String,
        /// The earlier of the two moments.
        first: Timestamp,
        /// The later of the two moments.
        second: Timestamp,
        /// What to type for the earlier one.
        say_first: String,
        /// What to type for the later one.
        say_second: String,
    },
    /// The clock goes forward over this time.
    #[error(
        "{wall} never happens, because the clock goes forward: {last_before} is followed by {first_after}; say a time up to {last_before} or from {first_after}"
    )]
    NeverHappens {
        /// The wall-clock time: `29-Mar-2026 01:30`.
        wall: String,
        /// The last minute before the gap, `00:59`.
        last_before: String,
        /// The first minute after the gap, `02:00`.
        first_after: String,
    },
    /// Zone letters that the ward's clock does not show at that time.
    #[error("the ward's clock does not show {letters} at {wall}; it shows {shown}")]
    WrongLetters {
        /// The letters typed.
        letters: String,
        /// The wall-clock time.
        wall: String,
        /// The letters that belong there.
        shown: String,
    },
    /// A day that is not in the calendar.
    #[error(
        "\"{given}\" is not in the calendar; give the day first, such as 02-Jul-1944 or 02/07/1944"
    )]
    NoSuchDate {
        /// What was typed.
        given: String,
    },
    /// A year in two digits.
    #[error("\"{given}\" has a year in two digits; write all four, such as 1944")]
    ShortYear {
        /// What was typed.
        given: String,
    },
    /// Not a date in any form.
    #[error(
        "\"{given}\" is not a date; say 02-Jul-1944, 2 Jul 1944, 02/07/1944 (day first) or 1944-07-02"
    )]
    NotADate {
        /// What was typed.
        given: String,
    },
    /// Before 2000 or after 2199 for a moment, before 1850 or after 2199 for a date.
    #[error("\"{given}\" is too far away to be kept; check the year or the number")]
    OutOfRange {
        /// What was typed.
        given: String,
    },
    /// Not a length of time.
    #[error("\"{given}\" is not a length of time; say 30m, 4h, 1h30 or 2d")]
    NotASpan {
        /// What was typed.
        given: String,
    },
    /// Not a from-to window.
    #[error(
        "\"{given}\" is not a window; say 14:00-16:00, between 14:00 and 16:00, or tomorrow 14:00-16:00"
    )]
    NotAWindow {
        /// What was typed.
        given: String,
    },
    /// Not a repeat rule.
    #[error(
        "\"{given}\" is not a repeat rule; say every 4h, every 30m, daily 09:00 or every 2d 09:00"
    )]
    NotARepeat {
        /// What was typed.
        given: String,
    },
}

/// At most 60 characters of what was typed, for a message.
pub(super) fn shorten(text: &str) -> String {
    const SHOWN_MAX: usize = 60;
    let text = text.trim();
    match text.char_indices().nth(SHOWN_MAX) {
        Some((cut, _)) => format!("{}…", &text[..cut]),
        None => text.to_owned(),
    }
}

/// Refuses a date outside 1850–2199: nobody on a ward was born before, nothing is due after.
pub(super) fn within_reach(date: NaiveDate, given: &str) -> Result<NaiveDate, TimeRefusal> {
    use chrono::Datelike;
    if (1850..2200).contains(&date.year()) {
        Ok(date)
    } else {
        Err(TimeRefusal::OutOfRange {
            given: shorten(given),
        })
    }
}

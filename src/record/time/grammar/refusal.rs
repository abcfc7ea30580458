//! Why a time was not understood, and what would be.

use std::fmt;

use chrono::NaiveDate;

use crate::record::time::Timestamp;

/// Why a time, date, span, window or repeat rule is refused. `given` is what was typed, cut
/// to 60 characters; it is not escaped here. Shown, it says what is wrong and what would be
/// accepted; [`TimeRefusal::what`] and [`TimeRefusal::accepted`] give the halves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TimeRefusal {
    /// Not a time in any form.
    Unknown {
        /// What was typed.
        given: String,
    },
    /// A length of time that says neither "from now" nor "ago".
    WhichWay {
        /// What was typed.
        given: String,
    },
    /// A day and no time of day.
    NeedsTime {
        /// What was typed.
        given: String,
    },
    /// `25 Oct 2026` could end in a year or in 20:26.
    YearOrTime {
        /// What was typed.
        given: String,
    },
    /// The clock goes back and shows this time twice.
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
    NeverHappens {
        /// The wall-clock time: `29-Mar-2026 01:30`.
        wall: String,
        /// The last minute before the gap, `00:59`.
        last_before: String,
        /// The first minute after the gap, `02:00`.
        first_after: String,
    },
    /// Zone letters that the ward's clock does not show at that time.
    WrongLetters {
        /// The letters typed.
        letters: String,
        /// The wall-clock time.
        wall: String,
        /// The letters that belong there.
        shown: String,
    },
    /// `12pm` could be noon or midnight.
    NoonOrMidnight {
        /// What was typed.
        given: String,
        /// What to type for each.
        say: String,
    },
    /// `03.30`, with a point for the colon.
    Pointed {
        /// What was typed.
        given: String,
        /// The time with a colon.
        say: String,
    },
    /// A day that is not in the calendar.
    NoSuchDate {
        /// What was typed.
        given: String,
    },
    /// A year in two digits.
    ShortYear {
        /// What was typed.
        given: String,
    },
    /// Not a date in any form.
    NotADate {
        /// What was typed.
        given: String,
    },
    /// Before 2000 or after 2199 for a moment, before 1850 or after 2199 for a date.
    OutOfRange {
        /// What was typed.
        given: String,
    },
    /// Not a length of time.
    NotASpan {
        /// What was typed.
        given: String,
    },
    /// Not a from-to window.
    NotAWindow {
        /// What was typed.
        given: String,
    },
    /// Not a repeat rule.
    NotARepeat {
        /// What was typed.
        given: String,
    },
}

impl TimeRefusal {
    /// What is wrong, as a clause without a full stop.
    #[must_use]
    pub fn what(&self) -> String {
        match self {
            Self::Unknown { given } => format!("\"{given}\" is not a time"),
            Self::WhichWay { given } => {
                format!("\"{given}\" is a length of time, and could be from now or ago")
            }
            Self::NeedsTime { given } => format!("\"{given}\" names a day but no time"),
            Self::YearOrTime { given } => {
                format!("\"{given}\" could end in a year or in a time")
            }
            Self::HappensTwice { wall, .. } => {
                format!("{wall} happens twice, because the clock goes back")
            }
            Self::NeverHappens {
                wall,
                last_before,
                first_after,
            } => format!(
                "{wall} never happens, because the clock goes forward: {last_before} is followed by {first_after}"
            ),
            Self::WrongLetters {
                letters,
                wall,
                shown,
            } => {
                format!("the ward's clock does not show {letters} at {wall}; it shows {shown}")
            }
            Self::NoonOrMidnight { given, .. } => {
                format!("\"{given}\" could be at noon or at midnight")
            }
            Self::Pointed { given, .. } => format!("\"{given}\" has a point and no colon"),
            Self::NoSuchDate { given } => format!("\"{given}\" is not in the calendar"),
            Self::ShortYear { given } => format!("\"{given}\" has a year in two digits"),
            Self::NotADate { given } => format!("\"{given}\" is not a date"),
            Self::OutOfRange { given } => format!("\"{given}\" is too far away to be kept"),
            Self::NotASpan { given } => format!("\"{given}\" is not a length of time"),
            Self::NotAWindow { given } => format!("\"{given}\" is not a window"),
            Self::NotARepeat { given } => format!("\"{given}\" is not a repeat rule"),
        }
    }

    /// What would be accepted, to follow the word "say" or "accepted:".
    #[must_use]
    pub fn accepted(&self) -> String {
        match self {
            Self::WhichWay { given } => format!("+{given} for later or {given} ago for earlier"),
            Self::NeedsTime { given } => format!("\"{given} 09:00\""),
            Self::HappensTwice { say_first, say_second, .. } => {
                format!("\"{say_first}\" or \"{say_second}\"")
            }
            Self::NeverHappens { last_before, first_after, .. } => {
                format!("a time up to {last_before} or from {first_after}")
            }
            Self::WrongLetters { shown, .. } => format!("{shown}, or no letters"),
            Self::NoonOrMidnight { say, .. } | Self::Pointed { say, .. } => say.clone(),
            Self::Unknown { .. } => "12:30, +30m, 20m ago, tomorrow 09:00, Fri 14:00 or 25-Oct-2026 09:00 (24-hour clock)".to_owned(),
            Self::YearOrTime { .. } => "the time with a colon, and the year before it if one is meant: 25 Oct 2026 09:30".to_owned(),
            Self::NoSuchDate { .. } => "the day first, such as 02-Jul-1944 or 02/07/1944".to_owned(),
            Self::ShortYear { .. } => "all four digits of the year, such as 1944".to_owned(),
            Self::NotADate { .. } => "02-Jul-1944, 2 Jul 1944, 02/07/1944 (day first) or 1944-07-02".to_owned(),
            Self::OutOfRange { .. } => "a nearer one; check the year or the number".to_owned(),
            Self::NotASpan { .. } => "30m, 4h, 1h30 or 2d".to_owned(),
            Self::NotAWindow { .. } => "14:00-16:00, between 14:00 and 16:00, or tomorrow 14:00-16:00".to_owned(),
            Self::NotARepeat { .. } => "every 4h, every 30m, daily 09:00 or every 2d 09:00".to_owned(),
        }
    }
}

impl fmt::Display for TimeRefusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; say {}", self.what(), self.accepted())
    }
}

impl std::error::Error for TimeRefusal {}

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

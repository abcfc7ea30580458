//! Time. Stored as UTC, shown on the ward's clock, parsed and shown only here.
//! Intervals run on elapsed time; "tomorrow 09:00" runs on the wall clock.

mod age;
mod grammar;
mod instant;
mod zone;

pub use age::{Age, age_on};
pub use grammar::{
    Leaning, Moment, Reckoning, Repeat, TimeRefusal, Window, moment_or_gap_end, parse_date,
    parse_day, parse_moment, parse_repeat, parse_span, parse_window,
};
pub use instant::{Span, Timestamp};
pub use zone::{WardZone, ZoneError, show_date};

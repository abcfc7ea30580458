//! Time. Stored as UTC, shown on the ward's clock, parsed and shown only here.
//! Intervals run on elapsed time; "tomorrow 09:00" runs on the wall clock.

mod instant;
mod zone;

pub use instant::{Span, Timestamp};
pub use zone::{WardZone, ZoneError, show_date};

//! The four days of the story on the ward's clock (Europe/London), as moments.
//!
//! Clocks go back on Sunday at 02:00 BST (01:00 UTC), so `sun` has two hours called 01.

use crate::record::time::{Span, Timestamp};

/// Thu 22-Oct-2026 00:00 BST, which is 2026-10-21T23:00:00Z.
const THURSDAY: Timestamp = Timestamp(1_792_623_600_000_000);

const fn on_day(day: i64, hour: i64, minute: i64) -> Timestamp {
    THURSDAY.plus(Span::minutes((day * 24 + hour) * 60 + minute))
}

/// Thursday 22-Oct-2026, BST.
#[must_use]
pub const fn thu(hour: i64, minute: i64) -> Timestamp {
    on_day(0, hour, minute)
}

/// Friday 23-Oct-2026, BST.
#[must_use]
pub const fn fri(hour: i64, minute: i64) -> Timestamp {
    on_day(1, hour, minute)
}

/// Saturday 24-Oct-2026, BST.
#[must_use]
pub const fn sat(hour: i64, minute: i64) -> Timestamp {
    on_day(2, hour, minute)
}

/// Sunday 25-Oct-2026 before the clocks go back, BST: hours 0 and 1.
#[must_use]
pub const fn sun_bst(hour: i64, minute: i64) -> Timestamp {
    on_day(3, hour, minute)
}

/// Sunday 25-Oct-2026 after the clocks went back, GMT: hour 1 and later.
#[must_use]
pub const fn sun(hour: i64, minute: i64) -> Timestamp {
    on_day(3, hour + 1, minute)
}

/// The same text with a leading weekday (`Fri 14:00`) written as the date it is in the story,
/// Thursday being the first day and Wednesday the last, so that a time just passed is never
/// taken for next week's.
#[must_use]
pub fn dated(text: &str) -> String {
    const DAYS: [(&str, u8); 7] = [
        ("Thu ", 22),
        ("Fri ", 23),
        ("Sat ", 24),
        ("Sun ", 25),
        ("Mon ", 26),
        ("Tue ", 27),
        ("Wed ", 28),
    ];
    for (name, day) in DAYS {
        if let Some(rest) = text.strip_prefix(name) {
            return format!("{day}-Oct-2026 {rest}");
        }
    }
    text.to_owned()
}

//! Until when a record is kept at least.
//!
//! Source: Records Management Code of Practice 2021 (updated August 2023), periods as the
//! clinical reference lists them in section 14; the register's two years from memory. At the end a record is
//! reviewed, never destroyed by the calendar alone; holds for inquiries come first.

use chrono::{Datelike, NaiveDate};

/// To be shown beside a date.
pub const CAUTION: &str = "The earliest date for a review, not for destruction: holds for inquiries and litigation come first.";

/// A record with a period of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RecordType {
    /// An adult's health record: 8 years.
    Adult,
    /// Mental-health care: 20 years.
    MentalHealth,
    /// A register of controlled drugs: 2 years.
    ControlledDrugs,
}

impl RecordType {
    /// Every one.
    pub const ALL: [RecordType; 3] = [
        RecordType::Adult,
        RecordType::MentalHealth,
        RecordType::ControlledDrugs,
    ];

    /// As JSON carries it.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            RecordType::Adult => "adult",
            RecordType::MentalHealth => "mental-health",
            RecordType::ControlledDrugs => "controlled-drugs",
        }
    }

    /// Whole years after the last entry.
    #[must_use]
    pub const fn years(self) -> i32 {
        match self {
            RecordType::Adult => 8,
            RecordType::MentalHealth => 20,
            RecordType::ControlledDrugs => 2,
        }
    }
}

/// The day on which the period is over, as many years after the last entry; a 29 February
/// without a counterpart becomes the 28th. `None` beyond the calendar's end.
#[must_use]
pub fn review_on(record: RecordType, last_entry: NaiveDate) -> Option<NaiveDate> {
    let year = last_entry.year().checked_add(record.years())?;
    last_entry
        .with_year(year)
        .or_else(|| NaiveDate::from_ymd_opt(year, 2, 28).filter(|_| last_entry.month() == 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Clinical reference W10.
    #[test]
    fn w10_retention() {
        use RecordType::{Adult, ControlledDrugs, MentalHealth};
        for (record, last, review) in [
            (Adult, "2026-04-14", "2034-04-14"),
            (Adult, "2024-02-29", "2032-02-29"),
            (Adult, "2025-12-31", "2033-12-31"),
            (MentalHealth, "2026-04-14", "2046-04-14"),
            (ControlledDrugs, "2028-02-29", "2030-02-28"),
        ] {
            let day = |text: &str| text.parse::<NaiveDate>().expect("a date");
            assert_eq!(review_on(record, day(last)), Some(day(review)), "{last}");
        }
        assert_eq!(review_on(Adult, NaiveDate::MAX), None);
    }
}

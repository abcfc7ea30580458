//! Age on a date, exactly.

use std::fmt;

use chrono::{Datelike, Months, NaiveDate};

/// An age: whole years, and the whole months and days beyond them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Age {
    /// Whole years.
    pub years: u32,
    /// Whole months since the last birthday, 0 to 11.
    pub months: u32,
    /// Whole days since then, 0 to 30.
    pub days: u32,
}

impl fmt::Display for Age {
    /// Whole years: `81y`, the form of the NHS Common User Interface guidance for adults.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}y", self.years)
    }
}

/// The age on the date `on` of somebody born on `born`; `None` if `on` is before birth.
///
/// Somebody born on 29 February is a year older on 1 March of a common year, not on
/// 28 February: English law lets an age begin on the anniversary (Family Law Reform Act 1969,
/// section 9), and the day that follows 28 February is the first on which a whole year has
/// passed. From memory; common practice in UK systems.
#[must_use]
pub fn age_on(born: NaiveDate, on: NaiveDate) -> Option<Age> {
    if on < born {
        return None;
    }
    let reached = (on.month(), on.day()) >= (born.month(), born.day());
    let years = u32::try_from(on.year() - born.year()).ok()? - u32::from(!reached);
    let mut months = (on.month() + 12 - born.month()) % 12;
    if on.day() < born.day() {
        months = (months + 11) % 12;
    }
    let last = born.checked_add_months(Months::new(years * 12 + months))?;
    // A month without the day of birth makes chrono stop at its last day; the anniversary
    // is then the day after, so that day itself counts nothing beyond.
    let clamped = u32::from(last.day() < born.day());
    let days = u32::try_from((on - last).num_days()).ok()?;
    Some(Age {
        years,
        months,
        days: days.saturating_sub(clamped),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(text: &str) -> NaiveDate {
        text.parse().expect("a date written in this test")
    }

    fn age(born: &str, at: &str) -> Option<(u32, u32, u32)> {
        age_on(on(born), on(at)).map(|a| (a.years, a.months, a.days))
    }

    #[test]
    fn birthdays_and_the_day_before() {
        assert_eq!(age("1944-07-02", "2026-07-01"), Some((81, 11, 29)));
        assert_eq!(age("1944-07-02", "2026-07-02"), Some((82, 0, 0)));
        assert_eq!(age("2026-07-02", "2026-07-02"), Some((0, 0, 0)));
        assert_eq!(age("2026-07-02", "2026-07-01"), None);
    }

    #[test]
    fn born_on_29_february() {
        assert_eq!(age("1944-02-29", "2026-02-28"), Some((81, 11, 30)));
        assert_eq!(age("1944-02-29", "2026-03-01"), Some((82, 0, 0)));
        assert_eq!(age("1944-02-29", "2024-02-28"), Some((79, 11, 30)));
        assert_eq!(age("1944-02-29", "2024-02-29"), Some((80, 0, 0)));
    }

    #[test]
    fn month_ends() {
        assert_eq!(age("2000-01-31", "2026-03-01"), Some((26, 1, 0)));
        assert_eq!(age("2000-01-31", "2026-02-28"), Some((26, 0, 28)));
    }

    proptest::proptest! {
        /// Whole years agree with counting birthdays one by one.
        #[test]
        fn years_count_birthdays(born_days in 0_i64..60_000, lived in 0_i64..40_000) {
            let epoch = on("1860-01-01");
            let born = epoch + chrono::TimeDelta::days(born_days);
            let at = born + chrono::TimeDelta::days(lived);
            let counted = (born.year() + 1..=at.year())
                .filter(|&year| {
                    let birthday = NaiveDate::from_ymd_opt(year, born.month(), born.day())
                        .unwrap_or_else(|| NaiveDate::from_ymd_opt(year, 3, 1).expect("1 March"));
                    birthday <= at
                })
                .count();
            proptest::prop_assert_eq!(age_on(born, at).map(|a| a.years as usize), Some(counted));
        }
    }
}

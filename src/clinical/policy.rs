//! What a ward decides for itself: limits, intervals, targets, and the words of a response.
//!
//! Each key is described once, in the file of its section: name, meaning, unit, limits, default
//! and the source of the default. The defaults are the published values; words are ours and
//! are meant to be replaced. NEWS2's table of points, its bands and its single 3 are not here:
//! a ward cannot change them. Pure: the ward's fold says which values held at which moment
//! and hands each computation its section.

mod blood;
mod contact;
mod escalation;
pub mod file;
mod fluid;
mod key;
mod news2;
mod pressure;
mod record;
mod report;
mod sheet;
mod trend;
mod value;
mod values;
mod wound;

#[cfg(test)]
mod tests;

pub use blood::Blood;
pub use contact::Contact;
pub use escalation::Escalation;
pub use fluid::Fluid;
pub use key::{Form, Key, Preset, TEXT_MAX};
pub use news2::{Every, News2, RowPolicy};
pub use pressure::Pressure;
pub use record::Record;
pub use report::Report;
pub use sheet::Sheet;
pub use trend::Trend;
pub use value::{Value, quoted};
pub use values::{Conflict, Values};
pub use wound::Wound;

use crate::record::problem::Problem;

/// Keys that belong together.
#[derive(Debug)]
pub struct Section {
    /// The first part of their names.
    pub name: &'static str,
    /// What they are about.
    pub about: &'static str,
    /// The keys, in reading order.
    pub keys: &'static [&'static Key],
    /// What cannot hold together.
    pub check: fn(&Values) -> Vec<Conflict>,
}

/// Every section, in reading order.
pub const SECTIONS: &[Section] = &[
    record::SECTION,
    news2::SECTION,
    trend::SECTION,
    pressure::SECTION,
    blood::SECTION,
    wound::SECTION,
    contact::SECTION,
    escalation::SECTION,
    fluid::SECTION,
    sheet::SECTION,
    report::SECTION,
];

/// Every key.
pub fn keys() -> impl Iterator<Item = &'static Key> {
    SECTIONS
        .iter()
        .flat_map(|section| section.keys.iter().copied())
}

/// The key of this name, or that had it earlier.
#[must_use]
pub fn find(name: &str) -> Option<&'static Key> {
    keys().find(|key| key.name == name || key.before.contains(&name))
}

/// The key of this name.
///
/// # Errors
/// That there is none, and which are near it.
pub fn named(name: &str) -> Result<&'static Key, Problem> {
    find(name).ok_or_else(|| {
        let (what, accepted) = file::unknown(name);
        Problem::new(format!("{what}: {name}"), accepted)
    })
}

/// The keys a mistyped name may mean: the nearest, or those of its section, or the sections.
fn near(name: &str) -> String {
    let names: Vec<&str> = keys().map(|key| key.name).collect();
    let lasts = || names.iter().filter(|known| ends_alike(known, name));
    if let Some(near) = crate::record::field::nearest(name, &names) {
        return format!("perhaps {near}");
    }
    let alike: Vec<&str> = lasts().copied().take(4).collect();
    if !alike.is_empty() {
        return format!("perhaps {}", alike.join(" or "));
    }
    let section = name.split('.').next().unwrap_or_default();
    let of_section: Vec<&str> = names
        .iter()
        .copied()
        .filter(|known| known.split('.').next() == Some(section))
        .take(8)
        .collect();
    if of_section.is_empty() {
        let sections: Vec<&str> = SECTIONS.iter().map(|section| section.name).collect();
        return format!(
            "a key of the sections {}; `policy keys` lists all",
            sections.join(", ")
        );
    }
    format!("{}; `policy keys` lists all", of_section.join(", "))
}

/// The same last part, such as `silence_hours` without its section.
fn ends_alike(known: &str, name: &str) -> bool {
    let last = |name: &str| name.rsplit('.').next().map(str::to_owned);
    last(known) == last(name)
}

/// No two settings of this section depend on each other.
fn independent(_: &Values) -> Vec<Conflict> {
    Vec::new()
}

const fn tenths(mantissa: i64) -> crate::record::quantity::Decimal {
    crate::record::quantity::Decimal {
        mantissa,
        places: 1,
    }
}

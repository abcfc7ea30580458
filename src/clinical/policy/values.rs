//! The values a ward has set. What it has not set has its default.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::key::{Key, Preset};
use super::value::Value;
use super::{SECTIONS, find};
use crate::record::quantity::Decimal;
use crate::record::time::Span;

/// Settings by name. Only what a key accepts can be put in.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Values(BTreeMap<String, Value>);

/// Two or more settings that cannot hold together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// Which.
    pub keys: Vec<&'static str>,
    /// What is wrong: "… is above …".
    pub what: String,
    /// What would be accepted.
    pub accepted: String,
}

impl Values {
    /// What holds for a key.
    #[must_use]
    pub fn get(&self, key: &Key) -> Value {
        self.0
            .get(key.name)
            .cloned()
            .unwrap_or_else(|| key.default())
    }

    /// Whether the ward has set a key, to whatever value.
    #[must_use]
    pub fn has(&self, key: &Key) -> bool {
        self.0.contains_key(key.name)
    }

    /// Sets a key to a value that it accepted.
    pub fn set(&mut self, key: &Key, value: Value) {
        self.0.insert(key.name.to_owned(), value);
    }

    /// Goes back to the default.
    pub fn unset(&mut self, key: &Key) {
        self.0.remove(key.name);
    }

    /// Every pair of settings that cannot hold together.
    #[must_use]
    pub fn conflicts(&self) -> Vec<Conflict> {
        SECTIONS
            .iter()
            .flat_map(|section| (section.check)(self))
            .collect()
    }

    /// The names of what is set, and the values.
    pub fn iter(&self) -> impl Iterator<Item = (&'static Key, &Value)> {
        self.0
            .iter()
            .filter_map(|(name, value)| Some((find(name)?, value)))
    }

    /// A whole number; `None` where the word stands that means no number.
    pub(super) fn whole_or(&self, key: &Key) -> Option<i64> {
        let preset = match key.preset {
            Preset::Whole(number) => Some(number),
            _ => None,
        };
        match self.0.get(key.name) {
            Some(Value::Whole(number)) => Some(*number),
            Some(_) => None,
            None => preset,
        }
    }

    /// A whole number.
    pub(super) fn whole(&self, key: &Key) -> i64 {
        self.whole_or(key).unwrap_or_default()
    }

    /// A count of things.
    pub(super) fn count(&self, key: &Key) -> usize {
        usize::try_from(self.whole(key)).unwrap_or_default()
    }

    /// A number; `None` where the word stands that means no number.
    pub(super) fn number_or(&self, key: &Key) -> Option<Decimal> {
        self.get(key).as_number()
    }

    /// So many minutes.
    pub(super) fn minutes(&self, key: &Key) -> Span {
        Span::minutes(self.whole(key))
    }

    /// So many hours.
    pub(super) fn hours(&self, key: &Key) -> Span {
        Span::hours(self.whole(key))
    }

    /// Yes or no.
    pub(super) fn flag(&self, key: &Key) -> bool {
        matches!(self.get(key), Value::Flag(true))
    }

    /// Words.
    pub(super) fn text(&self, key: &Key) -> String {
        match self.get(key) {
            Value::Text(text) => text,
            other => other.literal(),
        }
    }
}

/// Refuses `lower` unless it is less than `upper`; a side without a number has no limit.
pub(super) fn ordered(
    values: &Values,
    lower: &'static Key,
    upper: &'static Key,
) -> Option<Conflict> {
    let (low, high) = (values.number_or(lower)?, values.number_or(upper)?);
    if low.compare(high).is_lt() {
        return None;
    }
    Some(Conflict {
        keys: vec![lower.name, upper.name],
        what: format!(
            "{} {} is not below {} {}",
            lower.name,
            low.plain(),
            upper.name,
            high.plain()
        ),
        accepted: format!("{} below {}", lower.name, upper.name),
    })
}

/// Refuses `less` if it is more than `more`; equal is fine.
pub(super) fn at_most(values: &Values, less: &'static Key, more: &'static Key) -> Option<Conflict> {
    // "Continuous" is the shortest interval there is.
    let number = |key: &Key| values.whole_or(key).unwrap_or_default();
    let (small, large) = (number(less), number(more));
    (small > large).then(|| Conflict {
        keys: vec![less.name, more.name],
        what: format!(
            "{} {} is more than {} {}",
            less.name,
            values.get(less).literal(),
            more.name,
            values.get(more).literal()
        ),
        accepted: format!("{} at most {}", less.name, more.name),
    })
}

//! The ward's own settings, as the journal holds them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::record::kind::ward::PolicyChanged;

/// A setting a ward may change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    /// As typed.
    pub name: &'static str,
    /// What it is.
    pub help: &'static str,
    /// What holds until it is changed.
    pub default: &'static str,
}

/// Minutes after which an entry counts as late.
pub const LATE_ENTRY_MINUTES: Setting = Setting {
    name: "late_entry_minutes",
    help: "An entry written more than so many minutes after it happened is late: both times are shown.",
    default: "30",
};

/// Hours without any reading after which silence is shown.
pub const SILENCE_HOURS: Setting = Setting {
    name: "silence_hours",
    help: "A patient without any reading for so many hours is shown as silent.",
    default: "6",
};

/// Every setting.
pub const SETTINGS: &[Setting] = &[LATE_ENTRY_MINUTES, SILENCE_HOURS];

/// The ward's settings.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Policy(BTreeMap<String, String>);

impl Policy {
    /// Minutes after which an entry is late.
    #[must_use]
    pub fn late_entry_minutes(&self) -> i64 {
        self.whole(&LATE_ENTRY_MINUTES)
    }

    /// Hours of silence that are shown.
    #[must_use]
    pub fn silence_hours(&self) -> i64 {
        self.whole(&SILENCE_HOURS)
    }

    /// The value that holds for a setting.
    #[must_use]
    pub fn value<'a>(&'a self, setting: &'a Setting) -> &'a str {
        self.0
            .get(setting.name)
            .map_or(setting.default, String::as_str)
    }

    fn whole(&self, setting: &Setting) -> i64 {
        let parse = |text: &str| text.parse().ok().filter(|value| *value > 0);
        parse(self.value(setting))
            .or_else(|| parse(setting.default))
            .unwrap_or(1)
    }

    pub(super) fn change(&mut self, changed: &PolicyChanged) {
        self.0
            .insert(changed.setting.0.clone(), changed.value.0.clone());
    }
}

//! Entries and silence.

use super::{Key, Preset, Section, Values, independent};
use crate::record::time::Span;

const LATE: Key = Key::whole(
    "record.late_entry_minutes",
    30,
    (1, 10_000),
    "minutes",
    "An entry written more than so many minutes after it happened is late: both times are shown and a reason is asked for.",
    "ours; no published limit",
)
.was(&["late_entry_minutes"]);

const SILENCE: Key = Key::whole(
    "record.silence_hours",
    6,
    (1, 168),
    "hours",
    "A patient without any reading for more than so many hours is shown as silent.",
    "NEWS2 chart 4: 1 to 4 points are monitored every 4 to 6 hours",
)
.was(&["silence_hours"]);

const STALE: Key = Key::whole(
    "record.stale_set_hours",
    0,
    (1, 168),
    "hours",
    "A set of observations older than so many hours says nothing about now; its score carries that doubt. \"silence\" is the same as record.silence_hours.",
    "ours; no published limit",
)
.or("silence")
.preset(Preset::Text("silence"));

pub(super) const SECTION: Section = Section {
    name: "record",
    about: "Entries and silence",
    keys: &[&LATE, &SILENCE, &STALE],
    check: independent,
};

/// When an entry is late, a patient silent, a set stale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Record {
    /// Written longer after it happened is late.
    pub late_entry: Span,
    /// Longer without any reading is silence.
    pub silence: Span,
    /// An older set says nothing about now.
    pub stale_set: Span,
}

impl Values {
    /// The section `record`.
    #[must_use]
    pub fn record(&self) -> Record {
        Record {
            late_entry: self.minutes(&LATE),
            silence: self.hours(&SILENCE),
            stale_set: self
                .whole_or(&STALE)
                .map_or_else(|| self.hours(&SILENCE), Span::hours),
        }
    }
}

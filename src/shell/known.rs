//! What the line editor knows of the ward while a line is typed: a small copy, taken between
//! turns, so that completing a word never waits for the journal.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::status::Status;
use crate::record::ids::Seq;

/// A patient who can be chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct KnownPatient {
    /// A text that names nobody else.
    pub(super) key: String,
    /// Short place on the ward's list.
    pub(super) slot: Option<String>,
    /// Name as shown.
    pub(super) name: String,
    /// What tells this patient from another: born, area.
    pub(super) detail: String,
}

impl KnownPatient {
    /// What is typed for this patient: the slot, or the family name.
    pub(super) fn word(&self) -> String {
        match &self.slot {
            Some(slot) => slot.clone(),
            None => self
                .name
                .split(',')
                .next()
                .unwrap_or(&self.name)
                .to_lowercase(),
        }
    }
}

/// An entry that a step can be about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct OpenEntry {
    pub(super) seq: Seq,
    /// The field by which a step names it: `alert`, `task`.
    pub(super) field: &'static str,
    pub(super) label: String,
    pub(super) patient: Option<String>,
}

/// The copy.
#[derive(Debug, Clone, Default)]
pub(super) struct Known {
    pub(super) patients: Vec<KnownPatient>,
    /// Most urgent first within each field.
    pub(super) open: Vec<OpenEntry>,
    /// Handle and name.
    pub(super) staff: Vec<(String, String)>,
    /// The line above the prompt.
    pub(super) status: Status,
    /// The selected patient.
    pub(super) selected: Option<KnownPatient>,
    /// Values that may answer a form's question.
    pub(super) answers: Vec<(String, String)>,
    /// A form is asking.
    pub(super) asking: bool,
}

impl Known {
    /// Open entries a field can name; those of the selected patient first.
    pub(super) fn open_for(&self, field: &str) -> Vec<&OpenEntry> {
        let wanted = match field {
            "answers" | "from" => "alert",
            other => other,
        };
        let selected = self.selected.as_ref().map(|patient| patient.key.as_str());
        let mut found: Vec<&OpenEntry> = self
            .open
            .iter()
            .filter(|entry| entry.field == wanted)
            .collect();
        found.sort_by_key(|entry| selected.is_none() || entry.patient.as_deref() != selected);
        found
    }
}

/// The copy, shared between the turns and the line editor.
#[derive(Debug, Clone, Default)]
pub(super) struct SharedKnown(Arc<Mutex<Known>>);

impl SharedKnown {
    pub(super) fn get(&self) -> MutexGuard<'_, Known> {
        // A copy for display: after a panic the last one still serves.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

//! Whose something is: what is being asked, confirmed or kept always names its patient.

use super::look;
use super::session::{Session, held};
use crate::record::draft::Draft;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::{Kind, Subject};
use crate::shorthand::{Entries, entry_field};
use crate::station::Station;

/// Columns that a family name may take of a prompt, so that the question stays in sight.
const NAME_COLUMNS: usize = 16;

impl Session {
    /// The patient whom entries are about, as far as is known before they are recorded.
    pub(super) fn subject_of(&self, entries: &Entries) -> Option<Pseudonym> {
        let station = held(&self.station);
        entries
            .drafts
            .iter()
            .find_map(|draft| subject(&station, draft))
    }

    /// `T07 PELL, Rose`, for headings and questions about entries.
    pub(super) fn whose(&self, entries: &Entries) -> String {
        match self.subject_of(entries) {
            Some(patient) => self.full(Some(patient)),
            None => nobody_yet(entries, "whoever the entry it belongs with is about").to_owned(),
        }
    }

    /// `T07 PELL`, for prompts; empty for what is of the ward or of nobody yet.
    pub(super) fn whose_mark(&self, entries: &Entries) -> String {
        match self.subject_of(entries) {
            Some(patient) => format!("{} ", self.short(Some(patient))),
            None => format!("{} ", nobody_yet(entries, "patient?")),
        }
    }

    /// Whether a text is the slot of somebody on the ward.
    pub(super) fn is_slot(&self, text: &str) -> bool {
        let text = text.trim().trim_start_matches('@');
        let station = held(&self.station);
        let mut slots = station.ward().caseload().into_iter();
        slots.any(|patient| {
            let slot = patient.slot();
            slot.is_some_and(|slot| slot.eq_ignore_ascii_case(text))
        })
    }

    /// `T07 PELL, Rose`, or `the ward`.
    pub(super) fn full(&self, patient: Option<Pseudonym>) -> String {
        look::who(held(&self.station).ward(), patient)
    }

    /// `T07 PELL`, or `ward`.
    pub(super) fn short(&self, patient: Option<Pseudonym>) -> String {
        let station = held(&self.station);
        let Some(patient) = patient.and_then(|patient| station.ward().patient(patient)) else {
            return "ward".to_owned();
        };
        let name = patient.name_line();
        let family = name.split(',').next().unwrap_or(&name);
        let family = super::prompt::cut(family, NAME_COLUMNS);
        match patient.slot() {
            Some(slot) => format!("{slot} {family}"),
            None => family,
        }
    }
}

fn nobody_yet<'a>(entries: &Entries, follows: &'a str) -> &'a str {
    let kinds = entries.drafts.iter();
    let kinds = kinds.filter_map(|draft| Kind::from_name(&draft.kind));
    let new = |kind: &Kind| *kind == Kind::Admission;
    // A step of a handover that names no patient is of the whole ward.
    let ward = |kind: &Kind| {
        matches!(kind.subject(), Subject::Ward)
            || *kind == Kind::HandoverStep
            || entry_field(*kind).is_none()
    };
    let kinds: Vec<Kind> = kinds.collect();
    if kinds.iter().any(new) {
        "new patient"
    } else if kinds.iter().all(ward) {
        "ward"
    } else {
        follows
    }
}

/// Named, or the patient of the entry that it names.
pub(super) fn subject(station: &Station, draft: &Draft) -> Option<Pseudonym> {
    if let Some(text) = draft.patient.as_deref() {
        return station.resolve_patient(text).ok();
    }
    let field = entry_field(Kind::from_name(&draft.kind)?)?;
    let seq = draft.get(field)?.parse::<Seq>().ok()?;
    station.patient_of(seq)
}

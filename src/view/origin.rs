//! Where a statement comes from: which entry, who wrote it and when, whether it was written
//! late or corrected, and whether the reader has seen it before.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::record::ids::{Pseudonym, Seq};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::{Span, Timestamp, WardZone};
use crate::ward::{Author, Patient, Stamp, Standing, Ward};

/// A member of staff as readers know them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Writer {
    /// Handle; none for a key nobody on the staff has.
    pub handle: Option<Handle>,
    /// Full name; the beginning of an unknown key; or why it is not proved who wrote it, with
    /// the beginning of the key.
    pub name: String,
    /// The role in which they wrote, or their role now.
    pub role: Option<Role>,
}

impl Writer {
    /// Who wrote an entry.
    #[must_use]
    pub fn of_author(ward: &Ward, author: &Author) -> Writer {
        match author {
            Author::Staff(handle, role) => Writer {
                role: Some(*role),
                ..Writer::of_handle(ward, handle)
            },
            Author::Unknown(key) => Writer {
                handle: None,
                name: format!("unknown key {}", key.short()),
                role: None,
            },
            Author::Unproved(..) => Writer {
                handle: None,
                name: author.to_string(),
                role: None,
            },
        }
    }

    /// Somebody named by handle; a handle nobody has stays as it is.
    #[must_use]
    pub fn of_handle(ward: &Ward, handle: &Handle) -> Writer {
        let staff = ward.staff(handle);
        Writer {
            handle: Some(handle.clone()),
            name: staff.map_or_else(|| handle.to_string(), |staff| staff.name.clone()),
            role: staff.map(|staff| staff.role),
        }
    }
}

impl std::fmt::Display for Writer {
    /// `Orla Quillfeather (RN)`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.role {
            Some(role) => write!(f, "{} ({})", self.name, role.short()),
            None => f.write_str(&self.name),
        }
    }
}

/// A patient named in a list.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct NameRef {
    /// Which patient.
    pub patient: Pseudonym,
    /// `PELL, Ada (Mrs)`.
    pub name: String,
    /// Place on the ward's list.
    pub slot: Option<String>,
}

impl NameRef {
    /// Of one patient.
    #[must_use]
    pub fn of(patient: &Patient) -> NameRef {
        NameRef {
            patient: patient.pseudonym,
            name: patient.name_line(),
            slot: patient.slot().map(str::to_owned),
        }
    }
}

impl std::fmt::Display for NameRef {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.slot {
            Some(slot) => write!(f, "{slot} {}", self.name),
            None => f.write_str(&self.name),
        }
    }
}

/// Where a statement comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Origin {
    /// The entry that began it.
    pub seq: Seq,
    /// The newest entry about it: itself, a later step, or its correction.
    pub newest_seq: Seq,
    /// When it happened.
    pub occurred_at: Timestamp,
    /// The time was given as approximate.
    pub approximate: bool,
    /// When it was written.
    pub recorded_at: Timestamp,
    /// Who wrote it.
    pub by: Writer,
    /// Written later than the policy's limit after it happened: both times are shown.
    pub late: bool,
    /// It, or a step of it, was written after the last accepted handover's sheet was drawn.
    pub is_new: bool,
    /// Its fields are shown as corrected by a later entry.
    pub corrected: bool,
}

/// From where a view is drawn: the ward, the moment, and what the reader has seen.
#[derive(Debug, Clone, Copy)]
pub struct Vantage<'a> {
    /// The ward.
    pub ward: &'a Ward,
    /// The moment.
    pub now: Timestamp,
    /// The newest entry on the sheet that was last accepted; `None` marks nothing as new.
    pub since: Option<Seq>,
}

impl<'a> Vantage<'a> {
    /// The ward's clock.
    #[must_use]
    pub fn zone(&self) -> WardZone {
        self.ward.zone()
    }

    /// Others on the ward whose name is the same as somebody's or could be taken for it. Every
    /// view asks here: a name that is flagged in one place and not in another is trusted there.
    #[must_use]
    pub fn similar_names(&self, patient: Option<&Patient>) -> Vec<NameRef> {
        let others = patient.map(|patient| self.ward.similar_names(patient));
        let others = others.unwrap_or_default().into_iter();
        others.map(NameRef::of).collect()
    }

    /// Written after the last accepted sheet was drawn.
    #[must_use]
    pub fn is_new(&self, seq: Seq) -> bool {
        self.since.is_some_and(|since| seq > since)
    }

    /// Written later after it happened than the policy allows.
    #[must_use]
    pub fn is_late(&self, delay: Span) -> bool {
        delay > self.ward.policy().values().record().late_entry
    }

    /// The same for one patient: what is new of somebody who was held back when the ward was
    /// accepted is what nobody has taken over yet.
    #[must_use]
    pub fn of(&self, patient: Option<Pseudonym>) -> Vantage<'a> {
        let since = self.since.map(|whole| match patient {
            Some(patient) => self.ward.taken_over_with(patient, whole),
            None => whole,
        });
        Vantage { since, ..*self }
    }

    /// With one patient in view, or the ward itself.
    #[must_use]
    pub fn on(&self, patient: Option<&'a Patient>) -> Subject<'a> {
        let patient = patient.map(|patient| patient.pseudonym);
        let log = self.ward.log_of(patient);
        Subject {
            vantage: self.of(patient),
            standings: log.map(crate::ward::Log::standings).unwrap_or_default(),
        }
    }
}

/// One patient, or the ward itself, seen from a vantage.
#[derive(Debug, Clone)]
pub struct Subject<'a> {
    /// From where.
    pub vantage: Vantage<'a>,
    /// What was corrected or withdrawn.
    pub standings: BTreeMap<Seq, Standing>,
}

impl Subject<'_> {
    /// Of something that has no later steps.
    #[must_use]
    pub fn origin(&self, stamp: &Stamp) -> Origin {
        self.origin_with(stamp, None)
    }

    /// Of something whose newest step is `newest`.
    #[must_use]
    pub fn origin_with(&self, stamp: &Stamp, newest: Option<Seq>) -> Origin {
        let corrected_by = match self.standings.get(&stamp.seq) {
            Some(Standing::Corrected { by }) => Some(*by),
            _ => None,
        };
        let newest_seq = stamp.seq.max(newest.unwrap_or_default());
        let newest_seq = newest_seq.max(corrected_by.unwrap_or_default());
        Origin {
            seq: stamp.seq,
            newest_seq,
            occurred_at: stamp.occurred_at,
            approximate: stamp.approximate,
            recorded_at: stamp.recorded_at,
            by: Writer::of_author(self.vantage.ward, &stamp.author),
            late: self.vantage.is_late(stamp.delay()),
            is_new: self.vantage.is_new(newest_seq),
            corrected: corrected_by.is_some(),
        }
    }
}

/// Words somebody wrote, with who wrote them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Statement {
    /// The words, as written; of an answer, its question before them.
    pub text: String,
    /// Whose view of the patient it is, where that was stated.
    pub said_by: Option<crate::record::kind::contact::Witness>,
    /// What the statement is about, where it is a note with a topic.
    pub topic: Option<crate::record::kind::contact::NoteTopic>,
    /// Who wrote it and when.
    pub origin: Origin,
}

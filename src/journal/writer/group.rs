//! The entries of one flush, and taking some of them out again.

use std::collections::HashMap;

use super::{Answer, Reply};
use crate::journal::chain::Head;
use crate::journal::store::{Appended, NewEntry};
use crate::record::ids::{EntryId, PersonKey, Pseudonym, Seq};

/// The entries of one flush while they are put together.
#[derive(Default)]
pub(super) struct Group {
    pub bytes: Vec<u8>,
    pub placed: HashMap<EntryId, Placed>,
    pub new_ids: Vec<(EntryId, Seq)>,
    pub answers: Vec<(Reply, Vec<EntryId>, Answer)>,
}

/// How far a group was put together.
pub(super) struct Mark {
    bytes: usize,
    ids: usize,
    head: Head,
}

impl Group {
    pub fn mark(&self, head: Head) -> Mark {
        Mark {
            bytes: self.bytes.len(),
            ids: self.new_ids.len(),
            head,
        }
    }

    /// Entries of one append are in the journal together or not at all.
    pub fn undo(&mut self, mark: &Mark, head: &mut Head) {
        self.bytes.truncate(mark.bytes);
        for (id, _) in self.new_ids.drain(mark.ids..) {
            self.placed.remove(&id);
        }
        *head = mark.head;
    }
}

/// What tells two entries with the same id apart, and the answer for the one that is there.
#[derive(Clone, Copy)]
pub(super) struct Placed {
    pub appended: Appended,
    pub author: PersonKey,
    pub kind: u16,
    pub patient: Pseudonym,
}

impl Placed {
    pub fn is_of(&self, entry: &NewEntry) -> bool {
        self.author == entry.signer.public()
            && self.kind == entry.kind
            && self.patient == entry.patient
    }
}

/// The same entry asked for again.
pub(super) fn repeat(mut placed: Placed) -> Placed {
    placed.appended.duplicate = true;
    placed
}

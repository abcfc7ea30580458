//! Who wrote each entry, of which kind and about whom, and what was withdrawn: 24 bytes an entry.

use std::collections::{BTreeMap, BTreeSet};

use crate::record::ids::{PersonKey, Pseudonym, Seq};
use crate::record::kind::ward::{Amendment, AmendmentAct};
use crate::ward::sealed::open_stay;

/// What is remembered of one entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct About {
    pub kind: u16,
    pub author: PersonKey,
    /// Zeros where it is about the ward.
    pub patient: Pseudonym,
}

/// See the module. Entries come in order.
#[derive(Default)]
pub(super) struct Told {
    authors: Vec<PersonKey>,
    places: BTreeMap<PersonKey, u32>,
    patients: Vec<Pseudonym>,
    patient_places: BTreeMap<Pseudonym, u32>,
    entries: Vec<(Seq, u32, u32, u16)>,
    /// Amendments that were found to be in order, by what they amend, in order.
    amendments: BTreeMap<Seq, Vec<(Seq, AmendmentAct)>>,
    /// What each of them amends.
    targets: BTreeMap<Seq, Seq>,
    withdrawn: BTreeSet<Seq>,
}

impl Told {
    /// Takes in the next entry.
    pub fn take(&mut self, seq: Seq, kind: u16, author: PersonKey, patient: Pseudonym) {
        let authors = &mut self.authors;
        let place = *self.places.entry(author).or_insert_with(|| {
            authors.push(author);
            u32::try_from(authors.len() - 1).unwrap_or(u32::MAX)
        });
        let patients = &mut self.patients;
        let whose = *self.patient_places.entry(patient).or_insert_with(|| {
            patients.push(patient);
            u32::try_from(patients.len() - 1).unwrap_or(u32::MAX)
        });
        self.entries.push((seq, place, whose, kind));
    }

    /// The entry with this number, if it was taken in.
    pub fn about(&self, seq: Seq) -> Option<About> {
        let at = self
            .entries
            .binary_search_by_key(&seq, |(seq, ..)| *seq)
            .ok()?;
        let (_, place, whose, kind) = *self.entries.get(at)?;
        let author = *self.authors.get(usize::try_from(place).ok()?)?;
        let patient = *self.patients.get(usize::try_from(whose).ok()?)?;
        Some(About {
            kind,
            author,
            patient,
        })
    }

    /// The admission of a patient with no discharge after it.
    pub fn open_stay(&self, patient: Pseudonym) -> Option<Seq> {
        let place = *self.patient_places.get(&patient)?;
        let own = self
            .entries
            .iter()
            .filter(|(_, _, whose, _)| *whose == place);
        open_stay(own.map(|(seq, _, _, kind)| (*seq, *kind)))
    }

    /// Takes in an amendment that is in order.
    pub fn amend(&mut self, seq: Seq, amendment: &Amendment) {
        let target = amendment.target;
        let of_target = self.amendments.entry(target).or_default();
        of_target.push((seq, amendment.act));
        self.targets.insert(seq, target);
        // What an amendment did is undone when it is withdrawn itself, and so on back.
        let mut next = Some(target);
        while let Some(target) = next {
            let newest = self.amendments.get(&target).and_then(|all| {
                let standing = |one: &&(Seq, AmendmentAct)| !self.withdrawn.contains(&one.0);
                all.iter().rev().find(standing)
            });
            let now = newest.is_some_and(|(_, act)| *act == AmendmentAct::Withdraw);
            let changes = if now {
                self.withdrawn.insert(target)
            } else {
                self.withdrawn.remove(&target)
            };
            next = self.targets.get(&target).filter(|_| changes).copied();
        }
    }

    /// Whether an entry is withdrawn by those taken in so far.
    pub fn is_withdrawn(&self, seq: Seq) -> bool {
        self.withdrawn.contains(&seq)
    }
}

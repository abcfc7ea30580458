//! Who wrote each entry, and of which kind: 16 bytes an entry.

use std::collections::BTreeMap;

use crate::record::ids::{PersonKey, Seq};

/// What is remembered of one entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct About {
    pub kind: u16,
    pub author: PersonKey,
}

/// See the module. Entries come in order.
#[derive(Default)]
pub(super) struct Told {
    authors: Vec<PersonKey>,
    places: BTreeMap<PersonKey, u32>,
    entries: Vec<(Seq, u32, u16)>,
}

impl Told {
    /// Takes in the next entry.
    pub fn take(&mut self, seq: Seq, kind: u16, author: PersonKey) {
        let authors = &mut self.authors;
        let place = *self.places.entry(author).or_insert_with(|| {
            authors.push(author);
            u32::try_from(authors.len() - 1).unwrap_or(u32::MAX)
        });
        self.entries.push((seq, place, kind));
    }

    /// The entry with this number, if it was taken in.
    pub fn about(&self, seq: Seq) -> Option<About> {
        let at = self
            .entries
            .binary_search_by_key(&seq, |(seq, ..)| *seq)
            .ok()?;
        let (_, place, kind) = *self.entries.get(at)?;
        let author = *self.authors.get(usize::try_from(place).ok()?)?;
        Some(About { kind, author })
    }
}

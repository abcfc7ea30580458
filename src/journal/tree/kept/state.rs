//! The bytes of `tree/state`. Derived and disposable, so anything unusual in it is "none".
//!
//! Integers little-endian: magic (8), journal id (16), last entry (8), its hash (32), leaves (8), count of
//! shifts (8) and for each entry (8) and leaf (8), count of levels (8) and for each the count of hashes
//! (8) and the hashes (32 each), count of patients (8) and for each pseudonym (16), entries (8) and hash
//! (32), count of parts of the right edge (8) and their hashes (32 each), check (32) over everything before it.

use super::{HASH, TILE_HASHES};
use crate::journal::chain;
use crate::journal::tree::{Frontier, Leaves, PatientChain, PatientTally};
use crate::record::ids::{EntryHash, JournalId, Pseudonym, Seq, TreeHash};

const MAGIC: [u8; 8] = *b"hftree\0\x01";
/// More is damage: two million patients.
pub(super) const BYTES_MAX: usize = 1 << 27;
const LEVELS_MAX: u64 = 8;
const SHIFTS_MAX: u64 = 1 << 20;
const PATIENTS_MAX: u64 = 1 << 21;

/// What was read.
pub(super) struct State {
    pub last: Seq,
    pub leaves: Leaves,
    pub edge: Frontier,
    pub tails: Vec<Vec<TreeHash>>,
    pub tally: PatientTally,
}

pub(super) fn write(
    journal: JournalId,
    last: Seq,
    (leaves, edge): (&Leaves, &Frontier),
    tails: &[Vec<TreeHash>],
    tally: &PatientTally,
) -> Vec<u8> {
    let mut out = MAGIC.to_vec();
    out.extend_from_slice(&journal.0);
    number(&mut out, last.0);
    out.extend_from_slice(&leaves.before.0);
    number(&mut out, leaves.size);
    number(&mut out, leaves.shifts.len() as u64);
    for (seq, leaf) in &leaves.shifts {
        number(&mut out, seq.0);
        number(&mut out, *leaf);
    }
    number(&mut out, tails.len() as u64);
    for tail in tails {
        number(&mut out, tail.len() as u64);
        out.extend(tail.iter().flat_map(|hash| hash.0));
    }
    number(&mut out, tally.0.len() as u64);
    for (patient, chain) in &tally.0 {
        out.extend_from_slice(&patient.0);
        number(&mut out, chain.entries);
        out.extend_from_slice(&chain.hash);
    }
    number(&mut out, edge.parts.len() as u64);
    out.extend(edge.parts.iter().flat_map(|hash| hash.0));
    let check = chain::tree_check(&out);
    out.extend_from_slice(&check);
    out
}

fn number(out: &mut Vec<u8>, number: u64) {
    out.extend_from_slice(&number.to_le_bytes());
}

/// `None` for anything but what [`write`] writes for this journal.
pub(super) fn read(bytes: &[u8], journal: JournalId) -> Option<State> {
    let (body, check) = bytes.split_last_chunk::<32>()?;
    if *check != chain::tree_check(body) {
        return None;
    }
    let mut rest = Rest(body);
    if rest.array::<8>()? != MAGIC || rest.array::<16>()? != journal.0 {
        return None;
    }
    let last = Seq(rest.number(u64::MAX)?);
    let before = EntryHash(rest.array()?);
    let size = rest.number(u64::MAX)?;
    let mut shifts = Vec::new();
    for _ in 0..rest.number(SHIFTS_MAX)? {
        shifts.push((Seq(rest.number(u64::MAX)?), rest.number(u64::MAX)?));
    }
    let mut tails = Vec::new();
    for _ in 0..rest.number(LEVELS_MAX)? {
        tails.push(rest.hashes()?);
    }
    let mut tally = PatientTally::default();
    for _ in 0..rest.number(PATIENTS_MAX)? {
        let patient = Pseudonym(rest.array()?);
        let entries = rest.number(u64::MAX)?;
        let hash = rest.array()?;
        tally.0.insert(patient, PatientChain { entries, hash });
    }
    let parts = rest.hashes()?;
    let edge = Frontier { size, parts };
    let leaves = Leaves {
        before,
        size,
        shifts,
    };
    rest.0.is_empty().then_some(State {
        last,
        leaves,
        edge,
        tails,
        tally,
    })
}

/// What has not been read yet.
struct Rest<'a>(&'a [u8]);

impl Rest<'_> {
    fn array<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (first, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*first)
    }

    fn number(&mut self, most: u64) -> Option<u64> {
        let number = u64::from_le_bytes(self.array()?);
        (number <= most).then_some(number)
    }

    fn hashes(&mut self) -> Option<Vec<TreeHash>> {
        let count = self.number(TILE_HASHES as u64)?;
        let mut hashes = Vec::new();
        for _ in 0..count {
            hashes.push(TreeHash(self.array::<HASH>()?));
        }
        Some(hashes)
    }
}

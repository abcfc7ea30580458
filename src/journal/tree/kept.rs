//! The tree beside the segments, in `tree/`, so that root and proofs need not read the journal. It is
//! drawn on from where it stands: each entry costs its hashes once, whatever the journal's length.
//! It may be deleted at any time, and is drawn anew when it is missing or wrong.
//!
//! `level-0` holds the leaves, `level-1` the roots of each 256 of them, and so on: in tiles of 256
//! hashes, each with a check value over journal, level, place and hashes. `state` holds what fills no
//! tile yet, and to which entry it was drawn.
//!
//! **For proofs only.** The check values need no key, so whoever has the folder can write a false tree
//! here. A proof made from it is held against a root that somebody signed, and when it does not fit the tree is drawn
//! anew from the segments; what is *signed* is never taken from here but from [`Grown`](super::Grown).

mod state;

use std::collections::BTreeMap;
use std::io;

use super::{Frontier, Leaves, Nodes, TreeEntry, entry_leaf, node_hash, proof};
use crate::journal::chain;
use crate::journal::disk::replace_file;
use crate::journal::frame::Frame;
use crate::journal::reader::FileReader;
use crate::journal::store::{ReadError, ReadJournal};
use crate::record::ids::{EntryHash, Seq, TreeHash};

/// Hashes a tile holds, and the number of levels of the tree it stands for: 2^8 = 256.
const TILE_HASHES: usize = 1 << TILE_LEVELS;
const TILE_LEVELS: u32 = 8;
const HASH: usize = TreeHash::LEN;
const TILE_BYTES: usize = TILE_HASHES * HASH + 32;

/// The tree of one journal, drawn to the newest entry its reader knows.
pub struct KeptTree<'r> {
    reader: &'r FileReader,
    leaves: Leaves,
    edge: Frontier,
    /// The last entry that was drawn.
    last: Seq,
    /// Hashes that fill no tile yet, level by level.
    tails: Vec<Vec<TreeHash>>,
    /// Tiles that could not be stored: a folder that is read only has a tree all the same.
    unsaved: BTreeMap<(usize, u64), Vec<TreeHash>>,
    /// Whether it was drawn anew because a tile was wrong: what does not fit now never will.
    doubted: bool,
}

/// A tile is not there or not as it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TileFault;

impl<'r> KeptTree<'r> {
    /// The tree over everything the reader knows.
    ///
    /// # Errors
    /// When the journal cannot be read. What `tree/` holds, or that it cannot be written, is none.
    pub fn follow(reader: &'r FileReader) -> Result<KeptTree<'r>, ReadError> {
        let mut tree = KeptTree::load(reader).unwrap_or_else(|| KeptTree::empty(reader));
        tree.catch_up()?;
        Ok(tree)
    }

    fn empty(reader: &'r FileReader) -> KeptTree<'r> {
        KeptTree {
            reader,
            leaves: Leaves::of(reader.journal()),
            edge: Frontier::default(),
            last: Seq::NONE,
            tails: Vec::new(),
            unsaved: BTreeMap::new(),
            doubted: false,
        }
    }

    /// What `state` says, if it is of these entries.
    fn load(reader: &'r FileReader) -> Option<KeptTree<'r>> {
        let path = reader.layout().tree_state();
        let length = reader.disk().stamp(&path).ok()?.bytes;
        let length = usize::try_from(length).ok()?.min(state::BYTES_MAX);
        let bytes = reader.disk().read(&path, 0, length).ok()?;
        let state = state::read(&bytes, reader.journal())?;
        let drawn_to = reader.read(state.last).ok()?;
        let is_ours = drawn_to.hash() == state.leaves.before;
        is_ours.then(|| KeptTree {
            leaves: state.leaves,
            edge: state.edge,
            last: state.last,
            tails: state.tails,
            ..KeptTree::empty(reader)
        })
    }

    fn catch_up(&mut self) -> Result<(), ReadError> {
        let from = self.last;
        let reader = self.reader;
        for item in reader.read_from(from.next()) {
            match item {
                Ok(frame) => self.take(&frame),
                // Named wherever the journal is shown; `Leaves` says what becomes of its leaf.
                Err(ReadError::Damaged { .. } | ReadError::Missing { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        if self.last > from {
            // Derived: what cannot be stored is drawn again next time.
            let _ = self.save();
        }
        Ok(())
    }

    fn take(&mut self, frame: &Frame) {
        let entry = TreeEntry::from(frame);
        for leaf in self.leaves.take(&entry) {
            self.edge.push(leaf);
            self.push(leaf);
        }
        self.last = frame.seq();
    }

    fn push(&mut self, leaf: TreeHash) {
        let mut hash = leaf;
        for level in 0.. {
            if self.tails.len() == level {
                self.tails.push(Vec::new());
            }
            self.tails[level].push(hash);
            if self.tails[level].len() < TILE_HASHES {
                return;
            }
            let tile = std::mem::take(&mut self.tails[level]);
            hash = joined(&tile);
            let place = self.tiles_before(level);
            if self.store_tile(level, place, &tile).is_err() {
                self.unsaved.insert((level, place), tile);
            }
        }
    }

    /// How many tiles a level has without what lies in its tail.
    fn tiles(&self, level: usize) -> u64 {
        let levels = u32::try_from(level + 1).unwrap_or(u32::MAX);
        self.leaves
            .size
            .checked_shr(TILE_LEVELS.saturating_mul(levels))
            .unwrap_or(0)
    }

    /// The place of the tile that the newest leaf has just filled.
    fn tiles_before(&self, level: usize) -> u64 {
        // `Leaves` counts a frame's leaves before they are pushed: at most one more follows this one.
        self.tiles(level).saturating_sub(1)
    }

    fn store_tile(&self, level: usize, place: u64, tile: &[TreeHash]) -> io::Result<()> {
        let (disk, layout) = (self.reader.disk(), self.reader.layout());
        disk.create_dir(&layout.tree_dir())?;
        let mut bytes: Vec<u8> = tile.iter().flat_map(|hash| hash.0).collect();
        let check = self.tile_check(level, place, &bytes);
        bytes.extend_from_slice(&check);
        let path = layout.tree_level(level);
        let mut file = match disk.open(&path, false) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => disk.open(&path, true)?,
            opened => opened?,
        };
        file.write_at(place * TILE_BYTES as u64, &bytes)
    }

    fn read_tile(&self, level: usize, place: u64) -> Result<Vec<TreeHash>, TileFault> {
        if let Some(tile) = self.unsaved.get(&(level, place)) {
            return Ok(tile.clone());
        }
        let path = self.reader.layout().tree_level(level);
        let at = place * TILE_BYTES as u64;
        let bytes = self.reader.disk().read(&path, at, TILE_BYTES);
        let bytes = bytes.map_err(|_| TileFault)?;
        let (hashes, check) = bytes
            .split_at_checked(TILE_HASHES * HASH)
            .ok_or(TileFault)?;
        if check != self.tile_check(level, place, hashes) {
            return Err(TileFault);
        }
        let hashes = hashes.as_chunks::<HASH>().0.iter();
        Ok(hashes.map(|hash| TreeHash(*hash)).collect())
    }

    fn tile_check(&self, level: usize, place: u64, hashes: &[u8]) -> [u8; 32] {
        let mut named = self.reader.journal().0.to_vec();
        named.extend_from_slice(&(level as u64).to_le_bytes());
        named.extend_from_slice(&place.to_le_bytes());
        named.extend_from_slice(hashes);
        chain::tree_check(&named)
    }

    fn save(&self) -> io::Result<()> {
        let (disk, layout) = (self.reader.disk(), self.reader.layout());
        if !self.unsaved.is_empty() {
            // A state that builds on tiles that are not there would only be drawn anew.
            return Ok(());
        }
        disk.create_dir(&layout.tree_dir())?;
        let bytes = state::write(self.reader.journal(), self.last, &self.leaves, &self.tails);
        let building = layout.tree_state_building();
        replace_file(disk, &building, &layout.tree_state(), &bytes)
    }

    /// How many leaves there are: the entries, where none was lost.
    #[must_use]
    pub fn size(&self) -> u64 {
        self.leaves.size
    }

    /// Which leaf an entry is; whether it is shows by its hash.
    #[must_use]
    pub fn index(&self, seq: Seq) -> Option<u64> {
        self.leaves.index(seq)
    }

    /// The root over all leaves.
    #[must_use]
    pub fn root(&self) -> TreeHash {
        self.edge.root()
    }

    /// The root over the first `size` leaves; `None` if there are not so many.
    ///
    /// # Errors
    /// When the tree must be drawn anew and the journal cannot be read.
    pub fn root_at(&mut self, size: u64) -> Result<Option<TreeHash>, ReadError> {
        if size == self.size() {
            return Ok(Some(self.root()));
        }
        self.ask(|tree| {
            let wanted = Some(size).filter(|size| *size <= tree.size());
            wanted.map(|size| proof::root(tree, size)).transpose()
        })
    }

    /// Whether the first `size` leaves have this root. Before it says no, the tree was drawn anew.
    ///
    /// # Errors
    /// When the tree must be drawn anew and the journal cannot be read.
    pub fn has_root(&mut self, size: u64, root: TreeHash) -> Result<bool, ReadError> {
        let fits = self.root_at(size)? == Some(root);
        if fits || self.doubted {
            return Ok(fits);
        }
        self.redraw()?;
        Ok(self.root_at(size)? == Some(root))
    }

    /// Which leaf an entry is, and the hashes that lead from it to the root over `size` leaves, if that is
    /// `root` and the entry is among them.
    ///
    /// # Errors
    /// When the tree must be drawn anew and the journal cannot be read.
    pub fn prove(
        &mut self,
        (seq, hash): (Seq, EntryHash),
        (size, root): (u64, TreeHash),
    ) -> Result<Option<(u64, Vec<TreeHash>)>, ReadError> {
        if !self.has_root(size, root)? {
            return Ok(None);
        }
        loop {
            let was_drawn_anew = self.doubted;
            if let Some(index) = self.index(seq)
                && let Some(path) = self.inclusion(entry_leaf(hash), index, size)?
            {
                return Ok(Some((index, path)));
            }
            // Which leaf it is is remembered too, and may have been remembered falsely.
            if was_drawn_anew {
                return Ok(None);
            }
            if !self.doubted {
                self.redraw()?;
            }
        }
    }

    /// The hashes that lead from a leaf, this one, to the root over `size` leaves; `None` if it is not
    /// that leaf or there are not so many.
    ///
    /// # Errors
    /// When the tree must be drawn anew and the journal cannot be read.
    pub fn inclusion(
        &mut self,
        leaf: TreeHash,
        index: u64,
        size: u64,
    ) -> Result<Option<Vec<TreeHash>>, ReadError> {
        let Some(root) = self.root_at(size)? else {
            return Ok(None);
        };
        let holds = |path: &Vec<TreeHash>| proof::inclusion_holds(leaf, index, size, path, root);
        let asked = self.ask(|tree| match proof::prove_inclusion(tree, index, size)? {
            Some(path) if !holds(&path) && tree.doubted => Ok(None),
            Some(path) if !holds(&path) => Err(TileFault),
            path => Ok(path),
        })?;
        Ok(asked.filter(holds))
    }

    /// The hashes that show the tree over `old` leaves to be the beginning of that over `new`; `None` if
    /// there are not so many.
    ///
    /// # Errors
    /// When the tree must be drawn anew and the journal cannot be read.
    pub fn consistency(&mut self, old: u64, new: u64) -> Result<Option<Vec<TreeHash>>, ReadError> {
        let (Some(old_root), Some(root)) = (self.root_at(old)?, self.root_at(new)?) else {
            return Ok(None);
        };
        if old > new {
            return Ok(None);
        }
        self.ask(|tree| match proof::prove_consistency(tree, old, new)? {
            Some(path) if proof::consistency_holds(old, new, old_root, root, &path) => {
                Ok(Some(path))
            }
            _ => Err(TileFault),
        })
    }

    /// Asks; if a tile is wrong, draws the tree anew from the segments and asks again.
    fn ask<T>(
        &mut self,
        ask: impl Fn(&KeptTree<'r>) -> Result<Option<T>, TileFault>,
    ) -> Result<Option<T>, ReadError> {
        if let Ok(answer) = ask(self) {
            return Ok(answer);
        }
        self.redraw()?;
        Ok(ask(self).unwrap_or_default())
    }

    /// Draws it anew from the segments.
    fn redraw(&mut self) -> Result<(), ReadError> {
        *self = KeptTree::empty(self.reader);
        self.doubted = true;
        self.catch_up()
    }
}

impl Nodes for KeptTree<'_> {
    type Error = TileFault;

    fn node(&self, level: u32, index: u64) -> Result<TreeHash, TileFault> {
        let row = (level / TILE_LEVELS) as usize;
        let inside = level % TILE_LEVELS;
        let (first, count) = (index << inside, 1usize << inside);
        let (place, at) = (
            first / TILE_HASHES as u64,
            (first % TILE_HASHES as u64) as usize,
        );
        if place < self.tiles(row) {
            let tile = self.read_tile(row, place)?;
            return tile.get(at..at + count).map(joined).ok_or(TileFault);
        }
        let tail = self
            .tails
            .get(row)
            .and_then(|tail| tail.get(at..at + count));
        tail.map(joined).ok_or(TileFault)
    }
}

/// The root over a power of two of neighbouring hashes.
fn joined(hashes: &[TreeHash]) -> TreeHash {
    let mut row = hashes.to_vec();
    while row.len() > 1 {
        row = row
            .as_chunks::<2>()
            .0
            .iter()
            .map(|[left, right]| node_hash(*left, *right))
            .collect();
    }
    row.first().copied().unwrap_or(TreeHash::ZERO)
}

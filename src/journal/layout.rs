//! Every name and path inside a journal folder, computed here and nowhere else.
//!
//! It must not know what is inside any file, and touches none.

use std::path::{Path, PathBuf};

use crate::journal::frame::SEQ_MAX;
use crate::record::ids::{Seq, to_hex};

const SEGMENT_SUFFIX: &str = ".hfs";
const CHECKPOINT_SUFFIX: &str = ".txt";
const BUILDING_SUFFIX: &str = ".hfs.tmp";
/// Digits in a segment's name: enough for every `u64`.
const NAME_DIGITS: usize = 20;

/// Where things are in one journal folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    root: PathBuf,
}

impl Layout {
    /// The layout of the journal in `root`. Looks at nothing.
    #[must_use]
    pub fn new(root: impl Into<PathBuf>) -> Layout {
        Layout { root: root.into() }
    }

    /// The journal folder itself.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The segments: the only truth in the folder.
    #[must_use]
    pub fn segments_dir(&self) -> PathBuf {
        self.root.join("segments")
    }

    /// The segment whose first entry is `first`.
    #[must_use]
    pub fn segment(&self, first: Seq) -> PathBuf {
        self.segments_dir()
            .join(format!("{:0NAME_DIGITS$}{SEGMENT_SUFFIX}", first.0))
    }

    /// The same segment while it is being made; a leftover is worthless and may go.
    #[must_use]
    pub fn segment_building(&self, first: Seq) -> PathBuf {
        self.segments_dir()
            .join(format!("{:0NAME_DIGITS$}{BUILDING_SUFFIX}", first.0))
    }

    /// The first entry of the segment with this file name; `None` if it is no segment name.
    #[must_use]
    pub fn first_of(name: &str) -> Option<Seq> {
        let digits = name.strip_suffix(SEGMENT_SUFFIX)?;
        let plain = digits.len() == NAME_DIGITS && digits.bytes().all(|b| b.is_ascii_digit());
        let first = digits
            .parse()
            .ok()
            .filter(|first| (1..=SEQ_MAX).contains(first))?;
        plain.then_some(Seq(first))
    }

    /// Whether a name ends as those of segments do, whatever it begins with.
    #[must_use]
    pub fn looks_like_segment(name: &str) -> bool {
        name.to_ascii_lowercase().ends_with(SEGMENT_SUFFIX)
    }

    /// Whether this is the name of a segment that was never finished.
    #[must_use]
    pub fn is_building(name: &str) -> bool {
        name.ends_with(BUILDING_SUFFIX)
    }

    /// Locked by the one writer; its text says who that is.
    #[must_use]
    pub fn lock(&self) -> PathBuf {
        self.root.join("lock")
    }

    /// The last head a writer knew to be flushed when it closed. Losing it costs a copy of
    /// the last segment at the next opening.
    #[must_use]
    pub fn flushed_note(&self) -> PathBuf {
        self.root.join("flushed")
    }

    /// Tails that recovery cut, kept for whoever wants to look.
    #[must_use]
    pub fn aside_dir(&self) -> PathBuf {
        self.root.join("aside")
    }

    /// Where the tail cut from `first`'s segment at `offset` goes. `digest` is of the bytes, so
    /// that doing it twice writes the same file.
    #[must_use]
    pub fn aside_file(&self, first: Seq, offset: u64, digest: &[u8; 8]) -> PathBuf {
        self.aside_dir().join(format!(
            "{:0NAME_DIGITS$}-at-{offset}-{}.tail",
            first.0,
            to_hex(digest)
        ))
    }

    /// From which segment and offset the side file with this name was cut; `None` if it is none.
    #[must_use]
    pub fn cut_from(name: &str) -> Option<(Seq, u64)> {
        let (first, rest) = name.strip_suffix(".tail")?.split_once("-at-")?;
        let (offset, _) = rest.split_once('-')?;
        Some((Seq(first.parse().ok()?), offset.parse().ok()?))
    }

    /// The findings a keeper has accepted, so that writing may go on.
    #[must_use]
    pub fn damage_accepted(&self) -> PathBuf {
        self.root.join("damage-accepted")
    }

    /// The damage acceptance while it is being written.
    #[must_use]
    pub fn damage_accepted_building(&self) -> PathBuf {
        self.root.join("damage-accepted.tmp")
    }

    /// Entry ids per finished segment; derived, may be deleted at any time.
    #[must_use]
    pub fn ids_dir(&self) -> PathBuf {
        self.root.join("ids")
    }

    /// The entry ids of the segment whose first entry is `first`.
    #[must_use]
    pub fn ids_file(&self, first: Seq) -> PathBuf {
        self.ids_dir()
            .join(format!("{:0NAME_DIGITS$}.ids", first.0))
    }

    /// The same while it is being made.
    #[must_use]
    pub fn ids_building(&self, first: Seq) -> PathBuf {
        self.ids_dir()
            .join(format!("{:0NAME_DIGITS$}.ids.tmp", first.0))
    }

    /// The projections' cache; derived, may be deleted at any time.
    #[must_use]
    pub fn index_dir(&self) -> PathBuf {
        self.root.join("index")
    }

    /// The Merkle tree over the entries; derived, may be deleted at any time.
    #[must_use]
    pub fn tree_dir(&self) -> PathBuf {
        self.root.join("tree")
    }

    /// The full tiles of one level of the tree, each level 256 times as wide as the one below.
    #[must_use]
    pub fn tree_level(&self, level: usize) -> PathBuf {
        self.tree_dir().join(format!("level-{level}"))
    }

    /// What fills no tile yet, and to which entry the tree was drawn.
    #[must_use]
    pub fn tree_state(&self) -> PathBuf {
        self.tree_dir().join("state")
    }

    /// The same while it is being made.
    #[must_use]
    pub fn tree_state_building(&self) -> PathBuf {
        self.tree_dir().join("state.tmp")
    }

    /// Checkpoints as signed notes, to be copied elsewhere.
    #[must_use]
    pub fn checkpoints_dir(&self) -> PathBuf {
        self.root.join("checkpoints")
    }

    /// The checkpoint over this many leaves.
    #[must_use]
    pub fn checkpoint(&self, size: u64) -> PathBuf {
        self.checkpoints_dir()
            .join(format!("{size:0NAME_DIGITS$}{CHECKPOINT_SUFFIX}"))
    }

    /// Whether this is the name of a checkpoint.
    #[must_use]
    pub fn is_checkpoint(name: &str) -> bool {
        let digits = name.strip_suffix(CHECKPOINT_SUFFIX).unwrap_or_default();
        digits.len() == NAME_DIGITS && digits.bytes().all(|b| b.is_ascii_digit())
    }

    /// The ward's own signing key. No handle has an underscore, so it is nobody's.
    #[must_use]
    pub fn ward_key(&self) -> PathBuf {
        self.keys_dir().join("_ward.key")
    }

    /// The same of a sealed journal, encrypted, for whoever reads records.
    #[must_use]
    pub fn sealed_index_dir(&self) -> PathBuf {
        self.root.join("index-sealed")
    }

    /// The keys to sealed records; a backup of the journal is made without it.
    #[must_use]
    pub fn sealing_dir(&self) -> PathBuf {
        self.root.join("sealing")
    }

    /// Staff keys, each sealed by its owner's passphrase or PIN.
    #[must_use]
    pub fn keys_dir(&self) -> PathBuf {
        self.root.join("keys")
    }

    /// Everything a journal's folder can hold beside its segments.
    #[must_use]
    pub fn beside_segments(&self) -> [PathBuf; 11] {
        [
            self.keys_dir(),
            self.sealing_dir(),
            self.sealed_index_dir(),
            self.flushed_note(),
            self.damage_accepted(),
            self.aside_dir(),
            self.index_dir(),
            self.ids_dir(),
            self.tree_dir(),
            self.checkpoints_dir(),
            self.lock(),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_segment_name_says_its_first_entry_and_nothing_else_is_one() {
        let path = Layout::new("j").segment(Seq(17));
        assert_eq!(path, Path::new("j/segments/00000000000000000017.hfs"));
        let name = path.file_name().and_then(|n| n.to_str()).unwrap();
        assert_eq!(Layout::first_of(name), Some(Seq(17)));
        for other in [
            "17.hfs",
            "00000000000000000000.hfs",
            "00000000000000000017.hfs.tmp",
            "+0000000000000000017.hfs",
            "99999999999999999999.hfs",
            "readme.txt",
        ] {
            assert_eq!(Layout::first_of(other), None, "{other}");
        }
    }
}

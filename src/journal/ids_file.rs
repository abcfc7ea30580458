//! The entry ids of one finished segment, sorted, so that looking one up reads about two
//! kilobytes. Derived from the segment; may be deleted at any time.
//!
//! Layout, integers little-endian: magic (8), journal id (16), first entry (8), hash of the
//! segment's last entry (32), 257 counts (4 each: how many ids begin with a lower byte), check
//! (32, over everything before it), then for each id in ascending order the id (16) and its
//! entry's number (8). The check does not cover the ids: checking them would cost what the
//! file saves. A damaged id may let an entry in twice, and `verify` then says so.

use std::io;

use crate::journal::chain;
use crate::journal::disk::{Disk, replace_file};
use crate::journal::layout::Layout;
use crate::record::ids::{EntryHash, EntryId, JournalId, Seq};

const MAGIC: [u8; 8] = *b"hfids\0\0\x01";
const ROW: usize = 24;
const BUCKETS: usize = 256;
const NAMED: usize = 8 + 16 + 8 + 32;
const COUNTED: usize = NAMED + 4 * (BUCKETS + 1);
const HEADER: usize = COUNTED + 32;
/// Most ids one lookup reads; more beginning with one byte means that the file is useless.
const BUCKET_ROWS_MAX: usize = 1 << 16;

/// Which segment of which journal, in which state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Of {
    pub journal: JournalId,
    pub first: Seq,
    /// Hash of the segment's last entry, as the next segment names it.
    pub last_hash: EntryHash,
}

impl Of {
    fn named(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(HEADER);
        out.extend_from_slice(&MAGIC);
        out.extend_from_slice(&self.journal.0);
        out.extend_from_slice(&self.first.0.to_le_bytes());
        out.extend_from_slice(&self.last_hash.0);
        out
    }
}

/// What looking in the file says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Looked {
    /// There is no usable file for this segment.
    NoFile,
    /// The id is not in the segment.
    Absent,
    /// The id is this entry's.
    At(Seq),
}

/// Looks an id up.
pub(super) fn look_up(disk: &dyn Disk, layout: &Layout, of: &Of, id: EntryId) -> Looked {
    look(disk, layout, of, id).unwrap_or(Looked::NoFile)
}

/// `None` if there is no usable file.
fn look(disk: &dyn Disk, layout: &Layout, of: &Of, id: EntryId) -> Option<Looked> {
    let path = layout.ids_file(of.first);
    let header = disk.read(&path, 0, HEADER).ok()?;
    let named = header.get(..NAMED)?;
    let check = header.get(COUNTED..HEADER)?;
    if named != of.named() || check != chain::ids_check(&header[..COUNTED]) {
        return None;
    }
    let bucket = usize::from(id.0[0]);
    let (from, to) = (count(&header, bucket)?, count(&header, bucket + 1)?);
    let rows = to
        .checked_sub(from)
        .filter(|rows| *rows <= BUCKET_ROWS_MAX)?;
    let offset = (HEADER + from * ROW) as u64;
    let bytes = disk.read(&path, offset, rows * ROW).ok()?;
    if bytes.len() != rows * ROW {
        return None;
    }
    let found = bytes.chunks_exact(ROW).find(|row| row[..16] == id.0);
    Some(found.map_or(Looked::Absent, |row| {
        let mut seq = [0; 8];
        seq.copy_from_slice(&row[16..]);
        Looked::At(Seq(u64::from_le_bytes(seq)))
    }))
}

fn count(header: &[u8], bucket: usize) -> Option<usize> {
    let at = NAMED + 4 * bucket;
    let bytes = header.get(at..at + 4)?;
    usize::try_from(u32::from_le_bytes(bytes.try_into().ok()?)).ok()
}

/// Writes the file for a segment's ids.
///
/// # Errors
/// Whatever the disk says; the ids must then be kept in memory.
pub(super) fn write(
    disk: &dyn Disk,
    layout: &Layout,
    of: &Of,
    mut ids: Vec<(EntryId, Seq)>,
) -> io::Result<()> {
    ids.sort_unstable();
    let mut out = of.named();
    for bucket in 0..=BUCKETS {
        let below = ids.partition_point(|(id, _)| usize::from(id.0[0]) < bucket);
        let below = u32::try_from(below).map_err(io::Error::other)?;
        out.extend_from_slice(&below.to_le_bytes());
    }
    let check = chain::ids_check(&out);
    out.extend_from_slice(&check);
    for (id, seq) in ids {
        out.extend_from_slice(&id.0);
        out.extend_from_slice(&seq.0.to_le_bytes());
    }
    disk.create_dir(&layout.ids_dir())?;
    let (building, path) = (layout.ids_building(of.first), layout.ids_file(of.first));
    replace_file(disk, &building, &path, &out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::disk::simulated::SimulatedDisk;

    #[test]
    fn ids_are_found_and_others_are_not_and_another_segment_has_no_file() {
        let disk = SimulatedDisk::new(1, &[]);
        let layout = Layout::new("/j");
        let of = Of {
            journal: JournalId([1; 16]),
            first: Seq(10),
            last_hash: EntryHash([2; 32]),
        };
        let id = |n: u64| {
            EntryId(
                blake3::hash(&n.to_le_bytes()).as_bytes()[..16]
                    .try_into()
                    .unwrap(),
            )
        };
        let ids = (0..900).map(|n| (id(n), Seq(10 + n))).collect();
        assert_eq!(look_up(&disk, &layout, &of, id(3)), Looked::NoFile);
        write(&disk, &layout, &of, ids).unwrap();
        for n in 0..900 {
            assert_eq!(look_up(&disk, &layout, &of, id(n)), Looked::At(Seq(10 + n)));
            assert_eq!(look_up(&disk, &layout, &of, id(n + 900)), Looked::Absent);
        }
        let other = Of {
            last_hash: EntryHash([3; 32]),
            ..of
        };
        assert_eq!(look_up(&disk, &layout, &other, id(3)), Looked::NoFile);
        let path = layout.ids_file(Seq(10));
        let whole = disk.bytes(&path).unwrap();
        for at in 0..HEADER {
            let mut bytes = whole.clone();
            bytes[at] ^= 1;
            disk.put(&path, &bytes);
            assert_eq!(
                look_up(&disk, &layout, &of, id(3)),
                Looked::NoFile,
                "byte {at}"
            );
        }
        disk.put(&path, &whole[..HEADER + 10]);
        assert_eq!(look_up(&disk, &layout, &of, id(3)), Looked::NoFile);
    }
}

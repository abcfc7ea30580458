//! The head a writer knew to be flushed when it closed. It spares the next opening from
//! doubting the last batch, and it tells a torn tail from destroyed entries.
//!
//! It is written after the flush it speaks of and never flushed itself: lost, stale or
//! unreadable it only costs caution, because "flushed up to here" stays true for ever.

use crate::journal::chain::{self, Head};
use crate::journal::disk::Disk;
use crate::journal::layout::Layout;
use crate::record::ids::{EntryHash, JournalId, Seq, from_hex, to_hex};

const NOTE_BYTES_MAX: usize = 400;

/// Writes the note, if it can be; a note that cannot be written is no note.
pub(super) fn write(disk: &dyn Disk, layout: &Layout, journal: JournalId, head: &Head) {
    let text = text(journal, head);
    if let Ok(mut file) = disk.open(&layout.flushed_note(), true) {
        let _ = file.write_at(0, text.as_bytes());
    }
}

/// The head the note speaks of; `None` if there is no note, or none for this journal.
pub(super) fn read(disk: &dyn Disk, layout: &Layout, journal: JournalId) -> Option<Head> {
    of(&bytes(disk, layout), journal)
}

/// What the note holds, to be read before the entries are: a writer may be at work, and what the
/// note vouches for must be there to whoever looks afterwards. Empty if there is none.
pub(super) fn bytes(disk: &dyn Disk, layout: &Layout) -> Vec<u8> {
    let note = disk.read(&layout.flushed_note(), 0, NOTE_BYTES_MAX);
    note.unwrap_or_default()
}

/// The head these bytes speak of, if they are a note of this journal.
pub(super) fn of(bytes: &[u8], journal: JournalId) -> Option<Head> {
    let found = std::str::from_utf8(bytes).ok()?;
    let mut words = found.split_ascii_whitespace();
    let seq = words.next()?.parse().ok()?;
    let hash = from_hex(words.next()?)?;
    let head = Head {
        seq: Seq(seq),
        hash: EntryHash(<[u8; 32]>::try_from(hash).ok()?),
    };
    (text(journal, &head) == found).then_some(head)
}

fn text(journal: JournalId, head: &Head) -> String {
    let line = format!("{} {}", head.seq.0, head.hash);
    let check = chain::note_check(format!("{journal} {line}").as_bytes());
    format!("{line}\n{}\n", to_hex(&check))
}

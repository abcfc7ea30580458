//! The journal: an append-only chain of signed entries in a folder of segment files. It
//! knows bytes, hashes and order, and nothing of what an entry means; payloads are opaque.
//!
//! Its promises, and where each is kept:
//!
//! - An entry is acknowledged only when it is on stable storage: `writer`.
//! - Nothing acknowledged is ever cut, changed or "repaired": `recovery`.
//! - Whoever has the format document can check order, hashes and signatures without this
//!   program: `frame` and `chain` hold the rules, `verify` applies them and needs no secret.
//! - Damage never hides what lies behind it: `segment` and `walk`.
//!
//! Start with [`Store`] and [`ReadJournal`], the narrow interface everything above uses, then
//! `frame`. The bytes are specified in `docs/journal-format.md`.

mod chain;
pub mod disk;
mod entry_ids;
mod file_store;
mod flushed_note;
mod frame;
mod ids_file;
mod layout;
mod lock;
mod marks;
pub mod note;
mod open;
mod reader;
mod recovery;
mod sealing;
mod segment;
mod signer;
mod store;
#[cfg(test)]
mod tests;
pub mod tree;
pub mod verify;
mod walk;
mod writer;

pub use chain::{Head, SIGNATURE_DOMAIN, genesis};
pub use disk::{
    Beside, Concern, FolderLock, concerns, copy_journal, lock_folder, put_small_file_if_none,
    read_small_file, replace_small_file,
};
pub use file_store::{FileStore, SEGMENT_BYTES, WriteOptions};
#[cfg(test)]
pub(crate) use frame::encode as encode_frame;
pub use frame::{
    FORMAT_VERSION, FRAME_BYTES_MAX, Frame, FrameFault, HEADER_BYTES, Header, MAGIC,
    PAYLOAD_BYTES_MAX, SignedFrame, TRAILER_BYTES,
};
pub use layout::Layout;
pub use lock::Holder;
pub use marks::SegmentMarks;
pub use open::OpenError;
pub use reader::{FileReader, Refreshed};
pub use recovery::{CutTail, DamageFinding, FileFaults, RecoveryReport};
pub use sealing::{
    DataKey, DataKeys, Opening, Payload, SEAL_BYTES, SEALING_CLEAR, SEALING_DATA_KEY, Seal,
    SealFault, open_sealed, open_with, payload_of,
};
pub use segment::{SEGMENT_HEADER_BYTES, SegmentFault, SegmentHeader};
pub use signer::{Signer, SigningSeed, signature_holds as is_signed_by};
pub use store::{AppendError, Appended, Damage, NewEntry, ReadError, ReadJournal, Store};
pub use writer::APPEND_ENTRIES_MAX;

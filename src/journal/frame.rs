//! One entry as bytes. The only file that knows where a field of a frame lies; the same
//! table, for people, is in `docs/journal-format.md`.
//!
//! A frame is `header (192) | payload (0..=65536) | signature (64) | entry hash (32)`, all
//! integers little-endian. Bytes become a [`Frame`] only through [`Frame::check`], which
//! proves the hash; a [`Frame`] becomes a [`SignedFrame`] only by its author's signature.

use crate::journal::chain::{self, Head};
use crate::journal::signer::{Signer, signature_holds};
use crate::record::ids::{EntryHash, EntryId, PersonKey, Pseudonym, SealKeyId, Seq};
use crate::record::time::Timestamp;

/// The format this program writes, and the newest it reads.
pub const FORMAT_VERSION: u16 = 1;
/// Most bytes a payload may have.
pub const PAYLOAD_BYTES_MAX: usize = 64 * 1024;
/// Bytes of a frame before its payload.
pub const HEADER_BYTES: usize = at::HEADER_END;
/// Bytes of a frame after its payload: signature and entry hash.
pub const TRAILER_BYTES: usize = SIGNATURE_BYTES + EntryHash::LEN;
/// Most bytes a frame can have.
pub const FRAME_BYTES_MAX: usize = HEADER_BYTES + PAYLOAD_BYTES_MAX + TRAILER_BYTES;
/// Highest number an entry can have; arithmetic on numbers stays far from overflowing.
pub const SEQ_MAX: u64 = 1 << 62;
/// Highest number a segment may begin with for entries to be written into it: beyond, numbers
/// would soon be used up, and only a made-up file says that they are.
pub const SEQ_GIVEN_MAX: u64 = SEQ_MAX - (1 << 40);
/// How every frame begins.
pub const MAGIC: [u8; 4] = *b"hfen";

const SIGNATURE_BYTES: usize = 64;

/// Offsets in the header: each is the one before plus a size.
mod at {
    pub const MAGIC: usize = 0;
    pub const VERSION: usize = MAGIC + 4;
    pub const HEADER_LEN: usize = VERSION + 2;
    pub const PAYLOAD_LEN: usize = HEADER_LEN + 2;
    pub const KIND: usize = PAYLOAD_LEN + 4;
    pub const KIND_VERSION: usize = KIND + 2;
    pub const ENCODING: usize = KIND_VERSION + 1;
    pub const SEQ: usize = ENCODING + 1;
    pub const SYNCED_THROUGH: usize = SEQ + 8;
    pub const RECORDED_AT: usize = SYNCED_THROUGH + 8;
    pub const FOLLOWING: usize = RECORDED_AT + 8;
    pub const SEALING: usize = FOLLOWING + 2;
    pub const RESERVED: usize = SEALING + 1;
    pub const ID: usize = RESERVED + 5;
    pub const PREV: usize = ID + 16;
    pub const AUTHOR: usize = PREV + 32;
    pub const PATIENT: usize = AUTHOR + 32;
    pub const SEAL_KEY: usize = PATIENT + 16;
    pub const SEAL_NONCE: usize = SEAL_KEY + 16;
    pub const CHECK: usize = SEAL_NONCE + 24;
    pub const HEADER_END: usize = CHECK + 8;
}

const _: () = assert!(HEADER_BYTES == 192 && at::ID == 48 && TRAILER_BYTES == 96);

/// The fields of a frame's header, as read. Nothing is proved by having one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Header {
    /// Bytes of the payload.
    pub payload_bytes: u32,
    /// What kind of entry; only the record layer knows what the numbers mean.
    pub kind: u16,
    /// Version of the kind's fields.
    pub kind_version: u8,
    /// How the payload is encoded.
    pub encoding: u8,
    /// The entry's place.
    pub seq: Seq,
    /// Highest entry known to be on stable storage when this one was written.
    pub synced_through: Seq,
    /// When it was written, by the writer's clock.
    pub recorded_at: Timestamp,
    /// How many entries of the same append follow this one; they stand or fall together.
    pub following: u16,
    /// How the payload is sealed: 0 is "in clear", 1 with a data key (`sealing`).
    pub sealing: u8,
    /// Bytes 43 to 47; zero in format 1.
    pub reserved: [u8; 5],
    /// Made by the writer of the entry; appending it twice is one entry. Random, so that
    /// nobody can confirm a guessed entry by its hash (the signature alone prevents that too).
    pub id: EntryId,
    /// Hash of the entry before.
    pub prev: EntryHash,
    /// Whose signature it carries.
    pub author: PersonKey,
    /// The patient it is about, or zero.
    pub patient: Pseudonym,
    /// Which key sealed the payload; zero in clear.
    pub seal_key: SealKeyId,
    /// The sealing's nonce; zero in clear.
    pub seal_nonce: [u8; 24],
}

/// Why bytes are not an intact frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FrameFault {
    /// Another beginning than a frame's.
    #[error("no entry begins here")]
    Magic,
    /// A format this program does not read.
    #[error("the entry is in format {found}; this program reads format {FORMAT_VERSION}")]
    Version {
        /// The format it says.
        found: u16,
    },
    /// Another header length than format 1 has.
    #[error("the header says it is {found} bytes long, not {HEADER_BYTES}")]
    HeaderLength {
        /// The length it says.
        found: u16,
    },
    /// The header's check value does not fit.
    #[error("the header was altered")]
    HeaderCheck,
    /// Longer than any entry may be.
    #[error("the payload says it is {found} bytes long; {PAYLOAD_BYTES_MAX} is the most")]
    PayloadLength {
        /// The length it says.
        found: u32,
    },
    /// A number no entry can have.
    #[error("the entry says it is number {found}")]
    Number {
        /// The number it says.
        found: u64,
    },
    /// A time no entry can have.
    #[error(
        "the entry says it was recorded at {found} microseconds from 1970, outside 1900 to 2199"
    )]
    RecordedAt {
        /// The time it says, in microseconds.
        found: i64,
    },
    /// The file ends inside the frame.
    #[error("the file ends {missing} bytes before the entry does")]
    Incomplete {
        /// Bytes that are not there.
        missing: usize,
    },
    /// The stored entry hash is not the hash of the bytes.
    #[error("the entry was altered: its hash is {actual}, it says {stored}")]
    Hash {
        /// The hash it carries.
        stored: EntryHash,
        /// The hash of its bytes.
        actual: EntryHash,
    },
}

impl Header {
    /// Reads the header at the start of `bytes`. Checks what makes it safe to skip the frame
    /// by its length; does not look at payload, signature or hash.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn parse(bytes: &[u8]) -> Result<Header, FrameFault> {
        if bytes.len() < MAGIC.len() || field::<4>(bytes, at::MAGIC) != MAGIC {
            return Err(FrameFault::Magic);
        }
        if bytes.len() < HEADER_BYTES {
            return Err(FrameFault::Incomplete {
                missing: HEADER_BYTES - bytes.len(),
            });
        }
        Header::check_shape(bytes)?;
        let header = Header::fields(bytes);
        if header.payload_bytes as usize > PAYLOAD_BYTES_MAX {
            return Err(FrameFault::PayloadLength {
                found: header.payload_bytes,
            });
        }
        if !(1..=SEQ_MAX).contains(&header.seq.0) {
            return Err(FrameFault::Number {
                found: header.seq.0,
            });
        }
        Ok(header)
    }

    /// What a header whose check value does not fit says now; for a report, never to go by.
    /// `None` if there are not enough bytes.
    pub(super) fn claimed(bytes: &[u8]) -> Option<Header> {
        (bytes.len() >= HEADER_BYTES).then(|| Header::fields(bytes))
    }

    fn check_shape(bytes: &[u8]) -> Result<(), FrameFault> {
        let found = u16::from_le_bytes(field(bytes, at::VERSION));
        if found != FORMAT_VERSION {
            return Err(FrameFault::Version { found });
        }
        let found = u16::from_le_bytes(field(bytes, at::HEADER_LEN));
        if usize::from(found) != HEADER_BYTES {
            return Err(FrameFault::HeaderLength { found });
        }
        if field(bytes, at::CHECK) != chain::header_check(&bytes[..at::CHECK]) {
            return Err(FrameFault::HeaderCheck);
        }
        Ok(())
    }

    /// The fields as they lie; `bytes` holds at least a header.
    fn fields(bytes: &[u8]) -> Header {
        Header {
            payload_bytes: u32::from_le_bytes(field(bytes, at::PAYLOAD_LEN)),
            kind: u16::from_le_bytes(field(bytes, at::KIND)),
            kind_version: bytes[at::KIND_VERSION],
            encoding: bytes[at::ENCODING],
            seq: Seq(u64::from_le_bytes(field(bytes, at::SEQ))),
            synced_through: Seq(u64::from_le_bytes(field(bytes, at::SYNCED_THROUGH))),
            recorded_at: Timestamp(i64::from_le_bytes(field(bytes, at::RECORDED_AT))),
            following: u16::from_le_bytes(field(bytes, at::FOLLOWING)),
            sealing: bytes[at::SEALING],
            reserved: field(bytes, at::RESERVED),
            id: EntryId(field(bytes, at::ID)),
            prev: EntryHash(field(bytes, at::PREV)),
            author: PersonKey(field(bytes, at::AUTHOR)),
            patient: Pseudonym(field(bytes, at::PATIENT)),
            seal_key: SealKeyId(field(bytes, at::SEAL_KEY)),
            seal_nonce: field(bytes, at::SEAL_NONCE),
        }
    }

    /// Length of the whole frame in bytes; at most [`FRAME_BYTES_MAX`] after [`Header::parse`].
    #[must_use]
    pub fn frame_bytes(&self) -> usize {
        HEADER_BYTES + self.payload_bytes as usize + TRAILER_BYTES
    }

    /// Writes the header with its check value.
    fn write(&self, out: &mut Vec<u8>) {
        let start = out.len();
        self.write_fields(out);
        let check = chain::header_check(&out[start..]);
        out.extend_from_slice(&check);
    }

    /// The header without its check value: what a sealed payload is bound to.
    pub(super) fn bound(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(HEADER_BYTES);
        self.write_fields(&mut bytes);
        bytes
    }

    fn write_fields(&self, out: &mut Vec<u8>) {
        out.extend_from_slice(&MAGIC);
        out.extend_from_slice(&FORMAT_VERSION.to_le_bytes());
        out.extend_from_slice(&(HEADER_BYTES as u16).to_le_bytes());
        out.extend_from_slice(&self.payload_bytes.to_le_bytes());
        out.extend_from_slice(&self.kind.to_le_bytes());
        out.extend_from_slice(&[self.kind_version, self.encoding]);
        out.extend_from_slice(&self.seq.0.to_le_bytes());
        out.extend_from_slice(&self.synced_through.0.to_le_bytes());
        out.extend_from_slice(&self.recorded_at.0.to_le_bytes());
        out.extend_from_slice(&self.following.to_le_bytes());
        out.push(self.sealing);
        out.extend_from_slice(&self.reserved);
        out.extend_from_slice(&self.id.0);
        out.extend_from_slice(&self.prev.0);
        out.extend_from_slice(&self.author.0);
        out.extend_from_slice(&self.patient.0);
        out.extend_from_slice(&self.seal_key.0);
        out.extend_from_slice(&self.seal_nonce);
    }
}

/// Appends one frame to `out` and returns its entry hash. `header.author` must be the
/// signer's key and `header.payload_bytes` the payload's length.
pub(crate) fn encode(
    header: &Header,
    payload: &[u8],
    signer: &dyn Signer,
    out: &mut Vec<u8>,
) -> EntryHash {
    debug_assert_eq!(header.payload_bytes as usize, payload.len());
    let start = out.len();
    header.write(out);
    out.extend_from_slice(payload);
    let content = chain::content_hash(&out[start..]);
    out.extend_from_slice(&signer.sign(&chain::signing_message(&content)));
    let hash = chain::entry_hash(&out[start..]);
    out.extend_from_slice(&hash.0);
    hash
}

/// One entry whose bytes fit its hash. Whether it follows the entry before it is
/// [`Frame::follows`]; whether its author signed it is [`Frame::check_signature`].
#[derive(Clone, PartialEq, Eq)]
pub struct Frame {
    header: Header,
    bytes: Vec<u8>,
}

impl std::fmt::Debug for Frame {
    /// Without the payload: that is about a patient.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Frame")
            .field("header", &self.header)
            .finish_non_exhaustive()
    }
}

impl Frame {
    /// Reads and proves the frame at the start of `bytes`; more may follow it.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn check(bytes: &[u8]) -> Result<Frame, FrameFault> {
        let header = Header::parse(bytes)?;
        let length = header.frame_bytes();
        let Some(bytes) = bytes.get(..length) else {
            return Err(FrameFault::Incomplete {
                missing: length - bytes.len(),
            });
        };
        let body = length - EntryHash::LEN;
        let stored = EntryHash(field(bytes, body));
        let actual = chain::entry_hash(&bytes[..body]);
        if stored != actual {
            return Err(FrameFault::Hash { stored, actual });
        }
        if !header.recorded_at.is_storable() {
            let found = header.recorded_at.0;
            return Err(FrameFault::RecordedAt { found });
        }
        Ok(Frame {
            header,
            bytes: bytes.to_vec(),
        })
    }

    /// The header's fields.
    #[must_use]
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// Its place in the journal.
    #[must_use]
    pub fn seq(&self) -> Seq {
        self.header.seq
    }

    /// Its entry hash.
    #[must_use]
    pub fn hash(&self) -> EntryHash {
        EntryHash(field(&self.bytes, self.bytes.len() - EntryHash::LEN))
    }

    /// Its number and hash together.
    #[must_use]
    pub fn head(&self) -> Head {
        Head {
            seq: self.seq(),
            hash: self.hash(),
        }
    }

    /// The payload as it is stored: sealed, if the header says so (`sealing::payload_of` opens it).
    #[must_use]
    pub fn payload(&self) -> &[u8] {
        &self.bytes[HEADER_BYTES..self.bytes.len() - TRAILER_BYTES]
    }

    /// The whole frame as it lies in the segment.
    #[must_use]
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Whether it is the entry after `head`.
    #[must_use]
    pub fn follows(&self, head: &Head) -> bool {
        self.header.seq == head.seq.next() && self.header.prev == head.hash
    }

    /// Whether the author's signature holds.
    #[must_use]
    pub fn signature_holds(&self) -> bool {
        let signed = self.bytes.len() - TRAILER_BYTES;
        let message = chain::signing_message(&chain::content_hash(&self.bytes[..signed]));
        let signature = field(&self.bytes, signed);
        signature_holds(self.header.author, &message, &signature)
    }

    /// The frame as one whose signature holds; the frame itself back if it does not.
    ///
    /// # Errors
    /// This frame, when its author did not sign it.
    pub fn check_signature(self) -> Result<SignedFrame, Box<Frame>> {
        if self.signature_holds() {
            Ok(SignedFrame(self))
        } else {
            Err(Box::new(self))
        }
    }
}

/// One entry whose hash and author's signature were both checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedFrame(Frame);

impl std::ops::Deref for SignedFrame {
    type Target = Frame;
    fn deref(&self) -> &Frame {
        &self.0
    }
}

/// `N` bytes at a fixed place. Callers have checked that they are there.
fn field<const N: usize>(bytes: &[u8], at: usize) -> [u8; N] {
    let mut out = [0; N];
    out.copy_from_slice(&bytes[at..at + N]);
    out
}

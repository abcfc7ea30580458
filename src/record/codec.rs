//! The one place where payloads become bytes and bytes become payloads.
//!
//! bincode 2.0.1 in its legacy layout (fixed-width little-endian, one encoding a value),
//! pinned; why, and what we would move to, is `docs/decisions/0002-bincode-pinned.md`.
//! `docs/journal-format.md` spells the layout out byte by byte.

use bincode::config::{Configuration, Fixint, Limit, LittleEndian};
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::envelope::Envelope;
use super::kind::{Body, Kind};

/// Payload encoding written now: envelope, then the fields, both bincode legacy.
pub const ENCODING: u8 = 1;
/// Longest payload; longer claims inside one are refused before anything is allocated.
pub const PAYLOAD_BYTES_MAX: usize = 65_536;

type Layout = Configuration<LittleEndian, Fixint, Limit<PAYLOAD_BYTES_MAX>>;

const LAYOUT: Layout = bincode::config::legacy().with_limit::<PAYLOAD_BYTES_MAX>();

/// A payload that cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum EncodeError {
    /// Too much was written in one entry.
    #[error("the entry takes {bytes} bytes; at most {PAYLOAD_BYTES_MAX} fit")]
    TooLong {
        /// What it takes.
        bytes: usize,
    },
    /// bincode refused it.
    #[error("the entry could not be encoded")]
    Encoding(#[source] bincode::error::EncodeError),
    /// A mistake of ours, found before it was written for ever.
    #[error("the entry would not read back as it was written, so it was not written")]
    NotReadBack,
}

/// A payload that cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum DecodeError {
    /// Written by a newer program.
    #[error("payload encoding {0} is not known to this version of the program")]
    UnknownEncoding(u8),
    /// Written by a newer program.
    #[error("entry kind {0} is not known to this version of the program")]
    UnknownKind(u16),
    /// Written by a newer program.
    #[error("version {version} of \"{kind}\" is not known to this version of the program")]
    UnknownVersion {
        /// Kind, by name.
        kind: &'static str,
        /// Version found.
        version: u8,
    },
    /// The bytes do not say what their kind demands.
    #[error("the payload's bytes do not fit its kind")]
    Malformed(#[source] bincode::error::DecodeError),
    /// More bytes than the fields take.
    #[error("{0} bytes are left over after the last field")]
    TrailingBytes(usize),
}

/// A payload: envelope and fields. It is read back before it is handed out: what a person wrote
/// is stored once and for ever, and reading costs less than a microsecond.
///
/// # Errors
/// [`EncodeError::TooLong`] beyond [`PAYLOAD_BYTES_MAX`].
pub fn encode(envelope: &Envelope, body: &Body) -> Result<Vec<u8>, EncodeError> {
    let mut payload = Vec::with_capacity(256);
    put(envelope, &mut payload)?;
    body.encode(&mut payload)?;
    if payload.len() > PAYLOAD_BYTES_MAX {
        return Err(EncodeError::TooLong {
            bytes: payload.len(),
        });
    }
    let kind = body.kind();
    match decode(kind.code(), kind.version(), ENCODING, &payload) {
        Ok((read_envelope, read_body)) if read_envelope == *envelope && read_body == *body => {
            Ok(payload)
        }
        _ => Err(EncodeError::NotReadBack),
    }
}

/// Envelope and fields of a payload; older kind versions come back as the newest.
///
/// # Errors
/// Bytes of a newer program, or bytes that are no payload.
pub fn decode(
    kind: u16,
    version: u8,
    encoding: u8,
    payload: &[u8],
) -> Result<(Envelope, Body), DecodeError> {
    if encoding != ENCODING {
        return Err(DecodeError::UnknownEncoding(encoding));
    }
    let kind = Kind::from_code(kind).ok_or(DecodeError::UnknownKind(kind))?;
    let (envelope, used) = bincode::serde::decode_from_slice::<Envelope, _>(payload, LAYOUT)
        .map_err(DecodeError::Malformed)?;
    let body = Body::decode(kind, version, &payload[used..])?;
    Ok((envelope, body))
}

/// Appends one value.
pub(super) fn put<T: Serialize>(value: &T, payload: &mut Vec<u8>) -> Result<(), EncodeError> {
    let bytes = bincode::serde::encode_to_vec(value, LAYOUT).map_err(EncodeError::Encoding)?;
    payload.extend_from_slice(&bytes);
    Ok(())
}

/// Reads one value that must use up all bytes.
pub(super) fn take_all<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, DecodeError> {
    let (value, used) =
        bincode::serde::decode_from_slice(bytes, LAYOUT).map_err(DecodeError::Malformed)?;
    if used == bytes.len() {
        Ok(value)
    } else {
        Err(DecodeError::TrailingBytes(bytes.len() - used))
    }
}

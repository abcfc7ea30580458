//! Identifiers. Each is its own type, so that a patient can never be passed where a
//! person is meant. Text forms are parsed and written only here.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// Why a text is not an identifier.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{given}\" is not {expected}")]
pub struct IdError {
    /// What was given.
    pub given: String,
    /// What would have been accepted.
    pub expected: &'static str,
}

/// Place of an entry in the journal: 1 for the first, one more for each next entry,
/// no gaps. People see it as `#123`.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Seq(pub u64);

impl Seq {
    /// "Before the first entry": the head of an empty journal.
    pub const NONE: Seq = Seq(0);

    /// The place after this one. After the last number there is no other: it is its own next, and
    /// no entry can have it.
    #[must_use]
    pub const fn next(self) -> Seq {
        Seq(self.0.saturating_add(1))
    }
}

impl fmt::Display for Seq {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{}", self.0)
    }
}

impl FromStr for Seq {
    type Err = IdError;
    /// Accepts `#123` and `123`.
    fn from_str(text: &str) -> Result<Self, IdError> {
        let digits = text.trim().strip_prefix('#').unwrap_or(text.trim());
        let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
        match digits.parse::<u64>() {
            Ok(number) if plain && number > 0 => Ok(Seq(number)),
            _ => Err(IdError {
                given: text.to_owned(),
                expected: "an entry number such as #123",
            }),
        }
    }
}

/// Makes a fixed-size byte identifier whose text form is lower-case hexadecimal.
macro_rules! byte_id {
    ($(#[$doc:meta])* $name:ident, $bytes:literal, $expected:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub [u8; $bytes]);

        // Hexadecimal for people (JSON), the bare bytes in a payload.
        impl Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
                if out.is_human_readable() {
                    out.collect_str(self)
                } else {
                    self.0.serialize(out)
                }
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
                if input.is_human_readable() {
                    let text = String::deserialize(input)?;
                    text.parse().map_err(serde::de::Error::custom)
                } else {
                    <[u8; $bytes]>::deserialize(input).map($name)
                }
            }
        }

        impl $name {
            /// How many bytes it has.
            pub const LEN: usize = $bytes;
            /// All bytes zero: "none" where a frame has nothing to name.
            pub const ZERO: $name = $name([0; $bytes]);

            /// The first eight hexadecimal digits, for showing beside other facts.
            #[must_use]
            pub fn short(&self) -> String {
                to_hex(&self.0[..4])
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&to_hex(&self.0))
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!(stringify!($name), "({})"), self)
            }
        }

        impl FromStr for $name {
            type Err = IdError;
            fn from_str(text: &str) -> Result<Self, IdError> {
                let refuse = || IdError { given: text.to_owned(), expected: $expected };
                let bytes = from_hex(text.trim()).ok_or_else(refuse)?;
                <[u8; $bytes]>::try_from(bytes).map($name).map_err(|_| refuse())
            }
        }
    };
}

byte_id!(
    /// BLAKE3 hash over a whole entry; the next entry carries it.
    EntryHash, 32, "64 hexadecimal digits"
);
byte_id!(
    /// Chosen by the writer before the entry is sent. Appending the same id twice is one entry.
    EntryId, 16, "32 hexadecimal digits"
);
byte_id!(
    /// Which journal this is; random, made once by `init`.
    JournalId, 16, "32 hexadecimal digits"
);
byte_id!(
    /// Stands for one patient in frame headers, where no name may appear in clear.
    /// All zero means that the entry is about no patient.
    Pseudonym, 16, "32 hexadecimal digits"
);
byte_id!(
    /// A person's Ed25519 public key: what an entry's signature is checked against.
    PersonKey, 32, "64 hexadecimal digits"
);
byte_id!(
    /// BLAKE3 digest of something people look at (a handover sheet), so that it can be named.
    Digest, 32, "64 hexadecimal digits"
);
byte_id!(
    /// SHA-256 hash of a part of the Merkle tree over the entries: a leaf, a node or the root.
    TreeHash, 32, "64 hexadecimal digits"
);

byte_id!(
    /// Names a data key in the frames it sealed, and fits no other key.
    SealKeyId, 16, "32 hexadecimal digits"
);
byte_id!(
    /// A person's X25519 public key: what the keys to the records are wrapped for.
    ReadingKey, 32, "64 hexadecimal digits"
);

/// Lower-case hexadecimal.
#[must_use]
pub fn to_hex(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let mut text = String::with_capacity(bytes.len() * 2);
    for byte in bytes {
        text.push(char::from(DIGITS[usize::from(byte >> 4)]));
        text.push(char::from(DIGITS[usize::from(byte & 15)]));
    }
    text
}

/// Bytes of a hexadecimal text; `None` if it is not one.
#[must_use]
pub fn from_hex(text: &str) -> Option<Vec<u8>> {
    let digit = |b: u8| {
        char::from(b)
            .to_digit(16)
            .and_then(|d| u8::try_from(d).ok())
    };
    let bytes = text.as_bytes();
    if !bytes.len().is_multiple_of(2) {
        return None;
    }
    bytes
        .chunks_exact(2)
        .map(|pair| Some(digit(pair[0])? << 4 | digit(pair[1])?))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entry_numbers_read_with_and_without_the_mark() {
        assert_eq!("#12".parse(), Ok(Seq(12)));
        assert_eq!(" 12 ".parse(), Ok(Seq(12)));
        for wrong in ["", "#", "0", "-1", "+1", "12a", "#1 2"] {
            assert!(wrong.parse::<Seq>().is_err(), "{wrong:?} was accepted");
        }
    }

    #[test]
    fn byte_ids_round_trip_and_refuse_other_lengths() {
        let id = EntryId([0xab; 16]);
        assert_eq!(id.to_string().parse(), Ok(id));
        assert!("abab".parse::<EntryId>().is_err());
        assert!("zz".repeat(16).parse::<EntryId>().is_err());
        assert!("é".repeat(16).parse::<EntryId>().is_err());
    }
}

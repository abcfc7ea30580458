//! The ward's own signing key, which signs checkpoints.
//!
//! It lies unsealed, readable for the writing account only: it must sign while nobody types a PIN. So
//! whoever has the folder has the key. What a checkpoint is worth comes from copies that are kept
//! elsewhere and from witnesses who sign beside it (`docs/trust.md`).

use std::path::PathBuf;

use serde::{Deserialize, Serialize};
use zeroize::{Zeroize, Zeroizing};

use crate::journal::{Layout, Signer, SigningSeed, read_small_file, replace_small_file};
use crate::record::ids::{PersonKey, from_hex, to_hex};

const FORMAT: u32 = 1;
const BYTES_MAX: usize = 1024;

/// Why the ward's key cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum WardKeyError {
    /// No key was announced.
    #[error("this ward has no signing key yet; the keeper makes one: `handfast checkpoint key`")]
    None,
    /// The file is not there.
    #[error(
        "the ward's signing key is not in {}; put it back from a backup, or the keeper makes a new \
         one: `handfast checkpoint key --reason …`",
        path.display()
    )]
    Missing {
        /// Where it should be.
        path: PathBuf,
    },
    /// The file is not a key, or another than was announced.
    #[error(
        "{} holds no key that this journal announces as the ward's ({what}); put the right one back \
         from a backup, or the keeper makes a new one: `handfast checkpoint key --reason …`",
        path.display()
    )]
    NotTheOne {
        /// Which file.
        path: PathBuf,
        /// What is wrong.
        what: &'static str,
    },
    /// The file or the folder cannot be read or written.
    #[error("{} could not be read or written", path.display())]
    Io {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: std::io::Error,
    },
}

#[derive(Serialize, Deserialize)]
struct WardKeyFile {
    format: u32,
    public: String,
    seed: String,
}

impl Drop for WardKeyFile {
    fn drop(&mut self) {
        self.seed.zeroize();
    }
}

/// Puts the key in its place.
pub(super) fn write(layout: &Layout, seed: &Zeroizing<[u8; 32]>) -> Result<(), WardKeyError> {
    let file = WardKeyFile {
        format: FORMAT,
        public: SigningSeed::from_bytes(seed).public().to_string(),
        seed: to_hex(&seed[..]),
    };
    let text = Zeroizing::new(serde_json::to_vec_pretty(&file).unwrap_or_default());
    let path = layout.ward_key();
    replace_small_file(&path, &text).map_err(|cause| WardKeyError::Io { path, cause })
}

/// The key, if it is the one that the journal announces.
pub(super) fn read(
    layout: &Layout,
    announced: Option<PersonKey>,
) -> Result<SigningSeed, WardKeyError> {
    let announced = announced.ok_or(WardKeyError::None)?;
    let path = layout.ward_key();
    let bytes = match read_small_file(&path, BYTES_MAX) {
        Ok(bytes) => Zeroizing::new(bytes),
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => {
            return Err(WardKeyError::Missing { path });
        }
        Err(cause) => return Err(WardKeyError::Io { path, cause }),
    };
    let wrong = |what| WardKeyError::NotTheOne {
        path: path.clone(),
        what,
    };
    let file: WardKeyFile =
        serde_json::from_slice(&bytes).map_err(|_| wrong("it cannot be read"))?;
    if file.format != FORMAT {
        return Err(wrong("it is in another format"));
    }
    let seed = from_hex(&file.seed).map(Zeroizing::new);
    let seed = seed.and_then(|seed| <[u8; 32]>::try_from(&seed[..]).ok());
    let seed = Zeroizing::new(seed.ok_or_else(|| wrong("its seed has a wrong length"))?);
    let signer = SigningSeed::from_bytes(&seed);
    if signer.public() != announced {
        return Err(wrong("it is another key"));
    }
    Ok(signer)
}

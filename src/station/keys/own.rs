//! A key that belongs to whoever checks a journal and to no ward: a witness, an auditor, a coroner's
//! officer. The same file as a member of staff's (`docs/key-file.md`), kept by themselves. Nothing
//! counts wrong tries, so it wants a passphrase.

use std::path::Path;
use std::sync::Arc;

use zeroize::Zeroizing;

use super::file::{self, KeyFile};
use super::{Cost, UnlockError, check_secret};
use crate::journal::{Signer, SigningSeed};
use crate::record::person::Handle;

/// An unlocked key of one's own.
pub struct OwnKey {
    /// The name it was made for.
    pub name: Handle,
    /// Signs with it.
    pub signer: Arc<dyn Signer>,
}

impl OwnKey {
    /// Makes a new one and stores it.
    ///
    /// # Errors
    /// When the secret is too short, or the file cannot be written. A file that is there already stays.
    pub fn make(path: &Path, name: &Handle, secret: &str) -> Result<OwnKey, UnlockError> {
        check_secret(secret)?;
        let mut seed = Zeroizing::new([0u8; 32]);
        file::fill(&mut *seed)?;
        let sealed = KeyFile::seal(name, &seed, secret, Cost::of_journal(false), None)?;
        file::write_json(path, &sealed)?;
        Ok(OwnKey::of(name, &seed))
    }

    /// Opens one.
    ///
    /// # Errors
    /// [`UnlockError::NotOpened`] if the secret is wrong; when the file cannot be read.
    pub fn open(path: &Path, secret: &str) -> Result<OwnKey, UnlockError> {
        let nobody = Handle("this-file".to_owned());
        let sealed = KeyFile::read_any(path, &nobody).map_err(|error| match error {
            UnlockError::NoKey(_) => UnlockError::Io {
                path: path.to_path_buf(),
                cause: std::io::Error::from(std::io::ErrorKind::NotFound),
            },
            other => other,
        })?;
        let damaged = |what| UnlockError::Damaged {
            path: path.to_path_buf(),
            what,
        };
        match sealed.open(secret, None, damaged)? {
            Some(seed) => Ok(OwnKey::of(sealed.handle(), &seed)),
            None => Err(UnlockError::NotOpened {
                path: path.to_path_buf(),
            }),
        }
    }

    fn of(name: &Handle, seed: &Zeroizing<[u8; 32]>) -> OwnKey {
        OwnKey {
            name: name.clone(),
            signer: Arc::new(SigningSeed::from_bytes(seed)),
        }
    }
}

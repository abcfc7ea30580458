//! A half of a key that stays on the computer. A short PIN is tried out in hours by whoever copies the
//! folder `keys/`; with 32 random bytes that are not in it, there is nothing to try (`docs/key-file.md`).

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use zeroize::Zeroizing;

use super::UnlockError;
use super::file::{self, KEY_FILE_BYTES_MAX};
use crate::journal::disk::{Disk, RealDisk};
use crate::journal::{put_small_file_if_none, read_small_file};
use crate::record::ids::{from_hex, to_hex};

const FORMAT: u32 = 1;
/// The folder the half lies in, where the account's own folder is not to be used.
const DIR_VAR: &str = "HANDFAST_DEVICE_DIR";

/// The computer's half of keys that a PIN opens.
pub(super) struct DeviceHalf {
    bytes: Zeroizing<[u8; 32]>,
}

#[derive(Serialize, Deserialize)]
struct HalfFile {
    format: u32,
    half: String,
}

impl DeviceHalf {
    /// This computer's, made if there is none. `journal` is the folder it must not lie in.
    pub fn of_this_computer(journal: &Path) -> Result<DeviceHalf, UnlockError> {
        let path = path()?;
        refuse_beside_keys(&path, journal)?;
        if let Some(half) = DeviceHalf::read(&path)? {
            return Ok(half);
        }
        let mut bytes = Zeroizing::new([0u8; 32]);
        file::fill(&mut *bytes)?;
        let written = HalfFile {
            format: FORMAT,
            half: to_hex(&*bytes),
        };
        put_if_none(&path, &written)?;
        // Two programs that make one at the same moment: the one that lies there counts.
        DeviceHalf::read(&path)?.ok_or(UnlockError::Random)
    }

    /// This computer's, if it has one.
    pub fn existing() -> Result<Option<DeviceHalf>, UnlockError> {
        path().map_or(Ok(None), |path| DeviceHalf::read(&path))
    }

    fn read(path: &Path) -> Result<Option<DeviceHalf>, UnlockError> {
        let bytes = match read_small_file(path, KEY_FILE_BYTES_MAX) {
            Ok(bytes) => Zeroizing::new(bytes),
            Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(cause) => {
                let path = path.to_path_buf();
                return Err(UnlockError::Io { path, cause });
            }
        };
        let damaged = || UnlockError::Damaged {
            path: path.to_path_buf(),
            what: "it is not this computer's half of a key",
        };
        let half: HalfFile = serde_json::from_slice(&bytes).map_err(|_| damaged())?;
        let half = Zeroizing::new(from_hex(&half.half).ok_or_else(damaged)?);
        let bytes = <[u8; 32]>::try_from(half.as_slice()).map_err(|_| damaged())?;
        Ok(Some(DeviceHalf {
            bytes: Zeroizing::new(bytes),
        }))
    }

    /// What goes into Argon2id as its secret value (RFC 9106, section 3.1).
    pub fn bytes(&self) -> &[u8] {
        &*self.bytes
    }

    /// Which half it is, without telling anything of it.
    pub fn id(&self) -> String {
        let id = blake3::derive_key("handfast 2026-11-26 device half id", &*self.bytes);
        to_hex(&id[..16])
    }
}

/// Where this computer's half lies: in the account's own data, never in a journal.
///
/// # Errors
/// [`UnlockError::NoDevice`] where the account has no folder of its own.
pub fn path() -> Result<PathBuf, UnlockError> {
    let var = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
    let dir = var(DIR_VAR).map(PathBuf::from).or_else(|| {
        let data = var("XDG_DATA_HOME").map(PathBuf::from);
        let home = || var("HOME").map(|home| PathBuf::from(home).join(".local/share"));
        data.or_else(home).map(|data| data.join("handfast"))
    });
    dir.map(|dir| dir.join("device.half"))
        .ok_or(UnlockError::NoDevice)
}

/// Puts a half where there is none yet, whole or not at all: never in the place of one that keys are sealed with.
fn put_if_none(path: &Path, half: &HalfFile) -> Result<(), UnlockError> {
    let text = serde_json::to_vec_pretty(half).unwrap_or_default();
    put_small_file_if_none(path, &text).map_err(|cause| UnlockError::Io {
        path: path.to_path_buf(),
        cause,
    })
}

/// A copy of the journal would hold both halves.
fn refuse_beside_keys(path: &Path, journal: &Path) -> Result<(), UnlockError> {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    let dir = path.parent().map(whole).unwrap_or_default();
    RealDisk.create_dir(&dir).map_err(|cause| UnlockError::Io {
        path: dir.clone(),
        cause,
    })?;
    let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| whole(path));
    if real(&dir).starts_with(real(journal)) {
        return Err(UnlockError::DeviceInJournal(dir));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A key is sealed with whichever was there first, so that one must stay.
    #[test]
    fn of_two_halves_made_at_the_same_moment_the_first_stays() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("device.half");
        let half = |byte: u8| HalfFile {
            format: FORMAT,
            half: to_hex(&[byte; 32]),
        };
        put_if_none(&path, &half(1)).unwrap();
        let first = DeviceHalf::read(&path).unwrap().unwrap().id();
        put_if_none(&path, &half(2)).unwrap();
        assert_eq!(DeviceHalf::read(&path).unwrap().unwrap().id(), first);
        assert_eq!(dir.path().read_dir().unwrap().count(), 1);
    }
}

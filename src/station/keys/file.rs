//! The key file: what is in it, where it lies, and which of two is in use. `docs/key-file.md`
//! says the same for others.

use std::path::{Path, PathBuf};

use argon2::{Algorithm, Argon2, Params, Version};
use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{XChaCha20Poly1305, XNonce};
use serde::{Deserialize, Serialize};
use zeroize::Zeroizing;

use super::device::DeviceHalf;
use super::tries::Tries;
use super::{Cost, UnlockError};
use crate::journal::disk::{Disk, RealDisk};
use crate::journal::{Layout, Signer, SigningSeed, read_small_file, replace_small_file};
use crate::record::ids::{PersonKey, from_hex, to_hex};
use crate::record::person::Handle;

/// A key file that its secret opens alone.
const FORMAT: u32 = 1;
/// One that needs the computer's half beside it.
const FORMAT_DEVICE: u32 = 2;
/// A key file is never larger; more is damage.
pub(super) const KEY_FILE_BYTES_MAX: usize = 4096;

/// A seed, sealed by a secret.
#[derive(Serialize, Deserialize)]
pub(super) struct KeyFile {
    format: u32,
    handle: Handle,
    pub public: String,
    cost: Cost,
    salt: String,
    nonce: String,
    sealed: String,
    /// Which computer's half it needs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub device: Option<String>,
}

impl KeyFile {
    /// Seals a seed with a fresh salt and nonce.
    pub fn seal(
        handle: &Handle,
        seed: &Zeroizing<[u8; 32]>,
        secret: &str,
        cost: Cost,
        half: Option<&DeviceHalf>,
    ) -> Result<KeyFile, UnlockError> {
        let public = SigningSeed::from_bytes(seed).public();
        let (mut salt, mut nonce) = ([0u8; 16], [0u8; 24]);
        fill(&mut salt)?;
        fill(&mut nonce)?;
        let key = stretch(secret, half, &salt, cost).ok_or(UnlockError::Memory)?;
        let device = half.map(DeviceHalf::id);
        let aad = associated(handle, public, device.as_deref());
        let sealed = XChaCha20Poly1305::new((&*key).into())
            .encrypt(
                &XNonce::from(nonce),
                Payload {
                    msg: &seed[..],
                    aad: &aad,
                },
            )
            .map_err(|_| UnlockError::Memory)?;
        Ok(KeyFile {
            format: if device.is_some() {
                FORMAT_DEVICE
            } else {
                FORMAT
            },
            handle: handle.clone(),
            public: public.to_string(),
            cost,
            salt: to_hex(&salt),
            nonce: to_hex(&nonce),
            sealed: to_hex(&sealed),
            device,
        })
    }

    /// The seed, or `None` if the secret is wrong.
    pub fn open(
        &self,
        secret: &str,
        half: Option<&DeviceHalf>,
        damaged: impl Fn(&'static str) -> UnlockError,
    ) -> Result<Option<Zeroizing<[u8; 32]>>, UnlockError> {
        let field = |text: &str, what| from_hex(text).ok_or_else(|| damaged(what));
        let salt = field(&self.salt, "its salt is not hexadecimal")?;
        let nonce = field(&self.nonce, "its nonce is not hexadecimal")?;
        let nonce: [u8; 24] = nonce
            .try_into()
            .map_err(|_| damaged("its nonce has a wrong length"))?;
        let sealed = field(&self.sealed, "its sealed part is not hexadecimal")?;
        let public: PersonKey = self
            .public
            .parse()
            .map_err(|_| damaged("its public key is none"))?;
        let Cost { memory_kib, passes } = Cost::MOST;
        if self.cost.memory_kib > memory_kib || self.cost.passes > passes {
            return Err(damaged("it asks for more work than is ever needed"));
        }
        let key = stretch(secret, half, &salt, self.cost).ok_or(UnlockError::Memory)?;
        let aad = associated(&self.handle, public, self.device.as_deref());
        let opened = XChaCha20Poly1305::new((&*key).into())
            .decrypt(
                &XNonce::from(nonce),
                Payload {
                    msg: &sealed,
                    aad: &aad,
                },
            )
            .map(Zeroizing::new);
        let seed = opened
            .ok()
            .and_then(|bytes| <[u8; 32]>::try_from(bytes.as_slice()).ok())
            .map(Zeroizing::new);
        match seed {
            Some(seed) if SigningSeed::from_bytes(&seed).public() != public => {
                Err(damaged("its public key is another's"))
            }
            seed => Ok(seed),
        }
    }

    /// Whether this is the key that the journal gives the person. A key from before keys were
    /// in the journal is taken on trust.
    fn is(&self, known: Option<PersonKey>) -> bool {
        known.is_none_or(|known| self.public == known.to_string())
    }

    /// Whose it says it is.
    pub fn handle(&self) -> &Handle {
        &self.handle
    }

    fn read(path: &Path, handle: &Handle) -> Result<KeyFile, UnlockError> {
        let file = KeyFile::read_any(path, handle)?;
        if file.handle != *handle {
            return Err(UnlockError::Damaged {
                path: path.to_path_buf(),
                what: "it belongs to somebody else",
            });
        }
        Ok(file)
    }

    /// Whosever it is; `asked` is named if it is not there.
    pub fn read_any(path: &Path, asked: &Handle) -> Result<KeyFile, UnlockError> {
        let bytes = match read_small_file(path, KEY_FILE_BYTES_MAX) {
            Ok(bytes) => bytes,
            Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => {
                return Err(UnlockError::NoKey(asked.clone()));
            }
            Err(cause) => {
                let path = path.to_path_buf();
                return Err(UnlockError::Io { path, cause });
            }
        };
        let damaged = |what| UnlockError::Damaged {
            path: path.to_path_buf(),
            what,
        };
        let file: KeyFile =
            serde_json::from_slice(&bytes).map_err(|_| damaged("it cannot be read"))?;
        let format = match &file.device {
            None => FORMAT,
            Some(_) => FORMAT_DEVICE,
        };
        if file.format != format {
            return Err(damaged("it is in another format"));
        }
        Ok(file)
    }
}

/// The file that holds the key the journal knows. A crash after a new key's entry and before
/// the new file took the old one's place leaves both: the journal says which one counts, and
/// what was left undone is done now, as far as the folder can be written.
pub(super) fn in_use(
    layout: &Layout,
    handle: &Handle,
    known: Option<PersonKey>,
) -> Result<(PathBuf, KeyFile), UnlockError> {
    let (path, beside) = (path(layout, handle), path_beside(layout, handle));
    let placed = KeyFile::read(&path, handle);
    if let Ok(file) = placed
        && file.is(known)
    {
        return Ok((path, file));
    }
    if known.is_some()
        && let Ok(file) = KeyFile::read(&beside, handle)
        && file.is(known)
    {
        let moved = Tries::reset(layout, handle).is_ok() && put_in_use(layout, handle).is_ok();
        return Ok((if moved { path } else { beside }, file));
    }
    match KeyFile::read(&path, handle) {
        Ok(_) => Err(UnlockError::NotInUse(handle.clone())),
        Err(error) => Err(error),
    }
}

/// The new file takes the old one's place.
pub(super) fn put_in_use(layout: &Layout, handle: &Handle) -> std::io::Result<()> {
    RealDisk.rename(&path_beside(layout, handle), &path(layout, handle))?;
    RealDisk.sync_dir(&layout.keys_dir())
}

/// Where the key in use lies.
pub(super) fn path(layout: &Layout, handle: &Handle) -> PathBuf {
    layout.keys_dir().join(format!("{handle}.key"))
}

/// Where a key lies whose entry is not yet in the journal.
pub(super) fn path_beside(layout: &Layout, handle: &Handle) -> PathBuf {
    layout.keys_dir().join(format!("{handle}.key.new"))
}

pub(super) fn write_json<T: Serialize>(path: &Path, value: &T) -> Result<(), UnlockError> {
    let text = serde_json::to_vec_pretty(value).unwrap_or_default();
    replace_small_file(path, &text).map_err(|cause| UnlockError::Io {
        path: path.to_path_buf(),
        cause,
    })
}

pub(in crate::station) fn fill(bytes: &mut [u8]) -> Result<(), UnlockError> {
    getrandom::fill(bytes).map_err(|_| UnlockError::Random)
}

/// Argon2id (RFC 9106); the computer's half, where one is needed, is its secret value.
fn stretch(
    secret: &str,
    half: Option<&DeviceHalf>,
    salt: &[u8],
    cost: Cost,
) -> Option<Zeroizing<[u8; 32]>> {
    let params = Params::new(cost.memory_kib, cost.passes, 1, Some(32)).ok()?;
    let mut key = Zeroizing::new([0u8; 32]);
    let half = half.map_or(&[][..], DeviceHalf::bytes);
    Argon2::new_with_secret(half, Algorithm::Argon2id, Version::V0x13, params)
        .ok()?
        .hash_password_into(secret.as_bytes(), salt, &mut *key)
        .ok()?;
    Some(key)
}

fn associated(handle: &Handle, public: PersonKey, device: Option<&str>) -> Vec<u8> {
    match device {
        None => format!("handfast key file 1\n{handle}\n{public}"),
        Some(device) => format!("handfast key file 2\n{handle}\n{public}\n{device}"),
    }
    .into_bytes()
}

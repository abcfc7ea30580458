//! Each person's signing key, sealed by that person's passphrase or PIN.
//!
//! A key file is JSON under `keys/`: Argon2id turns the secret and a random salt into a key,
//! XChaCha20-Poly1305 seals the 32-byte Ed25519 seed with it, and handle and public key are
//! bound in as associated data. The cost parameters are stored with the salt. A short PIN
//! keeps out a passer-by at the desk, not somebody who copies the file: 10^6 six-digit PINs
//! at the default cost are about 30 core-hours (0.11 s a try, measured once on two shared cores).

use std::path::{Path, PathBuf};
use std::sync::Arc;

use argon2::{Algorithm, Argon2, Params, Version};
use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{XChaCha20Poly1305, XNonce};
use serde::{Deserialize, Serialize};
use zeroize::Zeroizing;

use crate::journal::{Layout, Signer, SigningSeed, read_small_file, replace_small_file};
use crate::record::ids::{PersonKey, from_hex, to_hex};
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp};

/// Version of the key-file format written now.
const FORMAT: u32 = 1;
/// Shortest secret that is accepted.
pub const SECRET_CHARS_MIN: usize = 6;
/// Wrong secrets in a row before each further try has to wait.
const FREE_TRIES: u32 = 3;
/// Wrong secrets in a row after which only the keeper can help.
pub const TRIES_MAX: u32 = 12;
/// A key file is never larger; more is damage.
const KEY_FILE_BYTES_MAX: usize = 4096;

/// How hard a secret is to try out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cost {
    /// Memory in KiB.
    pub memory_kib: u32,
    /// Passes over it.
    pub passes: u32,
}

impl Cost {
    /// About 0.1 s on the machine of `docs/performance.md`.
    pub const DESK: Cost = Cost {
        memory_kib: 64 * 1024,
        passes: 3,
    };
    /// For teaching journals, whose PINs are published anyway.
    pub const TEACHING: Cost = Cost {
        memory_kib: 8 * 1024,
        passes: 1,
    };
    /// The most a key file may ask for, so that a forged one cannot stall the desk.
    const MOST: Cost = Cost {
        memory_kib: 1024 * 1024,
        passes: 16,
    };
}

/// A person who has unlocked their key.
#[derive(Clone)]
pub struct Unlocked {
    /// Who.
    pub handle: Handle,
    /// Signs in their name.
    pub signer: Arc<dyn Signer>,
}

/// Why a key stayed locked.
#[derive(Debug, thiserror::Error)]
pub enum UnlockError {
    /// No key file.
    #[error("there is no key for {0} in this journal; ask the keeper to enrol them")]
    NoKey(Handle),
    /// Not the right secret.
    #[error("that is not the right PIN for {handle}; {left} tries are left before it locks")]
    Wrong {
        /// Whose key.
        handle: Handle,
        /// Tries left.
        left: u32,
    },
    /// Too many wrong secrets lately.
    #[error("too many wrong PINs for {handle}; try again in {}", wait.spoken())]
    Wait {
        /// Whose key.
        handle: Handle,
        /// How long still.
        wait: Span,
    },
    /// Too many wrong secrets altogether.
    #[error(
        "the key of {0} is locked after too many wrong PINs; ask the keeper to issue a new one"
    )]
    Locked(Handle),
    /// The key file is not what we wrote.
    #[error("the key file {} is damaged ({what}); ask the keeper to issue a new key", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        what: &'static str,
    },
    /// The system refused.
    #[error("{} could not be read or written", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: std::io::Error,
    },
    /// Key stretching failed for want of memory.
    #[error("there is not enough memory to unlock a key")]
    Memory,
    /// The operating system gave no random bytes.
    #[error("the operating system gave no random bytes; no key can be made")]
    Random,
    /// Too short to be a secret.
    #[error("a PIN or passphrase needs at least {SECRET_CHARS_MIN} characters")]
    TooShort,
}

#[derive(Serialize, Deserialize)]
struct KeyFile {
    format: u32,
    handle: Handle,
    public: String,
    cost: Cost,
    salt: String,
    nonce: String,
    sealed: String,
}

#[derive(Default, Serialize, Deserialize)]
struct Tries {
    failed: u32,
    last: i64,
}

/// Makes a new key for somebody and seals it. An older key of theirs is replaced.
///
/// # Errors
/// See [`UnlockError`].
pub fn create(
    layout: &Layout,
    handle: &Handle,
    secret: &str,
    cost: Cost,
) -> Result<Unlocked, UnlockError> {
    let mut seed = Zeroizing::new([0u8; 32]);
    fill(&mut *seed)?;
    seal(layout, handle, &seed, secret, cost)
}

/// Whether a secret is long enough to be one.
///
/// # Errors
/// [`UnlockError::TooShort`].
pub fn check_secret(secret: &str) -> Result<(), UnlockError> {
    if secret.chars().count() < SECRET_CHARS_MIN {
        return Err(UnlockError::TooShort);
    }
    Ok(())
}

/// Seals a given seed: for a generator that must make the same journal every time.
///
/// # Errors
/// See [`UnlockError`].
pub fn seal(
    layout: &Layout,
    handle: &Handle,
    seed: &Zeroizing<[u8; 32]>,
    secret: &str,
    cost: Cost,
) -> Result<Unlocked, UnlockError> {
    check_secret(secret)?;
    let signer = SigningSeed::from_bytes(seed);
    let (mut salt, mut nonce) = ([0u8; 16], [0u8; 24]);
    fill(&mut salt)?;
    fill(&mut nonce)?;
    let key = stretch(secret, &salt, cost).ok_or(UnlockError::Memory)?;
    let aad = associated(handle, signer.public());
    let sealed = XChaCha20Poly1305::new((&*key).into())
        .encrypt(
            &XNonce::from(nonce),
            Payload {
                msg: &seed[..],
                aad: &aad,
            },
        )
        .map_err(|_| UnlockError::Memory)?;
    let file = KeyFile {
        format: FORMAT,
        handle: handle.clone(),
        public: signer.public().to_string(),
        cost,
        salt: to_hex(&salt),
        nonce: to_hex(&nonce),
        sealed: to_hex(&sealed),
    };
    write_json(&key_path(layout, handle), &file)?;
    write_json(&tries_path(layout, handle), &Tries::default())?;
    Ok(Unlocked {
        handle: handle.clone(),
        signer: Arc::new(signer),
    })
}

/// Opens somebody's key. Wrong secrets are counted in a file, so that neither a restart nor
/// a second window gives more tries. `now` is the computer's time.
///
/// # Errors
/// See [`UnlockError`].
pub fn unlock(
    layout: &Layout,
    handle: &Handle,
    secret: &str,
    now: Timestamp,
) -> Result<Unlocked, UnlockError> {
    let path = key_path(layout, handle);
    let file = read_key_file(&path, handle)?;
    let mut tries = read_tries(layout, handle);
    check_tries(&tries, handle, now)?;
    // Counted before it is tried: pulling the plug in between gains nothing. A folder that
    // cannot be written (a demo journal on a read-only disk) has no count to keep.
    tries.failed += 1;
    tries.last = now.0;
    let counted = write_json(&tries_path(layout, handle), &tries);
    let damaged = |what| UnlockError::Damaged {
        path: path.clone(),
        what,
    };
    let opened = open_seed(&file, secret, damaged)?;
    let Some(seed) = opened else {
        counted?;
        let left = TRIES_MAX.saturating_sub(tries.failed);
        return Err(UnlockError::Wrong {
            handle: handle.clone(),
            left,
        });
    };
    let signer = SigningSeed::from_bytes(&seed);
    if signer.public().to_string() != file.public {
        return Err(damaged("its public key is another's"));
    }
    if counted.is_ok() {
        write_json(&tries_path(layout, handle), &Tries::default())?;
    }
    Ok(Unlocked {
        handle: handle.clone(),
        signer: Arc::new(signer),
    })
}

fn read_key_file(path: &Path, handle: &Handle) -> Result<KeyFile, UnlockError> {
    let bytes = match read_small_file(path, KEY_FILE_BYTES_MAX) {
        Ok(bytes) => bytes,
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => {
            return Err(UnlockError::NoKey(handle.clone()));
        }
        Err(cause) => {
            return Err(UnlockError::Io {
                path: path.to_path_buf(),
                cause,
            });
        }
    };
    let damaged = |what| UnlockError::Damaged {
        path: path.to_path_buf(),
        what,
    };
    let file: KeyFile = serde_json::from_slice(&bytes).map_err(|_| damaged("it cannot be read"))?;
    if file.format != FORMAT {
        return Err(damaged("it is in another format"));
    }
    if file.handle != *handle {
        return Err(damaged("it belongs to somebody else"));
    }
    Ok(file)
}

/// The seed, or `None` if the secret is wrong.
fn open_seed(
    file: &KeyFile,
    secret: &str,
    damaged: impl Fn(&'static str) -> UnlockError,
) -> Result<Option<Zeroizing<[u8; 32]>>, UnlockError> {
    let field = |text: &str, what| from_hex(text).ok_or_else(|| damaged(what));
    let salt = field(&file.salt, "its salt is not hexadecimal")?;
    let nonce = field(&file.nonce, "its nonce is not hexadecimal")?;
    let nonce: [u8; 24] = nonce
        .try_into()
        .map_err(|_| damaged("its nonce has a wrong length"))?;
    let sealed = field(&file.sealed, "its sealed part is not hexadecimal")?;
    let public: PersonKey = file
        .public
        .parse()
        .map_err(|_| damaged("its public key is none"))?;
    let Cost { memory_kib, passes } = Cost::MOST;
    if file.cost.memory_kib > memory_kib || file.cost.passes > passes {
        return Err(damaged("it asks for more work than is ever needed"));
    }
    let key = stretch(secret, &salt, file.cost).ok_or(UnlockError::Memory)?;
    let aad = associated(&file.handle, public);
    let opened = XChaCha20Poly1305::new((&*key).into())
        .decrypt(
            &XNonce::from(nonce),
            Payload {
                msg: &sealed,
                aad: &aad,
            },
        )
        .map(Zeroizing::new);
    Ok(opened
        .ok()
        .and_then(|bytes| <[u8; 32]>::try_from(bytes.as_slice()).ok())
        .map(Zeroizing::new))
}

fn check_tries(tries: &Tries, handle: &Handle, now: Timestamp) -> Result<(), UnlockError> {
    if tries.failed >= TRIES_MAX {
        return Err(UnlockError::Locked(handle.clone()));
    }
    let Some(over) = tries.failed.checked_sub(FREE_TRIES) else {
        return Ok(());
    };
    // 5 s, 10 s, 20 s, … up to about 20 minutes.
    let wait = Span(5_000_000_i64 << over.min(8));
    let until = Timestamp(tries.last).plus(wait);
    // A clock that was set back does not lengthen the wait beyond its full length.
    let left = Span(until.since(now).0.min(wait.0));
    if left.0 > 0 {
        let wait = Span::minutes(left.0.div_euclid(60_000_000) + 1);
        return Err(UnlockError::Wait {
            handle: handle.clone(),
            wait,
        });
    }
    Ok(())
}

fn read_tries(layout: &Layout, handle: &Handle) -> Tries {
    let bytes = read_small_file(&tries_path(layout, handle), KEY_FILE_BYTES_MAX);
    bytes
        .ok()
        .and_then(|bytes| serde_json::from_slice(&bytes).ok())
        .unwrap_or_default()
}

fn stretch(secret: &str, salt: &[u8], cost: Cost) -> Option<Zeroizing<[u8; 32]>> {
    let params = Params::new(cost.memory_kib, cost.passes, 1, Some(32)).ok()?;
    let mut key = Zeroizing::new([0u8; 32]);
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
        .hash_password_into(secret.as_bytes(), salt, &mut *key)
        .ok()?;
    Some(key)
}

fn associated(handle: &Handle, public: PersonKey) -> Vec<u8> {
    format!("handfast key file 1\n{handle}\n{public}").into_bytes()
}

fn fill(bytes: &mut [u8]) -> Result<(), UnlockError> {
    getrandom::fill(bytes).map_err(|_| UnlockError::Random)
}

fn key_path(layout: &Layout, handle: &Handle) -> PathBuf {
    layout.keys_dir().join(format!("{handle}.key"))
}

fn tries_path(layout: &Layout, handle: &Handle) -> PathBuf {
    layout.keys_dir().join(format!("{handle}.tries"))
}

fn write_json<T: Serialize>(path: &Path, value: &T) -> Result<(), UnlockError> {
    let text = serde_json::to_vec_pretty(value).unwrap_or_default();
    replace_small_file(path, &text).map_err(|cause| UnlockError::Io {
        path: path.to_path_buf(),
        cause,
    })
}

//! Each person's signing key, sealed by that person's passphrase or PIN.
//!
//! A key file is JSON under `keys/`: Argon2id turns the secret and a random salt into a key,
//! XChaCha20-Poly1305 seals the 32-byte Ed25519 seed with it, and handle and public key are
//! bound in as associated data (`docs/key-file.md`). The cost parameters are stored with the
//! salt. A short PIN keeps out a passer-by at the desk, not somebody who copies the file: 10^6
//! six-digit PINs at the default cost are about 30 core-hours (0.11 s a try, measured once on
//! two shared cores).
//!
//! A new key lies beside the one in use until its entry is in the journal. Whatever fails or
//! crashes on the way, the key the journal knows is in one of the two files, and unlocking
//! takes that one.

mod device;
mod file;
mod own;
mod tries;

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use serde::{Deserialize, Serialize};
use zeroize::Zeroizing;

use crate::journal::disk::{Disk, RealDisk};
use crate::journal::{FolderLock, Layout, Signer, SigningSeed, lock_folder};
use crate::record::ids::{PersonKey, ReadingKey};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::{Span, Timestamp, WardZone};
use crate::station::sealing::ReadingSecret;
use device::DeviceHalf;
use file::KeyFile;
pub(in crate::station) use file::fill;
pub use own::OwnKey;
use tries::Tries;

/// Shortest secret that is accepted.
pub const SECRET_CHARS_MIN: usize = 6;
/// From so many characters on a secret is a passphrase and protects a key by itself. The least length of
/// a password that is the only factor in NIST SP 800-63B-4, section 3.1.1.2 (2025; from memory).
pub const PASSPHRASE_CHARS_MIN: usize = 15;
/// Wrong secrets in a row after which only the keeper can help.
pub const TRIES_MAX: u32 = 12;
/// How long to wait while somebody else unlocks: many tries, one after another.
const PATIENCE: Duration = Duration::from_secs(30);

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
    const DESK: Cost = Cost {
        memory_kib: 64 * 1024,
        passes: 3,
    };
    /// For teaching journals, whose PINs are published anyway.
    const TEACHING: Cost = Cost {
        memory_kib: 8 * 1024,
        passes: 1,
    };
    /// The most a key file may ask for, so that a forged one cannot stall the desk.
    const MOST: Cost = Cost {
        memory_kib: 1024 * 1024,
        passes: 16,
    };

    /// What keys of a journal are sealed with.
    #[must_use]
    pub const fn of_journal(teaching: bool) -> Cost {
        if teaching { Cost::TEACHING } else { Cost::DESK }
    }
}

/// A person who has unlocked their key.
#[derive(Clone)]
pub struct Unlocked {
    /// Who.
    pub handle: Handle,
    /// Signs in their name.
    pub signer: Arc<dyn Signer>,
    /// Opens the keys to sealed records that are wrapped for them.
    pub reading: Arc<ReadingSecret>,
    /// Wrong secrets before the right one, if there were any.
    pub failed: Option<FailedTries>,
}

/// Wrong secrets that were tried for somebody before the right one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FailedTries {
    /// How many.
    pub count: u32,
    /// When the last one was, by the computer's clock.
    pub last: Timestamp,
}

impl FailedTries {
    /// `2 wrong PINs before the right one, the last on Sun 25-Oct-2026 02:10`.
    #[must_use]
    pub fn in_words(self, zone: WardZone) -> String {
        let last = zone.day_date_time(self.last);
        format!("{} before the right one, the last on {last}", self.pins())
    }

    /// `12 wrong PINs for nell before the keeper gave a new key, the last on Sun 25-Oct-2026 02:10`.
    #[must_use]
    pub fn in_words_of(self, handle: &Handle, zone: WardZone) -> String {
        let pins = self.pins();
        let last = zone.day_date_time(self.last);
        format!("{pins} for {handle} before the keeper gave a new key, the last on {last}")
    }

    fn pins(self) -> String {
        match self.count {
            1 => "1 wrong PIN".to_owned(),
            more => format!("{more} wrong PINs"),
        }
    }
}

/// Why a key stayed locked.
#[derive(Debug, thiserror::Error)]
pub enum UnlockError {
    /// A key of one's own that the secret does not open.
    #[error("that passphrase does not open {}", path.display())]
    NotOpened {
        /// Which file.
        path: PathBuf,
    },
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
    #[error("too many wrong PINs for {handle}; try again in {}", tries::remaining(*wait))]
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
    /// The journal knows another key.
    #[error(
        "the key file of {0} holds another key than the journal gives them; ask the keeper to issue a new one"
    )]
    NotInUse(Handle),
    /// A new key would take the place of the only copy of the one in use.
    #[error(
        "the key that the journal gives {handle} still lies in {} and cannot be moved to its place; \
         nothing was changed. Accepted: once {handle}.key and {handle}.tries in the same folder \
         can be written, and neither is a folder",
        path.display()
    )]
    StillBeside {
        /// Whose key.
        handle: Handle,
        /// Where it lies.
        path: PathBuf,
    },
    /// Somebody else is unlocking, again and again.
    #[error("keys are being unlocked by somebody else just now; try again in a moment")]
    Busy,
    /// A PIN's key whose other half is on another computer.
    #[error(
        "the key of {0} is opened by a PIN together with a half that stays on the computer where the PIN was \
         chosen, and this is another; sign in there, or ask the keeper for a new key"
    )]
    OtherDevice(Handle),
    /// No folder to keep the computer's half in.
    #[error(
        "a PIN needs a half of the key kept on this computer, and this account has no folder for it (HOME and \
         XDG_DATA_HOME are not set). Accepted: a passphrase of at least {PASSPHRASE_CHARS_MIN} characters, or \
         HANDFAST_DEVICE_DIR set to a folder outside the journal"
    )]
    NoDevice,
    /// The computer's half would lie beside the keys.
    #[error(
        "the computer's half of the key would lie in the journal folder ({}), and a copy would hold both. \
         Accepted: HANDFAST_DEVICE_DIR set to a folder outside the journal",
        .0.display()
    )]
    DeviceInJournal(PathBuf),
    /// Key stretching failed for want of memory.
    #[error("there is not enough memory to unlock a key")]
    Memory,
    /// The operating system gave no random bytes.
    #[error("the operating system gave no random bytes; no key can be made")]
    Random,
    /// Too short to be a secret.
    #[error("a PIN or passphrase needs at least {SECRET_CHARS_MIN} characters")]
    TooShort,
    /// Changed to what it was.
    #[error("that is the PIN you have already; nothing was changed. Accepted: another one")]
    SameAgain,
}

/// Fresh random bytes for a signing key.
///
/// # Errors
/// [`UnlockError::Random`] if the system gives none.
pub fn random_seed() -> Result<Zeroizing<[u8; 32]>, UnlockError> {
    let mut seed = Zeroizing::new([0u8; 32]);
    file::fill(&mut *seed)?;
    Ok(seed)
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

/// The computer's half that a secret needs beside itself: none for a passphrase, and none in a teaching
/// journal, whose PINs are published.
fn half_for(layout: &Layout, secret: &str, cost: Cost) -> Result<Option<DeviceHalf>, UnlockError> {
    if cost == Cost::TEACHING || is_passphrase(secret) {
        return Ok(None);
    }
    DeviceHalf::of_this_computer(layout.root()).map(Some)
}

/// Whether a secret protects a key by itself, wherever the key file is copied to.
#[must_use]
pub fn is_passphrase(secret: &str) -> bool {
    let all_digits = secret.chars().all(|c| c.is_ascii_digit());
    secret.chars().count() >= PASSPHRASE_CHARS_MIN && !all_digits
}

/// What somebody in this role is to know who chose this secret for a key of a real ward.
#[must_use]
pub fn what_it_opens(secret: &str, role: Role) -> String {
    if is_passphrase(secret) {
        return "That is a passphrase: it opens the key wherever the journal is.".to_owned();
    }
    let place =
        device::path().map_or_else(|_| String::new(), |path| format!(" ({})", path.display()));
    let then = match role {
        // Whoever gives others a new key, and whoever must be there as the second person.
        Role::Keeper | Role::Governance => format!(
            "If the computer is lost, so is the key, and a backup of the key file does not bring it back: {} should have a \
             passphrase.",
            role.with_article()
        ),
        _ => "If the computer is lost, the keeper makes a new key.".to_owned(),
    };
    format!(
        "That is a PIN, and a PIN alone is only a screen lock: the key opens with it on this computer only, which keeps \
         the other half{place}. Whoever takes this computer has both, and can try PINs. {then} {PASSPHRASE_CHARS_MIN} \
         characters or more, not digits alone, are a passphrase, which needs no half."
    )
}

/// A key that is made and sealed, and not yet on the disk.
pub struct NewKey {
    file: KeyFile,
    unlocked: Unlocked,
}

impl NewKey {
    /// Makes a key for somebody.
    ///
    /// # Errors
    /// See [`UnlockError`].
    pub fn make(
        layout: &Layout,
        handle: &Handle,
        secret: &str,
        cost: Cost,
    ) -> Result<NewKey, UnlockError> {
        let mut seed = Zeroizing::new([0u8; 32]);
        file::fill(&mut *seed)?;
        check_secret(secret)?;
        let half = half_for(layout, secret, cost)?;
        NewKey::sealed(handle, &seed, (secret, half.as_ref()), cost)
    }

    /// From a given seed: for a generator that must make the same journal every time, with PINs that are
    /// published anyway.
    ///
    /// # Errors
    /// See [`UnlockError`].
    pub fn from_seed(
        handle: &Handle,
        seed: &Zeroizing<[u8; 32]>,
        secret: &str,
        cost: Cost,
    ) -> Result<NewKey, UnlockError> {
        check_secret(secret)?;
        NewKey::sealed(handle, seed, (secret, None), cost)
    }

    fn sealed(
        handle: &Handle,
        seed: &Zeroizing<[u8; 32]>,
        (secret, half): (&str, Option<&DeviceHalf>),
        cost: Cost,
    ) -> Result<NewKey, UnlockError> {
        let file = KeyFile::seal(handle, seed, secret, cost, half)?;
        let unlocked = Unlocked {
            handle: handle.clone(),
            signer: Arc::new(SigningSeed::from_bytes(seed)),
            reading: Arc::new(ReadingSecret::of_seed(seed)),
            failed: None,
        };
        Ok(NewKey { file, unlocked })
    }

    /// Its public half.
    #[must_use]
    pub fn public(&self) -> PersonKey {
        self.unlocked.signer.public()
    }

    /// The public half of the reading key that belongs to it.
    #[must_use]
    pub fn reading(&self) -> ReadingKey {
        self.unlocked.reading.public()
    }

    /// Puts it where the key in use lies, over whatever is there: for somebody who has no
    /// other key.
    ///
    /// # Errors
    /// See [`UnlockError`].
    pub fn put_in_place(self, layout: &Layout) -> Result<Unlocked, UnlockError> {
        let handle = &self.unlocked.handle;
        file::write_json(&file::path(layout, handle), &self.file)?;
        Tries::reset(layout, handle)?;
        Ok(self.unlocked)
    }

    /// Puts it beside the key in use, until its entry is in the journal. `known` is the key
    /// that the journal gives the person now; it stays usable.
    ///
    /// # Errors
    /// See [`UnlockError`].
    pub fn put_beside(
        self,
        layout: &Layout,
        known: Option<PersonKey>,
    ) -> Result<WaitingKey<'_>, UnlockError> {
        let _lock = lock(layout)?;
        let handle = &self.unlocked.handle;
        let beside = file::path_beside(layout, handle);
        // If that key still lies beside after a crash, it goes to its place first. Where it cannot,
        // the file beside may be its only copy.
        if known.is_some()
            && let Ok((path, _)) = file::in_use(layout, handle, known)
            && path == beside
        {
            return Err(UnlockError::StillBeside {
                handle: handle.clone(),
                path,
            });
        }
        file::write_json(&beside, &self.file)?;
        Ok(WaitingKey {
            layout,
            unlocked: self.unlocked,
        })
    }
}

/// A key that lies beside the one in use and waits for its entry.
#[must_use]
pub struct WaitingKey<'a> {
    layout: &'a Layout,
    unlocked: Unlocked,
}

impl WaitingKey<'_> {
    /// Its entry stands. What cannot be done now is done when the key is next unlocked.
    pub fn take_into_use(self) -> Unlocked {
        if let Ok(_lock) = lock(self.layout) {
            let _ = file::in_use(
                self.layout,
                &self.unlocked.handle,
                Some(self.unlocked.signer.public()),
            );
        }
        self.unlocked
    }

    /// Its entry was not recorded; the old key stays the one in use.
    pub fn discard(self) {
        let _ = RealDisk.remove(&file::path_beside(self.layout, &self.unlocked.handle));
    }
}

/// Whether the key file of this handle holds that key.
#[must_use]
pub fn is_key_of(layout: &Layout, handle: &Handle, key: PersonKey) -> bool {
    file::in_use(layout, handle, Some(key)).is_ok()
}

/// Opens the key that the journal gives somebody. `now` is the computer's time.
///
/// # Errors
/// See [`UnlockError`].
pub fn unlock(
    layout: &Layout,
    handle: &Handle,
    known: Option<PersonKey>,
    secret: &str,
    now: Timestamp,
) -> Result<Unlocked, UnlockError> {
    let _lock = lock(layout)?;
    let Opened { seed, failed, .. } = open(layout, handle, known, secret, now)?;
    Ok(Unlocked {
        handle: handle.clone(),
        signer: Arc::new(SigningSeed::from_bytes(&seed)),
        reading: Arc::new(ReadingSecret::of_seed(&seed)),
        failed,
    })
}

/// Seals somebody's key with another secret; the key stays the same. A crash leaves the file as it
/// was or as it is to be.
///
/// # Errors
/// As [`unlock`] for the old secret; too short, or the same again.
pub fn change_secret(
    layout: &Layout,
    handle: &Handle,
    known: Option<PersonKey>,
    (old, new): (&str, &str),
    cost: Cost,
    now: Timestamp,
) -> Result<(), UnlockError> {
    check_secret(new)?;
    let _lock = lock(layout)?;
    let Opened { path, seed, .. } = open(layout, handle, known, old, now)?;
    if old == new {
        return Err(UnlockError::SameAgain);
    }
    let half = half_for(layout, new, cost)?;
    let sealed = KeyFile::seal(handle, &seed, new, cost, half.as_ref())?;
    file::write_json(&path, &sealed)
}

/// Wrong secrets that were tried for somebody and stand in no entry yet.
#[must_use]
pub fn failed_tries(layout: &Layout, handle: &Handle) -> Option<FailedTries> {
    Tries::read(layout, handle).failed_before()
}

/// They stand in an entry now. A folder that cannot be written keeps the count.
pub fn failed_tries_are_recorded(layout: &Layout, handle: &Handle) {
    if let Ok(_lock) = lock(layout) {
        let _ = Tries::read(layout, handle).are_recorded(layout, handle);
    }
}

/// A key file that was opened.
struct Opened {
    path: PathBuf,
    seed: Zeroizing<[u8; 32]>,
    failed: Option<FailedTries>,
}

/// The seed and the file it came from. The caller holds the lock, so that tries made at the
/// same time are counted one after another and a right one is never taken for the fourth wrong.
fn open(
    layout: &Layout,
    handle: &Handle,
    known: Option<PersonKey>,
    secret: &str,
    now: Timestamp,
) -> Result<Opened, UnlockError> {
    let (path, file) = file::in_use(layout, handle, known)?;
    // Before a try is counted: no PIN would be right here.
    let half = match &file.device {
        None => None,
        Some(id) => match DeviceHalf::existing()? {
            Some(half) if half.id() == *id => Some(half),
            _ => return Err(UnlockError::OtherDevice(handle.clone())),
        },
    };
    let mut tries = Tries::read(layout, handle);
    tries.check(handle, now)?;
    let failed = tries.failed_before();
    // Counted before it is tried: pulling the plug in between gains nothing. A folder that
    // cannot be written (a demo journal on a read-only disk) has no count to keep.
    let counted = tries.count(layout, handle, now);
    let damaged = |what| UnlockError::Damaged {
        path: path.clone(),
        what,
    };
    let Some(seed) = file.open(secret, half.as_ref(), damaged)? else {
        counted?;
        let left = TRIES_MAX.saturating_sub(tries.failed);
        return Err(UnlockError::Wrong {
            handle: handle.clone(),
            left,
        });
    };
    if counted.is_ok() {
        tries.was_right(layout, handle, failed)?;
    }
    Ok(Opened { path, seed, failed })
}

/// One at a time at the keys of a ward. Where no lock is to be had (no folder yet, a file system
/// that locks no folders) it is gone without: what it guards is the count, not the key.
fn lock(layout: &Layout) -> Result<Option<FolderLock>, UnlockError> {
    match lock_folder(&layout.keys_dir(), PATIENCE) {
        Ok(None) => Err(UnlockError::Busy),
        Ok(lock) => Ok(lock),
        Err(_) => Ok(None),
    }
}

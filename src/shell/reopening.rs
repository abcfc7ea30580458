//! A short PIN that re-opens a session: for somebody whose key a passphrase opens, which nobody types at
//! every return to the keyboard. It lives in this program's memory and opens nothing else.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use crate::record::person::Handle;
use crate::station::Actor;
use crate::station::keys::SECRET_CHARS_MIN;

/// A shift, and no more.
const HOLDS_FOR: Duration = Duration::from_secs(12 * 60 * 60);
/// Wrong PINs after which only the passphrase opens.
const TRIES: u32 = 3;

struct Kept {
    actor: Actor,
    pin: blake3::Hash,
    since: Instant,
    wrong: u32,
}

/// Whose sessions a short PIN re-opens.
#[derive(Default)]
pub(super) struct Reopening {
    kept: BTreeMap<Handle, Kept>,
    /// Wrong PINs since somebody was last signed in.
    wrong: BTreeMap<Handle, u32>,
}

/// What a typed secret is here.
pub(super) enum Tried {
    /// The PIN: the session goes on.
    Opens(Box<Actor>),
    /// No PIN was set, or it ran out: the secret is the key's.
    NotHere,
    /// Too short to be a passphrase and not the PIN; so many tries are left.
    Wrong(u32),
}

impl Reopening {
    /// Keeps a session; says why not.
    pub(super) fn keep(&mut self, actor: Actor, pin: &str) -> Result<(), String> {
        if pin.chars().count() < SECRET_CHARS_MIN {
            return Err(format!(
                "a PIN needs at least {SECRET_CHARS_MIN} characters"
            ));
        }
        let kept = Kept {
            pin: blake3::hash(pin.as_bytes()),
            since: Instant::now(),
            wrong: 0,
            actor,
        };
        self.kept.insert(kept.actor.handle.clone(), kept);
        Ok(())
    }

    /// Drops sessions that ran out, with the keys they hold.
    pub(super) fn forget_old(&mut self) {
        self.kept.retain(|_, kept| kept.since.elapsed() < HOLDS_FOR);
    }

    /// Wrong PINs since somebody was last signed in, counted anew from here.
    pub(super) fn take_wrong(&mut self, handle: &Handle) -> u32 {
        self.wrong.remove(handle).unwrap_or_default()
    }

    /// Whether somebody has such a PIN now.
    pub(super) fn has(&self, handle: &Handle) -> bool {
        self.kept
            .get(handle)
            .is_some_and(|kept| kept.since.elapsed() < HOLDS_FOR)
    }

    /// Tries a secret. A passphrase is never taken for a wrong PIN.
    pub(super) fn try_secret(&mut self, handle: &Handle, secret: &str) -> Tried {
        if !self.has(handle) {
            self.kept.remove(handle);
            return Tried::NotHere;
        }
        let Some(kept) = self.kept.get_mut(handle) else {
            return Tried::NotHere;
        };
        // Compared in constant time.
        if kept.pin == blake3::hash(secret.as_bytes()) {
            kept.wrong = 0;
            return Tried::Opens(Box::new(kept.actor.clone()));
        }
        if crate::station::keys::is_passphrase(secret) {
            return Tried::NotHere;
        }
        kept.wrong += 1;
        *self.wrong.entry(handle.clone()).or_default() += 1;
        let left = TRIES.saturating_sub(kept.wrong);
        if left == 0 {
            self.kept.remove(handle);
        }
        Tried::Wrong(left)
    }
}

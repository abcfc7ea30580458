//! Who is on the staff, with which key and role, now and at any earlier entry.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::held::Author;
use super::proof::Doubt;
use crate::record::ids::{PersonKey, ReadingKey, Seq};
use crate::record::kind::ward::{StaffChanged, StaffEnrolled, StaffMove};
use crate::record::person::Handle;
use crate::record::role::Role;

/// One member of staff.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Staff {
    /// Handle.
    pub handle: Handle,
    /// Full name.
    pub name: String,
    /// Role now.
    pub role: Role,
    /// Key now.
    pub key: Option<PersonKey>,
    /// Reading key now.
    pub reading: Option<ReadingKey>,
    /// Registration number.
    pub registration: Option<String>,
    /// What held from which entry on, oldest first.
    history: Vec<Standing>,
}

/// What held for a member of staff from one entry on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Standing {
    /// From this entry on.
    pub from: Seq,
    /// Role.
    pub role: Role,
    /// Key.
    pub key: Option<PersonKey>,
    /// Reading key.
    pub reading: Option<ReadingKey>,
    /// Suspended.
    pub suspended: bool,
}

impl Standing {
    /// The key for which the keys to sealed records are wrapped; nobody's who may not read them.
    #[must_use]
    pub fn reads_with(&self) -> Option<ReadingKey> {
        self.reading
            .filter(|_| !self.suspended && self.role.reads_records())
    }
}

impl Staff {
    /// Suspended now.
    #[must_use]
    pub fn is_suspended(&self) -> bool {
        self.history
            .last()
            .is_some_and(|standing| standing.suspended)
    }

    /// The key with which they read sealed records now, if they may.
    #[must_use]
    pub fn reads_with(&self) -> Option<ReadingKey> {
        self.history.last()?.reads_with()
    }

    /// What held when an entry was written; `None` before enrolment.
    #[must_use]
    pub fn standing_at(&self, seq: Seq) -> Option<&Standing> {
        self.history
            .iter()
            .rev()
            .find(|standing| standing.from < seq)
    }

    /// What held from which entry on, oldest first.
    #[must_use]
    pub fn history(&self) -> &[Standing] {
        &self.history
    }
}

/// The handle under which whoever opened the ward is keeper while the entry that enrolled them
/// cannot be read: their own handle stood in it.
pub const STAND_IN: &str = "first-keeper";

/// Everybody who was ever on the staff.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Roster {
    by_handle: BTreeMap<Handle, Staff>,
    keys: BTreeMap<PersonKey, Handle>,
}

impl Roster {
    /// By handle.
    #[must_use]
    pub fn get(&self, handle: &Handle) -> Option<&Staff> {
        self.by_handle.get(handle)
    }

    /// By any key they ever had.
    #[must_use]
    pub fn by_key(&self, key: &PersonKey) -> Option<&Staff> {
        self.by_handle.get(self.keys.get(key)?)
    }

    /// Whose key it was when an entry was written. What is found out later about a key does
    /// not change who wrote an entry before.
    #[must_use]
    pub fn holder_at(&self, key: &PersonKey, seq: Seq) -> Option<&Staff> {
        self.by_key(key).filter(|staff| {
            let mut known = staff.history.iter().take_while(|held| held.from <= seq);
            known.any(|held| held.key.as_ref() == Some(key))
        })
    }

    /// Whose name an author goes by: the owner of the key that an entry names, whether or not
    /// they wrote it.
    pub(super) fn handle_of<'a>(&'a self, author: &'a Author) -> Option<&'a Handle> {
        match author {
            Author::Staff(handle, _) => Some(handle),
            Author::Unknown(key) | Author::Unproved(key, _) => {
                self.by_key(key).map(|staff| &staff.handle)
            }
        }
    }

    /// Who could sign with a key when an entry was written, and in which role.
    ///
    /// # Errors
    /// Why nobody could.
    pub(super) fn signer_at(&self, key: &PersonKey, seq: Seq) -> Result<(&Handle, Role), Doubt> {
        let staff = self.by_key(key).ok_or(Doubt::UnknownKey)?;
        let standing = staff.standing_at(seq).ok_or(Doubt::UnknownKey)?;
        if standing.key.as_ref() != Some(key) {
            let had = staff.history.iter().any(|held| {
                let earlier = held.from < seq;
                earlier && held.key.as_ref() == Some(key)
            });
            return Err(if had {
                Doubt::FormerKey(staff.handle.clone())
            } else {
                Doubt::UnknownKey
            });
        }
        if standing.suspended {
            return Err(Doubt::Suspended(staff.handle.clone()));
        }
        Ok((&staff.handle, standing.role))
    }

    /// The newest entry by which somebody no longer reads with a key they read with before.
    pub(super) fn reading_lost_at(&self) -> Seq {
        let lost = self.by_handle.values().flat_map(|staff| {
            let held = staff.history.windows(2);
            held.filter_map(|pair| {
                let (before, after) = (pair.first()?, pair.get(1)?);
                let lost =
                    before.reads_with().is_some() && before.reads_with() != after.reads_with();
                lost.then_some(after.from)
            })
        });
        lost.max().unwrap_or(Seq::NONE)
    }

    /// Everybody, by handle.
    pub fn iter(&self) -> impl Iterator<Item = &Staff> {
        self.by_handle.values()
    }

    pub(super) fn enrol(&mut self, seq: Seq, enrolled: &StaffEnrolled) {
        let key = enrolled.key;
        let standing = Standing {
            from: seq,
            role: enrolled.role,
            key,
            reading: enrolled.reading,
            suspended: false,
        };
        let staff = Staff {
            handle: enrolled.handle.clone(),
            name: enrolled.name.0.clone(),
            role: enrolled.role,
            key,
            reading: enrolled.reading,
            registration: enrolled.registration.as_ref().map(|text| text.0.clone()),
            history: vec![standing],
        };
        // A handle is never given to a second person: a second enrolment changes nothing.
        if let std::collections::btree_map::Entry::Vacant(place) =
            self.by_handle.entry(enrolled.handle.clone())
        {
            place.insert(staff);
            if let Some(key) = key {
                self.keys
                    .entry(key)
                    .or_insert_with(|| enrolled.handle.clone());
            }
        }
    }

    /// Makes the key that opened the ward a keeper's, if nobody is on the staff.
    pub(super) fn stand_in(&mut self, from: Seq, opener: PersonKey) {
        if self.by_handle.is_empty() {
            let enrolled = StaffEnrolled {
                handle: Handle(STAND_IN.to_owned()),
                name: "First keeper (enrolment lost)".into(),
                role: Role::Keeper,
                registration: None,
                key: Some(opener),
                reading: None,
            };
            self.enrol(from, &enrolled);
        }
    }

    pub(super) fn change(&mut self, seq: Seq, changed: &StaffChanged) {
        let Some(staff) = self.by_handle.get_mut(&changed.handle) else {
            return;
        };
        let Some(mut standing) = staff.history.last().cloned() else {
            return;
        };
        standing.from = seq;
        match changed.change {
            StaffMove::Suspended => standing.suspended = true,
            StaffMove::Reinstated => standing.suspended = false,
            StaffMove::RoleChanged => standing.role = changed.role.unwrap_or(standing.role),
            StaffMove::KeyReplaced => {
                standing.key = changed.key.or(standing.key);
                standing.reading = changed.reading;
            }
        }
        staff.role = standing.role;
        staff.key = standing.key;
        staff.reading = standing.reading;
        if let Some(key) = standing.key {
            self.keys
                .entry(key)
                .or_insert_with(|| changed.handle.clone());
        }
        staff.history.push(standing);
    }
}

//! Which entries count as their author's word.
//!
//! The chain shows that entries are in order; only a signature shows who wrote one, and only
//! the staff entries before it show whose key that is. An entry that fails either is kept,
//! named on every page, and gives nobody a right. Of what it says about a patient only that
//! counts which *opens* something: a forged alert is looked at in vain, a forged "closed"
//! would hide one that is real.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::held::Author;
use super::staff::Roster;
use super::{Ward, rules};
use crate::record::entry::Entry;
use crate::record::ids::{Digest, EntryHash, PersonKey, Seq};
use crate::record::kind::contact::NoteTopic;
use crate::record::kind::{Body, Kind};
use crate::record::person::Handle;
use crate::record::rights::{self, NotAmendable};
use crate::record::role::Role;

/// Why an entry does not count as its author's word.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Doubt {
    /// The signature is not one by the key the entry names.
    Signature,
    /// Nobody on the staff had the key when it was written.
    UnknownKey,
    /// The key had been replaced.
    FormerKey(Handle),
    /// Its owner was suspended.
    Suspended(Handle),
    /// Its owner may not write such an entry.
    NotTheirs(Handle, Role),
    /// Its owner may not amend this entry, which is another's.
    AnothersEntry(Handle, Seq),
    /// This entry is of a kind that is never amended so.
    NeverAmended(Seq),
    /// Its owner may write it, and it breaks another rule, in a sentence's second half.
    Breaks(Handle, String),
}

impl Doubt {
    /// Whether it may come from an entry about staff that cannot be read, where one cannot.
    pub(super) const fn may_come_from_loss(&self) -> bool {
        matches!(
            self,
            Doubt::UnknownKey
                | Doubt::FormerKey(_)
                | Doubt::Suspended(_)
                | Doubt::NotTheirs(..)
                | Doubt::AnothersEntry(..)
        )
    }
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Doubt::Signature => f.write_str("signature does not verify"),
            Doubt::UnknownKey => f.write_str("author unknown: nobody on the staff had the key"),
            Doubt::FormerKey(handle) => write!(f, "signed with a key {handle} no longer had"),
            Doubt::Suspended(handle) => write!(f, "signed by {handle} while suspended"),
            Doubt::NotTheirs(handle, role) => {
                let role = role.with_article();
                write!(
                    f,
                    "signed by {handle}, and {role} may not write it: it gives no right and ends nothing"
                )
            }
            Doubt::AnothersEntry(handle, target) => write!(
                f,
                "signed by {handle}, who may not amend {target}: it is another's, and stands as it was"
            ),
            Doubt::Breaks(handle, how) => {
                write!(f, "signed by {handle}, and {how}: it ends nothing")
            }
            Doubt::NeverAmended(target) => write!(
                f,
                "amends {target}, which is of a kind that is never amended so: it stands as it was"
            ),
        }
    }
}

/// An entry that does not count as its author's word.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Doubtful {
    /// The entry.
    pub seq: Seq,
    /// Its hash: what a keeper accepts is this entry and no other in its place.
    pub hash: EntryHash,
    /// Kind, by number.
    pub kind: u16,
    /// The key it names.
    pub key: PersonKey,
    /// Why.
    pub doubt: Doubt,
    /// Entries before it are lost, and the one that gave its author the right may be among them:
    /// once a keeper accepts this entry and all that was lost, it counts as written.
    pub waits: bool,
}

/// What is found out about an entry before it is folded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Checked {
    /// Its signature holds.
    pub signed: bool,
    /// The fold of the whole journal found it to be its author's word: where only a part is folded
    /// its author may be unknown because their enrolment was not asked for.
    pub proven: bool,
}

impl Checked {
    /// Signed; nothing else is known.
    pub const SIGNED: Checked = Checked {
        signed: true,
        proven: false,
    };
}

impl Doubtful {
    /// Its author, as a reader is told.
    #[must_use]
    pub fn author(&self) -> Author {
        match &self.doubt {
            Doubt::UnknownKey => Author::Unknown(self.key),
            doubt => Author::Unproved(self.key, doubt.clone()),
        }
    }
}

/// What is said of entries in doubt: one line for one entry, and one for several in the same
/// doubt by the same key. A line names its entries so exactly that it fits no others.
#[must_use]
pub fn in_words(doubtful: &[Doubtful]) -> Vec<String> {
    groups(doubtful).into_iter().map(|(line, _)| line).collect()
}

/// The same lines, each with the entries it names.
pub(super) fn groups(doubtful: &[Doubtful]) -> Vec<(String, Vec<&Doubtful>)> {
    // In the order in which each doubt was first met; found by what they share, for a folder can
    // be given any number of entries under as many keys, and this is asked before every write.
    let mut groups: Vec<Vec<&Doubtful>> = Vec::new();
    let mut places: BTreeMap<(PersonKey, &Doubt), usize> = BTreeMap::new();
    for one in doubtful {
        let place = *places.entry((one.key, &one.doubt)).or_insert(groups.len());
        match groups.get_mut(place) {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    groups
        .into_iter()
        .filter_map(|group| Some((line(&group)?, group)))
        .collect()
}

fn line(group: &[&Doubtful]) -> Option<String> {
    let (first, last) = (group.first()?, group.last()?);
    let key = first.key.short();
    let doubt = &first.doubt;
    if group.len() == 1 {
        let kind = Kind::from_code(first.kind).map_or("unknown kind", Kind::name);
        let (seq, hash) = (first.seq, short(&first.hash.0));
        return Some(format!(
            "entry {seq} ({kind}, hash {hash}, key {key}): {doubt}"
        ));
    }
    let mut hasher = blake3::Hasher::new();
    for one in group {
        hasher.update(&one.seq.0.to_le_bytes());
        hasher.update(&one.hash.0);
    }
    let together = Digest(*hasher.finalize().as_bytes());
    let (count, from, to) = (group.len(), first.seq, last.seq);
    Some(format!(
        "{count} entries from {from} to {to} (together {}, key {key}): {doubt}",
        together.short()
    ))
}

fn short(bytes: &[u8]) -> String {
    crate::record::ids::to_hex(&bytes[..bytes.len().min(8)])
}

/// What is wrong with an entry whose signature was found to hold or not, by the staff as it
/// was when the entry was written.
pub(super) fn doubt_of(ward: &Ward, entry: &Entry, signed: bool) -> Option<Doubt> {
    match ward.founding(entry) {
        Founding::Holds if signed => None,
        // Whoever signed it may be anybody.
        Founding::Broken(_) if signed => Some(Doubt::UnknownKey),
        _ => {
            let kind = Some(entry.kind());
            doubt_of_signer(&ward.roster, &entry.author, entry.seq, kind, signed)
                .or_else(|| doubt_of_amending(ward, entry))
                .or_else(|| doubt_of_step(ward, entry))
                .or_else(|| doubt_of_what_it_says(ward, entry))
        }
    }
}

/// Whether the signer of an amendment may amend what it names. What is not in the same record
/// cannot be amended by it in any case.
fn doubt_of_amending(ward: &Ward, entry: &Entry) -> Option<Doubt> {
    let Body::Amendment(amendment) = &entry.body else {
        return None;
    };
    let (handle, role) = ward.roster.signer_at(&entry.author, entry.seq).ok()?;
    let target = ward.log_of(entry.patient)?.line(amendment.target)?;
    let own = ward.roster.handle_of(&target.author) == Some(handle);
    let kind = Kind::from_code(target.kind);
    match rights::amending(amendment.act, kind, role, own) {
        Ok(()) => None,
        Err(NotAmendable::Kind(_)) => Some(Doubt::NeverAmended(amendment.target)),
        Err(NotAmendable::Anothers) => Some(Doubt::AnothersEntry(handle.clone(), amendment.target)),
    }
}

/// Whether the signer of a step of a handover may take such a step.
fn doubt_of_step(ward: &Ward, entry: &Entry) -> Option<Doubt> {
    let Body::HandoverStep(step) = &entry.body else {
        return None;
    };
    let (handle, role) = ward.roster.signer_at(&entry.author, entry.seq).ok()?;
    let may = rights::may_take_step(role, step.step);
    (!may).then(|| Doubt::NotTheirs(handle.clone(), role))
}

/// The same of any entry, also one that this program cannot read: by whom it is signed, and
/// whether that person may write its kind.
pub(super) fn doubt_of_signer(
    roster: &Roster,
    key: &PersonKey,
    seq: Seq,
    kind: Option<Kind>,
    signed: bool,
) -> Option<Doubt> {
    if !signed {
        return Some(Doubt::Signature);
    }
    let (handle, role) = match roster.signer_at(key, seq) {
        Ok(standing) => standing,
        Err(doubt) => return Some(doubt),
    };
    let refused = kind.is_some_and(|kind| !rights::may_write(role, kind));
    refused.then(|| Doubt::NotTheirs(handle.clone(), role))
}

/// Whether an entry breaks one of the rules beside the table.
fn doubt_of_what_it_says(ward: &Ward, entry: &Entry) -> Option<Doubt> {
    let (handle, _) = ward.roster.signer_at(&entry.author, entry.seq).ok()?;
    let before = ward.head.filter(|(seq, _)| seq.next() == entry.seq);
    let broken = rules::broken(ward, entry, handle, before)?;
    Some(Doubt::Breaks(handle.clone(), broken))
}

/// Whether an entry is one of the two that found a ward, on which all rights rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Founding {
    /// It is neither: it is judged by the staff as it stands.
    Neither,
    /// It founds the ward.
    Holds,
    /// It stands in the place of one and is not as it must be.
    Broken(&'static str),
}

impl Ward {
    /// The first two entries found the ward: it is opened, and its first keeper enrolled, by
    /// one key, the keeper's own. Where the first is lost only the second can be judged.
    #[must_use]
    pub fn founding(&self, entry: &Entry) -> Founding {
        if self.roster.iter().next().is_some() {
            return Founding::Neither;
        }
        match &entry.body {
            Body::WardOpened(_) if entry.seq == Seq(1) => Founding::Holds,
            Body::StaffEnrolled(enrolled) if entry.seq == Seq(2) => {
                let own = enrolled.key == Some(entry.author) && enrolled.role == Role::Keeper;
                if !own {
                    Founding::Broken("should enrol the first keeper by the keeper's own key")
                } else if self.opener.is_some_and(|opener| opener != entry.author) {
                    Founding::Broken(
                        "enrols a first keeper who did not open the ward: entry #1 is signed by another key",
                    )
                } else {
                    Founding::Holds
                }
            }
            _ => Founding::Neither,
        }
    }
}

/// Whether only what the entry opens counts. Where only part of a journal is folded, one that is
/// its author's word by the whole of it counts as written, and is still named.
pub(super) fn is_limited(doubt: Option<&Doubt>, known_of_whole: bool) -> bool {
    doubt.is_some_and(|doubt| !(known_of_whole && doubt.may_come_from_loss()))
}

/// What of an entry counts.
pub(super) fn counted(body: &Body, limited: bool, is_on_ward: bool) -> Option<Cow<'_, Body>> {
    if limited {
        only_what_opens(body, is_on_ward).map(Cow::Owned)
    } else {
        Some(Cow::Borrowed(body))
    }
}

/// What an entry in doubt opens; nothing if all it does is to change, answer or end something.
/// An admission opens a record, unless its patient is on the ward already.
fn only_what_opens(body: &Body, is_on_ward: bool) -> Option<Body> {
    match body {
        Body::Admission(_) if !is_on_ward => Some(body.clone()),
        Body::Alert(_)
        | Body::Escalation(_)
        | Body::Task(_)
        | Body::Sample(_)
        | Body::Supply(_)
        | Body::BodyLine(_)
        | Body::Kit(_) => Some(body.clone()),
        // Stands beside the sets that are proven; its worry raises an alert.
        Body::Observation(_) => Some(body.clone()),
        // A note is read; it answers no question.
        Body::Note(note) => {
            let mut note = note.clone();
            note.topic = note.topic.filter(|topic| *topic != NoteTopic::Answer);
            Some(Body::Note(note))
        }
        // A wound of its own: it says nothing of one that is known.
        Body::Wound(wound) => {
            let mut wound = wound.clone();
            wound.wound = None;
            wound.healed = None;
            Some(Body::Wound(wound))
        }
        // Of a contact only the worry: whether somebody was reached, and when the next is due,
        // would quieten what is open.
        Body::Contact(contact) => contact.worry.as_ref().map(|_| {
            let mut contact = contact.clone();
            contact.answers = None;
            contact.next = None;
            contact.next_by = None;
            Body::Contact(contact)
        }),
        // A result stands beside those that are proven; it does not end the wait for a sample.
        Body::LabResult(result) => {
            let mut result = result.clone();
            result.sample = None;
            Some(Body::LabResult(result))
        }
        _ => None,
    }
}

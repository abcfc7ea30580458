//! How far a ring file is believed.
//!
//! Two signatures. Whoever drew the ring signed for the ring; whoever wrote the file last signed
//! for every row in it. Neither keeps out somebody who read until yesterday and knows the ring key:
//! against them stands that a ring which is *due* seals nothing, and is replaced by one with a
//! fresh key and fresh data keys as soon as somebody who reads unlocks.

use serde::{Deserialize, Serialize};

use super::SealingError;
use super::ring::{RingFile, signing_text};
use crate::journal::{Signer, is_signed_by};
use crate::record::ids::{JournalId, PersonKey, Seq, from_hex, to_hex};
use crate::record::role::Role;
use crate::ward::Ward;

/// Who wrote a ring file last, and their signature over all of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Written {
    by: PersonKey,
    signature: String,
}

/// Who signed for every row that lies there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Vouched {
    /// Somebody who reads: they wrapped the key for all, or checked that.
    Reader,
    /// Somebody on the staff who does not: they had no key, and can only have taken rows out.
    Another,
    /// Nobody: the file was altered, or is of the first format.
    Nobody,
}

/// How a ring file stands beside the journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Standing {
    pub vouched: Vouched,
    /// Somebody may know a key in it who must not read what is written from now on.
    pub stale: bool,
    /// Whoever drew it reads no records, and could have kept its key.
    pub by_non_reader: bool,
}

impl Standing {
    /// Nothing is sealed with it before it is renewed.
    pub const fn is_due(self) -> bool {
        self.stale || self.by_non_reader
    }
}

impl Written {
    pub fn by(file: &RingFile, signer: &dyn Signer) -> Result<Written, SealingError> {
        let text = all_of(file).ok_or(SealingError::Damaged("a row in it is no single line"))?;
        Ok(Written {
            by: signer.public(),
            signature: to_hex(&signer.sign(text.as_bytes())),
        })
    }
}

impl RingFile {
    /// Whether somebody drew it who might: a keeper, or who read records, when the ring was drawn. A
    /// ring of an intruder's own making would have new records sealed for them. `head` is the newest
    /// entry that was read.
    pub fn check(
        &self,
        journal: JournalId,
        ward: &Ward,
        head: Seq,
    ) -> Result<Standing, SealingError> {
        if self.journal != journal {
            return Err(SealingError::Damaged("it belongs to another journal"));
        }
        let Some(drawer) = self.drawn_by(ward) else {
            return Err(SealingError::Damaged(
                "nobody who may draw it signed for it",
            ));
        };
        let vouched = self.vouched(ward);
        let recovery = ward.sealing().begun().map(|begun| begun.recovery);
        let stale = self.drawn_at < ward.ring_due_since()
            // Drawn after an entry that is not there: the journal is an older copy, or that is a lie.
            || self.drawn_at > head
            || self.recovery.as_ref().map(|one| one.reading) != recovery
            || self.keys.iter().any(|key| key.made_in > self.ring)
            || vouched == Vouched::Nobody;
        Ok(Standing {
            vouched,
            stale,
            by_non_reader: !drawer.reads_records(),
        })
    }

    /// The role in which somebody signed for the ring, if they might then.
    fn drawn_by(&self, ward: &Ward) -> Option<Role> {
        let message = signing_text(self.journal, self.ring, self.ring_id, self.drawn_at);
        if !is_theirs(self.by, &message, &self.signature) {
            return None;
        }
        let staff = ward.staff_by_key(&self.by)?;
        let standing = staff.standing_at(self.drawn_at.next())?;
        let role = standing.role;
        let might = role.reads_records() || role == Role::Keeper;
        (standing.key == Some(self.by) && !standing.suspended && might).then_some(role)
    }

    /// Whoever wrote it must be on the staff now: somebody who left could date a signature back.
    fn vouched(&self, ward: &Ward) -> Vouched {
        let written = self.written.as_ref().and_then(|written| {
            let signed = is_theirs(written.by, &all_of(self)?, &written.signature);
            let staff = ward.staff_by_key(&written.by).filter(|_| signed)?;
            (staff.key == Some(written.by) && !staff.is_suspended()).then_some(staff.role)
        });
        match written {
            Some(role) if role.reads_records() => Vouched::Reader,
            Some(_) => Vouched::Another,
            None => Vouched::Nobody,
        }
    }
}

fn is_theirs(key: PersonKey, message: &str, signature: &str) -> bool {
    let signature = from_hex(signature).and_then(|bytes| bytes.try_into().ok());
    signature.is_some_and(|one| is_signed_by(key, message.as_bytes(), &one))
}

/// What whoever writes the file signs: every field, one a line. `None` if one is no single line,
/// since two files could then be signed for at once.
fn all_of(file: &RingFile) -> Option<String> {
    let ring = signing_text(file.journal, file.ring, file.ring_id, file.drawn_at);
    let mut fields = vec![file.by.to_string(), file.signature.clone()];
    fields.push(format!("people {}", file.people.len()));
    for one in &file.people {
        fields.push(one.handle.as_str().to_owned());
        fields.push(one.reading.to_string());
        fields.extend([one.wrapped.enc.clone(), one.wrapped.sealed.clone()]);
    }
    fields.push(format!("recovery {}", file.recovery.iter().count()));
    if let Some(one) = &file.recovery {
        fields.push(one.reading.to_string());
        fields.extend([one.wrapped.enc.clone(), one.wrapped.sealed.clone()]);
    }
    fields.push(format!("keys {}", file.keys.len()));
    for one in &file.keys {
        fields.extend([one.id.to_string(), one.patient.to_string()]);
        fields.push(one.made_in.to_string());
        fields.extend([one.nonce.clone(), one.sealed.clone()]);
    }
    fields.push(format!("spoilt {}", file.spoilt.len()));
    fields.extend(file.spoilt.iter().map(|row| to_hex(row.as_bytes())));
    let single = !fields.iter().any(|field| field.contains('\n'));
    single.then(|| format!("handfast ring file 2\n{ring}\n{}", fields.join("\n")))
}

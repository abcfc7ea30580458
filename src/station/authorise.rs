//! Step 1: may this person write this?

use super::outcome::SubmitError;
use super::{Actor, Station};
use crate::journal::FileStore;
use crate::record::ids::Pseudonym;
use crate::record::kind::Kind;
use crate::record::kind::shift::HandoverMove;
use crate::record::rights;
use crate::record::role::Role;

/// Proof that somebody may write an entry of a kind, as the journal stands now. Only
/// [`Station::authorise`] makes one, and appending needs it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Authorised {
    /// The role in which they write.
    pub role: Role,
}

impl Station {
    /// Checks staff, key, suspension and the rights table.
    pub(super) fn authorise(&self, actor: &Actor, kind: Kind) -> Result<Authorised, SubmitError> {
        let not_staff = |why| SubmitError::NotStaff {
            handle: actor.handle.clone(),
            why,
        };
        let staff = self
            .ward()
            .staff(&actor.handle)
            .ok_or_else(|| not_staff("not enrolled"))?;
        if staff.key != Some(actor.key()) {
            return Err(not_staff(
                "the key was replaced since; lock and unlock again",
            ));
        }
        if staff.is_suspended() {
            return Err(not_staff("suspended"));
        }
        if !rights::may_write(staff.role, kind) {
            let allowed = rights::writers(kind);
            return Err(SubmitError::NotAllowed {
                role: staff.role,
                kind,
                allowed,
            });
        }
        Ok(Authorised { role: staff.role })
    }

    /// The same where the lock is held, so that a refusal goes into the access record.
    pub(super) fn authorise_under(
        &mut self,
        writer: &FileStore,
        actor: &Actor,
        kind: Kind,
        patient: Option<Pseudonym>,
    ) -> Result<Authorised, SubmitError> {
        let authorised = self.authorise(actor, kind);
        if let Err(refused) = &authorised {
            self.record_refusal_under(writer, actor, refused, patient);
        }
        authorised
    }
}

/// Taking over is for roles that can be in charge of a ward.
pub(super) fn check_in_charge(role: Role, step: HandoverMove) -> Result<(), SubmitError> {
    if rights::may_take_step(role, step) {
        return Ok(());
    }
    let takers: Vec<String> = rights::takers(step)
        .iter()
        .map(|role| role.with_article().to_owned())
        .collect();
    let verb = if step == HandoverMove::Accepted {
        "accepts"
    } else {
        "declines"
    };
    Err(SubmitError::refuse_field(
        "step",
        format!("{} does not settle a handover", role.with_article()),
        format!(
            "{} {verb} it; `handover query` asks about a patient",
            takers.join(" or ")
        ),
    ))
}

//! Who may write what: one table. The station asks it before an entry is written, the fold when
//! it takes one in, and verification of every entry that is there.

use crate::record::kind::Kind;
use crate::record::kind::shift::HandoverMove;
use crate::record::kind::ward::AmendmentAct;
use crate::record::person::Handle;
use crate::record::role::Role;

/// What each role may write. A letter grants: Assistant, registered Nurse, Ward sister,
/// visiting Clinician, Governance, Keeper.
const TABLE: &[(Kind, &str)] = &[
    //                       ANWCGK
    (Kind::WardOpened, /*      */ "-----K"),
    (Kind::StaffEnrolled, /*   */ "-----K"),
    (Kind::StaffChanged, /*    */ "-----K"),
    (Kind::PolicyChanged, /*   */ "--W---"),
    (Kind::Access, /*          */ "ANWCGK"),
    (Kind::DamageAccepted, /*  */ "-----K"),
    (Kind::Amendment, /*       */ "ANWC--"),
    (Kind::WardKey, /*         */ "-----K"),
    (Kind::Checkpoint, /*      */ "ANWCGK"),
    (Kind::Admission, /*       */ "-NW---"),
    (Kind::EpisodeChange, /*   */ "-NWC--"),
    (Kind::Discharge, /*       */ "-NWC--"),
    (Kind::Consent, /*         */ "ANWC--"),
    (Kind::Allocation, /*      */ "-NW---"),
    (Kind::RecordDestroyed, /* */ "----GK"),
    (Kind::Approval, /*        */ "----GK"),
    (Kind::RecoveryKey, /*     */ "-----K"),
    (Kind::Contact, /*         */ "ANWC--"),
    (Kind::Note, /*            */ "ANWC--"),
    (Kind::Observation, /*     */ "ANWC--"),
    (Kind::Alert, /*           */ "ANWC--"),
    (Kind::AlertStep, /*       */ "ANWC--"),
    (Kind::Escalation, /*      */ "ANWC--"),
    (Kind::EscalationStep, /*  */ "-NWC--"),
    (Kind::Wound, /*           */ "-NWC--"),
    (Kind::Dressing, /*        */ "ANWC--"),
    (Kind::Task, /*            */ "ANWC--"),
    (Kind::TaskStep, /*        */ "ANWC--"),
    (Kind::Sample, /*          */ "ANWC--"),
    (Kind::SampleStep, /*      */ "ANWC--"),
    (Kind::LabResult, /*       */ "-NWC--"),
    (Kind::ResultReview, /*    */ "-NWC--"),
    (Kind::Supply, /*          */ "ANWC--"),
    (Kind::SupplyStep, /*      */ "ANWC--"),
    (Kind::Dose, /*            */ "ANWC--"),
    (Kind::BodyLine, /*        */ "-NWC--"),
    (Kind::LineCare, /*        */ "-NWC--"),
    (Kind::Kit, /*             */ "ANWC--"),
    (Kind::KitStep, /*         */ "ANWC--"),
    (Kind::Shift, /*           */ "-NW---"),
    (Kind::Handover, /*        */ "-NW---"),
    (Kind::HandoverStep, /*    */ "ANW---"),
];

const LETTERS: [(Role, char); 6] = [
    (Role::Assistant, 'A'),
    (Role::Nurse, 'N'),
    (Role::Sister, 'W'),
    (Role::Clinician, 'C'),
    (Role::Governance, 'G'),
    (Role::Keeper, 'K'),
];

/// Whether a role may write entries of a kind.
#[must_use]
pub fn may_write(role: Role, kind: Kind) -> bool {
    let letter = LETTERS
        .iter()
        .find(|(known, _)| *known == role)
        .map(|(_, letter)| *letter);
    let row = TABLE
        .iter()
        .find(|(known, _)| *known == kind)
        .map(|(_, row)| *row);
    matches!((letter, row), (Some(letter), Some(row)) if row.contains(letter))
}

/// The roles that may write entries of a kind.
#[must_use]
pub fn writers(kind: Kind) -> Vec<Role> {
    Role::ALL
        .iter()
        .copied()
        .filter(|role| may_write(*role, kind))
        .collect()
}

/// Whether a role that may write steps of a handover may take this one. Whoever accepts or declines a
/// ward, or one patient of it, answers for what happens next: that takes a role that can be in charge.
/// A question is anybody's, and so is its answer.
#[must_use]
pub fn may_take_step(role: Role, step: HandoverMove) -> bool {
    match step {
        HandoverMove::Accepted | HandoverMove::Declined => {
            matches!(role, Role::Nurse | Role::Sister)
        }
        HandoverMove::Given | HandoverMove::Query | HandoverMove::Answer => {
            may_write(role, Kind::HandoverStep)
        }
    }
}

/// The roles that may take this step of a handover.
#[must_use]
pub fn takers(step: HandoverMove) -> Vec<Role> {
    let roles = Role::ALL.iter().copied();
    roles.filter(|role| may_take_step(*role, step)).collect()
}

/// May amend an entry: their own, or any for the ward sister.
#[must_use]
pub const fn may_amend(role: Role, own: bool) -> bool {
    own || matches!(role, Role::Sister)
}

/// Whether two people may destroy a record's keys: a keeper and a governance officer, and not
/// one person in two roles.
#[must_use]
pub fn may_destroy_together(first: (&Handle, Role), second: (&Handle, Role)) -> bool {
    let roles = (first.1, second.1);
    let both = matches!(
        roles,
        (Role::Keeper, Role::Governance) | (Role::Governance, Role::Keeper)
    );
    both && first.0 != second.0
}

/// Whether two people may accept damage, or work on from a backup: a keeper, and a governance officer or
/// another keeper.
#[must_use]
pub fn may_accept_together(keeper: (&Handle, Role), second: (&Handle, Role)) -> bool {
    let both = matches!(
        (keeper.1, second.1),
        (Role::Keeper, Role::Keeper | Role::Governance)
    );
    both && keeper.0 != second.0
}

/// Whether entries of a kind are ever amended. What the ward, its people and its handovers rest
/// on is superseded by a new entry instead.
#[must_use]
pub const fn may_be_amended(kind: Kind) -> bool {
    !matches!(
        kind,
        Kind::WardOpened
            | Kind::StaffEnrolled
            | Kind::StaffChanged
            | Kind::PolicyChanged
            | Kind::Access
            | Kind::DamageAccepted
            | Kind::WardKey
            | Kind::Checkpoint
            | Kind::RecordDestroyed
            | Kind::Approval
            | Kind::RecoveryKey
            | Kind::Handover
            | Kind::HandoverStep
    )
}

/// Whether fields of an entry are ever corrected. An amendment is withdrawn, and the entry it
/// amends corrected anew.
#[must_use]
pub const fn may_be_corrected(kind: Kind) -> bool {
    may_be_amended(kind) && !matches!(kind, Kind::Amendment)
}

/// Why an entry may not be amended by somebody.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotAmendable {
    /// Entries of its kind are never amended so.
    Kind(Kind),
    /// It is another's.
    Anothers,
}

/// Whether somebody may amend an entry so: of a kind that is amended, and their own or as the
/// ward sister. Of a kind that this program does not know only the second can be told.
///
/// # Errors
/// Why not.
pub const fn amending(
    act: AmendmentAct,
    target: Option<Kind>,
    role: Role,
    own: bool,
) -> Result<(), NotAmendable> {
    if let Some(kind) = target {
        let may = match act {
            AmendmentAct::Withdraw => may_be_amended(kind),
            AmendmentAct::Correct => may_be_corrected(kind),
        };
        if !may {
            return Err(NotAmendable::Kind(kind));
        }
    }
    if may_amend(role, own) {
        Ok(())
    } else {
        Err(NotAmendable::Anothers)
    }
}

/// May read key-safe codes: roles that visit.
#[must_use]
pub const fn may_read_key_safes(role: Role) -> bool {
    matches!(
        role,
        Role::Assistant | Role::Nurse | Role::Sister | Role::Clinician
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_one_row_and_at_least_one_writer() {
        for kind in Kind::ALL {
            let rows = TABLE.iter().filter(|(known, _)| known == kind).count();
            assert_eq!(rows, 1, "{} has {rows} rows", kind.name());
            assert!(
                !writers(*kind).is_empty(),
                "nobody may write {}",
                kind.name()
            );
        }
        assert!(TABLE.iter().all(|(_, row)| row.len() == LETTERS.len()));
    }

    #[test]
    fn governance_and_keeper_write_nothing_clinical() {
        // What they write themselves is never sealed, and nothing clinical is in it.
        for kind in Kind::ALL
            .iter()
            .filter(|kind| kind.code() >= 10 && kind.is_sealed())
        {
            assert!(!may_write(Role::Governance, *kind), "{}", kind.name());
            assert!(!may_write(Role::Keeper, *kind), "{}", kind.name());
        }
    }
}

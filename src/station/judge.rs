//! Was the author of each entry on the staff, with that key and role, and allowed to write
//! it, at that moment? Folds the staff entries as verification walks past them.

use crate::journal::SignedFrame;
use crate::journal::verify::AuthorJudge;
use crate::record::kind::{Body, Kind};
use crate::record::role::Role;
use crate::ward::{EntrySource, Read, Ward};

use super::rights;

/// Judges authors by the staff entries that came before.
#[derive(Default)]
pub struct RightsJudge {
    ward: Ward,
    founded: bool,
}

struct NoSource;

impl EntrySource for NoSource {
    fn entry(&self, _: crate::record::ids::Seq) -> Option<crate::record::entry::Entry> {
        None
    }
}

impl RightsJudge {
    /// Before the first entry.
    #[must_use]
    pub fn new() -> RightsJudge {
        RightsJudge::default()
    }

    fn verdict(&self, frame: &SignedFrame) -> Option<String> {
        let header = frame.header();
        let Some(staff) = self.ward.staff_by_key(&header.author) else {
            return Some("is signed by a key that nobody on the staff had".to_owned());
        };
        let Some(standing) = staff.standing_at(frame.seq()) else {
            return Some(format!(
                "is signed by {} before their enrolment",
                staff.handle
            ));
        };
        if standing.key != Some(header.author) {
            return Some(format!(
                "is signed with a key {} no longer had",
                staff.handle
            ));
        }
        if standing.suspended {
            return Some(format!("was written by {} while suspended", staff.handle));
        }
        let kind = Kind::from_code(header.kind)?;
        if !rights::may_write(standing.role, kind) {
            return Some(format!(
                "was written by {}, and {} may not write \"{}\"",
                staff.handle,
                standing.role.with_article(),
                kind.name()
            ));
        }
        None
    }
}

impl AuthorJudge for RightsJudge {
    fn judge(&mut self, frame: &SignedFrame) -> Option<String> {
        let read = Read::from_frame(frame);
        let Read::Entry(entry) = &read else {
            let Read::Unreadable(unreadable) = &read else {
                return None;
            };
            return self.verdict(frame).or_else(|| {
                // A known kind whose bytes do not fit it was not written by this program.
                Kind::from_code(unreadable.kind)
                    .map(|kind| format!("says it is \"{}\", and {}", kind.name(), unreadable.why))
            });
        };
        let staff_entry = matches!(
            entry.body,
            Body::WardOpened(_) | Body::StaffEnrolled(_) | Body::StaffChanged(_)
        );
        // The first two entries found the ward: it is opened, and its first keeper enrolled,
        // by the keeper's own key.
        let founding = !self.founded && frame.seq().0 <= 2;
        let found = match &entry.body {
            Body::WardOpened(_) if founding && frame.seq().0 == 1 => None,
            Body::StaffEnrolled(enrolled) if founding && frame.seq().0 == 2 => {
                self.founded = true;
                let own = enrolled.key == Some(entry.author) && enrolled.role == Role::Keeper;
                (!own).then(|| "should enrol the first keeper by the keeper's own key".to_owned())
            }
            _ => self.verdict(frame),
        };
        let wrong_role = self.ward.staff_by_key(&entry.author).and_then(|staff| {
            let standing = staff.standing_at(frame.seq())?;
            (standing.role != entry.envelope.role).then(|| {
                format!(
                    "says it was written as {}, and {} was {}",
                    entry.envelope.role.label().to_lowercase(),
                    staff.handle,
                    standing.role.label().to_lowercase()
                )
            })
        });
        if staff_entry && found.is_none() {
            self.ward.apply(entry, &NoSource);
        }
        found.or(wrong_role)
    }
}

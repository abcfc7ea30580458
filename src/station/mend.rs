//! Damage: what it is, and a keeper's word that writing may go on after it.

use super::outcome::{Receipt, SubmitError};
use super::submit::Decided;
use super::{Actor, Station};
use crate::journal::{DamageFinding, FileStore, OpenError, ReadError};
use crate::record::ids::{Digest, Seq};
use crate::record::kind::Kind;
use crate::record::kind::ward::{Approval, DamageAccepted, FourEyesAct};
use crate::record::person::Handle;
use crate::record::text::{NOTE_CHARS_MAX, Note};
use crate::ward::proof;
use crate::ward::second::{digest_of, reason_naming};

/// Everything that is known to be damaged and keeps entries from being written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DamageReport {
    /// One sentence for each place.
    pub places: Vec<String>,
    /// Names exactly these places.
    pub digest: Digest,
    /// Whether a place is a file that may simply not belong among the segments.
    pub names_a_segment: bool,
    /// Entries that count as written once the report is accepted: their authors may have been
    /// known in what was lost.
    pub waiting: Vec<Seq>,
    /// What the journal itself must be told is accepted, where its end is concerned.
    end: Option<Digest>,
    /// First and last of the entries concerned there.
    at_end: Vec<(Seq, Seq)>,
}

#[cfg(test)]
impl DamageReport {
    /// A report of these places, none of them at the journal's end.
    pub(super) fn of_places(places: Vec<String>) -> DamageReport {
        DamageReport {
            digest: digest_over(&places),
            places,
            names_a_segment: false,
            waiting: Vec::new(),
            end: None,
            at_end: Vec::new(),
        }
    }
}

fn is_a_segment(finding: &DamageFinding) -> bool {
    matches!(
        finding,
        DamageFinding::Gap { .. } | DamageFinding::NotAFile { .. }
    )
}

impl Station {
    /// The damage that keeps entries from being written, if there is any.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn damage(&self) -> Result<Option<DamageReport>, OpenError> {
        let end_report = FileStore::inspect(self.layout().root(), None)?;
        let end = &end_report;
        let mut places: Vec<String> = end.damaged.iter().map(ToString::to_string).collect();
        for place in self.unaccepted() {
            if !places.contains(&place) {
                places.push(place);
            }
        }
        if places.is_empty() {
            return Ok(None);
        }
        let digest = digest_over(&places);
        let at_end = end.damaged.iter().filter_map(extent).collect();
        let end = (!end.damaged.is_empty()).then_some(end.digest);
        Ok(Some(DamageReport {
            places,
            digest,
            waiting: self.waiting(),
            names_a_segment: end_report.damaged.iter().any(is_a_segment),
            end,
            at_end,
        }))
    }

    fn waiting(&self) -> Vec<Seq> {
        let doubtful = self.ward().doubtful().iter();
        doubtful
            .filter(|one| one.waits)
            .map(|one| one.seq)
            .collect()
    }

    /// The unfinished ends that opening after a stop has cut off, and where they lie: no damage, but
    /// whoever looks for something that is not in the log should know. And, first, what opening
    /// would cut now.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn cut_off(&self) -> Result<Vec<String>, OpenError> {
        let root = self.layout().root();
        let now = FileStore::inspect(root, None)?.cut;
        let now = now.map(|cut| {
            format!(
                "the journal ends in {} bytes of an append that was never finished; the next \
                 entry that is recorded has them cut off and put into {}",
                cut.bytes,
                cut.aside.display()
            )
        });
        let before = FileStore::lying_aside(root);
        Ok(now
            .into_iter()
            .chain(before.iter().map(ToString::to_string))
            .collect())
    }

    /// Accepts a damage report as keeper, and records who did and why. Nothing damaged is
    /// touched; writing goes on after it. A report that is too long for one entry is recorded
    /// in several, appended together; the receipt is the last one's.
    ///
    /// # Errors
    /// When the actor is no keeper, a second person is needed and is not there, the reason is too long, or the
    /// folder cannot be written.
    pub fn accept_damage(
        &mut self,
        actor: &Actor,
        second: Option<&Actor>,
        report: &DamageReport,
        reason: &str,
    ) -> Result<Receipt, SubmitError> {
        self.check_second(actor, second)?;
        // Encoded before the folder is told: an acceptance of the journal's end with no signed
        // entry behind it would be nobody's word.
        self.rehearse_acceptance(actor, report, reason)?;
        if let Some(end) = report.end {
            FileStore::accept_damage(self.layout().root(), end)?;
        }
        self.acknowledged = None;
        let writer = self.open_writer_whatever_is_damaged(actor)?;
        // Once its end is accepted the journal goes on behind it, and the same entries are
        // met by whoever reads past them, in a reader's words.
        let mut places = report.places.clone();
        for error in self.unreadable() {
            let within = |(first, last): &(Seq, Seq)| {
                concerned(error).is_some_and(|(a, b)| *first <= a && b <= *last)
            };
            if report.at_end.iter().any(within) && !places.contains(&error.to_string()) {
                places.push(error.to_string());
            }
        }
        let parts: Vec<Note> = in_parts(&places).into_iter().map(Note).collect();
        let digests: Vec<Digest> = parts.iter().map(digest_of).collect();
        let act = FourEyesAct::AcceptDamage;
        let approvals = self.approve(second, &writer, (act, &digests), reason)?;
        let decided = if approvals.is_empty() {
            self.acceptance(actor, parts, digest_over(&places), reason)?
        } else {
            self.acceptance_together(actor, parts, &approvals, reason)?
        };
        let mut receipts = self.append_all(actor, &writer, decided)?;
        let first = receipts.first().map(|receipt| receipt.seq);
        let (Some(first), Some(mut last)) = (first, receipts.pop()) else {
            return Err(super::submit::nothing_written());
        };
        if first < last.seq {
            let seq = last.seq;
            last.changed.insert(
                0,
                format!("the report is longer than an entry: it is in entries {first} to {seq}"),
            );
        }
        Ok(last)
    }

    /// Whether both the acceptance and the approval could be written, before anything is told.
    fn rehearse_acceptance(
        &mut self,
        actor: &Actor,
        report: &DamageReport,
        reason: &str,
    ) -> Result<(), SubmitError> {
        let parts = in_parts(&report.places).into_iter().map(Note).collect();
        for one in self.acceptance(actor, parts, report.digest, reason)? {
            self.new_entry(actor, one)?;
        }
        Ok(())
    }

    /// What a keeper alone accepts: as many entries as it takes, all naming the same report. Each one
    /// stands for the places that it lists.
    fn acceptance(
        &self,
        actor: &Actor,
        parts: Vec<Note>,
        report: Digest,
        reason: &str,
    ) -> Result<Vec<Decided>, SubmitError> {
        let authorised = self.authorise(actor, Kind::DamageAccepted)?;
        let accepted = parts.into_iter().map(|what| {
            let part = DamageAccepted {
                findings: report,
                what,
                reason: reason.into(),
            };
            Decided::about_ward(authorised, part.into())
        });
        Ok(accepted.collect())
    }

    /// The same by two: each entry names the digest of its own places, and the second person's entry that
    /// approves of exactly those.
    fn acceptance_together(
        &self,
        actor: &Actor,
        parts: Vec<Note>,
        approvals: &[Seq],
        reason: &str,
    ) -> Result<Vec<Decided>, SubmitError> {
        let mut decided = Vec::with_capacity(parts.len());
        for (part, approval) in parts.into_iter().zip(approvals) {
            let digest = digest_of(&part);
            let one = self.acceptance(actor, vec![part], digest, reason)?;
            decided.extend(one.into_iter().map(|one| one.related(Some(*approval))));
        }
        Ok(decided)
    }

    /// Whether somebody else is needed beside this keeper, and is the right one.
    pub(super) fn check_second(
        &self,
        actor: &Actor,
        second: Option<&Actor>,
    ) -> Result<(), SubmitError> {
        if let Some(second) = second {
            self.authorise(second, Kind::Approval)?;
        }
        let could = self.ward().could_be_second(&actor.handle);
        let fits = second.is_some_and(|second| could.contains(&second.handle));
        if fits || (could.is_empty() && second.is_none()) {
            return Ok(());
        }
        let named: Vec<&str> = could.iter().map(Handle::as_str).collect();
        Err(match second {
            None => SubmitError::refuse_field(
                "second",
                "this takes two people",
                format!(
                    "a second person, who looks at it and unlocks, too: {}. If nobody of these is there any more, the \
                     keeper first suspends them (`staff suspend`), gives them a new key (`staff new-key`) or enrols \
                     somebody (`staff add`), which is written while damage waits",
                    named.join(" or ")
                ),
            ),
            Some(second) => SubmitError::refuse_field(
                "second",
                format!("{} cannot be the second person here", second.handle),
                match named.as_slice() {
                    [] => "nobody: this keeper alone is enough here".to_owned(),
                    named => named.join(" or "),
                },
            ),
        })
    }

    /// The second person's entries, ahead of the keeper's: one for each that the keeper is to write. None
    /// where nobody else is needed.
    pub(super) fn approve(
        &mut self,
        second: Option<&Actor>,
        writer: &FileStore,
        (act, reports): (FourEyesAct, &[Digest]),
        reason: &str,
    ) -> Result<Vec<Seq>, SubmitError> {
        let Some(second) = second else {
            return Ok(Vec::new());
        };
        let authorised = self.authorise(second, Kind::Approval)?;
        let approves = |report: &Digest| {
            let body = Approval {
                act,
                reason: reason_naming(*report, reason).as_str().into(),
            };
            Decided::about_ward(authorised, body.into())
        };
        let decided = reports.iter().map(approves).collect();
        let receipts = self.append_without_checkpoint(second, writer, decided)?;
        Ok(receipts.iter().map(|receipt| receipt.seq).collect())
    }

    /// Damage, losses and entries in doubt that no acceptance covers. An acceptance covers
    /// exactly the findings it lists: whatever is found later is new, also further back.
    fn unaccepted(&self) -> Vec<String> {
        let accepted = self.ward().damage_accepted();
        let mut places = places_of(self.unreadable());
        places.extend(super::lost_since(self.ward()));
        places.extend(proof::in_words(self.ward().doubtful()));
        places.retain(|place| !accepted.contains(place));
        places
    }

    /// The writer for a keeper's change of staff. Where damage waits for a second person, it waits for
    /// nobody who left, lost their key or is not there yet: staff may change, and nothing else is written.
    /// `check` is what must hold before the journal is let go on behind a damaged end.
    pub(super) fn open_writer_for_staff<T>(
        &mut self,
        actor: &Actor,
        check: &dyn Fn(&Station) -> Result<T, SubmitError>,
    ) -> Result<FileStore, SubmitError> {
        let waits = !self.ward().could_be_second(&actor.handle).is_empty();
        let keeper = self.authorise(actor, Kind::DamageAccepted).is_ok();
        if !waits || !keeper {
            return self.open_writer(actor);
        }
        let root = self.layout().root();
        let end = FileStore::inspect(root, None)?;
        if end.damaged.is_empty() {
            return self.open_writer_whatever_is_damaged(actor);
        }
        // What the journal's end lacks must still be met by whoever reads on behind it, or the change
        // would hide what nobody accepted.
        if !end.damaged.iter().all(is_met_by_readers) {
            return self.open_writer(actor);
        }
        check(self)?;
        FileStore::accept_damage(self.layout().root(), end.digest)?;
        self.acknowledged = None;
        self.open_writer_whatever_is_damaged(actor)
    }

    /// Writing waits for a keeper while something recorded is known to be damaged.
    pub(super) fn check_damage_is_accepted(&self) -> Result<(), SubmitError> {
        let places = self.unaccepted();
        if places.is_empty() {
            Ok(())
        } else {
            Err(SubmitError::Damaged { places })
        }
    }
}

/// Names exactly these places.
fn digest_over(places: &[String]) -> Digest {
    Digest(*blake3::hash(places.join("\n").as_bytes()).as_bytes())
}

/// The places, one a line, in texts no longer than a note may be.
fn in_parts(places: &[String]) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    let mut chars = 0;
    for place in places {
        let more = place.chars().count() + 1;
        match parts.last_mut() {
            Some(part) if chars + more <= NOTE_CHARS_MAX => {
                part.push('\n');
                part.push_str(place);
                chars += more;
            }
            _ => {
                parts.push(place.clone());
                chars = more;
            }
        }
    }
    parts
}

fn places_of(errors: &[ReadError]) -> Vec<String> {
    errors.iter().map(ToString::to_string).collect()
}

/// Whether what is wrong with the journal's end still shows once it goes on behind it.
const fn is_met_by_readers(finding: &DamageFinding) -> bool {
    matches!(
        finding,
        DamageFinding::Entries { .. } | DamageFinding::Missing { .. }
    )
}

/// First and last entry of a finding about the journal's end.
fn extent(finding: &DamageFinding) -> Option<(Seq, Seq)> {
    match finding {
        DamageFinding::Entries { first, last, .. } | DamageFinding::Missing { first, last } => {
            Some((*first, *last))
        }
        DamageFinding::Replaced { seq, .. } => Some((*seq, *seq)),
        DamageFinding::Gap { .. }
        | DamageFinding::NotAFile { .. }
        | DamageFinding::Stray { .. }
        | DamageFinding::Header { .. }
        | DamageFinding::Foreign { .. } => None,
    }
}

/// First and last entry that cannot be had; none where a whole file cannot be read.
pub(super) fn concerned(error: &ReadError) -> Option<(Seq, Seq)> {
    match error {
        ReadError::Damaged { seq, last, .. } => Some((*seq, *last)),
        ReadError::Missing { first, last } => Some((*first, *last)),
        ReadError::NewerFormat { .. } | ReadError::Unreadable { .. } => None,
    }
}

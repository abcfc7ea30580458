//! Was the author of each entry on the staff, with that key and role, and allowed to write
//! it, at that moment? Folds the staff and handover entries as verification walks past them,
//! and asks the same rules that `submit` asks (`rights`, `rules`).
//!
//! Not judged, because it needs the ward as it stood: whether what a reference names still stood,
//! and whether a sheet drawn again is the one that was prepared.

mod told;

use std::collections::BTreeMap;

use crate::journal::SignedFrame;
use crate::journal::tree::Grown;
use crate::journal::verify::{AuthorJudge, NotJudged};
use crate::record::codec;
use crate::record::entry::Entry;
use crate::record::ids::{PersonKey, Pseudonym, Seq};
use crate::record::kind::proof::StatedTree;
use crate::record::kind::shift::{Handover, HandoverMove, HandoverStep};
use crate::record::kind::ward::{
    Amendment, RecordDestroyed, Replacement, StaffChanged, StaffEnrolled, StaffMove,
};
use crate::record::kind::{Body, Kind};
use crate::record::person::Handle;
use crate::record::rights::{self, NotAmendable};
use crate::record::role::Role;
use crate::record::time::{Timestamp, WardZone};
use crate::ward::proof::Founding;
use crate::ward::{EntrySource, Read, Unreadable, Ward, rules};
use told::Told;

/// Judges authors by the entries that came before.
#[derive(Default)]
pub struct RightsJudge {
    ward: Ward,
    /// Who wrote each entry, and of which kind.
    told: Told,
    /// Entries of kinds that are not known here, by kind: the first, and how many.
    unknown: BTreeMap<u16, (Seq, u64)>,
    /// When the entry before was recorded.
    before: Option<Timestamp>,
    unjudged: u64,
    /// The clock of the computer that verifies, until an entry is found to be ahead of it.
    now: Option<Timestamp>,
    /// Every key that was announced as the ward's own, oldest first.
    ward_keys: Vec<PersonKey>,
}

struct NoSource;

impl EntrySource for NoSource {
    fn entry(&self, _: Seq) -> Option<Entry> {
        None
    }
}

impl RightsJudge {
    /// Whether the first entry says that everybody in the journal is invented.
    #[must_use]
    pub fn is_teaching(&self) -> bool {
        self.ward.opened().is_some_and(|opened| opened.teaching)
    }

    /// What the ward is called by its first entry.
    #[must_use]
    pub fn ward_name(&self) -> Option<&str> {
        self.ward.opened().map(|opened| opened.name.as_str())
    }

    /// Every key that a keeper announced as the ward's own, oldest first.
    #[must_use]
    pub fn ward_keys(&self) -> &[PersonKey] {
        &self.ward_keys
    }

    /// Judges an entry that is shown without those around it: its author, their key, role and right.
    /// Of what it refers to only an amendment's target is looked at, and only if that was shown before.
    pub fn judge_alone(&mut self, frame: &SignedFrame) -> Option<String> {
        let read = Read::from_frame(frame);
        let found = match &read {
            Read::Unreadable(_) => self.author(frame),
            Read::Entry(entry) => match (self.ward.founding(entry), &entry.body) {
                (Founding::Neither, Body::Amendment(amendment)) => self
                    .author(frame)
                    .or_else(|| self.role(entry))
                    .or_else(|| self.amendment(entry, amendment)),
                (Founding::Neither, body) if !is_about_people(body) => {
                    self.author(frame).or_else(|| self.role(entry))
                }
                _ => self.entry(entry, frame),
            },
        };
        let header = frame.header();
        self.told
            .take(frame.seq(), header.kind, header.author, header.patient);
        found
    }

    /// Before the first entry.
    #[must_use]
    pub fn new() -> RightsJudge {
        RightsJudge::default()
    }

    /// The same, where it is known what time it is: entries from a time to come are found.
    #[must_use]
    pub fn at(now: Timestamp) -> RightsJudge {
        RightsJudge {
            now: Some(now),
            ..RightsJudge::default()
        }
    }

    /// The name of whoever had a key, for showing findings.
    #[must_use]
    pub fn name_of(&self, key: &PersonKey) -> Option<&str> {
        self.ward.staff_by_key(key).map(|staff| staff.name.as_str())
    }

    fn count_unknown(&mut self, kind: u16, seq: Seq) {
        if Kind::from_code(kind).is_none() {
            self.unknown.entry(kind).or_insert((seq, 0)).1 += 1;
        }
    }

    /// The ward's clock, for showing findings.
    #[must_use]
    pub fn zone(&self) -> WardZone {
        self.ward.zone()
    }

    /// Whether the author was on the staff and may write the kind.
    fn author(&self, frame: &SignedFrame) -> Option<String> {
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

    fn role(&self, entry: &Entry) -> Option<String> {
        let staff = self.ward.staff_by_key(&entry.author)?;
        let standing = staff.standing_at(entry.seq)?;
        (standing.role != entry.envelope.role).then(|| {
            format!(
                "says it was written as {}, and {} was {}",
                entry.envelope.role.label().to_lowercase(),
                staff.handle,
                standing.role.label().to_lowercase()
            )
        })
    }

    /// A sealed entry: who wrote it is judged, what it says cannot be.
    fn sealed(&mut self, unreadable: &Unreadable) -> Option<String> {
        let kind = Kind::from_code(unreadable.kind)?;
        if !kind.is_sealed() {
            return Some(format!(
                "is sealed, and a \"{}\" entry never is",
                kind.name()
            ));
        }
        if !self.ward.is_sealed() {
            return Some("is sealed, in a journal that no recovery key was made for".to_owned());
        }
        self.unjudged += 1;
        None
    }

    /// In a sealed journal nothing of a patient lies in clear.
    fn in_clear(&self, entry: &Entry) -> Option<String> {
        let begun = self
            .ward
            .sealing()
            .begun()
            .filter(|_| entry.kind().is_sealed())?;
        Some(format!(
            "lies in clear, and from {} on records are sealed",
            begun.since
        ))
    }

    /// Sealed entries of which only the author, the place and the signature were judged.
    #[must_use]
    pub const fn unjudged(&self) -> u64 {
        self.unjudged
    }

    /// Whether two people agreed to what takes two.
    fn destroyed(&self, entry: &Entry, named: &RecordDestroyed) -> Option<String> {
        let Some(patient) = entry.patient else {
            return Some("destroys the record of nobody".to_owned());
        };
        let by = &self.ward.staff_by_key(&entry.author)?.handle;
        let second = (by, entry.envelope.role);
        let when = (entry.recorded_at, self.told.open_stay(patient));
        let sealing = self.ward.sealing();
        let may = sealing.may_destroy(named.approval, patient, second, when);
        may.err().map(str::to_owned)
    }

    /// What each kind must hold to beside its author.
    fn body(&self, entry: &Entry, frame: &SignedFrame) -> Option<String> {
        match &entry.body {
            Body::StaffEnrolled(enrolled) => self.enrolled(enrolled),
            Body::StaffChanged(changed) => self.changed(changed),
            Body::Amendment(amendment) => self.amendment(entry, amendment),
            Body::RecordDestroyed(named) => self.destroyed(entry, named),
            Body::DamageAccepted(accepted) => {
                self.ward.lacks_second(entry, accepted).map(str::to_owned)
            }
            Body::Handover(handover) => prepared(entry, handover, frame),
            Body::HandoverStep(step) => self.handover_step(entry, step),
            _ => None,
        }
        .or_else(|| self.references(entry))
    }

    fn enrolled(&self, enrolled: &StaffEnrolled) -> Option<String> {
        let handle = &enrolled.handle;
        if Handle::parse(handle.as_str()).as_ref() != Some(handle) {
            return Some(format!("enrols {:?}, which is no handle", handle.as_str()));
        }
        if self.ward.staff(handle).is_some() {
            return Some(format!("enrols {handle}, a handle that is taken"));
        }
        let other = self.ward.staff_by_key(&enrolled.key?)?;
        Some(format!("enrols {handle} with the key of {}", other.handle))
    }

    fn changed(&self, changed: &StaffChanged) -> Option<String> {
        let handle = &changed.handle;
        if self.ward.staff(handle).is_none() {
            return Some(format!(
                "changes {:?}, who was never enrolled",
                handle.as_str()
            ));
        }
        if rules::leaves_no_keeper(&self.ward, changed) {
            return Some(format!("leaves no keeper: {handle} is the last"));
        }
        let replaced = changed.change == StaffMove::KeyReplaced;
        let other = self.ward.staff_by_key(&changed.key.filter(|_| replaced)?)?;
        (other.handle != *handle).then(|| format!("gives {handle} the key of {}", other.handle))
    }

    /// Whether what an entry names was there, is of the right kind and of the same patient.
    fn references(&self, entry: &Entry) -> Option<String> {
        let patient = entry.patient.unwrap_or(Pseudonym::ZERO);
        for (seq, ledger) in references(&entry.body) {
            if seq >= entry.seq {
                return Some(format!("names {seq}, which was not there yet"));
            }
            // One that is damaged or missing is a finding of its own.
            let Some(told) = self.told.about(seq) else {
                continue;
            };
            let Some((kinds, what)) = ledger else {
                continue;
            };
            let known = Kind::from_code(told.kind);
            if known.is_some_and(|kind| !kinds.contains(&kind)) {
                return Some(format!("names {seq} as {what}, and it is none"));
            }
            if told.patient != patient {
                return Some(format!("names {seq}, which is of another record"));
            }
        }
        None
    }

    fn amendment(&self, entry: &Entry, amendment: &Amendment) -> Option<String> {
        let target = amendment.target;
        if target >= entry.seq {
            return Some(format!("amends {target}, which was not there yet"));
        }
        // A target that is damaged or missing is a finding of its own.
        let told = self.told.about(target)?;
        if told.patient != entry.patient.unwrap_or(Pseudonym::ZERO) {
            return Some(format!("amends {target}, which is of another record"));
        }
        if self.told.is_withdrawn(target) {
            return Some(format!("amends {target}, which was withdrawn before"));
        }
        let kind = Kind::from_code(told.kind);
        let writer = self.ward.staff_by_key(&told.author);
        let amender = self.ward.staff_by_key(&entry.author)?;
        let own = writer.is_some_and(|writer| writer.handle == amender.handle);
        let role = amender.standing_at(entry.seq)?.role;
        match rights::amending(amendment.act, kind, role, own) {
            Ok(()) => {}
            Err(NotAmendable::Kind(kind)) => {
                return Some(format!(
                    "amends {target}, and a \"{}\" entry is never amended so",
                    kind.name()
                ));
            }
            Err(NotAmendable::Anothers) => {
                let whose = writer.map_or("somebody unknown", |writer| writer.handle.as_str());
                return Some(format!(
                    "was written by {}, and amends {target}, which {whose} wrote",
                    amender.handle
                ));
            }
        }
        replacement(entry, amendment.replacement.as_ref()?, kind?)
    }

    fn handover_step(&self, entry: &Entry, step: &HandoverStep) -> Option<String> {
        let Some(life) = self.ward.handovers().get(&step.handover) else {
            return Some(format!(
                "is a step of {}, which is no handover prepared before",
                step.handover
            ));
        };
        let staff = self.ward.staff_by_key(&entry.author)?;
        let (by, role) = (&staff.handle, staff.standing_at(entry.seq)?.role);
        if !rights::may_take_step(role, step.step) {
            return Some(format!(
                "was written by {by}, and {} may not settle a handover: it is {}",
                role.with_article(),
                step.step.label()
            ));
        }
        let accepts = step.step == HandoverMove::Accepted;
        rules::broken_step(life, step, by, entry.patient).or_else(|| {
            let unnamed = accepts && step.digest.is_none();
            unnamed.then(|| format!("accepts no sheet of {}", step.handover))
        })
    }

    /// Clocks: nothing happens after it was recorded, and computers agree within a day.
    fn times(&mut self, frame: &SignedFrame, read: &Read) -> Option<String> {
        let recorded = frame.header().recorded_at;
        let before = self.before.replace(recorded);
        if let Read::Entry(entry) = read
            && rules::is_to_come(entry.envelope.occurred_at, recorded)
        {
            return Some(rules::to_come(entry.envelope.occurred_at, recorded));
        }
        if let Some(before) = before
            && rules::is_far_ahead(before, recorded)
        {
            return Some(format!(
                "was recorded {} before the entry before it: the clock of one of the two was wrong",
                before.since(recorded).spoken()
            ));
        }
        // A teaching journal's clock is its story's.
        let teaching = self.ward.opened().is_some_and(|opened| opened.teaching);
        let now = self.now.filter(|_| !teaching && frame.seq().0 > 1)?;
        if !rules::is_far_ahead(recorded, now) {
            return None;
        }
        // One word about a clock is enough.
        self.now = None;
        Some(format!(
            "was recorded {} after this computer's present time: the clock there or here is wrong",
            recorded.since(now).spoken()
        ))
    }

    fn entry(&mut self, entry: &Entry, frame: &SignedFrame) -> Option<String> {
        let by = match self.ward.founding(entry) {
            Founding::Neither => self.author(frame),
            Founding::Holds => (entry.envelope.role != Role::Keeper)
                .then(|| "should be written as keeper".to_owned()),
            Founding::Broken(how) => Some(how.to_owned()),
        };
        let found = by.or_else(|| self.body(entry, frame));
        let role = self.role(entry);
        let lasting = matches!(
            entry.body,
            Body::WardOpened(_)
                | Body::StaffEnrolled(_)
                | Body::StaffChanged(_)
                | Body::WardKey(_)
                | Body::RecoveryKey(_)
                | Body::Approval(_)
                | Body::RecordDestroyed(_)
                | Body::Handover(_)
                | Body::HandoverStep(_)
        );
        if lasting && found.is_none() {
            self.ward.apply(entry, &NoSource);
            if let Body::WardKey(made) = &entry.body {
                self.ward_keys.extend(made.key);
            }
        }
        if let (Body::DamageAccepted(accepted), None) = (&entry.body, &found) {
            self.ward.use_up_approval(entry, accepted);
        }
        if let (Body::Amendment(amendment), None) = (&entry.body, &found) {
            self.told.amend(entry.seq, amendment);
        }
        found.or(role)
    }
}

impl AuthorJudge for RightsJudge {
    fn judge_after(&mut self, frame: &SignedFrame, before: &Grown) -> Option<String> {
        let found = self.judge(frame);
        if frame.header().kind != Kind::Checkpoint.code() {
            return found;
        }
        let stated = match Read::from_frame(frame) {
            Read::Entry(entry) => stated(&entry, before),
            Read::Unreadable(_) => None,
        };
        match (found, stated) {
            (Some(found), Some(stated)) => Some(format!("{found}; and {stated}")),
            (found, stated) => found.or(stated),
        }
    }

    fn judge(&mut self, frame: &SignedFrame) -> Option<String> {
        let read = Read::from_frame(frame);
        let header = frame.header();
        self.ward.stand_in(frame.seq());
        let found = match &read {
            Read::Entry(entry) => self.entry(entry, frame).or_else(|| self.in_clear(entry)),
            Read::Unreadable(unreadable) if unreadable.sealed.is_some() => {
                self.author(frame).or_else(|| {
                    self.count_unknown(unreadable.kind, frame.seq());
                    self.sealed(unreadable)
                })
            }
            Read::Unreadable(unreadable) => self.author(frame).or_else(|| {
                self.count_unknown(unreadable.kind, frame.seq());
                // A known kind whose bytes do not fit it was not written by this program.
                Kind::from_code(unreadable.kind)
                    .map(|kind| format!("says it is \"{}\", and {}", kind.name(), unreadable.why))
            }),
        };
        self.told
            .take(frame.seq(), header.kind, header.author, header.patient);
        let times = self.times(frame, &read);
        match (found, times) {
            (Some(found), Some(times)) => Some(format!("{found}; and it {times}")),
            (found, times) => found.or(times),
        }
    }

    fn not_judged(&self) -> Vec<NotJudged> {
        let unknown = self.unknown.iter();
        unknown
            .map(|(kind, (first, entries))| NotJudged {
                kind: *kind,
                entries: *entries,
                first: *first,
            })
            .collect()
    }
}

/// What a reference may name, and what that is called.
type Ledger = (&'static [Kind], &'static str);

/// A worry in a contact or a set of observations is an alert too.
const ALERTS: Ledger = (&[Kind::Alert, Kind::Contact, Kind::Observation], "an alert");

/// The entries that a body names, and the ledger each must be in; none where any entry will do.
/// What amendments and handovers name is looked at by itself.
fn references(body: &Body) -> Vec<(Seq, Option<Ledger>)> {
    let one = |seq: Seq, ledger: Ledger| vec![(seq, Some(ledger))];
    let any = |seq: Option<Seq>| seq.map(|seq| (seq, None)).into_iter().collect();
    match body {
        Body::Alert(alert) => any(alert.from),
        Body::AlertStep(step) => one(step.alert, ALERTS),
        Body::Contact(contact) => {
            let answers = contact.answers.into_iter();
            answers.map(|seq| (seq, Some(ALERTS))).collect()
        }
        Body::Observation(set) => any(set.during),
        Body::Escalation(made) => any(made.about),
        Body::EscalationStep(step) => one(step.escalation, (&[Kind::Escalation], "an escalation")),
        Body::Task(task) => any(task.source),
        Body::TaskStep(step) => {
            let mut named = one(step.task, (&[Kind::Task], "a task"));
            named.extend(step.by_entry.map(|seq| (seq, None)));
            named
        }
        Body::Sample(sample) => any(sample.source),
        Body::SampleStep(step) => one(step.sample, (&[Kind::Sample], "a sample")),
        Body::LabResult(result) => {
            let sample = result.sample.into_iter();
            sample
                .map(|seq| (seq, Some((&[Kind::Sample] as &[Kind], "a sample"))))
                .collect()
        }
        Body::ResultReview(review) => one(review.result, (&[Kind::LabResult], "a result")),
        Body::SupplyStep(step) => one(step.supply, (&[Kind::Supply], "a supply")),
        Body::LineCare(care) => one(care.line, (&[Kind::BodyLine], "a line or device")),
        Body::KitStep(step) => one(step.kit, (&[Kind::Kit], "issued kit")),
        Body::HandoverStep(step) => any(step.query),
        _ => Vec::new(),
    }
}

/// A handover names its sheet, which is drawn from everything before it.
fn prepared(entry: &Entry, handover: &Handover, frame: &SignedFrame) -> Option<String> {
    if handover.sheet.is_none() {
        return Some("prepares a handover without a sheet".to_owned());
    }
    let before = Seq(entry.seq.0.saturating_sub(1));
    rules::drawn_from(handover, entry.seq, (before, frame.header().prev))
}

/// A correction keeps the kind, and corrects nothing to a time that was still to come.
fn replacement(entry: &Entry, new: &Replacement, kind: Kind) -> Option<String> {
    if new.kind != kind.code() {
        return Some(format!(
            "corrects \"{}\" into another kind of entry",
            kind.name()
        ));
    }
    match codec::decode(new.kind, new.version, codec::ENCODING, &new.payload) {
        Err(error) => Some(format!("corrects to what cannot be read: {error}")),
        Ok((envelope, _)) if rules::is_to_come(envelope.occurred_at, entry.recorded_at) => {
            Some(rules::CORRECTED_TO_COME.to_owned())
        }
        Ok(_) => None,
    }
}

/// What a checkpoint states of the entries before it, held against them. What was lost since cannot
/// be held against anything, and is a finding of its own.
fn stated(entry: &Entry, before: &Grown) -> Option<String> {
    let Body::Checkpoint(checkpoint) = &entry.body else {
        return None;
    };
    let Some(stated) = &checkpoint.stated else {
        return Some("states nothing of the entries before it".to_owned());
    };
    let there = StatedTree {
        size: before.size(),
        root: before.root(),
        patients: before.tally().patients(),
        patients_root: before.patients_root(),
    };
    if *stated == there || before.has_gaps() {
        return None;
    }
    Some(if (stated.size, stated.root) == (there.size, there.root) {
        format!(
            "states of {} patients what is not so: by the entries before it there are {}, with \
             another record for at least one",
            stated.patients, there.patients
        )
    } else {
        format!(
            "states other entries than are before it: {} with root {}, and there are {} with root {}",
            stated.size, stated.root, there.size, there.root
        )
    })
}

/// Whether what follows is judged by it.
const fn is_about_people(body: &Body) -> bool {
    matches!(
        body,
        Body::StaffEnrolled(_) | Body::StaffChanged(_) | Body::WardKey(_)
    )
}

//! Projections: folds over the journal's entries into what the ward looks like.
//!
//! The fold is deterministic: the same entries give the same ward on every machine. It reads
//! no clock; whatever depends on the moment takes it as an argument. "As of" is a fold over
//! fewer entries. An amendment draws its patient anew from the entries that still stand.

pub mod alerts;
pub mod caseload;
pub mod draw;
pub mod due;
pub mod escalations;
mod fold;
pub mod held;
pub mod index;
pub mod log;
pub mod observations;
pub mod open;
pub mod patient;
pub mod policy;
pub mod proof;
mod read;
mod redraw;
pub mod report;
pub mod rules;
pub mod samples;
pub mod sealed;
pub mod second;
pub mod shifts;
pub mod staff;
pub mod supplies;
pub mod tasks;
pub mod workings;
pub mod wounds;

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::record::entry::Entry;
use crate::record::ids::{EntryHash, PersonKey, Pseudonym, Seq};
use crate::record::kind::shift::{HandoverStep, Shift};
use crate::record::kind::ward::Access;
use crate::record::kind::{Body, Kind};
use crate::record::person::Handle;
use crate::record::time::{Timestamp, WardZone};

pub use caseload::Found;
pub use held::{Author, Held, Stamp};
pub use log::{Log, LogLine, Standing};
pub use patient::{Episode, Ledgers, Patient};
pub use read::{Read, Unreadable};

use policy::Policy;
use proof::{Checked, Doubt, Doubtful};
use shifts::{HandoverLife, HandoverStepHeld};
use staff::{Roster, Staff};

/// Where the fold gets earlier entries from when something is amended.
pub trait EntrySource {
    /// One entry, as written.
    fn entry(&self, seq: Seq) -> Option<Entry>;
}

/// What the first entry says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Opened {
    /// The ward's name.
    pub name: String,
    /// The ward's clock.
    pub zone: WardZone,
    /// Invented patients only.
    pub teaching: bool,
}

/// Somebody opened, printed or exported a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AccessHeld {
    /// Who, when, what.
    pub held: Held<Access>,
    /// Whose record; none for the ward.
    pub patient: Option<Pseudonym>,
}

/// What concerns the ward and no single patient, and can be amended.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Common {
    log: Log,
    ledgers: Ledgers,
    shifts: Vec<Held<Shift>>,
    handovers: BTreeMap<Seq, HandoverLife>,
}

/// The ward, drawn from a journal's entries.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ward {
    opened: Option<Opened>,
    head: Option<(Seq, EntryHash)>,
    newest_recorded_at: Timestamp,
    roster: Roster,
    /// Whose key signed the first entry: the first keeper's, also where their enrolment is lost.
    opener: Option<PersonKey>,
    policy: Policy,
    common: Common,
    patients: BTreeMap<Pseudonym, Patient>,
    accesses: Vec<AccessHeld>,
    doubtful: Vec<Doubtful>,
    loss: Loss,
    sealing: sealed::Sealing,
    /// Places that keepers have accepted as damaged, each in the words of its finding.
    damage_accepted: BTreeSet<String>,
    ward_key: Option<PersonKey>,
    /// The newest checkpoint: its entry, and when it was recorded.
    checkpoint: Option<(Seq, Timestamp)>,
    /// What the first entry will say, of a ward drawn as of a moment before it.
    #[serde(skip)]
    opens_later: Option<Opened>,
}

/// What is in the journal and not in the ward.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Loss {
    /// What was read past because it is damaged, missing, or of a newer program, in words, until
    /// a keeper accepts exactly that: what it said about staff, for one, is not known here.
    met: BTreeSet<String>,
    /// Entries were left out because they were not asked for.
    left_out: bool,
    /// Entries this program cannot read, though they are intact.
    unreadable: BTreeMap<Seq, u16>,
    /// Entries that were read before, and could not be when their record was drawn anew.
    since_read: BTreeSet<Seq>,
}

const fn is_of_handover(body: &Body) -> bool {
    matches!(body, Body::Handover(_) | Body::HandoverStep(_))
}

fn is_wound(entry: &Entry) -> bool {
    matches!(entry.body, Body::Wound(_))
}

/// Many entries on their way into a ward. Nothing is sure until [`Batch::finish`].
pub struct Batch<'a> {
    ward: &'a mut Ward,
    source: &'a dyn EntrySource,
    /// Records that were amended; what comes later for them waits in their log.
    stale: BTreeSet<Option<Pseudonym>>,
}

impl Batch<'_> {
    /// Takes in the next entry of the journal, whose signature holds.
    pub fn apply(&mut self, entry: &Entry) {
        self.apply_checked(entry, Checked::SIGNED);
    }

    /// Takes in the next entry, and what was found out about it.
    pub fn apply_checked(&mut self, entry: &Entry, checked: Checked) {
        let (stamp, limited) = self.ward.enter(entry, checked);
        // Handovers are never amended, and the steps that follow are judged by them.
        let waits = self.stale.contains(&entry.patient) && !is_of_handover(&entry.body);
        if !limited && self.ward.amends(entry) {
            self.stale.insert(entry.patient);
        } else if !waits {
            self.ward.take(entry, &stamp, limited);
        }
        for seq in self.ward.now_vouched_for(entry) {
            self.stale.extend(self.ward.let_count(seq, self.source));
        }
    }

    /// Takes in the next entry, which this program cannot read, and whether its signature holds.
    pub fn apply_unreadable(&mut self, unreadable: &Unreadable, signed: bool) {
        self.ward.apply_unreadable(unreadable, signed);
    }

    /// Takes note that entries here are damaged or missing, in the words in which a keeper
    /// accepts that.
    pub fn pass_over_loss(&mut self, what: &str) {
        self.ward.loss.met.insert(what.to_owned());
        // All there was before is the first entry.
        self.ward.stand_in(Seq(3));
    }

    /// Takes note that an entry here is not wanted.
    pub fn leave_out(&mut self) {
        self.ward.loss.left_out = true;
    }

    /// Draws anew what was amended, and says which records those are.
    pub fn finish(self) -> BTreeSet<Option<Pseudonym>> {
        for record in &self.stale {
            self.ward.redraw(*record, self.source);
        }
        self.stale
    }
}

impl Ward {
    /// Before the first entry.
    #[must_use]
    pub fn new() -> Ward {
        Ward::default()
    }

    /// Takes in the next entry of the journal, whose signature holds.
    pub fn apply(&mut self, entry: &Entry, source: &dyn EntrySource) {
        let mut batch = self.batch(source);
        batch.apply(entry);
        batch.finish();
    }

    /// Begins taking in many entries, after which whatever was amended is drawn anew once.
    pub fn batch<'a>(&'a mut self, source: &'a dyn EntrySource) -> Batch<'a> {
        Batch {
            ward: self,
            source,
            stale: BTreeSet::new(),
        }
    }

    /// Puts an entry into its log, with what no amendment undoes. Says also whether only what
    /// the entry opens counts.
    fn enter(&mut self, entry: &Entry, checked: Checked) -> (Stamp, bool) {
        self.stand_in(entry.seq);
        let doubt = proof::doubt_of(self, entry, checked.signed);
        self.head = Some((entry.seq, entry.hash));
        self.newest_recorded_at = self.newest_recorded_at.max(entry.recorded_at);
        let known_of_whole = self.loss.left_out && checked.proven;
        let limited = proof::is_limited(doubt.as_ref(), known_of_whole);
        if entry.seq == Seq(1) && doubt.is_none() {
            self.opener = Some(entry.author);
        }
        // A journal always says which ward it is, whoever signed that; it gives no right.
        if doubt.is_none() || entry.seq == Seq(1) {
            self.apply_lasting(entry);
        }
        let stamp = Stamp::of(entry, self.author(entry, doubt.as_ref())).limited(limited);
        if let Body::Access(access) = &entry.body {
            let held = Held::new(stamp.clone(), access.clone());
            let patient = entry.patient;
            self.accesses.push(AccessHeld { held, patient });
        }
        if let Some(patient) = entry.patient.filter(|_| !limited || is_wound(entry)) {
            self.patient_mut(patient).number_wound(entry, limited);
        }
        self.log_mut(entry.patient).push(LogLine {
            seq: entry.seq,
            kind: entry.kind().code(),
            occurred_at: entry.envelope.occurred_at,
            recorded_at: entry.recorded_at,
            author: stamp.author.clone(),
            readable: true,
            limited,
        });
        if let Some(doubt) = doubt {
            self.doubtful.push(Doubtful {
                seq: entry.seq,
                hash: entry.hash,
                kind: entry.kind().code(),
                key: entry.author,
                waits: limited && doubt.may_come_from_loss() && !self.loss.met.is_empty(),
                doubt,
            });
        }
        (stamp, limited)
    }

    /// Entries in doubt that count from here on: a keeper has accepted them, and everything that
    /// was lost before them.
    fn now_vouched_for(&mut self, entry: &Entry) -> Vec<Seq> {
        let accepts = matches!(&entry.body, Body::DamageAccepted(accepted) if self.lacks_second(entry, accepted).is_none());
        if !accepts || !self.loss.met.is_empty() || self.doubt(entry.seq).is_some() {
            return Vec::new();
        }
        let accepted = &self.damage_accepted;
        let vouched: BTreeSet<Seq> = proof::groups(&self.doubtful)
            .into_iter()
            .filter(|(line, _)| accepted.contains(line))
            .flat_map(|(_, group)| group.into_iter().filter(|one| one.waits))
            .map(|one| one.seq)
            .collect();
        for one in &mut self.doubtful {
            one.waits &= !vouched.contains(&one.seq);
        }
        vouched.into_iter().collect()
    }

    /// Lets an entry count as written; gives the record that has to be drawn anew.
    fn let_count(&mut self, seq: Seq, source: &dyn EntrySource) -> Option<Option<Pseudonym>> {
        let entry = source.entry(seq)?;
        if let Some(patient) = entry.patient {
            self.patient_mut(patient).note_stated_wound(&entry);
        }
        let log = self.log_mut(entry.patient);
        log.let_count(seq);
        log.amend(&entry);
        // At once: steps of a handover are judged by the handover as it stands.
        self.redraw(entry.patient, source);
        Some(entry.patient)
    }

    /// Where the first keeper's enrolment is lost, whoever opened the ward is keeper under a
    /// handle of its own: somebody must be able to accept the loss and enrol people anew.
    pub(crate) fn stand_in(&mut self, at: Seq) {
        let enrolment = Seq(2);
        if let Some(opener) = self.opener.filter(|_| at > enrolment) {
            self.roster.stand_in(enrolment, opener);
        }
    }

    /// Takes note of an amendment; says whether anything changes by it.
    fn amends(&mut self, entry: &Entry) -> bool {
        self.log_mut(entry.patient).amend(entry)
    }

    /// Takes in the next entry, which this program cannot read. If it is somebody's word it may
    /// have been about staff; one that anybody may have put there makes nobody known.
    fn apply_unreadable(&mut self, unreadable: &Unreadable, signed: bool) {
        self.stand_in(unreadable.seq);
        // Of a kind that is sealed by right it says nothing about staff.
        let kind = Kind::from_code(unreadable.kind);
        let by_right = unreadable
            .sealed
            .filter(|_| kind.is_some_and(Kind::is_sealed));
        match by_right {
            Some(why) => self.sealing.pass_over(unreadable, why),
            None => drop(self.loss.unreadable.insert(unreadable.seq, unreadable.kind)),
        }
        self.newest_recorded_at = self.newest_recorded_at.max(unreadable.recorded_at);
        let (key, seq) = (unreadable.author, unreadable.seq);
        let doubt = proof::doubt_of_signer(&self.roster, &key, seq, kind, signed);
        let author = match (&doubt, self.roster.holder_at(&key, seq)) {
            (None, Some(staff)) => Author::Staff(staff.handle.clone(), staff.role),
            (None | Some(Doubt::UnknownKey), _) => Author::Unknown(key),
            (Some(doubt), _) => Author::Unproved(key, doubt.clone()),
        };
        match doubt {
            None if by_right.is_some() => {}
            None => {
                self.loss.met.insert(unreadable.in_short());
            }
            Some(doubt) => self.doubtful.push(Doubtful {
                seq,
                hash: unreadable.hash,
                kind: unreadable.kind,
                key,
                doubt,
                waits: false,
            }),
        }
        let line = LogLine {
            seq: unreadable.seq,
            kind: unreadable.kind,
            occurred_at: unreadable.recorded_at,
            recorded_at: unreadable.recorded_at,
            author,
            readable: false,
            limited: true,
        };
        self.log_mut(unreadable.patient).push(line);
    }

    /// What no amendment undoes: the ward's name, its people, its policy, what was accepted.
    fn apply_lasting(&mut self, entry: &Entry) {
        match &entry.body {
            Body::WardOpened(opened) if self.opened.is_none() => {
                self.opened = Some(Opened {
                    name: opened.name.0.clone(),
                    zone: opened.zone.0.parse().unwrap_or(WardZone::UTC),
                    teaching: opened.teaching,
                });
            }
            Body::StaffEnrolled(enrolled) => self.roster.enrol(entry.seq, enrolled),
            Body::StaffChanged(changed) => self.roster.change(entry.seq, changed),
            Body::PolicyChanged(changed) => {
                let stamp = Stamp::of(entry, self.author(entry, None));
                self.policy.change(Held::new(stamp, changed.clone()));
            }
            Body::DamageAccepted(accepted) if self.lacks_second(entry, accepted).is_none() => {
                self.use_up_approval(entry, accepted);
                for place in accepted.what.0.lines() {
                    // Who was enrolled there has been enrolled anew since, or is unknown.
                    self.loss.met.remove(place);
                    self.damage_accepted.insert(place.to_owned());
                }
            }
            Body::WardKey(made) if made.key.is_some() => self.ward_key = made.key,
            Body::Checkpoint(_) => self.checkpoint = Some((entry.seq, entry.recorded_at)),
            Body::RecoveryKey(_) | Body::Approval(_) | Body::RecordDestroyed(_) => {
                self.apply_sealing(entry);
            }
            _ => {}
        }
    }

    /// The ward's own key, which signs checkpoints; `None` while there is none.
    #[must_use]
    pub const fn ward_key(&self) -> Option<PersonKey> {
        self.ward_key
    }

    /// The newest checkpoint's entry and when it was recorded.
    #[must_use]
    pub const fn newest_checkpoint(&self) -> Option<(Seq, Timestamp)> {
        self.checkpoint
    }

    /// One effective entry into its patient, or into what is common.
    fn take(&mut self, entry: &Entry, stamp: &Stamp, limited: bool) {
        let zone = self.zone();
        let patient = entry.patient.and_then(|patient| self.patient(patient));
        let is_on_ward = patient.is_some_and(Patient::is_current);
        let Some(body) = proof::counted(&entry.body, limited, is_on_ward) else {
            return;
        };
        match (&*body, entry.patient) {
            (Body::HandoverStep(step), patient) => self.common.step(patient, stamp, step),
            (body, Some(patient)) => self.patient_mut(patient).take(stamp, body, zone),
            (body, None) => self.common.take(stamp, body, zone),
        }
    }

    /// Who wrote an entry, as was known when it was written.
    fn author(&self, entry: &Entry, doubt: Option<&Doubt>) -> Author {
        match doubt {
            None => match self.roster.holder_at(&entry.author, entry.seq) {
                Some(staff) => {
                    // Their role is what the entries before say, not what this one does.
                    let standing = staff.standing_at(entry.seq);
                    let role = standing.map_or(entry.envelope.role, |held| held.role);
                    Author::Staff(staff.handle.clone(), role)
                }
                None => Author::Unknown(entry.author),
            },
            Some(Doubt::UnknownKey) => Author::Unknown(entry.author),
            Some(doubt) => Author::Unproved(entry.author, doubt.clone()),
        }
    }

    fn log_mut(&mut self, patient: Option<Pseudonym>) -> &mut Log {
        match patient {
            None => &mut self.common.log,
            Some(pseudonym) => &mut self.patient_mut(pseudonym).log,
        }
    }

    fn patient_mut(&mut self, pseudonym: Pseudonym) -> &mut Patient {
        self.patients
            .entry(pseudonym)
            .or_insert_with(|| Patient::new(pseudonym))
    }

    /// What the first entry says; `None` in an empty journal.
    #[must_use]
    pub fn opened(&self) -> Option<&Opened> {
        self.opened.as_ref()
    }

    /// Drawn as of a moment before the journal's first entry, which says this: whose journal it is
    /// and which clock it keeps is known all the same.
    pub fn will_open(&mut self, opened: &Opened) {
        if self.opened.is_none() {
            self.opens_later = Some(opened.clone());
        }
    }

    /// What the first entry says, whether or not it was written by then.
    fn identity(&self) -> Option<&Opened> {
        self.opened.as_ref().or(self.opens_later.as_ref())
    }

    /// Invented patients only.
    #[must_use]
    pub fn is_teaching(&self) -> bool {
        self.identity().is_some_and(|opened| opened.teaching)
    }

    /// The ward's name.
    #[must_use]
    pub fn name(&self) -> &str {
        self.identity()
            .map_or("unnamed ward", |opened| opened.name.as_str())
    }

    /// The ward's clock; UTC where no entry is known.
    #[must_use]
    pub fn zone(&self) -> WardZone {
        self.identity().map_or(WardZone::UTC, |opened| opened.zone)
    }

    /// The newest readable entry taken in.
    #[must_use]
    pub const fn head(&self) -> Option<(Seq, EntryHash)> {
        self.head
    }

    /// The latest recorded time of any entry taken in.
    #[must_use]
    pub const fn newest_recorded_at(&self) -> Timestamp {
        self.newest_recorded_at
    }

    /// Somebody on the staff.
    #[must_use]
    pub fn staff(&self, handle: &Handle) -> Option<&Staff> {
        self.roster.get(handle)
    }

    /// Whose key it is or was.
    #[must_use]
    pub fn staff_by_key(&self, key: &PersonKey) -> Option<&Staff> {
        self.roster.by_key(key)
    }

    /// Everybody who was ever on the staff, by handle.
    pub fn roster(&self) -> impl Iterator<Item = &Staff> {
        self.roster.iter()
    }

    /// The ward's policy.
    #[must_use]
    pub const fn policy(&self) -> &Policy {
        &self.policy
    }

    /// One patient.
    #[must_use]
    pub fn patient(&self, pseudonym: Pseudonym) -> Option<&Patient> {
        self.patients.get(&pseudonym)
    }

    /// Every patient there was, by pseudonym.
    pub fn patients(&self) -> impl Iterator<Item = &Patient> {
        self.patients.values()
    }

    /// Alerts, tasks and notes about the ward itself.
    #[must_use]
    pub const fn common(&self) -> &Ledgers {
        &self.common.ledgers
    }

    /// Entries about the ward itself.
    #[must_use]
    pub const fn common_log(&self) -> &Log {
        &self.common.log
    }

    /// Every shift, in the order recorded.
    #[must_use]
    pub fn shifts(&self) -> &[Held<Shift>] {
        &self.common.shifts
    }

    /// Every handover, by the entry that prepared it.
    #[must_use]
    pub const fn handovers(&self) -> &BTreeMap<Seq, HandoverLife> {
        &self.common.handovers
    }

    /// The handover that was accepted last.
    #[must_use]
    pub fn last_accepted(&self) -> Option<&HandoverLife> {
        self.accepted_but(None).map(|(life, _)| life)
    }

    /// Of the accepted handovers, `own` left out, the one whose sheet reaches furthest, with the
    /// newest entry on it: what came after that entry is new to whoever took the ward. A
    /// handover without a sheet reaches as far as the entry that prepared it.
    #[must_use]
    pub fn accepted_but(&self, own: Option<Seq>) -> Option<(&HandoverLife, Seq)> {
        let others = self.common.handovers.values();
        let accepted = others
            .filter(|life| Some(life.seq()) != own && life.accepted().is_some())
            .map(|life| (life, life.sheet_head()));
        // Of two that reach as far, the one prepared first.
        accepted.rev().max_by_key(|(_, head)| *head)
    }

    /// Entries that do not count as their author's word, in the order recorded.
    #[must_use]
    pub fn doubtful(&self) -> &[Doubtful] {
        &self.doubtful
    }

    /// Why an entry does not count as its author's word, if it does not.
    #[must_use]
    pub fn doubt(&self, seq: Seq) -> Option<&Doubtful> {
        let at = self.doubtful.binary_search_by_key(&seq, |one| one.seq);
        at.ok().and_then(|at| self.doubtful.get(at))
    }

    /// Intact entries this program cannot read, with the number of their kind.
    #[must_use]
    pub const fn of_newer_programs(&self) -> &BTreeMap<Seq, u16> {
        &self.loss.unreadable
    }

    /// Entries that were read once, and could not be when their record was drawn anew.
    #[must_use]
    pub const fn lost_since(&self) -> &BTreeSet<Seq> {
        &self.loss.since_read
    }

    /// Places of damage that keepers have accepted, in the words of each finding.
    #[must_use]
    pub const fn damage_accepted(&self) -> &BTreeSet<String> {
        &self.damage_accepted
    }

    /// Who looked at what.
    #[must_use]
    pub fn accesses(&self) -> &[AccessHeld] {
        &self.accesses
    }

    /// The log an entry about a patient, or about the ward, is in.
    #[must_use]
    pub fn log_of(&self, patient: Option<Pseudonym>) -> Option<&Log> {
        match patient {
            None => Some(&self.common.log),
            Some(pseudonym) => self.patients.get(&pseudonym).map(|patient| &patient.log),
        }
    }

    /// Alerts of a patient, or of the ward.
    #[must_use]
    pub fn ledgers_of(&self, patient: Option<Pseudonym>) -> Option<&Ledgers> {
        match patient {
            None => Some(&self.common.ledgers),
            Some(pseudonym) => self
                .patients
                .get(&pseudonym)
                .map(|patient| &patient.ledgers),
        }
    }
}

impl Common {
    /// One step of a handover into its place; steps are kept in the order recorded. A step
    /// cannot belong to a handover that came after it, in whatever order they are drawn.
    fn step(&mut self, patient: Option<Pseudonym>, stamp: &Stamp, step: &HandoverStep) {
        let earlier = Some(step.handover).filter(|handover| *handover < stamp.seq);
        let Some(life) = earlier.and_then(|handover| self.handovers.get_mut(&handover)) else {
            return;
        };
        let at = life
            .steps
            .partition_point(|known| known.held.seq() < stamp.seq);
        let held = Held::new(stamp.clone(), step.clone());
        life.steps.insert(at, HandoverStepHeld { held, patient });
    }

    fn forget_steps(&mut self, of: Option<Pseudonym>) {
        for life in self.handovers.values_mut() {
            life.steps.retain(|step| step.patient != of);
        }
    }

    fn take(&mut self, stamp: &Stamp, body: &Body, zone: WardZone) {
        if self.ledgers.take(stamp, body, zone) {
            return;
        }
        match body {
            Body::Shift(shift) => self.shifts.push(Held::new(stamp.clone(), shift.clone())),
            Body::Handover(handover) => {
                let prepared = Held::new(stamp.clone(), handover.clone());
                let life = HandoverLife {
                    prepared,
                    steps: Vec::new(),
                };
                self.handovers.insert(stamp.seq, life);
            }
            _ => {}
        }
    }
}

impl Ward {
    /// Whether an entry stands in the ledger that a field of this name refers to.
    #[must_use]
    pub fn is_in_ledger(&self, field: &str, seq: Seq) -> bool {
        let in_common = match field {
            "alert" | "answers" => self.common().alerts.contains_key(&seq),
            "task" => self.common().tasks.contains_key(&seq),
            "handover" => self.common.handovers.contains_key(&seq),
            "shift" => self.common.shifts.iter().any(|shift| shift.seq() == seq),
            _ => false,
        };
        in_common
            || self
                .patients()
                .any(|patient| patient.is_in_ledger(field, seq))
    }

    /// What could be named instead: the open ones, of this patient if one is named.
    #[must_use]
    pub fn ledger_examples(&self, field: &str, patient: Option<Pseudonym>) -> String {
        let mut open: Vec<Seq> = match patient {
            Some(pseudonym) => self
                .patient(pseudonym)
                .map(|patient| patient.open_in(field))
                .unwrap_or_default(),
            None => self
                .patients()
                .flat_map(|patient| patient.open_in(field))
                .collect(),
        };
        match field {
            "alert" => open.extend(open_alerts(self.common())),
            "task" => open.extend(open_tasks(self.common())),
            "handover" => {
                let pending = self
                    .common
                    .handovers
                    .values()
                    .filter(|life| life.is_pending());
                open.extend(pending.map(HandoverLife::seq));
            }
            "shift" => open.extend(self.common.shifts.iter().rev().take(3).map(Held::seq)),
            _ => {}
        }
        if open.is_empty() {
            return "there is none open to name".to_owned();
        }
        let shown: Vec<String> = open.iter().take(8).map(Seq::to_string).collect();
        shown.join(", ")
    }
}

fn open_alerts(ledgers: &Ledgers) -> impl Iterator<Item = Seq> {
    ledgers
        .alerts
        .values()
        .filter(|alert| alert.is_open())
        .map(alerts::AlertLife::seq)
}

fn open_tasks(ledgers: &Ledgers) -> impl Iterator<Item = Seq> {
    ledgers
        .tasks
        .values()
        .filter(|task| task.is_open())
        .map(tasks::TaskLife::seq)
}

impl Patient {
    fn is_in_ledger(&self, field: &str, seq: Seq) -> bool {
        match field {
            "alert" | "answers" => self.ledgers.alerts.contains_key(&seq),
            "task" => self.ledgers.tasks.contains_key(&seq),
            "escalation" => self.escalations.contains_key(&seq),
            "sample" => self.samples.contains_key(&seq),
            "result" => self.results.contains_key(&seq),
            "supply" => self.supplies.contains_key(&seq),
            "line" => self.lines.contains_key(&seq),
            "kit" => self.kit.contains_key(&seq),
            _ => false,
        }
    }

    fn open_in(&self, field: &str) -> Vec<Seq> {
        match field {
            "alert" | "answers" => open_alerts(&self.ledgers).collect(),
            "task" => open_tasks(&self.ledgers).collect(),
            "escalation" => open(&self.escalations, escalations::EscalationLife::is_open),
            "sample" => open(&self.samples, samples::SampleLife::is_awaited),
            "result" => open(&self.results, samples::ResultLife::is_unreviewed),
            "supply" => open(&self.supplies, supplies::SupplyLife::is_open),
            "line" => open(&self.lines, supplies::LineLife::is_in),
            "kit" => open(&self.kit, supplies::KitLife::is_out),
            _ => Vec::new(),
        }
    }
}

fn open<T>(ledger: &BTreeMap<Seq, T>, is_open: impl Fn(&T) -> bool) -> Vec<Seq> {
    ledger
        .iter()
        .filter(|(_, life)| is_open(life))
        .map(|(seq, _)| *seq)
        .collect()
}

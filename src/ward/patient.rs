//! One patient: who they are, their stay, and everything that is open or recent.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::alerts::AlertLife;
use super::escalations::EscalationLife;
use super::held::{Held, Stamp};
use super::log::Log;
use super::observations::ObservationSet;
use super::samples::{ResultLife, SampleLife};
use super::supplies::{KitLife, LineLife, SupplyLife};
use super::tasks::TaskLife;
use super::wounds::WoundLife;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::contact::{Contact, NoteTopic, NursingNote};
use crate::record::kind::episode::{Admission, Allocation, Consent, Discharge, EpisodeChange};
use crate::record::kind::supply::Dose;
use crate::record::observed::Spo2Scale;
use crate::record::person::Handle;
use crate::record::time::{Age, Timestamp, age_on};

/// One stay on the ward.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Episode {
    /// How it began.
    pub admitted: Held<Admission>,
    /// How it ended.
    pub discharged: Option<Held<Discharge>>,
}

/// Alerts and tasks: a patient has them, and so has the ward itself.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ledgers {
    /// Alerts, by the entry that raised each.
    pub alerts: BTreeMap<Seq, AlertLife>,
    /// Tasks, by the entry that set each.
    pub tasks: BTreeMap<Seq, TaskLife>,
    /// Notes.
    pub notes: Vec<Held<NursingNote>>,
}

/// Everything the ward knows about one patient.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Patient {
    /// Stands for the patient in the journal.
    pub pseudonym: Pseudonym,
    /// Which entries there are, and whether each stands.
    pub log: Log,
    /// Stays on the ward, oldest first.
    pub episodes: Vec<Episode>,
    /// Details and plan as they stand: the last admission with every change since.
    pub details: Option<Admission>,
    /// Every change of plan or details in this stay.
    pub changes: Vec<Held<EpisodeChange>>,
    /// Who was to look after the patient, newest last.
    pub allocations: Vec<Held<Allocation>>,
    /// Consents, newest last.
    pub consents: Vec<Held<Consent>>,
    /// Contacts, by when they took place.
    pub contacts: Vec<Held<Contact>>,
    /// Observation sets, by when they were taken.
    pub sets: Vec<ObservationSet>,
    /// Sets that are not proven to be their author's, by when they were taken: they stand
    /// beside the others and never in their place.
    pub unproved_sets: Vec<ObservationSet>,
    /// Alerts, tasks, notes.
    pub ledgers: Ledgers,
    /// Escalations, by the entry that made each.
    pub escalations: BTreeMap<Seq, EscalationLife>,
    /// Wounds, by number.
    pub wounds: BTreeMap<i32, WoundLife>,
    /// Samples, by the entry that took each.
    pub samples: BTreeMap<Seq, SampleLife>,
    /// Results, by the entry that reported each.
    pub results: BTreeMap<Seq, ResultLife>,
    /// Supplies, by the entry that asked for each.
    pub supplies: BTreeMap<Seq, SupplyLife>,
    /// Doses, by when they were reported.
    pub doses: Vec<Held<Dose>>,
    /// Lines and devices, by the entry that introduced each.
    pub lines: BTreeMap<Seq, LineLife>,
    /// Monitoring kit, by the entry that issued each.
    pub kit: BTreeMap<Seq, KitLife>,
    /// Highest wound number ever used, so that a number is never used twice.
    pub wound_numbers_used: i32,
    /// The number each wound assessment was given when it was written, withdrawn or not.
    pub(super) wound_numbers: BTreeMap<Seq, i32>,
}

impl Ledgers {
    /// What answered a question: the newest note that says so.
    #[must_use]
    pub fn answer_to(&self, question: Seq) -> Option<&Held<NursingNote>> {
        self.notes.iter().rfind(|held| {
            held.body.topic == Some(NoteTopic::Answer) && held.stamp.related.contains(&question)
        })
    }

    /// The note that asks this, answered or not.
    #[must_use]
    pub fn question(&self, seq: Seq) -> Option<&Held<NursingNote>> {
        self.questions().find(|held| held.seq() == seq)
    }

    /// Questions nobody has answered, newest first.
    pub fn open_questions(&self) -> impl Iterator<Item = &Held<NursingNote>> {
        let answers = self.notes.iter();
        let answered: BTreeSet<Seq> = answers
            .filter(|held| held.body.topic == Some(NoteTopic::Answer))
            .flat_map(|held| held.stamp.related.iter().copied())
            .collect();
        self.questions()
            .filter(move |held| !answered.contains(&held.seq()))
    }

    fn questions(&self) -> impl Iterator<Item = &Held<NursingNote>> {
        let notes = self.notes.iter().rev();
        notes.filter(|held| held.body.topic == Some(NoteTopic::Question))
    }
}

impl Patient {
    pub(super) fn new(pseudonym: Pseudonym) -> Patient {
        Patient {
            pseudonym,
            log: Log::default(),
            episodes: Vec::new(),
            details: None,
            changes: Vec::new(),
            allocations: Vec::new(),
            consents: Vec::new(),
            contacts: Vec::new(),
            sets: Vec::new(),
            unproved_sets: Vec::new(),
            ledgers: Ledgers::default(),
            escalations: BTreeMap::new(),
            wounds: BTreeMap::new(),
            samples: BTreeMap::new(),
            results: BTreeMap::new(),
            supplies: BTreeMap::new(),
            doses: Vec::new(),
            lines: BTreeMap::new(),
            kit: BTreeMap::new(),
            wound_numbers_used: 0,
            wound_numbers: BTreeMap::new(),
        }
    }

    /// The newest stay.
    #[must_use]
    pub fn episode(&self) -> Option<&Episode> {
        self.episodes.last()
    }

    /// The entry that began the newest stay.
    #[must_use]
    pub fn episode_seq(&self) -> Option<Seq> {
        self.episode().map(|episode| episode.admitted.seq())
    }

    /// On the ward now.
    #[must_use]
    pub fn is_current(&self) -> bool {
        self.episode()
            .is_some_and(|episode| episode.discharged.is_none())
    }

    /// When the newest stay ended.
    #[must_use]
    pub fn left_at(&self) -> Option<Timestamp> {
        Some(self.episode()?.discharged.as_ref()?.stamp.occurred_at)
    }

    /// `PELL, Ada (Mrs)`, as the NHS Common User Interface guidance writes names.
    #[must_use]
    pub fn name_line(&self) -> String {
        let Some(details) = &self.details else {
            return format!("not admitted ({})", self.pseudonym.short());
        };
        let title = details
            .title
            .as_ref()
            .map(|title| format!(" ({title})"))
            .unwrap_or_default();
        format!(
            "{}, {}{title}",
            details.family.0.to_uppercase(),
            details.given
        )
    }

    /// `PELL Ada`, for narrow places.
    #[must_use]
    pub fn short_name(&self) -> String {
        match &self.details {
            None => format!("not admitted ({})", self.pseudonym.short()),
            Some(details) => format!("{} {}", details.family.0.to_uppercase(), details.given),
        }
    }

    /// Place on the ward's list.
    #[must_use]
    pub fn slot(&self) -> Option<&str> {
        self.details
            .as_ref()?
            .slot
            .as_ref()
            .map(|slot| slot.as_str())
    }

    /// Age on a day of the ward's calendar.
    #[must_use]
    pub fn age_on(&self, day: chrono::NaiveDate) -> Option<Age> {
        age_on(self.details.as_ref()?.born.to_date(), day)
    }

    /// Who looks after the patient, by the newest allocation.
    #[must_use]
    pub fn allocated_to(&self) -> Option<&Handle> {
        self.allocations.last().map(|held| &held.body.to)
    }

    /// When the stay before the newest one ended: what happened until then is not "now".
    fn stay_began_after(&self) -> Timestamp {
        let earlier = self.episodes.iter().rev().skip(1);
        let mut ends = earlier.filter_map(|episode| episode.discharged.as_ref());
        ends.next()
            .map_or(Timestamp(i64::MIN), |end| end.stamp.occurred_at)
    }

    /// Contacts of the newest stay, by when they took place.
    #[must_use]
    pub fn contacts_of_stay(&self) -> &[Held<Contact>] {
        let after = self.stay_began_after();
        let first = self
            .contacts
            .partition_point(|held| held.stamp.occurred_at <= after);
        &self.contacts[first..]
    }

    /// Observation sets of the newest stay, by when they were taken.
    #[must_use]
    pub fn sets_of_stay(&self) -> &[ObservationSet] {
        self.of_stay(&self.sets)
    }

    /// Sets of the newest stay that are not proven to be their author's.
    #[must_use]
    pub fn unproved_sets_of_stay(&self) -> &[ObservationSet] {
        self.of_stay(&self.unproved_sets)
    }

    fn of_stay<'a>(&self, sets: &'a [ObservationSet]) -> &'a [ObservationSet] {
        let after = self.stay_began_after();
        let first = sets.partition_point(|set| set.stamp.occurred_at <= after);
        &sets[first..]
    }

    /// The newest contact of this stay.
    #[must_use]
    pub fn last_contact(&self) -> Option<&Held<Contact>> {
        self.contacts_of_stay().last()
    }

    /// The newest contact of this stay in which the patient or a carer was reached.
    #[must_use]
    pub fn last_reached(&self) -> Option<&Held<Contact>> {
        self.contacts_of_stay()
            .iter()
            .rev()
            .find(|held| held.body.reached_the_home())
    }

    /// Attempts in this stay since the patient or a carer was last reached, oldest first.
    #[must_use]
    pub fn unreached(&self) -> Vec<&Held<Contact>> {
        let contacts = self.contacts_of_stay();
        let from = contacts
            .iter()
            .rposition(|held| held.body.reached_the_home());
        // A professional who was spoken to in between neither ends the attempts nor is one.
        contacts[from.map_or(0, |at| at + 1)..]
            .iter()
            .filter(|held| held.body.outcome.is_unreached())
            .collect()
    }

    /// The contact that says when the next one is due, until somebody was reached then or
    /// later. A contact in between that says nothing of the next one (a help call, a daughter
    /// who rings) does not cancel what was agreed.
    #[must_use]
    pub fn next_contact(&self) -> Option<&Held<Contact>> {
        let contacts = self.contacts_of_stay();
        let at = contacts.iter().rposition(|held| held.body.next.is_some())?;
        let due = contacts[at].body.next?.0;
        let kept = contacts[at + 1..]
            .iter()
            .any(|held| held.body.reached_the_home() && held.stamp.occurred_at >= due);
        (!kept).then(|| &contacts[at])
    }

    /// The newest set of this stay with at least one vital sign.
    #[must_use]
    pub fn last_set(&self) -> Option<&ObservationSet> {
        self.sets_of_stay()
            .iter()
            .rev()
            .find(|set| set.has_vital_sign())
    }

    /// The newest set of this stay that was complete enough for a total, before a moment.
    #[must_use]
    pub fn last_total_before(&self, before: Timestamp) -> Option<(&ObservationSet, u8)> {
        let earlier = self
            .sets_of_stay()
            .iter()
            .rev()
            .filter(|set| set.stamp.occurred_at < before);
        earlier.filter_map(|set| Some((set, set.total()?))).next()
    }

    /// The saturation scale that held at a moment of the newest stay, as known by now: the
    /// admission's, or that of the newest change before the moment. A set written down late
    /// is scored on the scale of its own time.
    #[must_use]
    pub fn scale_at(&self, moment: Timestamp) -> Option<Spo2Scale> {
        let admitted = self.episode()?.admitted.body.scale;
        let changes = self
            .changes
            .iter()
            .filter(|held| held.body.scale.is_some() && held.stamp.occurred_at <= moment);
        let newest = changes.max_by_key(|held| (held.stamp.occurred_at, held.seq()));
        newest.map_or(Some(admitted), |held| held.body.scale)
    }

    /// Notes that say what to watch for, newest first.
    pub fn watch_for(&self) -> impl Iterator<Item = &Held<NursingNote>> {
        self.notes_about(NoteTopic::WatchFor)
    }

    /// Notes about a topic, newest first.
    pub fn notes_about(&self, topic: NoteTopic) -> impl Iterator<Item = &Held<NursingNote>> {
        let notes = self.ledgers.notes.iter().rev();
        notes.filter(move |held| held.body.topic == Some(topic))
    }

    /// Who entered the newest stay and when.
    #[must_use]
    pub fn admitted(&self) -> Option<&Stamp> {
        self.episode().map(|episode| &episode.admitted.stamp)
    }
}

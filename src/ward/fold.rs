//! What each kind of entry does to a patient. Total: an entry that refers to nothing, or to
//! something withdrawn, changes nothing else and is still in the log.

use super::alerts::AlertLife;
use super::escalations::EscalationLife;
use super::held::{Held, Stamp};
use super::log::replaced;
use super::observations::ObservationSet;
use super::patient::{Episode, Ledgers, Patient};
use super::samples::{ResultLife, SampleLife};
use super::supplies::{KitLife, LineLife, SupplyLife};
use super::tasks::TaskLife;
use super::wounds::WoundLife;
use crate::record::entry::Entry;
use crate::record::kind::Body;
use crate::record::kind::alert::AlertSource;
use crate::record::kind::contact::{Contact, Spoken, Starter};
use crate::record::kind::episode::{Admission, EpisodeChange};
use crate::record::kind::observation::Observation;
use crate::record::time::WardZone;

/// Puts an item into a series that is kept by when things happened; of two at the same
/// moment the later written comes later.
pub(super) fn insert_by<T>(series: &mut Vec<T>, item: T, stamp: impl Fn(&T) -> &Stamp) {
    let key = |item: &T| (stamp(item).occurred_at, stamp(item).seq);
    let new = key(&item);
    let at = series.partition_point(|known| key(known) <= new);
    series.insert(at, item);
}

impl Ledgers {
    /// Alerts, tasks and notes; `true` if the entry was one of these.
    pub(super) fn take(&mut self, stamp: &Stamp, body: &Body, zone: WardZone) -> bool {
        let seq = stamp.seq;
        match body {
            Body::Alert(alert) => {
                self.alerts
                    .insert(seq, AlertLife::raised(stamp.clone(), alert));
            }
            Body::AlertStep(step) => {
                if let Some(alert) = self.alerts.get_mut(&step.alert) {
                    alert.step(stamp.clone(), step);
                }
            }
            Body::Task(task) => {
                self.tasks
                    .insert(seq, TaskLife::set(Held::new(stamp.clone(), task.clone())));
            }
            Body::TaskStep(step) => {
                if let Some(task) = self.tasks.get_mut(&step.task) {
                    task.step(Held::new(stamp.clone(), step.clone()), zone);
                }
            }
            Body::Note(note) => {
                let held = Held::new(stamp.clone(), note.clone());
                insert_by(&mut self.notes, held, |held| &held.stamp);
            }
            _ => return false,
        }
        true
    }
}

impl Patient {
    /// Takes in one effective entry.
    pub(super) fn take(&mut self, stamp: &Stamp, body: &Body, zone: WardZone) {
        if self.ledgers.take(stamp, body, zone) {
            return;
        }
        match body {
            Body::Admission(admission) => self.admit(stamp, admission),
            Body::EpisodeChange(change) => self.change(stamp, change),
            Body::Discharge(discharge) => {
                if let Some(episode) = self.episodes.last_mut() {
                    episode.discharged = Some(Held::new(stamp.clone(), discharge.clone()));
                }
            }
            Body::Consent(consent) => {
                self.consents
                    .push(Held::new(stamp.clone(), consent.clone()));
            }
            Body::Allocation(allocation) => {
                self.allocations
                    .push(Held::new(stamp.clone(), allocation.clone()));
            }
            Body::Contact(contact) => self.contact(stamp, contact),
            Body::Observation(observation) => self.observe(stamp, observation),
            _ => self.take_work(stamp, body),
        }
    }

    fn take_work(&mut self, stamp: &Stamp, body: &Body) {
        match body {
            Body::Escalation(made) => {
                let made = Held::new(stamp.clone(), made.clone());
                self.escalations.insert(
                    stamp.seq,
                    EscalationLife {
                        made,
                        steps: Vec::new(),
                    },
                );
            }
            Body::EscalationStep(step) => {
                if let Some(life) = self.escalations.get_mut(&step.escalation) {
                    let held = Held::new(stamp.clone(), step.clone());
                    insert_by(&mut life.steps, held, |held| &held.stamp);
                }
            }
            Body::Wound(assessment) => {
                let given = self.wound_numbers.get(&stamp.seq).copied();
                let Some(number) = assessment.wound.map(|n| n.0).or(given) else {
                    return;
                };
                let held = Held::new(stamp.clone(), assessment.clone());
                let series = &mut self.wound(number).assessments;
                insert_by(series, held, |held| &held.stamp);
            }
            Body::Dressing(dressing) => {
                if let Some(wound) = self.wounds.get_mut(&dressing.wound.0) {
                    let held = Held::new(stamp.clone(), dressing.clone());
                    insert_by(&mut wound.dressings, held, |held| &held.stamp);
                }
            }
            _ => self.take_results(stamp, body),
        }
    }

    fn take_results(&mut self, stamp: &Stamp, body: &Body) {
        let seq = stamp.seq;
        match body {
            Body::Sample(sample) => {
                let taken = Held::new(stamp.clone(), sample.clone());
                let life = SampleLife {
                    taken,
                    steps: Vec::new(),
                    results: Vec::new(),
                };
                self.samples.insert(seq, life);
            }
            Body::SampleStep(step) => {
                if let Some(life) = self.samples.get_mut(&step.sample) {
                    let held = Held::new(stamp.clone(), step.clone());
                    insert_by(&mut life.steps, held, |held| &held.stamp);
                }
            }
            Body::LabResult(result) => {
                if let Some(sample) = result.sample.and_then(|s| self.samples.get_mut(&s)) {
                    sample.results.push(seq);
                }
                let reported = Held::new(stamp.clone(), result.clone());
                self.results.insert(
                    seq,
                    ResultLife {
                        reported,
                        reviews: Vec::new(),
                    },
                );
            }
            Body::ResultReview(review) => {
                if let Some(life) = self.results.get_mut(&review.result) {
                    let held = Held::new(stamp.clone(), review.clone());
                    insert_by(&mut life.reviews, held, |held| &held.stamp);
                }
            }
            _ => self.take_things(stamp, body),
        }
    }

    fn take_things(&mut self, stamp: &Stamp, body: &Body) {
        let seq = stamp.seq;
        match body {
            Body::Supply(supply) => {
                let asked = Held::new(stamp.clone(), supply.clone());
                self.supplies.insert(
                    seq,
                    SupplyLife {
                        asked,
                        steps: Vec::new(),
                    },
                );
            }
            Body::SupplyStep(step) => {
                if let Some(life) = self.supplies.get_mut(&step.supply) {
                    let held = Held::new(stamp.clone(), step.clone());
                    insert_by(&mut life.steps, held, |held| &held.stamp);
                }
            }
            Body::Dose(dose) => {
                let held = Held::new(stamp.clone(), dose.clone());
                insert_by(&mut self.doses, held, |held| &held.stamp);
            }
            Body::BodyLine(line) => {
                let found = Held::new(stamp.clone(), line.clone());
                self.lines.insert(
                    seq,
                    LineLife {
                        found,
                        care: Vec::new(),
                    },
                );
            }
            Body::LineCare(care) => {
                if let Some(life) = self.lines.get_mut(&care.line) {
                    let held = Held::new(stamp.clone(), care.clone());
                    insert_by(&mut life.care, held, |held| &held.stamp);
                }
            }
            Body::Kit(kit) => {
                let issued = Held::new(stamp.clone(), kit.clone());
                self.kit.insert(
                    seq,
                    KitLife {
                        issued,
                        steps: Vec::new(),
                    },
                );
            }
            Body::KitStep(step) => {
                if let Some(life) = self.kit.get_mut(&step.kit) {
                    let held = Held::new(stamp.clone(), step.clone());
                    insert_by(&mut life.steps, held, |held| &held.stamp);
                }
            }
            _ => {}
        }
    }

    fn admit(&mut self, stamp: &Stamp, admission: &Admission) {
        self.details = Some(admission.clone());
        self.changes.clear();
        let admitted = Held::new(stamp.clone(), admission.clone());
        self.episodes.push(Episode {
            admitted,
            discharged: None,
        });
    }

    fn change(&mut self, stamp: &Stamp, change: &EpisodeChange) {
        if let Some(details) = &mut self.details {
            merge(details, change);
        }
        self.changes.push(Held::new(stamp.clone(), change.clone()));
    }

    fn contact(&mut self, stamp: &Stamp, contact: &Contact) {
        if let Some(alert) = contact
            .answers
            .and_then(|seq| self.ledgers.alerts.get_mut(&seq))
        {
            let how = contact.how.as_ref().map(|how| how.0.clone());
            alert.answered(stamp, how, !contact.outcome.is_unreached());
        }
        if let Some(worry) = &contact.worry {
            let source = whose_worry(contact);
            let life = AlertLife::worry(stamp.clone(), &worry.0, source);
            self.ledgers.alerts.insert(stamp.seq, life);
        }
        if stamp.limited {
            return;
        }
        let held = Held::new(stamp.clone(), contact.clone());
        insert_by(&mut self.contacts, held, |held| &held.stamp);
    }

    fn observe(&mut self, stamp: &Stamp, observation: &Observation) {
        if let Some(worry) = &observation.worry {
            let life = AlertLife::worry(stamp.clone(), &worry.0, AlertSource::NurseConcern);
            self.ledgers.alerts.insert(stamp.seq, life);
        }
        let set = ObservationSet {
            stamp: stamp.clone(),
            body: observation.clone(),
            scale: self.scale_at(stamp.occurred_at),
        };
        let series = if stamp.limited {
            &mut self.unproved_sets
        } else {
            &mut self.sets
        };
        insert_by(series, set, |set| &set.stamp);
    }

    /// Gives a new wound its number for life, before anything is known of amendments: the
    /// number is the same however often the patient is drawn anew. A number that an entry in
    /// doubt states is not looked at. Where numbers are used up a new wound gets none, and
    /// stands in the log only: under another's number it would be taken for that wound.
    pub(super) fn number_wound(&mut self, entry: &Entry, limited: bool) {
        let stated = match &entry.body {
            Body::Wound(assessment) => {
                let stated = assessment.wound.map(|n| n.0).filter(|_| !limited);
                let number = stated.or_else(|| self.wound_numbers_used.checked_add(1));
                if let Some(number) = number {
                    self.wound_numbers.insert(entry.seq, number);
                }
                number
            }
            Body::Amendment(amendment) => match amendment.replacement.as_ref().and_then(replaced) {
                Some((_, Body::Wound(assessment))) => assessment.wound.map(|n| n.0),
                _ => None,
            },
            _ => None,
        };
        self.wound_numbers_used = self.wound_numbers_used.max(stated.unwrap_or(0));
    }

    /// A number that an entry states is used up from when the entry counts.
    pub(super) fn note_stated_wound(&mut self, entry: &Entry) {
        let stated = match &entry.body {
            Body::Wound(assessment) => assessment.wound,
            Body::Amendment(amendment) => match amendment.replacement.as_ref().and_then(replaced) {
                Some((_, Body::Wound(assessment))) => assessment.wound,
                _ => None,
            },
            _ => None,
        };
        let stated = stated.map_or(0, |number| number.0);
        self.wound_numbers_used = self.wound_numbers_used.max(stated);
    }

    fn wound(&mut self, number: i32) -> &mut WoundLife {
        self.wounds.entry(number).or_insert_with(|| WoundLife {
            number,
            assessments: Vec::new(),
            dressings: Vec::new(),
        })
    }
}

/// A worry is the carer's or the patient's if the ward spoke with them; else the nurse's own.
fn whose_worry(contact: &Contact) -> AlertSource {
    match (contact.started_by, contact.spoke_to) {
        (Some(Starter::Carer), _) | (_, Some(Spoken::Carer)) => AlertSource::CarerConcern,
        (Some(Starter::Patient), _) => AlertSource::PatientConcern,
        _ => AlertSource::NurseConcern,
    }
}

/// Only what is given changes.
fn merge(details: &mut Admission, change: &EpisodeChange) {
    macro_rules! replace {
        (optional: $($optional:ident),+; required: $($required:ident),+) => {
            $(if change.$optional.is_some() {
                details.$optional.clone_from(&change.$optional);
            })+
            $(if let Some(value) = &change.$required {
                details.$required.clone_from(value);
            })+
        };
    }
    replace!(
        optional: slot, phone, background, treatment, form_kept, plan, base_mind, scale_by,
            access, key_safe, lone_worker, language, hearing, smoker, consultant,
            expected_discharge;
        required: area, reason, allergies, ceiling, resuscitation, scale
    );
    if !change.carers.is_empty() {
        details.carers.clone_from(&change.carers);
    }
}

//! What belongs to the present stay: readings and contacts of an earlier one are not "now".

use crate::record::kind::contact::Contact;
use crate::record::time::Timestamp;
use crate::ward::observations::ObservationSet;
use crate::ward::{Held, Patient};

/// When the stay before this one ended; the beginning of time if there was none.
fn began_after(patient: &Patient) -> Timestamp {
    let earlier = patient.episodes.iter().rev().skip(1);
    let mut ends = earlier.filter_map(|episode| episode.discharged.as_ref());
    ends.next()
        .map_or(Timestamp(i64::MIN), |end| end.stamp.occurred_at)
}

/// Observation sets of this stay, by when they were taken.
pub(super) fn sets(patient: &Patient) -> Vec<&ObservationSet> {
    let after = began_after(patient);
    let of_stay = |set: &&ObservationSet| set.stamp.occurred_at > after;
    patient.sets.iter().filter(of_stay).collect()
}

/// Contacts of this stay, by when they took place.
pub(super) fn contacts(patient: &Patient) -> impl DoubleEndedIterator<Item = &Held<Contact>> {
    let after = began_after(patient);
    patient
        .contacts
        .iter()
        .filter(move |held| held.stamp.occurred_at > after)
}

/// Whether something happened in this stay.
pub(super) fn holds(patient: &Patient, moment: Timestamp) -> bool {
    moment > began_after(patient)
}

//! Entries of one line that stand or fall together.

use super::draft::Origin;
use super::lines::Refill;
use super::session::{Session, State, held};
use crate::record::ids::Seq;
use crate::record::problem::Unusual;
use crate::shorthand::Entries;
use crate::station::{Actor, NoneTaken, SubmitError};

impl Session {
    /// Writes all of them with one flush, or none.
    pub(super) fn record_together(
        &mut self,
        actor: &Actor,
        entries: Entries,
        line: &str,
        origin: Origin,
    ) -> String {
        let submitted = held(&self.station).submit_all(actor, &entries.drafts);
        let receipts = match submitted {
            Ok(receipts) => receipts,
            Err(none) => return self.none_taken(entries, line, none, origin),
        };
        let mut text: Vec<String> = receipts.iter().map(|one| self.receipt(one)).collect();
        let seqs: Vec<Seq> = receipts.iter().map(|receipt| receipt.seq).collect();
        let offers = receipts.into_iter().flat_map(|receipt| receipt.offers);
        let offers = self.own_entries(seqs, offers.collect());
        text.extend(offers);
        self.refresh_known();
        text.join("\n")
    }

    /// Says because of whom nothing was recorded, and brings the line back to the first of
    /// them.
    pub(super) fn none_taken(
        &mut self,
        entries: Entries,
        line: &str,
        none: NoneTaken,
        origin: Origin,
    ) -> String {
        let wrong = match none {
            NoneTaken::Journal(error @ SubmitError::NotKnown { .. }) => {
                return self.stopped_at(0, &[], entries, line, &error);
            }
            NoneTaken::Journal(error) => return self.failed(entries, line, &error, origin),
            NoneTaken::Drafts(wrong) => wrong,
        };
        if let Some(unusual) = only_unusual(&entries, &wrong) {
            return self.ask_whether(entries, line, &unusual, origin);
        }
        self.refused += 1;
        let said = said_of_each(&entries, &wrong);
        if !matches!(origin, Origin::Line) {
            self.keep(entries, line, origin);
            return format!("Nothing was recorded:\n{said}\nIt is kept: \"draft\" tries it again.");
        }
        let place = wrong.first().and_then(|(draft, error)| {
            let about_patient = entries.place_of(*draft, "patient");
            match error {
                SubmitError::Refused(refusals) => refusals
                    .iter()
                    .find_map(|refusal| entries.place_of(*draft, refusal.field.as_deref()?))
                    .or(about_patient),
                _ => about_patient,
            }
        });
        let refill = place.map_or_else(|| Refill::at_end(line), |at| Refill::from_byte(line, at));
        self.state = State::Ready(Some(refill));
        format!("{}\n{said}", self.nothing_recorded())
    }
}

/// What is to be confirmed, each with its patient, if nothing else is wrong.
fn only_unusual(entries: &Entries, wrong: &[(usize, SubmitError)]) -> Option<Vec<Unusual>> {
    let mut all = Vec::new();
    for (draft, error) in wrong {
        let SubmitError::Confirm(unusual) = error else {
            return None;
        };
        all.extend(unusual.iter().map(|one| Unusual {
            what: format!("{}: {}", whose(entries, *draft), one.what),
            ..one.clone()
        }));
    }
    Some(all)
}

/// A sentence a patient; what holds for all of them is said once.
fn said_of_each(entries: &Entries, wrong: &[(usize, SubmitError)]) -> String {
    let said: Vec<String> = wrong.iter().map(|(_, error)| error.to_string()).collect();
    if let [first, rest @ ..] = said.as_slice()
        && said.len() == entries.drafts.len()
        && rest.iter().all(|other| other == first)
    {
        return format!("  {first}");
    }
    let lines = wrong.iter().zip(said).map(|((draft, _), said)| {
        let said = said.replace('\n', "; ");
        format!("  {}: {said}", whose(entries, *draft))
    });
    lines.collect::<Vec<String>>().join("\n")
}

fn whose(entries: &Entries, draft: usize) -> &str {
    let draft = entries.drafts.get(draft);
    draft
        .and_then(|draft| draft.patient.as_deref())
        .unwrap_or("the ward")
}

//! Several acts at once: all of them are recorded, or none.

use std::collections::BTreeSet;

use super::outcome::{Receipt, SubmitError};
use super::submit::Decided;
use super::{Actor, Station};
use crate::record::draft::Draft;

/// Why nothing of several drafts was recorded, or why that is not known.
#[derive(Debug, thiserror::Error)]
pub enum NoneTaken {
    /// Some of them cannot be taken as they are: each of those with its position.
    #[error("{}", each(.0))]
    Drafts(Vec<(usize, SubmitError)>),
    /// The journal would not have them.
    #[error(transparent)]
    Journal(SubmitError),
}

fn each(wrong: &[(usize, SubmitError)]) -> String {
    let lines: Vec<String> = wrong.iter().map(|(_, error)| error.to_string()).collect();
    lines.join("\n")
}

impl Station {
    /// Records several drafts, each about another patient, with one write and one flush: all
    /// of them, or none if one cannot be taken.
    ///
    /// # Errors
    /// See [`NoneTaken`]. Only [`SubmitError::NotKnown`] leaves open what was recorded.
    pub fn submit_all(
        &mut self,
        actor: &Actor,
        drafts: &[Draft],
    ) -> Result<Vec<Receipt>, NoneTaken> {
        let writer = self.open_writer(actor).map_err(NoneTaken::Journal)?;
        let decided = self.decide_all(actor, drafts)?;
        let appended = self.append_all(actor, &writer, decided);
        appended.map_err(NoneTaken::Journal)
    }

    /// Checks drafts as [`Station::submit_all`] would, and records nothing.
    ///
    /// # Errors
    /// What it would refuse, as far as it can be told without the writer's lock.
    pub fn rehearse_all(&self, actor: &Actor, drafts: &[Draft]) -> Result<(), NoneTaken> {
        self.decide_all(actor, drafts).map(|_| ())
    }

    /// Each is decided on the ward as it is before any of them. That holds for all of them
    /// only if none is about a patient of another.
    fn decide_all(&self, actor: &Actor, drafts: &[Draft]) -> Result<Vec<Decided>, NoneTaken> {
        let (mut decided, mut wrong, mut whose) = (Vec::new(), Vec::new(), BTreeSet::new());
        for (index, draft) in drafts.iter().enumerate() {
            match self.decide(actor, draft) {
                Ok(one) if whose.insert(one.patient()) => decided.push(one),
                Ok(_) => wrong.push((index, named_before())),
                Err(error) => wrong.push((index, error)),
            }
        }
        if wrong.is_empty() {
            Ok(decided)
        } else {
            Err(NoneTaken::Drafts(wrong))
        }
    }
}

fn named_before() -> SubmitError {
    let what = "the same patient was named before in it";
    SubmitError::refuse_field("patient", what, "each patient once")
}

//! Changing the ward's policy: one setting, or many at once.

use super::outcome::{Receipt, SubmitError};
use super::submit::Decided;
use super::{Actor, Station};
use crate::clinical::policy::{Conflict, Key, Value, named};
use crate::record::field::FieldValue;
use crate::record::kind::Kind;
use crate::record::kind::ward::PolicyChanged;
use crate::record::problem::Refusal;
use crate::record::text::{Line, Note};

/// A setting that would change.
#[derive(Debug, Clone)]
pub struct PolicyDifference {
    /// Which.
    pub key: &'static Key,
    /// What holds.
    pub from: Value,
    /// What would hold.
    pub to: Value,
}

impl Station {
    /// A change as it is stored: the setting as named, if by an earlier name then by that one,
    /// and the value as TOML.
    pub(super) fn settle_policy(
        &self,
        changed: PolicyChanged,
    ) -> Result<PolicyChanged, SubmitError> {
        let refuse = |field, problem: crate::record::problem::Problem| {
            SubmitError::refuse_field(field, problem.what, problem.accepted)
        };
        let key = named(&changed.setting.0).map_err(|problem| refuse("setting", problem))?;
        let value = key
            .read_typed(&changed.value.0)
            .map_err(|problem| refuse("value", problem))?;
        let mut values = self.ward().policy().values().clone();
        values.set(key, value.clone());
        let conflicts = values.conflicts().into_iter();
        let refusals: Vec<Refusal> = conflicts
            .map(|conflict| in_words("value", conflict))
            .collect();
        if !refusals.is_empty() {
            return Err(SubmitError::Refused(refusals));
        }
        Ok(stored(&changed.setting.0, &value, changed.reason))
    }

    /// Which of these settings differ from what holds now.
    #[must_use]
    pub fn policy_differences(&self, wanted: &[(&'static Key, Value)]) -> Vec<PolicyDifference> {
        let values = self.ward().policy().values();
        wanted
            .iter()
            .map(|(key, to)| PolicyDifference {
                key,
                from: values.get(key),
                to: to.clone(),
            })
            .filter(|difference| difference.from != difference.to)
            .collect()
    }

    /// Puts differences in force, an entry each: all of them are checked together before any is
    /// written, and they are written with one flush. They must still be what was looked at.
    ///
    /// # Errors
    /// What is wrong; nothing was recorded then, unless the error says that it is not known.
    pub fn apply_policy(
        &mut self,
        actor: &Actor,
        differences: &[PolicyDifference],
        reason: &str,
    ) -> Result<Vec<Receipt>, SubmitError> {
        let reason = Line::read(reason, &self.read_context()).map_err(|problem| {
            SubmitError::refuse_field("reason", problem.what, problem.accepted)
        })?;
        if reason.0.is_empty() {
            return Err(SubmitError::refuse_field(
                "reason",
                "it is empty",
                "why, in a line",
            ));
        }
        let writer = self.open_writer(actor)?;
        let mut values = self.ward().policy().values().clone();
        for difference in differences {
            if values.get(difference.key) != difference.from {
                let what = format!("{} was changed meanwhile", difference.key.name);
                return Err(SubmitError::refuse_field(
                    "setting",
                    what,
                    "look at the differences again",
                ));
            }
        }
        for difference in differences {
            values.set(difference.key, difference.to.clone());
        }
        let conflicts = values.conflicts().into_iter();
        let refusals: Vec<Refusal> = conflicts
            .map(|conflict| in_words("value", conflict))
            .collect();
        if !refusals.is_empty() {
            return Err(SubmitError::Refused(refusals));
        }
        let mut decided = Vec::with_capacity(differences.len());
        for difference in differences {
            let authorised = self.authorise_under(&writer, actor, Kind::PolicyChanged, None)?;
            let changed = stored(difference.key.name, &difference.to, reason.clone());
            decided.push(Decided::about_ward(authorised, changed.into()));
        }
        self.append_all(actor, &writer, decided)
    }
}

fn stored(name: &str, value: &Value, reason: Line) -> PolicyChanged {
    PolicyChanged {
        setting: Line(name.to_owned()),
        value: Note(value.literal()),
        reason,
    }
}

fn in_words(field: &str, conflict: Conflict) -> Refusal {
    Refusal::field(field, conflict.what, conflict.accepted)
}

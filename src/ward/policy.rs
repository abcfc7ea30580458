//! The ward's own policy, as the journal holds it: every change, and what holds by them.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::held::Held;
use crate::clinical::blood::is_critical;
use crate::clinical::policy::{Value, Values, find};
use crate::record::ids::Seq;
use crate::record::kind::sample::LabResult;
use crate::record::kind::ward::PolicyChanged;
use crate::record::time::Timestamp;

/// The ward's policy.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Policy {
    changes: Vec<Held<PolicyChanged>>,
    values: Values,
    not_in_force: Vec<NotInForce>,
}

/// A setting that was stored and that this program does not go by: the default holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NotInForce {
    /// The entry.
    pub seq: Seq,
    /// Its name, as stored.
    pub setting: String,
    /// Its value, as stored.
    pub value: String,
    /// Why not.
    pub why: String,
    /// No setting of this name is known: it may be a newer program's, and changes nothing here.
    pub is_unknown: bool,
}

impl Policy {
    /// What holds.
    #[must_use]
    pub const fn values(&self) -> &Values {
        &self.values
    }

    /// Whether a report is critical: by the laboratory's call, or by these limits.
    #[must_use]
    pub fn calls_critical(&self, result: &LabResult) -> bool {
        is_critical(result, self.values.blood())
    }

    /// Every change, in the order recorded.
    #[must_use]
    pub fn changes(&self) -> &[Held<PolicyChanged>] {
        &self.changes
    }

    /// What was stored and does not hold.
    #[must_use]
    pub fn not_in_force(&self) -> &[NotInForce] {
        &self.not_in_force
    }

    /// The newest change of a setting, by its present name.
    #[must_use]
    pub fn newest(&self, name: &str) -> Option<&Held<PolicyChanged>> {
        self.changes
            .iter()
            .rfind(|held| present_name(&held.body.setting.0) == name)
    }

    /// What held at a moment: the changes that had come into force by then.
    #[must_use]
    pub fn at(&self, moment: Timestamp) -> Policy {
        let by_then = |held: &&Held<PolicyChanged>| held.stamp.occurred_at <= moment;
        let mut then = Policy {
            changes: self.changes.iter().filter(by_then).cloned().collect(),
            ..Policy::default()
        };
        then.settle();
        then
    }

    pub(super) fn change(&mut self, changed: Held<PolicyChanged>) {
        self.changes.push(changed);
        self.settle();
    }

    /// The newest change of each setting decides. One that this program cannot go by leaves
    /// the default, never an older value: that one was meant to be replaced.
    fn settle(&mut self) {
        self.values = Values::default();
        self.not_in_force.clear();
        let mut newest: BTreeMap<&str, &Held<PolicyChanged>> = BTreeMap::new();
        for held in &self.changes {
            newest.insert(present_name(&held.body.setting.0), held);
        }
        for (name, held) in &newest {
            match admitted(name, &held.body.value.0) {
                Ok((key, value)) => self.values.set(key, value),
                Err((why, is_unknown)) => {
                    self.not_in_force.push(not_in_force(held, why, is_unknown));
                }
            }
        }
        // Each round takes at least one set value back, and the defaults hold together.
        while let Some(conflict) = self.values.conflicts().into_iter().next() {
            let mut taken_back = false;
            for key in conflict.keys.iter().filter_map(|name| find(name)) {
                if let Some(held) = newest.get(key.name).filter(|_| self.values.has(key)) {
                    self.values.unset(key);
                    taken_back = true;
                    self.not_in_force
                        .push(not_in_force(held, conflict.what.clone(), false));
                }
            }
            if !taken_back {
                return;
            }
        }
    }
}

type Admitted = (&'static crate::clinical::policy::Key, Value);

fn admitted(name: &str, literal: &str) -> Result<Admitted, (String, bool)> {
    let key = find(name).ok_or_else(|| {
        let why = "this program knows no such setting; a newer one may have written it";
        (why.to_owned(), true)
    })?;
    match key.read(literal) {
        Ok(value) => Ok((key, value)),
        Err(problem) => Err((
            format!("{}; accepted is {}", problem.what, problem.accepted),
            false,
        )),
    }
}

/// A setting's name today; an unknown one's is as it stands.
fn present_name(stored: &str) -> &str {
    find(stored).map_or(stored, |key| key.name)
}

fn not_in_force(held: &Held<PolicyChanged>, why: String, is_unknown: bool) -> NotInForce {
    NotInForce {
        seq: held.seq(),
        setting: held.body.setting.0.clone(),
        value: held.body.value.0.clone(),
        why,
        is_unknown,
    }
}

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

/// A setting that was stored and that this program does not go by: the newest earlier value that
/// is accepted holds, or else the default.
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
    /// The earlier change whose value holds instead; none where the default does.
    pub instead: Option<Seq>,
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

    /// The newest change of each setting that this program can go by decides. One that it cannot
    /// go by is said, and leaves what held before it: the ward chose that once, and a default
    /// may be further from what it meant.
    fn settle(&mut self) {
        self.values = Values::default();
        self.not_in_force.clear();
        let mut newest: BTreeMap<&str, &Held<PolicyChanged>> = BTreeMap::new();
        let mut refused: BTreeMap<&str, NotInForce> = BTreeMap::new();
        for held in &self.changes {
            let name = present_name(&held.body.setting.0);
            match admitted(name, &held.body.value.0) {
                Ok((key, value)) => {
                    self.values.set(key, value);
                    newest.insert(name, held);
                    refused.remove(name);
                }
                Err((why, is_unknown)) => {
                    refused.insert(name, not_in_force(held, why, is_unknown));
                }
            }
        }
        leave_out_conflicts(&mut self.values, &newest, &mut self.not_in_force);
        for (name, mut refused) in refused {
            let holds = newest
                .get(name)
                .filter(|_| find(name).is_some_and(|key| self.values.has(key)));
            refused.instead = holds.map(|held| held.seq());
            self.not_in_force.push(refused);
        }
    }
}

/// Takes back what does not hold together. Each round takes at least one set value back, and the
/// defaults hold together.
fn leave_out_conflicts(
    values: &mut Values,
    newest: &BTreeMap<&str, &Held<PolicyChanged>>,
    not_in_force: &mut Vec<NotInForce>,
) {
    while let Some(conflict) = values.conflicts().into_iter().next() {
        let mut taken_back = false;
        for key in conflict.keys.iter().filter_map(|name| find(name)) {
            if let Some(held) = newest.get(key.name).filter(|_| values.has(key)) {
                values.unset(key);
                taken_back = true;
                not_in_force.push(self::not_in_force(held, conflict.what.clone(), false));
            }
        }
        if !taken_back {
            return;
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
        instead: None,
        is_unknown,
    }
}

//! Pain by the numeric scale, and how it changed.

use super::{About, Desk, Part, Weight, Working, ago};
use crate::ward::observations::ObservationSet;

const SOURCE: &str = "numeric rating scale, 0 none to 10 worst imaginable: common practice";
const CAUTION: &str = "What the patient says it is. Ask again after analgesia.";

pub(super) fn pain(desk: &Desk<'_>) -> Option<Working> {
    let sets = desk.sets();
    let told: Vec<(&ObservationSet, i32)> = sets
        .iter()
        .filter_map(|set| Some((*set, worst(set)?)))
        .collect();
    let (newest, now) = *told.last()?;
    let mut text = format!("Pain {now} of 10");
    let at_rest = newest.body.pain.map(|pain| pain.0);
    let moving = newest.body.pain_moving.map(|pain| pain.0);
    text += match (at_rest, moving) {
        (Some(_), None) => " at rest",
        (None, Some(_)) => " on movement",
        _ => " at worst",
    };
    let earlier = told.len().checked_sub(2).map(|at| told[at]);
    let mut parts = Vec::new();
    if let Some((then, was)) = earlier {
        text += &match now - was {
            0 => format!(", as at {}", desk.when(then.stamp.occurred_at)),
            more => format!(", {more:+} since {}", desk.when(then.stamp.occurred_at)),
        };
    }
    parts.extend(at_rest.map(|pain| Part::new("at rest", pain.to_string())));
    parts.extend(moving.map(|pain| Part::new("on movement", pain.to_string())));
    parts.push(Part::new("asked", ago(desk, newest.stamp.occurred_at)));
    Some(Working {
        about: About::Pain,
        weight: Weight::Say,
        text,
        parts,
        entries: told.iter().map(|(set, _)| set.stamp.seq).collect(),
        source: SOURCE,
        caution: CAUTION,
    })
}

/// The higher of the two that were asked.
fn worst(set: &ObservationSet) -> Option<i32> {
    let asked = [set.body.pain, set.body.pain_moving];
    asked.iter().flatten().map(|pain| pain.0).max()
}

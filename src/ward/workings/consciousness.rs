//! The coma scale and the 4AT that were written down, and what they come to.

use super::{About, Desk, Part, Weight, Working, ago};
use crate::clinical::scales::{
    COMA_CAUTION, COMA_SOURCE, Coma, FOUR_AT_CAUTION, FOUR_AT_CREDIT, FOUR_AT_SOURCE, FourAtFound,
    FourAtReading,
};
use crate::record::observed::Acvpu;
use crate::ward::observations::ObservationSet;

/// The highest total of the coma scale.
const FULL: u8 = 15;

pub(super) fn consciousness(desk: &Desk<'_>) -> Vec<Working> {
    coma(desk).into_iter().chain(four_at(desk)).collect()
}

/// The newest coma scale, with the total before it. Under 15, or without a total, somebody
/// should look; so should they where it fell.
fn coma(desk: &Desk<'_>) -> Option<Working> {
    let sets = desk.sets();
    let taken: Vec<(&ObservationSet, Coma)> = sets
        .iter()
        .filter_map(|set| Some((*set, Coma::of(set.body.gcs?).ok()?)))
        .collect();
    let (newest, now) = *taken.last()?;
    let at = newest.stamp.occurred_at;
    let mut text = format!("Coma scale {} at {}", now.text(), desk.when(at));
    let earlier = taken.len().checked_sub(2).map(|at| taken[at]);
    if let Some((then, was)) = earlier {
        let when = desk.when(then.stamp.occurred_at);
        text += &format!(", was {} at {when}", was.text());
    }
    let fell = earlier
        .and_then(|(_, was)| was.total())
        .zip(now.total())
        .is_some_and(|(was, now)| now < was);
    if fell {
        text += "; it has fallen";
    }
    if now.suggests_confusion() && newest.body.acvpu != Some(Acvpu::Confused) {
        text += "; confused by the verbal part: if that is new, ACVPU is confused, which scores 3";
    }
    let weight = match now.total() {
        Some(FULL) => Weight::Say,
        _ => Weight::Look,
    };
    Some(Working {
        about: About::Consciousness,
        weight,
        text,
        parts: vec![Part::new("taken", ago(desk, at))],
        entries: taken.iter().map(|(set, _)| set.stamp.seq).collect(),
        source: COMA_SOURCE,
        caution: COMA_CAUTION,
    })
}

/// The newest 4AT. Possible delirium, or too little to tell, is for somebody to look at.
fn four_at(desk: &Desk<'_>) -> Option<Working> {
    let sets = desk.sets();
    let newest = sets.iter().rev();
    let mut newest =
        newest.filter_map(|set| Some((*set, FourAtFound::of(set.body.four_at?).ok()?)));
    let (set, found) = newest.next()?;
    let at = set.stamp.occurred_at;
    let weight = match found.reading() {
        Some(FourAtReading::PossibleDelirium) | None => Weight::Look,
        Some(_) => Weight::Say,
    };
    Some(Working {
        about: About::Consciousness,
        weight,
        text: format!("4AT {} at {}", found.text(), desk.when(at)),
        parts: vec![
            Part::new("taken", ago(desk, at)),
            Part::new("form", FOUR_AT_CREDIT),
        ],
        entries: vec![set.stamp.seq],
        source: FOUR_AT_SOURCE,
        caution: FOUR_AT_CAUTION,
    })
}

//! Days of stay, and days of each medicine that was recorded as taken.

use std::collections::BTreeMap;

use super::{About, Desk, Part, Weight, Working};
use crate::clinical::stay::{day_of, stay};
use crate::record::ids::Seq;
use crate::record::kind::supply::DoseOutcome;
use crate::record::time::Timestamp;

const SOURCE: &str =
    "bed days: midnights, NHS Data Dictionary, from memory; days of treatment: common practice";
const CAUTION: &str = "Counted from the first dose recorded here: doses taken before, or not written down, are not known.";

pub(super) fn stays(desk: &Desk<'_>) -> Vec<Working> {
    let mut worked: Vec<Working> = of_stay(desk).into_iter().collect();
    worked.extend(treatment(desk));
    worked
}

fn working(text: String, parts: Vec<Part>, entries: Vec<Seq>) -> Working {
    Working {
        about: About::Stay,
        weight: Weight::Say,
        text,
        parts,
        entries,
        source: SOURCE,
        caution: CAUTION,
    }
}

fn of_stay(desk: &Desk<'_>) -> Option<Working> {
    let admitted = desk.patient.admitted()?;
    let until = desk.patient.left_at().unwrap_or(desk.now);
    let stay = stay(admitted.occurred_at, until, desk.zone).ok()?;
    let day = day_of(desk.zone.date(admitted.occurred_at), desk.zone.date(until))?;
    let text = format!(
        "Day {day} of stay: {} bed days so far, {} elapsed",
        stay.midnights,
        stay.elapsed.spoken()
    );
    let expected = desk.patient.details.as_ref()?.expected_discharge;
    let parts = expected.map(|expected| {
        let days = (expected.to_date() - desk.zone.date(desk.now)).num_days();
        Part::new(
            "expected to leave",
            match days {
                0 => "today".to_owned(),
                1 => "tomorrow".to_owned(),
                2.. => format!("in {days} days"),
                -1 => "was expected yesterday".to_owned(),
                _ => format!("was expected {} days ago", -days),
            },
        )
    });
    Some(working(
        text,
        parts.into_iter().collect(),
        vec![admitted.seq],
    ))
}

/// Each medicine by the words it was recorded under, from its first dose in this stay.
fn treatment(desk: &Desk<'_>) -> Vec<Working> {
    let Some(admitted) = desk.patient.admitted() else {
        return Vec::new();
    };
    let mut first: BTreeMap<String, (Timestamp, Seq, String)> = BTreeMap::new();
    for held in &desk.patient.doses {
        let taken = matches!(held.body.outcome, DoseOutcome::Taken | DoseOutcome::Given);
        let at = held
            .body
            .last_taken
            .map_or(held.stamp.occurred_at, |past| past.0);
        if !taken || at < admitted.occurred_at || at > desk.now {
            continue;
        }
        let name = held.body.medicine.0.clone();
        let entry = (at, held.stamp.seq, name.clone());
        let kept = first
            .entry(name.to_lowercase())
            .or_insert_with(|| entry.clone());
        if at < kept.0 {
            *kept = entry;
        }
    }
    first
        .into_values()
        .filter_map(|(at, seq, name)| {
            let (began, today) = (desk.zone.date(at), desk.zone.date(desk.now));
            let day = day_of(began, today)?;
            let when = desk.when(at);
            let text = format!("{name}: day {day} since the first dose recorded here, {when}");
            Some(working(text, Vec::new(), vec![seq]))
        })
        .collect()
}

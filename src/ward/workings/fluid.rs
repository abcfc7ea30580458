//! Fluids in and out over the policy's window, and urine by weight.

use super::{About, Desk, Part, Weight, Working};
use crate::clinical::fluid::{CAUTION, Fluid, SOURCE, Way, balance, urine_is_low};
use crate::record::observed::Reading;
use crate::record::time::Span;

pub(super) fn fluid(desk: &Desk<'_>) -> Option<Working> {
    let window = desk.policy.values().fluid().window;
    let from = desk.now.plus(Span(-window.0));
    let sets = desk.sets();
    let mut fluids = Vec::new();
    let mut entries = Vec::new();
    for set in sets.iter().filter(|set| set.stamp.occurred_at >= from) {
        let at = set.stamp.occurred_at;
        let amounts = [(Way::In, set.body.fluid_in), (Way::Urine, set.body.urine)];
        for (way, amount) in amounts {
            let Some(ml) = amount.and_then(|amount| u32::try_from(amount.0).ok()) else {
                continue;
            };
            fluids.push(Fluid { at, way, ml });
            entries.push(set.stamp.seq);
        }
    }
    if fluids.is_empty() {
        return None;
    }
    // The window's end counts: what was drunk a second ago is in.
    let to = desk.now.plus(Span(1));
    let found = balance(&fluids, from, to).ok()?;
    entries.dedup();
    let mut text = format!(
        "Fluids over {}: in {} mL, out {} mL, balance {:+} mL, from {} amounts",
        window.spoken(),
        found.in_ml,
        found.out_ml,
        found.net_ml(),
        found.counted
    );
    let mut weight = Weight::Say;
    let mut parts = Vec::new();
    match found.urine_ml {
        None => text += "; no urine was written down",
        Some(urine) => parts.push(Part::new("urine", format!("{urine} mL"))),
    }
    if let Some((deci_kg, from_when)) = weighed(desk) {
        parts.push(Part::new("weight", from_when));
        // Held against the time that was charted, not against a window that began before it.
        let charted_from = fluids.iter().map(|fluid| fluid.at).min().unwrap_or(from);
        let low = urine_is_low(&found, deci_kg, charted_from, to) == Ok(Some(true));
        match (low, is_kept(&fluids)) {
            (true, true) => {
                weight = Weight::Look;
                let over = desk.now.since(charted_from).spoken();
                text += &format!("; urine is under 0.5 mL/kg/h by what was written down in {over}");
            }
            (true, false) => text += "; too few amounts of urine to hold it against the weight",
            (false, _) => {}
        }
    }
    Some(Working {
        about: About::Fluid,
        weight,
        text,
        parts,
        entries,
        source: SOURCE,
        caution: CAUTION,
    })
}

/// Whether urine was charted often enough and for long enough to say that there was little of it
/// rather than that little was written down: three amounts over six hours. Ours, no source.
fn is_kept(fluids: &[Fluid]) -> bool {
    let mut at: Vec<_> = fluids
        .iter()
        .filter(|fluid| fluid.way == Way::Urine)
        .map(|fluid| fluid.at)
        .collect();
    at.sort_unstable();
    let [first, _, .., last] = at.as_slice() else {
        return false;
    };
    last.since(*first) >= Span::hours(6)
}

/// The newest weight, in tenths of a kilogram, and where it is from.
fn weighed(desk: &Desk<'_>) -> Option<(u32, String)> {
    let sets = desk.sets();
    let newest = sets.iter().rev().find_map(|set| {
        let weight = set.body.weight.as_ref().and_then(Reading::value)?;
        Some((weight, desk.when(set.stamp.occurred_at)))
    });
    let (weight, when) = match newest {
        Some(newest) => newest,
        None => {
            let admitted = desk.patient.details.as_ref()?.base_weight?;
            (admitted, "on admission".to_owned())
        }
    };
    let deci_kg = u32::try_from(weight.0)
        .ok()
        .filter(|deci_kg| *deci_kg > 0)?;
    Some((deci_kg, format!("{weight}, {when}")))
}

//! Fluids in and out over a window, and urine by weight.

use super::{About, Desk, Part, Weight, Working};
use crate::clinical::fluid::{Balance, CAUTION, Fluid, SOURCE, Way, balance, urine_is_low};
use crate::record::ids::Seq;
use crate::record::losses::{FluidOut, Loss};
use crate::record::observed::Reading;
use crate::record::time::{Span, Timestamp};

/// What was written down in the window.
#[derive(Default)]
struct Chart {
    fluids: Vec<Fluid>,
    losses: Vec<FluidOut>,
    entries: Vec<Seq>,
}

pub(super) fn fluid(desk: &Desk<'_>) -> Option<Working> {
    let from = desk.now.plus(Span(-desk.fluid_window().0));
    let chart = chart(desk, from);
    if chart.entries.is_empty() {
        return desk.fluid_over.map(|_| nothing(desk));
    }
    if chart.fluids.is_empty() {
        return Some(only_seen(desk, &chart));
    }
    // The window's end counts: what was drunk a second ago is in.
    let to = desk.now.plus(Span(1));
    let found = balance(&chart.fluids, from, to).ok()?;
    let mut text = format!(
        "Fluids over {}: in {} mL, out {} mL, balance {:+} mL, from {} amounts",
        desk.fluid_window().spoken(),
        found.in_ml,
        found.out_ml,
        found.net_ml(),
        found.counted
    );
    text += &unmeasured(&chart.losses);
    let mut parts = Vec::new();
    match found.urine_ml {
        None => text += "; no urine was written down",
        Some(urine) => parts.push(Part::new("urine", format!("{urine} mL"))),
    }
    parts.extend(by_loss(&chart.losses));
    let (weight, said) = urine(desk, &chart.fluids, &found, (from, to), &mut parts);
    text += &said;
    Some(Working {
        weight,
        parts,
        entries: chart.entries,
        ..working(text)
    })
}

fn working(text: String) -> Working {
    Working {
        about: About::Fluid,
        weight: Weight::Say,
        text,
        parts: Vec::new(),
        entries: Vec::new(),
        source: SOURCE,
        caution: CAUTION,
    }
}

/// Somebody asked over how long, and nothing was written down: that is said, and is no balance.
fn nothing(desk: &Desk<'_>) -> Working {
    let over = desk.fluid_window().spoken();
    working(format!(
        "Fluids over {over}: nothing in or out was written down, so there is no balance"
    ))
}

/// Losses were seen and nothing was measured: a sum of nothing is no balance of 0.
fn only_seen(desk: &Desk<'_>, chart: &Chart) -> Working {
    let over = desk.fluid_window().spoken();
    let seen = seen(&chart.losses).join(" and ");
    let text = format!(
        "Fluids over {over}: {seen} seen and not measured, no amount in or out was written down, so there is no balance"
    );
    Working {
        entries: chart.entries.clone(),
        ..working(text)
    }
}

fn chart(desk: &Desk<'_>, from: Timestamp) -> Chart {
    let mut chart = Chart::default();
    let sets = desk.sets();
    for set in sets.iter().filter(|set| set.stamp.occurred_at >= from) {
        let at = set.stamp.occurred_at;
        let amounts = [(Way::In, set.body.fluid_in), (Way::Urine, set.body.urine)];
        let losses = set.body.fluid_out.iter();
        let all = amounts
            .into_iter()
            .chain(losses.clone().map(|loss| (Way::OtherOut, loss.ml)));
        let counted = all.filter_map(|(way, amount)| {
            let ml = u32::try_from(amount?.0).ok()?;
            Some(Fluid { at, way, ml })
        });
        let before = chart.fluids.len();
        chart.fluids.extend(counted);
        chart.losses.extend(losses.cloned());
        if chart.fluids.len() > before || !set.body.fluid_out.is_empty() {
            chart.entries.push(set.stamp.seq);
        }
    }
    chart
}

/// A loss that was seen and not measured is in no sum, so the balance is less than it says.
fn unmeasured(losses: &[FluidOut]) -> String {
    let seen = seen(losses);
    match seen.is_empty() {
        true => String::new(),
        false => format!(
            "; {} not measured and in no sum: the balance is less than this",
            seen.join(" and ")
        ),
    }
}

/// What was lost and not measured.
fn seen(losses: &[FluidOut]) -> Vec<&'static str> {
    let of = |what: Loss| {
        let mut losses = losses.iter();
        losses.any(|loss| loss.what == what && loss.ml.is_none())
    };
    let seen = Loss::ALL.iter().filter(|what| of(**what));
    seen.map(|what| what.label()).collect()
}

/// How much of each other loss.
fn by_loss(losses: &[FluidOut]) -> Vec<Part> {
    let sum = |what: Loss| {
        let of_it = losses.iter().filter(|loss| loss.what == what);
        let measured: Vec<i64> = of_it
            .filter_map(|loss| Some(i64::from(loss.ml?.0)))
            .collect();
        (!measured.is_empty()).then(|| measured.iter().sum::<i64>())
    };
    Loss::ALL
        .iter()
        .filter_map(|what| Some(Part::new(what.label(), format!("{} mL", sum(*what)?))))
        .collect()
}

/// Urine against the weight: how much it asks for, and what is said of it.
fn urine(
    desk: &Desk<'_>,
    fluids: &[Fluid],
    found: &Balance,
    (from, to): (Timestamp, Timestamp),
    parts: &mut Vec<Part>,
) -> (Weight, String) {
    let Some((deci_kg, from_when)) = weighed(desk) else {
        return (Weight::Say, String::new());
    };
    parts.push(Part::new("weight", from_when));
    // Held against the time that was charted, not against a window that began before it.
    let charted_from = fluids.iter().map(|fluid| fluid.at).min().unwrap_or(from);
    let low = urine_is_low(found, deci_kg, charted_from, to) == Ok(Some(true));
    match (low, is_kept(fluids)) {
        (true, true) => {
            let over = desk.now.since(charted_from).spoken();
            let said = format!("; urine is under 0.5 mL/kg/h by what was written down in {over}");
            (Weight::Look, said)
        }
        (true, false) => (
            Weight::Say,
            "; too few amounts of urine to hold it against the weight".to_owned(),
        ),
        (false, _) => (Weight::Say, String::new()),
    }
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

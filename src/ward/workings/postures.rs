//! Two pressures held against each other: standing against resting, one arm against the other.

use super::pressure::{Taken, shown, working};
use super::{Desk, Weight, Working};
use crate::clinical::pressure::{arms_differ, postural_drop};
use crate::record::observed::{Arm, Posture};
use crate::record::time::Span;

/// Two pressures belong together if the second follows within this. Common practice.
const TOGETHER_WITHIN: Span = Span::minutes(10);
/// A drop on standing says something of now for this long. Ours, no source.
const DROP_SHOWN_FOR: Span = Span::hours(24);

/// A fall on standing up, of the newest set taken standing.
pub(super) fn standing(desk: &Desk<'_>, taken: &[Taken<'_>]) -> Option<Working> {
    let at = taken
        .iter()
        .rposition(|taken| taken.set.body.posture == Some(Posture::Standing))?;
    let (up, earlier) = (&taken[at], taken[..at].last()?);
    if desk.now.since(up.at()) > DROP_SHOWN_FOR {
        return None;
    }
    let close = up.at().since(earlier.at()) <= TOGETHER_WITHIN;
    let posture = earlier.set.body.posture;
    let rested = matches!(posture, Some(Posture::Sitting | Posture::Lying));
    if !close || !rested || !postural_drop(earlier.pressure, up.pressure) {
        return None;
    }
    let text = format!(
        "BP fell on standing, {}: {} to {}, {} mmHg systolic; 20 and over is a postural drop",
        desk.when(up.at()),
        shown(earlier.pressure),
        shown(up.pressure),
        earlier.pressure.sbp() - up.pressure.sbp()
    );
    Some(working(Weight::Look, text, Vec::new(), &[earlier, up]))
}

/// The newest pair taken in both arms, one right after the other (NG136 1.2.1). Once is for
/// measuring again; twice says which arm is used from then on.
pub(super) fn arms(desk: &Desk<'_>, taken: &[Taken<'_>]) -> Option<Working> {
    let pairs: Vec<&[Taken<'_>]> = taken.windows(2).filter(|pair| is_both_arms(pair)).collect();
    let [earlier @ .., newest] = pairs.as_slice() else {
        return None;
    };
    let [first, second] = newest else { return None };
    let differs = |pair: &[Taken<'_>]| arms_differ(pair[0].pressure, pair[1].pressure);
    if !differs(newest) {
        return None;
    }
    let by = (first.pressure.sbp() - second.pressure.sbp()).abs();
    let higher = match first.pressure.sbp() > second.pressure.sbp() {
        true => first,
        false => second,
    };
    let arm = higher.set.body.arm.map_or("", Arm::label);
    let again = earlier.last().is_some_and(|pair| differs(pair));
    let (weight, then) = match again {
        true => (
            Weight::Say,
            format!("as it did before: measure in the {arm}, the higher, from now on"),
        ),
        false => (
            Weight::Look,
            format!("measure both again, and if they differ again use the {arm}, the higher"),
        ),
    };
    let text = format!(
        "BP differs between the arms at {}: {} {}, {} {}, {by} mmHg systolic, over 15; {then}",
        desk.when(second.at()),
        first.set.body.arm.map_or("", Arm::label),
        shown(first.pressure),
        second.set.body.arm.map_or("", Arm::label),
        shown(second.pressure),
    );
    Some(working(weight, text, Vec::new(), &[first, second]))
}

/// One in each arm, in one posture, right after each other.
fn is_both_arms(pair: &[Taken<'_>]) -> bool {
    let [first, second] = pair else { return false };
    let arms = (first.set.body.arm, second.set.body.arm);
    let both = matches!(
        arms,
        (Some(Arm::Left), Some(Arm::Right)) | (Some(Arm::Right), Some(Arm::Left))
    );
    both && first.set.body.posture == second.set.body.posture
        && second.at().since(first.at()) <= TOGETHER_WITHIN
}

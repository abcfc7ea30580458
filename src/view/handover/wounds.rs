//! Wounds on the sheet: size, how it changed, what it looks like, when it is due.

use serde::Serialize;

use crate::clinical::wound::{Reduction, Size, escalate_for_infection};
use crate::record::kind::wound::{Infection, PressureCategory, Side, WoundAssessment, WoundType};
use crate::record::time::Timestamp;
use crate::view::origin::{Origin, Subject};
use crate::ward::Patient;
use crate::ward::wounds::WoundLife;

/// A wound that is not healed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WoundLine {
    /// Who last assessed it and when.
    pub origin: Origin,
    /// Its number, for life.
    pub number: i32,
    /// Where on the body.
    pub site: String,
    /// Which side.
    pub side: Side,
    /// What kind of wound.
    pub kind: WoundType,
    /// Pressure-ulcer category.
    pub category: Option<PressureCategory>,
    /// Size at the newest measurement, in words.
    pub size: Option<String>,
    /// How the area changed since the first measurement, computed.
    pub change: Option<String>,
    /// Signs of infection at the newest assessment; `None` if not stated.
    pub infection: Option<Infection>,
    /// Infection that calls for escalation now.
    pub escalate: bool,
    /// Packing counted in and not yet out.
    pub packing_inside: Option<i32>,
    /// A count of packing is missing or they disagree: what is inside is at least so much.
    pub packing_miscounted: bool,
    /// Next change due.
    pub next_change: Option<Timestamp>,
}

pub(super) fn open_wounds(subject: &Subject<'_>, patient: &Patient) -> Vec<WoundLine> {
    let open = patient.wounds.values().filter(|wound| !wound.is_healed());
    open.filter_map(|wound| wound_line(subject, wound))
        .collect()
}

fn wound_line(subject: &Subject<'_>, wound: &WoundLife) -> Option<WoundLine> {
    let newest = wound.newest()?;
    let dressed = wound.dressings.iter().map(|held| held.seq()).max();
    let measured: Vec<(Timestamp, Size)> = wound
        .assessments
        .iter()
        .filter_map(|held| Some((held.stamp.occurred_at, size(&held.body)?)))
        .collect();
    let infection = newest.body.infection;
    let packing = wound.packing();
    Some(WoundLine {
        origin: subject.origin_with(&newest.stamp, dressed),
        number: wound.number,
        site: newest.body.site.0.clone(),
        side: newest.body.side,
        kind: newest.body.kind,
        category: newest.body.category,
        size: wound
            .assessments
            .iter()
            .rev()
            .find_map(|h| size_words(&h.body)),
        change: change(subject, &measured),
        infection,
        escalate: infection.is_some_and(escalate_for_infection),
        packing_inside: Some(packing.inside).filter(|count| *count > 0),
        packing_miscounted: !packing.is_counted,
        next_change: wound.next_change(),
    })
}

fn size(assessment: &WoundAssessment) -> Option<Size> {
    let (length, width) = (assessment.length?, assessment.width?);
    Size::new(length.0, width.0, assessment.depth.map(|depth| depth.0)).ok()
}

fn size_words(assessment: &WoundAssessment) -> Option<String> {
    let (length, width) = (assessment.length?, assessment.width?);
    let depth = assessment.depth.map(|depth| format!(" x {depth} deep"));
    let number = |mm: i32| crate::record::quantity::LengthMm::MEASURE.number(mm);
    Some(format!(
        "{} x {width}{}",
        number(length.0),
        depth.unwrap_or_default()
    ))
}

/// `area 40.0 % smaller than on 02-Oct-2026`.
fn change(subject: &Subject<'_>, measured: &[(Timestamp, Size)]) -> Option<String> {
    let ((first_at, first), (_, last)) = (measured.first()?, measured.last()?);
    if measured.len() < 2 {
        return None;
    }
    let reduction = Reduction::between(*first, *last).ok()?;
    let on = crate::record::time::show_date(subject.vantage.zone().date(*first_at));
    Some(if reduction.is_none() {
        format!("area unchanged since {on}")
    } else {
        format!("area {} than on {on}", reduction.shown())
    })
}

//! Each open wound: area and volume, how fast it closes, its four-week marker, infection, and
//! what its assessment leaves out.

use super::{About, Desk, Part, Weight, Working};
use crate::clinical::wound::{
    CAUTION, ITEMS, ITEMS_LOOKED_AT, Marker, NOT_LOOKED_AT, Reduction, SOURCE, Size, curve,
    escalate_for_infection, gilman_cm_per_week, is_reverse_staged, missing_items,
};
use crate::record::kind::wound::WoundAssessment;
use crate::record::time::{Span, Timestamp, show_date};
use crate::ward::Held;
use crate::ward::wounds::WoundLife;

/// A measurement and the entry it stands in.
type Measured<'a> = (Timestamp, Size, &'a Held<WoundAssessment>);

pub(super) fn wounds(desk: &Desk<'_>) -> Vec<Working> {
    let open = desk
        .patient
        .wounds
        .values()
        .filter(|life| !life.is_healed());
    open.flat_map(|life| of_wound(desk, life)).collect()
}

fn of_wound(desk: &Desk<'_>, life: &WoundLife) -> Vec<Working> {
    let measured: Vec<Measured<'_>> = life
        .assessments
        .iter()
        .filter(|held| held.stamp.occurred_at <= desk.now)
        .filter_map(|held| Some((held.stamp.occurred_at, size(&held.body)?, held)))
        .collect();
    let mut worked = Vec::new();
    worked.extend(closing(desk, life, &measured));
    worked.extend(four_weeks(desk, life, &measured));
    worked.extend(infection(life));
    worked.extend(staged_back(life));
    worked.extend(left_out(life));
    worked
}

fn size(assessment: &WoundAssessment) -> Option<Size> {
    let (length, width) = (assessment.length?, assessment.width?);
    Size::new(length.0, width.0, assessment.depth.map(|depth| depth.0)).ok()
}

fn working(life: &WoundLife, weight: Weight, text: &str, parts: Vec<Part>) -> Working {
    Working {
        about: About::Wound,
        weight,
        text: format!("Wound {}: {text}", life.number),
        parts,
        entries: life.assessments.iter().map(Held::seq).collect(),
        source: SOURCE,
        caution: CAUTION,
    }
}

fn cm2(mm2: i64) -> String {
    format!("{}.{:02} cm²", mm2 / 100, mm2 % 100)
}

/// How large it is, and how fast its edge moves in.
fn closing(desk: &Desk<'_>, life: &WoundLife, measured: &[Measured<'_>]) -> Option<Working> {
    let ((first_at, first, _), (at, now, _)) = (measured.first()?, measured.last()?);
    let day = |moment| show_date(desk.zone.date(moment));
    let mut parts = vec![
        Part::new("rectangle", cm2(now.rectangle_mm2())),
        Part::new("ellipse", format!("{:.2} cm²", now.ellipse_cm2())),
    ];
    if let Some(mm3) = now.box_mm3() {
        parts.push(Part::new(
            "box",
            format!("{}.{:03} cm³", mm3 / 1000, mm3 % 1000),
        ));
    }
    let mut text = format!(
        "{} by length × width on {}",
        cm2(now.rectangle_mm2()),
        day(*at)
    );
    if measured.len() > 1 {
        text += &match Reduction::between(*first, *now) {
            Ok(reduction) => format!(", {} since {}", reduction.shown(), day(*first_at)),
            Err(error) => format!(", no reduction: {error}"),
        };
        let days = u32::try_from(at.since(*first_at).whole_minutes() / 1440).unwrap_or(0);
        if let Ok(rate) = gilman_cm_per_week(*first, *now, days) {
            parts.push(Part::new(
                "edge moves in",
                format!("{rate:.2} cm a week (Gilman)"),
            ));
        }
        parts.push(Part::new("curve", healing_curve(desk, measured)));
    }
    parts.extend(life.next_change().map(|due| {
        let days = (desk.zone.date(due) - desk.zone.date(desk.now)).num_days();
        Part::new("next dressing", in_days(days))
    }));
    Some(working(life, Weight::Say, &text, parts))
}

fn in_days(days: i64) -> String {
    match days {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        2.. => format!("in {days} days"),
        -1 => "was due yesterday".to_owned(),
        _ => format!("was due {} days ago", -days),
    }
}

/// Per cent of the first area that is left, a point a measurement.
fn healing_curve(desk: &Desk<'_>, measured: &[Measured<'_>]) -> String {
    let sizes: Vec<(Timestamp, Size)> = measured.iter().map(|(at, size, _)| (*at, *size)).collect();
    let points = match curve(&sizes) {
        Ok(points) => points,
        Err(error) => return error.to_string(),
    };
    let point = |point: &crate::clinical::wound::CurvePoint| {
        format!(
            "{} {}",
            show_date(desk.zone.date(point.taken_at)),
            cm2(point.rectangle_mm2)
        )
    };
    points.iter().map(point).collect::<Vec<_>>().join(", ")
}

/// Against the marker of its kind, by the ward's policy; and how it changed over the last four
/// weeks where it has been measured for so long.
fn four_weeks(desk: &Desk<'_>, life: &WoundLife, measured: &[Measured<'_>]) -> Option<Working> {
    let kind = life.newest()?.body.kind;
    let percent = desk.policy.values().wound().four_weeks_percent(kind)?;
    let percent = u8::try_from(percent).ok()?;
    let (first_at, first, _) = measured.first()?;
    let due = first_at.plus(Span::days(28));
    let source = Marker::of(kind).map_or("this ward's policy", |marker| marker.source);
    let parts = vec![Part::new(
        "marker",
        format!("{percent} % at four weeks ({source})"),
    )];
    let Some((at, then, _)) = measured.iter().find(|(at, ..)| *at >= due) else {
        let missing = desk.now > due;
        let day = show_date(desk.zone.date(due));
        let text = if missing {
            format!("four weeks were over on {day} and it was not measured since")
        } else {
            format!("four weeks are over on {day}: measure it then")
        };
        let weight = if missing { Weight::Look } else { Weight::Say };
        return Some(working(life, weight, &text, parts));
    };
    let reduction = Reduction::between(*first, *then).ok()?;
    let on = show_date(desk.zone.date(*at));
    if reduction.reaches(percent) {
        let text = format!("at least {percent} % smaller at four weeks, on {on}");
        return Some(working(life, Weight::Say, &text, parts));
    }
    let text = format!("{}, on {on}", Marker { percent, source }.not_reached());
    Some(working(life, Weight::Look, &text, parts))
}

fn infection(life: &WoundLife) -> Option<Working> {
    let signs = life.newest()?.body.infection?;
    escalate_for_infection(signs).then(|| {
        let text = format!("{signs}: escalate now");
        working(life, Weight::Act, &text, Vec::new())
    })
}

fn staged_back(life: &WoundLife) -> Option<Working> {
    let categories: Vec<_> = life
        .assessments
        .iter()
        .filter_map(|held| held.body.category)
        .collect();
    let [.., before, now] = categories.as_slice() else {
        return None;
    };
    is_reverse_staged(*before, *now).then(|| {
        let text = format!(
            "written as {now} after {before}: a pressure ulcer is never staged backwards; say \"{before}, healing\""
        );
        working(life, Weight::Look, &text, Vec::new())
    })
}

fn left_out(life: &WoundLife) -> Option<Working> {
    let missing = missing_items(&life.newest()?.body);
    (!missing.is_empty()).then(|| {
        let text = format!(
            "the newest assessment leaves out: {} (looked at: {ITEMS_LOOKED_AT} of the {ITEMS} items of the minimum data set)",
            missing.join(", ")
        );
        let elsewhere = Part::new("not looked at, and where it belongs", NOT_LOOKED_AT.join("; "));
        let mut working = working(life, Weight::Say, &text, vec![elsewhere]);
        working.source =
            "generic wound assessment minimum data set, Coleman and others 2017, item names from memory";
        working
    })
}

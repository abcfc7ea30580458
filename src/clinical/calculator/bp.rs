//! `bp`: what one pressure asks for.

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, require, to_json};
use crate::clinical::policy::Values;
use crate::clinical::pressure::{
    Pressure, RANGE_CAUTION, Range, Setting, SevereAction, SevereSign, postural_drop, severe_action,
};
use crate::record::time::{Span, Timestamp};

pub(super) const BP: Calculator = Calculator {
    name: "bp",
    about: "one pressure: range, target by age, severe with signs, repeat due, fall on standing (NICE NG136; the times to repeat are ours)",
    fields: &[
        Field::must(
            "sbp",
            "systolic pressure in mmHg, whole, 40 to 300; lying or sitting",
        ),
        Field::must(
            "dbp",
            "diastolic pressure in mmHg, whole, 20 to 200, below systolic",
        ),
        Field::must("measured", "\"clinic\" (by staff) or \"home\""),
        Field::may("age", "whole years, 18 to 120; for the home target"),
        Field::may(
            "signs",
            "what was found, in one text with spaces: confusion, chest-pain, breathless, sight, heart-failure, aki, retina, phaeochromocytoma; \"none\" if looked for",
        ),
        Field::may("at", "RFC 3339 time it was measured; for when to repeat"),
        Field::may("standing_sbp", "systolic pressure after standing up, mmHg"),
        Field::may("standing_dbp", "diastolic pressure after standing up, mmHg"),
    ],
    example: r#"{"calc":"bp","sbp":184,"dbp":104,"measured":"home","age":81,"signs":"chest-pain","at":"2026-03-01T08:00:00Z","standing_sbp":160,"standing_dbp":98}"#,
    run,
};

#[derive(Serialize)]
struct Answer {
    ok: bool,
    range: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    home_average_target_under: Option<[i64; 2]>,
    severe: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    repeat_by: Option<Timestamp>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fall_on_standing: Option<Fall>,
    source: &'static str,
    caution: &'static str,
}

#[derive(Serialize)]
struct Fall {
    mm_hg: i32,
    is_postural_drop: bool,
}

fn run(fields: &Fields<'_>) -> Result<String, Refused> {
    let (taken, setting) = (pressure(fields, "sbp", "dbp")?, setting(fields)?);
    require(&[
        ("sbp and dbp", taken.is_some()),
        ("measured", setting.is_some()),
    ])?;
    let (Some(taken), Some(setting)) = (taken, setting) else {
        return Err(Refused::Missing(vec!["sbp and dbp"]));
    };
    let age = fields.within("age", 0, (18, 120))?;
    let age = age.and_then(|years| u32::try_from(years).ok());
    let (values, at) = (Values::default(), fields.moment("at")?);
    let range = Range::of(taken, setting);
    let signs = signs(fields)?;
    let standing = pressure(fields, "standing_sbp", "standing_dbp")?;
    Ok(to_json(&Answer {
        ok: true,
        range: range.code(),
        home_average_target_under: age.map(|age| {
            let (sbp, dbp) = values.pressure().target_at(age);
            [sbp, dbp]
        }),
        severe: severe(taken, signs.as_deref()),
        repeat_by: at
            .zip(repeat(&values, range))
            .map(|(at, after)| at.plus(after)),
        fall_on_standing: standing.map(|up| Fall {
            mm_hg: taken.sbp() - up.sbp(),
            is_postural_drop: postural_drop(taken, up),
        }),
        source: "NICE NG136 (2019, as amended); times to repeat: ours",
        caution: RANGE_CAUTION,
    }))
}

fn pressure(
    fields: &Fields<'_>,
    sbp: &'static str,
    dbp: &'static str,
) -> Result<Option<Pressure>, Refused> {
    match (fields.whole(sbp)?, fields.whole(dbp)?) {
        (None, None) => Ok(None),
        (Some(s), Some(d)) => Pressure::new(s, d).map(Some).map_err(Refused::said),
        (None, _) => Err(Refused::Missing(vec![sbp])),
        (_, None) => Err(Refused::Missing(vec![dbp])),
    }
}

fn setting(fields: &Fields<'_>) -> Result<Option<Setting>, Refused> {
    match fields.text("measured")?.as_deref() {
        None => Ok(None),
        Some("clinic") => Ok(Some(Setting::Clinic)),
        Some("home") => Ok(Some(Setting::Home)),
        Some(_) => Err(Refused::WrongType {
            field: "measured".to_owned(),
            wanted: "\"clinic\" (by staff) or \"home\"",
        }),
    }
}

/// `None` if nobody looked, which is not "none found".
fn signs(fields: &Fields<'_>) -> Result<Option<Vec<SevereSign>>, Refused> {
    let Some(text) = fields.text("signs")? else {
        return Ok(None);
    };
    if text == "none" {
        return Ok(Some(Vec::new()));
    }
    let sign = |word: &str| match word {
        "confusion" => Ok(SevereSign::NewConfusion),
        "chest-pain" => Ok(SevereSign::ChestPain),
        "breathless" => Ok(SevereSign::Breathless),
        "sight" => Ok(SevereSign::Sight),
        "heart-failure" => Ok(SevereSign::HeartFailure),
        "aki" => Ok(SevereSign::AcuteKidneyInjury),
        "retina" => Ok(SevereSign::Retina),
        "phaeochromocytoma" => Ok(SevereSign::Phaeochromocytoma),
        _ => Err(Refused::WrongType {
            field: "signs".to_owned(),
            wanted: "words of: confusion, chest-pain, breathless, sight, heart-failure, aki, retina, phaeochromocytoma; or none",
        }),
    };
    text.split_whitespace()
        .map(sign)
        .collect::<Result<_, _>>()
        .map(Some)
}

fn severe(taken: Pressure, signs: Option<&[SevereSign]>) -> Option<&'static str> {
    match (severe_action(taken, signs.unwrap_or_default()), signs) {
        (SevereAction::None, _) => None,
        (SevereAction::SameDay, _) => {
            Some("severe with a sign: specialist assessment the same day")
        }
        (SevereAction::InvestigateSoon, Some(_)) => {
            Some("severe without a sign: look for target-organ damage, see again within 7 days")
        }
        (SevereAction::InvestigateSoon, None) => Some(
            "severe, and signs are not given: ask for new confusion, chest pain, breathlessness, sight; with any of them, specialist assessment the same day",
        ),
    }
}

fn repeat(values: &Values, range: Range) -> Option<Span> {
    match range {
        Range::Below => None,
        Range::Stage1 | Range::Stage2 => Some(values.pressure().repeat_after_raised),
        Range::Severe => Some(values.pressure().repeat_after_severe),
    }
}

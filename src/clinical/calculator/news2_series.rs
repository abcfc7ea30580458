//! `news2_series`: sets of one patient over time.

use std::collections::BTreeMap;

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, news2::set, to_json};
use crate::clinical::news2::{
    self, Change, Context, Doubt, Input, News2, NextSet, Row, Set, in_band_since, next_set_by,
};
use crate::clinical::policy::Values;
use crate::record::time::Timestamp;

pub(super) const NEWS2_SERIES: Calculator = Calculator {
    name: "news2_series",
    about: "NEWS2 over time: change, time in band, what it calls for, next set due, doubts (as published; the ward's own policy is in a journal)",
    fields: &[
        Field::must(
            "sets",
            "a list of {\"at\": RFC 3339 time, and the fields of news2}, in any order",
        ),
        Field::may(
            "as_of",
            "RFC 3339 time; later sets are left out; the latest set if not given",
        ),
        Field::may("age", "whole years, 0 to 120"),
        Field::may("pregnant", "true or false"),
        Field::may(
            "spinal_injury",
            "tetraplegia or high paraplegia, true or false",
        ),
        Field::may(
            "scale_2_prescribed",
            "somebody competent prescribed scale 2, true or false",
        ),
        Field::may(
            "skin_temperature_only",
            "the only temperature is a wearable's, true or false",
        ),
    ],
    example: r#"{"calc":"news2_series","age":70,"sets":[{"at":"2026-03-01T08:00:00Z","rr":18,"spo2":96,"scale":1,"oxygen":false,"sbp":120,"hr":88,"acvpu":"A","temp":37.1},{"at":"2026-03-01T12:00:00Z","rr":21,"spo2":95,"scale":1,"oxygen":false,"sbp":118,"hr":96,"acvpu":"A","temp":38.2}]}"#,
    run,
};

const SET_FIELDS: [&str; 9] = [
    "at", "rr", "spo2", "scale", "oxygen", "sbp", "hr", "acvpu", "temp",
];

#[derive(Serialize)]
struct Answer {
    ok: bool,
    at: Timestamp,
    total: Option<u8>,
    band: Option<&'static str>,
    single_3: bool,
    missing: Vec<&'static str>,
    since_before: Option<Changed>,
    since_first: Option<Changed>,
    band_held: Option<Held>,
    calls_for: Option<Called>,
    next_set: Next,
    doubts: Vec<&'static str>,
    source: &'static str,
    caution: &'static str,
}

#[derive(Serialize)]
struct Changed {
    from: Timestamp,
    total: Option<i8>,
    parts: BTreeMap<&'static str, i8>,
}

/// The band of the latest complete set.
#[derive(Serialize)]
struct Held {
    band: &'static str,
    since: Timestamp,
    minutes: i64,
}

#[derive(Serialize)]
struct Called {
    row: &'static str,
    response: String,
    answered_by: String,
}

#[derive(Serialize)]
struct Next {
    says: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<Timestamp>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<Timestamp>,
    overdue: bool,
}

fn run(fields: &Fields<'_>) -> Result<String, Refused> {
    let sets = fields.objects("sets", &SET_FIELDS, "news2_series")?;
    let sets = sets.ok_or_else(|| Refused::Missing(vec!["sets"]))?;
    let mut sets: Vec<(Timestamp, Set, News2)> =
        sets.iter().map(scored).collect::<Result<_, _>>()?;
    sets.sort_by_key(|(at, ..)| *at);
    let asked = fields.moment("as_of")?;
    let as_of = asked
        .or(sets.last().map(|(at, ..)| *at))
        .unwrap_or_default();
    sets.retain(|(at, ..)| *at <= as_of);
    let Some(((at, set, now), earlier)) = sets.split_last() else {
        return Err(Refused::Said("there is no set up to that time".to_owned()));
    };
    let first = earlier.iter().find(|(.., news2)| news2.score.is_some());
    let series: Vec<(Timestamp, News2)> = sets.iter().map(|(at, _, n)| (*at, n.clone())).collect();
    let policy = Values::default().news2();
    let context = context(fields, *at, as_of)?;
    Ok(to_json(&Answer {
        ok: true,
        at: *at,
        total: now.score.map(|score| score.total),
        band: now.score.map(|score| score.band.code()),
        single_3: now.single_3,
        missing: now.missing.iter().map(|input| input.code()).collect(),
        since_before: earlier.last().map(|before| changed(before, now)),
        since_first: first.map(|first| changed(first, now)),
        band_held: in_band_since(&series).map(|(band, since)| Held {
            band: band.code(),
            since,
            minutes: as_of.since(since).whole_minutes(),
        }),
        calls_for: Row::of(now).map(|row| Called {
            row: row.code(),
            response: policy.row(row).response.clone(),
            answered_by: policy.row(row).answered_by.clone(),
        }),
        next_set: next(next_set_by(&policy, now, *at), as_of),
        doubts: news2::doubts(set, &context)
            .into_iter()
            .map(Doubt::text)
            .collect(),
        source: news2::SOURCE,
        caution: news2::CAUTION,
    }))
}

fn scored(fields: &Fields<'_>) -> Result<(Timestamp, Set, News2), Refused> {
    let at = fields
        .moment("at")?
        .ok_or_else(|| Refused::Missing(vec!["at of a set"]))?;
    let set = set(fields)?;
    let news2 = news2::score(&set).map_err(Refused::said)?;
    Ok((at, set, news2))
}

fn changed((from, _, then): &(Timestamp, Set, News2), now: &News2) -> Changed {
    let Change { total, parts } = news2::change(then, now);
    let parts = parts
        .into_iter()
        .map(|(input, more): (Input, i8)| (input.code(), more));
    Changed {
        from: *from,
        total,
        parts: parts.collect(),
    }
}

fn context(fields: &Fields<'_>, taken_at: Timestamp, as_of: Timestamp) -> Result<Context, Refused> {
    let age = fields.within("age", 0, (0, 120))?;
    Ok(Context {
        age_years: age.and_then(|years| u32::try_from(years).ok()),
        pregnant: fields.yes_no("pregnant")?,
        high_spinal_injury: fields.yes_no("spinal_injury")?,
        scale_2_prescribed: fields.yes_no("scale_2_prescribed")? == Some(true),
        skin_temperature_only: fields.yes_no("skin_temperature_only")? == Some(true),
        taken_at,
        as_of,
        stale_after: Values::default().record().stale_set,
    })
}

fn next(next: NextSet, as_of: Timestamp) -> Next {
    let bare = |says| Next {
        says,
        from: None,
        to: None,
        overdue: false,
    };
    match next {
        NextSet::Continuous => bare("monitoring is to be continuous"),
        NextSet::CompleteThisOne => bare("complete this set: there is no total to go by"),
        NextSet::Due { from, to } => Next {
            says: "due between from and to",
            from: Some(from),
            to: Some(to),
            overdue: to < as_of,
        },
    }
}

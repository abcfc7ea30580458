//! The early warning score over time: change, band, what it calls for, when the next set is due.

use super::{About, Desk, Part, Weight, Working, ago, capital};
use crate::clinical::news2::{
    self, Change, Context, Doubt, News2, NextSet, Row, Set, in_band_since,
    is_above_target_on_oxygen, next_set_by, oxygen_change, scale_2_in_words,
};
use crate::clinical::scales::{Coma, FourAtFound, Taken, acvpu_caution_beside};
use crate::record::field::{FieldValue, ShowContext};
use crate::record::kind::episode::{Ceiling, Stated};
use crate::record::observed::{Oxygen, Spo2Scale};
use crate::ward::observations::ObservationSet;

pub(super) fn score(desk: &Desk<'_>) -> Vec<Working> {
    let sets = desk.sets();
    let Some((newest, news2)) = newest(&sets) else {
        return Vec::new();
    };
    let mut worked = vec![now(desk, &sets, newest, &news2)];
    worked.extend(follows(desk, &sets, newest, &news2));
    worked
}

/// What follows from the newest set, without what it scores.
pub(super) fn called_for(desk: &Desk<'_>) -> Vec<Working> {
    let sets = desk.sets();
    let found = newest(&sets).map(|(set, news2)| follows(desk, &sets, set, &news2));
    found.unwrap_or_default()
}

/// Sets that are not proven to be their author's and newer than the newest that is. They take
/// its place nowhere, and if they are true somebody should know.
pub(super) fn beside(desk: &Desk<'_>) -> Option<Working> {
    let proven = newest(&desk.sets()).map(|(set, _)| set.stamp.occurred_at);
    let sets = desk.patient.unproved_sets_of_stay().iter().filter(|set| {
        let at = set.stamp.occurred_at;
        at <= desk.now && proven.is_none_or(|proven| at >= proven) && set.has_vital_sign()
    });
    let sets: Vec<&ObservationSet> = sets.collect();
    let last = sets.last()?;
    let count = match sets.len() {
        1 => "1 newer set of readings is".to_owned(),
        many => format!("{many} newer sets of readings are"),
    };
    let highest = match sets.iter().filter_map(|set| set.total()).max() {
        Some(total) => format!("; the highest NEWS2 among them is {total}"),
        None => String::new(),
    };
    let when = desk.when(last.stamp.occurred_at);
    Some(Working {
        entries: sets.iter().map(|set| set.stamp.seq).collect(),
        ..working(
            Weight::Look,
            format!(
                "{count} not proved to be their author's and counted nowhere, the last of {when} ({}){highest}: measure anew",
                last.stamp.author
            ),
            Vec::new(),
            last,
        )
    })
}

fn newest<'a>(sets: &[&'a ObservationSet]) -> Option<(&'a ObservationSet, News2)> {
    let set = *sets.iter().rev().find(|set| set.has_vital_sign())?;
    Some((set, set.news2()?))
}

/// A set that is incomplete takes nothing back: what the last complete one called for stands
/// beside it until there is a complete one again.
fn follows(
    desk: &Desk<'_>,
    sets: &[&ObservationSet],
    set: &ObservationSet,
    news2: &News2,
) -> Vec<Working> {
    let mut worked: Vec<Working> = responses(desk, sets, set, news2);
    worked.extend(above_target(set));
    worked.extend(oxygen_changed(desk, sets, set));
    worked.extend(next_set(desk, set, news2));
    // The sheet says these beside the score, so they ask for nothing here.
    let doubted = doubts(desk, set).into_iter();
    worked.extend(doubted.map(|doubt| working(Weight::Say, capital(doubt), Vec::new(), set)));
    worked.extend(consciousness(sets, set));
    worked
}

/// What the newest set calls for. Of an incomplete one that is what its known parts have reached,
/// or what the last complete one called for where that is more: neither takes the other back.
fn responses(
    desk: &Desk<'_>,
    sets: &[&ObservationSet],
    set: &ObservationSet,
    news2: &News2,
) -> Vec<Working> {
    if news2.score.is_some() {
        return response(desk, set, news2, ("", "")).into_iter().collect();
    }
    let floor = Row::of(news2);
    let complete = last_complete(sets).filter(|(_, earlier)| Row::of(earlier) > floor);
    let Some((complete, earlier)) = complete else {
        let so_far = news2
            .at_least_in_words()
            .map_or(String::new(), |floor| format!("{floor}: "));
        return response(desk, set, news2, (&so_far, ""))
            .into_iter()
            .collect();
    };
    let when = desk.when(complete.stamp.occurred_at);
    let still = format!(" at {when}, the last complete set,");
    let called = response(desk, complete, &earlier, ("", &still)).into_iter();
    let of_both = called.map(|working| Working {
        entries: vec![complete.stamp.seq, set.stamp.seq],
        ..working
    });
    of_both.collect()
}

fn working(weight: Weight, text: String, parts: Vec<Part>, set: &ObservationSet) -> Working {
    Working {
        about: About::Score,
        weight,
        text,
        parts,
        entries: vec![set.stamp.seq],
        source: news2::SOURCE,
        caution: news2::CAUTION,
    }
}

/// What a reader must know before trusting this set's score.
pub(super) fn doubts(desk: &Desk<'_>, set: &ObservationSet) -> Vec<&'static str> {
    let details = desk.patient.details.as_ref();
    let asked = |stated: Option<Stated>| match stated {
        Some(Stated::Yes) => Some(true),
        Some(Stated::No) => Some(false),
        Some(Stated::NotAsked) | None => None,
    };
    let taken_on = desk.zone.date(set.stamp.occurred_at);
    let context = Context {
        age_years: desk.patient.age_on(taken_on).map(|age| age.years),
        pregnant: details.and_then(|d| asked(d.pregnant)),
        high_spinal_injury: details.and_then(|d| asked(d.spinal_injury)),
        scale_2_prescribed: details.is_some_and(|d| d.scale_by.is_some()),
        skin_temperature_only: set.body.temp.is_none() && set.body.skin_temp.is_some(),
        taken_at: set.stamp.occurred_at,
        as_of: desk.now,
        stale_after: desk.policy.values().record().stale_set,
    };
    news2::doubts(&Set::of(&set.body, set.scale), &context)
        .into_iter()
        .map(Doubt::text)
        .collect()
}

fn last_complete<'a>(sets: &[&'a ObservationSet]) -> Option<(&'a ObservationSet, News2)> {
    let scored = sets
        .iter()
        .rev()
        .filter_map(|set| Some((*set, set.news2()?)));
    scored.into_iter().find(|(_, news2)| news2.score.is_some())
}

/// The total with what it was before and at the start, and since when its band has held. The
/// sheet says the same under S, so it asks for nothing here.
fn now(
    desk: &Desk<'_>,
    sets: &[&ObservationSet],
    newest: &ObservationSet,
    news2: &News2,
) -> Working {
    let at = newest.stamp.occurred_at;
    let taken = desk.when(at);
    let mut text = match news2.score {
        Some(score) => format!("NEWS2 {} ({}) at {taken}", score.total, score.band.code()),
        None => {
            let missing: Vec<&str> = news2.missing.iter().map(|input| input.label()).collect();
            let floor = news2.at_least_in_words();
            let floor = floor.map_or(String::new(), |floor| format!("; {floor}"));
            format!(
                "NEWS2 has no total at {taken}: {} not there{floor}",
                missing.join(", ")
            )
        }
    };
    if news2.single_3 {
        text += ", a single parameter scores 3";
    }
    let scored: Vec<(&ObservationSet, News2)> = sets
        .iter()
        .filter(|set| set.stamp.occurred_at < at && set.has_vital_sign())
        .filter_map(|set| Some((*set, set.news2()?)))
        .collect();
    let mut parts: Vec<Part> = news2
        .parts
        .each()
        .into_iter()
        .map(|(input, points)| {
            let points = points.map_or("not known".to_owned(), |points| points.to_string());
            Part::new(input.label(), points)
        })
        .collect();
    if newest.scale == Some(Spo2Scale::Scale2) {
        let details = desk.patient.details.as_ref();
        let by = details.and_then(|details| details.scale_by.as_ref());
        let scale = scale_2_in_words(by.map(|by| by.0.as_str()));
        parts.push(Part::new("scale", scale));
    }
    if let Some((before, was)) = scored.last() {
        let change = news2::change(was, news2);
        let when = desk.when(before.stamp.occurred_at);
        parts.push(Part::new("since the set before", changed(&change, &when)));
    }
    // The first complete set of the stay is what later ones are held against.
    let first = scored.iter().find(|(_, news2)| news2.score.is_some());
    if let Some((first, was)) = first {
        let change = news2::change(was, news2);
        let when = desk.when(first.stamp.occurred_at);
        parts.push(Part::new(
            "since the first of the stay",
            changed(&change, &when),
        ));
    }
    let series: Vec<_> = scored
        .into_iter()
        .map(|(set, news2)| (set.stamp.occurred_at, news2))
        .chain([(at, news2.clone())])
        .collect();
    if let Some((band, since)) = in_band_since(&series) {
        let held = desk.now.since(since).spoken();
        let since = desk.when(since);
        parts.push(Part::new(
            "band",
            format!("{} since {since} ({held})", band.code()),
        ));
    }
    working(Weight::Say, text, parts, newest)
}

/// `+2 from 16:29 (pulse +1, temperature +1)`.
fn changed(change: &Change, when: &str) -> String {
    let parts: Vec<String> = change
        .parts
        .iter()
        .map(|(input, more)| format!("{} {more:+}", input.label()))
        .collect();
    let parts = match parts.is_empty() {
        true => String::new(),
        false => format!(" ({})", parts.join(", ")),
    };
    match change.total {
        Some(0) => format!("the same total as {when}{parts}"),
        Some(more) => format!("{more:+} from {when}{parts}"),
        None => format!("totals cannot be compared with {when}{parts}"),
    }
}

/// What the ward's policy asks for at this score, with what is to be said before and after it.
fn response(
    desk: &Desk<'_>,
    set: &ObservationSet,
    news2: &News2,
    (before, after): (&str, &str),
) -> Option<Working> {
    let row = Row::of(news2)?;
    let policy = desk.policy.values().news2();
    let called = policy.row(row);
    let weight = match row {
        Row::Zero => return None,
        Row::OneToFour => Weight::Say,
        Row::Single3 => Weight::Look,
        Row::FiveOrMore | Row::SevenOrMore => Weight::Act,
    };
    let whose = owner(called.is_ward_s_own);
    let within = called
        .answer_within
        .map_or(String::new(), |span| format!(", within {}", span.spoken()));
    // The ceiling changes the response, never the score: where there is one, it is read first.
    let ceiling = desk.patient.details.as_ref().map(|details| details.ceiling);
    let limited = ceiling.filter(|ceiling| *ceiling != Ceiling::Full);
    let limits = limited.map_or(String::new(), |ceiling| {
        format!(
            "CEILING OF CARE {}: this patient's plan decides, not the words that follow. ",
            ceiling.to_string().to_uppercase()
        )
    });
    let text = format!(
        "{limits}NEWS2 {before}{}{after} calls for ({whose}): {} Answers: {}{within}.",
        row.code(),
        called.response.trim_end(),
        called.answered_by.trim_end_matches('.')
    );
    let parts = ceiling.map(|ceiling| Part::new("ceiling of care", ceiling.to_string()));
    Some(working(weight, text, parts.into_iter().collect(), set))
}

const fn owner(is_ward_s_own: bool) -> &'static str {
    if is_ward_s_own {
        "this ward's policy"
    } else {
        "as published for hospital wards"
    }
}

/// Too much oxygen for somebody on scale 2: a finding, however good the number looks. Points
/// beside a high saturation do not say on which side it is wrong; the sheet says it in words.
fn above_target(set: &ObservationSet) -> Option<Working> {
    let scored = Set::of(&set.body, set.scale);
    let percent = scored.spo2.filter(|_| is_above_target_on_oxygen(&scored))?;
    let text = format!("SpO2 {percent} % is above target on oxygen (scale 2, target 88 to 92 %)");
    Some(working(Weight::Look, text, Vec::new(), set))
}

/// More or less oxygen than before, which the score does not show: 2 and 4 L/min are 2 points each.
/// The sheet says it under S.
fn oxygen_changed(
    desk: &Desk<'_>,
    sets: &[&ObservationSet],
    set: &ObservationSet,
) -> Option<Working> {
    let now = set.body.oxygen?;
    let earlier = sets.iter().rev().filter(|one| {
        let at = one.stamp.occurred_at;
        (at, one.stamp.seq) < (set.stamp.occurred_at, set.stamp.seq)
    });
    let (before, was) = earlier
        .filter_map(|one| Some((one, one.body.oxygen?)))
        .next()?;
    let change = oxygen_change(was, now)?;
    let cx = ShowContext {
        zone: desk.zone,
        secrets: false,
    };
    let shown = |oxygen: Oxygen| oxygen.show(&cx).unwrap_or_default();
    let text = format!(
        "Oxygen {}: now {}, was {} at {}; the score does not show how much",
        change.words(),
        shown(now),
        shown(was),
        desk.when(before.stamp.occurred_at)
    );
    Some(working(Weight::Say, text, Vec::new(), set))
}

fn next_set(desk: &Desk<'_>, set: &ObservationSet, news2: &News2) -> Option<Working> {
    let policy = desk.policy.values().news2();
    let own = Row::of(news2).is_some_and(|row| policy.row(row).is_ward_s_own);
    let whose = owner(own);
    let (weight, text) = match next_set_by(&policy, news2, set.stamp.occurred_at) {
        NextSet::Continuous => (
            Weight::Look,
            format!("Monitoring is to be continuous ({whose})"),
        ),
        NextSet::CompleteThisOne => (
            Weight::Look,
            "The newest set is incomplete: complete it, there is no total to go by".to_owned(),
        ),
        NextSet::Due { to, .. } if to < desk.now => {
            let late = desk.now.since(to).spoken();
            let due = desk.when(to);
            (
                Weight::Look,
                format!("Next set was due by {due}, {late} ago ({whose})"),
            )
        }
        NextSet::Due { from, to } => {
            let due = match from == to {
                true => format!("by {}", desk.when(to)),
                false => format!("from {} to {}", desk.zone.clock_time(from), desk.when(to)),
            };
            (Weight::Say, format!("Next set due {due} ({whose})"))
        }
    };
    let parts = vec![Part::new("newest set", ago(desk, set.stamp.occurred_at))];
    Some(working(weight, text, parts, set))
}

/// ACVPU is no coma scale: anything but alert wants one, and none can be derived from it.
/// What was done with the set or since is not asked for again.
fn consciousness(sets: &[&ObservationSet], set: &ObservationSet) -> Option<Working> {
    let since = || {
        sets.iter()
            .filter(|one| one.stamp.occurred_at >= set.stamp.occurred_at)
    };
    let gcs = since().filter_map(|one| Some(Coma::of(one.body.gcs?).ok()?.total().is_some()));
    let four_at =
        since().filter_map(|one| Some(FourAtFound::of(one.body.four_at?).ok()?.total().is_some()));
    let (gcs, four_at) = (Taken::of(gcs), Taken::of(four_at));
    let caution = acvpu_caution_beside(set.body.acvpu?, gcs, four_at)?;
    Some(working(Weight::Look, caution.to_owned(), Vec::new(), set))
}

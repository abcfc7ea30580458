//! One patient at a glance, in a few lines: what is open, how they were when somebody last
//! looked, and how long ago that was. For whoever has just chosen the patient at the screen.

use super::handover::{
    AlertLine, DueLine, EscalationLine, PatientBlock, ResultLine, ScoreNow, patient_block,
};
use super::origin::Vantage;
use super::page::Dial;
use crate::clinical::news2::scale_2_in_words;
use crate::record::kind::alert::Severity;
use crate::record::observed::Spo2Scale;
use crate::ward::Patient;

/// Most lines of one sort; how many more there are is said.
const LISTED_MAX: usize = 3;

/// The lines, the most urgent first. An old value never stands without its age.
#[must_use]
pub fn at_glance(vantage: &Vantage<'_>, patient: &Patient) -> Vec<String> {
    let block = patient_block(vantage, patient);
    let dial = Dial {
        zone: vantage.zone(),
        now: vantage.now,
    };
    let now = &block.situation;
    let due = &block.recommendation.due;
    let mut lines: Vec<String> = left(patient, dial).into_iter().collect();
    let escalations = now.escalations.iter().map(|one| escalation(one, dial));
    add(&mut lines, escalations.collect(), "more open escalations");
    // A critical result nobody has seen is more urgent than what can wait for the shift.
    let (soon, now_urgent): (Vec<&AlertLine>, Vec<&AlertLine>) = now
        .alerts
        .iter()
        .partition(|one| one.severity == Severity::Soon);
    let urgent = now_urgent.into_iter().map(|one| alert(one, dial));
    add(&mut lines, urgent.collect(), "more open alerts");
    let unseen = block.assessment.results.iter().filter(|one| one.unreviewed);
    let (critical, unseen): (Vec<&ResultLine>, Vec<&ResultLine>) =
        unseen.partition(|one| one.critical);
    let critical = critical.into_iter().map(|one| result(one, dial));
    add(
        &mut lines,
        critical.collect(),
        "more CRITICAL results nobody has looked at",
    );
    let soon = soon.into_iter().map(|one| alert(one, dial));
    add(&mut lines, soon.collect(), "more open alerts");
    let overdue = due
        .iter()
        .filter(|one| one.overdue)
        .map(|one| late(one, dial));
    add(&mut lines, overdue.collect(), "more overdue");
    let unseen = unseen.into_iter().map(|one| result(one, dial));
    add(
        &mut lines,
        unseen.collect(),
        "more results nobody has looked at",
    );
    let queries = block.recommendation.queries.iter();
    let queries =
        queries.map(|one| format!("QUESTION {} open: {}", one.origin.seq, flat(&one.text)));
    add(&mut lines, queries.collect(), "more open questions");
    lines.extend(silence(&block, dial));
    let back = &block.background;
    if back.scale == Some(Spo2Scale::Scale2) {
        lines.push(scale_2_in_words(
            back.scale_by.as_deref().map(flat).as_deref(),
        ));
    }
    match &now.score {
        None => lines.push("no readings in this stay".to_owned()),
        Some(set) => lines.extend(score(set, dial)),
    }
    lines.extend(oxygen(&block, dial));
    lines.extend(totals(&block, dial));
    lines.extend(next(due, dial));
    lines.push(contact(&block, patient, dial));
    lines
}

/// Somebody who left is not at home any more, and what follows is of the stay that ended.
fn left(patient: &Patient, dial: Dial) -> Option<String> {
    let at = patient.left_at()?;
    let discharge = patient.episode()?.discharged.as_ref()?;
    Some(format!(
        "LEFT THE WARD {} ({}); what follows is of the stay that ended",
        dial.at_ago(at),
        discharge.body.to
    ))
}

fn add(lines: &mut Vec<String>, mut found: Vec<String>, more: &str) {
    let left = found.len().saturating_sub(LISTED_MAX);
    found.truncate(LISTED_MAX);
    lines.extend(found);
    if left > 0 {
        lines.push(format!("and {left} {more}"));
    }
}

/// Words from people on one line: nobody's words begin a line of the card.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn escalation(one: &EscalationLine, dial: Dial) -> String {
    let made = dial.at_ago(one.origin.occurred_at);
    let state = if one.answered {
        let by = one.answered_by.as_deref().unwrap_or("somebody");
        let review = one
            .review_at
            .map(|at| format!(", review {}", dial.at_ago(at)));
        format!("answered by {}{}", flat(by), review.unwrap_or_default())
    } else {
        let waited = dial.now.since(one.origin.occurred_at).spoken();
        let by = one
            .answer_by
            .map(|at| format!(", answer due {}", dial.at_ago(at)));
        format!("NOT ANSWERED for {waited}{}", by.unwrap_or_default())
    };
    let seq = one.origin.seq;
    format!("ESCALATION {seq} to {}, {made}: {state}", flat(&one.to))
}

fn alert(one: &AlertLine, dial: Dial) -> String {
    let holder = match (&one.holder, one.held_since) {
        (Some(who), Some(since)) => format!("with {who} since {}", dial.at(since)),
        _ => "nobody has it".to_owned(),
    };
    format!(
        "ALERT {} {}: {}, {}; {holder}",
        one.origin.seq,
        one.severity.code(),
        flat(&one.what),
        dial.ago(one.origin.occurred_at)
    )
}

fn late(one: &DueLine, dial: Dial) -> String {
    let by = dial.now.since(one.due).spoken();
    format!("OVERDUE {by}: {} ({})", flat(&one.what), one.seq)
}

fn result(one: &ResultLine, dial: Dial) -> String {
    let critical = if one.critical { "CRITICAL " } else { "" };
    format!(
        "{critical}RESULT {} not looked at, {}: {}",
        one.origin.seq,
        dial.ago(one.origin.recorded_at),
        one.in_short()
    )
}

fn silence(block: &PatientBlock, dial: Dial) -> Option<String> {
    let last = block.situation.silence.as_ref()?.last_reading_at?;
    Some(format!("NO READINGS for {}", dial.now.since(last).spoken()))
}

/// A change of oxygen, which the score does not show.
fn oxygen(block: &PatientBlock, dial: Dial) -> Option<String> {
    let now = block.situation.oxygen.as_ref()?;
    let (change, before) = (now.change?, now.before.as_deref()?);
    Some(format!(
        "OXYGEN {change}: {}, was {before}; {}",
        now.words,
        dial.at_ago(now.origin.occurred_at)
    ))
}

fn score(set: &ScoreNow, dial: Dial) -> Vec<String> {
    let at = dial.at_ago(set.origin.occurred_at);
    let single = if set.single_3 { ", A SINGLE 3" } else { "" };
    let mut lines = Vec::new();
    lines.push(match (set.total, set.band) {
        (Some(total), band) => {
            let change = set.since_last.as_ref().map(|change| {
                let from = format!("{} at {}", change.from.total, dial.at(change.from.at));
                match change.points {
                    0 => format!("; unchanged from {from}"),
                    1.. => format!("; up from {from}"),
                    _ => format!("; down from {from}"),
                }
            });
            format!(
                "NEWS2 {total} ({}{single}), {at}{}",
                band.unwrap_or("no band"),
                change.unwrap_or_default()
            )
        }
        (None, _) => {
            let floor = match set.floor_in_words() {
                Some((floor, true)) => format!(", {}", floor.to_uppercase()),
                Some((floor, false)) => format!(", {floor}"),
                None => String::new(),
            };
            format!(
                "NEWS2 no total{single}{floor}, {at}: {} missing",
                set.missing.join(", ")
            )
        }
    });
    let known = set.parts.iter().filter_map(|part| {
        let value = part.named()?;
        let points = part
            .points
            .map_or("?".to_owned(), |points| points.to_string());
        Some(format!("{value} ({points})"))
    });
    let known: Vec<String> = known.collect();
    lines.push(format!("  {}", known.join(", ")));
    if let Some(last) = &set.last_total {
        let at = dial.at_ago(last.at);
        lines.push(format!("  last complete set: NEWS2 {}, {at}", last.total));
    }
    lines
}

/// The newest totals, oldest first; a set without one is a dash.
fn totals(block: &PatientBlock, dial: Dial) -> Option<String> {
    let recent = &block.situation.recent;
    let (first, last) = (recent.first()?, recent.last()?);
    if recent.len() < 2 {
        return None;
    }
    let totals = recent.iter().map(|set| {
        let total = set.total.map(|total| total.to_string());
        total.unwrap_or_else(|| "-".to_owned())
    });
    let totals: Vec<String> = totals.collect();
    Some(format!(
        "totals {} to {}: {}",
        dial.at(first.at),
        dial.at(last.at),
        totals.join(", ")
    ))
}

fn next(due: &[DueLine], dial: Dial) -> Option<String> {
    let ahead: Vec<&DueLine> = due.iter().filter(|one| !one.overdue).collect();
    let shown = ahead.iter().take(LISTED_MAX);
    let shown: Vec<String> = shown
        .map(|one| format!("{} {} ({})", dial.at(one.due), flat(&one.what), one.seq))
        .collect();
    let more = match ahead.len().saturating_sub(LISTED_MAX) {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    (!shown.is_empty()).then(|| format!("due {}{more}", shown.join("; ")))
}

fn contact(block: &PatientBlock, patient: &Patient, dial: Dial) -> String {
    let reached = patient.last_reached().map_or_else(
        || "not reached yet".to_owned(),
        |held| format!("reached {}", dial.at_ago(held.stamp.occurred_at)),
    );
    match &block.situation.unreached {
        None => reached,
        Some(tries) => format!(
            "NOT REACHED: {} since {}; {reached}",
            super::words::count(tries.attempts, "attempt", "attempts"),
            dial.at(tries.since)
        ),
    }
}

//! S in words.

use crate::record::kind::alert::Severity;
use crate::record::observed::Spo2Scale;
use crate::view::handover::PatientBlock;
use crate::view::handover::score::{ScoreNow, TotalThen};
use crate::view::handover::situation::{
    AlertLine, ContactLine, EscalationLine, OxygenNow, Situation,
};
use crate::view::page::{Dial, Line, Tone};
use crate::view::words::{by, ended, new_mark, points, signed};

pub(in crate::view::handover) fn situation(block: &PatientBlock, dial: Dial) -> Vec<Line> {
    let now = &block.situation;
    let mut lines: Vec<Line> = Vec::new();
    lines.extend(now.escalations.iter().map(|e| escalation(e, dial)));
    lines.extend(now.alerts.iter().map(|a| alert(a, dial)));
    if let Some(silence) = &now.silence {
        let last = match silence.last_reading_at {
            Some(at) => format!("no reading since {}", dial.at_ago(at)),
            None => "no reading in this stay".to_owned(),
        };
        lines.push(Line::new().warn("SILENT:").plain(last));
    }
    if let Some(score) = &now.score {
        lines.extend(score_lines(score, dial));
    }
    lines.extend(recent(now, dial));
    lines.extend(
        now.oxygen
            .as_ref()
            .filter(|o| o.supplemental || o.change.is_some())
            .map(|o| oxygen(o, dial)),
    );
    lines.extend(contacts(now, dial));
    lines
}

fn score_lines(score: &ScoreNow, dial: Dial) -> Vec<Line> {
    let line = new_mark(score.origin.is_new);
    let line = match (score.total, score.band) {
        (Some(total), Some(band)) if total >= 5 => line.alarm(format!("NEWS2 {total} {band};")),
        (Some(total), Some(band)) => line.strong(format!("NEWS2 {total} {band};")),
        _ => line.warn(format!(
            "NEWS2 no total: missing {};",
            score.missing.join(", ")
        )),
    };
    let line = match score.floor_in_words() {
        Some((floor, true)) => line.alarm(format!("{};", floor.to_uppercase())),
        Some((floor, false)) => line.plain(format!("{floor};")),
        None => line,
    };
    let line = if score.single_3 {
        line.alarm("SINGLE 3;")
    } else {
        line
    };
    let line = line
        .plain(change(
            "since",
            score.since_last.as_ref().map(|c| (c.points, &c.from)),
            dial,
        ))
        .plain(change(
            "since last handover,",
            score.since_handover.as_ref().map(|c| (c.points, &c.from)),
            dial,
        ))
        .plain(
            score
                .last_total
                .as_ref()
                .map(|then| last_total(then, dial))
                .unwrap_or_default(),
        )
        .quiet(format!("taken {}", dial.at_ago(score.origin.occurred_at)))
        .quiet(
            score
                .source
                .map(|source| format!("({source})"))
                .unwrap_or_default(),
        )
        .closed()
        .then(by(&score.origin, dial));
    let mut lines = vec![line, parts(score)];
    lines.extend(
        score
            .doubts
            .iter()
            .map(|doubt| Line::new().warn("DOUBT:").plain(*doubt)),
    );
    lines
}

/// `no total, at least 7`: what was measured is a lower bound, and is said where it is one.
pub(in crate::view) fn no_total(at_least: Option<u8>) -> Line {
    let line = Line::new().warn("no total");
    match at_least {
        Some(floor @ 5..) => line.alarm(format!("at least {floor}")),
        Some(floor) => line.plain(format!("at least {floor}")),
        None => line,
    }
}

/// `5 +3`, `no total at least 7 last 3 08:00`, `none`: for lists.
pub(in crate::view::handover) fn short_score(now: &Situation, dial: Dial) -> Line {
    let Some(score) = &now.score else {
        return Line::new().warn("none");
    };
    let line = match score.total {
        Some(total) if total >= 5 => Line::new().alarm(total.to_string()),
        Some(total) => Line::new().strong(total.to_string()),
        None => no_total(score.at_least),
    };
    let line = match &score.last_total {
        Some(then) => line.plain(format!("last {} {}", then.total, dial.at(then.at))),
        None => line,
    };
    let more = score.since_last.as_ref().map(|change| change.points);
    let more = more
        .filter(|more| *more != 0)
        .map(points)
        .unwrap_or_default();
    let line = line.plain(more);
    if score.single_3 {
        line.alarm("single 3")
    } else {
        line
    }
}

fn last_total(then: &TotalThen, dial: Dial) -> String {
    format!("last total {} at {};", then.total, dial.at_ago(then.at))
}

fn change(since: &str, change: Option<(i16, &TotalThen)>, dial: Dial) -> String {
    match change {
        None => String::new(),
        Some((more, from)) => {
            format!(
                "{} {since} {} (was {});",
                points(more),
                dial.at(from.at),
                from.total
            )
        }
    }
}

/// `RR 22/min (2)  SpO2 94% (1)`: each value with its points.
fn parts(score: &ScoreNow) -> Line {
    let mut line = Line::new();
    for part in &score.parts {
        let name = part.named();
        let name = name.unwrap_or_else(|| format!("{} not recorded", part.label));
        line = match part.points {
            Some(3) => line.alarm(format!("{name} (3);")),
            Some(0) => line.plain(format!("{name} (0);")),
            Some(points) => line.strong(format!("{name} ({points});")),
            None => line.warn(format!("{name};")),
        };
    }
    let scale = match score.scale {
        Some(Spo2Scale::Scale2) => "SpO2 scale 2",
        Some(Spo2Scale::Scale1) => "",
        None => "SpO2 scale not recorded",
    };
    line.strong(scale).quiet(score.others.join(", "))
}

fn recent(now: &Situation, dial: Dial) -> Option<Line> {
    let (first, last) = (now.recent.first()?, now.recent.last()?);
    if now.recent.len() < 2 {
        return None;
    }
    let series = |value: fn(&crate::view::handover::score::RecentSet) -> Option<i32>| {
        let values = now.recent.iter().map(|set| match value(set) {
            Some(value) => value.to_string(),
            None => "none".to_owned(),
        });
        values.collect::<Vec<String>>().join(", ")
    };
    Some(
        Line::new()
            .quiet("Last sets, oldest first: totals")
            .strong(series(|set| set.total.map(i32::from)))
            .quiet("| RR")
            .plain(series(|set| set.rr))
            .quiet("| SpO2")
            .plain(series(|set| set.spo2))
            .quiet("| HR")
            .plain(series(|set| set.hr))
            .quiet(format!("({} to {})", dial.at(first.at), dial.at(last.at))),
    )
}

fn oxygen(oxygen: &OxygenNow, dial: Dial) -> Line {
    let line = Line::new().quiet("Oxygen:").strong(&oxygen.words);
    let line = match (&oxygen.change, &oxygen.before) {
        (Some(change), Some(before)) => line.warn(format!("{change} (was {before})")),
        _ => line,
    };
    line.plain(";")
        .quiet(format!("stated {}", dial.at_ago(oxygen.origin.occurred_at)))
        .quiet(oxygen.origin.seq.to_string())
}

pub(in crate::view::handover) fn alert(alert: &AlertLine, dial: Dial) -> Line {
    let label = alert.severity.label();
    let urgency = match label.split_once(": ") {
        Some((severity, act)) => format!("ALERT {severity} ({act}):"),
        None => format!("ALERT {label}:"),
    };
    let line = new_mark(alert.origin.is_new);
    let line = match alert.severity {
        Severity::Soon => line.warn(urgency),
        Severity::Critical | Severity::Urgent => line.alarm(urgency),
    };
    let line = line
        .strong(&alert.what)
        .quiet(format!("({});", alert.source))
        .plain(format!("raised {};", dial.at_ago(alert.origin.occurred_at)));
    let line = match (&alert.holder, alert.held_since) {
        (Some(holder), Some(since)) => {
            line.strong(format!("{holder} has it since {};", dial.at(since)))
        }
        _ => line.alarm("NOBODY HAS IT;"),
    };
    let step = alert
        .newest_step
        .as_ref()
        .map(|step| format!("newest step: {step};"));
    line.plain(step.unwrap_or_default())
        .closed()
        .then(by(&alert.origin, dial))
}

pub(in crate::view::handover) fn escalation(made: &EscalationLine, dial: Dial) -> Line {
    let line = new_mark(made.origin.is_new)
        .alarm("ESCALATION OPEN")
        .strong(format!("to {} by {},", made.to, made.how))
        .plain(format!("{};", dial.at_ago(made.origin.occurred_at)))
        .quiet("situation:")
        .plain(ended(&made.situation))
        .quiet("asked for:")
        .plain(ended(&made.asked));
    let line = if made.answered {
        let by = made.answered_by.as_deref().unwrap_or("somebody not named");
        let line = line.strong(format!("Answered by {by}."));
        let line = line.plain(
            made.plan
                .as_ref()
                .map(|plan| format!("Plan: {}", ended(plan)))
                .unwrap_or_default(),
        );
        match made.read_back {
            Some(true) => line.plain("(read back);"),
            _ => line.warn("NOT READ BACK;"),
        }
    } else {
        line.alarm("NOBODY HAS ANSWERED.").plain(
            made.answer_by
                .map(|at| format!("Needed by {}.", dial.at(at)))
                .unwrap_or_default(),
        )
    };
    let calls = match made.unanswered_calls {
        0 => String::new(),
        calls => crate::view::words::count(calls, "call unanswered.", "calls unanswered."),
    };
    line.warn(calls)
        .plain(
            made.review_at
                .map(|at| format!("Review {}.", dial.at(at)))
                .unwrap_or_default(),
        )
        .plain(
            made.next_in_chain
                .as_ref()
                .map(|next| format!("Next: {next}."))
                .unwrap_or_default(),
        )
        .closed()
        .then(by(&made.origin, dial))
}

fn contacts(now: &Situation, dial: Dial) -> Vec<Line> {
    let mut lines = Vec::new();
    if let Some(tries) = &now.unreached {
        let next = tries.last.then.map(|next| format!("next step: {next};"));
        lines.push(
            new_mark(tries.last.origin.is_new)
                .warn("NOT REACHED:")
                .plain(crate::view::words::count(
                    tries.attempts,
                    "attempt",
                    "attempts",
                ))
                .plain(format!("since {};", dial.at_ago(tries.since)))
                .plain(next.unwrap_or_default())
                .quiet(format!(
                    "newest: {}, {}",
                    tries.last.mode, tries.last.outcome
                ))
                .closed()
                .then(signed(&tries.last.origin, dial)),
        );
    }
    lines.push(match &now.last_contact {
        None => Line::new().warn("No contact has reached anybody in this stay."),
        Some(contact) => contact_line(contact, dial),
    });
    lines
}

fn contact_line(contact: &ContactLine, dial: Dial) -> Line {
    let name = contact.spoke_name.as_ref().map(|name| format!(" ({name})"));
    let name = name.unwrap_or_default();
    let with = match contact.spoke_to {
        Some(who) => format!("with {who}{name};"),
        None => "whom it was with is not recorded;".to_owned(),
    };
    let how = match (&contact.how, contact.said_by) {
        (Some(how), Some(by)) => format!("{by}: {how}"),
        (Some(how), None) => format!("{how} (nobody recorded who said so)"),
        (None, _) => "how they were was not recorded".to_owned(),
    };
    new_mark(contact.origin.is_new)
        .quiet("Last contact:")
        .plain(format!(
            "{}, {};",
            contact.mode,
            dial.at_ago(contact.origin.occurred_at)
        ))
        .plain(with)
        .with(Tone::Human, "[human]")
        .plain(how)
        .closed()
        .then(by(&contact.origin, dial))
}

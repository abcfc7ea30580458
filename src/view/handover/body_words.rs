//! One patient's part of the sheet in words.

use super::PatientBlock;
use super::assessment::{BodyLineLine, DoseLine, KitLine, ResultLine, SampleLine, SupplyLine};
use super::identity::{Identity, Reaching};
use super::plan::{DueLine, QueryLine};
use super::situation::{
    AlertLine, ContactLine, EscalationLine, OxygenNow, ScoreNow, Situation, TotalThen,
};
use super::wounds::WoundLine;
use crate::record::kind::alert::Severity;
use crate::record::kind::episode::{Ceiling, Resuscitation, Stated};
use crate::record::kind::sample::SampleQuality;
use crate::record::kind::task::Priority;
use crate::record::kind::wound::Side;
use crate::record::observed::Spo2Scale;
use crate::record::person::Allergies;
use crate::record::time::show_date;
use crate::view::lists::working_line;
use crate::view::page::{Dial, Line, Tone};
use crate::view::words::{by, human, marks, new_mark, points, signed, whose};

pub(super) fn identity(who: &Identity) -> Vec<Line> {
    let born = match (who.born, who.age_years) {
        (Some(day), Some(age)) => format!("born {} ({age}y)", show_date(day.to_date())),
        (Some(day), None) => format!("born {}", show_date(day.to_date())),
        _ => "date of birth not recorded".to_owned(),
    };
    let sex = who.sex.map_or("sex not recorded", |sex| sex.label());
    let number = match (&who.nhs, &who.local_number) {
        (Some(nhs), _) => format!("NHS {nhs}"),
        (None, Some(local)) => format!("no NHS number; local {local}"),
        (None, None) => "no number recorded".to_owned(),
    };
    let known_as = who
        .known_as
        .as_ref()
        .map(|name| format!("likes to be called {name}"));
    let gender = who.gender.as_ref().map(|gender| format!("gender {gender}"));
    let mut lines = vec![
        Line::new()
            .plain(format!("{born},"))
            .plain(format!("{sex},"))
            .plain(list(&[Some(number), gender, known_as, stay(who)])),
        safety(who),
    ];
    if !who.similar_names.is_empty() {
        let names: Vec<String> = who.similar_names.iter().map(ToString::to_string).collect();
        lines.push(
            Line::new()
                .warn("SIMILAR NAME ON THE WARD:")
                .plain(names.join("; ")),
        );
    }
    lines
}

fn list(parts: &[Option<String>]) -> String {
    let parts: Vec<&str> = parts.iter().flatten().map(String::as_str).collect();
    parts.join("; ")
}

fn stay(who: &Identity) -> Option<String> {
    let day = who.day_of_stay.map(|day| format!("day {day} of stay"));
    let out = who
        .expected_discharge
        .map(|d| format!("expected out {}", show_date(d.to_date())));
    let parts: Vec<String> = [day, out].into_iter().flatten().collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// Allergies, ceiling of care and CPR stand next to the name.
fn safety(who: &Identity) -> Line {
    let line = Line::new().quiet("Allergies");
    let line = match &who.allergies {
        Allergies::NotAsked => line.warn("NOT ASKED."),
        Allergies::NoneKnown => line.plain("none known."),
        Allergies::Known(each) => line.alarm(format!("{}.", each.join("; "))),
    };
    let line = line.quiet("Ceiling of care");
    let line = match who.ceiling {
        None | Some(Ceiling::NotDecided) => line.warn("NOT DECIDED."),
        Some(ceiling) => line.strong(format!("{}.", ceiling.label())),
    };
    let line = match who.resuscitation {
        None | Some(Resuscitation::NotDiscussed) => line.warn("CPR not discussed."),
        Some(resuscitation) => line.strong(format!("CPR: {}.", resuscitation.label())),
    };
    line.quiet(
        who.form_kept
            .as_ref()
            .map(|place| format!("Form: {place}."))
            .unwrap_or_default(),
    )
}

pub(super) fn situation(block: &PatientBlock, dial: Dial) -> Vec<Line> {
    let now = &block.situation;
    let mut lines: Vec<Line> = Vec::new();
    lines.extend(now.escalations.iter().map(|e| escalation(e, dial)));
    lines.extend(now.alerts.iter().map(|a| alert(a, dial)));
    if let Some(silence) = &now.silence {
        let last = match silence.last_reading_at {
            Some(at) => format!("no reading since {}", dial.at_ago(at)),
            None => "no reading in this stay".to_owned(),
        };
        lines.push(Line::new().warn("SILENT").plain(last));
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
        (Some(total), Some(band)) if total >= 5 => line.alarm(format!("NEWS2 {total} {band}")),
        (Some(total), Some(band)) => line.strong(format!("NEWS2 {total} {band}")),
        _ => line.warn(format!(
            "NEWS2 no total: missing {}",
            score.missing.join(", ")
        )),
    };
    let line = if score.single_3 {
        line.alarm("SINGLE 3")
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
        .then(by(&score.origin, dial));
    let mut lines = vec![line, parts(score)];
    lines.extend(
        score
            .doubts
            .iter()
            .map(|doubt| Line::new().warn("DOUBT").plain(*doubt)),
    );
    lines
}

/// `5 +3`, `no total`, `none`: for lists.
pub(super) fn short_score(now: &Situation) -> Line {
    let Some(score) = &now.score else {
        return Line::new().warn("none");
    };
    let line = match score.total {
        Some(total) if total >= 5 => Line::new().alarm(total.to_string()),
        Some(total) => Line::new().strong(total.to_string()),
        None => Line::new().warn("no total"),
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
    format!("last total {} at {}", then.total, dial.at_ago(then.at))
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
        let name = match (&part.value, part.code) {
            (Some(value), "oxygen") => value.clone(),
            (Some(value), _) => format!("{} {value}", part.label),
            (None, _) => format!("{} not recorded", part.label),
        };
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
    let series = |value: fn(&super::situation::RecentSet) -> Option<i32>| {
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
    line.quiet(format!("stated {}", dial.at_ago(oxygen.origin.occurred_at)))
        .quiet(oxygen.origin.seq.to_string())
}

pub(super) fn alert(alert: &AlertLine, dial: Dial) -> Line {
    let urgency = format!("ALERT {}", alert.severity.label());
    let line = new_mark(alert.origin.is_new);
    let line = match alert.severity {
        Severity::Soon => line.warn(urgency),
        Severity::Critical | Severity::Urgent => line.alarm(urgency),
    };
    let line = line
        .strong(&alert.what)
        .quiet(format!("({})", alert.source))
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
        .map(|step| format!("newest step: {step}"));
    line.plain(step.unwrap_or_default())
        .quiet("raised by")
        .then(by(&alert.origin, dial))
}

pub(super) fn escalation(made: &EscalationLine, dial: Dial) -> Line {
    let line = new_mark(made.origin.is_new)
        .alarm("ESCALATION OPEN")
        .strong(format!("to {} by {},", made.to, made.how))
        .plain(dial.at_ago(made.origin.occurred_at))
        .quiet("situation:")
        .plain(&made.situation)
        .quiet("asked:")
        .plain(&made.asked);
    let line = if made.answered {
        let by = made.answered_by.as_deref().unwrap_or("somebody not named");
        let line = line.strong(format!("Answered by {by}."));
        let line = line.plain(
            made.plan
                .as_ref()
                .map(|plan| format!("Plan: {plan}"))
                .unwrap_or_default(),
        );
        match made.read_back {
            Some(true) => line.plain("(read back)"),
            _ => line.warn("NOT READ BACK"),
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
        .quiet("made by")
        .then(by(&made.origin, dial))
}

fn contacts(now: &Situation, dial: Dial) -> Vec<Line> {
    let mut lines = Vec::new();
    if let Some(tries) = &now.unreached {
        let next = tries.last.then.map(|next| format!("next step: {next};"));
        lines.push(
            new_mark(tries.last.origin.is_new)
                .warn("NOT REACHED")
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
    let with = contact.spoke_to.map(|who| format!("with {who}"));
    let name = contact.spoke_name.as_ref().map(|name| format!("({name})"));
    let how = match (&contact.how, contact.said_by) {
        (Some(how), Some(by)) => format!("{by}: {how}"),
        (Some(how), None) => format!("{how} (nobody recorded who said so)"),
        (None, _) => "how they were was not recorded".to_owned(),
    };
    new_mark(contact.origin.is_new)
        .quiet("Last contact")
        .plain(format!(
            "{}, {}",
            contact.mode,
            dial.at_ago(contact.origin.occurred_at)
        ))
        .plain(with.unwrap_or_default())
        .plain(name.unwrap_or_default())
        .with(Tone::Human, "[human]")
        .plain(how)
        .then(by(&contact.origin, dial))
}

pub(super) fn background(block: &PatientBlock, dial: Dial) -> Vec<Line> {
    let back = &block.background;
    let named = |label: &str, text: &Option<String>| {
        text.as_ref()
            .map(|text| Line::new().quiet(label).plain(text))
    };
    let mut lines: Vec<Line> = Vec::new();
    let from = back.referred_by.map(|by| format!("(from {by})"));
    lines.extend(named("", &back.reason).map(|line| line.quiet(from.unwrap_or_default())));
    lines.extend(named("History:", &back.history));
    lines.extend(named("Treatment:", &back.treatment));
    let usual = if back.baseline.is_empty() {
        "not recorded".to_owned()
    } else {
        back.baseline.join(", ")
    };
    let mind = back
        .usual_mind
        .as_ref()
        .map(|mind| format!("; usual mind: {mind}"));
    lines.push(
        Line::new()
            .quiet("Usual:")
            .plain(usual)
            .plain(mind.unwrap_or_default()),
    );
    if back.scale == Some(Spo2Scale::Scale2) {
        let by = back.scale_by.as_deref().unwrap_or("NOBODY RECORDED");
        lines.push(
            Line::new()
                .strong("SpO2 scale 2,")
                .plain(format!("prescribed by {by}")),
        );
    }
    lines.extend(named("Home oxygen:", &back.home_oxygen));
    lines.extend(smoker(&block.reaching));
    lines.extend(named("Responsible:", &back.consultant));
    lines.extend(back.changed.iter().map(|change| {
        new_mark(change.origin.is_new)
            .warn("CHANGED")
            .plain(change.what.join("; "))
            .quiet(format!("because {}", change.why))
            .then(signed(&change.origin, dial))
    }));
    lines
}

fn smoker(reaching: &Reaching) -> Option<Line> {
    match (reaching.smoker, reaching.oxygen_in_house) {
        (Some(Stated::Yes), true) => Some(Line::new().alarm("SMOKER BESIDE OXYGEN in the house")),
        (Some(Stated::Yes), false) => Some(Line::new().plain("Somebody smokes in the house.")),
        (None | Some(Stated::NotAsked), true) => {
            Some(Line::new().warn("Oxygen in the house; nobody has asked whether anyone smokes."))
        }
        _ => None,
    }
}

pub(super) fn assessment(block: &PatientBlock, dial: Dial) -> Vec<Line> {
    let made = &block.assessment;
    let mut lines: Vec<Line> = Vec::new();
    match &made.judgement {
        Some(judgement) => {
            lines.push(human("Judgement:", judgement, dial));
            lines.extend(made.action.as_ref().map(|action| {
                Line::new()
                    .with(Tone::Human, "[human]")
                    .strong("Decided:")
                    .plain(action)
            }));
        }
        None => lines.push(Line::new().quiet("No nurse's judgement is recorded in this stay.")),
    }
    lines.extend(made.notes.iter().map(|note| human("", note, dial)));
    lines.extend(made.computed.iter().map(working_line));
    lines.extend(made.results.iter().map(|line| result(line, dial)));
    lines.extend(made.samples.iter().map(|line| sample(line, dial)));
    lines.extend(made.supplies.iter().map(|line| supply(line, dial)));
    lines.extend(made.wounds.iter().flat_map(|line| wound(line, dial)));
    lines.extend(made.lines.iter().map(|line| body_line(line, dial)));
    lines.extend(made.doses.iter().map(|line| dose(line, dial)));
    lines.extend(made.kit.iter().filter_map(|line| kit(line, dial)));
    lines
}

pub(super) fn result(result: &ResultLine, dial: Dial) -> Line {
    let line = new_mark(result.origin.is_new);
    let line = if result.unreviewed {
        line.warn("RESULT NOBODY HAS SEEN")
    } else {
        line.quiet("Result")
    };
    let line = if result.critical {
        line.alarm("CRITICAL")
    } else {
        line
    };
    let line = result.values.iter().fold(line, |line, value| {
        let shown = format!("{};", value.text);
        if value.outside_range == Some(true) {
            line.strong(shown)
        } else {
            line.plain(shown)
        }
    });
    let decision = result.decision.map(|decision| format!("{decision};"));
    let unfit = result
        .quality
        .filter(|quality| *quality != SampleQuality::Fit);
    let unfit = unfit.map(|quality| format!("SAMPLE {}", quality.label().to_uppercase()));
    line.plain(result.words.clone().unwrap_or_default())
        .warn(unfit.unwrap_or_default())
        .plain(decision.unwrap_or_default())
        .plain(result.action.clone().unwrap_or_default())
        .quiet(dial.ago(result.origin.occurred_at))
        .then(signed(&result.origin, dial))
}

fn sample(sample: &SampleLine, dial: Dial) -> Line {
    let line = new_mark(sample.origin.is_new);
    let line = if sample.failed {
        line.warn("SAMPLE CAME TO NOTHING")
    } else {
        line.quiet("Result awaited")
    };
    let by = match sample.result_by {
        Some(at) if at < dial.now => Line::new().warn(format!("expected {}", dial.at_ago(at))),
        Some(at) => Line::new().plain(format!("expected {}", dial.at(at))),
        None => Line::new(),
    };
    line.plain(&sample.what)
        .plain(format!("({});", sample.state))
        .then(by)
        .then(signed(&sample.origin, dial))
}

pub(super) fn supply(supply: &SupplyLine, dial: Dial) -> Line {
    let state = supply.state.map_or("asked for", |state| state.label());
    let line = new_mark(supply.origin.is_new);
    let line = if supply.failed {
        line.alarm(format!("NOT DELIVERED: {state}"))
    } else {
        line.quiet(format!("Supply {state}"))
    };
    let missed = supply
        .dose_missed
        .as_ref()
        .map(|dose| format!("dose missed: {dose};"));
    let holder = supply
        .holder
        .as_ref()
        .map(|holder| format!("with {holder};"));
    line.plain(&supply.item)
        .plain(holder.unwrap_or_default())
        .warn(missed.unwrap_or_default())
        .plain(
            supply
                .needed_by
                .map(|at| format!("needed by {};", dial.at(at)))
                .unwrap_or_default(),
        )
        .plain(
            supply
                .dose_due
                .map(|at| format!("next dose {}", dial.at(at)))
                .unwrap_or_default(),
        )
        .then(signed(&supply.origin, dial))
}

fn wound(wound: &WoundLine, dial: Dial) -> Vec<Line> {
    let side = match wound.side {
        Side::NotApplicable => String::new(),
        side => side.label().to_owned(),
    };
    let size = wound.size.as_deref().unwrap_or("never measured");
    let line = new_mark(wound.origin.is_new)
        .quiet(format!("Wound {}:", wound.number))
        .plain(side)
        .plain(format!("{}, {}", wound.site, wound.kind))
        .plain(
            wound
                .category
                .map(|category| category.label())
                .unwrap_or_default(),
        )
        .plain(format!("{size};"));
    let line = match (wound.infection, wound.escalate) {
        (Some(infection), true) => line.alarm(format!("INFECTION: {infection}")),
        (Some(infection), false) => line.plain(infection.label()),
        (None, _) => line.quiet("signs of infection not recorded"),
    };
    let packing = match (wound.packing_inside, wound.packing_miscounted) {
        (Some(n), false) => format!("{n} pieces of packing inside;"),
        (Some(n), true) => format!("at least {n} pieces of packing inside, a count is missing;"),
        (None, true) => "a count of packing is missing: look for pieces left inside;".to_owned(),
        (None, false) => String::new(),
    };
    let line = line
        .strong(packing)
        .quiet(format!("seen {}", dial.ago(wound.origin.occurred_at)))
        .then(signed(&wound.origin, dial));
    let change = wound.change.as_ref().map(|change| {
        let said = format!("wound {}: {change}", wound.number);
        Line::new().with(Tone::Computed, "[computed]").plain(said)
    });
    [Some(line), change].into_iter().flatten().collect()
}

fn body_line(line: &BodyLineLine, dial: Dial) -> Line {
    let day = line.day.map(|day| format!("day {day};"));
    let words = new_mark(line.origin.is_new)
        .quiet("Line:")
        .plain(format!("{}, {},", line.kind, line.site))
        .strong(day.unwrap_or_default());
    let words = match (line.site_score, line.scored_at) {
        (Some(score), Some(at)) if score >= 2 => {
            words.warn(format!("SITE SCORE {score}, {};", dial.ago(at)))
        }
        (Some(score), Some(at)) => words.plain(format!("site score {score}, {};", dial.ago(at))),
        _ => words.warn("site never scored;"),
    };
    let words = if line.blocked {
        words.alarm("BLOCKED")
    } else {
        words
    };
    let cover = match &line.night_cover {
        Some(cover) => format!("at night: {cover}"),
        None => "who can flush it at night is not recorded".to_owned(),
    };
    words
        .plain(cover)
        .quiet(line.origin.seq.to_string())
        .then(marks(&line.origin, dial))
}

fn dose(dose: &DoseLine, dial: Dial) -> Line {
    let line = new_mark(dose.origin.is_new);
    let line = if dose.not_taken {
        line.warn(format!("DOSE {}", dose.outcome.label().to_uppercase()))
    } else {
        line.quiet(format!("Dose {}", dose.outcome))
    };
    let last = match dose.last_taken {
        // Reported as taken, with an earlier time stated: that may be this dose or the one
        // before, so both are said.
        Some(at)
            if dose.outcome == crate::record::kind::supply::DoseOutcome::Taken
                && at != dose.origin.occurred_at =>
        {
            format!(
                "reported {}, time stated {};",
                dial.at_ago(dose.origin.occurred_at),
                dial.at_ago(at)
            )
        }
        Some(at) => format!("last taken {};", dial.at_ago(at)),
        None => "when it was last taken is not recorded;".to_owned(),
    };
    line.plain(&dose.medicine)
        .plain(last)
        .plain(
            dose.next_due
                .map(|at| format!("next {}", dial.at(at)))
                .unwrap_or_default(),
        )
        .quiet(dose.said_by.map(|by| format!("({by})")).unwrap_or_default())
        .then(signed(&dose.origin, dial))
}

/// Kit that measures nothing, or of which nobody said that it works; the rest is no news.
fn kit(kit: &KitLine, dial: Dial) -> Option<Line> {
    let line = match (kit.silent, kit.silent_since) {
        (Some(why), Some(since)) => {
            Line::new().warn(format!("KIT SILENT ({why}) since {}", dial.at_ago(since)))
        }
        _ if kit.not_confirmed_working => Line::new().warn("KIT NOT CONFIRMED WORKING"),
        _ => return None,
    };
    Some(
        line.plain(&kit.item)
            .quiet(format!("serial {}", kit.serial))
            .then(signed(&kit.origin, dial)),
    )
}

pub(super) fn recommendation(block: &PatientBlock, dial: Dial) -> Vec<Line> {
    let plan = &block.recommendation;
    let mut lines: Vec<Line> = Vec::new();
    lines.push(match &plan.allocated_to {
        Some(who) => Line::new().quiet("Allocated to").plain(who.to_string()),
        None => Line::new().warn("ALLOCATED TO NOBODY"),
    });
    lines.extend(plan.queries.iter().map(|line| query(line, dial)));
    lines.extend(plan.due.iter().map(|line| due(line, dial)));
    if plan.due_later > 0 {
        lines.push(Line::new().quiet(format!("and {} due later", plan.due_later)));
    }
    if plan.next_contact.is_none() && block.situation.unreached.is_none() {
        lines.push(Line::new().warn("No next contact is arranged."));
    }
    lines.extend(
        plan.watch_for
            .iter()
            .map(|note| human("Watch for:", note, dial)),
    );
    lines.extend(
        plan.safety_net
            .iter()
            .map(|net| human("Patient was told:", net, dial)),
    );
    lines.extend(
        plan.plan
            .as_ref()
            .map(|plan| Line::new().quiet("If worse:").plain(plan)),
    );
    lines.extend(
        plan.questions
            .iter()
            .map(|note| human("Question:", note, dial)),
    );
    lines.extend(reaching(&block.reaching));
    lines
}

pub(super) fn due(due: &DueLine, dial: Dial) -> Line {
    let from = due.from.map(|from| format!("{} to ", dial.at(from)));
    let at = format!("{}{}", from.unwrap_or_default(), dial.at(due.due));
    let line = new_mark(due.is_new);
    let line = if due.overdue {
        let late = dial.now.since(due.due).spoken();
        line.warn(format!("OVERDUE {late}")).strong(at)
    } else {
        line.strong(at)
    };
    let line = if due.priority == Priority::High {
        line.alarm("high priority")
    } else {
        line
    };
    let whose = whose(due.owner.as_ref(), due.role);
    line.plain(&due.what)
        .plain(
            due.detail
                .iter()
                .map(|part| format!("({part})"))
                .collect::<Vec<_>>()
                .join(" "),
        )
        .quiet(format!("- {whose}"))
        .quiet(due.seq.to_string())
}

pub(super) fn query(query: &QueryLine, dial: Dial) -> Line {
    new_mark(query.origin.is_new)
        .warn("QUERY UNANSWERED")
        .with(Tone::Human, "[human]")
        .plain(&query.text)
        .quiet(format!("(in handover {})", query.handover))
        .then(signed(&query.origin, dial))
}

fn reaching(reach: &Reaching) -> Vec<Line> {
    let named = |label: &str, text: &Option<String>| {
        text.as_ref()
            .map(|text| Line::new().quiet(label).plain(text))
    };
    let carers: Vec<String> = reach
        .carers
        .iter()
        .map(|carer| format!("{} ({}) {}", carer.name, carer.relation, carer.reach))
        .collect();
    let carers = Some(carers.join("; ")).filter(|carers| !carers.is_empty());
    let risk = reach.lone_worker.as_ref();
    let risk = risk.map(|risk| Line::new().warn("LONE WORKER:").plain(risk));
    let mut lines: Vec<Line> = Vec::new();
    lines.extend(risk);
    let phone = named("Phone:", &reach.phone).unwrap_or_default();
    lines.push(phone.then(named("Carers:", &carers).unwrap_or_default()));
    let key = if reach.key_safe_held {
        "(key-safe code held; read it in the program)"
    } else {
        ""
    };
    let visit = named("Visit:", &reach.area).unwrap_or_default();
    lines.push(
        visit
            .plain(reach.access.clone().unwrap_or_default())
            .quiet(key),
    );
    lines.extend(named("Language:", &reach.language));
    lines.extend(named("Hearing, sight, speech:", &reach.hearing));
    lines.retain(|line| !line.is_empty());
    lines
}

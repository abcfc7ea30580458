//! A in words.

use crate::record::kind::sample::SampleQuality;
use crate::record::kind::wound::Side;
use crate::view::handover::PatientBlock;
use crate::view::handover::assessment::{BodyLineLine, DoseLine, KitLine, SampleLine, SupplyLine};
use crate::view::handover::results::{ResultLine, ResultStage};
use crate::view::handover::wounds::WoundLine;
use crate::view::lists::working_line;
use crate::view::page::{Dial, Line, Tone};
use crate::view::words::{ended, human, marks, new_mark, signed};

pub(in crate::view::handover) fn assessment(block: &PatientBlock, dial: Dial) -> Vec<Line> {
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

pub(in crate::view) fn result(result: &ResultLine, dial: Dial) -> Line {
    let line = new_mark(result.origin.is_new);
    let line = if result.unreviewed {
        line.warn("RESULT NOBODY HAS SEEN:")
    } else {
        line.quiet("Result:")
    };
    let line = if result.critical {
        line.alarm("CRITICAL:")
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
    let unfit = unfit.map(|quality| format!("SAMPLE {};", quality.label().to_uppercase()));
    let words = result.words.as_ref().map(|words| format!("{words};"));
    let action = result.action.as_ref().map(|action| format!("{action};"));
    line.plain(words.unwrap_or_default())
        .warn(unfit.unwrap_or_default())
        .plain(decision.unwrap_or_default())
        .plain(action.unwrap_or_default())
        .quiet(stages(result, dial))
        .closed()
        .then(signed(&result.origin, dial))
}

/// Who took it, when it arrived, when it was reported, who has seen it or was to.
fn stages(result: &ResultLine, dial: Dial) -> String {
    let stage = |what: &str, stage: &Option<ResultStage>| {
        let stage = stage.as_ref();
        stage.map(|stage| format!("{what} {}", dial.at(stage.at)))
    };
    let taken = match &result.taken {
        Some(stage) => format!("taken {} by {}", dial.at(stage.at), stage.by),
        None => "sample not named".to_owned(),
    };
    let reported = dial.at_ago(result.origin.occurred_at);
    let seen = match (&result.seen, &result.reviewer) {
        (Some(stage), _) => format!("seen {} by {}", dial.at(stage.at), stage.by),
        (None, Some(reviewer)) => format!("{reviewer} was to look"),
        (None, None) => "nobody was named to look".to_owned(),
    };
    let stages = [
        Some(taken),
        stage("at the laboratory", &result.arrived),
        Some(format!("reported {reported}")),
        Some(seen),
    ];
    let stages: Vec<String> = stages.into_iter().flatten().collect();
    format!("{};", stages.join(", "))
}

fn sample(sample: &SampleLine, dial: Dial) -> Line {
    let line = new_mark(sample.origin.is_new);
    let line = if sample.failed {
        line.warn("SAMPLE CAME TO NOTHING:")
    } else {
        line.quiet("Result awaited:")
    };
    let by = match sample.result_by {
        Some(at) if at < dial.now => Line::new().warn(format!("expected {}", dial.at_ago(at))),
        Some(at) => Line::new().plain(format!("expected {}", dial.at(at))),
        None => Line::new(),
    };
    line.plain(&sample.what)
        .plain(format!("({});", sample.state))
        .then(by)
        .closed()
        .then(signed(&sample.origin, dial))
}

pub(in crate::view::handover) fn supply(supply: &SupplyLine, dial: Dial) -> Line {
    let state = supply.state.map_or("asked for", |state| state.label());
    let line = new_mark(supply.origin.is_new);
    let line = if supply.failed {
        line.alarm(format!("NOT DELIVERED, {state}:"))
    } else {
        line.quiet(format!("Supply {state}:"))
    };
    let missed = supply
        .dose_missed
        .as_ref()
        .map(|dose| format!("dose missed: {dose};"));
    let holder = supply
        .holder
        .as_ref()
        .map(|holder| format!("with {holder};"));
    line.plain(ended(&supply.item))
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
                .map(|at| format!("next dose {};", dial.at(at)))
                .unwrap_or_default(),
        )
        .closed()
        .then(signed(&supply.origin, dial))
}

fn wound(wound: &WoundLine, dial: Dial) -> Vec<Line> {
    let side = match wound.side {
        Side::NotApplicable => String::new(),
        side => side.label().to_owned(),
    };
    let category = wound
        .category
        .map(|category| format!(" {}", category.label()));
    let category = category.unwrap_or_default();
    let size = wound.size.as_deref().unwrap_or("never measured");
    let line = new_mark(wound.origin.is_new)
        .quiet(format!("Wound {}:", wound.number))
        .plain(side)
        .plain(format!("{}, {}{category};", wound.site, wound.kind))
        .plain(format!("{size};"));
    let line = match (wound.infection, wound.escalate) {
        (Some(infection), true) => line.alarm(format!("INFECTION: {infection};")),
        (Some(infection), false) => line.plain(format!("{};", infection.label())),
        (None, _) => line.warn("signs of infection not recorded;"),
    };
    let packing = match (wound.packing_inside, wound.packing_miscounted) {
        (Some(n), false) => format!("{n} pieces of packing inside;"),
        (Some(n), true) => format!("at least {n} pieces of packing inside, a count is missing;"),
        (None, true) => "a count of packing is missing: look for pieces left inside;".to_owned(),
        (None, false) => String::new(),
    };
    let line = line
        .strong(packing)
        .quiet(format!("assessed {}", dial.ago(wound.origin.occurred_at)))
        .closed()
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
        line.warn(format!("DOSE {}:", dose.outcome.label().to_uppercase()))
    } else {
        line.quiet(format!("Dose {}:", dose.outcome))
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
    line.plain(ended(&dose.medicine))
        .plain(last)
        .plain(
            dose.next_due
                .map(|at| format!("next {};", dial.at(at)))
                .unwrap_or_default(),
        )
        .quiet(dose.said_by.map(|by| format!("({by})")).unwrap_or_default())
        .closed()
        .then(signed(&dose.origin, dial))
}

/// Kit that measures nothing, or of which nobody said that it works; the rest is no news.
fn kit(kit: &KitLine, dial: Dial) -> Option<Line> {
    let line = match (kit.silent, kit.silent_since) {
        (Some(why), Some(since)) => {
            Line::new().warn(format!("KIT SILENT ({why}) since {}:", dial.at_ago(since)))
        }
        _ if kit.not_confirmed_working => Line::new().warn("KIT NOT CONFIRMED WORKING:"),
        _ => return None,
    };
    Some(
        line.plain(format!("{},", kit.item))
            .quiet(format!("serial {}", kit.serial))
            .closed()
            .then(signed(&kit.origin, dial)),
    )
}

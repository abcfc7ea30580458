//! How many of the words after a field's name are its value. The record layer says what is
//! accepted; of several lengths that are, the longest is meant (`tomorrow 09:00`).

use std::ops::Range;

use super::lex::Token;
use super::mistake::Mistake;
use super::scope::{Field, Scope};
use crate::record::field::Shape;

/// A value found in the line.
pub(super) struct Taken {
    pub(super) text: String,
    /// How many words it took.
    pub(super) used: usize,
    pub(super) at: Range<usize>,
}

/// Most words a time or a choice may have: `25 October 2026 01:30 GMT`.
const TIME_WORDS_MAX: usize = 5;

/// Units that may stand apart from their number.
const UNITS: [&str; 25] = [
    "c", "f", "°c", "°f", "cel", "kg", "lb", "st", "ml", "l", "l/min", "lpm", "%", "/min", "bpm",
    "mmhg", "kpa", "cm", "mm", "mmol/l", "mg/dl", "lbs", "stone", "stones", "pounds",
];

/// Takes the value of `field` from the words that follow its name, which ends at byte `end`.
///
/// # Errors
/// No value, or one that the field does not take.
pub(super) fn take(
    scope: &Scope,
    field: &Field,
    line: &str,
    tokens: &[Token],
    end: usize,
) -> Result<Taken, Mistake> {
    let Some(first) = tokens.first() else {
        return match field.spec.shape {
            Shape::YesNo => Ok(stated(end)),
            _ => Err(missing(field, end)),
        };
    };
    if first.quoted {
        if field.spec.shape == Shape::YesNo {
            return Ok(stated(end));
        }
        return whole(scope, field, first.text.clone(), 1, first.at.clone());
    }
    match field.spec.shape {
        Shape::YesNo => Ok(yes_or_no(scope, field, first, end)),
        Shape::Number { .. } => number(scope, field, tokens),
        Shape::Past | Shape::Future | Shape::Date | Shape::Repeat | Shape::Choice(_) => {
            longest(scope, field, tokens)
        }
        Shape::Structured => structured(scope, field, line, tokens),
        Shape::Person if field.spec.many => structured(scope, field, line, tokens),
        Shape::Line | Shape::Note | Shape::Secret | Shape::Entry | Shape::Person => {
            whole(scope, field, first.text.clone(), 1, first.at.clone())
        }
    }
}

/// A yes-or-no field named alone says yes.
fn stated(end: usize) -> Taken {
    Taken {
        text: "yes".to_owned(),
        used: 0,
        at: end..end,
    }
}

fn yes_or_no(scope: &Scope, field: &Field, first: &Token, end: usize) -> Taken {
    if scope.accepts(field, &first.text) {
        Taken {
            text: first.text.clone(),
            used: 1,
            at: first.at.clone(),
        }
    } else {
        stated(end)
    }
}

pub(super) fn missing(field: &Field, end: usize) -> Mistake {
    let what = format!("{} has no value", field.spec.name);
    Mistake::new(end..end, what, field.spec.hint)
}

fn whole(
    scope: &Scope,
    field: &Field,
    text: String,
    used: usize,
    at: Range<usize>,
) -> Result<Taken, Mistake> {
    match scope.problem(field, &text) {
        None => Ok(Taken { text, used, at }),
        Some(problem) => Err(refused(field, problem.what, problem.accepted, at)),
    }
}

fn refused(field: &Field, what: String, accepted: String, at: Range<usize>) -> Mistake {
    Mistake::new(at, format!("{}: {what}", field.spec.name), accepted)
}

/// A number, its unit beside it or apart, or why there is none.
fn number(scope: &Scope, field: &Field, tokens: &[Token]) -> Result<Taken, Mistake> {
    if let Some(absent) = not_obtained(scope, field, tokens) {
        return absent;
    }
    let apart = tokens.get(1).filter(|next| {
        let unit = next.lower();
        !next.quoted && UNITS.contains(&unit.as_str()) && scope.named(&unit).is_empty()
    });
    match apart {
        Some(unit) => {
            let text = format!("{} {}", tokens[0].text, unit.text);
            whole(scope, field, text, 2, tokens[0].at.start..unit.at.end)
        }
        None => whole(
            scope,
            field,
            tokens[0].text.clone(),
            1,
            tokens[0].at.clone(),
        ),
    }
}

/// `none refused`, `not obtained "asleep"`: the reason is one word or a text in quotes.
/// Nothing if the words do not say so, or if the field knows no such thing.
pub(super) fn not_obtained(
    scope: &Scope,
    field: &Field,
    tokens: &[Token],
) -> Option<Result<Taken, Mistake>> {
    let words: Vec<String> = tokens.iter().take(2).map(Token::lower).collect();
    let opening = match words.as_slice() {
        [first, ..] if first == "none" || first == "none:" => 1,
        [first, second] if first == "not" && second.trim_end_matches(':') == "obtained" => 2,
        _ => return None,
    };
    if !scope.accepts(field, "not obtained: x") {
        return None;
    }
    let end = tokens[opening - 1].at.end;
    let reason = tokens
        .get(opening)
        .filter(|word| word.quoted || scope.named(&word.lower()).is_empty());
    let Some(reason) = reason else {
        let what = format!(
            "{}: no reason is given why it was not obtained",
            field.spec.name
        );
        let accepted = format!(
            "{} none refused, or {} none \"cuff too small\"",
            field.spec.name, field.spec.name
        );
        return Some(Err(Mistake::new(end..end, what, accepted)));
    };
    Some(Ok(Taken {
        text: format!("not obtained: {}", reason.text),
        used: opening + 1,
        at: tokens[0].at.start..reason.at.end,
    }))
}

/// The longest run of words that is accepted.
pub(super) fn longest(scope: &Scope, field: &Field, tokens: &[Token]) -> Result<Taken, Mistake> {
    let runs = runs(tokens, TIME_WORDS_MAX);
    let accepted = runs
        .iter()
        .rev()
        .find(|run| scope.accepts(field, &run.text));
    if let Some(run) = accepted {
        return Ok(Taken {
            text: run.text.clone(),
            used: run.used,
            at: run.at.clone(),
        });
    }
    Err(best_refusal(scope, field, &runs))
}

/// Of the refusals of every length, the one that knows most: a time that happens twice says
/// more than a word that is no time.
fn best_refusal(scope: &Scope, field: &Field, runs: &[Taken]) -> Mistake {
    let refusals = runs.iter().filter_map(|run| {
        let problem = scope.problem(field, &run.text)?;
        let known = !problem.what.ends_with("is not a time")
            && !problem.what.ends_with("is not a date")
            && !problem.what.contains("is not one of the values\"");
        Some((
            known,
            refused(field, problem.what, problem.accepted, run.at.clone()),
        ))
    });
    let mut refusals: Vec<(bool, Mistake)> = refusals.collect();
    let index = refusals.iter().rposition(|(known, _)| *known).unwrap_or(0);
    refusals.swap_remove(index).1
}

/// All runs from the first word on, shortest first. A quoted text ends them.
fn runs(tokens: &[Token], most: usize) -> Vec<Taken> {
    let open = tokens.iter().take_while(|token| !token.quoted).count();
    let mut text = String::new();
    let mut runs = Vec::new();
    for (index, token) in tokens[..open.min(most)].iter().enumerate() {
        if index > 0 {
            text.push(' ');
        }
        text.push_str(&token.text);
        runs.push(Taken {
            text: text.clone(),
            used: index + 1,
            at: tokens[0].at.start..token.at.end,
        });
    }
    runs
}

/// Words up to the next field, entry number or quoted text, as they stand in the line.
pub(super) fn structured(
    scope: &Scope,
    field: &Field,
    line: &str,
    tokens: &[Token],
) -> Result<Taken, Mistake> {
    let ends = |token: &Token| {
        token.quoted
            || token.equals.is_some()
            || token.text.starts_with(['#', '@'])
            || !scope.named(&token.lower()).is_empty()
    };
    let open = 1 + tokens[1..].iter().take_while(|token| !ends(token)).count();
    let start = tokens[0].at.start;
    let run = |count: usize| {
        let at = start..tokens[count - 1].at.end;
        let text = line[at.clone()].trim_end_matches([',', ';']).to_owned();
        (text, count, at)
    };
    let accepted = (1..=open)
        .rev()
        .map(run)
        .find(|(text, ..)| scope.accepts(field, text));
    let (text, used, at) = accepted.unwrap_or_else(|| run(open));
    whole(scope, field, text, used, at)
}

//! Readings as they are said at the bedside: `148/92`, `o2 2l nc`, `air`, `tt 37.1`.

use std::ops::Range;

use super::lex::Token;
use super::mistake::Mistake;
use super::scope::{Field, Part, Scope};
use super::value;
use crate::record::field::ReadContext;
use crate::record::kind::Kind;
use crate::record::observed::OxygenDevice;

/// Temperature with its site in one word.
const TEMPERATURES: [(&str, &str); 5] = [
    ("tt", "tympanic"),
    ("to", "oral"),
    ("ta", "axillary"),
    ("tf", "temporal"),
    ("tr", "rectal"),
];

/// What several words at the bedside come to.
pub(super) struct Bedside {
    /// Fields and values.
    pub(super) values: Vec<(Field, String)>,
    /// How many words they took.
    pub(super) used: usize,
    pub(super) at: Range<usize>,
}

type Found = Option<Result<Bedside, Mistake>>;

/// Takes bedside words from the front of `tokens`, if they are any.
pub(super) fn take(scope: &Scope, tokens: &[Token]) -> Found {
    let part = scope.observation()?;
    let first = tokens
        .first()
        .filter(|token| !token.quoted && token.equals.is_none())?;
    let word = first.lower();
    pressure(scope, part, &word, tokens)
        .or_else(|| oxygen(scope, part, &word, tokens))
        .or_else(|| temperature(scope, part, &word, tokens))
        .or_else(|| pain(&word, scope, part, tokens))
}

/// Blood pressure and oxygen given as `bp=148/92`, `o2=air`.
pub(super) fn named(scope: &Scope, name: &str, value: &Token) -> Found {
    let part = scope.observation()?;
    let one = std::slice::from_ref(value);
    match name {
        "bp" => Some(systolic_and_diastolic(scope, part, one, 0, value.at.start)),
        "o2" | "oxygen" => {
            let words = super::lex::words(&value.text, 0).ok()?;
            let mut found = oxygen_from(scope, part, &words, 0, &value.at);
            if let Ok(bedside) = &mut found {
                bedside.at = value.at.clone();
                if bedside.used < words.len() {
                    let what = format!("\"{}\" is more than device and flow", value.text);
                    return Some(Err(Mistake::new(
                        value.at.clone(),
                        what,
                        "cannula 2, or air",
                    )));
                }
                bedside.used = 1;
            }
            Some(found)
        }
        _ => None,
    }
}

/// Readings that one `name=value` says at once, for whoever writes fields out: `bp=148/92`,
/// `o2="2l cannula"`, `tt=37.1`. Nothing if the name says no such thing.
///
/// # Errors
/// What is wrong with the value, and what would be accepted.
pub fn composite(
    kind: Kind,
    name: &str,
    text: &str,
    cx: &ReadContext,
) -> Option<Result<Vec<(String, String)>, Mistake>> {
    let name = name.to_lowercase();
    let parts = vec![Part::new(kind, &[])];
    let scope = Scope { parts, cx: *cx };
    scope
        .observation()
        .filter(|part| scope.field(*part, &name).is_none())?;
    let value = Token {
        text: text.trim().to_owned(),
        at: 0..text.len(),
        quoted: false,
        equals: None,
    };
    let site = TEMPERATURES.iter().any(|(word, _)| *word == name);
    let found = match site {
        true => {
            let word = Token {
                text: name,
                ..value.clone()
            };
            take(&scope, &[word, value])?
        }
        false => named(&scope, &name, &value)?,
    };
    let named = |bedside: Bedside| bedside.values.into_iter();
    let pairs = |(field, text): (Field, String)| (field.spec.name.to_owned(), text);
    Some(found.map(|bedside| named(bedside).map(pairs).collect()))
}

// Blood pressure.

fn pressure(scope: &Scope, part: usize, word: &str, tokens: &[Token]) -> Found {
    if word == "bp" {
        return Some(systolic_and_diastolic(
            scope,
            part,
            &tokens[1..],
            1,
            tokens[0].at.end,
        ));
    }
    pair(word.strip_prefix("bp").unwrap_or(word))?;
    let mut one = tokens[0].clone();
    // "bp" is as long in lower case; what follows it need not be.
    if word.starts_with("bp") {
        one.text = one.text.split_off("bp".len());
    }
    let rest: Vec<Token> = std::iter::once(one)
        .chain(tokens[1..].iter().cloned())
        .collect();
    Some(systolic_and_diastolic(
        scope,
        part,
        &rest,
        0,
        tokens[0].at.start,
    ))
}

/// `148/92`, perhaps with `@monitor`: the two numbers and the source.
fn pair(word: &str) -> Option<(&str, &str, &str)> {
    let (numbers, source) = word.split_at(word.find('@').unwrap_or(word.len()));
    let (systolic, diastolic) = numbers.split_once('/')?;
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    (digits(systolic) && digits(diastolic)).then_some((systolic, diastolic, source))
}

/// From the words after `bp`; `named` words stand before them.
fn systolic_and_diastolic(
    scope: &Scope,
    part: usize,
    tokens: &[Token],
    named: usize,
    end: usize,
) -> Result<Bedside, Mistake> {
    let accepted = "systolic/diastolic, e.g. bp 148/92; sbp 148 if only the systolic could be had";
    let (Some(sbp), Some(dbp)) = (scope.field(part, "sbp"), scope.field(part, "dbp")) else {
        return Err(Mistake::new(
            end..end,
            "no blood pressure belongs here",
            "leave it out",
        ));
    };
    let Some(first) = tokens.first() else {
        return Err(Mistake::new(end..end, "bp has no value", accepted));
    };
    if let Some(absent) = value::not_obtained(scope, &sbp, tokens) {
        let absent = absent.map_err(|mut mistake| {
            mistake.what = mistake.what.replace("sbp", "bp");
            mistake.accepted = mistake.accepted.replace("sbp", "bp");
            mistake
        })?;
        let values = vec![(sbp, absent.text.clone()), (dbp, absent.text)];
        return Ok(Bedside {
            values,
            used: named + absent.used,
            at: absent.at,
        });
    }
    let (word, words) = pair_of_words(tokens);
    let Some((systolic, diastolic, source)) = pair(&word) else {
        let what = format!("bp: \"{}\" is not two numbers", first.text);
        return Err(Mistake::new(first.at.clone(), what, accepted));
    };
    let at = first.at.start..tokens[words - 1].at.end;
    let values = vec![
        (sbp, format!("{systolic}{source}")),
        (dbp, format!("{diastolic}{source}")),
    ];
    for (field, text) in &values {
        if let Some(problem) = scope.problem(field, text) {
            let what = format!("bp: {}", problem.what);
            return Err(Mistake::new(at, what, problem.accepted));
        }
    }
    let unit = tokens.get(words).is_some_and(|next| next.lower() == "mmhg");
    Ok(Bedside {
        values,
        used: named + words + usize::from(unit),
        at,
    })
}

/// `120 / 80` is one pair in three words, `120/ 80` in two; and how many words it took.
fn pair_of_words(tokens: &[Token]) -> (String, usize) {
    let mut word = String::new();
    for (token, words) in tokens.iter().take_while(|token| !token.quoted).zip(1..=3) {
        word.push_str(&token.lower());
        if pair(&word).is_some() {
            return (word, words);
        }
    }
    (tokens.first().map(Token::lower).unwrap_or_default(), 1)
}

// Oxygen.

fn oxygen(scope: &Scope, part: usize, word: &str, tokens: &[Token]) -> Found {
    let next = tokens
        .get(1)
        .filter(|next| !next.quoted)
        .map(Token::lower)
        .unwrap_or_default();
    if matches!(word, "o2" | "oxygen") {
        // "o2 sats 96" is a saturation; the words that follow say so.
        let saturation = scope
            .field(part, "spo2")
            .filter(|_| scope.named(&next).iter().any(|f| f.spec.name == "spo2"));
        return match saturation {
            Some(_) => Some(Ok(Bedside {
                values: vec![],
                used: 1,
                at: tokens[0].at.clone(),
            })),
            None => Some(oxygen_from(scope, part, tokens, 1, &tokens[0].at)),
        };
    }
    let begins = matches!(word, "air" | "ra")
        || word == "room" && next == "air"
        || device(word).is_some()
        || flow(word);
    begins.then(|| oxygen_from(scope, part, tokens, 0, &tokens[0].at))
}

/// The devices people name alone; "other" says too little to be taken for one.
fn device(word: &str) -> Option<OxygenDevice> {
    OxygenDevice::from_code(word).filter(|device| *device != OxygenDevice::Other)
}

fn amount(word: &str) -> bool {
    let number = word.trim_end_matches(|c: char| !c.is_ascii_digit());
    let unit = &word[number.len()..];
    let plain = number.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    !number.is_empty() && plain && matches!(unit, "" | "l" | "l/min" | "lpm" | "%")
}

fn flow(word: &str) -> bool {
    amount(word) && word.ends_with(['l', 'n', 'm'])
}

/// Device and amount in either order, from the words after `named` words.
fn oxygen_from(
    scope: &Scope,
    part: usize,
    tokens: &[Token],
    named: usize,
    place: &Range<usize>,
) -> Result<Bedside, Mistake> {
    let accepted = "air, or device and flow: o2 2l cannula, venturi 28%";
    let (mut air, mut by, mut given, mut used) = (false, None, None::<String>, named);
    for token in tokens[named..].iter().take_while(|token| !token.quoted) {
        let word = token.lower();
        match word.as_str() {
            "room" | "on" if used == named => {}
            "air" | "ra" if by.is_none() && given.is_none() => air = true,
            "l" | "l/min" | "lpm" | "%" if given.is_some() => {
                given = given.map(|amount| amount + &word);
            }
            _ if air => break,
            _ if by.is_none() && OxygenDevice::from_code(&word).is_some() => by = Some(word),
            _ if given.is_none() && amount(&word) => given = Some(word),
            _ => break,
        }
        used += 1;
        if air {
            break;
        }
    }
    let at = place.start
        ..tokens
            .get(used.max(1) - 1)
            .map_or(place.end, |token| token.at.end);
    let text = match (air, by, given) {
        (true, ..) => "air".to_owned(),
        (false, Some(by), Some(given)) => format!("{by} {given}"),
        (false, Some(by), None) => by,
        (false, None, Some(given)) => {
            let what = format!("oxygen {given} without its device");
            let accepted = format!("{accepted}; for a saturation say sats {given}");
            return Err(Mistake::new(at, what, accepted));
        }
        (false, None, None) => return Err(Mistake::new(at, "oxygen has no value", accepted)),
    };
    let Some(field) = scope.field(part, "oxygen") else {
        return Err(Mistake::new(at, "no oxygen belongs here", "leave it out"));
    };
    match scope.problem(&field, &text) {
        None => Ok(Bedside {
            values: vec![(field, text)],
            used,
            at,
        }),
        Some(problem) => Err(Mistake::new(
            at,
            format!("oxygen: {}", problem.what),
            problem.accepted,
        )),
    }
}

// Temperature with its site, and pain.

fn temperature(scope: &Scope, part: usize, word: &str, tokens: &[Token]) -> Found {
    let number = word.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = &word[..word.len() - number.len()];
    let site = TEMPERATURES.iter().find(|(known, _)| *known == letters)?.1;
    let (temp, temp_site) = (scope.field(part, "temp")?, scope.field(part, "temp_site")?);
    let apart = number.is_empty();
    let (value, at) = match tokens.get(1) {
        _ if !apart => (number.to_owned(), tokens[0].at.clone()),
        Some(next) => (next.text.clone(), next.at.clone()),
        None => return Some(Err(value::missing(&temp, tokens[0].at.end))),
    };
    if let Some(problem) = scope.problem(&temp, &value) {
        let what = format!("temp: {}", problem.what);
        return Some(Err(Mistake::new(at, what, problem.accepted)));
    }
    let values = vec![(temp, value), (temp_site, site.to_owned())];
    Some(Ok(Bedside {
        values,
        used: 1 + usize::from(apart),
        at,
    }))
}

/// "pain" could be the pain score or the P of ACVPU, which scores 3: it is never taken alone.
fn pain(word: &str, scope: &Scope, part: usize, tokens: &[Token]) -> Found {
    let score = scope.field(part, "pain")?;
    let scored = tokens
        .get(1)
        .is_some_and(|next| scope.accepts(&score, &next.text));
    (word == "pain" && !scored).then(|| {
        let at = tokens[0].at.clone();
        let what = "\"pain\" alone could be a pain score or \"responds only to pain\"";
        Err(Mistake::new(at, what, "pain 3 (0 to 10), or avpu pain"))
    })
}

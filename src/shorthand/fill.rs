//! Fills the entries of a line from its words.

use std::ops::Range;

use super::alias;
use super::around::{self, AsTime};
use super::bedside;
use super::lex::{self, Token};
use super::mistake::Mistake;
use super::scope::{Field, Part, Scope};
use super::value;
use super::verb::Verb;
use super::window;
use super::{Entries, Link, Place, ShorthandContext};
use crate::record::draft::Draft;
use crate::record::field::{FieldValue, Shape, nearest};
use crate::record::ids::Seq;
use crate::record::kind::{Kind, Subject};
use crate::record::moment::Past;
use crate::record::problem::Problem;

/// The entries that a verb and the words after it make.
pub(super) fn entries(
    verb: &Verb,
    line: &str,
    after: usize,
    cx: &ShorthandContext,
) -> Result<Entries, Vec<Mistake>> {
    let mut parts = vec![Part::new(verb.kind, verb.fixed)];
    parts.extend(verb.also.map(|(kind, _)| Part::new(kind, &[])));
    let mut filler = Filler::new(line, parts, cx);
    filler.is_reply = verb.is_reply;
    if verb.rest_is_text {
        filler.text_to_end(after);
    } else {
        filler.fill(after);
    }
    filler.finish(verb)
}

/// The same where some fields are known from before byte `after`, with their places.
pub(super) fn entries_with(
    verb: &Verb,
    known: &[(&str, &Token)],
    line: &str,
    after: usize,
    cx: &ShorthandContext,
) -> Result<Entries, Vec<Mistake>> {
    let mut filler = Filler::new(line, vec![Part::new(verb.kind, verb.fixed)], cx);
    for (name, token) in known {
        if let Some(field) = filler.scope.field(0, name)
            && let Err(mistake) = filler.put(&field, token.text.clone(), token.at.clone())
        {
            filler.mistakes.push(mistake);
        }
    }
    filler.fill(after);
    filler.finish(verb)
}

/// The new values of a correction, and why it is made.
pub(super) fn correction(
    kind: Kind,
    line: &str,
    after: usize,
    cx: &ShorthandContext,
) -> Result<Entries, Vec<Mistake>> {
    let mut amendment = Part::new(Kind::Amendment, &[]);
    // The entry and what happens to it are known; only why is typed. "reason" could be a field
    // of the entry itself, so the words for why follow "because".
    amendment.specs.retain(|spec| spec.name == "cause");
    amendment.text_field = None;
    let mut corrected = Part::new(kind, &[]);
    corrected.text_field = None;
    let mut filler = Filler::new(line, vec![corrected, amendment], cx);
    filler.correcting = true;
    filler.fill(after);
    let mut drafts = filler.drafts()?;
    if let (Some(amendment), Some(because)) = (drafts.get_mut(1), filler.because.take()) {
        amendment.set("reason", because);
    }
    let places = filler.places();
    Ok(Entries {
        drafts,
        links: vec![],
        places,
        together: false,
    })
}

/// What is typed for the line as a whole.
#[derive(Default)]
struct Common {
    at: Option<String>,
    late_reason: Option<String>,
    related: Vec<String>,
    confirm: bool,
    /// `@pell`, or `@ward` for no patient.
    patient: Option<(String, Range<usize>)>,
}

struct Filler<'a> {
    line: &'a str,
    tokens: Vec<Token>,
    next: usize,
    scope: Scope,
    cx: &'a ShorthandContext,
    common: Common,
    mistakes: Vec<Mistake>,
    /// A field that took one plain word as its text, and the word after it.
    one_word: Option<(&'static str, usize)>,
    /// The line corrects an entry: `because` says why.
    correcting: bool,
    because: Option<String>,
    /// A number is the entry it belongs with.
    is_reply: bool,
}

type Step = Result<(), Mistake>;

impl<'a> Filler<'a> {
    fn new(line: &'a str, parts: Vec<Part>, cx: &'a ShorthandContext) -> Filler<'a> {
        let scope = Scope {
            parts,
            cx: cx.read(),
        };
        Filler {
            line,
            tokens: Vec::new(),
            next: 0,
            scope,
            cx,
            common: Common::default(),
            mistakes: Vec::new(),
            one_word: None,
            correcting: false,
            because: None,
            is_reply: false,
        }
    }

    /// Takes every word from byte `after` on, collecting every mistake.
    fn fill(&mut self, after: usize) {
        match lex::words(self.line, after) {
            Ok(tokens) => self.take_all(tokens),
            Err(mistake) => self.mistakes.push(mistake),
        }
    }

    fn take_all(&mut self, tokens: Vec<Token>) {
        self.tokens = tokens;
        self.next = 0;
        while self.next < self.tokens.len() {
            let begun = self.next;
            if let Err(mistake) = self.step() {
                self.go_past(begun, &mistake);
                self.mistakes.push(mistake);
            }
        }
    }

    /// Goes on behind a mistake, so that the words it is about are not also unknown words.
    fn go_past(&mut self, begun: usize, mistake: &Mistake) {
        self.next = self.next.max(begun + 1);
        let inside = |token: &&Token| token.at.start < mistake.at.end;
        self.next += self.tokens[self.next.min(self.tokens.len())..]
            .iter()
            .take_while(inside)
            .count();
    }

    /// A note's text in quotes with a time or a reason beside it. A time before a text without quotes
    /// could be either, and is asked about.
    fn beside_text(&mut self, from: usize) -> bool {
        let Ok(tokens) = lex::words(self.line, from) else {
            return false;
        };
        let time = |text: &str| match self.read_at(text) {
            Ok(_) => AsTime::Meant,
            Err(problem) if !problem.what.ends_with("is not a time") => AsTime::Meant,
            Err(_) => AsTime::None,
        };
        if around::is_about_entry(&tokens, &time) {
            self.take_all(tokens);
            return true;
        }
        let either = around::either(self.line, from, &tokens, &time);
        let asked = either.is_some();
        self.mistakes.extend(either);
        asked
    }

    /// Options that open a note (`topic=family`), then text to the end.
    fn text_to_end(&mut self, after: usize) {
        let mut from = after;
        while let Some(word) = self.opening_option(from) {
            from = word.at.end;
            self.tokens = vec![word];
            self.next = 0;
            if let Err(mistake) = self.step() {
                self.mistakes.push(mistake);
            }
        }
        if self.beside_text(from) {
            return;
        }
        let text = self.line[from..].trim();
        if let (Some(field), false) = (self.scope.field(0, "text"), text.is_empty()) {
            let start = self.line[from..]
                .find(text)
                .map_or(from, |offset| from + offset);
            let text = unquoted(text);
            match self.scope.problem(&field, &text) {
                Some(problem) => self.mistakes.push(Mistake::new(
                    start..self.line.len(),
                    problem.what,
                    problem.accepted,
                )),
                None => self
                    .put(&field, text, start..self.line.len())
                    .unwrap_or_else(|m| self.mistakes.push(m)),
            }
        }
    }

    /// The next word of a note if it is `name=value` or `@patient`.
    fn opening_option(&self, from: usize) -> Option<Token> {
        let begin = from + self.line[from..].find(|c: char| !c.is_whitespace())?;
        let (word, _) = lex::first_word(&self.line[begin..])?;
        let named = word.text.split_once('=').is_some_and(|(name, _)| {
            let name = name.to_lowercase();
            matches!(name.as_str(), "at" | "late" | "related")
                || !self.scope.named(&name).is_empty()
        });
        let cited = self.is_reply && word.text.parse::<Seq>().is_ok() && word.text.starts_with('#');
        if !named && !cited && !word.text.starts_with('@') {
            return None;
        }
        lex::words(&self.line[begin..], 0)
            .ok()?
            .into_iter()
            .next()
            .map(|mut token| {
                token.at = begin + token.at.start..begin + token.at.end;
                token
            })
    }

    fn put(&mut self, field: &Field, text: String, at: Range<usize>) -> Step {
        self.scope.set(field, text, at)
    }

    /// Takes the next word or words.
    fn step(&mut self) -> Step {
        let token = self.tokens[self.next].clone();
        if token.quoted {
            return self.text(token);
        }
        if let Some(taken) = self.common_word(&token) {
            return taken;
        }
        if let Some(equals) = token.equals {
            return self.name_and_value(&token, equals);
        }
        if let Some(said) = window::take(&self.scope, &self.tokens[self.next..]) {
            return self.window(said?);
        }
        if let Some(found) = bedside::take(&self.scope, &self.tokens[self.next..]) {
            return self.bedside(found?);
        }
        if let Some(taken) = self.named_field(&token) {
            return taken;
        }
        if let Some(taken) = self.glued(&token) {
            return taken;
        }
        if token.text.starts_with('#') {
            return self.entry_number(token);
        }
        if let Some(taken) = self.bare_choice(&token) {
            return taken;
        }
        if let Some(taken) = self.denied(&token) {
            return taken;
        }
        self.bare_field(&token)
            .unwrap_or_else(|| Err(self.unknown(&token)))
    }

    // What belongs to the whole line.

    fn common_word(&mut self, token: &Token) -> Option<Step> {
        if let Some(name) = token.text.strip_prefix('@').filter(|name| !name.is_empty()) {
            return Some(self.patient(name.to_owned(), token));
        }
        let (word, value) = match token.equals {
            Some(equals) => (
                // Not cut from the lower case, whose bytes can lie elsewhere.
                token.text[..equals].to_lowercase(),
                Some(token.text[equals + 1..].to_owned()),
            ),
            None => (token.lower(), None),
        };
        let own = !self.scope.named(&word).is_empty();
        match (word.as_str(), value) {
            ("confirm" | "!", None) => {
                self.common.confirm = true;
                self.next += 1;
                Some(Ok(()))
            }
            ("at" | "happened", value) => Some(self.at(token, value)),
            ("late", value) if !own => {
                let taken = self.reason(token, value, "late \"was with another patient\"");
                Some(taken.and_then(|text| keep(&mut self.common.late_reason, text, token)))
            }
            ("because", value) if self.correcting => {
                let taken = self.reason(token, value, "because \"hit the wrong key\"");
                Some(taken.and_then(|text| keep(&mut self.because, text, token)))
            }
            ("related", value) if !own => Some(self.related(token, value)),
            ("patient", Some(name)) => Some(self.patient(name, token)),
            _ => None,
        }
    }

    fn patient(&mut self, name: String, token: &Token) -> Step {
        if let Some((held, _)) = &self.common.patient {
            let what = format!("a second patient: the line is already about \"{held}\"");
            return Err(Mistake::new(
                token.at.clone(),
                what,
                "one patient to a line",
            ));
        }
        self.common.patient = Some((name, token.at.clone()));
        self.next += 1;
        Ok(())
    }

    fn at(&mut self, token: &Token, given: Option<String>) -> Step {
        let due = self.scope.parts[0].kind == Kind::Task;
        if due && token.lower().starts_with("at") {
            let what = "\"at\" says when something happened, and a task is still to come";
            let accepted = "due 15:30; for when it was noticed, happened 12:30";
            return Err(Mistake::new(token.at.clone(), what, accepted));
        }
        let read = |text: &str| self.read_at(text);
        if let Some(text) = given {
            return match read(&text) {
                Err(problem) => Err(Mistake::new(
                    token.at.clone(),
                    format!("at: {}", problem.what),
                    problem.accepted,
                )),
                Ok(_) => self.set_at(text, 1, token.at.clone()),
            };
        }
        // As a refusal writes it: at "01:30 BST".
        if let Some(quoted) = self.tokens.get(self.next + 1).filter(|t| t.quoted)
            && read(&quoted.text).is_ok()
        {
            let (text, at) = (quoted.text.clone(), quoted.at.clone());
            return self.set_at(text, 2, at);
        }
        let rest: Vec<&Token> = self.tokens[self.next + 1..]
            .iter()
            .take_while(|t| !t.quoted)
            .take(6)
            .collect();
        let run = |count: usize| {
            rest[..count]
                .iter()
                .map(|t| t.text.as_str())
                .collect::<Vec<_>>()
                .join(" ")
        };
        let found = (1..=rest.len())
            .rev()
            .find(|count| read(&run(*count)).is_ok());
        if let Some(count) = found {
            let at = rest[0].at.start..rest[count - 1].at.end;
            return self.set_at(run(count), count + 1, at);
        }
        let refusals = (1..=rest.len()).filter_map(|count| Some((count, read(&run(count)).err()?)));
        let mut refusals: Vec<_> = refusals.collect();
        let known = refusals
            .iter()
            .rposition(|(_, problem)| !problem.what.ends_with("is not a time"));
        if refusals.is_empty() {
            return Err(Mistake::new(
                token.at.end..token.at.end,
                "at has no time",
                Past::HINT,
            ));
        }
        let (count, problem) = refusals.swap_remove(known.unwrap_or(0));
        let at = rest[0].at.start..rest[count - 1].at.end;
        Err(Mistake::new(
            at,
            format!("at: {}", problem.what),
            problem.accepted,
        ))
    }

    /// When something happened, perhaps roughly.
    fn read_at(&self, text: &str) -> Result<Past, Problem> {
        let lower = text.trim().to_lowercase();
        let marks = ["approx ", "about ", "~"];
        let plain = marks
            .iter()
            .find_map(|mark| lower.strip_prefix(mark))
            .map(str::to_owned);
        Past::read(plain.as_deref().unwrap_or(text), &self.scope.cx)
    }

    fn set_at(&mut self, text: String, used: usize, at: Range<usize>) -> Step {
        if let Some(held) = &self.common.at {
            let what = format!("at is given twice: it is already \"{held}\"");
            return Err(Mistake::new(at, what, "one of them"));
        }
        self.common.at = Some(text);
        self.next += used;
        Ok(())
    }

    /// The text after `late` or `because`.
    fn reason(
        &mut self,
        token: &Token,
        given: Option<String>,
        example: &str,
    ) -> Result<String, Mistake> {
        let (text, used) = match (given, self.tokens.get(self.next + 1)) {
            (Some(text), _) => (text, 1),
            (None, Some(next)) => (next.text.clone(), 2),
            (None, None) => {
                let at = token.at.end..token.at.end;
                let what = format!("{} has no reason", token.text);
                return Err(Mistake::new(at, what, example));
            }
        };
        self.next += used;
        Ok(text)
    }

    fn related(&mut self, token: &Token, given: Option<String>) -> Step {
        if let Some(text) = given {
            self.common.related.push(text);
            self.next += 1;
            return Ok(());
        }
        let numbers = self.tokens[self.next + 1..]
            .iter()
            .take_while(|t| t.text.starts_with('#') && !t.quoted);
        let numbers: Vec<String> = numbers.map(|token| token.text.clone()).collect();
        if numbers.is_empty() {
            let at = token.at.end..token.at.end;
            return Err(Mistake::new(
                at,
                "related names no entry",
                "related #12 #13",
            ));
        }
        self.next += 1 + numbers.len();
        self.common.related.extend(numbers);
        Ok(())
    }

    // Fields.

    fn text(&mut self, token: Token) -> Step {
        let fields = (0..self.scope.parts.len()).filter_map(|part| {
            let name = self.scope.parts[part].text_field?;
            self.scope.field(part, name)
        });
        let Some(field) = fields.take(1).next() else {
            let what = "the text has no field to go to";
            return Err(Mistake::new(token.at, what, "a field's name before it"));
        };
        if self.scope.is_set(&field) {
            let what = format!("a second text: {} is already given", field.spec.name);
            return Err(Mistake::new(token.at, what, self.other_texts()));
        }
        if let Some(problem) = self.scope.problem(&field, &token.text) {
            return Err(Mistake::new(
                token.at,
                format!("{}: {}", field.spec.name, problem.what),
                problem.accepted,
            ));
        }
        self.next += 1;
        self.put(&field, token.text, token.at)
    }

    /// Text fields that are still free, for saying where a second text could go.
    fn other_texts(&self) -> String {
        let texts = self
            .scope
            .matching(|spec| matches!(spec.shape, Shape::Line | Shape::Note));
        let free = texts.iter().filter(|field| !self.scope.is_set(field));
        let names: Vec<&str> = free.map(|field| field.spec.name).take(8).collect();
        format!("a field's name before it: {}", names.join(", "))
    }

    fn name_and_value(&mut self, token: &Token, equals: usize) -> Step {
        let name = token.text[..equals].to_lowercase();
        let mut value = token.clone();
        value.text = token.text[equals + 1..].to_owned();
        value.equals = None;
        value.at.start = token.at.start + (equals + 1).min(token.at.len());
        if let Some(found) = bedside::named(&self.scope, &name, &value) {
            return self.bedside(found?);
        }
        let fields = self.scope.named(&name);
        let Some(first) = fields.first().cloned() else {
            return Err(self.unknown_name(&name, token));
        };
        let taking = fields
            .iter()
            .find(|field| self.scope.accepts(field, &value.text));
        let Some(field) = taking.cloned() else {
            let problem = self.scope.problem(&first, &value.text);
            let (what, accepted) = problem.map_or_else(Default::default, |p| (p.what, p.accepted));
            return Err(Mistake::new(
                value.at,
                format!("{}: {what}", first.spec.name),
                accepted,
            ));
        };
        self.next += 1;
        self.put(&field, value.text, value.at)
    }

    fn bedside(&mut self, found: bedside::Bedside) -> Step {
        self.next += found.used;
        for (field, text) in found.values {
            self.put(&field, text, found.at.clone())?;
        }
        Ok(())
    }

    fn window(&mut self, said: window::Said) -> Step {
        self.next += said.used;
        for (name, text) in [("from", said.from), ("due", said.due)] {
            if let Some(field) = self.scope.field(0, name) {
                self.put(&field, text, said.at.clone())?;
            }
        }
        Ok(())
    }

    /// A field's name, then its value. A word that is also a value of a list is that value if
    /// no value follows.
    fn named_field(&mut self, token: &Token) -> Option<Step> {
        let fields = self.scope.named(&token.lower());
        if fields.is_empty() {
            return None;
        }
        let rest = &self.tokens[self.next + 1..];
        let take = |field: &Field| value::take(&self.scope, field, self.line, rest, token.at.end);
        let mut first_mistake = None;
        for field in fields {
            match take(&field) {
                Ok(taken) => {
                    let plain =
                        matches!(field.spec.shape, Shape::Line | Shape::Note | Shape::Secret);
                    let quoted = rest.first().is_some_and(|value| value.quoted);
                    self.next += 1 + taken.used;
                    if plain && !quoted {
                        self.one_word = Some((field.spec.name, self.next));
                    }
                    return Some(self.put(&field, taken.text, taken.at));
                }
                Err(mistake) => first_mistake = first_mistake.or(Some(mistake)),
            }
        }
        if let Some(taken) = self.bare_choice(token) {
            return Some(taken);
        }
        first_mistake.map(Err)
    }

    /// Name and value in one word: `rr18`, `n+4h`, `t37.1`.
    fn glued(&mut self, token: &Token) -> Option<Step> {
        let cut = token
            .text
            .find(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '~'))?;
        let (name, text) = (
            token.text[..cut].to_lowercase(),
            token.text[cut..].to_owned(),
        );
        let glues = |shape| matches!(shape, Shape::Number { .. } | Shape::Past | Shape::Future);
        let fields = self
            .scope
            .named(&name)
            .into_iter()
            .filter(|field| glues(field.spec.shape));
        let fields: Vec<Field> = fields.collect();
        let first = fields.first()?.clone();
        let mut value = token.clone();
        value.text = text;
        value.at.start += cut;
        let rest: Vec<Token> = std::iter::once(value.clone())
            .chain(self.tokens[self.next + 1..].iter().cloned())
            .collect();
        let takes = |field: &Field| {
            Some((
                field.clone(),
                value::take(&self.scope, field, self.line, &rest, value.at.start).ok()?,
            ))
        };
        let Some((field, taken)) = fields.iter().find_map(takes) else {
            return Some(
                match value::take(&self.scope, &first, self.line, &rest, value.at.start) {
                    Err(mistake) => Err(mistake),
                    Ok(_) => Ok(()),
                },
            );
        };
        self.next += taken.used;
        Some(self.put(&field, taken.text, taken.at))
    }

    fn entry_number(&mut self, token: Token) -> Step {
        if self.is_reply {
            self.common.related.push(token.text);
            self.next += 1;
            return Ok(());
        }
        let fields = (0..self.scope.parts.len()).filter_map(|part| {
            let name = alias::entry_field(self.scope.parts[part].kind)?;
            self.scope.field(part, name)
        });
        let Some(field) = fields.take(1).next() else {
            let what = format!("{} has no field to go to", token.text);
            return Err(Mistake::new(
                token.at.clone(),
                what,
                format!("related {}", token.text),
            ));
        };
        if let Some(problem) = self.scope.problem(&field, &token.text) {
            return Err(Mistake::new(token.at, problem.what, problem.accepted));
        }
        if self.scope.is_set(&field) {
            let what = format!("a second entry: {} is already given", field.spec.name);
            return Err(Mistake::new(
                token.at.clone(),
                what,
                format!("related {}", token.text),
            ));
        }
        self.next += 1;
        self.put(&field, token.text, token.at)
    }

    /// A value of a list without its field's name, where only one field has it.
    fn bare_choice(&mut self, token: &Token) -> Option<Step> {
        // One letter says too little, and is the short name of a field.
        if token.text.chars().count() < 2 {
            return None;
        }
        let lists = self
            .scope
            .matching(|spec| matches!(spec.shape, Shape::Choice(_)));
        let taking = lists
            .into_iter()
            .filter(|field| self.scope.accepts(field, &token.text));
        let taking: Vec<Field> = taking.collect();
        let free: Vec<&Field> = taking
            .iter()
            .filter(|field| !self.scope.is_set(field))
            .collect();
        let field = match (taking.as_slice(), free.as_slice()) {
            ([], _) => return None,
            ([only], _) => only.clone(),
            (_, [only]) => (*only).clone(),
            _ => {
                let names: Vec<String> = taking
                    .iter()
                    .map(|field| format!("{} {}", field.spec.name, token.text))
                    .collect();
                let what = format!("\"{}\" could stand in several fields", token.text);
                return Some(Err(Mistake::new(token.at.clone(), what, names.join(", "))));
            }
        };
        let at = token.at.clone();
        Some(
            self.put(&field, token.text.clone(), at)
                .inspect(|()| self.next += 1),
        )
    }

    /// `no odour`: a yes-or-no field denied.
    fn denied(&mut self, token: &Token) -> Option<Step> {
        if !matches!(token.lower().as_str(), "no" | "not") {
            return None;
        }
        let next = self
            .tokens
            .get(self.next + 1)
            .filter(|next| !next.quoted)?
            .clone();
        let field = self
            .scope
            .named(&next.lower())
            .into_iter()
            .find(|field| field.spec.shape == Shape::YesNo)?;
        self.next += 2;
        Some(self.put(&field, "no".to_owned(), token.at.start..next.at.end))
    }

    /// A value of a field that may stand without its name. Free text may only as the first
    /// word, so that a mistyped word later on is never taken for it.
    fn bare_field(&mut self, token: &Token) -> Option<Step> {
        let names = alias::bare_fields(self.scope.parts[0].kind);
        for field in names.iter().filter_map(|name| self.scope.field(0, name)) {
            let open = matches!(field.spec.shape, Shape::Line | Shape::Note);
            if open && self.next > 0 || self.scope.is_set(&field) && !field.spec.many {
                continue;
            }
            let rest = &self.tokens[self.next..];
            let taken = value::take(&self.scope, &field, self.line, rest, token.at.start);
            if let Ok(taken) = taken {
                self.next += taken.used;
                return Some(self.put(&field, taken.text, taken.at));
            }
        }
        None
    }

    fn unknown(&self, token: &Token) -> Mistake {
        let what = format!("\"{}\" is not understood here", token.text);
        if let Some((field, after)) = self.one_word
            && after == self.next
        {
            let accepted = format!(
                "text of several words in quotes: {field} \"… {}\"",
                token.text
            );
            return Mistake::new(token.at.clone(), what, accepted);
        }
        let known = self.scope.vocabulary();
        let accepted = match nearest(&token.text, &known) {
            Some(near) => format!("perhaps \"{near}\"; text goes in quotes"),
            None => format!(
                "a field and its value, or text in quotes; \"help {}\" lists the fields",
                self.scope.parts[0].kind.name()
            ),
        };
        Mistake::new(token.at.clone(), what, accepted)
    }

    fn unknown_name(&self, name: &str, token: &Token) -> Mistake {
        let names: Vec<&str> = self
            .scope
            .matching(|_| true)
            .iter()
            .map(|field| field.spec.name)
            .collect();
        let what = format!("\"{name}\" is not a field here");
        let accepted = match nearest(name, &names) {
            Some(near) => format!("perhaps {near}; the fields are {}", names.join(", ")),
            None => names.join(", "),
        };
        Mistake::new(token.at.clone(), what, accepted)
    }

    // The end of the line.

    fn finish(mut self, verb: &Verb) -> Result<Entries, Vec<Mistake>> {
        let otherwise = if self.says_something() {
            verb.otherwise
        } else {
            &[]
        };
        for (field, value) in otherwise {
            if self.scope.parts[0].draft.get(field).is_none() {
                self.scope.parts[0].draft.set(field, (*value).to_owned());
            }
        }
        let alone = self.scope.parts.len() > 1 && self.scope.parts[1].draft.fields.is_empty();
        if alone {
            self.scope.parts.truncate(1);
        }
        let drafts = self.drafts()?;
        let places = self.places();
        let cites = verb
            .also
            .filter(|(_, field)| drafts.len() > 1 && drafts[1].get(field).is_none());
        let links = cites
            .map(|(_, field)| Link {
                from: 1,
                field,
                to: 0,
            })
            .into_iter()
            .collect();
        Ok(Entries {
            drafts,
            links,
            places,
            together: false,
        })
    }

    /// Readings, or words about the patient: what somebody who was reached leaves behind. A
    /// call that says nothing of the kind may not have reached anybody.
    fn says_something(&self) -> bool {
        let words = [
            "how",
            "worry",
            "advice",
            "safety_net",
            "said_by",
            "spoke_to",
        ];
        let said = |part: &Part| words.iter().any(|field| part.draft.get(field).is_some());
        let readings = self.scope.parts.get(1);
        self.scope.parts.first().is_some_and(said)
            || readings.is_some_and(|part| !part.draft.fields.is_empty())
    }

    fn places(&self) -> Vec<Place> {
        let parts = self.scope.parts.iter().enumerate();
        parts
            .flat_map(|(draft, part)| {
                part.places.iter().map(move |(field, at)| Place {
                    draft,
                    field: field.clone(),
                    at: *at,
                })
            })
            .collect()
    }

    fn drafts(&mut self) -> Result<Vec<Draft>, Vec<Mistake>> {
        let kind = self.scope.parts[0].kind;
        if let (Subject::Ward, Some((_, at))) = (kind.subject(), &self.common.patient) {
            let what = format!("a {} is about the ward, not about one patient", kind.name());
            self.mistakes
                .push(Mistake::new(at.clone(), what, "leave it out"));
        }
        if !self.mistakes.is_empty() {
            let mut mistakes = std::mem::take(&mut self.mistakes);
            mistakes.sort_by_key(|mistake| mistake.at.start);
            return Err(mistakes);
        }
        let drafts = self.scope.parts.iter().map(|part| self.draft(part));
        Ok(drafts.collect())
    }

    fn draft(&self, part: &Part) -> Draft {
        let mut draft = part.draft.clone();
        draft.patient = match (&self.common.patient, part.kind.subject()) {
            (_, Subject::Ward) => None,
            (Some((name, _)), _) if name.eq_ignore_ascii_case("ward") => None,
            (Some((name, _)), _) => Some(name.clone()),
            (None, _) if part.kind == Kind::Admission => Some("new".to_owned()),
            (None, _) if alias::follows_its_entry(part.kind) => None,
            // A reply is about whom the entry it belongs with is about.
            (None, _) if self.is_reply && !self.common.related.is_empty() => None,
            (None, _) => self.cx.patient.clone(),
        };
        draft.at.clone_from(&self.common.at);
        draft.late_reason.clone_from(&self.common.late_reason);
        draft.related = (!self.common.related.is_empty()).then(|| self.common.related.join(" "));
        draft.confirm = self.common.confirm;
        draft
    }
}

/// Keeps a text that may be given once.
fn keep(place: &mut Option<String>, text: String, token: &Token) -> Step {
    if place.is_some() {
        let what = format!("\"{}\" is given twice", token.text);
        return Err(Mistake::new(token.at.clone(), what, "one reason"));
    }
    *place = Some(text);
    Ok(())
}

/// A note typed in quotes is what stands between them.
fn unquoted(text: &str) -> String {
    let inner = text
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'));
    inner
        .filter(|inner| !inner.contains('"'))
        .unwrap_or(text)
        .to_owned()
}

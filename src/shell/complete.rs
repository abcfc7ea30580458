//! Completion with descriptions: commands, verbs, fields, values, patients, entry numbers.

use reedline::{Completer, CompletionResult, Span, Suggestion};

use super::known::{Known, SharedKnown};
use crate::record::field::{FieldSpec, Shape};
use crate::record::kind::Kind;
use crate::shorthand::{
    Act, COMMANDS, HandoverAct, VERBS, Verb, entry_field, field_words, verb_named,
};
use crate::view::escape::terminal_line;

/// Most suggestions offered at once; typing on narrows them.
const OFFERED_MAX: usize = 60;

pub(super) struct WardCompleter {
    pub(super) known: SharedKnown,
}

impl Completer for WardCompleter {
    fn complete(&mut self, line: &str, pos: usize) -> CompletionResult {
        let known = self.known.get();
        let mut found = candidates(&known, line.get(..pos).unwrap_or(line));
        found.truncate(OFFERED_MAX);
        let start = word_start(line, pos);
        let suggestions: Vec<Suggestion> = found
            .into_iter()
            .map(|candidate| candidate.suggestion(start, pos))
            .collect();
        CompletionResult::fresh(suggestions)
    }
}

/// Something that could stand at the cursor.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Candidate {
    word: String,
    says: String,
}

impl Candidate {
    fn new(word: impl Into<String>, says: impl Into<String>) -> Candidate {
        Candidate {
            word: word.into(),
            says: says.into(),
        }
    }

    fn suggestion(self, start: usize, end: usize) -> Suggestion {
        Suggestion {
            value: self.word,
            description: Some(terminal_line(&self.says).into_owned()),
            span: Span::new(start, end),
            append_whitespace: true,
            display_override: None,
            style: None,
            extra: None,
            match_indices: None,
        }
    }
}

fn word_start(line: &str, pos: usize) -> usize {
    let before = line.get(..pos).unwrap_or(line);
    before.rfind(char::is_whitespace).map_or(0, |at| {
        at + before[at..].chars().next().map_or(1, char::len_utf8)
    })
}

fn candidates(known: &Known, before: &str) -> Vec<Candidate> {
    let start = word_start(before, before.len());
    let word = before[start..].to_lowercase();
    let earlier: Vec<String> = before[..start]
        .split_whitespace()
        .map(str::to_lowercase)
        .collect();
    if known.asking {
        let answers = known
            .answers
            .iter()
            .map(|(word, says)| Candidate::new(word, says));
        return matching(answers.collect(), &word);
    }
    if inside_quotes(before) {
        return Vec::new();
    }
    let all = match earlier.as_slice() {
        [] => first_words(known, &word),
        [first, rest @ ..] => match verb_named(first) {
            Some(verb)
                if first != "help" || rest.iter().chain([&word]).any(|w| w.starts_with('#')) =>
            {
                after_verb(known, verb, rest, &word)
            }
            _ => after_command(known, first, rest),
        },
    };
    matching(all, &word)
}

fn inside_quotes(before: &str) -> bool {
    before.matches('"').count() % 2 == 1
}

/// Those that begin as typed; if none does, those with a word in the description that does.
fn matching(all: Vec<Candidate>, word: &str) -> Vec<Candidate> {
    let begins: Vec<Candidate> = all
        .iter()
        .filter(|c| c.word.to_lowercase().starts_with(word))
        .cloned()
        .collect();
    if !begins.is_empty() || word.len() < 2 {
        return begins;
    }
    let bare = word.trim_start_matches(['#', '@']);
    let says = |candidate: &Candidate| {
        let says = candidate.says.to_lowercase();
        says.split(|c: char| !c.is_alphanumeric())
            .any(|part| part.starts_with(bare))
    };
    all.into_iter()
        .filter(|candidate| !bare.is_empty() && says(candidate))
        .collect()
}

fn first_words(known: &Known, word: &str) -> Vec<Candidate> {
    let verbs = VERBS
        .iter()
        .map(|verb| Candidate::new(verb.words[0], first_sentence(verb.help)));
    let commands = COMMANDS.iter().map(|c| Candidate::new(c.words[0], c.help));
    let mut all: Vec<Candidate> = verbs.chain(commands).collect();
    if !word.is_empty() {
        all.extend(patients(known, ""));
    }
    all
}

fn first_sentence(text: &str) -> &str {
    text.split_inclusive(". ").next().map_or(text, str::trim)
}

fn patients(known: &Known, mark: &str) -> Vec<Candidate> {
    let named = known.patients.iter().map(|patient| {
        let says = format!("{}, {}", patient.name, patient.detail);
        Candidate::new(format!("{mark}{}", patient.word()), says)
    });
    named.collect()
}

fn after_command(known: &Known, command: &str, earlier: &[String]) -> Vec<Candidate> {
    let found = COMMANDS.iter().find(|c| c.words.contains(&command));
    let Some(command) = found else {
        return Vec::new();
    };
    match command.act {
        Act::Select | Act::Timeline | Act::Baseline | Act::Workings | Act::Tasks => {
            let mut all = patients(known, "");
            all.push(Candidate::new("as-of", "as it stood then: as-of 02:10"));
            if command.act == Act::Workings {
                all.push(Candidate::new("over", "fluid balance of so long: over 12h"));
            }
            all
        }
        Act::Handover if earlier.is_empty() => HandoverAct::words()
            .map(|word| Candidate::new(word, ""))
            .collect(),
        Act::Handover => patients(known, "@"),
        Act::Switch | Act::Access => staff(known),
        Act::Show | Act::Correct | Act::Withdraw if earlier.is_empty() => every_open(known),
        Act::Help => {
            let jobs = super::help::JOBS
                .iter()
                .map(|job| Candidate::new(job.words[0], job.says));
            jobs.chain(first_words(known, "")).collect()
        }
        Act::AsOf => {
            let views = [
                Act::Timeline,
                Act::Tasks,
                Act::Alerts,
                Act::Caseload,
                Act::Report,
                Act::Handover,
            ];
            let shown = COMMANDS.iter().filter(|c| views.contains(&c.act));
            shown.map(|c| Candidate::new(c.words[0], c.help)).collect()
        }
        _ => Vec::new(),
    }
}

fn every_open(known: &Known) -> Vec<Candidate> {
    known
        .open
        .iter()
        .map(|open| Candidate::new(open.seq.to_string(), &open.label))
        .collect()
}

fn staff(known: &Known) -> Vec<Candidate> {
    known
        .staff
        .iter()
        .map(|(handle, name)| Candidate::new(handle, name))
        .collect()
}

fn after_verb(known: &Known, verb: &Verb, earlier: &[String], word: &str) -> Vec<Candidate> {
    if word.starts_with('@') {
        return patients(known, "@");
    }
    let kinds: Vec<Kind> = std::iter::once(verb.kind)
        .chain(verb.also.map(|(kind, _)| kind))
        .collect();
    let specs: Vec<FieldSpec> = kinds.iter().flat_map(|kind| kind.specs()).collect();
    if let Some(spec) = earlier.last().and_then(|last| named(&specs, last)) {
        let values = values(known, spec);
        if !values.is_empty() {
            return values;
        }
    }
    let entry = entry_field(verb.kind);
    let cited = earlier.iter().any(|word| word.starts_with('#'));
    let mut all = match entry {
        Some(field) if !cited && (word.starts_with('#') || verb.also.is_none()) => {
            numbers(known, field)
        }
        _ => Vec::new(),
    };
    if !word.starts_with('#') {
        all.extend(fields(&specs, verb, earlier));
        all.extend(bare_values(&specs, word));
    }
    all
}

fn named<'a>(specs: &'a [FieldSpec], word: &str) -> Option<&'a FieldSpec> {
    specs.iter().find(|spec| spec.name == word).or_else(|| {
        specs
            .iter()
            .find(|spec| field_words(spec.name).contains(&word))
    })
}

fn numbers(known: &Known, field: &str) -> Vec<Candidate> {
    let open = known.open_for(field);
    open.into_iter()
        .map(|open| Candidate::new(open.seq.to_string(), &open.label))
        .collect()
}

/// Values of the field just named.
fn values(known: &Known, spec: &FieldSpec) -> Vec<Candidate> {
    let some = |pairs: &[(&str, &str)]| {
        pairs
            .iter()
            .map(|(word, says)| Candidate::new(*word, *says))
            .collect()
    };
    match spec.shape {
        Shape::Choice(choices) => choices
            .iter()
            .map(|c| Candidate::new(c.code, c.label))
            .collect(),
        Shape::YesNo => some(&[("yes", spec.help), ("no", "it is not so")]),
        Shape::Person => staff(known),
        Shape::Entry => numbers(known, spec.name),
        Shape::Future => some(&[
            ("+1h", "in one hour"),
            ("+4h", "in four hours"),
            ("tomorrow", "then a time: tomorrow 09:00"),
        ]),
        Shape::Past => some(&[
            ("-20m", "twenty minutes ago"),
            ("yesterday", "then a time: yesterday 22:15"),
        ]),
        _ if spec.name == "oxygen" => some(&[
            ("air", "room air"),
            ("cannula", "then L/min: cannula 2"),
            ("venturi", "then per cent: venturi 28%"),
            ("mask", "then L/min"),
            ("reservoir", "then L/min"),
        ]),
        _ => Vec::new(),
    }
}

fn fields(specs: &[FieldSpec], verb: &Verb, earlier: &[String]) -> Vec<Candidate> {
    let fixed = |name: &str| verb.fixed.iter().any(|(field, _)| *field == name);
    let free = specs
        .iter()
        .filter(|spec| !fixed(spec.name) && !earlier.iter().any(|word| word == spec.name));
    let mut all: Vec<Candidate> = free
        .map(|spec| {
            let also = field_words(spec.name);
            let also = if also.is_empty() {
                String::new()
            } else {
                format!(" (also {})", also.join(", "))
            };
            Candidate::new(spec.name, format!("{}{also}", spec.help))
        })
        .collect();
    all.push(Candidate::new("at", "when it happened: at 12:30"));
    all
}

/// Values that can stand without their field, once a letter of them is typed.
fn bare_values(specs: &[FieldSpec], word: &str) -> Vec<Candidate> {
    if word.is_empty() {
        return Vec::new();
    }
    let lists = specs.iter().filter_map(|spec| match spec.shape {
        Shape::Choice(choices) => Some((spec.name, choices)),
        _ => None,
    });
    lists
        .flat_map(|(name, choices)| {
            choices
                .iter()
                .map(move |c| Candidate::new(c.code, format!("{name}: {}", c.label)))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::known::{KnownPatient, OpenEntry};
    use super::*;
    use crate::record::ids::Seq;

    fn known() -> Known {
        let patient = |key: &str, slot: &str, name: &str| KnownPatient {
            key: key.into(),
            slot: Some(slot.into()),
            name: name.into(),
            detail: "born 02-Jul-1944".into(),
        };
        let open = |seq, field, label: &str, patient: &str| OpenEntry {
            seq: Seq(seq),
            field,
            label: label.into(),
            patient: Some(patient.into()),
        };
        Known {
            patients: vec![
                patient("a", "T07", "PELL, Rose"),
                patient("b", "T09", "OSEI, Kofi"),
            ],
            open: vec![
                open(12, "alert", "help button, OSEI, Kofi", "b"),
                open(14, "alert", "readings missing, PELL, Rose", "a"),
                open(45, "task", "repeat BP, PELL, Rose", "a"),
            ],
            staff: vec![("maya".into(), "Maya Lind".into())],
            ..Known::default()
        }
    }

    fn words(line: &str) -> Vec<String> {
        candidates(&known(), line)
            .into_iter()
            .map(|candidate| candidate.word)
            .collect()
    }

    #[test]
    fn each_place_in_a_line_offers_what_can_stand_there() {
        assert!(words("tim").contains(&"timeline".to_owned()));
        assert_eq!(words("sel pe"), ["T07"], "found by name");
        assert_eq!(words("sel T0"), ["T07", "T09"]);
        assert_eq!(words("done #"), ["#45"]);
        assert_eq!(words("take #"), ["#12", "#14"]);
        assert_eq!(words("close #12 outcome mis"), ["mistake"]);
        assert_eq!(words("close #12 mist"), ["mistake"]);
        assert_eq!(words("hand #12 to "), ["maya"]);
        assert_eq!(words("obs oxygen ca"), ["cannula"]);
        assert_eq!(words("obs @os"), ["@T09"], "found by name after the mark");
        assert!(words("v rr18 ne").contains(&"next".to_owned()));
        assert!(
            words("v \"well, ").is_empty(),
            "free text is never completed"
        );
    }

    #[test]
    fn the_selected_patients_entries_come_first() {
        let mut known = known();
        known.selected = known.patients.first().cloned();
        let found = candidates(&known, "take #");
        assert_eq!(found[0].word, "#14");
    }

    #[test]
    fn every_suggestion_says_what_it_is() {
        for line in ["", "ob", "obs ", "obs temp_site ", "close #12 outcome "] {
            for candidate in candidates(&known(), line) {
                assert!(!candidate.says.is_empty(), "{line}: {}", candidate.word);
            }
        }
    }
}

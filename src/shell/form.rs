//! A guided form: asks only for what is missing, one field at a time, and can go back.
//! It knows fields only by their descriptions; it does no input or output.

use crate::record::draft::Draft;
use crate::record::field::{FieldSpec, ReadContext, Shape};
use crate::record::kind::Kind;
use crate::record::problem::Refusal;
use crate::shorthand::{Entries, problem_with};

/// The entries of one line, being completed.
#[derive(Debug, Clone)]
pub(super) struct Form {
    /// The entries so far, with the answers given.
    pub(super) entries: Entries,
    /// The line they came from.
    pub(super) line: String,
    draft: usize,
    kind: Kind,
    questions: Vec<FieldSpec>,
    at: usize,
}

/// What an answer led to.
#[derive(Debug)]
pub(super) enum Answered {
    /// The next question, or the same again; with something to say first.
    Asking(Form, Option<String>),
    /// Nothing more to ask.
    Complete(Form),
    /// The writer stopped; what was answered is kept.
    Cancelled(Form),
}

impl Form {
    /// A form for the draft at `draft`, of which `refusals` were found. Nothing if no
    /// question would help: then what was typed must be changed, not added to.
    pub(super) fn open(
        entries: &Entries,
        line: &str,
        draft: usize,
        refusals: &[Refusal],
    ) -> Option<Form> {
        let kind = Kind::from_name(&entries.drafts.get(draft)?.kind)?;
        let nothing_typed = !entries.places.iter().any(|place| place.draft == draft);
        let form = Form {
            entries: entries.clone(),
            line: line.to_owned(),
            draft,
            kind,
            questions: Vec::new(),
            at: 0,
        };
        form.with_questions(refusals, nothing_typed)
    }

    /// The same form asking again about what was refused.
    pub(super) fn reopened(self, refusals: &[Refusal]) -> Option<Form> {
        let answered: Vec<FieldSpec> = std::mem::take(&mut self.clone().questions);
        let asked = |refusal: &Refusal| {
            let name = refusal.field.as_deref().unwrap_or_default();
            answered.iter().any(|spec| spec.name == name) || self.current().get(name).is_none()
        };
        if refusals.iter().all(asked) {
            self.with_questions(refusals, false)
        } else {
            None
        }
    }

    fn with_questions(mut self, refusals: &[Refusal], all: bool) -> Option<Form> {
        let refused = |spec: &FieldSpec| {
            refusals
                .iter()
                .any(|refusal| refusal.field.as_deref() == Some(spec.name))
        };
        let draft = self.current().clone();
        let wanted = |spec: &FieldSpec| {
            let open = draft.get(spec.name).is_none();
            refused(spec) || open && (all || spec.required)
        };
        self.questions = self.kind.specs().into_iter().filter(wanted).collect();
        self.at = 0;
        let known = |refusal: &Refusal| {
            let name = refusal.field.as_deref();
            name.is_some_and(|name| self.questions.iter().any(|spec| spec.name == name))
        };
        let helps = refusals.iter().all(known) && !self.questions.is_empty();
        helps.then_some(self)
    }

    fn current(&self) -> &Draft {
        &self.entries.drafts[self.draft]
    }

    fn spec(&self) -> &FieldSpec {
        &self.questions[self.at]
    }

    /// What stands before the place for the answer.
    pub(super) fn mark(&self) -> String {
        format!(
            "{} {}/{}",
            self.spec().name,
            self.at + 1,
            self.questions.len()
        )
    }

    /// The answer may run over several lines.
    pub(super) fn takes_lines(&self) -> bool {
        self.kind == Kind::Note && self.spec().name == "text"
    }

    /// The values to choose from, for completion.
    pub(super) fn choices(&self) -> Vec<(String, String)> {
        match self.spec().shape {
            Shape::Choice(choices) => choices
                .iter()
                .map(|c| (c.code.to_owned(), c.label.to_owned()))
                .collect(),
            Shape::YesNo => vec![("yes".into(), String::new()), ("no".into(), String::new())],
            _ => Vec::new(),
        }
    }

    /// How the form works and its first question.
    pub(super) fn opening(&self) -> String {
        let ways = "Enter skips what is optional or keeps what stands; back, cancel, ? for help, . to finish.";
        format!(
            "{}: {}\n{ways}\n{}",
            self.kind.title(),
            self.kind.help(),
            self.question()
        )
    }

    /// The question: what the field holds, whether it must be given, what may be chosen.
    pub(super) fn question(&self) -> String {
        let spec = self.spec();
        let need = if spec.required { "needed" } else { "optional" };
        let held = self
            .current()
            .get(spec.name)
            .map(|held| format!(" [{held}]"));
        let mut text = format!("{} ({need}){}", spec.help, held.unwrap_or_default());
        match spec.shape {
            Shape::Choice(choices) => {
                for (index, choice) in choices.iter().enumerate() {
                    text.push_str(&format!(
                        "\n  {:>2} {:<16} {}",
                        index + 1,
                        choice.code,
                        choice.label
                    ));
                }
            }
            _ if self.takes_lines() => text.push_str("\n  An empty line ends the note."),
            Shape::Note | Shape::Line => {}
            _ => text.push_str(&format!("\n  {}", spec.hint)),
        }
        text
    }

    /// Takes an answer.
    pub(super) fn answer(mut self, text: &str, cx: &ReadContext) -> Answered {
        let text = text.trim();
        match text.to_lowercase().as_str() {
            "cancel" => return Answered::Cancelled(self),
            "back" | "<" => return self.back(),
            "?" | "help" => {
                let hint = format!("{}\n  {}", self.question(), self.spec().hint);
                return Answered::Asking(self, Some(hint));
            }
            "." => return self.finish_early(),
            "" => return self.skip(),
            "-" if !self.spec().required => {
                self.clear();
                return self.go_on();
            }
            _ => {}
        }
        let value = self.chosen(text).unwrap_or_else(|| text.to_owned());
        if let Some(problem) = problem_with(self.kind, self.spec().name, &value, cx) {
            let said = format!("{}. Accepted: {}.", problem.what, problem.accepted);
            return Answered::Asking(self, Some(said));
        }
        self.clear();
        let name = self.spec().name;
        self.entries.drafts[self.draft].set(name, value);
        self.go_on()
    }

    /// The choice with a number, where no choice is itself written as that number.
    fn chosen(&self, text: &str) -> Option<String> {
        let Shape::Choice(choices) = self.spec().shape else {
            return None;
        };
        let number: usize = text.parse().ok()?;
        if choices.iter().any(|choice| choice.code == text) {
            return None;
        }
        let choice = choices.get(number.checked_sub(1)?)?;
        Some(choice.code.to_owned())
    }

    fn clear(&mut self) {
        let name = self.spec().name;
        self.entries.drafts[self.draft]
            .fields
            .retain(|(field, _)| field != name);
    }

    fn back(mut self) -> Answered {
        if self.at == 0 {
            let said = "This is the first question; cancel stops.".to_owned();
            return Answered::Asking(self, Some(said));
        }
        self.at -= 1;
        let question = self.question();
        Answered::Asking(self, Some(question))
    }

    fn skip(self) -> Answered {
        let spec = self.spec();
        if spec.required && self.current().get(spec.name).is_none() {
            let said = format!("{} is needed. Accepted: {}.", spec.name, spec.hint);
            return Answered::Asking(self, Some(said));
        }
        self.go_on()
    }

    fn go_on(mut self) -> Answered {
        self.at += 1;
        if self.at >= self.questions.len() {
            self.at = self.questions.len() - 1;
            return Answered::Complete(self);
        }
        let question = self.question();
        Answered::Asking(self, Some(question))
    }

    /// Skips what is optional; goes to what is still needed.
    fn finish_early(mut self) -> Answered {
        let draft = self.current().clone();
        let needed = |spec: &FieldSpec| spec.required && draft.get(spec.name).is_none();
        match self.questions.iter().position(needed) {
            None => Answered::Complete(self),
            Some(at) => {
                self.at = at;
                let said = format!("Still needed: {}", self.question());
                Answered::Asking(self, Some(said))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::time::{Timestamp, WardZone};
    use crate::shorthand::{Parsed, ShorthandContext, parse};

    const CX: ReadContext = ReadContext {
        now: Timestamp(1_784_208_000_000_000),
        zone: WardZone::LONDON,
    };

    fn form(line: &str) -> Form {
        let cx = ShorthandContext {
            now: CX.now,
            zone: CX.zone,
            patient: Some("T07".into()),
        };
        let Ok(Parsed::Entries(entries)) = parse(line, &cx) else {
            panic!("{line}")
        };
        let refusals = entries.drafts[0]
            .read(&CX)
            .expect_err("something is missing");
        Form::open(&entries, line, 0, &refusals).expect("a form helps")
    }

    fn asked(answered: Answered) -> (Form, String) {
        match answered {
            Answered::Asking(form, said) => (form, said.unwrap_or_default()),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn asks_only_for_what_is_missing() {
        let form = form("close #12 \"asleep on it\"");
        assert_eq!(form.mark(), "outcome 1/1");
        assert!(
            form.question().contains(" 2 mistake"),
            "{}",
            form.question()
        );
        let Answered::Complete(form) = form.answer("2", &CX) else {
            panic!("complete")
        };
        assert_eq!(form.entries.drafts[0].get("outcome"), Some("mistake"));
    }

    #[test]
    fn a_word_alone_asks_for_everything_and_goes_back() {
        let form = form("alert");
        let (form, said) = asked(form.answer("", &CX));
        assert!(said.contains("is needed"), "{said}");
        let (form, _) = asked(form.answer("kit", &CX));
        let (form, said) = asked(form.answer("flat battery", &CX));
        assert!(said.contains("How soon"), "{said}");
        let (form, said) = asked(form.answer("now", &CX));
        assert!(said.contains("is not one of the values"), "{said}");
        let (form, said) = asked(form.answer("back", &CX));
        assert!(said.contains("[flat battery]"), "{said}");
        let (form, _) = asked(form.answer("", &CX));
        let (form, _) = asked(form.answer("soon", &CX));
        let Answered::Complete(form) = form.answer(".", &CX) else {
            panic!("complete")
        };
        assert!(
            form.entries.drafts[0]
                .clone()
                .with("patient", "T07")
                .read(&CX)
                .is_ok()
        );
    }

    #[test]
    fn a_wrong_value_is_edited_not_asked_about() {
        let cx = ShorthandContext {
            now: CX.now,
            zone: CX.zone,
            patient: Some("T07".into()),
        };
        let Ok(Parsed::Entries(entries)) = parse("obs bp 80/120", &cx) else {
            panic!("entries")
        };
        let refusals = entries.drafts[0]
            .read(&CX)
            .expect_err("diastolic above systolic");
        let form = Form::open(&entries, "", 0, &refusals);
        assert!(form.is_none_or(|form| form.mark().starts_with("dbp")));
    }
}

//! A guided form: asks only for what is missing, one field at a time, and can go back.
//! It knows fields only by their descriptions; it does no input or output.

use crate::record::draft::Draft;
use crate::record::field::{FieldSpec, ReadContext, Shape};
use crate::record::kind::Kind;
use crate::record::problem::{Refusal, Unusual};
use crate::shorthand::{Entries, ShorthandContext, problem_with, reads_as_line};

/// The entries of one line, being completed.
#[derive(Debug, Clone)]
pub(super) struct Form {
    /// The entries so far, with the answers given.
    pub(super) entries: Entries,
    /// The line they came from.
    pub(super) line: String,
    /// Typed for the question being asked and not taken: it comes back for editing.
    pub(super) typing: Option<String>,
    /// Everything was asked; only the journal has not taken it.
    pub(super) done: bool,
    draft: usize,
    kind: Kind,
    questions: Vec<FieldSpec>,
    /// Every question that was ever asked: going back from a few reaches all.
    all: Vec<FieldSpec>,
    at: usize,
    /// What the answers so far say about fields that may otherwise be left out.
    findings: Vec<Finding>,
    /// A text that is also a command, asked about once.
    doubted: Option<String>,
    /// The writer said that there is nothing to say of how the patient is.
    waived: bool,
    /// It came back from being asked whether it is right.
    returned: bool,
    /// Fields left empty by the writer, who knew that this is unusual.
    left_out: Vec<String>,
    /// The answers as they were last read back.
    read_back: Option<Answers>,
    /// The answers as read back are right.
    agreed: bool,
}

/// Names and values of a form's entries.
type Answers = Vec<Vec<(String, String)>>;

/// Why a field that may otherwise be left out is asked for.
#[derive(Debug, Clone)]
struct Finding {
    field: String,
    why: String,
    /// The entry is refused without it; otherwise it only has to be confirmed.
    needed: bool,
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
            typing: None,
            done: false,
            questions: Vec::new(),
            all: Vec::new(),
            at: 0,
            findings: Vec::new(),
            doubted: None,
            waived: false,
            returned: false,
            left_out: Vec::new(),
            read_back: None,
            agreed: false,
        };
        form.with_questions(refusals, nothing_typed)
    }

    /// The same form, with every value kept, asking again about these fields. Nothing if none
    /// of them is a field of its entries.
    pub(super) fn asking_about(mut self, draft: usize, refusals: &[Refusal]) -> Option<Form> {
        self.done = false;
        self.draft = draft;
        self.kind = Kind::from_name(&self.entries.drafts.get(draft)?.kind)?;
        let named: Vec<&str> = refusals
            .iter()
            .filter_map(|refusal| refusal.field.as_deref())
            .flat_map(parts)
            .collect();
        let specs = self.kind.specs();
        let asked = |spec: &&FieldSpec| named.contains(&spec.name);
        let questions: Vec<FieldSpec> = specs.iter().filter(asked).cloned().collect();
        if questions.is_empty() {
            return None;
        }
        self.questions = questions;
        self.at = 0;
        self.find(refusals);
        Some(self)
    }

    /// What was found does not make the entry impossible.
    pub(super) fn only_to_be_confirmed(&mut self) {
        self.returned = true;
        for finding in &mut self.findings {
            finding.needed = false;
        }
    }

    /// What is unusual is only what the writer left out, knowing that.
    pub(super) fn accepts(&self, unusual: &[Unusual]) -> bool {
        let left_out = |one: &Unusual| self.left_out.contains(&one.field);
        unusual.iter().all(left_out)
    }

    /// An escalation is heard by somebody else: what was put together over many questions is
    /// shown whole before it is recorded.
    pub(super) fn is_to_be_read_back(&self) -> bool {
        let seen = self.read_back.as_ref() == Some(&self.answers());
        self.kind == Kind::Escalation && !(seen && (self.agreed || !self.left_out.is_empty()))
    }

    /// Every answer, a line each; they count as read back from now on.
    pub(super) fn reads_back(&mut self) -> String {
        self.read_back = Some(self.answers());
        self.agreed = false;
        let answers = self.answers().into_iter().flatten();
        let lines =
            answers.map(|(name, value)| format!("  {name}: {}", value.replace('\n', "\n    | ")));
        lines.collect::<Vec<_>>().join("\n")
    }

    /// What was read back is right.
    pub(super) fn agree(&mut self) {
        self.agreed = true;
        self.done = true;
    }

    fn answers(&self) -> Answers {
        let drafts = self.entries.drafts.iter();
        drafts.map(|draft| draft.fields.clone()).collect()
    }

    /// The same form asking everything again, each value standing: `.` takes them as they are.
    pub(super) fn asking_everything(mut self) -> Form {
        self.done = false;
        self.questions.clone_from(&self.all);
        self.at = 0;
        self
    }

    fn with_questions(mut self, refusals: &[Refusal], all: bool) -> Option<Form> {
        let refused = |spec: &FieldSpec| {
            refusals
                .iter()
                .any(|refusal| refusal.field.as_deref() == Some(spec.name))
        };
        let draft = self.current().clone();
        // Who was reached is half of a call; how they are is the other half.
        let call = self.kind == Kind::Contact && draft.get("outcome").is_none();
        let wanted = |spec: &FieldSpec| {
            let open = draft.get(spec.name).is_none();
            refused(spec) || open && (all || spec.required || call && spec.name == "how")
        };
        self.questions = self.kind.specs().into_iter().filter(wanted).collect();
        self.all.clone_from(&self.questions);
        self.at = 0;
        self.find(refusals);
        let known = |refusal: &Refusal| {
            let name = refusal.field.as_deref();
            name.is_some_and(|name| self.questions.iter().any(|spec| spec.name == name))
        };
        let helps = refusals.iter().all(known) && !self.questions.is_empty();
        helps.then_some(self)
    }

    /// Takes down which optional fields these refusals ask for. Of an entry that says nothing
    /// yet, a refusal asks for anything at all, not for that field.
    fn find(&mut self, refusals: &[Refusal]) {
        let found = refusals.iter().filter_map(|refusal| {
            Some(Finding {
                field: refusal.field.clone()?,
                why: refusal.what.clone(),
                needed: true,
            })
        });
        self.findings = found.collect();
        self.findings_that_hold();
    }

    fn findings_that_hold(&mut self) {
        let specs = self.kind.specs();
        let draft = self.current().clone();
        self.findings.retain(|finding| {
            let spec = specs.iter().find(|spec| spec.name == finding.field);
            spec.is_some_and(|spec| !spec.required)
                && draft.get(&finding.field).is_none()
                && !draft.fields.is_empty()
        });
    }

    /// What the answers so far make necessary, asked for as soon as it is.
    fn look_again(&mut self, cx: &ReadContext) {
        let mut found: Vec<Finding> = match self.current().read(cx) {
            Err(refusals) => refusals
                .into_iter()
                .filter_map(|refusal| {
                    let (field, why) = (refusal.field?, refusal.what);
                    Some(Finding {
                        field,
                        why,
                        needed: true,
                    })
                })
                .collect(),
            Ok(read) => read
                .unusual
                .into_iter()
                .map(|one| Finding {
                    field: one.field,
                    why: one.what,
                    needed: false,
                })
                .collect(),
        };
        found.extend(self.silent_call());
        self.findings = found;
        self.findings_that_hold();
        let specs = self.kind.specs();
        let place = |name: &str| specs.iter().position(|spec| spec.name == name);
        for finding in self.findings.iter().filter(|finding| finding.needed) {
            let asked = self.questions.iter().any(|spec| spec.name == finding.field);
            let Some(spec) = specs.iter().find(|spec| spec.name == finding.field) else {
                continue;
            };
            if !asked {
                let after = self.questions[self.at + 1..]
                    .iter()
                    .position(|later| place(later.name) > place(spec.name));
                let at = after.map_or(self.questions.len(), |after| self.at + 1 + after);
                self.questions.insert(at, spec.clone());
            }
        }
    }

    /// A call in which somebody was reached, and not a word of how the patient is.
    fn silent_call(&self) -> Option<Finding> {
        let draft = self.current();
        let reached = self.kind == Kind::Contact && draft.get("outcome") == Some("reached");
        let says = ["how", "worry", "spoke_to", "advice"];
        let silent = says.iter().all(|field| draft.get(field).is_none());
        let alone = self.entries.drafts.len() == 1;
        (reached && silent && alone && !self.waived).then(|| Finding {
            field: "how".to_owned(),
            why: "somebody was reached, and nothing says how the patient is; - if nothing can be said".to_owned(),
            needed: true,
        })
    }

    fn finding(&self, name: &str) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.field == name)
    }

    /// Refused without it, by its nature or by what was answered.
    fn is_needed(&self, spec: &FieldSpec) -> bool {
        spec.required
            || self
                .finding(spec.name)
                .is_some_and(|finding| finding.needed)
    }

    fn current(&self) -> &Draft {
        &self.entries.drafts[self.draft]
    }

    fn spec(&self) -> &FieldSpec {
        &self.questions[self.at]
    }

    /// What is being filled in.
    pub(super) fn title(&self) -> &'static str {
        self.kind.title()
    }

    /// The question being asked, in a few words.
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

    /// Whose form it is, how it works and its first question.
    pub(super) fn opening(&self, whose: &str) -> String {
        let ways = "Enter skips what is optional or keeps what stands; back, cancel, ? for help, . to finish, :tasks to look at something.";
        format!(
            "{} for {whose}: {}\n{ways}\n{}",
            self.kind.title(),
            self.kind.help(),
            self.question()
        )
    }

    /// The question: what the field holds, whether it must be given, what may be chosen.
    pub(super) fn question(&self) -> String {
        let spec = self.spec();
        let need = match self.finding(spec.name) {
            _ if spec.required => "needed".to_owned(),
            Some(finding) if finding.needed => format!("needed: {}", finding.why),
            Some(finding) if self.returned => {
                format!(
                    "optional, but to be confirmed; Enter leaves it out and goes on: {}",
                    finding.why
                )
            }
            Some(finding) => format!("optional, but to be confirmed: {}", finding.why),
            None => "optional".to_owned(),
        };
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
        self.done = false;
        self.typing = None;
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
                self.waived |= self.spec().name == "how";
                self.look_again(cx);
                return self.go_on();
            }
            _ => {}
        }
        if let Some(said) = self.doubt(text, cx) {
            return Answered::Asking(self, Some(said));
        }
        let value = self.chosen(text).unwrap_or_else(|| text.to_owned());
        if let Some(problem) = problem_with(self.kind, self.spec().name, &value, cx) {
            let mut said = format!(
                "{}: {}. Accepted: {}.",
                self.spec().name,
                problem.what,
                problem.accepted
            );
            if is_a_line(text, cx) {
                said.push_str(&format!(
                    "\nIf you meant the command: :{text} looks and comes back here; cancel keeps the form for later."
                ));
            }
            self.typing = Some(text.to_owned());
            return Answered::Asking(self, Some(said));
        }
        self.clear();
        let name = self.spec().name;
        self.entries.drafts[self.draft].set(name, value);
        self.look_again(cx);
        self.go_on()
    }

    /// A text that would be a command if it stood alone is asked about once, and taken as
    /// text when it is typed again: people ring for help in the middle of a form.
    fn doubt(&mut self, text: &str, cx: &ReadContext) -> Option<String> {
        let known = self.is_doubted(text);
        if !self.takes_words() || known || !is_a_line(text, cx) {
            return None;
        }
        let name = self.doubting(text);
        Some(format!(
            "\"{text}\" is also a command; nothing was taken yet.\nEnter again takes it as the text of {name}; :{text} looks and comes back here; cancel keeps the form for later."
        ))
    }

    /// The same of a text that is a patient's slot: it is typed to open that patient.
    pub(super) fn doubt_slot(&mut self, text: &str) -> Option<String> {
        if !self.takes_words() || self.is_doubted(text) {
            return None;
        }
        let name = self.doubting(text);
        Some(format!(
            "\"{text}\" is also a patient's slot; nothing was taken yet.\nEnter again takes it as the text of {name}; cancel keeps the form for later, and then {text} opens that patient."
        ))
    }

    fn takes_words(&self) -> bool {
        matches!(
            self.spec().shape,
            Shape::Line | Shape::Note | Shape::Secret | Shape::Structured | Shape::Person
        )
    }

    /// Whether a text was asked about just now; only once.
    fn is_doubted(&mut self, text: &str) -> bool {
        self.doubted.take().is_some_and(|before| before == text)
    }

    /// Whether a line is the text that was asked about with just this word behind it.
    pub(super) fn is_doubted_and_then(&self, line: &str, word: &str) -> bool {
        let before = self.doubted.as_deref();
        let rest = before.and_then(|before| line.trim_end().strip_prefix(before));
        rest.is_some_and(|rest| rest.trim().eq_ignore_ascii_case(word))
    }

    /// Takes a text down as asked about; the name of the question it was typed for.
    fn doubting(&mut self, text: &str) -> &'static str {
        self.doubted = Some(text.to_owned());
        self.typing = Some(text.to_owned());
        self.spec().name
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
        self.left_out.retain(|field| field != name);
        self.entries.drafts[self.draft]
            .fields
            .retain(|(field, _)| field != name);
    }

    fn back(mut self) -> Answered {
        if self.at == 0 && self.questions.len() < self.all.len() {
            let name = self.spec().name;
            let before = self.all.iter().position(|spec| spec.name == name);
            self.questions.clone_from(&self.all);
            self.at = before.unwrap_or(self.questions.len());
        }
        if self.at == 0 {
            let said = "This is the first question; cancel stops.".to_owned();
            return Answered::Asking(self, Some(said));
        }
        self.at -= 1;
        let question = self.question();
        Answered::Asking(self, Some(question))
    }

    fn skip(mut self) -> Answered {
        let name = self.spec().name;
        let known = self.finding(name).is_some_and(|finding| !finding.needed);
        if self.returned && known && self.current().get(name).is_none() {
            self.left_out.push(name.to_owned());
        }
        let spec = self.spec();
        if self.is_needed(spec) && self.current().get(spec.name).is_none() {
            let why = self.finding(spec.name).filter(|_| !spec.required);
            let why = why.map_or(String::new(), |finding| format!(": {}", finding.why));
            let said = format!("{} is needed{why}. Accepted: {}.", spec.name, spec.hint);
            return Answered::Asking(self, Some(said));
        }
        self.go_on()
    }

    fn go_on(mut self) -> Answered {
        self.at += 1;
        if self.at >= self.questions.len() {
            self.at = self.questions.len() - 1;
            self.done = true;
            return Answered::Complete(self);
        }
        let question = self.question();
        Answered::Asking(self, Some(question))
    }

    /// Skips what is optional; goes to what is still needed.
    fn finish_early(mut self) -> Answered {
        let draft = self.current().clone();
        let needed = |spec: &FieldSpec| self.is_needed(spec) && draft.get(spec.name).is_none();
        match self.questions.iter().position(needed) {
            None => {
                self.done = true;
                Answered::Complete(self)
            }
            Some(at) => {
                self.at = at;
                let said = format!("Still needed: {}", self.question());
                Answered::Asking(self, Some(said))
            }
        }
    }
}

/// The fields a refusal is about: a pressure is refused as a pair.
fn parts(field: &str) -> Vec<&str> {
    match field {
        "bp" => vec!["sbp", "dbp"],
        field => vec![field],
    }
}

fn is_a_line(text: &str, cx: &ReadContext) -> bool {
    let cx = ShorthandContext {
        now: cx.now,
        zone: cx.zone,
        patient: None,
    };
    reads_as_line(text, &cx)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::time::{Timestamp, WardZone};
    use crate::shorthand::{Parsed, parse};

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
        assert!(form.is_none(), "the pair is changed where it was typed");
    }
}

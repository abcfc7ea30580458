//! Help: by what somebody is doing, by command, and by kind of entry. All of it comes from
//! the same tables that read the line.

use crate::record::field::{FieldSpec, Shape};
use crate::record::kind::Kind;
use crate::shorthand::{COMMANDS, VERBS, Verb, VerbGroup, field_words, verb_named};

/// Something people come to do.
pub(super) struct Job {
    /// Words that find it.
    pub(super) words: &'static [&'static str],
    /// As they would say it.
    pub(super) says: &'static str,
    /// Lines to type, each with what it does.
    steps: &'static [(&'static str, &'static str)],
}

/// Jobs, in the order in which a shift meets them.
#[rustfmt::skip]
pub(super) const JOBS: &[Job] = &[
    Job { words: &["start", "starting", "on", "coming", "shift", "takeover"], says: "I am starting my shift", steps: &[
        ("handover", "read the sheet"),
        ("handover query @pell \"who visits?\"", "ask about one patient"),
        ("handover accept", "take over the rest"),
        ("allocate @pell to maya", "who looks after whom; their work is then that person's"),
        ("tasks mine", "yours, your patients' and what is left to your role"),
    ]},
    Job { words: &["call", "calling", "video", "phone", "ring"], says: "I am calling a patient", steps: &[
        ("sel pell", "choose the patient (or the slot alone: T07)"),
        ("v rr18 s96 air 148/92 p88 t37.1 al n+4h \"well, eating\"", "a video call, its readings, how they are, the next contact in 4 hours"),
        ("p na then try-again n+15m attempt 1", "nobody answered"),
        ("task \"repeat BP\" due 15:30 for nurse", "something to do later"),
    ]},
    Job { words: &["button", "answered", "alarm", "alert"], says: "I answered a help call", steps: &[
        ("alerts", "what is open"),
        ("take #12", "you have it; others see that"),
        ("help #12 \"pressed by mistake, well\"", "what you found"),
        ("close #12 mistake", "it is over"),
    ]},
    Job { words: &["worse", "sick", "escalate", "sbar", "deteriorating", "doctor"], says: "A patient is getting worse", steps: &[
        ("obs rr 24 sats 91 nc 2 bp 98/60 hr 118 temp 38.9 confused", "the readings"),
        ("baseline", "what is usual for them, and the ceiling of care"),
        ("esc", "ask for help: situation, background, assessment, recommendation"),
        ("answered #30 by \"Dr Amin, registrar\" plan \"bloods now\" read_back yes", "who answered and the plan"),
    ]},
    Job { words: &["worry", "worried", "concern"], says: "I am worried, without a number", steps: &[
        ("worried urgent \"quieter than this morning\"", "raises an alert by itself"),
    ]},
    Job { words: &["wounds", "dressings", "wound", "dressing"], says: "I changed a dressing", steps: &[
        ("dress 1 applied foam next +2d \"clean, no odour\"", "without a full assessment"),
        ("wound 1 site heel side left kind pressure length 3.2 width 2.1 method longest-axis", "with one"),
    ]},
    Job { words: &["bloods", "results", "blood", "sample", "result"], says: "I took or got bloods", steps: &[
        ("sample bloods tests \"CRP, U&E\" result_by 16:00", "taken"),
        ("result #50 crp 148 (0-5)", "reported"),
        ("review #51 acted \"rang the registrar\"", "looked at"),
    ]},
    Job { words: &["wrong", "mistake", "oops", "correct", "error"], says: "I entered something wrong", steps: &[
        ("undo", "takes back your last line"),
        ("correct #40 rr 19 cause typing", "puts one value right"),
        ("withdraw #40 wrong-patient anew #44", "it was about somebody else, entered anew as #44"),
    ]},
    Job { words: &["late", "earlier"], says: "I am writing down something from earlier", steps: &[
        ("obs rr 18 at 22:15 late \"was with another patient\"", "when it happened, and why it is written now"),
    ]},
    Job { words: &["over", "handing", "end", "handover"], says: "I am handing over", steps: &[
        ("handover", "look at the sheet"),
        ("handover prepare \"quiet night; two to watch\"", "draws it and gives it its number"),
        ("handover give", "it was given"),
        ("handover answer #91 \"the daughter does\"", "answers a question"),
    ]},
    Job { words: &["leave", "leaving", "break", "lock"], says: "I am leaving the keyboard", steps: &[
        ("lock", "what you were typing is kept for you"),
        ("switch tom", "a colleague takes over"),
    ]},
    Job { words: &["back", "then", "past"], says: "I want to see what was known then", steps: &[
        ("as-of 02:10 alerts", "as it stood, as then known"),
        ("timeline pell as-of yesterday 02:10", "the same for one patient"),
    ]},
];

const GROUPS: [(VerbGroup, &str); 7] = [
    (VerbGroup::Contact, "Calls and visits"),
    (VerbGroup::Record, "Readings and notes"),
    (VerbGroup::Alert, "Alerts and escalations"),
    (VerbGroup::Task, "Tasks"),
    (VerbGroup::Care, "Wounds, bloods, medicines, lines, kit"),
    (VerbGroup::Episode, "Coming, changing, leaving"),
    (VerbGroup::Ward, "The ward"),
];

/// Help on a topic, or on everything.
pub(super) fn help(topic: &str) -> String {
    let topic = topic.trim().to_lowercase();
    match topic.as_str() {
        "" => return overview(),
        "entries" => return entries(),
        "commands" => return commands(),
        _ => {}
    }
    // A word may be a job, an entry and a command at once: each is said, the job first.
    let mut found: Vec<String> = JOBS
        .iter()
        .filter(|job| job.words.contains(&topic.as_str()))
        .map(Job::text)
        .collect();
    found.extend(verb_named(&topic).map(verb_help));
    found.extend(command_help(&topic));
    if found.is_empty() {
        found = JOBS
            .iter()
            .filter(|job| job.fits(&topic))
            .map(Job::text)
            .collect();
    }
    if found.is_empty() {
        return format!("Nothing is known about \"{topic}\".\n\n{}", overview());
    }
    found.join("\n\n")
}

fn command_help(topic: &str) -> Option<String> {
    let command = COMMANDS
        .iter()
        .find(|command| command.words.contains(&topic))?;
    let mut text = format!("{} {}\n  {}", command.words[0], command.usage, command.help);
    if command.words.len() > 1 {
        text.push_str(&format!("\n  also: {}", command.words[1..].join(", ")));
    }
    Some(text)
}

impl Job {
    fn fits(&self, topic: &str) -> bool {
        self.says.to_lowercase().contains(topic)
    }

    fn text(&self) -> String {
        let steps = self
            .steps
            .iter()
            .map(|(line, does)| format!("  {line}\n      {does}"));
        std::iter::once(format!("{}:", self.says))
            .chain(steps)
            .collect::<Vec<_>>()
            .join("\n")
    }
}

fn overview() -> String {
    let mut text = String::from("What are you doing? (help WORD says how)\n");
    for job in JOBS {
        text.push_str(&format!("  {:<10} {}\n", job.words[0], job.says));
    }
    text.push_str("\nhelp entries    what can be recorded (then help WORD for its fields)\n");
    text.push_str("help commands   what can be looked at and done\n");
    text.push_str("Tab completes and explains. An entry's word alone asks for each part.\n");
    text.push_str("A name or a slot alone chooses a patient; @pell is for one line only.");
    text
}

fn entries() -> String {
    let mut text = String::from("Entries (help WORD lists the fields)\n");
    for (group, title) in GROUPS {
        // The full words for steps are there for whoever writes everything out.
        let words = VERBS
            .iter()
            .filter(|verb| verb.group == group && !verb.words[0].contains('-'));
        let words: Vec<&str> = words.map(|verb| verb.words[0]).collect();
        text.push_str(&wrapped(&format!("  {title}: "), &words));
    }
    text.trim_end().to_owned()
}

fn commands() -> String {
    let mut text = String::from("Commands\n");
    for command in COMMANDS {
        let word = format!("{} {}", command.words[0], command.usage);
        if word.len() < 26 {
            text.push_str(&format!("  {word:<26} {}\n", command.help));
        } else {
            text.push_str(&format!("  {word}\n  {:<26} {}\n", "", command.help));
        }
    }
    text.trim_end().to_owned()
}

/// Words in lines of at most 78 columns.
fn wrapped(opening: &str, words: &[&str]) -> String {
    let mut text = opening.to_owned();
    let mut width = opening.len();
    for (index, word) in words.iter().enumerate() {
        if width + word.len() + 2 > 78 {
            text.push_str("\n      ");
            width = 6;
        }
        let comma = if index + 1 < words.len() { ", " } else { "" };
        text.push_str(word);
        text.push_str(comma);
        width += word.len() + comma.len();
    }
    text.push('\n');
    text
}

fn verb_help(verb: &Verb) -> String {
    let mut text = format!(
        "{}: {}\n  also: {}\n  example: {}\n",
        verb.words[0],
        verb.help,
        verb.words[1..].join(", "),
        verb.example
    );
    if verb.words.len() == 1 {
        text = text.replace("  also: \n", "");
    }
    let kinds = std::iter::once(verb.kind).chain(verb.also.map(|(kind, _)| kind));
    for kind in kinds {
        text.push_str(&fields_help(kind, verb));
    }
    text.push_str(if verb.rest_is_text {
        "  before the text: at=12:30 (when it happened), late=\"why\", related=#12, @pell (another patient);\n  \
         beside a text in quotes also: at 12:30, late \"why\", related #12, confirm. Within the text they are text."
    } else {
        "  at 12:30 (when it happened), late \"why\", related #12, @pell (another patient), confirm"
    });
    text
}

fn fields_help(kind: Kind, verb: &Verb) -> String {
    let mut text = format!("  {}\n", kind.title());
    let fixed = |name: &str| verb.fixed.iter().any(|(field, _)| *field == name);
    for spec in kind.specs().iter().filter(|spec| !fixed(spec.name)) {
        text.push_str(&field_help(spec));
    }
    text
}

fn field_help(spec: &FieldSpec) -> String {
    let need = if spec.required { "*" } else { " " };
    let words = field_words(spec.name);
    let also = if words.is_empty() {
        String::new()
    } else {
        format!(" ({})", words.join(", "))
    };
    let mut text = format!(
        "  {need} {:<16} {}\n",
        format!("{}{also}", spec.name),
        spec.help
    );
    if let Shape::Choice(choices) = spec.shape {
        let codes: Vec<&str> = choices.iter().map(|choice| choice.code).collect();
        text.push_str(&wrapped("                     ", &codes));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::time::{Timestamp, WardZone};
    use crate::shorthand::{Parsed, ShorthandContext, parse};

    #[test]
    fn every_line_that_help_shows_can_be_typed() {
        let cx = ShorthandContext {
            now: Timestamp(1_784_208_000_000_000),
            zone: WardZone::LONDON,
            patient: Some("T07".into()),
        };
        for (line, _) in JOBS.iter().flat_map(|job| job.steps) {
            let parsed = parse(line, &cx);
            assert!(
                matches!(parsed, Ok(Parsed::Entries(_) | Parsed::Command(_))),
                "{line}: {parsed:?}"
            );
        }
    }

    #[test]
    fn help_is_found_by_job_by_word_and_by_what_people_say() {
        assert!(help("").contains("I answered a help call"));
        assert!(help("handing").contains("handover prepare"));
        assert!(help("i answered a help call").contains("take #12"));
        assert!(help("obs").contains("breaths") || help("obs").contains("Respiration rate"));
        assert!(help("v").contains("reached unless"));
        assert!(help("tl").contains("timeline"));
        assert!(help("frog").starts_with("Nothing is known"));
    }

    #[test]
    fn every_job_is_reached_by_each_of_its_words_and_by_what_people_say() {
        for job in JOBS {
            let said = job.says.to_lowercase();
            for word in job.words.iter().copied().chain([said.as_str()]) {
                let shown = help(word);
                assert!(shown.contains(&format!("{}:", job.says)), "{word}: {shown}");
                assert!(
                    job.steps.iter().all(|(line, _)| shown.contains(line)),
                    "{word}"
                );
            }
            let listed = format!("  {:<10} {}", job.words[0], job.says);
            assert!(help("").contains(&listed), "{listed}");
        }
    }

    #[test]
    fn the_first_help_fits_a_small_screen() {
        let first = help("");
        assert!(first.lines().count() <= 20, "{}", first.lines().count());
        assert!(first.lines().all(|line| line.chars().count() <= 80));
        assert!(help("entries").contains("wound, dress"));
        assert!(help("commands").contains("as-of TIME VIEW"));
    }
}

//! Words that show or do something instead of writing an entry typed on the line.

use super::ShorthandContext;
use super::lex::{self, Token};
use super::mistake::Mistake;
use crate::record::field::FieldValue;
use crate::record::ids::Seq;
use crate::record::moment::Past;
use crate::record::person::Handle;
use crate::record::time::Timestamp;

/// What a command does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Act {
    /// Choose a patient.
    Select,
    /// Choose none.
    Ward,
    /// Everyone on the ward, or whom a text finds.
    Patients,
    /// What happened to a patient.
    Timeline,
    /// A patient's usual values.
    Baseline,
    /// What was worked out about the patient.
    Workings,
    /// Work.
    Tasks,
    /// Alerts.
    Alerts,
    /// Patients by slot.
    Caseload,
    /// What happened in a period, counted.
    Report,
    /// Who opened whose record.
    Access,
    /// The handover.
    Handover,
    /// The ward's policy.
    Settings,
    /// A calculator.
    Score,
    /// One entry in full.
    Show,
    /// Put an entry right.
    Correct,
    /// Take an entry back.
    Withdraw,
    /// Take back one's own last entry.
    Undo,
    /// A view as it stood then.
    AsOf,
    /// The line that was not taken.
    Draft,
    /// Leave the keyboard.
    Lock,
    /// Another person.
    Switch,
    /// Change one's own PIN.
    Pin,
    /// Help.
    Help,
    /// End.
    Quit,
}

/// A command and its help.
#[derive(Debug, Clone, Copy)]
pub struct CommandWord {
    /// What it does.
    pub act: Act,
    /// The words, the usual one first.
    pub words: &'static [&'static str],
    /// What may follow.
    pub usage: &'static str,
    /// What it is for.
    pub help: &'static str,
}

const fn word(
    act: Act,
    words: &'static [&'static str],
    usage: &'static str,
    help: &'static str,
) -> CommandWord {
    CommandWord {
        act,
        words,
        usage,
        help,
    }
}

/// Every command, as help lists them.
#[rustfmt::skip]
pub const COMMANDS: &[CommandWord] = &[
    word(Act::Select, &["sel", "select"], "NAME, slot or number", "Choose a patient; what you type then is about this patient."),
    word(Act::Ward, &["ward", "desel"], "", "Choose no patient."),
    word(Act::Patients, &["patients", "pts", "ls"], "[text]", "Everyone on the ward."),
    word(Act::Timeline, &["timeline", "tl"], "[patient] [today] [as-of TIME]", "What happened to the patient, newest last; today: only that."),
    word(Act::Baseline, &["baseline", "b"], "[patient]", "The patient's usual values, plan and allergies."),
    word(Act::Workings, &["workings", "wk"], "[patient] [over 12h] [as-of TIME]", "What the program worked out about the patient: numbers, source, caution; over: the fluid balance of so many hours."),
    word(Act::Tasks, &["tasks", "ts"], "[patient, mine or all] [as-of TIME]", "Work to do, what is overdue first."),
    word(Act::Alerts, &["alerts", "al"], "[all] [as-of TIME]", "Open alerts, the most urgent first."),
    word(Act::Caseload, &["caseload", "cl"], "[as-of TIME]", "Everyone by slot."),
    word(Act::Report, &["report"], "[from TIME] [until TIME] [as-of TIME]", "What happened on the ward in a period, counted: the last seven days, or from and until a day or a moment."),
    word(Act::Access, &["access"], "[patient, handle or ward] [as-of TIME]", "Who opened, printed or exported the patient's record and why; of a handle: what they opened."),
    word(Act::Handover, &["handover", "ho"], "[prepare, give, query, answer, accept, decline, list, since]", "The handover sheet, and handing over; list: every handover; since: what was written since one was accepted."),
    word(Act::Settings, &["settings"], "[history] [section or setting] [as-of TIME]", "The ward's policy: what holds, or who changed it; `policy` changes it."),
    word(Act::Score, &["score"], "list, or CALCULATOR name=value …", "A calculator, e.g. score gcs eye=4 verbal=5 motor=6; nothing is recorded."),
    word(Act::Show, &["show"], "#123", "One entry in full, with who wrote it and when."),
    word(Act::Correct, &["correct", "fix"], "#123 field value … cause CAUSE [because \"…\"]", "Put an entry right; the original stays readable."),
    word(Act::Withdraw, &["withdraw"], "#123 CAUSE [\"why\"] [anew #124]", "Take an entry back; it stays readable, struck."),
    word(Act::Undo, &["undo", "u"], "", "Take back your own last entry of this session."),
    word(Act::AsOf, &["as-of", "asof"], "TIME VIEW", "A view as it stood then, as then known."),
    word(Act::Draft, &["draft", "d"], "", "Bring back what was not taken."),
    word(Act::Lock, &["lock"], "", "Leave the keyboard; what you were typing is kept for you."),
    word(Act::Switch, &["switch", "user"], "[handle]", "Another person takes the keyboard."),
    word(Act::Pin, &["pin"], "[session]", "Change your own PIN or passphrase; pin session: a short PIN that re-opens this session after lock."),
    word(Act::Help, &["help", "?"], "[word or job]", "Help by what you are doing, by command or by kind of entry."),
    word(Act::Quit, &["quit", "exit", "q"], "", "End."),
];

/// What a word does, if it is a command.
pub(super) fn act_named(word: &str) -> Option<Act> {
    let found = COMMANDS
        .iter()
        .find(|command| command.words.contains(&word));
    found.map(|command| command.act)
}

/// A step of handing over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HandoverAct {
    /// The sheet.
    Show,
    /// Draw the sheet and name it.
    Prepare,
    /// It was given.
    Give,
    /// A question.
    Query,
    /// Its answer.
    Answer,
    /// Taken over.
    Accept,
    /// Not taken over.
    Decline,
    /// Every handover and where it stands.
    List,
    /// What was written since one was accepted.
    Since,
}

impl HandoverAct {
    const WORDS: [(&'static str, HandoverAct); 9] = [
        ("show", HandoverAct::Show),
        ("prepare", HandoverAct::Prepare),
        ("give", HandoverAct::Give),
        ("query", HandoverAct::Query),
        ("answer", HandoverAct::Answer),
        ("accept", HandoverAct::Accept),
        ("decline", HandoverAct::Decline),
        ("list", HandoverAct::List),
        ("since", HandoverAct::Since),
    ];

    /// The step may be about one patient.
    const fn names_patient(self) -> bool {
        matches!(
            self,
            HandoverAct::Query | HandoverAct::Answer | HandoverAct::Accept | HandoverAct::Decline
        )
    }

    /// It only shows something.
    #[must_use]
    pub const fn is_view(self) -> bool {
        matches!(
            self,
            HandoverAct::Show | HandoverAct::List | HandoverAct::Since
        )
    }

    /// What may follow it.
    const fn accepted(self) -> &'static str {
        match self {
            HandoverAct::Show => HANDOVER_ACCEPTED,
            HandoverAct::Prepare => "from=, to=, receiver=, and one opening in quotes",
            HandoverAct::List => "handover list alone",
            HandoverAct::Since => {
                "handover since alone, or the number of one that was accepted: handover since #90"
            }
            HandoverAct::Give => "the number of a handover, and one text in quotes",
            _ => "the number of a handover or question, @ and a patient, and one text in quotes",
        }
    }

    /// The words that may follow `handover`.
    pub fn words() -> impl Iterator<Item = &'static str> {
        Self::WORDS.iter().map(|(word, _)| *word)
    }
}

/// A command, read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Command {
    /// A view or act with the words that follow it.
    Plain {
        /// What to do.
        act: Act,
        /// The rest of the line.
        about: String,
        /// As it stood then.
        as_of: Option<Timestamp>,
    },
    /// One entry.
    Show(Seq),
    /// A correction: the fields are read once the kind of the entry is known.
    Correct {
        /// Which entry.
        seq: Seq,
        /// Byte offset in the line where the fields begin.
        fields_at: usize,
    },
    /// A withdrawal.
    Withdraw {
        /// Which entry.
        seq: Seq,
        /// Why, as a code.
        cause: Option<String>,
        /// Why, in words.
        reason: Option<String>,
        /// The entry in the right record.
        anew: Option<Seq>,
    },
    /// A step of handing over.
    Handover {
        /// Which.
        act: HandoverAct,
        /// Words that are no text and no entry: a patient, a shift.
        about: String,
        /// Entry numbers.
        entries: Vec<Seq>,
        /// Texts in quotes, or after `--`.
        texts: Vec<String>,
        /// `field=value` pairs.
        named: Vec<(String, String)>,
    },
}

/// Reads what follows a command. `after` is where `rest` begins in the line.
pub(super) fn read(
    act: Act,
    rest: &str,
    after: usize,
    cx: &ShorthandContext,
) -> Result<Command, Vec<Mistake>> {
    let moved = |mut mistake: Mistake| {
        mistake.at = mistake.at.start + after..mistake.at.end + after;
        vec![mistake]
    };
    if matches!(act, Act::Help | Act::Select | Act::Patients) {
        return Ok(Command::Plain {
            act,
            about: rest.trim().to_owned(),
            as_of: None,
        });
    }
    let tokens = lex::words(rest, 0).map_err(moved)?;
    match act {
        Act::Show => number(&tokens, rest.len())
            .and_then(|found| nothing_after(&tokens[1..], "show #123 alone").map(|()| found))
            .map(|(seq, _)| Command::Show(seq)),
        Act::Correct => number(&tokens, rest.len()).map(|(seq, end)| Command::Correct {
            seq,
            fields_at: after + end,
        }),
        Act::Withdraw => withdraw(&tokens, rest.len()),
        Act::Handover if !tokens.iter().any(is_as_of) => handover(&tokens),
        Act::AsOf => as_of_first(&tokens, rest.len(), cx),
        _ => plain(act, &tokens, cx),
    }
    .map_err(moved)
}

fn number(tokens: &[Token], end: usize) -> Result<(Seq, usize), Mistake> {
    let Some(first) = tokens.first() else {
        return Err(Mistake::new(end..end, "no entry is named", Seq::HINT));
    };
    let seq = first.text.parse().map_err(|_| {
        Mistake::new(
            first.at.clone(),
            format!("\"{}\" is no entry number", first.text),
            Seq::HINT,
        )
    })?;
    Ok((seq, first.at.end))
}

fn withdraw(tokens: &[Token], end: usize) -> Result<Command, Mistake> {
    let (seq, _) = number(tokens, end)?;
    let (mut cause, mut reason, mut anew) = (None, None, None);
    let mut rest = tokens[1..].iter();
    while let Some(token) = rest.next() {
        let word = token.lower();
        if token.quoted && reason.is_none() {
            reason = Some(token.text.clone());
        } else if word == "anew" && anew.is_none() {
            let at = token.at.end..token.at.end;
            let next = rest.next().and_then(|next| next.text.parse().ok());
            anew = Some(next.ok_or_else(|| Mistake::new(at, "anew names no entry", "anew #124"))?);
        } else if word == "cause" || word == "because" {
            // What follows says it.
        } else if cause.is_none()
            && crate::record::kind::ward::AmendmentCause::from_code(&word).is_some()
        {
            cause = Some(word);
        } else {
            let causes = crate::record::kind::ward::AmendmentCause::HINT;
            let what = format!("\"{}\" is not understood here", token.text);
            return Err(Mistake::new(
                token.at.clone(),
                what,
                format!("a cause ({causes}), or why in quotes"),
            ));
        }
    }
    Ok(Command::Withdraw {
        seq,
        cause,
        reason,
        anew,
    })
}

fn handover(tokens: &[Token]) -> Result<Command, Mistake> {
    let first = tokens.first().map(Token::lower).unwrap_or_default();
    let known = HandoverAct::WORDS.iter().find(|(word, _)| *word == first);
    let act = known.map_or(HandoverAct::Show, |(_, act)| *act);
    let (mut about, mut entries, mut texts, mut named) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let accepted = act.accepted();
    for token in &tokens[usize::from(known.is_some())..] {
        let refused = || Err(too_much(token.at.clone(), &token.text, accepted));
        let number = token
            .text
            .strip_prefix('#')
            .and_then(|_| token.text.parse().ok());
        match (token.quoted, token.equals, number) {
            (true, ..) if act.is_view() || !texts.is_empty() => return refused(),
            (true, ..) => texts.push(token.text.clone()),
            (_, Some(equals), _) if act == HandoverAct::Prepare => named.push((
                token.text[..equals].to_lowercase(),
                token.text[equals + 1..].to_owned(),
            )),
            (.., Some(seq))
                if !matches!(act, HandoverAct::Prepare | HandoverAct::List)
                    && entries.is_empty() =>
            {
                entries.push(seq);
            }
            (_, None, None) if act.names_patient() => {
                about.push(token.text.trim_start_matches('@').to_owned());
            }
            _ => return refused(),
        }
    }
    Ok(Command::Handover {
        act,
        about: about.join(" "),
        entries,
        texts,
        named,
    })
}

fn is_as_of(token: &Token) -> bool {
    !token.quoted && matches!(token.lower().as_str(), "as-of" | "asof")
}

/// `timeline pell as-of yesterday 02:10`.
fn plain(act: Act, tokens: &[Token], cx: &ShorthandContext) -> Result<Command, Mistake> {
    let split = tokens.iter().position(is_as_of);
    let (about, when) = tokens.split_at(split.unwrap_or(tokens.len()));
    let as_of = match when {
        [] => None,
        [word, rest @ ..] => Some(moment(&joined(rest), word, rest, cx)?),
    };
    takes(act, about)?;
    if let (Some(_), [word, ..]) = (as_of, when)
        && !is_view(act)
    {
        let what = format!("\"{}\" says when a view is of, and this is none", word.text);
        return Err(Mistake::new(word.at.clone(), what, "the command alone"));
    }
    Ok(Command::Plain {
        act,
        about: joined(about),
        as_of,
    })
}

const fn is_view(act: Act) -> bool {
    matches!(
        act,
        Act::Timeline
            | Act::Tasks
            | Act::Alerts
            | Act::Caseload
            | Act::Report
            | Act::Access
            | Act::Handover
            | Act::Baseline
            | Act::Workings
            | Act::Patients
    )
}

/// Refuses words that the command would do nothing with.
fn takes(act: Act, about: &[Token]) -> Result<(), Mistake> {
    match act {
        // A patient's name may have several words; whether it names one is the ward's to say,
        // as it is whether there is such a setting.
        Act::Timeline
        | Act::Baseline
        | Act::Workings
        | Act::Tasks
        | Act::Alerts
        | Act::Report
        | Act::Access
        | Act::Settings
        | Act::Score
        | Act::Pin
        | Act::Patients => Ok(()),
        Act::Switch => {
            if let Some(first) = about.first()
                && Handle::parse(&first.text).is_none()
            {
                let what = format!("\"{}\" is no handle", first.text);
                return Err(Mistake::new(
                    first.at.clone(),
                    what,
                    "2 to 24 lower-case letters, digits or hyphens, e.g. switch maya",
                ));
            }
            nothing_after(
                about.get(1..).unwrap_or_default(),
                "one handle, e.g. switch maya",
            )
        }
        Act::Caseload => nothing_after(about, "caseload alone, or caseload as-of 02:10"),
        Act::Handover => nothing_after(about, HANDOVER_ACCEPTED),
        Act::Undo => nothing_after(
            about,
            "undo alone; withdraw #123 takes back an earlier entry",
        ),
        _ => nothing_after(about, "the word alone"),
    }
}

const HANDOVER_ACCEPTED: &str = "handover alone, the number of one (handover #90), as-of 02:10, or prepare, give, query, answer, accept, decline, list, since; timeline NAME for one patient";

/// Refuses words that would be ignored.
fn nothing_after(tokens: &[Token], accepted: &str) -> Result<(), Mistake> {
    match tokens {
        [] => Ok(()),
        [first, .., last] => Err(too_much(
            first.at.start..last.at.end,
            &joined(tokens),
            accepted,
        )),
        [one] => Err(too_much(one.at.clone(), &one.text, accepted)),
    }
}

fn too_much(at: std::ops::Range<usize>, text: &str, accepted: &str) -> Mistake {
    Mistake::new(at, format!("\"{text}\" is not understood here"), accepted)
}

/// `as-of 02:10 tasks`: the longest run of words that is a time, then a view.
fn as_of_first(tokens: &[Token], end: usize, cx: &ShorthandContext) -> Result<Command, Mistake> {
    let is_time = |count: &usize| Past::read(&joined(&tokens[..*count]), &cx.read()).is_ok();
    let Some(count) = (1..=tokens.len()).rev().find(is_time) else {
        return Err(match tokens {
            [] => Mistake::new(end..end, "no time is given", "as-of 02:10 alerts"),
            [first, ..] => {
                let upto = tokens
                    .iter()
                    .take_while(|token| act_named(&token.lower()).is_none())
                    .count()
                    .max(1);
                return Err(moment(&joined(&tokens[..upto]), first, &tokens[..upto], cx)
                    .err()
                    .unwrap_or_else(|| {
                        Mistake::new(first.at.clone(), "is not a time", Past::HINT)
                    }));
            }
        });
    };
    let views = "timeline, workings, tasks, alerts, caseload, report, handover or baseline";
    let Some(view) = tokens.get(count) else {
        return Err(Mistake::new(
            end..end,
            "no view is named",
            format!("as-of 02:10 and then {views}"),
        ));
    };
    let as_of = moment(&joined(&tokens[..count]), &tokens[0], &tokens[..count], cx)?;
    match act_named(&view.lower()) {
        Some(
            act @ (Act::Timeline
            | Act::Tasks
            | Act::Alerts
            | Act::Caseload
            | Act::Report
            | Act::Access
            | Act::Handover
            | Act::Baseline
            | Act::Workings
            | Act::Settings
            | Act::Patients),
        ) => {
            takes(act, &tokens[count + 1..])?;
            Ok(Command::Plain {
                act,
                about: joined(&tokens[count + 1..]),
                as_of: Some(as_of),
            })
        }
        _ => Err(Mistake::new(
            view.at.clone(),
            format!("\"{}\" is not a view", view.text),
            views,
        )),
    }
}

fn moment(
    text: &str,
    word: &Token,
    tokens: &[Token],
    cx: &ShorthandContext,
) -> Result<Timestamp, Mistake> {
    let at = match (tokens.first(), tokens.last()) {
        (Some(first), Some(last)) => first.at.start..last.at.end,
        _ => word.at.end..word.at.end,
    };
    Past::read(text, &cx.read())
        .map(|past| past.0)
        .map_err(|problem| Mistake::new(at, format!("as-of: {}", problem.what), problem.accepted))
}

fn joined(tokens: &[Token]) -> String {
    let words: Vec<&str> = tokens.iter().map(|token| token.text.as_str()).collect();
    words.join(" ")
}

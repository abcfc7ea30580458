//! What a person types on one line -> entries to be written, or something to be shown.
//!
//! - Pure: the moment, the ward's zone and the selected patient are arguments. What may stand
//!   in a field is the record layer's to say; nothing clinical is decided here.
//! - Nothing is guessed and nothing is dropped. Every word either becomes part of an entry or
//!   is refused with its place in the line and what would be accepted.
//! - Fields come from [`Kind::specs`]; the tables here add only other words for them
//!   (`alias`), short verbs for whole entries (`verb`) and commands (`command`).
//!
//! ```
//! use handfast::record::time::{Timestamp, WardZone};
//! use handfast::shorthand::{Parsed, ShorthandContext, parse};
//!
//! let cx = ShorthandContext {
//!     now: Timestamp(1_780_000_000_000_000),
//!     zone: WardZone::LONDON,
//!     patient: Some("T07".to_owned()),
//! };
//! let Ok(Parsed::Entries(entries)) = parse("v rr18 s96 air n+4h \"well, eating\"", &cx) else {
//!     panic!("two entries");
//! };
//! let kinds: Vec<&str> = entries.drafts.iter().map(|draft| draft.kind.as_str()).collect();
//! assert_eq!(kinds, ["contact", "obs"]);
//! assert_eq!(entries.drafts[1].get("spo2"), Some("96"));
//! ```

mod alias;
mod around;
mod aside;
mod bedside;
mod command;
mod fill;
mod lex;
mod mistake;
mod scope;
mod several;
mod value;
mod verb;
mod window;

pub use alias::{entry_field, field_words, follows_its_entry};
pub use aside::reads_as_line;
pub use bedside::composite;
pub use command::{Act, COMMANDS, Command, CommandWord, HandoverAct};
pub use lex::is_unfinished;
pub use mistake::Mistake;
pub use scope::problem_with;
pub use verb::{VERBS, Verb, VerbGroup, verb_named};

use crate::record::draft::Draft;
use crate::record::field::ReadContext;
use crate::record::kind::Kind;
use crate::record::time::{Timestamp, WardZone};

/// What reading a line needs to know about the outside.
#[derive(Debug, Clone)]
pub struct ShorthandContext {
    /// The moment of writing.
    pub now: Timestamp,
    /// The ward's clock.
    pub zone: WardZone,
    /// The selected patient, by a text that names nobody else.
    pub patient: Option<String>,
}

impl ShorthandContext {
    /// The part that fields need.
    #[must_use]
    pub const fn read(&self) -> ReadContext {
        ReadContext {
            now: self.now,
            zone: self.zone,
        }
    }
}

/// What a line turned out to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Parsed {
    /// Nothing was typed.
    Nothing,
    /// One or several entries.
    Entries(Entries),
    /// Something to be shown or done.
    Command(Command),
    /// The first word is neither; it may name a patient. If it does not, the mistake is what
    /// to say.
    Unknown {
        /// The whole line, trimmed.
        text: String,
        /// What to say if it names nobody.
        mistake: Mistake,
    },
}

/// Entries typed on one line, in the order in which they are to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entries {
    /// The entries as typed. A required field may still be missing.
    pub drafts: Vec<Draft>,
    /// Fields to be filled with the number of another entry of this line once it has one.
    pub links: Vec<Link>,
    /// Where each field was typed, to point at it when it is refused later.
    pub places: Vec<Place>,
    /// All of them are recorded, or none.
    pub together: bool,
}

/// The entry `from` cites the entry `to` of the same line in one of its fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link {
    /// Position of the citing draft.
    pub from: usize,
    /// Its field.
    pub field: &'static str,
    /// Position of the cited draft; less than `from`.
    pub to: usize,
}

/// Where a field's value stands in the line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Position of the draft.
    pub draft: usize,
    /// Field name.
    pub field: String,
    /// Byte offset in the line.
    pub at: usize,
}

impl Entries {
    /// Byte offset of a draft's field in the line, if it was typed.
    #[must_use]
    pub fn place_of(&self, draft: usize, field: &str) -> Option<usize> {
        let found = |place: &&Place| {
            // A refusal about a pressure names the pair or its second half.
            let same = place.field == field || field == "bp" && place.field == "sbp";
            place.draft == draft && same
        };
        self.places.iter().find(found).map(|place| place.at)
    }
}

/// Reads one line.
///
/// # Errors
/// Every mistake found, in the order of the line.
pub fn parse(line: &str, cx: &ShorthandContext) -> Result<Parsed, Vec<Mistake>> {
    let strange = lex::strange_characters(line);
    if !strange.is_empty() {
        return Err(strange);
    }
    let Some((word, after)) = lex::first_word(line) else {
        return Ok(Parsed::Nothing);
    };
    let lower = word.text.to_lowercase();
    // "help #12" answers an alert; "help tasks" asks for help.
    let rest = line[after..].trim_start();
    let answers_alert = lower == "help" && rest.starts_with('#');
    if !answers_alert && let Some(act) = command::act_named(&lower) {
        return command::read(act, &line[after..], after, cx).map(Parsed::Command);
    }
    match verb::verb_named(&lower) {
        Some(verb) => match several::named(verb, line, after) {
            Some(named) => several::entries(verb, named?, line, cx),
            None => fill::entries(verb, line, after, cx),
        }
        .map(Parsed::Entries),
        None => Ok(Parsed::Unknown {
            text: line.trim().to_owned(),
            mistake: unknown_first(&word),
        }),
    }
}

/// Reads fields for a correction: `field value …`, with `cause` and `because` for why. `after`
/// is where `rest` begins in the whole line.
///
/// # Errors
/// Every mistake found, in the order of the line.
pub fn parse_correction(
    kind: Kind,
    line: &str,
    after: usize,
    cx: &ShorthandContext,
) -> Result<Entries, Vec<Mistake>> {
    fill::correction(kind, line, after, cx)
}

fn unknown_first(word: &lex::Token) -> Mistake {
    let verbs = VERBS.iter().flat_map(|verb| verb.words.iter());
    let commands = COMMANDS.iter().flat_map(|command| command.words.iter());
    let known: Vec<&str> = verbs.chain(commands).copied().collect();
    let near = crate::record::field::nearest(&word.text, &known);
    let accepted = match near {
        Some(near) => format!("perhaps \"{near}\"; \"help\" lists everything"),
        None => "a kind of entry, a command or a patient; \"help\" lists them".to_owned(),
    };
    let what = format!("\"{}\" is not a word we know here", word.text);
    Mistake::new(word.at.clone(), what, accepted)
}

#[cfg(test)]
mod tests;

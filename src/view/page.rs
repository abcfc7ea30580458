//! What stands on a page, before it is known whether it becomes a terminal's text or HTML.
//!
//! Lines hold words with a tone. A tone only stresses what the words already say: every
//! meaning that has a colour has a word or a mark as well.

use serde::Serialize;

use crate::record::ids::{EntryHash, Seq};
use crate::record::time::{Timestamp, WardZone};

/// How a piece of text is meant. Never the only carrier of a meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tone {
    /// As any text.
    Plain,
    /// Names, totals.
    Strong,
    /// Entry numbers, times, labels.
    Quiet,
    /// Somebody must act now.
    Alarm,
    /// Somebody must look.
    Warn,
    /// New since the last accepted handover.
    New,
    /// A person's statement.
    Human,
    /// Computed by the program.
    Computed,
    /// Withdrawn or replaced, and still readable.
    Struck,
}

impl Tone {
    /// The class of the piece in HTML.
    #[must_use]
    pub const fn class(self) -> &'static str {
        match self {
            Tone::Plain => "plain",
            Tone::Strong => "strong",
            Tone::Quiet => "quiet",
            Tone::Alarm => "alarm",
            Tone::Warn => "warn",
            Tone::New => "new",
            Tone::Human => "human",
            Tone::Computed => "computed",
            Tone::Struck => "struck",
        }
    }
}

/// Text with its tone, exactly as written; whoever renders it makes it harmless.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// The words.
    pub text: String,
    /// How they are meant.
    pub tone: Tone,
}

/// One line, wrapped by whoever renders it. Pieces are set apart by one blank.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Line(pub Vec<Piece>);

impl Line {
    /// Nothing yet.
    #[must_use]
    pub fn new() -> Line {
        Line::default()
    }

    /// One plain piece.
    #[must_use]
    pub fn of(text: impl Into<String>) -> Line {
        Line::new().plain(text)
    }

    /// Adds a piece; an empty one adds nothing.
    #[must_use]
    pub fn with(mut self, tone: Tone, text: impl Into<String>) -> Line {
        let text = text.into();
        if !text.is_empty() {
            self.0.push(Piece { text, tone });
        }
        self
    }

    /// Adds plain words.
    #[must_use]
    pub fn plain(self, text: impl Into<String>) -> Line {
        self.with(Tone::Plain, text)
    }

    /// Adds a name or a number that stands out.
    #[must_use]
    pub fn strong(self, text: impl Into<String>) -> Line {
        self.with(Tone::Strong, text)
    }

    /// Adds what may be overlooked.
    #[must_use]
    pub fn quiet(self, text: impl Into<String>) -> Line {
        self.with(Tone::Quiet, text)
    }

    /// Adds what calls for action.
    #[must_use]
    pub fn alarm(self, text: impl Into<String>) -> Line {
        self.with(Tone::Alarm, text)
    }

    /// Adds what calls for a look.
    #[must_use]
    pub fn warn(self, text: impl Into<String>) -> Line {
        self.with(Tone::Warn, text)
    }

    /// Adds each piece that says something, with commas between them.
    #[must_use]
    pub fn listed(mut self, pieces: impl IntoIterator<Item = (Tone, String)>) -> Line {
        let pieces = pieces.into_iter().filter(|(_, text)| !text.is_empty());
        for (at, (tone, text)) in pieces.enumerate() {
            if at > 0
                && let Some(last) = self.0.last_mut()
            {
                last.text.push(',');
            }
            self = self.with(tone, text);
        }
        self
    }

    /// Adds the pieces of another line.
    #[must_use]
    pub fn then(mut self, more: Line) -> Line {
        self.0.extend(more.0);
        self
    }

    /// Drops a semicolon that nothing follows, before a signature.
    #[must_use]
    pub fn closed(mut self) -> Line {
        if let Some(last) = self.0.last_mut() {
            let end = last.text.trim_end_matches(';').len();
            last.text.truncate(end);
        }
        self.0.retain(|piece| !piece.text.is_empty());
        self
    }

    /// Says nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// A label with what belongs to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// The label.
    pub label: &'static str,
    /// What belongs to it.
    pub lines: Vec<Line>,
}

/// A lettered part of a card: S, B, A, R.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The letter; empty for a part without one.
    pub letter: &'static str,
    /// What it stands for.
    pub name: &'static str,
    /// Its lines.
    pub lines: Vec<Line>,
}

/// One patient, one alert, one entry: kept together where a page ends.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Card {
    /// Who or what.
    pub title: Line,
    /// At the end of the title.
    pub aside: Line,
    /// Somebody must act: shown at the card's edge as well.
    pub urgent: bool,
    /// Under the title.
    pub lead: Vec<Line>,
    /// Its parts.
    pub parts: Vec<Part>,
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Column names.
    pub head: Vec<&'static str>,
    /// Rows, as many cells as columns.
    pub rows: Vec<Vec<Line>>,
}

/// Something on a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// Lines of text.
    Lines(Vec<Line>),
    /// Labels with what belongs to them.
    Facts(Vec<Fact>),
    /// Cards.
    Cards(Vec<Card>),
    /// Entries, one under the other, closer than cards.
    Entries(Vec<Card>),
    /// A table.
    Table(Table),
}

/// A whole page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// What it is.
    pub title: String,
    /// Invented patients only: said loudly.
    pub teaching: bool,
    /// Under the title.
    pub head: Vec<Line>,
    /// As of when, for the margin of every printed page.
    pub as_of: String,
    /// Newest entry and its hash, for the margin of every printed page.
    pub journal: String,
    /// What it holds.
    pub blocks: Vec<Block>,
    /// Cautions and sources.
    pub foot: Vec<String>,
}

impl Page {
    /// Says first of all what the page does not hold, and what on it is in doubt: whoever
    /// reads it must not take it for whole.
    #[must_use]
    pub fn under(mut self, reservations: &Reservations) -> Page {
        let lines = reservations.sentences().into_iter().map(|said| {
            Line::new()
                .alarm(said)
                .plain("`handfast verify` says more.")
        });
        self.head.splice(0..0, lines);
        self
    }
}

/// What a view must say of itself before anything else.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reservations {
    /// Everything recorded up to its moment was read, and every entry counts as its author's
    /// word. If false, something that is open may be missing.
    pub complete: bool,
    /// What is in the journal and not in this view, a sentence each: "entry #4 is damaged".
    pub damage: Vec<String>,
    /// Entries whose signature does not verify or whose author is unknown, a sentence each.
    /// They are in the view, marked; what they end, answer or change is not counted.
    pub unproved: Vec<String>,
}

impl Reservations {
    /// Of what is missing and what is in doubt.
    #[must_use]
    pub fn new(damage: Vec<String>, unproved: Vec<String>) -> Reservations {
        Reservations {
            complete: damage.is_empty() && unproved.is_empty(),
            damage,
            unproved,
        }
    }

    /// A sentence each, for people.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let damage = self.damage.iter();
        let damage = damage.map(|what| format!("NOT COMPLETE: {what}; not on this page."));
        let unproved = self.unproved.iter();
        damage
            .chain(unproved.map(|what| format!("NOT PROVED: {what}.")))
            .collect()
    }
}

/// A view's own members, and beside them what it must say of itself.
#[derive(Debug, Serialize)]
pub struct Reserved<'a, V> {
    #[serde(flatten)]
    view: &'a V,
    #[serde(flatten)]
    reservations: &'a Reservations,
}

impl<'a, V: Serialize> Reserved<'a, V> {
    /// Both.
    #[must_use]
    pub const fn new(view: &'a V, reservations: &'a Reservations) -> Reserved<'a, V> {
        Reserved { view, reservations }
    }
}

/// Said of a view as of a moment before the first entry.
pub const NOTHING_YET: &str =
    "NOTHING WAS RECORDED YET: the journal's first entry is newer than this moment.";

/// That line, where there was no entry yet.
#[must_use]
pub fn nothing_yet(newest: Seq) -> Option<Line> {
    (newest == Seq::NONE).then(|| Line::new().warn(NOTHING_YET))
}

/// Which entry a view was drawn up to, for the margin of every printed page.
#[must_use]
pub fn journal_mark(seq: Seq, hash: &EntryHash) -> String {
    match seq {
        Seq::NONE => "no entry yet".to_owned(),
        seq => format!("journal {seq} {}", hash.short()),
    }
}

/// What a teaching journal is headed with.
pub const TEACHING: &str = "TEACHING JOURNAL: invented people";

/// How moments are written beside one moment: the day is said where it is another one.
#[derive(Debug, Clone, Copy)]
pub struct Dial {
    /// The ward's clock.
    pub zone: WardZone,
    /// The page's moment.
    pub now: Timestamp,
}

impl Dial {
    /// `22:10` today, `Sun 22:10` within six days, `25-Oct-2026 22:10` otherwise.
    #[must_use]
    pub fn at(&self, moment: Timestamp) -> String {
        let (today, day) = (self.zone.date(self.now), self.zone.date(moment));
        match (day - today).num_days() {
            0 => self.zone.clock_time(moment),
            -6..=6 => self.zone.day_time(moment),
            _ => self.zone.date_time(moment),
        }
    }

    /// The same with the day always said: `Sun 22:10`.
    #[must_use]
    pub fn at_day(&self, moment: Timestamp) -> String {
        let (today, day) = (self.zone.date(self.now), self.zone.date(moment));
        match (day - today).num_days() {
            -6..=6 => self.zone.day_time(moment),
            _ => self.zone.date_time(moment),
        }
    }

    /// `2hr 10min ago`, `in 40min`, `now`.
    #[must_use]
    pub fn ago(&self, moment: Timestamp) -> String {
        let span = self.now.since(moment);
        match span.whole_minutes() {
            0 => "now".to_owned(),
            1.. => format!("{} ago", span.spoken()),
            _ => format!("in {}", moment.since(self.now).spoken()),
        }
    }

    /// `22:10, 2hr 10min ago`.
    #[must_use]
    pub fn at_ago(&self, moment: Timestamp) -> String {
        format!("{}, {}", self.at(moment), self.ago(moment))
    }
}

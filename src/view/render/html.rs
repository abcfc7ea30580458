//! A page as one HTML file: no scripts, nothing fetched, readable in the dark and on paper.

use askama::Template;

use super::text::is_glued;
use crate::clinical::CAUTION;
use crate::view::escape;
use crate::view::page::{Block, Card, Fact, Line, Page, Part, TEACHING, Table, Tone};

/// The whole file.
///
/// # Errors
/// Only if the template itself fails, which it can by nothing that stands in the page.
pub fn page(page: &Page) -> Result<String, askama::Error> {
    Html {
        title: escape::page(&page.title).into_owned(),
        css: include_str!("../../../templates/page.css"),
        teaching: page.teaching.then_some(TEACHING),
        as_of: css_string(&page.as_of),
        caution: css_string(CAUTION),
        journal: css_string(&page.journal),
        head: page.head.iter().map(HtmlLine::of).collect(),
        blocks: page.blocks.iter().map(HtmlBlock::of).collect(),
        foot: page
            .foot
            .iter()
            .map(|text| escape::page(text).into_owned())
            .collect(),
    }
    .render()
}

/// Letters, digits and a few marks only: it stands in a style sheet. What the program puts
/// there (a date, an entry number, a hash) has nothing else.
fn css_string(text: &str) -> String {
    let fits = |c: &char| c.is_alphanumeric() || matches!(c, ' ' | '-' | ':' | '#' | ',' | '.');
    text.chars().filter(fits).collect()
}

#[derive(Template)]
#[template(path = "page.html")]
struct Html {
    title: String,
    css: &'static str,
    teaching: Option<&'static str>,
    as_of: String,
    caution: String,
    journal: String,
    head: Vec<HtmlLine>,
    blocks: Vec<HtmlBlock>,
    foot: Vec<String>,
}

struct HtmlPiece {
    text: String,
    class: &'static str,
    gap: bool,
}

struct HtmlLine {
    pieces: Vec<HtmlPiece>,
    /// The line as a whole carries a person's words, a computed sentence, or neither.
    class: &'static str,
}

impl HtmlLine {
    fn of(line: &Line) -> HtmlLine {
        let pieces = line.0.iter().enumerate().map(|(at, piece)| HtmlPiece {
            text: escape::page(&piece.text).into_owned(),
            class: piece.tone.class(),
            gap: at > 0 && !is_glued(&piece.text),
        });
        let first = line.0.iter().find(|piece| piece.tone != Tone::New);
        let has = |tone: Tone| first.is_some_and(|piece| piece.tone == tone);
        HtmlLine {
            pieces: pieces.collect(),
            class: if has(Tone::Human) {
                "said"
            } else if has(Tone::Computed) {
                "sum"
            } else if has(Tone::Alarm) {
                "act"
            } else {
                ""
            },
        }
    }
}

struct HtmlFact {
    label: &'static str,
    lines: Vec<HtmlLine>,
}

struct HtmlPart {
    letter: &'static str,
    name: &'static str,
    lines: Vec<HtmlLine>,
}

struct HtmlCard {
    title: HtmlLine,
    aside: HtmlLine,
    urgent: bool,
    lead: Vec<HtmlLine>,
    parts: Vec<HtmlPart>,
}

enum HtmlBlock {
    Heading(String),
    Lines(Vec<HtmlLine>),
    Facts(Vec<HtmlFact>),
    Cards(Vec<HtmlCard>),
    Entries(Vec<HtmlCard>),
    Table {
        head: Vec<&'static str>,
        rows: Vec<Vec<HtmlLine>>,
    },
}

impl HtmlBlock {
    fn of(block: &Block) -> HtmlBlock {
        match block {
            Block::Heading(text) => HtmlBlock::Heading(escape::page(text).into_owned()),
            Block::Lines(lines) => HtmlBlock::Lines(lines_of(lines)),
            Block::Facts(facts) => HtmlBlock::Facts(facts.iter().map(fact_of).collect()),
            Block::Cards(cards) => HtmlBlock::Cards(cards.iter().map(card_of).collect()),
            Block::Entries(cards) => HtmlBlock::Entries(cards.iter().map(card_of).collect()),
            Block::Table(table) => table_of(table),
        }
    }
}

fn lines_of(lines: &[Line]) -> Vec<HtmlLine> {
    lines.iter().map(HtmlLine::of).collect()
}

fn fact_of(fact: &Fact) -> HtmlFact {
    HtmlFact {
        label: fact.label,
        lines: lines_of(&fact.lines),
    }
}

fn card_of(card: &Card) -> HtmlCard {
    HtmlCard {
        title: HtmlLine::of(&card.title),
        aside: HtmlLine::of(&card.aside),
        urgent: card.urgent,
        lead: lines_of(&card.lead),
        parts: card.parts.iter().map(part_of).collect(),
    }
}

fn part_of(part: &Part) -> HtmlPart {
    HtmlPart {
        letter: part.letter,
        name: part.name,
        lines: lines_of(&part.lines),
    }
}

fn table_of(table: &Table) -> HtmlBlock {
    HtmlBlock::Table {
        head: table.head.clone(),
        rows: table.rows.iter().map(|row| lines_of(row)).collect(),
    }
}

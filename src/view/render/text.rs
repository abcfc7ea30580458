//! A page as text for a terminal or a plain printer: wrapped to a width, with or without
//! styles. Words from people are made harmless here, so no view can forget it.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use crate::view::escape;
use crate::view::page::{Block, Card, Fact, Line, Page, Part, TEACHING, Table, Tone};

/// What the text is written on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paper {
    /// Columns; fewer than 40 count as 40.
    pub width: usize,
    /// Styles are wanted and the medium has them.
    pub styled: bool,
}

impl Paper {
    /// Plain text of a width.
    #[must_use]
    pub const fn plain(width: usize) -> Paper {
        Paper {
            width,
            styled: false,
        }
    }

    fn columns(self) -> usize {
        self.width.max(40)
    }
}

/// The whole page, each line ended.
#[must_use]
pub fn page(page: &Page, paper: Paper) -> String {
    let mut out = Writing::new(paper);
    if page.teaching {
        out.line(&Line::new().alarm(format!("*** {TEACHING} ***")), "", "");
    }
    out.line(&Line::new().strong(&page.title), "", "");
    for line in &page.head {
        out.line(line, "", "  ");
    }
    for block in &page.blocks {
        out.block(block);
    }
    out.rule();
    for line in &page.foot {
        out.line(&Line::new().quiet(line), "", "  ");
    }
    if page.teaching {
        out.line(&Line::new().alarm(format!("*** {TEACHING} ***")), "", "");
    }
    out.text
}

/// One line, for places outside a page.
#[must_use]
pub fn line(line: &Line, paper: Paper) -> String {
    let mut out = Writing::new(paper);
    out.line(line, "", "  ");
    out.text
}

/// A word that is not broken if it fits on a line at all.
#[derive(Debug, Clone)]
struct Word {
    text: String,
    tone: Tone,
    /// No blank stands before it.
    glued: bool,
}

impl Word {
    fn width(&self) -> usize {
        self.text.width()
    }
}

/// A piece that begins with one of these follows the one before it without a blank.
pub(super) fn is_glued(text: &str) -> bool {
    text.starts_with([';', ',', '.', ':', ')'])
}

fn words(line: &Line) -> Vec<Word> {
    let mut words = Vec::new();
    for piece in &line.0 {
        let text = escape::terminal_line(&piece.text);
        let glued = is_glued(&text);
        for (at, word) in text.split_whitespace().enumerate() {
            words.push(Word {
                text: word.to_owned(),
                tone: piece.tone,
                glued: glued && at == 0,
            });
        }
    }
    words
}

/// Lines of words, each at most `width` columns wide; the later ones `hang` columns less.
fn wrap(line: &Line, width: usize, hang: usize) -> Vec<Vec<Word>> {
    let mut lines: Vec<Vec<Word>> = vec![Vec::new()];
    let mut used = 0;
    for word in words(line) {
        let room = |lines: &[Vec<Word>]| width - if lines.len() > 1 { hang } else { 0 };
        let gap = usize::from(used > 0 && !word.glued);
        if used > 0 && used + gap + word.width() > room(&lines) {
            lines.push(Vec::new());
            used = 0;
        }
        for part in split(word, room(&lines).saturating_sub(used), width - hang) {
            let gap = usize::from(used > 0 && !part.glued);
            if used > 0 && used + gap + part.width() > room(&lines) {
                lines.push(Vec::new());
                used = 0;
            }
            let gap = usize::from(used > 0 && !part.glued);
            used += gap + part.width();
            if let Some(last) = lines.last_mut() {
                last.push(part);
            }
        }
    }
    lines
}

/// A word that fits on no line is cut where it must be.
fn split(word: Word, first: usize, rest: usize) -> Vec<Word> {
    if word.width() <= rest.max(first) {
        return vec![word];
    }
    let mut parts: Vec<Word> = Vec::new();
    let mut text = String::new();
    for c in word.text.chars() {
        if text.width() + c.width().unwrap_or(0) > rest.max(2) && !text.is_empty() {
            parts.push(Word {
                text: std::mem::take(&mut text),
                tone: word.tone,
                glued: false,
            });
        }
        text.push(c);
    }
    parts.push(Word {
        text,
        tone: word.tone,
        glued: false,
    });
    parts
}

fn width_of(words: &[Word]) -> usize {
    let gaps = words.iter().skip(1).filter(|word| !word.glued).count();
    words.iter().map(Word::width).sum::<usize>() + gaps
}

struct Writing {
    paper: Paper,
    text: String,
}

impl Writing {
    const fn new(paper: Paper) -> Writing {
        Writing {
            paper,
            text: String::new(),
        }
    }

    /// Words with the style of each; runs of one tone share it.
    fn put(&mut self, words: &[Word]) {
        let mut tone = Tone::Plain;
        for (at, word) in words.iter().enumerate() {
            let gap = at > 0 && !word.glued;
            if gap && word.tone == tone {
                self.text.push(' ');
            }
            if word.tone != tone {
                self.style(tone, false);
                if gap {
                    self.text.push(' ');
                }
                tone = word.tone;
                self.style(tone, true);
            }
            self.text.push_str(&word.text);
        }
        self.style(tone, false);
    }

    fn style(&mut self, tone: Tone, on: bool) {
        if let (true, Some(code)) = (self.paper.styled, code(tone)) {
            self.text.push_str(if on { code } else { "\u{1b}[0m" });
        }
    }

    fn line(&mut self, line: &Line, first: &str, hanging: &str) {
        let width = self.paper.columns().saturating_sub(first.width()).max(20);
        let hang = hanging.width().saturating_sub(first.width());
        for (at, words) in wrap(line, width, hang).iter().enumerate() {
            self.text.push_str(if at == 0 { first } else { hanging });
            self.put(words);
            self.end();
        }
    }

    fn end(&mut self) {
        while self.text.ends_with(' ') {
            self.text.pop();
        }
        self.text.push('\n');
    }

    fn rule(&mut self) {
        let rule = "\u{2500}".repeat(self.paper.columns());
        self.text.push_str(&rule);
        self.text.push('\n');
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(text) => {
                self.text.push('\n');
                let line = Line::new().strong(text.to_uppercase());
                self.line(&line, "", "");
            }
            Block::Lines(lines) => lines.iter().for_each(|line| self.line(line, "", "  ")),
            Block::Facts(facts) => self.facts(facts),
            Block::Cards(cards) => cards.iter().for_each(|card| self.card(card)),
            Block::Entries(cards) => cards.iter().for_each(|card| self.entry(card)),
            Block::Table(table) => self.table(table),
        }
    }

    fn facts(&mut self, facts: &[Fact]) {
        let label_width = facts.iter().map(|f| f.label.width()).max().unwrap_or(0) + 2;
        for fact in facts {
            for (at, line) in fact.lines.iter().enumerate() {
                let label = if at == 0 { fact.label } else { "" };
                let first = format!("{label:label_width$}");
                let hanging = " ".repeat(label_width + 2);
                self.line(line, &first, &hanging);
            }
        }
    }

    fn card(&mut self, card: &Card) {
        self.rule();
        let edge = if card.urgent { "! " } else { "  " };
        let title = words(&card.title);
        let aside = words(&card.aside);
        let (left, right) = (width_of(&title) + edge.len(), width_of(&aside));
        if left + 2 + right <= self.paper.columns() {
            self.text.push_str(edge);
            self.put(&title);
            let gap = self.paper.columns() - left - right;
            self.text.push_str(&" ".repeat(gap));
            self.put(&aside);
            self.end();
        } else {
            self.line(&card.title, edge, "    ");
            self.line(&card.aside, "    ", "    ");
        }
        for line in &card.lead {
            self.line(line, "    ", "      ");
        }
        for part in &card.parts {
            self.part(part);
        }
    }

    fn entry(&mut self, card: &Card) {
        self.line(&card.title, "", "  ");
        for line in &card.lead {
            self.line(line, "    ", "      ");
        }
        for part in &card.parts {
            self.part(part);
        }
    }

    fn part(&mut self, part: &Part) {
        for (at, line) in part.lines.iter().enumerate() {
            let first = match (at, part.letter) {
                (0, letter) if !letter.is_empty() => format!(" {letter}  "),
                _ => "    ".to_owned(),
            };
            self.line(line, &first, "      ");
        }
    }

    fn table(&mut self, table: &Table) {
        let widths = column_widths(table, self.paper.columns());
        let head: Vec<Line> = table
            .head
            .iter()
            .map(|name| Line::new().quiet(*name))
            .collect();
        self.row(&head, &widths);
        for row in &table.rows {
            self.row(row, &widths);
        }
    }

    fn row(&mut self, cells: &[Line], widths: &[usize]) {
        let wrapped: Vec<Vec<Vec<Word>>> = cells
            .iter()
            .zip(widths)
            .map(|(cell, width)| wrap(cell, *width, 0))
            .collect();
        let height = wrapped.iter().map(Vec::len).max().unwrap_or(0);
        for at in 0..height {
            for (cell, width) in wrapped.iter().zip(widths) {
                let words = cell.get(at).map_or(&[][..], Vec::as_slice);
                self.put(words);
                let pad = width.saturating_sub(width_of(words)) + 2;
                self.text.push_str(&" ".repeat(pad));
            }
            self.end();
        }
    }
}

/// Natural widths, the widest columns cut until all fit: down to the longest word of each
/// first, and further only where even that is too much.
fn column_widths(table: &Table, columns: usize) -> Vec<usize> {
    let count = table.head.len();
    let of_column = |column: usize, measure: fn(&[Word]) -> usize| {
        let cells = table.rows.iter().filter_map(|row| row.get(column));
        let widest = cells.map(|cell| measure(&words(cell))).max().unwrap_or(0);
        widest.max(table.head[column].width())
    };
    let mut widths: Vec<usize> = (0..count).map(|at| of_column(at, width_of)).collect();
    let longest: Vec<usize> = (0..count).map(|at| of_column(at, longest_word)).collect();
    let room = columns
        .saturating_sub(2 * count.saturating_sub(1))
        .max(4 * count);
    while widths.iter().sum::<usize>() > room {
        let spare = |at: &usize| widths[*at].saturating_sub(longest[*at]);
        let roomy = (0..count)
            .filter(|at| spare(at) > 0)
            .max_by_key(|at| widths[*at]);
        let widest = (0..count).max_by_key(|at| widths[*at]);
        match roomy.or(widest) {
            Some(at) if widths[at] > 1 => widths[at] -= 1,
            _ => break,
        }
    }
    widths
}

fn longest_word(words: &[Word]) -> usize {
    words.iter().map(Word::width).max().unwrap_or(0)
}

/// Legible on light and dark: bold, faint, reverse, and colours that have a word beside them.
const fn code(tone: Tone) -> Option<&'static str> {
    match tone {
        Tone::Plain => None,
        Tone::Strong => Some("\u{1b}[1m"),
        Tone::Quiet => Some("\u{1b}[2m"),
        Tone::Alarm => Some("\u{1b}[1;31m"),
        Tone::Warn => Some("\u{1b}[35m"),
        Tone::New => Some("\u{1b}[7m"),
        Tone::Human => Some("\u{1b}[32m"),
        Tone::Computed => Some("\u{1b}[36m"),
        Tone::Struck => Some("\u{1b}[9m"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, width: usize) -> Vec<String> {
        super::line(&Line::of(text), Paper::plain(width))
            .lines()
            .map(str::to_owned)
            .collect()
    }

    proptest::proptest! {
        /// Nothing is lost, nothing is wider than the paper, nothing can be obeyed.
        #[test]
        fn wrapping_keeps_every_word(text in "(\\PC{1,60} ?){0,12}", width in 40_usize..120) {
            let lines = shown(&text, width);
            for line in &lines {
                proptest::prop_assert!(line.width() <= width, "{line:?} is wider than {width}");
                proptest::prop_assert!(!line.chars().any(escape::needs_mark));
            }
            let kept: String = lines.concat().split_whitespace().collect();
            let given = escape::terminal_line(&text);
            let given: String = given.split_whitespace().collect();
            proptest::prop_assert_eq!(kept, given);
        }
    }

    #[test]
    fn styles_only_where_wanted_and_never_in_the_words() {
        let line = Line::new().alarm("ALERT").plain("a\u{1b}[31mb");
        let plain = super::line(&line, Paper::plain(80));
        assert_eq!(plain, "ALERT a\u{241b}[31mb\n");
        let paper = Paper {
            width: 80,
            styled: true,
        };
        let styled = super::line(&line, paper);
        assert_eq!(styled, "\u{1b}[1;31mALERT\u{1b}[0m a\u{241b}[31mb\n");
    }
}

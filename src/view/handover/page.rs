//! The sheet in words, for text and HTML alike.

use super::left::{LeftBlock, WardBlock};
use super::{Head, PatientBlock, Sheet, WithdrawnLine, body_words, strip_words};
use crate::view::origin::{NameRef, Writer};
use crate::view::page::{
    Block, Card, Dial, Line, Page, Part, Table, Tone, journal_mark, nothing_yet,
};
use crate::view::words;

impl Sheet {
    /// The sheet in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let dial = Dial {
            zone: self.head.zone,
            now: self.head.as_of,
        };
        let mut blocks = vec![
            Block::Heading("Ward".into()),
            Block::Facts(strip_words::facts(&self.strip, dial)),
        ];
        let ward = ward_lines(&self.ward, dial);
        if !ward.is_empty() {
            blocks.push(Block::Lines(ward));
        }
        if !self.keys.is_empty() {
            let lines = self.keys.iter().map(|line| line.line(dial));
            blocks.push(Block::Lines(lines.collect()));
        }
        blocks.push(Block::Heading("Patients".into()));
        blocks.push(Block::Lines(vec![Line::new().quiet(self.rule)]));
        blocks.push(Block::Table(overview(&self.patients, dial)));
        let cards = self.patients.iter().map(|block| card(block, dial));
        blocks.push(Block::Cards(cards.collect()));
        if !self.left_open.is_empty() {
            blocks.push(Block::Heading("Left the ward, still open".into()));
            let cards = self.left_open.iter().map(|block| left_card(block, dial));
            blocks.push(Block::Cards(cards.collect()));
        }
        if !self.withdrawn.is_empty() {
            blocks.push(Block::Heading(
                "Withdrawn since the last accepted handover".into(),
            ));
            let lines = self.withdrawn.iter().map(|line| withdrawn(line, dial));
            blocks.push(Block::Lines(lines.collect()));
        }
        Page {
            title: format!("Handover, {}", self.head.ward),
            teaching: self.head.teaching,
            head: head_lines(&self.head, dial),
            as_of: format!("As of {}", dial.zone.day_date_time(self.head.as_of)),
            journal: journal_mark(self.head.journal_seq, &self.head.journal_hash),
            blocks,
            foot: vec![
                self.head.caution.to_owned(),
                format!("{}. {}", self.head.score_source, self.head.score_caution),
            ],
        }
    }
}

fn head_lines(head: &Head, dial: Dial) -> Vec<Line> {
    let named = |who: &Option<Writer>| {
        let who = who.as_ref();
        who.map_or_else(|| "not named".to_owned(), ToString::to_string)
    };
    let mut lines = vec![
        Line::new()
            .strong(format!("{} to {}", head.from_shift, head.to_shift))
            .plain("as of")
            .strong(dial.zone.day_date_time(head.as_of))
            .quiet(format!(
                "({}, 24-hour clock)",
                dial.zone.abbreviation(head.as_of)
            )),
        Line::new()
            .quiet("gives")
            .plain(format!("{};", named(&head.giver)))
            .quiet("receives")
            .plain(named(&head.receiver)),
    ];
    lines.push(nothing_yet(head.journal_seq).unwrap_or_else(|| {
        Line::new().quiet(format!(
            "drawn from the journal up to entry {}, hash {}",
            head.journal_seq, head.journal_hash
        ))
    }));
    lines.push(match head.since_accepted_at {
        Some(at) => Line::new().with(Tone::New, "[new]").quiet(format!(
            "marks what was written since the sheet accepted {}",
            dial.at(at)
        )),
        None => {
            Line::new().quiet("no handover was accepted before this one: nothing is marked as new")
        }
    });
    if let Some(opening) = &head.opening {
        lines.push(
            Line::new()
                .with(Tone::Human, "[human]")
                .strong(format!("{} first:", giver_name(head)))
                .plain(opening),
        );
    }
    lines
}

fn giver_name(head: &Head) -> &str {
    head.giver.as_ref().map_or("The giver", |giver| &giver.name)
}

fn card(block: &PatientBlock, dial: Dial) -> Card {
    let new = if block.is_new { "[new] admitted" } else { "" };
    let slot = block.identity.slot.as_deref().unwrap_or("no slot");
    Card {
        title: Line::new()
            .quiet(format!("{}.", block.place))
            .strong(slot)
            .strong(&block.identity.name)
            .with(Tone::New, new),
        aside: Line::new().quiet(block.stands_by.label()),
        urgent: block.stands_by <= super::Standing::CriticalResult,
        lead: body_words::identity(block),
        parts: vec![
            part("S", "Situation", body_words::situation(block, dial)),
            part("B", "Background", body_words::background(block, dial)),
            part("A", "Assessment", body_words::assessment(block, dial)),
            part(
                "R",
                "Recommendation",
                body_words::recommendation(block, dial),
            ),
        ],
    }
}

/// One line a patient, so that the whole ward is on one screen or one side of paper.
fn overview(patients: &[PatientBlock], dial: Dial) -> Table {
    Table {
        head: vec!["", "Patient", "NEWS2", "Readings", "Open", "Next due"],
        rows: patients
            .iter()
            .map(|block| overview_row(block, dial))
            .collect(),
    }
}

fn overview_row(block: &PatientBlock, dial: Dial) -> Vec<Line> {
    let now = &block.situation;
    let score = body_words::short_score(now, dial);
    let read = match (&now.score, &now.silence) {
        (Some(score), None) => Line::of(dial.ago(score.origin.occurred_at)),
        (Some(score), Some(_)) => Line::new().warn(format!(
            "silent {}",
            dial.now.since(score.origin.occurred_at).spoken()
        )),
        (None, _) => Line::new().warn("silent, none yet"),
    };
    let next = block.recommendation.due.iter().find(|due| !due.overdue);
    let slot = block.identity.slot.clone().unwrap_or_default();
    vec![
        Line::new().quiet(block.place.to_string()),
        Line::new()
            .strong(slot)
            .plain(&block.identity.name)
            .with(Tone::New, if block.is_new { "[new]" } else { "" }),
        score,
        read,
        overview_open(block, dial),
        or_none(Line::of(
            next.map(|due| dial.at(due.due)).unwrap_or_default(),
        )),
    ]
}

fn overview_open(block: &PatientBlock, dial: Dial) -> Line {
    let now = &block.situation;
    let many = |many: usize, one: &str, more: &str| match many {
        0 => String::new(),
        many => words::count(many, one, more),
    };
    let overdue = block.recommendation.due.iter().filter(|due| due.overdue);
    let unreached = now.unreached.as_ref().map_or("", |_| "not reached");
    let unseen = super::Unseen::of(&block.assessment.results);
    let line = Line::new().listed([
        (
            Tone::Alarm,
            many(now.escalations.len(), "escalation", "escalations"),
        ),
        (Tone::Alarm, many(now.alerts.len(), "alert", "alerts")),
        words::unseen(unseen, dial),
        (Tone::Warn, unreached.to_owned()),
        (Tone::Warn, many(overdue.count(), "overdue", "overdue")),
    ]);
    or_none(line)
}

/// An empty cell could be a hole; a word is an answer.
fn or_none(line: Line) -> Line {
    if line.is_empty() {
        line.quiet("none")
    } else {
        line
    }
}

const fn part(letter: &'static str, name: &'static str, lines: Vec<Line>) -> Part {
    Part {
        letter,
        name,
        lines,
    }
}

fn left_card(block: &LeftBlock, dial: Dial) -> Card {
    let left = match (block.left_at, block.to) {
        (Some(at), Some(to)) => format!("left {}: {to}", dial.at(at)),
        _ => "never admitted in this journal".to_owned(),
    };
    let mut lines: Vec<Line> = Vec::new();
    lines.extend(
        block
            .escalations
            .iter()
            .map(|e| body_words::escalation(e, dial)),
    );
    lines.extend(block.alerts.iter().map(|a| body_words::alert(a, dial)));
    lines.extend(block.results.iter().map(|r| body_words::result(r, dial)));
    lines.extend(block.supplies.iter().map(|s| body_words::supply(s, dial)));
    lines.extend(block.due.iter().map(|d| body_words::due(d, dial)));
    lines.extend(block.queries.iter().map(|q| body_words::query(q, dial)));
    Card {
        title: Line::new().strong(block.who.to_string()),
        aside: Line::new().quiet(left),
        urgent: !block.escalations.is_empty()
            || !block.alerts.is_empty()
            || super::Unseen::of(&block.results).is_some_and(|unseen| unseen.critical > 0),
        lead: vec![Line::new().plain(block.number.clone().unwrap_or_default())],
        parts: vec![part("", "Still open", lines)],
    }
}

fn ward_lines(block: &WardBlock, dial: Dial) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    lines.extend(block.alerts.iter().map(|a| body_words::alert(a, dial)));
    lines.extend(block.queries.iter().map(|q| body_words::query(q, dial)));
    lines.extend(block.due.iter().map(|d| body_words::due(d, dial)));
    lines.extend(block.notes.iter().map(|n| words::human("", n, dial)));
    lines
}

fn withdrawn(line: &WithdrawnLine, dial: Dial) -> Line {
    let anew = match line.entered_anew {
        Some(seq) => format!("entered anew as {seq}"),
        None => String::new(),
    };
    let who = line.who.as_ref().map(NameRef::to_string);
    Line::new()
        .warn("WITHDRAWN:")
        .with(Tone::Struck, format!("{} {}", line.kind, line.seq))
        .plain(who.unwrap_or_else(|| "ward".to_owned()))
        .plain(format!(
            "({}; withdrawn by {})",
            line.cause, line.withdrawn_by
        ))
        .plain(anew)
        .quiet(format!(
            "written {} by {}",
            dial.at(line.recorded_at),
            line.by
        ))
}

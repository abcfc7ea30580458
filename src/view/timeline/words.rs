//! Timelines and entries in words.

use super::{EntryLine, EntryStanding, EntryView, FieldLine, Heading, Timeline};
use crate::record::field::{FieldSpec, Shape};
use crate::record::kind::Kind;
use crate::record::time::show_date;
use crate::view::page::{Block, Card, Dial, Line, Page, Part, Tone, journal_mark, nothing_yet};
use crate::view::words;
use crate::ward::Patient;

/// `born 14-Mar-1955; NHS 999 555 6316`.
pub(super) fn identifiers(patient: &Patient) -> Option<String> {
    let details = patient.details.as_ref()?;
    let number = match (details.nhs, &details.local_number) {
        (Some(nhs), _) => format!("NHS {nhs}"),
        (None, Some(local)) => format!("local {local}"),
        (None, None) => "no number recorded".to_owned(),
    };
    Some(format!(
        "born {}; {number}",
        show_date(details.born.to_date())
    ))
}

impl Heading {
    /// How moments are written beside this view's own.
    #[must_use]
    pub const fn dial(&self) -> Dial {
        Dial {
            zone: self.zone,
            now: self.as_of,
        }
    }

    /// A page of this view with nothing on it yet.
    #[must_use]
    pub fn page(&self, title: String) -> Page {
        Page {
            title,
            teaching: self.teaching,
            head: std::iter::once(
                Line::new()
                    .plain(&self.ward)
                    .quiet("as of")
                    .strong(self.zone.day_date_time(self.as_of))
                    .quiet(format!(
                        "({}, 24-hour clock)",
                        self.zone.abbreviation(self.as_of)
                    )),
            )
            .chain(nothing_yet(self.journal_seq))
            .collect(),
            as_of: format!("As of {}", self.zone.day_date_time(self.as_of)),
            journal: journal_mark(self.journal_seq, &self.journal_hash),
            blocks: Vec::new(),
            foot: Vec::new(),
        }
    }
}

impl Timeline {
    /// The timeline in words, a heading for each day.
    #[must_use]
    pub fn page(&self) -> Page {
        let title = match &self.who {
            Some(who) => format!("Timeline of {who}"),
            None => "Timeline of the ward itself".to_owned(),
        };
        let mut page = self.heading.page(title);
        page.head
            .extend(self.identifiers.iter().map(|ids| Line::of(ids.clone())));
        page.head.extend(words::similar_names(&self.similar_names));
        let zone = self.heading.zone;
        page.head.extend(self.left_at.map(|at| {
            Line::new().alarm(format!("LEFT THE WARD {}", self.heading.dial().at_ago(at)))
        }));
        let days = self
            .entries
            .chunk_by(|a, b| zone.date(a.occurred_at) == zone.date(b.occurred_at));
        for day in days {
            let date = zone
                .local(day[0].occurred_at)
                .format("%a %d-%b-%Y")
                .to_string();
            page.blocks.push(Block::Heading(date));
            let cards = day.iter().map(|entry| card(entry, self.heading.dial()));
            page.blocks.push(Block::Entries(cards.collect()));
        }
        if self.entries.is_empty() {
            page.blocks.push(Block::Lines(vec![Line::of("No entry.")]));
        }
        if self.accesses_left_out > 0 {
            let left_out = words::count(self.accesses_left_out, "entry", "entries");
            page.blocks
                .push(Block::Lines(vec![Line::new().quiet(format!(
                "Who opened the record is not here: {left_out} of the access record, see `access`."
            ))]));
        }
        page.foot = vec![crate::clinical::CAUTION.to_owned()];
        page
    }
}

impl EntryView {
    /// The entry in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = self.heading.page(format!("Entry {}", self.entry.seq));
        let who = self
            .who
            .as_ref()
            .map(|who| Line::new().strong(who.to_string()));
        page.head.extend(who);
        page.head.extend(words::similar_names(&self.similar_names));
        page.blocks
            .push(Block::Entries(vec![card(&self.entry, self.heading.dial())]));
        let zone = self.heading.zone;
        let named = |label: &str, text: Option<String>| {
            text.map(|text| Line::new().quiet(label).plain(text))
        };
        let confirmed = Some(self.confirmed.join(", ")).filter(|fields| !fields.is_empty());
        let lines = [
            named("happened", Some(zone.day_date_time(self.entry.occurred_at))),
            named("written", Some(zone.day_date_time(self.entry.recorded_at))),
            named("unusual, confirmed by the writer:", confirmed),
            named("stay", self.episode.map(|seq| seq.to_string())),
            named("hash", self.hash.map(|hash| hash.to_string())),
            named("entry id", self.id.map(|id| id.to_string())),
            named("signed with key", Some(self.author_key.to_string())),
            named(
                "patient in the journal",
                self.patient.map(|id| id.to_string()),
            ),
        ];
        page.blocks
            .push(Block::Lines(lines.into_iter().flatten().collect()));
        page
    }
}

fn card(entry: &EntryLine, dial: Dial) -> Card {
    let withdrawn = matches!(entry.standing, EntryStanding::Withdrawn { .. });
    let tone = if withdrawn {
        Tone::Struck
    } else {
        Tone::Strong
    };
    let at = dial.zone.clock_time(entry.occurred_at);
    let at = if entry.approximate {
        format!("approx {at}")
    } else {
        at
    };
    Card {
        title: words::new_mark(entry.is_new)
            .strong(at)
            .with(tone, entry.title)
            .quiet(entry.seq.to_string())
            .quiet(entry.by.to_string()),
        aside: Line::new(),
        urgent: false,
        lead: lead(entry, dial),
        parts: vec![Part {
            letter: "",
            name: entry.title,
            lines: body(entry, withdrawn),
        }],
    }
}

/// Lateness and standing: what a reader must know before the words themselves.
fn lead(entry: &EntryLine, dial: Dial) -> Vec<Line> {
    let mut lines = Vec::new();
    if entry.late {
        let after = entry.recorded_at.since(entry.occurred_at).spoken();
        let written = dial.zone.day_date_time(entry.recorded_at);
        let why = entry
            .late_reason
            .as_ref()
            .map(|why| format!("because {why}"));
        lines.push(
            Line::new()
                .warn(format!("LATE: written {written}, {after} after"))
                .plain(why.unwrap_or_else(|| "(no reason given)".to_owned())),
        );
    }
    if let Some(why) = &entry.unreadable {
        lines.push(Line::new().warn("CANNOT BE READ:").plain(why));
    }
    if let Some(answer) = entry.answered_by {
        lines.push(Line::new().quiet("answered by").strong(answer.to_string()));
    }
    match &entry.standing {
        EntryStanding::Stands => {}
        EntryStanding::Withdrawn {
            by,
            cause,
            reason,
            entered_anew,
        } => lines.push(
            Line::new()
                .warn(format!("WITHDRAWN by {by}: {cause}."))
                .plain(reason.clone().unwrap_or_default())
                .strong(
                    entered_anew
                        .map(|seq| format!("Entered anew as {seq}."))
                        .unwrap_or_default(),
                ),
        ),
        EntryStanding::Corrected {
            by,
            cause,
            reason,
            occurred_at,
            ..
        } => {
            let cause = cause.map_or("reason not readable", |cause| cause.label());
            let moved =
                occurred_at.map(|at| format!("It happened {}.", dial.zone.day_date_time(at)));
            lines.push(
                Line::new()
                    .warn(format!("CORRECTED by {by}: {cause}."))
                    .plain(reason.clone().unwrap_or_default())
                    .strong(moved.unwrap_or_default()),
            );
        }
    }
    lines
}

/// Readings and codes share a line; a person's words have their own.
fn shares_line(specs: &[FieldSpec], field: &FieldLine) -> bool {
    let spec = specs.iter().find(|spec| spec.name == field.name);
    let words =
        spec.is_none_or(|spec| matches!(spec.shape, Shape::Line | Shape::Note | Shape::Secret));
    !words && field.text.chars().count() <= 32
}

/// A further line of somebody's words: marked, so that it cannot pass for a line of ours.
fn continued(tone: Tone, text: &str) -> Line {
    Line::new().quiet("|").with(tone, text)
}

fn body(entry: &EntryLine, withdrawn: bool) -> Vec<Line> {
    let corrected = match &entry.standing {
        EntryStanding::Corrected { fields, .. } => fields.as_slice(),
        _ => &[],
    };
    let mut lines: Vec<Line> = Vec::new();
    let mut short = Line::new();
    let specs = Kind::from_name(entry.kind)
        .map(Kind::specs)
        .unwrap_or_default();
    for field in &entry.fields {
        let now = corrected.iter().find(|c| c.name == field.name);
        let tone = if withdrawn || now.is_some() {
            Tone::Struck
        } else {
            Tone::Plain
        };
        let label = field.name.replace('_', " ");
        if now.is_none() && shares_line(&specs, field) {
            short = short.quiet(label).with(tone, format!("{};", field.text));
            continue;
        }
        lines.extend(Some(std::mem::take(&mut short)).filter(|line| !line.is_empty()));
        // Text over several lines keeps them.
        let mut parts = field.text.split('\n');
        let first = parts.next().unwrap_or_default();
        lines.push(Line::new().quiet(format!("{label}:")).with(tone, first));
        lines.extend(parts.map(|part| continued(tone, part)));
        if let Some(now) = now {
            let mut parts = now.is.as_deref().unwrap_or("(taken out)").split('\n');
            let first = parts.next().unwrap_or_default();
            lines.push(Line::new().warn("corrected to").strong(first));
            lines.extend(parts.map(|part| continued(Tone::Strong, part)));
        }
    }
    lines.extend(Some(short).filter(|line| !line.is_empty()));
    for added in corrected.iter().filter(|c| c.was.is_none()) {
        let is = added.is.clone().unwrap_or_default();
        let label = format!("{}:", added.name.replace('_', " "));
        lines.push(
            Line::new()
                .quiet(label)
                .warn("added by the correction")
                .strong(is),
        );
    }
    lines.extend(entry.computed.iter().filter(|_| !withdrawn).map(|said| {
        let now = if corrected.is_empty() {
            ""
        } else {
            "(as corrected)"
        };
        Line::new()
            .with(Tone::Computed, "[computed]")
            .plain(said)
            .quiet(now)
    }));
    let related = entry.links.iter().filter(|link| link.name == "related");
    let related: Vec<String> = related.map(|link| link.seq.to_string()).collect();
    if !related.is_empty() {
        lines.push(Line::new().quiet("belongs with").plain(related.join(" ")));
    }
    lines
}

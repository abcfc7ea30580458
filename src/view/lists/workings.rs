//! What the program worked out about one patient: each statement with its numbers, what it
//! rests on, its source and its caution.

use serde::Serialize;

use crate::clinical::CAUTION;
use crate::record::time::Span;
use crate::view::origin::{NameRef, Vantage};
use crate::view::page::{Block, Line, Page, Tone};
use crate::view::timeline::Heading;
use crate::view::words;
use crate::ward::Patient;
use crate::ward::workings::{About, Weight, Working, workings, workings_over};

/// Name and version of the JSON form.
pub const WORKINGS_SCHEMA: &str = "handfast.workings/1";

/// What was worked out about one patient.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Workings {
    /// [`WORKINGS_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// Whose.
    pub who: NameRef,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
    /// Each statement, most pressing first.
    pub workings: Vec<Working>,
}

/// What can be worked out about a patient, as seen from a vantage.
#[must_use]
pub fn workings_of(vantage: &Vantage<'_>, patient: &Patient) -> Workings {
    Workings {
        schema: WORKINGS_SCHEMA,
        heading: Heading::of(vantage),
        who: NameRef::of(patient),
        similar_names: vantage.similar_names(Some(patient)),
        workings: workings(vantage.ward, patient, vantage.now),
    }
}

/// As [`workings_of`], with the fluid balance over another window than the policy's.
#[must_use]
pub fn workings_of_window(vantage: &Vantage<'_>, patient: &Patient, fluid: Span) -> Workings {
    Workings {
        workings: workings_over(vantage.ward, patient, vantage.now, fluid),
        ..workings_of(vantage, patient)
    }
}

/// A statement in one line, marked as computed.
#[must_use]
pub fn working_line(working: &Working) -> Line {
    let line = Line::new().with(Tone::Computed, "[computed]");
    match working.weight {
        Weight::Act => line.alarm(&working.text),
        Weight::Look | Weight::Say => line.plain(&working.text),
    }
}

impl Workings {
    /// In words.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = self.heading.page(format!("Workings, {}", self.who));
        page.head.extend(words::similar_names(&self.similar_names));
        if self.workings.is_empty() {
            let nothing = "Nothing can be worked out: no readings, results or measurements are recorded in this stay.";
            page.blocks.push(Block::Lines(vec![Line::of(nothing)]));
        }
        for about in About::ALL {
            let of_matter: Vec<&Working> = self
                .workings
                .iter()
                .filter(|working| working.about == about)
                .collect();
            if of_matter.is_empty() {
                continue;
            }
            page.blocks
                .push(Block::Heading(about.label().to_uppercase()));
            // Those with one source stand together, and it is named once under them.
            let mut shown = Vec::new();
            for alike in of_matter.chunk_by(|a, b| (a.source, a.caution) == (b.source, b.caution)) {
                shown.extend(alike.iter().flat_map(|working| lines(working)));
                let [last, ..] = alike else { continue };
                let source = format!("Source: {}. {}", last.source, last.caution);
                shown.push(Line::new().quiet(source));
            }
            page.blocks.push(Block::Lines(shown));
        }
        page.foot = vec![CAUTION.to_owned()];
        page
    }
}

fn lines(working: &Working) -> Vec<Line> {
    let mut parts: Vec<String> = working
        .parts
        .iter()
        .map(|part| format!("{} {}", part.name, part.value))
        .collect();
    parts.extend(entries(working));
    let parts = (!parts.is_empty()).then(|| Line::new().quiet(format!("  {}", parts.join("; "))));
    std::iter::once(working_line(working))
        .chain(parts)
        .collect()
}

/// The newest few entries it rests on, by number.
fn entries(working: &Working) -> Option<String> {
    const NAMED: usize = 4;
    let newest: Vec<String> = working
        .entries
        .iter()
        .rev()
        .take(NAMED)
        .map(ToString::to_string)
        .collect();
    let more = working.entries.len().saturating_sub(NAMED);
    match (newest.is_empty(), more) {
        (true, _) => None,
        (false, 0) => Some(format!("from {}", newest.join(" "))),
        (false, more) => Some(format!("from {} and {more} earlier", newest.join(" "))),
    }
}

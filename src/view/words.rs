//! Phrases that several views share.

use std::collections::BTreeMap;

use super::handover::Unseen;
use super::origin::{NameRef, Origin, Statement, Writer};
use super::page::{Dial, Line, Tone};
use crate::record::kind::episode::Resuscitation;

/// `[late: written 23:10, 1hr 5min after]`, `[corrected]`.
#[must_use]
pub fn marks(origin: &Origin, dial: Dial) -> Line {
    let mut line = Line::new();
    if origin.late {
        line = line.warn(late(origin, dial));
    }
    if origin.corrected {
        line = line.warn("[corrected]");
    }
    line
}

/// `[new]` at the front of a line, where an eye going down the page finds it.
#[must_use]
pub fn new_mark(is_new: bool) -> Line {
    Line::new().with(Tone::New, if is_new { "[new]" } else { "" })
}

fn late(origin: &Origin, dial: Dial) -> String {
    let after = origin.recorded_at.since(origin.occurred_at).spoken();
    format!(
        "[late: written {}, {after} after]",
        dial.at(origin.recorded_at)
    )
}

/// `22:10`, or `approx 22:10`.
#[must_use]
pub fn when(origin: &Origin, dial: Dial) -> String {
    let at = dial.at(origin.occurred_at);
    if origin.approximate {
        format!("approx {at}")
    } else {
        at
    }
}

/// What a person wrote as a sentence, so that what follows cannot be read as part of it.
#[must_use]
pub fn ended(text: &str) -> String {
    let text = text.trim_end();
    let has_end = text.is_empty() || text.ends_with(['.', ';', '!', '?', ':']);
    format!("{text}{}", if has_end { "" } else { ";" })
}

/// `- Orla Quillfeather (RN), 22:10 #312`, with its marks.
#[must_use]
pub fn signed(origin: &Origin, dial: Dial) -> Line {
    Line::new()
        .quiet(format!(
            "- {}, {} {}",
            origin.by,
            when(origin, dial),
            origin.seq
        ))
        .then(marks(origin, dial))
}

/// The same where the line has said when.
#[must_use]
pub fn by(origin: &Origin, dial: Dial) -> Line {
    Line::new()
        .quiet(format!("- {} {}", origin.by, origin.seq))
        .then(marks(origin, dial))
}

/// A person's words: `[human] "…" the patient says; Orla Quillfeather (RN), 22:10 #312`.
#[must_use]
pub fn human(label: &str, statement: &Statement, dial: Dial) -> Line {
    let said_by = statement.said_by.map(|by| format!("({by})"));
    let topic = statement.topic.map(|topic| format!("{topic}:"));
    new_mark(statement.origin.is_new)
        .with(Tone::Human, "[human]")
        .strong(label)
        .strong(topic.filter(|_| label.is_empty()).unwrap_or_default())
        .plain(&statement.text)
        .plain(said_by.unwrap_or_default())
        .then(signed(&statement.origin, dial))
}

/// What stands where nobody has recorded anything.
pub const NOT_RECORDED: &str = "not recorded";

/// Whether CPR is to be attempted, so that it cannot be read as about anything else:
/// `CPR to be attempted`, `DNACPR recorded`, `CPR not discussed`.
#[must_use]
pub const fn cpr(decided: Resuscitation) -> &'static str {
    match decided {
        Resuscitation::Attempt => "CPR to be attempted",
        Resuscitation::DoNotAttempt => "DNACPR recorded",
        Resuscitation::NotDiscussed => "CPR not discussed",
    }
}

/// Beside a name that somebody else on the ward has too, or nearly.
#[must_use]
pub fn similar_mark(others: &[NameRef]) -> Line {
    Line::new().warn(if others.is_empty() {
        ""
    } else {
        "SIMILAR NAME"
    })
}

/// `SIMILAR NAME ON THE WARD: S2 LARKMEDE, Tom`; nothing where no name is.
#[must_use]
pub fn similar_names(others: &[NameRef]) -> Option<Line> {
    let line = Line::new().warn("SIMILAR NAME ON THE WARD:");
    (!others.is_empty()).then(|| line.plain(names(others)))
}

/// Under a list in which one patient may have many rows: each whose name is similar, once.
#[must_use]
pub fn similar_under_list<'a>(
    rows: impl Iterator<Item = (Option<&'a NameRef>, &'a [NameRef])>,
) -> Vec<Line> {
    let similar = rows.filter_map(|(who, others)| Some((who?, others)));
    let similar = similar.filter(|(_, others)| !others.is_empty());
    let each: BTreeMap<&NameRef, &[NameRef]> = similar.collect();
    let mut each: Vec<_> = each.into_iter().collect();
    each.sort_by_key(|(who, _)| (&who.slot, &who.name));
    let line = |(who, others): (&NameRef, &[NameRef])| {
        Line::new()
            .warn("SIMILAR NAME")
            .plain(format!("{who}: {}", names(others)))
    };
    each.into_iter().map(line).collect()
}

/// `S2 LARKMEDE, Tom; S5 LARKMEAD, Jo`.
#[must_use]
pub fn names(names: &[NameRef]) -> String {
    let names: Vec<String> = names.iter().map(ToString::to_string).collect();
    names.join("; ")
}

/// `nobody`, or the person.
#[must_use]
pub fn owner(owner: Option<&Writer>) -> String {
    owner.map_or_else(|| "nobody".to_owned(), ToString::to_string)
}

/// Whose work it is: a person, any of a role, or nobody.
#[must_use]
pub fn whose(person: Option<&Writer>, role: Option<crate::record::role::Role>) -> String {
    match (person, role) {
        (None, Some(role)) => format!("any {}", role.label().to_lowercase()),
        (person, _) => owner(person),
    }
}

/// `1 alert`, `2 alerts`.
#[must_use]
pub fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// `+3`, `-1`, `no change`.
#[must_use]
pub fn points(points: i16) -> String {
    match points {
        0 => "no change".to_owned(),
        more => format!("{more:+}"),
    }
}

/// One of two words by number.
#[must_use]
pub const fn plural(number: usize, one: &'static str, many: &'static str) -> &'static str {
    if number == 1 { one } else { many }
}

/// Results nobody has seen, for the Open cell of a table; nothing if there are none.
#[must_use]
pub fn unseen(unseen: Option<Unseen>, dial: Dial) -> (Tone, String) {
    match unseen {
        None => (Tone::Plain, String::new()),
        Some(unseen) if unseen.critical > 0 => (Tone::Alarm, unseen.short(dial.now)),
        Some(unseen) => (Tone::Warn, unseen.short(dial.now)),
    }
}

//! Imports point downward only.

use crate::tree::{Source, sources};

/// Each layer and what it may import: a layer, or single things of one.
const LAYERS: &[(&str, &[&str])] = &[
    ("record", &[]),
    ("clinical", &["record"]),
    ("shorthand", &["record"]),
    // Payloads are opaque bytes to the journal.
    ("journal", &["record::ids", "record::time"]),
    ("ward", &["record", "clinical", JOURNAL_READING]),
    ("view", &["record", "clinical", "ward"]),
    (
        "station",
        &["record", "clinical", "journal", "ward", "view"],
    ),
    // The demonstration: a story told to a station.
    (
        "demo",
        &["record", "clinical", "ward", "station", JOURNAL_FOLDER],
    ),
    // One way for both edges to read a line of bounded length; no layer below reads lines.
    ("line_input", &[]),
    // The edges. They name the ward's types, which the station hands out, and never fold.
    (
        "cli",
        &[
            "record",
            "shorthand",
            "station",
            "view",
            "ward",
            "demo",
            "line_input",
            CALCULATORS,
            CLI_JOURNAL,
        ],
    ),
    (
        "shell",
        &[
            "record",
            "shorthand",
            "station",
            "view",
            "ward",
            "line_input",
            "clinical::calculator",
        ],
    ),
    // Chooses the edge.
    ("main", &["cli", "shell"]),
    ("lib", &[]),
];

/// The journal's read side, and the layout that says where the index lies.
const JOURNAL_READING: &str = "journal::{open_with, payload_of, FileFaults, FileReader, Frame, Head, Layout, Opening, Payload, ReadError, ReadJournal, SealFault, SegmentMarks}";
const JOURNAL_FOLDER: &str = "journal::{Layout, OpenError}";
const CALCULATORS: &str = "clinical::{calculator, policy}";
/// The verifier and signed notes, so that governance works on bare files; the errors a message is made of; and how a
/// file is replaced whole.
const CLI_JOURNAL: &str = "journal::{note, verify, AppendError, Head, OpenError, ReadError, FORMAT_VERSION, read_small_file, replace_small_file}";

/// Whether an import such as `journal::verify::Finding` is covered by a rule.
fn covers(rule: &str, import: &str) -> bool {
    let begins = |start: &str| {
        let rest = import.strip_prefix(start);
        rest.is_some_and(|rest| rest.is_empty() || rest.starts_with("::"))
    };
    match rule.split_once("::{") {
        None => begins(rule),
        Some((layer, names)) => {
            let names = names.trim_end_matches('}').split(", ");
            names
                .map(|name| format!("{layer}::{name}"))
                .any(|start| begins(&start))
        }
    }
}

/// Every path of ours that a file names, from the crate's root: `crate::a::{b, c::d}` is
/// `a::b` and `a::c::d`.
fn imports(source: &Source) -> Vec<String> {
    let mut found = Vec::new();
    for start in ["crate::", "handfast::"] {
        for (at, _) in source.code.match_indices(start) {
            let before = source.code[..at].chars().next_back();
            if !before.is_some_and(|c| c.is_alphanumeric() || c == '_') {
                expand("", &source.code[at + start.len()..], &mut found);
            }
        }
    }
    found.extend(climbs(source));
    found
}

/// Reads one path, or a braced list of them, and returns what is behind it.
fn expand<'a>(prefix: &str, text: &'a str, found: &mut Vec<String>) -> &'a str {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        while let Some(inside) =
            Some(rest.trim_start()).filter(|r| !r.starts_with('}') && !r.is_empty())
        {
            rest = expand(prefix, inside, found).trim_start();
            rest = rest.strip_prefix(',').unwrap_or(rest);
        }
        return rest.trim_start().strip_prefix('}').unwrap_or("");
    }
    let end = text
        .find(|c: char| !(c.is_alphanumeric() || c == '_' || c == '*'))
        .unwrap_or(text.len());
    let (name, rest) = text.split_at(end);
    let path = if prefix.is_empty() {
        name.to_owned()
    } else {
        format!("{prefix}::{name}")
    };
    if let Some(further) = rest.strip_prefix("::") {
        return expand(&path, further, found);
    }
    found.push(path);
    // `as other`
    let rest = rest.trim_start();
    match rest.strip_prefix("as ") {
        Some(renamed) => renamed.trim_start_matches(|c: char| c.is_alphanumeric() || c == '_'),
        None if rest.is_empty() || end > 0 => rest,
        // Not a path at all: step over one character, so that a list always ends.
        None => &rest[rest.chars().next().map_or(0, char::len_utf8)..],
    }
}

/// `super::super::journal` from a file two modules deep is the journal as well.
fn climbs(source: &Source) -> Vec<String> {
    let climb = "super::".repeat(source.depth());
    let after = source
        .code
        .match_indices(&climb)
        .map(|(at, _)| &source.code[at + climb.len()..]);
    let names = after.map(|rest| {
        rest.split(|c: char| !(c.is_alphanumeric() || c == '_'))
            .next()
            .unwrap()
    });
    let is_layer = |name: &&str| LAYERS.iter().any(|(layer, _)| layer == name);
    names.filter(is_layer).map(str::to_owned).collect()
}

fn forbidden(source: &Source) -> Vec<String> {
    let layer = source.layer();
    let Some((_, allowed)) = LAYERS.iter().find(|(known, _)| *known == layer) else {
        return vec![format!(
            "{}: an unknown layer; add it to the picture first",
            source.path
        )];
    };
    let upward = imports(source).into_iter().filter(|import| {
        let to = import.split("::").next().unwrap();
        let is_ours = LAYERS.iter().any(|(known, _)| *known == to);
        is_ours && to != layer && !allowed.iter().any(|rule| covers(rule, import))
    });
    upward
        .map(|import| format!("{} imports {import}", source.path))
        .collect()
}

#[test]
fn imports_point_downward_only() {
    let found: Vec<_> = sources().iter().flat_map(forbidden).collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn this_test_would_see_an_upward_import() {
    let file = |path: &str, code: &str| Source {
        path: path.to_owned(),
        code: code.to_owned(),
    };
    for (path, code, expected) in [
        ("src/record/ids.rs", "use crate::ward::Ward;", 1),
        (
            "src/journal/frame.rs",
            "use crate::record::{ids::{Seq, EntryHash}, time::Timestamp};",
            0,
        ),
        (
            "src/journal/frame.rs",
            "use crate::record::{ids::Seq, kind::{Body, Kind}};",
            2,
        ),
        ("src/journal.rs", "use super::record::kind::Kind;", 1),
        (
            "src/ward/fold.rs",
            "use crate::journal::{Frame, FileStore as Store, Head};",
            1,
        ),
        (
            "src/view/lists.rs",
            "fn f() { crate::station::Station::open(p) }",
            1,
        ),
        (
            "src/view/lists.rs",
            "use super::super::station::Station;",
            1,
        ),
        ("src/view/lists.rs", "use super::render;", 0),
        (
            "src/cli/verify.rs",
            "use crate::journal::verify::{Finding, Level};",
            0,
        ),
        (
            "src/cli/log.rs",
            "use crate::{shell::draft, journal::FileStore};",
            2,
        ),
        ("src/serve/wire.rs", "", 1),
        ("src/helper.rs", "", 1),
        ("src/main.rs", "use handfast::{cli, journal};", 1),
    ] {
        let found = forbidden(&file(path, code));
        assert_eq!(found.len(), expected, "{path}: {code}: {found:?}");
    }
}

/// The table in the document is this table.
#[test]
fn the_document_shows_these_layers() {
    let page = crate::tree::read("docs/architecture.md");
    for (layer, allowed) in LAYERS.iter().filter(|(layer, _)| *layer != "lib") {
        let allowed: Vec<_> = allowed.iter().map(|rule| format!("`{rule}`")).collect();
        let allowed = if allowed.is_empty() {
            "nothing of ours".to_owned()
        } else {
            allowed.join(", ")
        };
        let row = format!("| `{layer}` | {allowed} |");
        assert!(
            page.contains(&row),
            "docs/architecture.md lacks the row\n{row}"
        );
    }
}

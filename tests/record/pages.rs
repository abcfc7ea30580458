//! `docs/entries.md` is made from the field descriptions; the Payloads section of
//! `docs/journal-format.md` is written by people and compared with the program.
//!
//! After a change of the descriptions, `HANDFAST_WRITE_DOCS=1 cargo test --test record pages`
//! writes the page anew.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use handfast::record::codec;
use handfast::record::envelope::Envelope;
use handfast::record::field::{Choice, FieldSpec, Shape};
use handfast::record::ids::{Seq, from_hex, to_hex};
use handfast::record::kind::contact::{NoteTopic, NursingNote};
use handfast::record::kind::{Body, Kind, Subject};
use handfast::record::role::Role;
use handfast::record::text::Note;
use handfast::record::time::Timestamp;
use handfast::record::{kind, losses, observed};

use crate::source::{Declared, Field, declared, kind_structs, names};

const FORMAT: &str = include_str!("../../docs/journal-format.md");
const OPENING: &str = "\
# Kinds of entry

Everything that can be written, kind by kind: which fields it has, how each is typed, and how it
is stored. This page is made by a test from the same descriptions that the forms, the completion
and the command line use (`tests/record/pages.rs`).

A field is typed as `name value` in the shell, `--name value` on the command line, and
`\"name\": \"value\"` in NDJSON. Every entry may also carry:

| name | what it is |
| --- | --- |
| `patient` | whom it is about: a name, a slot, an NHS or local number |
| `at` | when it happened, if not now: `12:30`, `-20m`, `yesterday 22:15`; `~12:30` for approximately |
| `late_reason` | why it is written late |
| `related` | numbers of entries it belongs with: `#12 #13` |
| `confirm` | `yes` once unusual values have been looked at again |

*Stored as* is the field's place in the payload: fields lie in the order of the table, in the
types that `journal-format.md` defines under Payloads. *Needed* says what an entry is refused without;
rules across fields can ask for more.
";

/// How a type is written in the tables.
struct Types {
    declared: BTreeMap<String, Declared>,
}

impl Types {
    fn stored_as(&self, ty: &str) -> String {
        let inside = |outer: &str| {
            let rest = ty.strip_prefix(outer)?.strip_prefix('<')?;
            rest.strip_suffix('>')
        };
        if let Some(inner) = inside("Option") {
            return format!("optional {}", self.stored_as(inner));
        }
        if let Some(inner) = inside("Vec") {
            return format!("list of {}", self.stored_as(inner));
        }
        if let Some(inner) = inside("Reading") {
            return format!("reading{}", self.step(inner));
        }
        self.plain(names(ty).last().unwrap())
    }

    fn plain(&self, name: &str) -> String {
        match name {
            "String" | "Line" | "Note" | "Secret" | "Handle" => "text".to_owned(),
            "bool" => "yes/no".to_owned(),
            "Seq" => "entry".to_owned(),
            "Timestamp" | "Past" | "Due" => "moment".to_owned(),
            "Day" => "day".to_owned(),
            "NhsNumber" => "u64".to_owned(),
            "u8" | "u16" | "u32" | "u64" | "i32" | "i64" => name.to_owned(),
            _ => self.made(name),
        }
    }

    fn made(&self, name: &str) -> String {
        let declared = self
            .declared
            .get(name)
            .unwrap_or_else(|| panic!("what is {name}?"));
        match declared.made_by {
            Some("choices") => format!("one of {name}"),
            Some("bytes") => format!("{} bytes", declared.arguments.split(',').next().unwrap()),
            Some("quantity") => format!("i32{}", self.step(name)),
            _ => words(name),
        }
    }

    /// ` × 0.1 °C`: what one step of a quantity is worth.
    fn step(&self, quantity: &str) -> String {
        let arguments = &self.declared[quantity].arguments;
        let unit = arguments.split('"').nth(1).unwrap();
        let one = match arguments
            .split("places ")
            .nth(1)
            .unwrap()
            .chars()
            .next()
            .unwrap()
        {
            '0' => "1",
            '1' => "0.1",
            _ => "0.01",
        };
        if unit.is_empty() {
            String::new()
        } else {
            format!(" × {one} {unit}")
        }
    }
}

/// `SeenScore` as `seen score`.
fn words(name: &str) -> String {
    let mut words = String::new();
    for c in name.chars() {
        if c.is_ascii_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.push(c.to_ascii_lowercase());
    }
    words
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

fn entries_page() -> String {
    let types = Types {
        declared: declared(),
    };
    let mut page = OPENING.to_owned();
    for kind in Kind::ALL {
        kind_section(*kind, &types, &mut page);
    }
    page += "\n## Closed lists\n\n\
             Stored by position; typed by code. New values are only ever added at the end.\n\n\
             | list | values |\n| --- | --- |\n";
    for (name, choices) in choice_types(&types) {
        let each = choices.iter().enumerate();
        let each: Vec<_> = each
            .map(|(at, c)| format!("{at} `{}` {}", c.code, c.label))
            .collect();
        let _ = writeln!(page, "| {name} | {} |", cell(&each.join("; ")));
    }
    page
}

fn kind_section(kind: Kind, types: &Types, page: &mut String) {
    let about = match kind.subject() {
        Subject::Patient => "About one patient.",
        Subject::Either => "About one patient or the ward.",
        Subject::Ward => "About the ward.",
    };
    let by = if kind.is_made_by_program() {
        " Written by the program as part of another act."
    } else {
        ""
    };
    let (word, code, version) = (kind.name(), kind.code(), kind.version());
    let _ = write!(
        page,
        "\n## {word} (number {code}, version {version})\n\n**{}.** {} {about}{by}\n\n\
         | field | stored as | needed | how it is written | what it holds |\n\
         | --- | --- | --- | --- | --- |\n",
        kind.title(),
        kind.help(),
    );
    let specs: BTreeMap<_, _> = kind
        .specs()
        .into_iter()
        .map(|spec| (spec.name, spec))
        .collect();
    for field in &types.declared[&kind_structs()[word]].fields {
        let spec = specs.get(field.name.as_str());
        let _ = writeln!(page, "{}", field_row(field, spec, types));
    }
}

fn field_row(field: &Field, spec: Option<&FieldSpec>, types: &Types) -> String {
    let stored_as = types.stored_as(&field.ty);
    let (needed, written, holds) = match spec {
        None => ("", "by the program".to_owned(), field.help.as_str()),
        Some(spec) => {
            let many = if spec.many && !spec.hint.contains(';') {
                "; several separated by `;`"
            } else {
                ""
            };
            let needed = if spec.required { "needed" } else { "" };
            (needed, format!("{}{many}", spec.hint), spec.help)
        }
    };
    format!(
        "| `{}` | {stored_as} | {needed} | {} | {} |",
        field.name,
        cell(&written),
        cell(holds)
    )
}

/// Every closed list, by the name of its type.
fn choice_types(types: &Types) -> BTreeMap<String, &'static [Choice]> {
    let mut lists: BTreeMap<String, &'static [Choice]> = BTreeMap::from([
        ("Role".to_owned(), Role::CHOICES),
        ("OxygenDevice".to_owned(), observed::OxygenDevice::CHOICES),
        ("Loss".to_owned(), losses::Loss::CHOICES),
        ("Analyte".to_owned(), kind::sample::Analyte::CHOICES),
        ("Comparator".to_owned(), kind::sample::Comparator::CHOICES),
    ]);
    for kind in Kind::ALL {
        let fields = &types.declared[&kind_structs()[kind.name()]].fields;
        for (spec, field) in kind.specs().iter().zip(fields) {
            if let Shape::Choice(choices) = spec.shape {
                let name = *names(&field.ty).last().unwrap();
                lists.insert(name.to_owned(), choices);
            }
        }
    }
    lists
}

#[test]
fn the_page_of_entries_is_what_the_program_says() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/entries.md");
    let page = entries_page();
    if std::env::var_os("HANDFAST_WRITE_DOCS").is_some() {
        std::fs::write(path, &page).unwrap();
    }
    let stored = std::fs::read_to_string(path).unwrap_or_default();
    for (is, should) in stored.lines().zip(page.lines()) {
        assert_eq!(is, should, "see the top of pages.rs");
    }
    assert_eq!(
        stored.lines().count(),
        page.lines().count(),
        "see the top of pages.rs"
    );
}

/// The rows of the table under a heading of the format page's Payloads section.
fn rows(heading: &str) -> Vec<Vec<&'static str>> {
    let payloads = FORMAT
        .split("\n## Payloads\n")
        .nth(1)
        .unwrap()
        .split("\n## ")
        .next()
        .unwrap();
    let under = |mark: &str| payloads.split(&format!("\n{mark} {heading}\n")).nth(1);
    let section = under("###").or_else(|| under("####"));
    let section = section.unwrap_or_else(|| panic!("no heading {heading}"));
    let section = section.split("\n#").next().unwrap();
    let lines = section.lines().filter(|line| line.starts_with('|')).skip(2);
    lines
        .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
        .collect()
}

#[test]
fn the_format_page_lists_every_kind() {
    let listed: Vec<_> = rows("Kinds")
        .into_iter()
        .map(|row| row.join("; "))
        .collect();
    let kinds = Kind::ALL.iter().map(|kind| {
        let versions: Vec<_> = kind.versions().iter().map(u8::to_string).collect();
        format!(
            "{}; `{}`; {}; {}",
            kind.code(),
            kind.name(),
            versions.join(", "),
            kind.title()
        )
    });
    assert_eq!(listed, kinds.collect::<Vec<_>>());
}

/// Every field table of the format page, against the struct it is about.
#[test]
fn the_format_page_has_the_fields_as_they_are_declared() {
    let types = Types {
        declared: declared(),
    };
    for (heading, name) in [
        ("Envelope", "Envelope"),
        ("contact, version 2", "Contact"),
        ("contact, version 1", "ContactV1"),
        ("obs, version 2", "Observation"),
        ("obs, version 1", "ObservationV1"),
        ("gcs", "Gcs"),
        ("fluid out", "FluidOut"),
        ("task, version 1", "Task"),
        ("carer", "Carer"),
        ("decimal", "Decimal"),
        ("result value", "ResultValue"),
        ("seen score", "SeenScore"),
        ("sheet name", "SheetName"),
        ("stated tree", "StatedTree"),
        ("replacement", "Replacement"),
    ] {
        let listed: Vec<_> = rows(heading)
            .iter()
            .map(|row| format!("{} {}", row[0], row[1]))
            .collect();
        let fields = types.declared[name].fields.iter();
        let fields = fields.map(|f| format!("`{}` {}", f.name, types.stored_as(&f.ty)));
        assert_eq!(listed, fields.collect::<Vec<_>>(), "{heading}");
    }
}

#[test]
fn the_example_is_what_the_program_writes() {
    let envelope = Envelope {
        occurred_at: Timestamp(1_793_000_000_000_000),
        approximate: false,
        role: Role::Nurse,
        episode: Some(Seq(12)),
        late_reason: None,
        related: vec![Seq(300)],
        confirmed: vec![],
    };
    let note = NursingNote {
        text: Note("Zoë is well.".to_owned()),
        topic: Some(NoteTopic::Family),
        said_by: None,
    };
    let written = codec::encode(&envelope, &Body::Note(note)).unwrap();
    let mut listed = Vec::new();
    for row in rows("Example") {
        assert_eq!(row[0], listed.len().to_string(), "{}", row[2]);
        listed.extend(from_hex(row[1].trim_matches('`')).unwrap());
    }
    assert_eq!(to_hex(&listed), to_hex(&written));
}

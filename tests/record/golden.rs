//! Bytes that were written once must be read the same way for ever.
//!
//! One file per kind and version in `tests/vectors/kinds/`: stored bytes beside what they say.
//! Tests read the files and never write them. For a new kind or version run
//! `HANDFAST_WRITE_GOLDENS=new cargo test --test record golden`, which writes the files that do
//! not exist and leaves the others alone. **If a test here fails, the code is wrong, not the
//! file**: entries like these are in people's journals.

use std::collections::BTreeMap;
use std::path::PathBuf;

use handfast::record::codec::{self, ENCODING};
use handfast::record::field::{Choice, Shape};
use handfast::record::ids::{from_hex, to_hex};
use handfast::record::kind::{Body, Kind};
use handfast::record::{kind, losses, observed, role};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use crate::samples::{Sample, Stored, samples};

/// One stored entry.
#[derive(Deserialize)]
pub struct Case {
    pub name: String,
    /// Hexadecimal, 32 bytes a line.
    payload: Vec<String>,
    pub envelope: Box<RawValue>,
    pub fields: Box<RawValue>,
    /// What an old version is read as.
    pub reads_as: Option<Box<RawValue>>,
}

impl Case {
    pub fn payload(&self) -> Vec<u8> {
        from_hex(&self.payload.concat()).unwrap()
    }
}

/// One file.
#[derive(Deserialize)]
pub struct Golden {
    pub kind: String,
    pub code: u16,
    pub version: u8,
    pub encoding: u8,
    pub cases: Vec<Case>,
}

fn folder() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/vectors/kinds"))
}

fn file_name(kind: Kind, version: u8) -> String {
    format!("{}-v{version}.json", kind.name())
}

fn every_version() -> impl Iterator<Item = (Kind, u8)> {
    Kind::ALL
        .iter()
        .flat_map(|kind| kind.versions().iter().map(|version| (*kind, *version)))
}

/// Every stored entry: its kind, version and case. Fails if a file is missing.
pub fn goldens() -> Vec<(Kind, u8, Case)> {
    let mut all = Vec::new();
    for (kind, version) in every_version() {
        let path = folder().join(file_name(kind, version));
        let text = std::fs::read_to_string(&path)
            .unwrap_or_else(|_| panic!("{} is missing: see the top of golden.rs", path.display()));
        let golden: Golden = serde_json::from_str(&text).unwrap();
        let named = (
            golden.kind.as_str(),
            golden.code,
            golden.version,
            golden.encoding,
        );
        assert_eq!(
            named,
            (kind.name(), kind.code(), version, ENCODING),
            "{}",
            path.display()
        );
        assert!(
            golden.cases.len() >= 2,
            "{} holds too few cases",
            path.display()
        );
        all.extend(golden.cases.into_iter().map(|case| (kind, version, case)));
    }
    all
}

/// JSON without the spaces between its parts. Keys keep their order, which is the stored order
/// of the fields: two fields of one type that change places are noticed.
pub fn compact(json: &str) -> String {
    let (mut text, mut quoted, mut escaped) = (String::new(), false, false);
    for c in json.chars() {
        if quoted || !c.is_ascii_whitespace() {
            text.push(c);
        }
        quoted ^= c == '"' && !escaped;
        escaped = c == '\\' && !escaped;
    }
    text
}

fn json(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap()
}

/// Fields that a version did not have yet stand after its own, and are unknown in all of it.
fn without_what_was_not_asked(read: &str, said: &str) -> String {
    let own = said.trim_end_matches('}');
    let more = read
        .strip_prefix(own)
        .and_then(|more| more.strip_suffix('}'));
    let mut added = more.unwrap_or("?").split(',').skip(1);
    if added.all(|field| field.ends_with(":null")) {
        said.to_owned()
    } else {
        read.to_owned()
    }
}

#[test]
fn stored_bytes_say_what_they_always_said() {
    for (kind, version, case) in goldens() {
        let at = format!("{} v{version}, {}", kind.name(), case.name);
        let (envelope, body) =
            codec::decode(kind.code(), version, ENCODING, &case.payload()).expect(&at);
        assert_eq!(json(&envelope), compact(case.envelope.get()), "{at}");
        let said = case.reads_as.as_ref().unwrap_or(&case.fields);
        let (said, mut read) = (compact(said.get()), json(&body));
        if version != kind.version() && case.reads_as.is_none() {
            read = without_what_was_not_asked(&read, &said);
        }
        assert_eq!(read, said, "{at}");
        assert_eq!(body.kind(), kind, "{at}");
    }
}

#[test]
fn the_newest_version_is_written_as_it_always_was() {
    let mut compared = 0;
    for (kind, version, case) in goldens() {
        let bytes = case.payload();
        let (envelope, body) = codec::decode(kind.code(), version, ENCODING, &bytes).unwrap();
        let again = codec::encode(&envelope, &body).unwrap();
        if version == kind.version() {
            let at = format!("{}, {}", kind.name(), case.name);
            assert_eq!(to_hex(&again), to_hex(&bytes), "{at}");
            compared += 1;
        }
    }
    assert!(compared >= 2 * Kind::ALL.len());
}

/// What is typed today becomes the bytes that were stored: so the files hold what the
/// program writes, and a changed field description is noticed.
#[test]
fn what_is_typed_becomes_the_stored_bytes() {
    for (kind, version) in every_version() {
        let stored: BTreeMap<_, _> = goldens()
            .into_iter()
            .filter(|(of, at, _)| (*of, *at) == (kind, version))
            .map(|(_, _, case)| (case.name.clone(), case.payload()))
            .collect();
        for sample in samples(kind, version) {
            let at = format!("{} v{version}, {}", kind.name(), sample.name);
            let found = stored
                .get(&sample.name)
                .unwrap_or_else(|| panic!("{at} is not stored"));
            assert_eq!(to_hex(&encode(&sample)), to_hex(found), "{at}");
        }
    }
}

#[test]
fn no_golden_file_belongs_to_a_kind_that_is_gone() {
    let known: Vec<_> = every_version()
        .map(|(kind, version)| file_name(kind, version))
        .collect();
    for file in std::fs::read_dir(folder()).unwrap() {
        let name = file.unwrap().file_name().into_string().unwrap();
        assert!(
            known.contains(&name),
            "{name}: a kind or version was removed or renamed"
        );
    }
}

/// A list's values are stored by position. `choices.psv` holds each list as it was when it
/// was first written: values are added at the end and never moved, renamed or removed.
#[test]
fn closed_lists_only_grow_at_their_end() {
    let path = folder().join("../choices.psv");
    let stored = std::fs::read_to_string(&path).expect("choices.psv: see the top of golden.rs");
    let mut lists = choice_lists();
    for line in stored.lines().filter(|line| !line.starts_with('#')) {
        let (name, codes) = line.split_once('|').unwrap();
        let now = lists
            .remove(name)
            .unwrap_or_else(|| panic!("the list {name} is gone"));
        let was: Vec<_> = codes.split(',').collect();
        assert_eq!(
            now.get(..was.len()),
            Some(&was[..]),
            "{name}: only additions at the end"
        );
    }
    assert!(
        lists.is_empty(),
        "not pinned in choices.psv: {:?}",
        lists.keys()
    );
}

/// Every closed list that reaches a payload, by where it stands.
pub fn choice_lists() -> BTreeMap<String, Vec<&'static str>> {
    let inside: [(&str, &[Choice]); 5] = [
        ("envelope.role", role::Role::CHOICES),
        ("oxygen.device", observed::OxygenDevice::CHOICES),
        ("obs.fluid_out.what", losses::Loss::CHOICES),
        ("result.values.analyte", kind::sample::Analyte::CHOICES),
        (
            "result.values.comparator",
            kind::sample::Comparator::CHOICES,
        ),
    ];
    let mut lists = BTreeMap::new();
    for (name, choices) in inside {
        lists.insert(name.to_owned(), choices.iter().map(|c| c.code).collect());
    }
    for kind in Kind::ALL {
        for spec in kind.specs() {
            if let Shape::Choice(choices) = spec.shape {
                let name = format!("{}.{}", kind.name(), spec.name);
                lists.insert(name, choices.iter().map(|c| c.code).collect());
            }
        }
    }
    lists
}

fn encode(sample: &Sample) -> Vec<u8> {
    match &sample.fields {
        Stored::Newest(body) => codec::encode(&sample.envelope, body).unwrap(),
        // Old versions are no longer written by the program.
        old => {
            let layout = bincode::config::legacy();
            let mut bytes = bincode::serde::encode_to_vec(&sample.envelope, layout).unwrap();
            bytes.extend(bincode::serde::encode_to_vec(old, layout).unwrap());
            bytes
        }
    }
}

/// Writes what is missing on request; else nothing may be missing.
#[test]
fn missing_files_are_made_on_request_only() {
    let mut missing: Vec<(PathBuf, String)> = every_version()
        .map(|(kind, version)| (folder().join(file_name(kind, version)), kind, version))
        .filter(|(path, ..)| !path.exists())
        .map(|(path, kind, version)| (path, golden_text(kind, version)))
        .collect();
    let choices = folder().join("../choices.psv");
    if !choices.exists() {
        missing.push((choices, choices_text()));
    }
    if std::env::var("HANDFAST_WRITE_GOLDENS").as_deref() != Ok("new") {
        let paths: Vec<_> = missing.iter().map(|(path, _)| path).collect();
        assert!(
            paths.is_empty(),
            "missing, see the top of golden.rs: {paths:?}"
        );
    }
    for (path, text) in missing {
        std::fs::write(path, text).unwrap();
    }
}

fn choices_text() -> String {
    let mut text = String::from(
        "# Closed lists in stored order, where they stand | their codes. Add lines and values\n\
         # at the end of a line; never change what is there: values are stored by position.\n",
    );
    for (name, codes) in choice_lists() {
        text += &format!("{name}|{}\n", codes.join(","));
    }
    text
}

fn golden_text(kind: Kind, version: u8) -> String {
    let cases: Vec<String> = samples(kind, version)
        .iter()
        .map(|s| case_text(kind, version, s))
        .collect();
    let (name, code) = (kind.name(), kind.code());
    format!(
        "{{\n \"kind\": \"{name}\", \"code\": {code}, \"version\": {version}, \"encoding\": {ENCODING},\n \
         \"cases\": [\n{}\n ]\n}}\n",
        cases.join(",\n")
    )
}

/// Written by hand so that the fields stand in stored order.
fn case_text(kind: Kind, version: u8, sample: &Sample) -> String {
    let bytes = encode(sample);
    let lines: Vec<String> = bytes.chunks(32).map(to_hex).collect();
    let reads_as: Option<Body> = (version != kind.version()).then(|| {
        codec::decode(kind.code(), version, ENCODING, &bytes)
            .unwrap()
            .1
    });
    let mut text = format!(
        "  {{\"name\": {:?},\n\"payload\": {},\n\"envelope\": {},\n\"fields\": {}",
        sample.name,
        pretty(&lines),
        pretty(&sample.envelope),
        pretty(&sample.fields)
    );
    if let Some(newest) = reads_as {
        text += &format!(",\n\"reads_as\": {}", pretty(&newest));
    }
    text.replace('\n', "\n   ") + "}"
}

fn pretty(value: &impl Serialize) -> String {
    serde_json::to_string_pretty(value)
        .unwrap()
        .replace("  ", " ")
}

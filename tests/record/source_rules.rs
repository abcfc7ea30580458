//! What may not stand in `src/record`, because it would change bytes that are already stored,
//! make them unreadable, or let a stranger's bytes do harm. The reasons are in
//! `docs/decisions/0002-bincode-pinned.md`.

use std::collections::{BTreeMap, BTreeSet};

use handfast::record::kind::Kind;

use crate::source::{Declared, declared, kind_structs, names, record_files};

/// The attributes that leave the bytes alone. `skip_serializing_if` writes fewer bytes and
/// misreads; `flatten` cannot be written; `tag` cannot be read; `default` does not help: a new
/// last field is the end of the bytes. So this is a list of what may stand, not of what may not.
fn is_harmless(attribute: &str) -> bool {
    let only_names = ["rename = ", "rename_all = "]
        .iter()
        .any(|name| attribute.starts_with(name));
    attribute == "transparent"
        || (only_names && !attribute.contains(','))
        // A zone's name is how a zone is stored.
        || attribute == "into = \"String\", try_from = \"String\""
}

fn serde_attributes(code: &str) -> Vec<&str> {
    let after = code.split("#[serde(").skip(1);
    after.map(|rest| rest.split(")]").next().unwrap()).collect()
}

#[test]
fn no_attribute_changes_the_bytes() {
    let mut found = Vec::new();
    for (path, code) in record_files() {
        for attribute in serde_attributes(&code)
            .into_iter()
            .filter(|a| !is_harmless(a))
        {
            found.push(format!(
                "{}: {attribute}",
                path.file_name().unwrap().display()
            ));
        }
    }
    // `Body` is never stored as such: each kind's own struct is. Its attribute is for JSON.
    assert_eq!(found, ["kind.rs: untagged"]);
}

#[test]
fn this_test_would_see_a_harmful_attribute() {
    let code = "#[serde(skip_serializing_if = \"Option::is_none\")]\n#[serde(flatten)]\n\
                #[serde(rename = \"a\", default)]\n#[serde(tag = \"t\")]\n#[serde(transparent)]";
    let harmful = serde_attributes(code)
        .into_iter()
        .filter(|a| !is_harmless(a))
        .count();
    assert_eq!(harmful, 4);
}

/// Types whose size, order or text form is not the same everywhere and for ever; and the
/// wrappers that let a type hold itself.
const REFUSED: [&str; 20] = [
    "usize",
    "isize",
    "f32",
    "f64",
    "char",
    "u128",
    "i128",
    "HashMap",
    "HashSet",
    "BTreeMap",
    "BTreeSet",
    "NaiveDate",
    "NaiveTime",
    "NaiveDateTime",
    "DateTime",
    "TimeDelta",
    "Duration",
    "Box",
    "Rc",
    "Arc",
];

/// All types that a payload can hold: from each kind's struct, each old version, the envelope.
fn stored() -> BTreeMap<String, Declared> {
    let all = declared();
    let old = all
        .iter()
        .filter(|(_, declared)| declared.file.ends_with("kind/old.rs"));
    let mut open: Vec<String> = old.map(|(name, _)| name.clone()).collect();
    open.extend(kind_structs().into_values());
    open.push("Envelope".to_owned());
    let mut stored = BTreeMap::new();
    while let Some(name) = open.pop() {
        let Some(declared) = all.get(&name) else {
            continue;
        };
        if stored.insert(name, declared.clone()).is_none() {
            for field in &declared.fields {
                open.extend(names(&field.ty).into_iter().map(str::to_owned));
            }
        }
    }
    stored
}

#[test]
fn stored_types_are_the_same_on_every_machine_for_ever() {
    let known: BTreeSet<_> = declared().into_keys().collect();
    let plain = [
        "bool", "u8", "u16", "u32", "u64", "i32", "i64", "String", "Option", "Vec", "Q",
    ];
    for (name, declared) in stored() {
        for field in &declared.fields {
            for part in names(&field.ty) {
                let at = format!("{name}.{}: {}", field.name, field.ty);
                assert!(!REFUSED.contains(&part), "{at}");
                let path = ["super", "crate", "record", "contact", "ids"].contains(&part);
                let is_known = plain.contains(&part) || known.contains(part) || path;
                assert!(
                    is_known || part.chars().all(|c| c.is_ascii_digit()),
                    "{at}: {part}?"
                );
            }
            // Elements without bytes make a count cost nothing to claim and hours to read.
            assert!(
                !field.ty.contains("()"),
                "{name}.{}: {}",
                field.name,
                field.ty
            );
        }
    }
}

/// 250,000 nested values end a process by its stack, whatever the limit on bytes is.
#[test]
fn no_stored_type_holds_itself() {
    let stored = stored();
    for start in stored.keys() {
        let (mut reached, mut open) = (BTreeSet::new(), vec![start.clone()]);
        while let Some(name) = open.pop() {
            let fields = stored
                .get(&name)
                .map(|d| d.fields.clone())
                .unwrap_or_default();
            for part in fields.iter().flat_map(|field| names(&field.ty)) {
                assert_ne!(part, start, "{start} holds itself through {name}");
                if reached.insert(part.to_owned()) {
                    open.push(part.to_owned());
                }
            }
        }
    }
}

/// That the two tests above look at what is there.
#[test]
fn the_stored_types_are_found() {
    let stored = stored();
    assert_eq!(kind_structs().len(), Kind::ALL.len());
    for name in [
        "Envelope",
        "ContactV1",
        "Reading",
        "SeenScore",
        "Carer",
        "Decimal",
        "Timestamp",
    ] {
        assert!(stored.contains_key(name), "{name}: {:?}", stored.keys());
    }
    for kind in Kind::ALL {
        let typed = kind.specs().into_iter().map(|spec| spec.name.to_owned());
        let declared = &stored[&kind_structs()[kind.name()]];
        let found = declared
            .fields
            .iter()
            .filter(|f| !f.seen)
            .map(|f| f.name.clone());
        assert_eq!(
            found.collect::<Vec<_>>(),
            typed.collect::<Vec<_>>(),
            "{}",
            kind.name()
        );
    }
}

/// bincode is used in one file, at one version, and under its own name (its derive macros
/// look for a crate of that name). 3.0.0 is not a release.
#[test]
fn bincode_is_pinned_and_stands_in_one_file() {
    let root = env!("CARGO_MANIFEST_DIR");
    let read = |name: &str| std::fs::read_to_string(format!("{root}/{name}")).unwrap();
    assert!(read("Cargo.toml").contains("bincode = { version = \"=2.0.1\""));
    assert!(!read("Cargo.toml").contains("package = \"bincode\""));
    let lock = read("Cargo.lock");
    assert_eq!(
        lock.matches("name = \"bincode\"\nversion = \"2.0.1\"")
            .count(),
        1
    );
    assert_eq!(lock.matches("name = \"bincode\"").count(), 1);
    let users = record_files()
        .into_iter()
        .filter(|(_, code)| code.contains("bincode::"));
    let users: Vec<_> = users.map(|(path, _)| path).collect();
    assert!(
        matches!(&users[..], [only] if only.ends_with("record/codec.rs")),
        "{users:?}"
    );
}

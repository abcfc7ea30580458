//! The types that reach a payload, as `src/record` declares them.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A declared type: its fields or the types inside its variants, in order.
#[derive(Debug, Default, Clone)]
pub struct Declared {
    pub file: PathBuf,
    pub fields: Vec<Field>,
    /// The macro that makes types stored as one number, one text or so many bytes.
    pub made_by: Option<&'static str>,
    /// What stands after the name in that macro.
    pub arguments: String,
}

#[derive(Debug, Clone)]
pub struct Field {
    pub name: String,
    pub ty: String,
    pub help: String,
    /// Filled in by the program.
    pub seen: bool,
}

/// Every source file of the record layer, without its unit tests.
pub fn record_files() -> Vec<(PathBuf, String)> {
    let mut files = Vec::new();
    collect(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src/record"),
        &mut files,
    );
    assert!(files.len() > 20, "src/record was not found");
    files
}

fn collect(folder: &Path, files: &mut Vec<(PathBuf, String)>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|e| e == "rs") && !path.ends_with("tests.rs") {
            let text = std::fs::read_to_string(&path).unwrap();
            let code = text.split("#[cfg(test)]").next().unwrap().to_owned();
            files.push((path, code));
        }
    }
}

/// Every type of the record layer that is declared in a way that lets it be stored, by name.
pub fn declared() -> BTreeMap<String, Declared> {
    let mut types = BTreeMap::new();
    for (path, code) in record_files() {
        let mut lines = Lines {
            lines: code.lines().collect(),
            at: 0,
        };
        while let Some(line) = lines.next() {
            let found = match line.trim() {
                "fields! {" => lines.fields_macro(),
                "choices! {" => lines.named_in_macro("choices"),
                "quantity!(" => lines.named_in_macro("quantity"),
                "text!(" => lines.named_in_macro("text"),
                "byte_id!(" => lines.named_in_macro("bytes"),
                line if line.starts_with("#[derive(") => lines.derived(),
                _ => None,
            };
            if let Some((name, declared)) = found {
                types.insert(
                    name,
                    Declared {
                        file: path.clone(),
                        ..declared
                    },
                );
            }
        }
    }
    types
}

struct Lines<'a> {
    lines: Vec<&'a str>,
    at: usize,
}

impl<'a> Lines<'a> {
    fn next(&mut self) -> Option<&'a str> {
        self.at += 1;
        self.lines.get(self.at - 1).copied()
    }

    fn peek(&self) -> &'a str {
        self.lines.get(self.at).copied().unwrap_or_default()
    }

    /// `fields! { /// doc, Name { … } seen { … } }`
    fn fields_macro(&mut self) -> Option<(String, Declared)> {
        let name = self.find(|line| line.strip_suffix(" {").filter(|n| is_name(n)))?;
        let mut declared = Declared::default();
        self.body("    }", false, &mut declared);
        if self.peek().trim() == "seen {" {
            self.at += 1;
            self.body("    }", true, &mut declared);
        }
        Some((name.to_owned(), declared))
    }

    /// A macro whose argument begins with doc comments and then a name.
    fn named_in_macro(&mut self, made_by: &'static str) -> Option<(String, Declared)> {
        let line = self.find(|line| (!line.starts_with("///")).then_some(line))?;
        let (name, arguments) = line.split_once([',', ' '])?;
        Some((
            name.to_owned(),
            Declared {
                made_by: Some(made_by),
                arguments: arguments.trim().to_owned(),
                ..Declared::default()
            },
        ))
    }

    /// A struct or enum behind `#[derive(…Serialize…)]`, or one that writes itself.
    fn derived(&mut self) -> Option<(String, Declared)> {
        let start = self.at - 1;
        let head = self.find(|line| {
            let is_head = line.starts_with("pub struct ") || line.starts_with("pub enum ");
            is_head.then_some(line)
        })?;
        let attributes = self.lines[start..self.at].join(" ");
        let all = self.lines.join("\n");
        let name = head.split([' ', '(', '<', '{']).nth(2)?;
        let writes_itself = all.contains(&format!("impl Serialize for {name} "));
        if !(attributes.contains("Serialize") || writes_itself) || name.starts_with('$') {
            return None;
        }
        let mut declared = Declared::default();
        if head.ends_with('{') {
            self.body("}", false, &mut declared);
        } else {
            let inside = head.split_once('(')?.1.split_once(')')?.0;
            declared
                .fields
                .push(field("0", inside.trim_start_matches("pub "), "", false));
        }
        Some((name.to_owned(), declared))
    }

    fn find<T>(&mut self, wanted: impl Fn(&'a str) -> Option<T>) -> Option<T> {
        while let Some(line) = self.next() {
            if let Some(found) = wanted(line.trim()) {
                return Some(found);
            }
        }
        None
    }

    /// Field lines, and the types in one-line variants, up to the line that closes them.
    fn body(&mut self, end: &str, seen: bool, declared: &mut Declared) {
        let mut help = String::new();
        while let Some(line) = self.next() {
            let text = line.trim();
            if line == end {
                return;
            } else if let Some(words) = text.strip_prefix("///") {
                help = format!("{help} {}", words.trim()).trim().to_owned();
            } else if let Some((name, ty)) = text.strip_suffix(',').and_then(|t| t.split_once(": "))
            {
                let name = name.trim_start_matches("pub ");
                declared.fields.push(field(name, ty, &help, seen));
                help.clear();
            } else if let Some((name, ty)) = text.strip_suffix("),").and_then(|t| t.split_once('('))
            {
                declared.fields.push(field(name, ty, &help, seen));
                help.clear();
            } else {
                help.clear();
            }
        }
    }
}

fn field(name: &str, ty: &str, help: &str, seen: bool) -> Field {
    Field {
        name: name.to_owned(),
        ty: ty.to_owned(),
        help: help.to_owned(),
        seen,
    }
}

fn is_name(text: &str) -> bool {
    text.chars().next().is_some_and(|c| c.is_ascii_uppercase())
        && text.chars().all(|c| c.is_ascii_alphanumeric())
}

/// The names in a type: `Option<Reading<Pain>>` has three.
pub fn names(ty: &str) -> Vec<&str> {
    ty.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))
        .filter(|name| !name.is_empty())
        .collect()
}

/// The struct that holds each kind's fields, by the kind's word: read from `kind.rs`.
pub fn kind_structs() -> BTreeMap<String, String> {
    let files = record_files();
    let (_, code) = files
        .iter()
        .find(|(path, _)| path.ends_with("record/kind.rs"))
        .unwrap();
    let mut structs = BTreeMap::new();
    let is_kind =
        |line: &&str| line.trim().starts_with(char::is_uppercase) && line.contains(", v ");
    for line in code.lines().filter(is_kind) {
        let path = line.split_once('(').unwrap().1.split_once(')').unwrap().0;
        let word = line.split('"').nth(1).unwrap();
        let name = path.rsplit("::").next().unwrap();
        structs.insert(word.to_owned(), name.to_owned());
    }
    structs
}

//! The source files, as the tests look at them.

use std::path::{Path, PathBuf};

pub const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// One file of `src/`, without comments and unit tests.
pub struct Source {
    /// From the package's root, with slashes.
    pub path: String,
    pub code: String,
}

impl Source {
    /// The top folder or file it belongs to: `journal`, or `main` for `main.rs`.
    pub fn layer(&self) -> &str {
        let inside = self.path.strip_prefix("src/").unwrap();
        inside.split(['/', '.']).next().unwrap()
    }

    /// How many modules it is down from the crate: 1 for `src/journal.rs`.
    pub fn depth(&self) -> usize {
        self.path.matches('/').count()
    }
}

/// Every file of `src/` that is not itself a unit test.
pub fn sources() -> Vec<Source> {
    let files = rust_files("src").into_iter();
    let files: Vec<_> = files
        .filter(|path| !path.ends_with("/tests.rs") && !path.contains("/tests/"))
        .map(|path| Source {
            code: code_of(&path),
            path,
        })
        .collect();
    assert!(files.len() > 60, "src was not found");
    files
}

/// Every `.rs` file under a folder.
pub fn rust_files(folder: &str) -> Vec<String> {
    let mut found = Vec::new();
    collect(&Path::new(ROOT).join(folder), &mut found);
    found.sort();
    let name = |path: PathBuf| {
        path.strip_prefix(ROOT)
            .unwrap()
            .to_str()
            .unwrap()
            .to_owned()
    };
    found.into_iter().map(name).collect()
}

fn collect(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

pub fn read(path: &str) -> String {
    std::fs::read_to_string(Path::new(ROOT).join(path)).unwrap()
}

/// A file up to its unit tests, without comments.
fn code_of(path: &str) -> String {
    let text = read(path);
    let code = text.split("#[cfg(test)]\nmod ").next().unwrap();
    let lines = code.lines().map(|line| match line.find("//") {
        // `http://` in a text is no comment.
        Some(at) if !line[..at].ends_with(':') => &line[..at],
        _ => line,
    });
    lines.collect::<Vec<_>>().join("\n")
}

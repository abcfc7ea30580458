//! No file is forgotten, and none says what none of ours may say.

use std::path::Path;
use std::process::Command;

use crate::tree::{ROOT, read, rust_files};

/// A module that nobody declares is code that nobody compiles: tests that cannot fail.
#[test]
fn every_rust_file_is_declared() {
    let files = rust_files("src").into_iter().chain(rust_files("tests"));
    let mut looked_at = 0;
    for path in files {
        let (parent, name) = match parent_of(&path) {
            Some(found) => found,
            None => continue,
        };
        let declared = read(&parent);
        let is_declared = declared.lines().any(|line| {
            let line = line.trim();
            let line = line
                .trim_start_matches("pub(crate) ")
                .trim_start_matches("pub(super) ");
            let line = line
                .trim_start_matches("pub(in crate::journal) ")
                .trim_start_matches("pub ");
            line.strip_prefix("mod ").and_then(|l| l.strip_suffix(';')) == Some(&name)
        });
        assert!(is_declared, "{parent} does not declare {path}");
        looked_at += 1;
    }
    assert!(looked_at > 60, "{looked_at} files");
}

/// The file that must declare this one, and by which name.
fn parent_of(path: &str) -> Option<(String, String)> {
    let (folder, file) = path.rsplit_once('/')?;
    let name = file.strip_suffix(".rs")?.to_owned();
    if name == "main" || name == "lib" {
        return None;
    }
    let parent = if folder == "src" {
        "src/lib.rs".to_owned()
    } else {
        [format!("{folder}.rs"), format!("{folder}/main.rs")]
            .into_iter()
            .find(|parent| Path::new(ROOT).join(parent).exists())
            .unwrap_or_else(|| panic!("{folder} has neither {folder}.rs nor main.rs"))
    };
    Some((parent, name))
}

#[test]
fn modules_are_named_for_what_they_are() {
    for path in rust_files("src") {
        let name = path.rsplit('/').next().unwrap().trim_end_matches(".rs");
        for vague in [
            "mod", "util", "utils", "helper", "helpers", "manager", "misc", "common",
        ] {
            assert_ne!(name, vague, "{path}");
        }
    }
}

/// Each page opens with one title, and says something under it.
#[test]
fn documents_are_titled() {
    let mut pages = 0;
    for path in tracked().into_iter().filter(|path| path.ends_with(".md")) {
        let text = read(&path);
        let title = text.lines().next().unwrap_or_default();
        assert!(
            title.starts_with("# ") && title.len() > 4,
            "{path}: {title:?}"
        );
        let under = text
            .lines()
            .skip(1)
            .filter(|line| !line.trim().is_empty())
            .count();
        assert!(under > 2, "{path} says nothing");
        pages += 1;
    }
    assert!(pages > 4, "{pages} pages");
}

/// Links between our pages lead somewhere.
#[test]
fn links_between_documents_lead_somewhere() {
    for path in tracked().into_iter().filter(|path| path.ends_with(".md")) {
        let folder = Path::new(ROOT).join(&path);
        let folder = folder.parent().unwrap();
        for target in read(&path)
            .split("](")
            .skip(1)
            .filter_map(|rest| rest.split(')').next())
        {
            let file = target.split('#').next().unwrap();
            let is_ours =
                !file.is_empty() && !target.contains("://") && !target.starts_with("mailto:");
            assert!(
                !is_ours || folder.join(file).exists(),
                "{path} points to {target}"
            );
        }
    }
}

/// Files that the standing pages name exist: `src/ward/fold.rs`, or `ward/fold.rs` for short.
#[test]
fn files_named_in_documents_exist() {
    let is_path = |text: &&str| {
        let plain = |c: char| c.is_ascii_alphanumeric() || "/_-.".contains(c);
        let ending = [".rs", ".md", ".py", ".psv", ".toml"]
            .iter()
            .any(|end| text.ends_with(end));
        text.chars().all(plain) && (ending || (text.ends_with('/') && text.len() > 1))
    };
    // In a journal's folder, not in the repository.
    let elsewhere = [
        "segments/",
        "aside/",
        "keys/",
        "index/",
        "index-sealed/",
        "sealing/",
        "ids/",
        "tree/",
        "checkpoints/",
    ];
    let mut named = 0;
    for page in [
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "docs/architecture.md",
        "docs/trust.md",
    ] {
        let text = read(page);
        let quoted = text.split('`').skip(1).step_by(2);
        for path in quoted
            .filter(is_path)
            .filter(|path| !elsewhere.contains(path))
        {
            let root = Path::new(ROOT);
            let found = root.join(path).exists() || root.join("src").join(path).exists();
            assert!(found, "{page} names {path}");
            named += 1;
        }
    }
    assert!(named > 40, "{named} paths");
}

/// Text that belongs to one machine, or names where packages come from.
#[test]
fn no_file_names_a_machine_or_a_registry() {
    let refused = [
        concat!("/", "work/"),
        concat!("/", "root/"),
        concat!("/home", "/"),
        concat!("crates", ".io"),
        concat!("pypi", ".org"),
        concat!("npmjs", ".com"),
    ];
    // Cargo.lock is written by cargo and names its source.
    for path in tracked().into_iter().filter(|path| path != "Cargo.lock") {
        let Ok(text) = std::fs::read_to_string(Path::new(ROOT).join(&path)) else {
            continue;
        };
        for word in refused {
            assert!(!text.contains(word), "{path} says {word}");
        }
    }
}

/// Files in the repository; all files if this is no repository (a source archive).
fn tracked() -> Vec<String> {
    let listing = Command::new("git")
        .arg("ls-files")
        .current_dir(ROOT)
        .output();
    match listing {
        Ok(listing) if listing.status.success() && !listing.stdout.is_empty() => {
            let text = String::from_utf8(listing.stdout).unwrap();
            let paths = text
                .lines()
                .filter(|path| Path::new(ROOT).join(path).exists());
            paths.map(str::to_owned).collect()
        }
        _ => rust_files("src"),
    }
}

//! Some calls have one place. Who looks at the wall clock, the disk, the environment or the
//! screen elsewhere makes a part untestable, or a person's data appear where nobody expects it.

use crate::tree::sources;

struct Rule {
    /// What it is about.
    what: &'static str,
    /// Any of these in the code.
    words: &'static [&'static str],
    /// The only files or folders that may have them.
    only: &'static [&'static str],
}

const RULES: &[Rule] = &[
    Rule {
        what: "the wall clock",
        words: &["SystemTime::now", "Utc::now", "Local::now"],
        only: &["src/station/clock.rs"],
    },
    Rule {
        // The journal's one door to the disk; the index, which may be lost; and files a
        // person names on the command line.
        what: "files",
        words: &[
            "std::fs",
            "fs::read",
            "fs::write",
            "File::open",
            "File::create",
            "OpenOptions",
        ],
        only: &[
            "src/journal/disk/",
            "src/ward/index/",
            "src/cli/",
            "src/shell/",
            "src/main.rs",
        ],
    },
    Rule {
        what: "the screen",
        words: &["println!", "print!(", "io::stdout", "io::stderr"],
        only: &[
            "src/cli/",
            "src/cli.rs",
            "src/shell/",
            "src/shell.rs",
            "src/main.rs",
        ],
    },
    Rule {
        what: "the environment",
        words: &[
            "env::var",
            "env::args",
            "env::home_dir",
            "env::current_dir",
            "process::exit",
        ],
        only: &[
            "src/cli/",
            "src/cli.rs",
            "src/shell/",
            "src/shell.rs",
            "src/main.rs",
            // The account's own folder for the computer's half of a key: the same for every edge, and
            // where the library is used without one.
            "src/station/keys/device.rs",
        ],
    },
    Rule {
        what: "the network",
        words: &["std::net", "tokio::net", "TcpListener", "UnixListener"],
        only: &[],
    },
    Rule {
        what: "bincode",
        words: &["bincode::"],
        only: &[
            "src/record/codec.rs",
            "src/ward/index/",
            "src/ward/index.rs",
        ],
    },
    Rule {
        what: "sled",
        words: &["sled::"],
        only: &["src/ward/index/", "src/ward/index.rs"],
    },
    Rule {
        what: "entropy",
        words: &["getrandom::", "OsRng", "thread_rng"],
        only: &["src/station/"],
    },
];

/// No clock, not even a stopwatch, no thread and no input or output at all.
const PURE: [&str; 5] = [
    "src/record",
    "src/clinical",
    "src/shorthand",
    "src/view",
    "src/demo/story",
];
const IMPURE: [&str; 7] = [
    "std::io",
    "std::thread",
    "std::time",
    "std::process",
    "std::net",
    "std::fs",
    "std::env",
];

fn broken(path: &str, code: &str) -> Vec<String> {
    let rules = RULES
        .iter()
        .filter(|rule| !rule.only.iter().any(|only| path.starts_with(only)));
    let placed = rules.flat_map(|rule| rule.words.iter().map(|word| (*word, rule.what)));
    let pure = PURE.iter().any(|layer| path.starts_with(layer));
    let pure = IMPURE
        .iter()
        .filter(|_| pure)
        .map(|word| (*word, "the outside, in a pure layer"));
    let found = placed.chain(pure).filter(|(word, _)| code.contains(word));
    found
        .map(|(word, what)| format!("{path}: {word} ({what})"))
        .collect()
}

#[test]
fn each_call_stands_in_its_place() {
    let files = sources();
    let found: Vec<_> = files
        .iter()
        .flat_map(|file| broken(&file.path, &file.code))
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn this_test_would_see_a_misplaced_call() {
    for (path, code) in [
        ("src/ward/due.rs", "let now = SystemTime::now();"),
        ("src/station/submit.rs", "std::fs::write(path, text)"),
        ("src/view/lists.rs", "println!(\"{row}\")"),
        ("src/record/draft.rs", "std::env::var(\"TZ\")"),
        ("src/clinical/news2.rs", "use std::time::Instant;"),
        ("src/ward/fold.rs", "bincode::serde::decode"),
        ("src/journal/writer.rs", "getrandom::fill"),
    ] {
        assert!(!broken(path, code).is_empty(), "{path}: {code}");
    }
    assert!(broken("src/station/clock.rs", "SystemTime::now()").is_empty());
}

/// What was measured of sled 0.34.7 and must stay so: its default cache is 1 GiB, its flushing
/// thread keeps the folder busy, `apply_batch` and unflushed transactions eat memory, and it
/// panics on damage, which nothing can catch in a program that aborts.
#[test]
fn the_index_keeps_clear_of_what_was_measured_of_sled() {
    let files = sources();
    let cache = files.iter().find(|f| f.path == "src/ward/index/cache.rs");
    let code = &cache.expect("the file that opens sled").code;
    for needed in [".cache_capacity(CACHE_BYTES)", ".flush_every_ms(None)"] {
        assert_eq!(code.matches(needed).count(), 1, "{needed}");
    }
    assert_eq!(
        code.matches("sled::Config::new()").count(),
        1,
        "one opening"
    );
    let written = code.matches("db.transaction(").count();
    assert!(written > 0 && code.matches("db.flush()?").count() >= written);
    let batched = files.iter().filter(|f| f.code.contains("apply_batch"));
    assert_eq!(batched.count(), 0, "apply_batch");
    let manifest = include_str!("../../Cargo.toml");
    assert!(!manifest.contains("panic ="), "panics must unwind");
}

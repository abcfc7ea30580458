//! Journeys: what people do with the ward from beginning to end, with the real program on a
//! real folder, and every refusal they can run into.
//!
//! - `night_call`, `handover_accepted`, `sister`, `auditor`: the four people.
//! - `at_a_terminal`: three of them at a terminal.
//! - `governance`: checks from outside, by the page of that name.
//! - `init_to_handover`: a ward from its first command to its first sheet.
//! - `ndjson`: many entries and many scores from standard input.
//! - `people`: PINs, and JSON about people, kinds and damage.
//! - `policy`: what the ward decides for itself.
//! - `refusals`, `storage`, `hostile`: what is not taken, what the disk does not take, and what
//!   must not reach a screen.
//! - `sealed`: a ward whose records are sealed.
//! - `demo`: the journal in the repository is the one the program makes.
//! - `codes`: exit codes, documented and kept.
#![allow(clippy::unwrap_used)] // a panic is how a test fails

mod at_a_terminal;
mod auditor;
mod codes;
mod demo;
mod desk;
mod governance;
mod handover_accepted;
mod hostile;
mod init_to_handover;
mod lacking;
mod ndjson;
mod night_call;
mod people;
mod policy;
mod refusals;
mod report;
mod sealed;
mod sister;
mod storage;

/// The shell suite's pseudo-terminal.
#[path = "../shell/screen.rs"]
#[allow(dead_code, reason = "the shell suite uses all of it")]
mod screen;

/// The keeper of the demo ward.
fn keeper() -> &'static str {
    handfast::demo::cast::KEEPER.handle
}

/// The published PIN of somebody on the demo ward.
fn pin_of(handle: &str) -> &'static str {
    desk::member(handle).pin
}

#[test]
fn every_file_here_is_declared() {
    let declared = include_str!("main.rs");
    let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/journeys");
    for entry in std::fs::read_dir(dir).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let stem = name.strip_suffix(".rs").unwrap_or(&name);
        assert!(
            stem == "main" || declared.contains(&format!("\nmod {stem};")),
            "{name} is in no test binary"
        );
    }
}

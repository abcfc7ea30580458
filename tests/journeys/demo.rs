//! The ward in the repository.

use std::collections::BTreeMap;
use std::path::Path;

use crate::desk::{Desk, pristine, says};

fn segments(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    files_of(&dir.join("segments"))
}

/// What comes out the same everywhere: segments, checkpoints and the ward's own key.
fn same_everywhere(dir: &Path) -> [BTreeMap<String, Vec<u8>>; 3] {
    let mut key = files_of(&dir.join("keys"));
    key.retain(|name, _| name == "_ward.key");
    [segments(dir), files_of(&dir.join("checkpoints")), key]
}

fn files_of(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = std::fs::read_dir(folder).unwrap();
    files
        .map(|file| {
            let file = file.unwrap();
            let name = file.file_name().into_string().unwrap();
            (name, std::fs::read(file.path()).unwrap())
        })
        .collect()
}

/// Whoever does not trust the file makes it anew: the same bytes.
#[test]
fn the_committed_journal_is_the_one_the_program_makes() {
    let committed = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-journal");
    assert!(
        same_everywhere(&committed) == same_everywhere(pristine()),
        "demo-journal/ is not what `handfast demo` makes; make it anew"
    );
}

#[test]
fn the_command_makes_it_and_says_who_is_in_it() {
    let desk = Desk::empty();
    let shown = desk.run(&["demo", desk.journal.to_str().unwrap()]).done();
    says(
        &shown,
        &[
            "Tansy Ward is in",
            "Everybody in it is invented",
            "orla 472918",
        ],
    );
    assert!(same_everywhere(&desk.journal) == same_everywhere(pristine()));
    let [_, checkpoints, key] = same_everywhere(&desk.journal);
    assert_eq!((checkpoints.len(), key.len()), (9, 1));
}

/// The README's picture is what `handfast --width 96 handover --format svg` draws.
#[test]
fn the_picture_of_the_sheet_is_drawn_by_the_program() {
    let desk = Desk::demo();
    let args = ["handover", "--format", "svg"];
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_handfast"));
    command
        .env_clear()
        .env("HANDFAST_JOURNAL", &desk.journal)
        .args(["--width", "96"])
        .args(args);
    let drawn = crate::desk::answer(command, "").done();
    let picture = include_str!("../../docs/img/handover.svg");
    assert!(
        drawn == picture,
        "docs/img/handover.svg is old; draw it anew"
    );
}

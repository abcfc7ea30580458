//! Exit codes: a closed list, each reached by a test, and told where people look.

use handfast::cli::Exit;

/// Codes 0 to 5 are used by `refusals`, `storage` and `auditor`; nothing else is ever given.
#[test]
fn the_codes_are_those_that_are_documented() {
    let codes: Vec<u8> = Exit::ALL.iter().map(|(exit, _)| *exit as u8).collect();
    assert_eq!(codes, [0, 1, 2, 3, 4, 5]);
    assert!(Exit::ALL.iter().all(|(_, meaning)| !meaning.is_empty()));
    let readme = include_str!("../../README.md");
    for (exit, meaning) in Exit::ALL {
        let row = format!("| {} | {meaning} |", exit as u8);
        assert!(readme.contains(&row), "the README lacks the row: {row}");
    }
}

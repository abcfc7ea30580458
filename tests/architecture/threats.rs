//! `docs/threat-model.md`: every attack has a test that exists, or is said to be out of reach.

use super::safety::{is_test, named_tests};
use super::tree::read;

/// What is wrong with the page, in words.
fn findings(page: &str) -> Vec<String> {
    let rows = page.lines().filter(|line| line.starts_with("| "));
    let attacks: Vec<(&str, &str)> = rows
        .filter_map(|row| row.trim_matches('|').split_once(" | "))
        .filter(|(attack, _)| !matches!(attack.trim(), "attack" | "---"))
        .collect();
    let mut found = Vec::new();
    if attacks.len() < 30 {
        found.push(format!("only {} attacks", attacks.len()));
    }
    for (attack, comes) in attacks {
        let tests = named_tests(comes);
        if tests.is_empty() && !comes.contains("out of reach") {
            found.push(format!("{attack}: neither a test nor out of reach"));
        }
        let lost = tests.iter().filter(|(path, name)| !is_test(path, name));
        found.extend(lost.map(|(path, name)| format!("{attack}: {path} has no test {name}")));
    }
    found
}

#[test]
fn every_attack_has_its_test_or_is_said_to_be_out_of_reach() {
    let found = findings(&read("docs/threat-model.md"));
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn this_test_would_see_an_attack_without_its_test() {
    let page = read("docs/threat-model.md");
    let right = "`an_extract_that_shows_less_says_so`";
    assert!(page.contains(right));
    let wrong = page.replace(right, "`an_extract_nobody_tests`");
    assert!(
        findings(&wrong)
            .join("\n")
            .contains("has no test an_extract_nobody_tests")
    );
    let bare = page.replace(
        "| watches the keyboard | out of reach |",
        "| watches the keyboard | nothing |",
    );
    assert_ne!(page, bare);
    assert!(findings(&bare).join("\n").contains("watches the keyboard"));
}

//! The hazard log in `docs/safety.md`: a control is claimed only with a test that exists, and a
//! rating is the published matrix's.

use std::collections::{BTreeMap, BTreeSet};

use super::tree::read;

const HAZARDS_MIN: usize = 25;
const FIELDS: [&str; 7] = [
    "Cause",
    "Effect",
    "Harm",
    "Controls",
    "Initial",
    "Residual",
    "Owner, status",
];

/// Rating by likelihood and consequence.
type Matrix = BTreeMap<(String, String), u8>;

fn published() -> Matrix {
    rated("tests/vectors/clinical_risk.psv")
}

fn rated(path: &str) -> Matrix {
    let text = read(path);
    let rows = text.lines().filter(|line| !line.starts_with('#'));
    rows.map(|row| {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let key = (cells[0].to_owned(), cells[1].to_owned());
        (key, cells[2].parse().unwrap())
    })
    .collect()
}

/// One hazard: its heading and its fields.
struct Hazard<'a> {
    name: &'a str,
    fields: BTreeMap<&'a str, &'a str>,
}

fn hazards(page: &str) -> Vec<Hazard<'_>> {
    let sections = page.split("\n### ").skip(1);
    sections
        .map(|section| {
            let (name, body) = section.split_once('\n').unwrap_or((section, ""));
            let fields = body.lines().filter_map(|line| {
                let (field, text) = line.strip_prefix("- **")?.split_once("**: ")?;
                Some((field, text.trim()))
            });
            Hazard {
                name,
                fields: fields.collect(),
            }
        })
        .collect()
}

/// What is wrong with the page, in words.
fn findings(page: &str, matrix: &Matrix) -> Vec<String> {
    let hazards = hazards(page);
    let mut found = Vec::new();
    if hazards.len() < HAZARDS_MIN {
        found.push(format!(
            "{} hazards, fewer than {HAZARDS_MIN}",
            hazards.len()
        ));
    }
    let ids: BTreeSet<&str> = hazards
        .iter()
        .filter_map(|h| h.name.split(' ').next())
        .collect();
    if ids.len() != hazards.len() {
        found.push("two hazards have one number".to_owned());
    }
    for hazard in &hazards {
        let said = judge(hazard, matrix).into_iter();
        found.extend(said.map(|what| format!("{}: {what}", hazard.name)));
    }
    found
}

fn judge(hazard: &Hazard<'_>, matrix: &Matrix) -> Vec<String> {
    let field = |name: &str| hazard.fields.get(name).copied().unwrap_or_default();
    let missing = FIELDS.iter().filter(|name| field(name).is_empty());
    let mut found: Vec<String> = missing.map(|name| format!("{name} is missing")).collect();
    let initial = rating(field("Initial"), matrix);
    let residual = rating(field("Residual"), matrix);
    for rated in [&initial, &residual] {
        found.extend(rated.as_ref().err().cloned());
    }
    let tests = named_tests(field("Controls"));
    if tests.is_empty() {
        if !field("Controls").starts_with("None yet") {
            found.push("a control is claimed without a test".to_owned());
        }
        if field("Initial") != field("Residual") {
            found.push("the risk falls without a control".to_owned());
        }
    }
    if let (Ok(initial), Ok(residual)) = (initial, residual)
        && residual > initial
    {
        found.push("the residual risk is above the initial one".to_owned());
    }
    let lost = tests.iter().filter(|(path, name)| !is_test(path, name));
    found.extend(lost.map(|(path, name)| format!("{path} has no test {name}")));
    found
}

/// `Low x Major = 3`.
fn rating(text: &str, matrix: &Matrix) -> Result<u8, String> {
    let wrong = || format!("\"{text}\" is not the matrix's rating");
    let (cell, rating) = text.split_once(" = ").ok_or_else(wrong)?;
    let (likelihood, consequence) = cell.split_once(" x ").ok_or_else(wrong)?;
    let key = (likelihood.to_owned(), consequence.to_owned());
    let rating: u8 = rating.parse().map_err(|_| wrong())?;
    match matrix.get(&key) {
        Some(published) if *published == rating => Ok(rating),
        _ => Err(wrong()),
    }
}

/// Each quoted file, with the functions quoted after it.
pub(super) fn named_tests(controls: &str) -> Vec<(&str, &str)> {
    let (mut file, mut tests) = ("", Vec::new());
    for quoted in controls.split('`').skip(1).step_by(2) {
        if quoted.ends_with(".rs") {
            file = quoted;
        } else {
            tests.push((file, quoted));
        }
    }
    tests
}

/// The file holds that function, and it is a test.
pub(super) fn is_test(path: &str, name: &str) -> bool {
    let root = std::path::Path::new(super::tree::ROOT);
    let Ok(text) = std::fs::read_to_string(root.join(path)) else {
        return false;
    };
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let head = format!("fn {name}(");
    let places = lines
        .iter()
        .enumerate()
        .filter(|(_, line)| line.starts_with(&head));
    let mut is_marked = places.map(|(at, _)| {
        let above = lines[..at].iter().rev();
        let mut attributes =
            above.take_while(|line| line.starts_with("#[") || line.starts_with("//"));
        attributes.any(|line| *line == "#[test]")
    });
    is_marked.any(|is| is)
}

#[test]
fn every_control_has_its_test_and_every_rating_is_the_published_one() {
    let found = findings(&read("docs/safety.md"), &published());
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The matrix that the page shows is the one it is judged by, and the worked ratings agree.
#[test]
fn the_matrix_on_the_page_is_the_published_one() {
    let matrix = published();
    assert_eq!(matrix.len(), 25);
    for (cell, rating) in rated("tests/vectors/clinical_risk_w11.psv") {
        assert_eq!(matrix.get(&cell), Some(&rating), "{cell:?}");
    }
    let page = read("docs/safety.md");
    let mut rows = page.lines().filter(|line| line.starts_with('|'));
    let cells = |row: &str| -> Vec<String> {
        let cells = row.trim_matches('|').split('|');
        cells.map(|cell| cell.trim().to_owned()).collect()
    };
    let head = cells(rows.next().unwrap());
    let mut shown = Matrix::new();
    for row in rows.skip(1).map(cells) {
        for (consequence, rating) in head.iter().zip(&row).skip(1) {
            let key = (row[0].clone(), consequence.clone());
            shown.insert(key, rating.parse().unwrap());
        }
    }
    assert_eq!(shown, matrix);
}

/// What the test above is for, seen to be found.
#[test]
fn this_test_would_see_a_control_without_its_test() {
    let page = read("docs/safety.md");
    let matrix = published();
    for (right, wrong, said) in [
        (
            "`a_result_nobody_has_seen_lifts_its_patient`",
            "`a_result_that_nobody_tests`",
            "has no test a_result_that_nobody_tests",
        ),
        (
            "`tests/view/unseen_results.rs` `tables",
            "`tests/view/no_such_file.rs` `tables",
            "tests/view/no_such_file.rs has no test",
        ),
        // A function that is there and is no test.
        (
            "`a_result_nobody_has_seen_lifts_its_patient`",
            "`ward`",
            "has no test ward",
        ),
        (
            "**Initial**: Medium x Major = 3",
            "**Initial**: Medium x Major = 2",
            "is not the matrix's",
        ),
        (
            "**Residual**: Low x Major = 3",
            "**Residual**: High x Catastrophic = 5",
            "above the initial",
        ),
        (
            "- **Harm**: Untreated",
            "- Harm: Untreated",
            "Harm is missing",
        ),
        (
            "**Controls**: None yet:",
            "**Controls**: We are careful:",
            "without a test",
        ),
    ] {
        assert!(page.contains(right), "{right} is on the page");
        let found = findings(&page.replacen(right, wrong, 1), &matrix);
        assert!(
            found.iter().any(|what| what.contains(said)),
            "{said}: {found:?}"
        );
    }
    let (first, _) = page.split_once("### H10").unwrap();
    let found = findings(first, &matrix);
    assert!(
        found.iter().any(|what| what.contains("fewer than")),
        "{found:?}"
    );
}

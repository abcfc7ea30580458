//! The README's transcript is what the shell answers: the same lines are typed, the answers
//! compared. Times of day and lengths of time may have moved on by a minute.

use std::io::Write;
use std::process::{Command, Stdio};

fn readme() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
    std::fs::read_to_string(path).expect("the README")
}

/// The block after the marker.
fn transcript(readme: &str) -> Vec<String> {
    let (_, after) = readme
        .split_once("<!-- transcript:")
        .expect("the README has a transcript");
    let (_, block) = after
        .split_once("```text\n")
        .expect("the transcript is a text block");
    let (block, _) = block.split_once("\n```").expect("the block ends");
    block.lines().map(str::to_owned).collect()
}

/// Digits of clock times and minutes become `0`: the story's clock runs while the test does.
fn settled(line: &str) -> String {
    let chars: Vec<char> = line.chars().collect();
    let digit = |at: usize| chars.get(at).is_some_and(char::is_ascii_digit);
    let mut out = String::new();
    for (at, c) in chars.iter().enumerate() {
        let in_clock = c.is_ascii_digit()
            && ((0..=4).any(|back| {
                at.checked_sub(back).is_some_and(|start| {
                    digit(start)
                        && digit(start + 1)
                        && chars.get(start + 2) == Some(&':')
                        && digit(start + 3)
                        && digit(start + 4)
                })
            }));
        let in_minutes = c.is_ascii_digit() && {
            let end = (at..chars.len())
                .find(|next| !digit(*next))
                .unwrap_or(chars.len());
            chars[end..].starts_with(&['m', 'i', 'n'])
        };
        if in_minutes && out.ends_with('0') && digit(at - 1) {
            continue;
        }
        out.push(if in_clock || in_minutes { '0' } else { *c });
    }
    out
}

#[test]
fn the_transcript_in_the_readme_is_what_the_shell_answers() {
    let dir = tempfile::tempdir().unwrap();
    let journal = dir.path().join("tansy");
    handfast::demo::build::build(&journal).unwrap();
    let pin = dir.path().join("pin");
    std::fs::write(&pin, "472918\n").unwrap();
    let written = transcript(&readme());
    let typed: Vec<&str> = written
        .iter()
        .filter_map(|line| line.strip_prefix("> "))
        .collect();
    assert!(typed.len() >= 5, "the transcript lost its lines");
    let mut shell = Command::new(env!("CARGO_BIN_EXE_handfast"))
        .args(["--user", "orla", "shell", "--journal"])
        .arg(&journal)
        .arg("--pin-file")
        .arg(&pin)
        .env_remove("HANDFAST_JOURNAL")
        .env_remove("HANDFAST_USER")
        .env_remove("HANDFAST_PIN_FILE")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut keys = shell.stdin.take().unwrap();
    keys.write_all((typed.join("\n") + "\n").as_bytes())
        .unwrap();
    drop(keys);
    let output = shell.wait_with_output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let said: Vec<String> = said.lines().map(settled).collect();
    let answers = written.iter().filter(|line| !line.starts_with("> "));
    let answers: Vec<String> = answers.map(|line| settled(line)).collect();
    assert_eq!(said, answers, "bring the README's transcript up to date");
}

#[test]
fn the_readme_names_every_exit_code() {
    let readme = readme();
    for (exit, meaning) in handfast::cli::Exit::ALL {
        let row = format!("| {} | {meaning} |", exit as u8);
        assert!(readme.contains(&row), "the README lacks: {row}");
    }
}

#[test]
fn times_and_minutes_settle_and_nothing_else() {
    assert_eq!(
        settled("#797 at 19:24, 3hr 15min, 1min, 22 beds"),
        "#797 at 00:00, 3hr 0min, 0min, 22 beds"
    );
}

/// Whoever tries the ward as sister or governance finds their PIN where the README says all are.
#[test]
fn every_pin_of_the_demo_is_in_the_readme() {
    let readme = include_str!("../../README.md");
    let staff = std::iter::once(&handfast::demo::cast::KEEPER).chain(&handfast::demo::cast::STAFF);
    for member in staff {
        let words = [
            format!("`{}` {}", member.handle, member.pin),
            format!("`{}`", member.pin),
        ];
        let told = words.iter().any(|words| readme.contains(words));
        assert!(told, "{}", member.handle);
    }
}

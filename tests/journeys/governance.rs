//! Whoever checks from outside: the commands of `docs/governance.md` word for word, a witness, a signed report,
//! and extracts, with the real program.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use crate::desk::{Answer, Desk, answer, number, pristine, says};

const PASSPHRASE: &str = "seven hedgehogs cross the lane";

/// A desk whose ward has a key of its own and one checkpoint.
fn desk() -> Desk {
    let desk = Desk::demo();
    desk.run_as("wren", &["checkpoint", "key"]);
    desk
}

fn path(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// A checkpoint made now, kept beside the journal.
fn checkpoint(desk: &Desk, name: &str) -> PathBuf {
    let kept = desk.beside(name);
    let made = desk.run_as("wren", &["checkpoint", "make", "--out", path(&kept)]);
    assert_eq!(made.code, 0, "{made:?}");
    kept
}

/// Somebody's own key: its file, the passphrase's file, and the keys for reports and for checkpoints.
fn own_key(desk: &Desk) -> (PathBuf, PathBuf, String, String) {
    let pass = desk.file("passphrase", PASSPHRASE);
    let file = desk.beside("my.key");
    let made = desk.run(&[
        "--pin-file",
        path(&pass),
        "checkpoint",
        "own-key",
        path(&file),
        "--name",
        "audit-one",
    ]);
    let said = made.done();
    let keys: Vec<String> = said
        .split_whitespace()
        .filter(|word| word.starts_with("audit-one+"))
        .map(str::to_owned)
        .collect();
    let [reports, checkpoints] = <[String; 2]>::try_from(keys).unwrap();
    (file, pass, reports, checkpoints)
}

/// The lines of the page's `sh` blocks.
fn commands(page: &str) -> Vec<String> {
    let mut inside = false;
    let mut lines = Vec::new();
    for line in page.lines() {
        match line {
            "```sh" => inside = true,
            "```" => inside = false,
            line if inside => lines.push(line.to_owned()),
            _ => {}
        }
    }
    lines
}

fn python() -> Option<String> {
    let python = std::env::var("HANDFAST_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python)
        .args(["-c", "import blake3, cryptography"])
        .output();
    if has.is_ok_and(|output| output.status.success()) {
        return Some(python);
    }
    let required = std::env::var_os("CI").is_some();
    assert!(
        !required,
        "{python} lacks the packages blake3 and cryptography"
    );
    eprintln!("SKIPPED in part: {python} lacks the packages blake3 and cryptography");
    None
}

/// A home as the page has it: the ward, the program on the path, the scripts of the source.
fn home() -> Desk {
    let desk = Desk::empty();
    let home = desk.beside("home");
    crate::desk::copy(pristine(), &home.join("ward"));
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    std::os::unix::fs::symlink(root.join("tests"), home.join("tests")).unwrap();
    for folder in ["bin", "target/release"] {
        let folder = home.join(folder);
        std::fs::create_dir_all(&folder).unwrap();
        std::os::unix::fs::symlink(env!("CARGO_BIN_EXE_handfast"), folder.join("handfast"))
            .unwrap();
    }
    desk
}

/// A line in a shell, by somebody whose secret is in the usual place.
fn in_shell(desk: &Desk, line: &str) -> Answer {
    let home = desk.beside("home");
    let secret = if line.contains("--user wren") {
        crate::pin_of("wren")
    } else {
        PASSPHRASE
    };
    let secret = desk.file("secret", secret);
    let mut shell = Command::new("/bin/sh");
    let paths = std::env::var("PATH").unwrap_or_default();
    shell
        .env_clear()
        .env("HOME", &home)
        .env("PATH", format!("{}:{paths}", path(&home.join("bin"))))
        .env("HANDFAST_PIN_FILE", secret)
        .current_dir(&home)
        .args(["-c", line]);
    answer(shell, "")
}

/// A word of what was said that begins so.
fn word(said: &str, start: &str) -> String {
    let mut words = said.split_whitespace();
    words
        .find(|word| word.starts_with(start))
        .unwrap()
        .to_owned()
}

#[test]
fn the_pages_commands_do_what_the_page_says_word_for_word() {
    let desk = home();
    let page = include_str!("../../docs/governance.md");
    let python = python();
    let (mut keys, mut hash) = (Vec::<String>::new(), String::new());
    let mut ran = 0;
    for line in commands(page) {
        if line.starts_with("cargo build") || (line.starts_with("python3") && python.is_none()) {
            continue;
        }
        let mut as_run = line.clone();
        if line.contains("handfast/…") {
            let shown = in_shell(&desk, "handfast --journal ~/ward checkpoint show");
            as_run = as_run.replace("handfast/…+…+…", &key_of_ward(&shown.out));
        }
        if line.contains("audit-one+") {
            as_run = as_run.replace("audit-one+1234abcd+A…", &keys[0]);
            as_run = as_run.replace("audit-one+5678abcd+B…", &keys[1]);
        }
        as_run = as_run.replace("HASH-OF-123", &hash);
        if let Some(python) = &python {
            as_run = as_run.replacen("python3 ", &format!("{python} "), 1);
        }
        assert!(!as_run.contains('…') && !as_run.contains("HASH"), "{line}");
        let answer = in_shell(&desk, &as_run);
        assert_eq!(answer.code, 0, "{line}\n{answer:?}");
        if line.contains("own-key") {
            let words = answer.out.split_whitespace().map(str::to_owned);
            keys = words
                .filter(|word| word.starts_with("audit-one+"))
                .collect();
        }
        if line.contains(" prove 123") {
            let mut words = answer.out.split_whitespace();
            hash = words.find(|word| word.len() == 64).unwrap().to_owned();
        }
        let said = match line.split_whitespace().collect::<Vec<_>>()[..] {
            [_, _, _, "verify", "--against", "checkpoint.txt"] => "WHOLE AND UNALTERED",
            [_, "verify", "--check-report", ..] => "the file is as it was written",
            [_, "extract", "verify", "pell.json"] => "HOLDS",
            [_, "extract", "verify", "pell.json", "--against", _] => "Rests on the same checkpoint",
            [_, "checkpoint", "verify", ..] => "countersigned by audit-one",
            _ => "",
        };
        assert!(answer.out.contains(said), "{line}\n{answer:?}");
        ran += 1;
    }
    assert!(ran >= 15, "{ran}");
}

fn key_of_ward(shown: &str) -> String {
    let (_, key) = shown
        .split_once("The ward's key, by this journal: ")
        .unwrap();
    word(key, "handfast/")
}

#[test]
fn a_witness_signs_what_fits_and_remembers_it() {
    let desk = desk();
    let (key_file, pass, _, public) = own_key(&desk);
    let first = checkpoint(&desk, "first.txt");
    let second = checkpoint(&desk, "second.txt");
    let cosign = |file: &Path| {
        desk.run(&[
            "--pin-file",
            path(&pass),
            "checkpoint",
            "cosign",
            path(file),
            "--key-file",
            path(&key_file),
        ])
    };
    let verify = |file: &Path| desk.run(&["checkpoint", "verify", path(file), "--key", &public]);
    assert_eq!(verify(&second).code, 3, "nobody signed yet");
    let answer = cosign(&second);
    assert_eq!(answer.code, 0, "{answer:?}");
    says(
        &answer.err,
        &[
            "Nothing that this key countersigned",
            "before is remembered",
        ],
    );
    says(
        &verify(&second).done(),
        &["countersigned by audit-one at 20"],
    );
    // What covers less is refused, also after the key's file was renamed.
    let before = std::fs::read(&first).unwrap();
    cosign(&first).failed(1, &["you have countersigned", "nothing was signed"]);
    let renamed = desk.beside("renamed.key");
    std::fs::rename(&key_file, &renamed).unwrap();
    let again = desk.run(&[
        "--pin-file",
        path(&pass),
        "checkpoint",
        "cosign",
        path(&first),
        "--key-file",
        path(&renamed),
    ]);
    again.failed(1, &["you have countersigned", "nothing was signed"]);
    assert_eq!(std::fs::read(&first).unwrap(), before);
    std::fs::rename(&renamed, &key_file).unwrap();
    // A text that is not of these entries is refused.
    let text = std::fs::read_to_string(&second).unwrap();
    let size = text.lines().nth(1).unwrap();
    let false_size = size.parse::<u64>().unwrap() + 1;
    let forged = desk.file(
        "forged.txt",
        &text.replacen(size, &false_size.to_string(), 1),
    );
    let refused = cosign(&forged);
    assert_eq!(refused.code, 3, "{refused:?}");
}

/// Sixty-four signature lines: the most a note can have. Nothing is written that could not be read again.
#[test]
fn a_full_checkpoint_does_not_brick_a_witness() {
    let desk = desk();
    let (key_file, pass, _, _) = own_key(&desk);
    let good = checkpoint(&desk, "good.txt");
    let text = std::fs::read_to_string(&good).unwrap();
    let stranger = "AAAA".repeat(32);
    let lines: String = (0..63).map(|n| format!("— w{n} {stranger}\n")).collect();
    let full = desk.file("full.txt", &format!("{text}{lines}"));
    let cosign = |file: &Path| {
        desk.run(&[
            "--pin-file",
            path(&pass),
            "checkpoint",
            "cosign",
            path(file),
            "--key-file",
            path(&key_file),
        ])
    };
    let before = std::fs::read(&full).unwrap();
    let refused = cosign(&full);
    assert_eq!(refused.code, 1, "{refused:?}");
    says(
        &refused.err,
        &["more than 64 signatures", "nothing was written"],
    );
    assert_eq!(std::fs::read(&full).unwrap(), before);
    let answer = cosign(&good);
    assert_eq!(answer.code, 0, "{answer:?}");
    let again = cosign(&good);
    assert_eq!(again.code, 0, "{again:?}");
}

#[test]
fn a_report_is_checked_whole_and_its_verdict_is_the_exit_code() {
    let desk = desk();
    let (key_file, pass, public, _) = own_key(&desk);
    let kept = checkpoint(&desk, "kept.txt");
    let report = |form: &str, name: &str| {
        let out = desk.beside(name);
        let answer = desk.run(&[
            "--pin-file",
            path(&pass),
            "verify",
            "--against",
            path(&kept),
            "--report",
            form,
            "--key-file",
            path(&key_file),
            "--out",
            path(&out),
        ]);
        (answer.code, out)
    };
    let check = |file: &Path| {
        desk.run(&[
            "verify",
            "--check-report",
            path(file),
            "--signed-by",
            &public,
        ])
    };
    let alter = |file: &Path, from: &str, to: &str| {
        let text = std::fs::read_to_string(file).unwrap();
        assert!(text.contains(from), "{from}");
        let altered = desk.beside("altered");
        std::fs::write(&altered, text.replacen(from, to, 1)).unwrap();
        altered
    };
    for form in ["text", "json", "html"] {
        let (code, file) = report(form, &format!("whole.{form}"));
        assert_eq!(code, 0);
        let answer = check(&file);
        assert_eq!(answer.code, 0, "{form} {answer:?}");
        says(
            &answer.out,
            &[
                "the file is as it was written",
                "verdict: Whole and unaltered",
            ],
        );
    }
    let (json, html) = (desk.beside("whole.json"), desk.beside("whole.html"));
    for (what, altered) in [
        ("a number", alter(&json, "\"faults\": 0", "\"faults\": 1")),
        (
            "the verdict",
            alter(&json, "\"verdict\": \"Whole", "\"verdict\": \"Not"),
        ),
        (
            "a member",
            alter(&json, "\"schema\"", "\"more\": 1,\n  \"schema\""),
        ),
    ] {
        let answer = check(&altered);
        assert_eq!(answer.code, 3, "{what}");
        says(&answer.out, &["ALTERED, or written by another version"]);
    }
    let altered = alter(
        &html,
        "<h1>Whole and unaltered</h1>",
        "<h1>NOT AS WRITTEN</h1>",
    );
    assert_eq!(check(&altered).code, 3);
    let altered = alter(&html, "</body>", "<p>one line more</body>");
    assert_eq!(check(&altered).code, 3);
    // A hidden true text before the false one that a browser shows.
    let altered = alter(&html, "<h1>", "<!-- <pre id=\"signed\"></pre> --><h1>");
    check(&altered).failed(1, &["two texts in it"]);
    let altered = alter(&desk.beside("whole.text"), "faults: 0", "faults: 1");
    let answer = check(&altered);
    assert_eq!(answer.code, 3, "{answer:?}");

    let asked = desk.run(&[
        "--json",
        "verify",
        "--check-report",
        path(&json),
        "--signed-by",
        &public,
    ]);
    let said: Value = serde_json::from_str(&asked.done()).unwrap();
    assert_eq!(said["schema"], "handfast.report-check/1");
    assert_eq!(
        (&said["as_written"], &said["verdict"]),
        (&true.into(), &"Whole and unaltered".into())
    );

    // A true report on a journal that is not as written.
    desk.alter(|bytes| bytes[5000] ^= 1);
    for form in ["text", "json", "html"] {
        let (code, file) = report(form, &format!("broken.{form}"));
        assert_eq!(code, 3);
        let answer = check(&file);
        assert_eq!(answer.code, 3, "{answer:?}");
        says(
            &answer.out,
            &["the file is as it was written", "verdict: NOT AS WRITTEN"],
        );
    }
}

#[test]
fn a_checkpoint_of_another_ward_tests_nothing_and_says_so() {
    let (desk, other) = (desk(), Desk::empty());
    let pin = other.file("pin", "481526");
    let made = other.run(&[
        "--pin-file",
        path(&pin),
        "--user",
        "kim",
        "init",
        "--ward",
        "Other Ward",
        "--name",
        "Kim Elder",
    ]);
    let own = checkpoint(&desk, "own.txt");
    let text = std::fs::read_to_string(&own).unwrap();
    // Another ward's, or the same with another number: it makes no difference to what can be told.
    let id = desk.journal_id().to_string();
    let foreign = desk.file("foreign.txt", &text.replace(&id, &"ab".repeat(16)));
    let _ = made;
    let answer = desk.run(&["verify", "--against", path(&foreign)]);
    assert_eq!(answer.code, 4, "{answer:?}");
    says(
        &answer.out,
        &[
            "NOT TESTED AGAINST WHAT WAS NAMED",
            "of another journal",
            "not tested against it",
        ],
    );
    assert!(!answer.out.contains("NOT AS WRITTEN"));
    let json = desk.run(&["--json", "verify", "--against", path(&foreign)]);
    let said: Value = serde_json::from_str(&json.out).unwrap();
    assert_eq!(said["verdict"], "not-tested");
    assert_eq!(desk.run(&["verify", "--against", path(&own)]).code, 0);
}

fn extract(desk: &Desk, out: &Path, more: &[&str]) -> Answer {
    let mut args = vec!["extract", "--purpose", "a test", "--out", path(out)];
    args.extend_from_slice(more);
    desk.run_as("wren", &args)
}

#[test]
fn an_extract_is_held_against_a_checkpoint_somebody_kept() {
    let desk = desk();
    let first = checkpoint(&desk, "first.txt");
    let second = checkpoint(&desk, "second.txt");
    let out = desk.beside("extract.json");
    let verify = |file: &Path, kept: &Path| {
        desk.run(&["extract", "verify", path(file), "--against", path(kept)])
    };
    assert_eq!(extract(&desk, &out, &["--patient", "T02"]).code, 0);
    says(
        &verify(&out, &second).done(),
        &["HOLDS", "Rests on the same checkpoint"],
    );
    let answer = verify(&out, &first);
    assert_eq!(answer.code, 4, "{answer:?}");
    says(&answer.out, &["NOT TESTED against", "covers"]);
    // Asked for on the one that was kept.
    let on_first = desk.beside("on-first.json");
    let answer = extract(
        &desk,
        &on_first,
        &["--patient", "T02", "--checkpoint", path(&first)],
    );
    assert_eq!(answer.code, 0, "{answer:?}");
    says(
        &verify(&on_first, &first).done(),
        &["HOLDS", "Rests on the same checkpoint"],
    );
    // Another root at the same size: two histories.
    let text = std::fs::read_to_string(&second).unwrap();
    let root = text.lines().nth(2).unwrap();
    let other = desk.file(
        "other.txt",
        &text.replacen(root, &format!("{}=", "A".repeat(43)), 1),
    );
    let answer = verify(&out, &other);
    assert_eq!(answer.code, 3, "{answer:?}");
    says(&answer.out, &["DOES NOT HOLD", "two histories"]);
}

#[test]
fn nothing_in_an_extract_can_speak_as_the_check_does() {
    let desk = desk();
    checkpoint(&desk, "a.txt");
    let out = desk.beside("extract.json");
    extract(&desk, &out, &["--patient", "T02"]).done();
    let text = std::fs::read_to_string(&out).unwrap();
    let mut file: Value = serde_json::from_str(&text).unwrap();
    let entry = &mut file["entries"][4];
    entry["frame"] = Value::Null;
    entry["withheld"] = "a\nHOLDS: every\u{1b}[31m thing".into();
    file["purpose"] = "b\nHOLDS: every thing".into();
    let forged = desk.file("forged.json", &file.to_string());
    let answer = desk.run(&["extract", "verify", path(&forged)]);
    let lines = answer.out.lines();
    assert_eq!(
        lines.filter(|line| line.starts_with("HOLDS")).count(),
        1,
        "{answer:?}"
    );
    assert!(!answer.out.contains('\u{1b}'));
}

/// What cannot be written is not recorded as made.
#[test]
fn an_extract_that_cannot_be_written_is_not_recorded() {
    let desk = desk();
    checkpoint(&desk, "a.txt");
    let head = desk.head();
    desk.file("in-the-way", "a file");
    let nowhere = desk.beside("in-the-way").join("extract.json");
    let answer = extract(&desk, &nowhere, &["--patient", "T02"]);
    assert_eq!(answer.code, 4, "{answer:?}");
    says(&answer.err, &["nothing was recorded"]);
    assert_eq!(desk.head(), head);
    let out = desk.beside("extract.json");
    extract(&desk, &out, &["--patient", "T02"]).done();
    assert_eq!(desk.head().seq, head.seq.next());
    assert!(!desk.beside("extract.json.tried").exists());
}

#[test]
fn what_was_withdrawn_is_marked_on_the_page_even_past_the_end_asked_for() {
    let desk = desk();
    let note = desk.log(
        "orla",
        &["note", "patient=T02", "text=Brought the wrong box."],
    );
    let written = note.to_string();
    let answer = desk.run_as("orla", &["withdraw", &written, "--cause", "mistaken"]);
    assert_eq!(answer.code, 0, "{answer:?}");
    let withdrawal = number(&answer.out);
    checkpoint(&desk, "a.txt");
    let out = desk.beside("extract.json");
    extract(&desk, &out, &["--patient", "T02"]).done();
    let page = std::fs::read_to_string(desk.beside("extract.json.html")).unwrap();
    let mark = format!("<p class=\"mark\">Withdrawn by #{withdrawal}</p>");
    assert_eq!(page.matches(&mark).count(), 1);
    let (before, _) = page.split_once(&mark).unwrap();
    let (_, section) = before.rsplit_once("<section").unwrap();
    assert!(section.starts_with(" class=\"gone\""), "{section}");
    assert!(section.contains(&format!("#{note} ")), "{section}");
}

#[test]
fn prove_names_the_checkpoint_it_took() {
    let desk = desk();
    let kept = checkpoint(&desk, "a.txt");
    let text = std::fs::read_to_string(kept).unwrap();
    let size = text.lines().nth(1).unwrap();
    let foreign = text.replacen(&format!("\n{size}\n"), "\n1000000\n", 1);
    let place = desk.journal.join("checkpoints/00000000000001000000.txt");
    std::fs::write(place, foreign).unwrap();
    let out = desk.beside("proof");
    let answer = desk.run(&["prove", "3", "--out", path(&out)]).done();
    says(&answer, &[&format!("among the first {size} entries")]);
    let shown = desk.run(&["checkpoint", "show"]).done();
    says(&shown, &[&format!("Covers entries 1 to {size}.")]);
}

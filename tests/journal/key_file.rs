//! `docs/key-file.md` says what the program does: a script written from it opens keys.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use handfast::journal::Layout;
use handfast::record::person::Handle;
use handfast::station::keys::{Cost, NewKey};

fn opened(python: &str, file: &Path, pin: &str) -> (i32, String) {
    opened_with(python, &[file], pin)
}

/// With the files named: the key file, and perhaps the computer's half.
fn opened_with(python: &str, files: &[&Path], pin: &str) -> (i32, String) {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/independent/open_key.py");
    let mut running = Command::new(python)
        .arg(script)
        .args(files)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = running.stdin.take().unwrap();
    input.write_all(format!("{pin}\n").as_bytes()).unwrap();
    drop(input);
    let output = running.wait_with_output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    (output.status.code().unwrap(), text.trim().to_owned())
}

/// Needs the PyPI package `cryptography` with Argon2id (44 or newer). CI must have it.
#[test]
fn a_script_written_from_the_document_alone_opens_keys() {
    let python = std::env::var("HANDFAST_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python)
        .args([
            "-c",
            "from cryptography.hazmat.primitives.kdf.argon2 import Argon2id",
        ])
        .output();
    if !has.is_ok_and(|output| output.status.success()) {
        let required = std::env::var_os("CI").is_some();
        assert!(!required, "{python} lacks Argon2id of package cryptography");
        eprintln!("SKIPPED: {python} lacks Argon2id of package cryptography");
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    let layout = Layout::new(dir.path());
    for (handle, pin, teaching) in [
        ("ann", "brown-hen-7", true),
        ("bo", "grün, grün und grün", false),
    ] {
        let cost = Cost::of_journal(teaching);
        let key = NewKey::make(&layout, &Handle(handle.into()), pin, cost).unwrap();
        let public = key.public();
        key.put_in_place(&layout).unwrap();
        let path = layout.keys_dir().join(format!("{handle}.key"));
        let said = opened(&python, &path, pin);
        assert_eq!(said, (0, format!("{handle} {public}")));
        assert_eq!(opened(&python, &path, "brown-hen-8").0, 1);
        // Bound to its owner: under another name it does not open.
        let text = std::fs::read_to_string(&path).unwrap();
        let other = text.replace(&format!("\"{handle}\""), "\"cy\"");
        assert_ne!(text, other);
        std::fs::write(&path, other).unwrap();
        assert_eq!(opened(&python, &path, pin).0, 1);
    }
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-journal/keys/orla.key");
    let (code, said) = opened(&python, Path::new(demo), "472918");
    assert!(code == 0 && said.starts_with("orla "), "{said}");
    a_pin_opens_with_the_computers_half_and_not_without(&python);
}

/// The secret value of Argon2id (RFC 9106, section 3.1) as another library computes it.
fn a_pin_opens_with_the_computers_half_and_not_without(python: &str) {
    let dir = tempfile::tempdir().unwrap();
    let (journal, device) = (dir.path().join("ward"), dir.path().join("device"));
    let pin = dir.path().join("pin");
    std::fs::write(&pin, "471193").unwrap();
    let made = Command::new(env!("CARGO_BIN_EXE_handfast"))
        .env("HANDFAST_DEVICE_DIR", &device)
        .args([
            "init",
            "--ward",
            "Sorrel Ward",
            "--keeper",
            "kit",
            "--name",
            "Kit Keeper",
        ])
        .arg("--new-pin-file")
        .arg(&pin)
        .arg("--journal")
        .arg(&journal)
        .output()
        .unwrap();
    assert!(made.status.success(), "{made:?}");
    let (key, half) = (journal.join("keys/kit.key"), device.join("device.half"));
    let (code, said) = opened_with(python, &[&key, &half], "471193");
    assert!(code == 0 && said.starts_with("kit "), "{said}");
    assert_eq!(opened_with(python, &[&key, &half], "471194").0, 1);
    let other = std::fs::read_to_string(&half).unwrap();
    let digit = if other.contains("\"half\": \"0") {
        '1'
    } else {
        '0'
    };
    let at = other.find("\"half\": \"").unwrap() + 9;
    let mut other = other;
    other.replace_range(at..=at, &digit.to_string());
    std::fs::write(&half, other).unwrap();
    assert_eq!(
        opened_with(python, &[&key, &half], "471193").0,
        1,
        "another half"
    );
}

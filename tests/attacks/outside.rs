//! A program that knows the documents only (Python) believes what is true and nothing else.

use std::path::Path;
use std::process::Command;

use handfast::journal::note::{NoteKind, VerifierKey};
use handfast::journal::{FileReader, ReadJournal};
use handfast::record::ids::Seq;
use handfast::station::keys::OwnKey;
use handfast::station::known_checkpoints::KnownCheckpoint;
use handfast::station::proving::{prove_entry, prove_extends};

use crate::ward::Ward;

/// The interpreter, or a line that says why this is not looked at.
pub(super) fn python() -> Option<String> {
    let python = std::env::var("HANDFAST_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python)
        .args(["-c", "import blake3, cryptography, nacl"])
        .output();
    if has.is_ok_and(|output| output.status.success()) {
        return Some(python);
    }
    let required = std::env::var_os("CI").is_some();
    assert!(!required, "{python} lacks the package cryptography");
    eprintln!("SKIPPED: {python} lacks the package cryptography");
    None
}

fn script(python: &str, args: &[&str]) -> (bool, String) {
    let script = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/independent/verify_proof.py"
    );
    let output = Command::new(python)
        .arg(script)
        .args(args)
        .output()
        .unwrap();
    let said = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(said).unwrap())
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn python_checks_a_checkpoint_an_inclusion_and_a_consistency_proof() {
    let Some(python) = python() else { return };
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (first, a) = ward.checkpoint(kept.path(), "a");
    let (second, b) = ward.checkpoint(kept.path(), "b");
    let (station, _) = ward.station();
    let key = VerifierKey {
        name: first.text.key_name().unwrap(),
        kind: NoteKind::Note,
        key: station.ward().ward_key().unwrap(),
    };
    let key = key.to_string();

    // A witness signs beside the ward.
    let own = kept.path().join("own.key");
    let name = handfast::record::person::Handle("witness".to_owned());
    let own = OwnKey::make(&own, &name, "a long passphrase").unwrap();
    let mut note = second.note.clone();
    let witness = "witness".parse().unwrap();
    note.cosign(&witness, &*own.signer, 1_795_514_400).unwrap();
    let both = kept.path().join("both");
    std::fs::write(&both, note.to_text()).unwrap();
    let witness = VerifierKey {
        name: witness,
        kind: NoteKind::Cosignature,
        key: own.signer.public(),
    };
    let (holds, said) = script(
        &python,
        &["checkpoint", text(&both), &key, &witness.to_string()],
    );
    assert!(holds && said.contains(&second.text.digits()), "{said}");

    let reader = FileReader::open(ward.path()).unwrap();
    let known = KnownCheckpoint::read(&b).unwrap();
    let proof_file = kept.path().join("proof");
    let mut proved = 0;
    for seq in [1, 2, 77, first.text.size, second.text.size] {
        let hash = reader.read(Seq(seq)).unwrap().hash();
        let proof = prove_entry(ward.path(), Seq(seq), std::slice::from_ref(&known)).unwrap();
        std::fs::write(&proof_file, proof.proof.to_text()).unwrap();
        let (holds, said) = script(
            &python,
            &["inclusion", text(&proof_file), &hash.to_string(), &key],
        );
        assert!(holds, "{seq}: {said}");
        let other = reader.read(Seq(seq % 70 + 3)).unwrap().hash().to_string();
        let (holds, said) = script(&python, &["inclusion", text(&proof_file), &other, &key]);
        assert!(!holds, "{seq}: {said}");
        proved += 1;
    }
    assert_eq!(proved, 5);

    let old = KnownCheckpoint::read(&a).unwrap();
    let proof = prove_extends(ward.path(), &old, std::slice::from_ref(&known)).unwrap();
    std::fs::write(&proof_file, proof.to_text()).unwrap();
    let (holds, said) = script(&python, &["consistency", text(&proof_file), text(&a), &key]);
    assert!(holds, "{said}");
    let mut broken = proof;
    if let Some(hash) = broken.path.first_mut() {
        hash.0[0] ^= 1;
    }
    std::fs::write(&proof_file, broken.to_text()).unwrap();
    let (holds, said) = script(&python, &["consistency", text(&proof_file), text(&a), &key]);
    assert!(!holds, "{said}");
}

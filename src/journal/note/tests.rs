//! Notes against the documents' examples, against keys and notes of other implementations, and
//! against whatever anybody might send.

use proptest::prelude::*;
use zeroize::Zeroizing;

use super::*;
use crate::journal::{Signer, SigningSeed};
use crate::record::ids::{JournalId, TreeHash};

/// Example of the C2SP document tlog-cosignature; its first signature line is also the example of
/// tlog-checkpoint. The documents give no keys, so it shows form only.
const DOCUMENT: &str = "example.com/behind-the-sofa
20852163
CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=

— example.com/behind-the-sofa Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=
— witness.example.com/w1 jWbPPwAAAABkGFDLEZMHwSRaJNiIDoe9DYn/zXcrtPHeolMI5OWXEhZCB9dlrDJsX3b2oyin1nPZqhf5nNo0xUe+mbIUBkBIfZ+qnA==
";
/// Example of the C2SP document signed-note.
const POEM: &str = "Ognuno sta solo sul cuor della terra
trafitto da un raggio di sole:

ed è subito sera.

— quasimodo.example/salvatore NnugSzTjtVAewIS+Z/iJhUPeFDkO/5QQ2i5ddnGITLlC+EhfLW9oJKONrMouFSQU0xMcXxj99ihAQwaqP3ZekRwNtIc=
";
/// Example of the package `golang.org/x/mod/sumdb/note`, from which the document was made: signing
/// key (its last 32 bytes are the seed), verifier key, note.
const SEED: &str = "AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz";
const SEED_KEY: &str = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW";
const SEED_NOTE: &str = "If you think cryptography is the answer to your problem,
then you don't know what your problem is.

— PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfqdngotpRZb6KE6RyyBwJnAM=
";
/// A checkpoint that a public test log published and public witnesses cosigned, with the log's and one
/// witness's key; out of the tests of another implementation, in Python, read in a stored copy.
const REAL: &str = "arche2025h1.staging.ct.transparency.dev
1432088532
U7WM79jrzyhGZ5/GUBTpM7NzwdyfFx61t3RovgcC4Ro=

— arche2025h1.staging.ct.transparency.dev zTM8sQAAAZ5W0WdjBAMARjBEAiBjW5IQf9pvsYLfQFX6hoGREPMHbdQ3urbllzalApkptQIgIpwtEroeW2BXaHAI4kJXFbon5Ch9MNL5zRNZ55lvGt0=
— arche2025h1.staging.ct.transparency.dev ui8GwCF1+kWqZrxGdhj4aX3gcw7XUlXQQabg/27lefwhUkzbC3NygNI75MdhL1bfTW9g8Ei59RA23oHP7Ry1k3ZFWwQ=
— transparency.dev/DEV:witness-little-garden 2AQqhwAAAABqEiEgzgFIqqhbUoDwjMWE6UP8nd8/KYTzwZ2rhIgcqoXHAwVkjZr4AscylP3v7sEodkRAErumC2q44vdgJY096st5BQ==
— witness1.smartit.nu/witness1 pIyCDwAAAABqEiEghIp82KWebrw7/oHQwlTAm3g2RKS4+eebl8eO0WH+/iEcxZ75W3u5hNI7TOQtmJbqmNWVuE0tgh0XwzdZsDsUAQ==
— remora.n621.de 2net5wAAAABqEiEgPlfF3V06o0Y+fHM+J5J9s27wgxxcOVSpZ/2g/KSiXCg9DEZI+aVCIobWX9sXTynk5XeU/zZ0WBxtqB0DrAWfBw==
— witness.stagemole.eu Z/euoAAAAABqEiEgw0i+7g2ENfDAWHmtRzCfKTHSDwYDJA2NmKeGi9Y8FtEyOUvVr+AJmIY/2TUFucgKi7lI7cUiOvKFYe/TmN9DAg==
";
const REAL_LOG: &str =
    "arche2025h1.staging.ct.transparency.dev+ba2f06c0+AU0vHmlGCS/PdN8b2OaGmKprLI8HKM+dJ472xgFYh15f";
const REAL_WITNESS: &str = "remora.n621.de+da77ade7+BOvN63jn/bLvkieywe8R6UYAtVtNbZpXh34x7onlmtw2";

fn note(text: &str) -> SignedNote {
    SignedNote::parse(text.as_bytes()).unwrap()
}

fn seed(bytes: [u8; 32]) -> SigningSeed {
    SigningSeed::from_bytes(&Zeroizing::new(bytes))
}

#[test]
fn the_documents_examples_are_read_and_written_to_the_byte() {
    for text in [DOCUMENT, POEM, SEED_NOTE, REAL] {
        assert_eq!(note(text).to_text(), text);
    }
    let poem = note(POEM);
    assert!(poem.text().ends_with("sole:\n\ned è subito sera.\n"));
    assert_eq!(
        poem.signatures()[0].name.as_str(),
        "quasimodo.example/salvatore"
    );
    let checkpoint = Checkpoint::parse(note(DOCUMENT).text()).unwrap();
    assert_eq!(checkpoint.origin, "example.com/behind-the-sofa");
    assert_eq!(checkpoint.size, 20_852_163);
    assert_eq!(checkpoint.to_text(), note(DOCUMENT).text());
    // The time that the document names beside the example.
    let document = note(DOCUMENT);
    let cosigned = &document.signatures()[1];
    assert_eq!(cosigned.bytes[..8], 1_679_315_147_u64.to_be_bytes());
}

#[test]
fn signs_byte_for_byte_as_the_first_implementation_does() {
    let key: VerifierKey = SEED_KEY.parse().unwrap();
    assert_eq!(key.to_string(), SEED_KEY);
    let bytes = from_base64(SEED).unwrap();
    let signer = seed(bytes[1..].try_into().unwrap());
    assert_eq!(signer.public(), key.key);
    let text = note(SEED_NOTE).text().to_owned();
    let ours = SignedNote::sign(text, &key.name, &signer).unwrap();
    assert_eq!(ours.to_text(), SEED_NOTE);
    assert_eq!(ours.check(&key), Ok(Signed { at: None }));
}

#[test]
fn a_real_log_and_a_real_witness_are_believed_and_a_changed_word_is_not() {
    let (log, witness): (VerifierKey, VerifierKey) =
        (REAL_LOG.parse().unwrap(), REAL_WITNESS.parse().unwrap());
    assert_eq!(note(REAL).check(&log), Ok(Signed { at: None }));
    let at = note(REAL).check(&witness).unwrap().at.unwrap();
    assert_eq!(at, 0x6a12_2120);
    let altered = note(&REAL.replace("1432088532", "1432088531"));
    for key in [log, witness] {
        let name = key.name.to_string();
        assert_eq!(altered.check(&key), Err(NoteError::Forged { name }));
    }
    let stranger: VerifierKey = SEED_KEY.parse().unwrap();
    let name = "PeterNeumann".to_owned();
    assert_eq!(
        note(REAL).check(&stranger),
        Err(NoteError::NotSigned { name })
    );
}

/// `signed_note` is an implementation by other people.
#[test]
fn another_implementation_reads_ours_and_we_read_theirs() {
    use signed_note::{Note, StandardVerifier, VerifierList};
    let signer = seed([9; 32]);
    let checkpoint = Checkpoint::of(JournalId([3; 16]), 77, TreeHash([4; 32]));
    let name = checkpoint.key_name().unwrap();
    let ours = SignedNote::sign(checkpoint.to_text(), &name, &signer).unwrap();
    let key = VerifierKey {
        name,
        kind: NoteKind::Note,
        key: signer.public(),
    };
    let theirs = Note::from_bytes(ours.to_text().as_bytes()).unwrap();
    let verifier = StandardVerifier::new(&key.to_string()).unwrap();
    let verifiers = VerifierList::new(vec![Box::new(verifier)]);
    let (verified, _) = theirs.verify(&verifiers).unwrap();
    assert_eq!(verified.len(), 1);
    assert_eq!(theirs.to_bytes(), ours.to_text().as_bytes());
    let altered = ours.to_text().replace("\n77\n", "\n78\n");
    let altered = Note::from_bytes(altered.as_bytes()).unwrap();
    assert!(altered.verify(&verifiers).is_err());
}

#[test]
fn a_witness_signs_beside_the_ward_and_again_in_place_of_its_own() {
    let (ward, witness) = (seed([1; 32]), seed([2; 32]));
    let checkpoint = Checkpoint::of(JournalId([3; 16]), 8, TreeHash([4; 32]));
    let name = checkpoint.key_name().unwrap();
    let mut note = SignedNote::sign(checkpoint.to_text(), &name, &ward).unwrap();
    let witness_name: KeyName = "governance.example/witness".parse().unwrap();
    note.cosign(&witness_name, &witness, 1_700_000_000).unwrap();
    note.cosign(&witness_name, &witness, 1_700_000_060).unwrap();
    assert_eq!(note.signatures().len(), 2);
    let key = VerifierKey {
        name: witness_name,
        kind: NoteKind::Cosignature,
        key: witness.public(),
    };
    let at = Some(1_700_000_060);
    assert_eq!(note.check(&key), Ok(Signed { at }));
    let read = SignedNote::parse(note.to_text().as_bytes()).unwrap();
    assert_eq!(read, note);
    // The time is signed too.
    let mut later = note.clone();
    later.signatures[1].bytes[7] ^= 1;
    assert!(matches!(later.check(&key), Err(NoteError::Forged { .. })));
    assert_eq!(checkpoint.journal(), Some(JournalId([3; 16])));
}

/// Whatever can be signed can be read again: a note at its limits takes no further signature, and stays.
#[test]
fn a_full_note_takes_no_signature_and_is_left_as_it_was() {
    let witness = seed([2; 32]);
    let line = |n: usize| format!("— w{n} {}\n", to_base64(&[1; 68]));
    let lines: String = (0..SIGNATURES_MAX).map(line).collect();
    let mut full = note(&format!("a\n\n{lines}"));
    let before = full.clone();
    let name: KeyName = "witness".parse().unwrap();
    let refused = full.cosign(&name, &witness, 1);
    assert_eq!(refused, Err(NoteError::TooManySignatures));
    assert_eq!(full, before);
    let long = "x".repeat(NOTE_BYTES_MAX - 120);
    let mut long = note(&format!("{long}\n\n{}", line(1)));
    assert_eq!(long.cosign(&name, &witness, 1), Err(NoteError::TooLong));
    let too_long = format!("{}\n", "x".repeat(NOTE_BYTES_MAX));
    let signed = SignedNote::sign(too_long, &name, &witness);
    assert_eq!(signed, Err(NoteError::TooLong));
    // One of its own is replaced, so there is room for it.
    let lines: String = (1..SIGNATURES_MAX).map(line).collect();
    let mut own = note(&format!("a\n\n{lines}"));
    own.cosign(&name, &witness, 1).unwrap();
    own.cosign(&name, &witness, 2).unwrap();
    assert_eq!(note(&own.to_text()), own);
}

#[test]
fn what_is_no_note_checkpoint_or_key_is_refused() {
    let good = DOCUMENT;
    for (what, text) in [
        ("nothing", String::new()),
        ("no blank line", good.replace("\n\n", "\n")),
        ("no signature", good[..good.find('—').unwrap()].to_owned()),
        ("cut at the end", good[..good.len() - 1].to_owned()),
        ("cut within", good[..good.len() - 9].to_owned()),
        ("carriage return", good.replace('\n', "\r\n")),
        ("tab", good.replace("20852163", "2085\t163")),
        ("a hyphen", good.replace("— w", "- w")),
        ("two spaces", good.replace("— w", "—  w")),
        ("name with a plus", good.replace("— witness.", "— witness+")),
        (
            "base 64 without its padding",
            good.replace("qnA==\n", "qnA\n"),
        ),
        (
            "base 64 in another form",
            good.replace("qnA==\n", "qnB==\n"),
        ),
        (
            "only a key id",
            format!("a\n\n— b {}\n", to_base64(&[1; 4])),
        ),
        (
            "too long",
            format!("{}{good}", "x\n".repeat(NOTE_BYTES_MAX)),
        ),
        (
            "too many signatures",
            format!(
                "a\n\n{}",
                format!("— b {}\n", to_base64(&[1; 68])).repeat(65)
            ),
        ),
    ] {
        assert!(SignedNote::parse(text.as_bytes()).is_err(), "{what}");
    }
    assert!(SignedNote::parse(b"a\n\xff\n\n").is_err());
    for text in [
        "",
        "a\n1\n",
        "\n1\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n",
        "a\n01\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n",
        "a\n+1\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n",
        "a\n18446744073709551616\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n",
        "a\n1\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxqw==\n",
        "a\n1\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=",
        "a\n1\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n\n",
    ] {
        assert!(Checkpoint::parse(text).is_err(), "{text:?}");
    }
    for text in [
        "",
        "PeterNeumann",
        "PeterNeumann+c74f20a4+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
        "PeterNeumann+C74F20A3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
        "Peter Neumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
        "PeterNeumann+173116ae+ZRpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW",
        "PeterNeumann+cc469956+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TWBADKEY==",
        "++",
    ] {
        assert!(text.parse::<VerifierKey>().is_err(), "{text:?}");
    }
}

#[test]
fn proofs_have_the_documents_form() {
    let inclusion = InclusionProof {
        extra: Some(b"by the way".to_vec()),
        index: 73_894,
        path: vec![TreeHash([1; 32]), TreeHash([2; 32])],
        checkpoint: note(DOCUMENT),
    };
    let text = inclusion.to_text();
    let one = to_base64(&[1; 32]);
    assert!(text.starts_with(&format!(
        "c2sp.org/tlog-proof@v1\nextra YnkgdGhlIHdheQ==\nindex 73894\n{one}\n"
    )));
    assert!(text.ends_with(&format!("\n\n{DOCUMENT}")));
    assert_eq!(InclusionProof::parse(text.as_bytes()), Ok(inclusion));
    let consistency = ConsistencyProof {
        old: 0,
        path: Vec::new(),
        checkpoint: note(DOCUMENT),
    };
    let text = consistency.to_text();
    assert_eq!(text, format!("old 0\n\n{DOCUMENT}"));
    assert_eq!(ConsistencyProof::parse(text.as_bytes()), Ok(consistency));
    let long = format!(
        "c2sp.org/tlog-proof@v1\nindex 1\n{}\n{DOCUMENT}",
        format!("{one}\n").repeat(65)
    );
    for wrong in [
        "",
        "c2sp.org/tlog-proof@v1\nindex 1\n",
        &format!("c2sp.org/tlog-proof@v2\nindex 1\n\n{DOCUMENT}"),
        &format!("c2sp.org/tlog-proof@v1\nindex 01\n\n{DOCUMENT}"),
        &format!("c2sp.org/tlog-proof@v1\nextra ?\nindex 1\n\n{DOCUMENT}"),
        &format!("c2sp.org/tlog-proof@v1\nindex 1\nAAAA\n\n{DOCUMENT}"),
        &long,
    ] {
        assert!(
            InclusionProof::parse(wrong.as_bytes()).is_err(),
            "{wrong:?}"
        );
    }
}

/// The digits by hand, with another program: Python's hashlib.
#[test]
fn digits_to_read_out_are_those_of_the_documented_rule() {
    let checkpoint = Checkpoint::of(JournalId([3; 16]), 77, TreeHash([4; 32]));
    assert_eq!(checkpoint.digits(), "25100 05633 72652 10402 53687 29450");
    let next = Checkpoint::of(JournalId([3; 16]), 78, TreeHash([4; 32]));
    assert_ne!(checkpoint.digits(), next.digits());
}

proptest! {
    #[test]
    fn anything_at_all_is_answered(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = SignedNote::parse(&bytes);
        let _ = InclusionProof::parse(&bytes);
        let _ = ConsistencyProof::parse(&bytes);
        let text = String::from_utf8_lossy(&bytes);
        let _ = Checkpoint::parse(&text);
        let _ = text.parse::<VerifierKey>();
    }

    /// One byte changed anywhere: refused, or still the same note and otherwise not signed.
    #[test]
    fn no_byte_can_be_changed(at in 0usize..1000, to: u8) {
        let mut bytes = SEED_NOTE.as_bytes().to_vec();
        let at = at % bytes.len();
        prop_assume!(bytes[at] != to);
        bytes[at] = to;
        let key: VerifierKey = SEED_KEY.parse().unwrap();
        let read = SignedNote::parse(&bytes);
        prop_assert!(read.is_err() || read.unwrap().check(&key).is_err());
    }

    #[test]
    fn what_is_read_is_written_back(text in "[a-z\n]{0,60}\n", names in proptest::collection::vec("[a-z/.]{1,9}", 1..5)) {
        let mut note = SignedNote::sign(text, &names[0].parse().unwrap(), &seed([7; 32])).unwrap();
        for name in &names {
            note.cosign(&name.parse().unwrap(), &seed([8; 32]), 5).unwrap();
        }
        let written = note.to_text();
        prop_assert_eq!(SignedNote::parse(written.as_bytes()), Ok(note));
    }
}

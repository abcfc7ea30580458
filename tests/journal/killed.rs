//! A writer process is killed again and again; what it was told is recorded stays.

use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};

use handfast::journal::verify::{VerifyOptions, verify};
use handfast::journal::{FileReader, FileStore, ReadJournal, Store};
use handfast::record::ids::{JournalId, Seq};

use crate::material::{entry, open};

const DIR: &str = "HANDFAST_TEST_KILLED_DIR";

/// Not a test of its own: the process that the test below starts and kills.
#[test]
#[ignore = "run by killed_writers_lose_nothing_acknowledged"]
fn writes_until_killed() {
    let Some(dir) = std::env::var_os(DIR) else {
        return;
    };
    loop {
        let store = open(dir.as_ref()).unwrap();
        for _ in 0..20 {
            let next = store.head().seq.0 + 1;
            let appended = store.append(vec![entry(next, 700)], None).unwrap();
            println!("acknowledged {} {}", appended[0].seq.0, appended[0].hash);
        }
    }
}

#[test]
fn killed_writers_lose_nothing_acknowledged() {
    let dir = tempfile::tempdir().unwrap();
    FileStore::create(dir.path(), JournalId([1; 16])).unwrap();
    let mut acknowledged = Vec::new();
    for round in 0..12 {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "--ignored",
                "--exact",
                "killed::writes_until_killed",
                "--nocapture",
            ])
            .env(DIR, dir.path())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut heard = 0;
        for line in lines.map_while(Result::ok) {
            if let Some((_, told)) = line.split_once("acknowledged ") {
                acknowledged.push(told.to_owned());
                heard += 1;
                if heard == 11 + round {
                    child.kill().unwrap();
                }
            }
        }
        child.wait().unwrap();
    }
    assert!(acknowledged.len() > 100, "{}", acknowledged.len());
    drop(open(dir.path()).unwrap());
    let reader = FileReader::open(dir.path()).unwrap();
    for told in &acknowledged {
        let (seq, hash) = told.split_once(' ').unwrap();
        let frame = reader.read(Seq(seq.parse().unwrap())).unwrap();
        assert_eq!(frame.hash().to_string(), hash);
    }
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!(found.findings, []);
}

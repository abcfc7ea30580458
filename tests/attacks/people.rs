//! Each attacker of `docs/threat-model.md` in turn, with the real program and the raw files.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

/// A sealed ward with a keeper (passphrase), a nurse and governance (PINs), and what its people keep.
struct Sealed {
    dir: TempDir,
}

const KEEPER: &str = "three long words here";

impl Sealed {
    fn new() -> Sealed {
        let ward = Sealed {
            dir: tempfile::tempdir().unwrap(),
        };
        ward.secret("kit", KEEPER);
        ward.secret("nell", "471193");
        ward.secret("gus", "584421");
        let shares = ward.at("shares");
        ward.done(
            "",
            &[
                "init",
                "--ward",
                "Sorrel Ward",
                "--keeper",
                "kit",
                "--name",
                "Kit Keeper",
                "--new-pin-file",
                text(&ward.at("kit")),
                "--shares",
                text(&shares),
            ],
        );
        for (handle, role) in [("nell", "nurse"), ("gus", "governance")] {
            ward.done(
                "kit",
                &[
                    "staff",
                    "add",
                    handle,
                    "--name",
                    handle,
                    "--role",
                    role,
                    "--new-pin-file",
                    text(&ward.at(handle)),
                ],
            );
        }
        ward.done(
            "nell",
            &[
                "log",
                "admission",
                "patient=new",
                "family=Thrale",
                "given=Ines",
                "born=02-Jul-1944",
                "sex=female",
                "nhs=999 000 0018",
                "slot=T01",
                "area=Fernhill",
                "source=gp",
                "reason=chest infection",
                "allergies=none known",
                "ceiling=full",
                "resuscitation=attempt",
                "scale=1",
            ],
        );
        ward.note("slept well");
        ward
    }

    fn at(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn journal(&self) -> PathBuf {
        self.at("journal")
    }

    fn secret(&self, handle: &str, secret: &str) {
        std::fs::write(self.at(handle), secret).unwrap();
    }

    /// The program as somebody on the ward's own computer; as nobody where the handle is empty.
    fn run(&self, handle: &str, args: &[&str]) -> Output {
        self.run_at(&self.at("device"), &self.journal(), handle, args)
    }

    fn run_at(&self, device: &Path, journal: &Path, handle: &str, args: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_handfast"));
        command
            .env_clear()
            .env("HANDFAST_DEVICE_DIR", device)
            .env("HANDFAST_JOURNAL", journal)
            .args(["--width", "100"])
            .args(args);
        if !handle.is_empty() {
            command
                .env("HANDFAST_USER", handle)
                .env("HANDFAST_PIN_FILE", self.at(handle));
        }
        command.output().unwrap()
    }

    fn done(&self, handle: &str, args: &[&str]) -> String {
        let output = self.run(handle, args);
        assert!(output.status.success(), "{args:?}: {output:?}");
        said(&output)
    }

    fn note(&self, words: &str) {
        self.done(
            "nell",
            &["log", "note", "patient=T01", &format!("text={words}")],
        );
    }

    /// A copy of everything in the folder, as a thief takes it.
    fn stolen(&self) -> TempDir {
        let copy = tempfile::tempdir().unwrap();
        crate::ward::copy(&self.journal(), copy.path());
        copy
    }
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&[&output.stdout[..], &output.stderr[..]].concat()).into_owned()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

/// Words in any file under a folder.
fn holds(dir: &Path, words: &[u8]) -> bool {
    std::fs::read_dir(dir).unwrap().any(|entry| {
        let path = entry.unwrap().path();
        if path.is_dir() {
            return holds(&path, words);
        }
        let bytes = std::fs::read(&path).unwrap();
        bytes.windows(words.len()).any(|window| window == words)
    })
}

#[test]
fn a_thief_of_the_folder_reads_nothing_and_has_no_pin_to_try() {
    let ward = Sealed::new();
    // Views were drawn, so an index and whatever else is left behind is there, too.
    ward.done("nell", &["timeline", "T01"]);
    ward.done("nell", &["checkpoint", "make"]);
    let stolen = ward.stolen();
    for words in [
        &b"Thrale"[..],
        b"THRALE",
        b"999 000 0018",
        b"9990000018",
        b"slept well",
        b"Fernhill",
    ] {
        assert!(
            !holds(stolen.path(), words),
            "{}",
            String::from_utf8_lossy(words)
        );
    }
    assert!(!holds(
        stolen.path(),
        &std::fs::read(ward.at("device/device.half")).unwrap()
    ));
    // Even told the PIN, elsewhere: the other half is not in the folder.
    let elsewhere = ward.at("elsewhere");
    let output = ward.run_at(&elsewhere, stolen.path(), "nell", &["timeline", "T01"]);
    assert_eq!(code(&output), 1);
    assert!(
        said(&output).contains("this is another"),
        "{}",
        said(&output)
    );
    // And what can be had without anything: who is on the staff, that it is whole, no more.
    let output = ward.run_at(&elsewhere, stolen.path(), "", &["verify"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    assert!(!said(&output).contains("Thrale"));
}

#[test]
fn somebody_at_the_desk_who_tries_pins_is_slowed_locked_out_and_told_of() {
    let ward = Sealed::new();
    ward.secret("nell", "000000");
    let try_one = || ward.run("nell", &["timeline", "T01"]);
    for left in [11, 10, 9] {
        let output = try_one();
        assert_eq!(code(&output), 1);
        assert!(
            said(&output).contains(&format!("{left} tries are left")),
            "{}",
            said(&output)
        );
    }
    // A new process, as after a restart: the wait is in the folder, not in the program.
    assert!(
        said(&try_one()).contains("too many wrong PINs"),
        "{}",
        said(&try_one())
    );
    // Twelve in vain, whatever the clock says, lock the key until the keeper makes another.
    let tries = ward.journal().join("keys/nell.tries");
    std::fs::write(&tries, r#"{"failed": 12, "last": 0}"#).unwrap();
    ward.secret("nell", "471193");
    let output = try_one();
    assert!(
        said(&output).contains("locked after too many wrong PINs"),
        "{}",
        said(&output)
    );
    // Three wrong and then the right one: the owner sees it in the access record.
    std::fs::write(&tries, r#"{"failed": 3, "last": 0}"#).unwrap();
    ward.done("nell", &["timeline", "T01"]);
    let record = ward.done("", &["access", "--staff", "nell"]);
    assert!(
        record.contains("3 wrong PINs before the right one"),
        "{record}"
    );
    // Twelve and then a new key: no right one follows, and the tries are told of all the same.
    std::fs::write(&tries, r#"{"failed": 12, "last": 0}"#).unwrap();
    let nell = ward.at("nell");
    let new_key = [
        "staff",
        "new-key",
        "nell",
        "--reason",
        "locked out",
        "--new-pin-file",
        text(&nell),
    ];
    ward.done("kit", &new_key);
    let record = ward.done("", &["access", "--staff", "kit"]);
    assert!(record.contains("12 wrong PINs for nell"), "{record}");
    // Neither is told of twice.
    let record = ward.done("", &["access", "--staff", "nell"]);
    assert_eq!(record.matches("wrong PIN").count(), 1, "{record}");
}

#[test]
fn a_wrong_role_opens_no_sealed_payload_and_the_try_is_recorded() {
    let ward = Sealed::new();
    for handle in ["gus", "kit"] {
        let output = ward.run(handle, &["timeline", "T01"]);
        assert_eq!(code(&output), 1);
        assert!(
            said(&output).contains("reads no records"),
            "{}",
            said(&output)
        );
        assert!(!said(&output).contains("Thrale"));
    }
    let output = ward.run("gus", &["log", "note", "patient=T01", "text=x"]);
    assert_eq!(code(&output), 1);
    let record = ward.done("", &["access", "--staff", "gus"]);
    assert!(record.contains("was refused"), "{record}");
}

#[test]
fn an_insider_who_rewrites_their_own_newest_entry_meets_the_checkpoint_that_was_kept() {
    let ward = Sealed::new();
    let before = ward.stolen();
    ward.note("fell at 02:00, nobody came");
    let kept = ward.at("kept.txt");
    ward.done("nell", &["checkpoint", "make", "--out", text(&kept)]);
    // The folder is put back as it was, and the nurse writes something milder.
    std::fs::remove_dir_all(ward.journal()).unwrap();
    crate::ward::copy(before.path(), &ward.journal());
    ward.note("slept through");
    ward.done("nell", &["checkpoint", "make"]);
    let alone = ward.run("", &["verify"]);
    assert_eq!(code(&alone), 0, "by itself it is whole: {}", said(&alone));
    let held = ward.run("", &["verify", "--against", text(&kept)]);
    assert_eq!(code(&held), 3, "{}", said(&held));
    assert!(said(&held).contains("checkpoint"), "{}", said(&held));
}

#[test]
fn a_keeper_who_makes_the_whole_ward_anew_has_another_journal() {
    let ward = Sealed::new();
    let kept = ward.at("kept.txt");
    ward.done("nell", &["checkpoint", "make", "--out", text(&kept)]);
    let other = Sealed::new();
    let output = other.run("", &["verify", "--against", text(&kept)]);
    assert_ne!(code(&output), 0, "{}", said(&output));
    assert!(said(&output).contains("checkpoint"), "{}", said(&output));
}

#[test]
fn a_keeper_who_gives_a_nurse_a_new_key_leaves_an_entry_and_writes_as_nobody_else() {
    let ward = Sealed::new();
    ward.secret("forged", "another long secret");
    ward.done(
        "kit",
        &[
            "staff",
            "new-key",
            "nell",
            "--reason",
            "lost",
            "--new-pin-file",
            text(&ward.at("forged")),
        ],
    );
    // Whose key it was before, and that it was replaced, by whom and when, stays in the journal.
    let log = ward.done("", &["--json", "verify"]);
    assert!(log.contains("\"whole\""), "{log}");
    let staff = ward.done("", &["timeline"]);
    assert!(
        staff.contains("lost") && staff.contains("Kit Keeper"),
        "{staff}"
    );
    // The old key signs nothing any more, at once and in a program that is running already.
    let output = ward.run("nell", &["log", "note", "patient=T01", "text=x"]);
    assert_eq!(code(&output), 1, "{}", said(&output));
}

#[test]
fn a_suspension_is_effective_at_once() {
    let ward = Sealed::new();
    ward.done("kit", &["staff", "suspend", "nell", "--reason", "left"]);
    let output = ward.run("nell", &["timeline", "T01"]);
    assert_eq!(code(&output), 1);
    assert!(said(&output).contains("suspended"), "{}", said(&output));
}

/// Whoever holds the only copy can hide the end of it, and only what was kept elsewhere tells.
#[test]
fn the_only_copy_can_be_cut_and_the_checkpoint_tells() {
    let ward = Sealed::new();
    let earlier = ward.stolen();
    ward.note("one more");
    let kept = ward.at("kept.txt");
    ward.done("nell", &["checkpoint", "make", "--out", text(&kept)]);
    let output = ward.run_at(
        &ward.at("device"),
        earlier.path(),
        "",
        &["verify", "--against", text(&kept)],
    );
    assert_eq!(code(&output), 3, "{}", said(&output));
    assert!(said(&output).contains("are here"), "{}", said(&output));
    // Without it nothing does: out of reach, and the threat model says so.
    let output = ward.run_at(&ward.at("device"), earlier.path(), "", &["verify"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
}

/// A backup put in place by one person would hide what was written since; two people and a checkpoint name it.
#[test]
fn a_backup_is_put_in_place_by_two_people_and_what_is_missing_is_named() {
    let ward = Sealed::new();
    let backup = ward.stolen();
    ward.note("fell at 02:00, nobody came");
    let kept = ward.at("kept.txt");
    ward.done("nell", &["checkpoint", "make", "--out", text(&kept)]);
    // As the README has it: the backup lies without the ring of keys, which is kept apart.
    let ring = std::fs::read(ward.journal().join("sealing/ring.json")).unwrap();
    std::fs::remove_dir_all(backup.path().join("sealing")).unwrap();
    std::fs::remove_dir_all(ward.journal()).unwrap();
    let restore = [
        "restore",
        "--from",
        text(backup.path()),
        "--against",
        text(&kept),
        "--reason",
        "the disk died",
    ];
    let alone = ward.run("kit", &restore);
    assert_eq!(code(&alone), 1, "{}", said(&alone));
    assert!(
        said(&alone).contains("two people") && said(&alone).contains("gus"),
        "{}",
        said(&alone)
    );
    // Nothing of it was put anywhere.
    assert!(!ward.journal().exists());
    assert_eq!(left_beside(&ward), Vec::<String>::new());
    let gus = ward.at("gus");
    let second = ["--second", "gus", "--second-pin-file", text(&gus)];
    // A checkpoint of another ward says nothing of this one.
    let other = Sealed::new();
    let others = other.at("kept.txt");
    other.done("nell", &["checkpoint", "make", "--out", text(&others)]);
    let strange = ward.run(
        "kit",
        &[&restore[..], &second[..], &["--against", text(&others)]].concat(),
    );
    assert_eq!(code(&strange), 3, "{}", said(&strange));
    assert!(
        said(&strange).contains("is of another journal"),
        "{}",
        said(&strange)
    );
    // Nor does one that anybody wrote, though it lies beyond the backup.
    let forged = ward.at("forged.txt");
    let signed = std::fs::read_to_string(&kept).unwrap();
    let lines: Vec<&str> = signed.lines().collect();
    let more: u64 = lines[1].parse::<u64>().unwrap() + 5;
    let lies = signed.replacen(&format!("\n{}\n", lines[1]), &format!("\n{more}\n"), 1);
    std::fs::write(&forged, lies).unwrap();
    let lied_to = ward.run(
        "kit",
        &[&restore[..], &second[..], &["--against", text(&forged)]].concat(),
    );
    assert_eq!(code(&lied_to), 3, "{}", said(&lied_to));
    assert!(
        said(&lied_to).contains("is not signed"),
        "{}",
        said(&lied_to)
    );
    // The place may hold the ring of keys, which stays, and nothing else.
    let sealing = ward.journal().join("sealing");
    std::fs::create_dir_all(&sealing).unwrap();
    std::fs::write(sealing.join("ring.json"), &ring).unwrap();
    std::fs::write(ward.journal().join("mine"), "x").unwrap();
    let full = ward.run("kit", &[&restore[..], &second[..]].concat());
    assert!(
        said(&full).contains("holds something already"),
        "{}",
        said(&full)
    );
    std::fs::remove_file(ward.journal().join("mine")).unwrap();
    let told = ward.done("kit", &[&restore[..], &second[..]].concat());
    assert!(told.contains("not in the backup"), "{told}");
    assert_eq!(left_beside(&ward), Vec::<String>::new());
    ward.note("the ward goes on");
    let log = ward.done("", &["timeline"]);
    assert!(
        log.contains("the disk died") && log.contains("put back from a backup"),
        "{log}"
    );
    // The lost branch still shows against the checkpoint.
    assert_eq!(
        code(&ward.run("", &["verify", "--against", text(&kept)])),
        3
    );
    assert_eq!(code(&ward.run("", &["verify"])), 0);
    // A backup that was altered is not put in place at all.
    let segment = std::fs::read_dir(backup.path().join("segments"))
        .unwrap()
        .next()
        .unwrap()
        .unwrap();
    let mut bytes = std::fs::read(segment.path()).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(segment.path(), bytes).unwrap();
    std::fs::remove_dir_all(ward.journal()).unwrap();
    let altered = ward.run("kit", &[&restore[..], &second[..]].concat());
    assert_eq!(code(&altered), 3, "{}", said(&altered));
    assert!(!ward.journal().exists());
}

/// An extract of sealed records opens what it shows to whoever has the file, and nothing else to anybody.
#[test]
fn an_extract_of_sealed_records_opens_what_it_shows_and_nothing_else() {
    let ward = Sealed::new();
    ward.note("a neighbour drinks");
    ward.done("nell", &["checkpoint", "make"]);
    let out = ward.at("extract.json");
    let timeline = ward.done("nell", &["--json", "timeline", "T01"]);
    let timeline: serde_json::Value = serde_json::from_str(&timeline).unwrap();
    let entries = timeline["entries"].as_array().unwrap();
    let numbers: Vec<String> = entries
        .iter()
        .map(|entry| entry["seq"].to_string())
        .collect();
    let [admission, slept, neighbour] = &numbers[..] else {
        panic!("{numbers:?}");
    };
    let withhold = format!("{neighbour}:names somebody else");
    let args = [
        "extract",
        "--patient",
        "T01",
        "--purpose",
        "subject access",
        "--withhold",
        &withhold,
        "--out",
        text(&out),
    ];
    for handle in ["gus", "kit"] {
        let refused = ward.run(handle, &args);
        assert!(
            !refused.status.success() && !out.exists(),
            "{}",
            said(&refused)
        );
    }
    ward.done("nell", &args);
    let page = std::fs::read_to_string(ward.at("extract.json.html")).unwrap();
    assert!(
        page.contains("slept well") && page.contains("Thrale"),
        "{page}"
    );
    assert!(!page.contains("neighbour"));
    // With no journal, no secret, on another computer.
    let nowhere = ward.at("nowhere");
    let check =
        |file: &Path| ward.run_at(&nowhere, &nowhere, "", &["extract", "verify", text(file)]);
    let held = check(&out);
    assert_eq!(code(&held), 0, "{}", said(&held));
    assert!(
        said(&held).contains("2 of those shown are sealed in the journal and opened here"),
        "{}",
        said(&held)
    );
    assert!(
        said(&held).contains("2 are here and 1 withheld"),
        "{}",
        said(&held)
    );

    let whole: serde_json::Value = serde_json::from_slice(&std::fs::read(&out).unwrap()).unwrap();
    let opening = |at: usize| whole["entries"][at]["opening"].clone();
    assert!(opening(0).is_string() && opening(1).is_string() && opening(2).is_null());
    assert_ne!(opening(0), opening(1));
    let altered = |entry: usize, opening: serde_json::Value| {
        let mut forged = whole.clone();
        forged["entries"][entry]["opening"] = opening;
        let path = ward.at("forged.json");
        std::fs::write(&path, forged.to_string()).unwrap();
        check(&path)
    };
    // Another entry's opening opens nothing; one that is left out leaves the entry unread, and it says so.
    let swapped = altered(0, opening(1));
    assert_eq!(code(&swapped), 3);
    assert!(
        said(&swapped).contains("does not open it"),
        "{}",
        said(&swapped)
    );
    let mut digits = opening(0).as_str().unwrap().to_owned();
    let last = if digits.ends_with('0') { "1" } else { "0" };
    digits.replace_range(63.., last);
    assert_eq!(code(&altered(0, digits.into())), 3);
    let unread = altered(0, serde_json::Value::Null);
    assert!(
        said(&unread).contains("1 of those shown cannot be read"),
        "{}",
        said(&unread)
    );

    // Another program, from the documents alone, opens what was given and reads the same bytes.
    let Some(python) = crate::outside::python() else {
        return;
    };
    let script = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/independent/open_sealed.py"
    );
    let opens = |entry: &str, opening: &serde_json::Value| {
        let output = Command::new(&python)
            .args([
                script,
                text(&ward.journal()),
                entry,
                "--opening",
                opening.as_str().unwrap(),
            ])
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    let payload = opens(slept, &opening(1));
    let words: String = b"slept well"
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    assert!(payload.contains(&words), "{payload}");
    for entry in [admission, neighbour] {
        assert_eq!(opens(entry, &opening(1)).trim(), "does not open", "{entry}");
    }
}

/// What lies hidden beside the journal: a copy that was not taken away.
fn left_beside(ward: &Sealed) -> Vec<String> {
    let names = ward.dir.path().read_dir().unwrap();
    let names = names.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    names.filter(|name| name.starts_with('.')).collect()
}

/// Damage that two people accepted is no reason not to go on from that backup; it is named.
#[test]
fn a_backup_with_accepted_damage_is_put_in_place_and_other_damage_keeps_it_out() {
    let ward = Sealed::new();
    for words in [
        "ate well",
        "walked a little",
        "slept badly",
        "asked for her son",
    ] {
        ward.note(words);
    }
    let segment = ward.journal().join("segments");
    let segment = segment.read_dir().unwrap().next().unwrap().unwrap().path();
    let whole = std::fs::read(&segment).unwrap();
    let flip = |from_end: usize| {
        let mut bytes = std::fs::read(&segment).unwrap();
        let at = bytes.len() - from_end;
        bytes[at] ^= 1;
        std::fs::write(&segment, bytes).unwrap();
    };
    flip(whole.len() / 4);
    let gus = ward.at("gus");
    let second = ["--second", "gus", "--second-pin-file", text(&gus)];
    let accept = ["damage", "accept", "--reason", "a bad block"];
    ward.done("kit", &[&accept[..], &second[..]].concat());
    ward.note("the ward goes on");
    let backup = ward.stolen();
    let restore = |from: &Path| {
        let from = from.to_owned();
        let args = [
            "restore",
            "--from",
            text(&from),
            "--reason",
            "the disk died",
        ];
        std::fs::remove_dir_all(ward.journal()).unwrap();
        ward.run("kit", &[&args[..], &second[..]].concat())
    };
    let put_back = restore(backup.path());
    assert_eq!(code(&put_back), 0, "{}", said(&put_back));
    assert!(
        said(&put_back).contains("Accepted before"),
        "{}",
        said(&put_back)
    );
    ward.note("and on");
    flip(700);
    let worse = ward.stolen();
    let refused = restore(worse.path());
    assert_eq!(code(&refused), 3, "{}", said(&refused));
    assert!(!ward.journal().exists());
}

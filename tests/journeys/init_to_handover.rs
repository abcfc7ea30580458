//! A ward from its first command to its first sheet, and what is generated from the program.

use std::io::Read;
use std::os::fd::AsRawFd;
use std::process::Stdio;

use crate::desk::{Answer, Desk, answer, number, says};

/// Runs as somebody of the new ward.
fn run_as(desk: &Desk, handle: &str, args: &[&str]) -> Answer {
    let mut command = desk.command(args);
    command
        .env("HANDFAST_USER", handle)
        .env("HANDFAST_PIN_FILE", desk.beside(handle));
    answer(command, "")
}

/// A ward with a keeper; everybody's PIN lies in a file named as they are.
fn opened() -> Desk {
    let desk = Desk::empty();
    let pin = desk.file("kit", "keeper-secret-1");
    let shown = desk
        .run(&[
            "init",
            "--ward",
            "Sorrel Ward",
            "--keeper",
            "kit",
            "--name",
            "Kit Keeper",
            "--teaching",
            "--new-pin-file",
            pin.to_str().unwrap(),
        ])
        .done();
    says(
        &shown,
        &[
            "Sorrel Ward is open",
            "Kit Keeper is its keeper",
            "handfast staff add",
        ],
    );
    desk
}

fn enrol(desk: &Desk, handle: &str, role: &str) {
    let pin = desk.file(handle, &format!("secret-of-{handle}\n"));
    let args = [
        "staff",
        "add",
        handle,
        "--name",
        &format!("{handle} of the ward"),
        "--role",
        role,
        "--new-pin-file",
        pin.to_str().unwrap(),
    ];
    run_as(desk, "kit", &args).done();
}

const ADMISSION: [&str; 16] = [
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
];

#[test]
fn from_nothing_to_an_accepted_handover() {
    let desk = opened();
    for (handle, role) in [
        ("ann", "nurse"),
        ("bo", "nurse"),
        ("cy", "assistant"),
        ("di", "sister"),
    ] {
        enrol(&desk, handle, role);
    }
    let staff = desk.run(&["staff", "list"]).done();
    assert_eq!(staff.lines().count(), 5, "{staff}");
    says(
        &staff,
        &[
            "kit Kit Keeper Keeper",
            "cy cy of the ward Assistant practitioner",
        ],
    );

    run_as(&desk, "cy", &ADMISSION).failed(
        1,
        &["an assistant practitioner may not write \"admission\""],
    );
    run_as(&desk, "kit", &ADMISSION).failed(1, &["a keeper may not write \"admission\""]);
    run_as(&desk, "ann", &ADMISSION).done();
    let readings = [
        "log",
        "obs",
        "patient=T01",
        "rr=21",
        "spo2=95",
        "oxygen=air",
        "sbp=118",
        "hr=92",
        "acvpu=A",
        "temp=37.4",
    ];
    says(&run_as(&desk, "cy", &readings).done(), &["NEWS2 4 (low)"]);
    run_as(
        &desk,
        "cy",
        &["log", "task", "patient=T01", "what=repeat set", "due=+2h"],
    )
    .done();

    let prepared = run_as(
        &desk,
        "ann",
        &[
            "handover",
            "prepare",
            "--from",
            "Day",
            "--to",
            "Night",
            "--receiver",
            "bo",
        ],
    )
    .done();
    run_as(&desk, "ann", &["handover", "give"]).done();
    run_as(&desk, "bo", &["handover", "accept"]).done();
    let listed = desk.run(&["handover", "list"]).done();
    says(
        &listed,
        &[
            &format!("#{}", number(&prepared)),
            "Day to Night, accepted",
            "by bo",
        ],
    );
    says(
        &desk.run(&["handover"]).done(),
        &["THRALE, Ines", "NEWS2 4", "repeat set"],
    );
    says(&desk.run(&["verify"]).done(), &["WHOLE AND UNALTERED"]);
}

#[test]
fn pins_come_from_descriptors_too() {
    let desk = opened();
    let new = desk.file("new", "secret-by-descriptor\n");
    let (new, own) = (
        std::fs::File::open(new).unwrap(),
        std::fs::File::open(desk.beside("kit")).unwrap(),
    );
    // The child gets both files under numbers of its own; a shell hands them on.
    let line = format!(
        "exec 5</proc/{pid}/fd/{new} 6</proc/{pid}/fd/{own}; \
         \"$0\" --user kit --pin-fd 6 staff add ann --name Ann --role nurse --new-pin-fd 5",
        pid = std::process::id(),
        new = new.as_raw_fd(),
        own = own.as_raw_fd(),
    );
    let mut command = std::process::Command::new("/bin/sh");
    command
        .env_clear()
        .env("HANDFAST_JOURNAL", &desk.journal)
        .args(["-c", &line, env!("CARGO_BIN_EXE_handfast")]);
    answer(command, "").done();
    desk.file("ann", "secret-by-descriptor");
    run_as(&desk, "ann", &ADMISSION).done();
}

#[test]
fn what_a_new_member_needs_is_said() {
    let desk = opened();
    let before = desk.head();
    let short = desk.file("short", "1234");
    let short = short.to_str().unwrap();
    let add = |handle: &'static str, role: &'static str| {
        [
            "staff",
            "add",
            handle,
            "--name",
            "X",
            "--role",
            role,
            "--new-pin-file",
        ]
    };
    run_as(&desk, "kit", &[&add("ann", "nurse")[..], &[short]].concat())
        .failed(1, &["a PIN or passphrase needs at least 6 characters"]);
    run_as(
        &desk,
        "kit",
        &[&add("ann", "surgeon")[..], &[short]].concat(),
    )
    .failed(2, &["a role is one of assistant, nurse, sister"]);
    run_as(
        &desk,
        "kit",
        &[&add("Ann!", "nurse")[..], &[short]].concat(),
    )
    .failed(2, &["\"Ann!\" is no handle", "lower-case letters"]);
    let kit = desk.beside("kit");
    run_as(
        &desk,
        "kit",
        &[&add("kit", "nurse")[..], &[kit.to_str().unwrap()]].concat(),
    )
    .failed(1, &["kit"]);
    run_as(&desk, "kit", &["staff", "suspend", "zork", "--reason", "x"]).failed(1, &["zork"]);
    assert_eq!(desk.head(), before);
    assert!(
        run_as(&desk, "kit", &["staff", "list"]).code == 0,
        "kit's own key is as it was"
    );
    enrol(&desk, "ann", "nurse");
}

#[test]
fn a_suspended_nurse_writes_nothing_until_reinstated() {
    let desk = opened();
    enrol(&desk, "ann", "nurse");
    run_as(&desk, "ann", &ADMISSION).done();
    run_as(
        &desk,
        "kit",
        &["staff", "suspend", "ann", "--reason", "left"],
    )
    .done();
    let note = ["log", "note", "patient=T01", "text=x"];
    let before = desk.head();
    run_as(&desk, "ann", &note).failed(1, &["ann is suspended; ask the keeper"]);
    assert_eq!(desk.head(), before);
    run_as(
        &desk,
        "kit",
        &["staff", "reinstate", "ann", "--reason", "back"],
    )
    .done();
    run_as(&desk, "ann", &note).done();
    says(&desk.run(&["verify"]).done(), &["WHOLE AND UNALTERED"]);
}

#[test]
fn completions_manual_pages_and_the_version_are_generated() {
    let desk = Desk::empty();
    for shell in ["bash", "zsh", "fish"] {
        let script = desk.run(&["completions", shell]).done();
        for word in ["handover", "timeline", "alerts", "verify"] {
            assert!(script.contains(word), "{shell}: {word}");
        }
    }
    let pages = desk.beside("man");
    std::fs::create_dir(&pages).unwrap();
    desk.run(&["man", pages.to_str().unwrap()]).done();
    let names: Vec<String> = std::fs::read_dir(&pages)
        .unwrap()
        .map(|page| page.unwrap().file_name().into_string().unwrap())
        .collect();
    for page in ["handfast.1", "handfast-log.1", "handfast-verify.1"] {
        assert!(names.iter().any(|name| name == page), "{page} in {names:?}");
    }
    let page = std::fs::read_to_string(pages.join("handfast-verify.1")).unwrap();
    assert!(page.contains(".TH"), "{page}");
    let version = desk.run(&["--version"]).done();
    says(&version, &[env!("CARGO_PKG_VERSION"), "journal format 1"]);
    says(
        &desk.run(&["--help"]).done(),
        &["Commands:", "handover", "Decision support only"],
    );
}

/// Somebody reads the first line and closes the pipe: a clean end, no complaint.
#[test]
fn a_closed_pipe_is_a_clean_end() {
    let desk = Desk::demo();
    for view in [
        &["timeline", "T01"] as &[&str],
        &["handover", "--json"],
        &["log", "help"],
    ] {
        let mut command = desk.command(view);
        let mut child = command
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = child.stdout.take().unwrap();
        let mut first = [0; 16];
        out.read_exact(&mut first).unwrap();
        drop(out);
        let end = child.wait_with_output().unwrap();
        assert_eq!(end.status.code(), Some(0), "{view:?}");
        assert_eq!(String::from_utf8(end.stderr).unwrap(), "", "{view:?}");
    }
    // Nobody there from the start.
    let line = "\"$0\" timeline T01 | true; exit ${PIPESTATUS[0]}";
    let mut command = std::process::Command::new("bash");
    command
        .env_clear()
        .env("HANDFAST_JOURNAL", &desk.journal)
        .args(["-c", line, env!("CARGO_BIN_EXE_handfast")]);
    answer(command, "").done();
}

//! A sealed ward on the command line: who reads, who does not, and what each is told.

use serde_json::Value;

use crate::desk::{Answer, Desk, answer, says};

fn run_as(desk: &Desk, handle: &str, args: &[&str]) -> Answer {
    let mut command = desk.command(args);
    command
        .env("HANDFAST_USER", handle)
        .env("HANDFAST_PIN_FILE", desk.beside(handle));
    answer(command, "")
}

/// As `init` makes one, with a nurse, a sister, governance and a second keeper.
fn sealed() -> (Desk, String) {
    let desk = Desk::empty();
    let pin = desk.file("kit", "keeper-secret-1");
    let args = [
        "init",
        "--ward",
        "Sorrel Ward",
        "--keeper",
        "kit",
        "--name",
        "Kit Keeper",
    ];
    let with_pin = [&args[..], &["--new-pin-file", pin.to_str().unwrap()]].concat();
    let shown = desk.run(&with_pin).done();
    says(
        &shown,
        &[
            "The records are sealed",
            "handfast-share-1: ",
            "handfast-share-3: ",
            "kept nowhere",
        ],
    );
    for (handle, role) in [("nell", "nurse"), ("ana", "sister"), ("gus", "governance")] {
        enrol(&desk, handle, role);
    }
    run_as(&desk, "nell", &ADMISSION).done();
    (desk, shown)
}

fn enrol(desk: &Desk, handle: &str, role: &str) -> String {
    let pin = desk.file(handle, &format!("secret-of-{handle}\n"));
    let name = format!("{handle} of the ward");
    let args = [
        "staff",
        "add",
        handle,
        "--name",
        &name,
        "--role",
        role,
        "--new-pin-file",
    ];
    run_as(desk, "kit", &[&args[..], &[pin.to_str().unwrap()]].concat()).done()
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
fn reading_needs_somebody_who_reads_and_checking_needs_nobody() {
    let (desk, _) = sealed();
    let views: [&[&str]; 7] = [
        &["caseload"],
        &["timeline", "T01"],
        &["entry", "9"],
        &["tasks"],
        &["alerts"],
        &["handover"],
        &["workings", "T01"],
    ];
    for view in views {
        let nobody = desk.run(view);
        nobody.failed(
            2,
            &["are sealed, and nobody is named who reads them", "--user"],
        );
        for role in ["gus", "kit"] {
            run_as(&desk, role, view).failed(1, &["reads no records here", "holds no key"]);
        }
        let shown = run_as(&desk, "ana", view);
        assert_eq!(shown.code, 0, "{view:?}: {}", shown.err);
        assert!(
            !shown.out.contains("NOT COMPLETE"),
            "{view:?}: {}",
            shown.out
        );
    }
    says(
        &run_as(&desk, "ana", &["caseload"]).done(),
        &["THRALE, Ines"],
    );
    // Whom the keeper enrolled is never sealed, so that whoever checks rights can see it.
    let enrolled = desk.run(&["entry", "7"]).done();
    says(&enrolled, &["Staff enrolled #7", "handle ana"]);
    says(&desk.run(&["timeline"]).done(), &["Staff enrolled #7"]);
    let staff = desk.run(&["staff", "list"]).done();
    // Staff are never sealed: nothing is lacking here.
    says(&staff, &["nell"]);
    assert!(!staff.contains("NOT COMPLETE"), "{staff}");
    says(&desk.run(&["policy", "show"]).done(), &["settings"]);
    let verdict = desk.run(&["verify"]).done();
    says(
        &verdict,
        &[
            "WHOLE AND UNALTERED",
            "Not judged: what 1 sealed entries say",
        ],
    );
    let json: Value = serde_json::from_str(&desk.run(&["--json", "verify"]).done()).unwrap();
    assert_eq!(json["sealed"], 1);
    assert!(!verdict.contains("Thrale"));
    // Somebody else's wrong PIN opens nothing.
    desk.file("ana", "wrong-secret");
    run_as(&desk, "ana", &["caseload"]).failed(1, &["not the right PIN"]);
}

#[test]
fn the_shell_reads_for_whoever_unlocked_it_and_for_nobody_else() {
    let (desk, _) = sealed();
    let shown = |handle: Option<&str>| {
        let mut command = desk.command(&["shell"]);
        if let Some(handle) = handle {
            command
                .env("HANDFAST_USER", handle)
                .env("HANDFAST_PIN_FILE", desk.beside(handle));
        }
        answer(command, "patients\n").out
    };
    says(&shown(Some("nell")), &["THRALE, Ines"]);
    for handle in [None, Some("gus")] {
        let text = shown(handle);
        assert!(!text.contains("THRALE"), "{handle:?}: {text}");
        says(&text, &["NOT COMPLETE: 1 entry is sealed"]);
    }
}

#[test]
fn two_people_destroy_a_record_and_the_status_says_so() {
    let (desk, _) = sealed();
    let caseload = run_as(&desk, "nell", &["--json", "timeline", "T01"]).done();
    let caseload: Value = serde_json::from_str(&caseload).unwrap();
    let pseudonym = find(&caseload, "patient").unwrap();
    let on_the_ward = [
        "sealing",
        "approve",
        "--early",
        "--reason",
        "x",
        "--patient",
    ];
    run_as(&desk, "gus", &[&on_the_ward[..], &[&pseudonym]].concat())
        .failed(1, &["is on the ward", "discharged"]);
    let leaves = ["log", "discharge", "patient=T01", "to=home", "summary=well"];
    run_as(&desk, "nell", &leaves).done();
    let approve = [
        "sealing",
        "approve",
        "--patient",
        &pseudonym,
        "--reason",
        "court order",
    ];
    run_as(&desk, "gus", &approve).failed(1, &["less than eight years", "--early"]);
    let approve = [&approve[..], &["--early"]].concat();
    run_as(&desk, "nell", &approve).failed(1, &["may not write"]);
    let said = run_as(&desk, "gus", &[&["--json"], &approve[..]].concat()).done();
    let receipt: Value = serde_json::from_str(&said).unwrap();
    let number = receipt["seq"].to_string();
    let destroy = [
        "sealing",
        "destroy",
        "--approval",
        &number,
        "--reason",
        "court order",
    ];
    run_as(&desk, "gus", &destroy).failed(1, &["a keeper and a governance officer"]);
    let done = run_as(&desk, "kit", &destroy).done();
    says(&done, &["destroy the older copies of sealing/ring.json"]);
    run_as(&desk, "nell", &["timeline", "T01"]).failed(1, &[]);
    let timeline = run_as(&desk, "nell", &["timeline", &pseudonym]).done();
    says(&timeline, &["it is sealed, and its key"]);
    for view in ["caseload", "handover"] {
        says(
            &run_as(&desk, "nell", &[view]).done(),
            &["RECORD DESTROYED", "by two people"],
        );
    }
    let status = desk.run(&["sealing", "status"]).done();
    says(
        &status,
        &[&format!("Destroyed: record {pseudonym}"), "gus and kit"],
    );
    let verdict = desk.run(&["verify"]).done();
    says(&verdict, &["WHOLE AND UNALTERED"]);
}

/// The first text under this name, wherever it is.
fn find(value: &Value, name: &str) -> Option<String> {
    match value {
        Value::Object(fields) => fields.iter().find_map(|(key, value)| match value {
            Value::String(text) if key == name && text.len() == 32 => Some(text.clone()),
            value => find(value, name),
        }),
        Value::Array(items) => items.iter().find_map(|item| find(item, name)),
        _ => None,
    }
}

#[test]
fn two_shares_from_paper_let_everybody_in_again() {
    let (desk, shown) = sealed();
    let share = |number: u8| {
        let begins = format!("handfast-share-{number}:");
        let line = shown
            .lines()
            .find(|line| line.starts_with(&begins))
            .unwrap();
        desk.file(&format!("share-{number}"), line)
            .to_str()
            .unwrap()
            .to_owned()
    };
    for handle in ["nell", "ana"] {
        let pin = desk.beside(handle);
        let args = [
            "staff",
            "new-key",
            handle,
            "--reason",
            "lost",
            "--new-pin-file",
        ];
        run_as(
            &desk,
            "kit",
            &[&args[..], &[pin.to_str().unwrap()]].concat(),
        )
        .done();
    }
    run_as(&desk, "nell", &["caseload"]).failed(1, &["not wrapped for nell yet", "nobody yet"]);
    let (one, three) = (share(1), share(3));
    let args = ["sealing", "recover", "--reason", "flood", "--share"];
    let same = [&args[..], &[&one, "--other", &one]].concat();
    run_as(&desk, "kit", &same).failed(1, &["not two different ones"]);
    let two = [&args[..], &[&one, "--other", &three]].concat();
    says(
        &run_as(&desk, "kit", &two).done(),
        &["wrapped anew for: ana, nell"],
    );
    says(
        &run_as(&desk, "nell", &["caseload"]).done(),
        &["THRALE, Ines"],
    );
}

#[test]
fn a_teaching_ward_is_in_clear_until_a_keeper_seals_it() {
    let desk = Desk::demo();
    says(&desk.run(&["sealing", "status"]).done(), &["lie in clear"]);
    let begin = ["sealing", "begin", "--holders", "one each", "--shares"];
    let dir = desk.beside("shares");
    let args = [&begin[..], &[dir.to_str().unwrap()]].concat();
    desk.run_as("nia", &args).failed(1, &["may not write"]);
    says(
        &desk.run_as(crate::keeper(), &args).done(),
        &["Three recovery shares are in"],
    );
    for number in 1..=3 {
        let text = std::fs::read_to_string(dir.join(format!("share-{number}.txt"))).unwrap();
        assert!(text.starts_with(&format!("handfast-share-{number}: ")));
    }
    // What was in clear stays so; what is written now is not.
    desk.run_as(
        "orla",
        &["log", "note", "patient=T01", "text=said in confidence"],
    )
    .done();
    says(
        &desk
            .run_as("orla", &["timeline", "T01", "--why", "covering"])
            .done(),
        &["said in confidence"],
    );
    let written = std::fs::read_dir(desk.journal.join("segments"))
        .unwrap()
        .any(|file| {
            let bytes = std::fs::read(file.unwrap().path()).unwrap();
            bytes
                .windows(18)
                .any(|window| window == b"said in confidence")
        });
    assert!(!written);
}

/// Shares that reach nobody leave the key of before in force.
#[test]
fn shares_that_cannot_be_written_are_shares_of_nothing() {
    let (desk, _) = sealed();
    let entries = || {
        let verified = desk.run(&["--json", "verify"]).done();
        serde_json::from_str::<Value>(&verified).unwrap()["entries"].to_string()
    };
    let before = entries();
    says(
        &desk.run(&["sealing", "status"]).done(),
        &["Nobody has said who keeps the three recovery shares"],
    );
    let begin = |to: &str| {
        let args = [
            "sealing",
            "begin",
            "--holders",
            "Ann, Bo, Cy",
            "--shares",
            to,
        ];
        run_as(&desk, "kit", &args)
    };
    let beside = |name: &str| desk.beside(name).to_str().unwrap().to_owned();
    begin("/dev/full").failed(1, &["/dev/full: is no folder", "nothing was made"]);
    let inside = desk.journal.join("shares");
    begin(inside.to_str().unwrap()).failed(1, &["lies in the journal"]);
    let around = desk
        .journal
        .join("keys/../../")
        .join(desk.journal.file_name().unwrap());
    begin(around.to_str().unwrap()).failed(1, &["lies in the journal"]);
    assert!(!inside.exists());
    begin(&beside("not/there")).failed(1, &["could not be handed over"]);
    let old = beside("old");
    std::fs::create_dir(&old).unwrap();
    std::fs::write(format!("{old}/share-2.txt"), "an older share").unwrap();
    begin(&old).failed(1, &["holds a share already"]);
    let kept = std::fs::read_to_string(format!("{old}/share-2.txt")).unwrap();
    assert_eq!(kept, "an older share");
    assert_eq!(std::fs::read_dir(&old).unwrap().count(), 1);
    assert_eq!(entries(), before);
    // Shown on a screen that takes nothing.
    let mut full = desk.command(&["sealing", "begin", "--holders", "Ann, Bo, Cy"]);
    full.env("HANDFAST_USER", "kit")
        .env("HANDFAST_PIN_FILE", desk.beside("kit"))
        .stdout(
            std::fs::File::options()
                .write(true)
                .open("/dev/full")
                .unwrap(),
        );
    assert!(!full.status().unwrap().success());
    assert_eq!(entries(), before);
    let new = beside("new");
    begin(&new).done();
    use std::os::unix::fs::PermissionsExt;
    let mode = std::fs::metadata(format!("{new}/share-1.txt"))
        .unwrap()
        .permissions();
    assert_eq!(mode.mode() & 0o077, 0);
    let status = desk.run(&["sealing", "status"]).done();
    assert!(!status.contains("Nobody has said"), "{status}");
    says(
        &run_as(&desk, "nell", &["caseload"]).done(),
        &["NEW RECOVERY KEY MADE"],
    );
}

/// `handfast demo --sealed` is the same ward.
#[test]
fn the_demo_ward_can_be_had_sealed() {
    let desk = Desk::empty();
    let dir = desk.beside("sealed-demo");
    let shown = desk
        .run(&["demo", "--sealed", dir.to_str().unwrap()])
        .done();
    says(&shown, &["Staff and PINs:", "handfast-share-2: "]);
    let at = |journal: &std::path::Path, user: Option<&str>, args: &[&str]| {
        let mut command = desk.command(args);
        command.env("HANDFAST_JOURNAL", journal);
        if let Some(user) = user {
            command.env("HANDFAST_USER", user);
            command.env("HANDFAST_PIN_FILE", desk.file(user, crate::pin_of(user)));
        }
        answer(command, "")
    };
    at(&dir, None, &["caseload"]).failed(2, &["are sealed"]);
    let sealed = at(&dir, Some("orla"), &["caseload"]).done();
    let clear = Desk::demo().run(&["caseload"]).done();
    let rows = |text: &str| text.lines().filter(|line| line.contains("T0")).count();
    assert!(
        rows(&sealed) > 3 && rows(&sealed) == rows(&clear),
        "{sealed}"
    );
    let names = std::fs::read_dir(dir.join("segments"))
        .unwrap()
        .any(|file| {
            let bytes = std::fs::read(file.unwrap().path()).unwrap();
            bytes
                .windows(5)
                .any(|window| window == b"Pell\0" || window == b"Adeba")
        });
    assert!(!names);
    at(&dir, None, &["verify"]).done();
}

/// Memory that holds clear text is not written to a disk when the program dies.
#[test]
fn core_dumps_are_off() {
    use std::io::Write;
    let (desk, _) = sealed();
    let mut command = desk.command(&["shell"]);
    command
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped());
    let mut running = command.spawn().unwrap();
    let mut input = running.stdin.take().unwrap();
    input.write_all(b"patients\n").unwrap();
    let mut seen = [0; 1];
    std::io::Read::read_exact(running.stdout.as_mut().unwrap(), &mut seen).unwrap();
    let limits = std::fs::read_to_string(format!("/proc/{}/limits", running.id()));
    drop(input);
    running.wait().unwrap();
    // Without being root one may not even look: that is the other half.
    if let Ok(limits) = limits {
        let core = limits
            .lines()
            .find(|line| line.starts_with("Max core file size"))
            .unwrap();
        let numbers: Vec<&str> = core.split_whitespace().skip(4).take(2).collect();
        assert_eq!(numbers, ["0", "0"], "{core}");
    }
}

#[test]
fn who_opened_whose_record_is_shown_to_governance_and_told_to_the_patient() {
    let (desk, _) = sealed();
    let allocate = ["log", "allocation", "patient=T01", "to=nell"];
    run_as(&desk, "nell", &allocate).done();
    run_as(&desk, "nell", &["timeline", "T01"]).done();
    let curious = run_as(&desk, "ana", &["timeline", "T01"]);
    assert_eq!(curious.code, 0, "{}", curious.err);
    says(&curious.err, &["no reason was given", "--why"]);
    let why = [
        "workings",
        "T01",
        "--format",
        "html",
        "--why",
        "complaint of 3 May",
    ];
    let answered = run_as(&desk, "ana", &why);
    assert_eq!(answered.code, 0, "{}", answered.err);
    assert!(!answered.err.contains("no reason"), "{}", answered.err);
    // A right that somebody lacks: refused, and written down.
    let staff = ["staff", "suspend", "nell", "--reason", "spite"];
    run_as(&desk, "ana", &staff).failed(1, &["may not write"]);

    // Governance needs no PIN, reads no name, and finds the record by its pseudonym.
    let all = desk.run(&["access"]).done();
    assert!(!all.contains("Thrale") && !all.contains("THRALE"), "{all}");
    says(
        &all,
        &[
            "opened: timeline",
            "no reason given",
            "was refused: staff-change as a ward sister",
        ],
    );
    let json = run_as(&desk, "nell", &["--json", "access", "--patient", "T01"]).done();
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["schema"], "handfast.access/1");
    let pseudonym = json["patient"]["pseudonym"].as_str().unwrap().to_owned();
    let acts: Vec<&str> = json["accesses"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| line["act"].as_str().unwrap())
        .collect();
    assert_eq!(acts, ["opened", "opened", "printed"]);
    says(
        &desk.run(&["access", "--patient", &pseudonym]).done(),
        &["printed: workings", "complaint of 3 May"],
    );
    says(
        &desk.run(&["access", "--staff", "ana"]).done(),
        &["printed: workings"],
    );

    let told = ["access", "--patient", "T01", "--for-patient"];
    let told = run_as(&desk, "nell", &told).done();
    says(
        &told,
        &[
            "Who has looked at your record",
            "THRALE, Ines",
            "ana of the ward",
            "made a page of it to print",
        ],
    );
    assert!(!told.contains("#"), "no numbers of entries: {told}");
    let timeline = run_as(&desk, "nell", &["timeline", "T01"]).done();
    says(&timeline, &["3 entries of the access record"]);
    assert!(!timeline.contains("complaint"), "{timeline}");
    says(&desk.run(&["verify"]).done(), &["WHOLE AND UNALTERED"]);
}

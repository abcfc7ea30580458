//! Everything the program does not take: what is wrong, where, what would be accepted; and
//! nothing recorded.

use crate::desk::{Desk, number, says};

/// Runs commands that are each refused, and sees that the journal stays where it was.
struct Refusing {
    desk: Desk,
}

impl Refusing {
    fn new() -> Refusing {
        Refusing { desk: Desk::demo() }
    }

    #[track_caller]
    fn log(&self, who: &str, fields: &[&str], said: &[&str]) {
        let before = self.desk.head();
        let args: Vec<&str> = [&["log"], fields].concat();
        let answer = self.desk.run_as(who, &args).failed(1, said);
        assert_eq!(answer.out, "", "a refusal is no result");
        assert_eq!(self.desk.head(), before, "nothing is recorded");
    }
}

#[test]
fn an_unknown_patient() {
    let ward = Refusing::new();
    ward.log(
        "orla",
        &["note", "patient=T99", "text=x"],
        &[
            "patient: no patient on this ward is called \"T99\"",
            "Accepted: a name, a slot such as T07, or an NHS number",
        ],
    );
    ward.log(
        "orla",
        &["note", "patient=Bramblay", "text=x"],
        &[
            "called \"Bramblay\"",
            "perhaps: T01 BRAMBLEY, Odette (Mrs), born 14-Mar-1955",
        ],
    );
    let before = ward.desk.head();
    ward.desk
        .run(&["timeline", "Zebedee"])
        .failed(1, &["no patient on this ward is called \"Zebedee\""]);
    assert_eq!(ward.desk.head(), before);
}

/// Two Pells, no relation: their slots and dates of birth tell them apart.
#[test]
fn a_name_that_two_patients_have() {
    Refusing::new().log(
        "orla",
        &["note", "patient=pell", "text=x"],
        &[
            "patient: \"pell\" could be 2 patients",
            "T02 PELL, Arthur (Mr), born 02-Jul-1948",
            "T09 PELL, Audrey (Miss), born",
        ],
    );
}

#[test]
fn a_patient_who_has_left() {
    let ward = Refusing::new();
    for who in ["patient=Greenhallow", "patient=Merridew-Stane"] {
        ward.log(
            "orla",
            &["obs", who, "rr=18"],
            &[
                "left the ward on Sat 24-Oct-2026",
                "Accepted: if it happened before that, its true time as `at`; otherwise a new admission first",
            ],
        );
        // What happens all the same (they ring) is asked about.
        ward.log(
            "orla",
            &["note", who, "text=rang"],
            &[
                "please confirm: patient:",
                "left the ward on Sat 24-Oct-2026",
                "--confirm",
            ],
        );
    }
    // What is offered is taken.
    ward.desk.log(
        "orla",
        &["note", "patient=Greenhallow", "text=rang", "--confirm"],
    );
    ward.desk.log(
        "orla",
        &[
            "obs",
            "patient=Greenhallow",
            "rr=18",
            "at=24-Oct-2026 11:00",
            "late_reason=forgotten in the rush",
        ],
    );
}

#[test]
fn what_a_role_may_not_write() {
    let ward = Refusing::new();
    ward.log(
        "greta",
        &["note", "patient=T01", "text=x"],
        &[
            "a governance officer may not write \"note\"",
            "it can be written by: assistant",
        ],
    );
    ward.log(
        "wren",
        &["obs", "patient=T01", "rr=18"],
        &["a keeper may not write \"obs\""],
    );
    ward.log(
        "nia",
        &["wound", "patient=T06"],
        &[
            "an assistant practitioner may not write \"wound\"",
            "registered nurse, ward sister",
        ],
    );
    ward.log(
        "orla",
        &["policy", "setting=silence_hours", "value=6"],
        &["a registered nurse may not write \"policy\"", "ward sister"],
    );
    let before = ward.desk.head();
    let pin = ward.desk.file("new-pin", "123456");
    let pin = pin.to_str().unwrap();
    ward.desk
        .run_as(
            "hester",
            &[
                "staff",
                "add",
                "zoe",
                "--name",
                "Zoe",
                "--role",
                "nurse",
                "--new-pin-file",
                pin,
            ],
        )
        .failed(1, &["a ward sister may not write", "keeper"]);
    assert_eq!(ward.desk.head(), before);
    assert!(
        !ward.desk.journal.join("keys/zoe.key").exists(),
        "no key is left behind"
    );
}

#[test]
fn values_that_are_not_possible() {
    let ward = Refusing::new();
    let cases = [
        (
            "rr=95",
            "rr: 95 is not possible here",
            "a whole number from 1 to 80 /min",
        ),
        (
            "spo2=101",
            "spo2: 101 is not possible here",
            "from 40 to 100 %",
        ),
        (
            "temp=52",
            "temp: 52 is not possible here",
            "from 25.0 to 45.0 °C",
        ),
        (
            "rr=ninety",
            "rr: \"ninety\" is not a number",
            "a whole number from 1 to 80 /min",
        ),
        ("rr=-4", "rr:", "a whole number from 1 to 80 /min"),
        ("rr=18.5", "rr:", "a whole number from 1 to 80 /min"),
        ("acvpu=sleepy", "acvpu: \"sleepy\"", "Accepted:"),
    ];
    for (field, wrong, accepted) in cases {
        ward.log("orla", &["obs", "patient=T01", field], &[wrong, accepted]);
    }
    // Everything that is wrong is said at once.
    ward.log(
        "orla",
        &["obs", "patient=T01", "rr=95", "spo2=101"],
        &["rr: 95", "spo2: 101"],
    );
}

#[test]
fn units_that_are_not_those_of_the_reading() {
    let ward = Refusing::new();
    let cases = [
        ("temp=98.6 F", &["temp: \"98.6 F\"", "°C"]),
        (
            "temp=37 K",
            &["temp: \"K\" is not a unit of this reading", "°C"],
        ),
        (
            "hr=88 mmHg",
            &["hr: \"mmHg\" is not a unit of this reading", "/min, bpm"],
        ),
        (
            "weight=12 stone",
            &["weight: \"12 stone\" is in stone", "give kg"],
        ),
    ];
    for (field, said) in cases {
        ward.log("orla", &["obs", "patient=T01", field], said);
    }
}

#[test]
fn an_unusual_value_is_recorded_only_when_confirmed() {
    let ward = Refusing::new();
    ward.log(
        "orla",
        &["obs", "patient=T01", "rr=45"],
        &[
            "please confirm: rr: 45/min is outside the usual 8 to 35/min",
            "--confirm",
        ],
    );
    let args = ["log", "obs", "patient=T01", "rr=45", "--confirm"];
    let receipt = ward.desk.run_as("orla", &args).done();
    says(&ward.desk.written(number(&receipt)).1, &["rr 45/min"]);
}

#[test]
fn times_that_cannot_be() {
    let ward = Refusing::new();
    ward.log(
        "orla",
        &["obs", "patient=T01", "rr=18", "at=26-Oct-2026 10:00"],
        &[
            "at: Mon 26-Oct-2026 10:00 is still to come",
            "a time that has passed",
        ],
    );
    ward.log(
        "orla",
        &["obs", "patient=T01", "rr=18", "at=25-Oct-2026 01:30"],
        &[
            "at: 25-Oct-2026 01:30 happens twice",
            "01:30 BST",
            "01:30 GMT",
        ],
    );
    ward.log(
        "orla",
        &["obs", "patient=T01", "rr=18", "at=sometime"],
        &["at: ", "sometime", "Accepted:"],
    );
    ward.log(
        "orla",
        &["task", "patient=T01", "what=x", "due=24-Oct-2026 10:00"],
        &[
            "please confirm: due: Sat 24-Oct-2026 10:00 has passed already",
            "--confirm",
        ],
    );
    ward.log(
        "orla",
        &["obs", "patient=T01", "rr=18", "at=25-Oct-2026 09:00"],
        &["late_reason: this is written 10hr", "no reason is given"],
    );
}

/// The second nurse is told who has it; the ledger keeps the first.
#[test]
fn an_alert_that_a_colleague_has() {
    let ward = Refusing::new();
    let alert = format!("alert=#{}", ward.desk.open_alert("leg more painful"));
    ward.desk.log("imke", &["alert-step", &alert, "step=taken"]);
    ward.log(
        "joss",
        &["alert-step", &alert, "step=taken"],
        &["is with Imke Saltmarsh since Sun 19:24", "take_over=yes"],
    );
    says(
        &ward.desk.run(&["alerts"]).done(),
        &["Imke Saltmarsh (RN) has it"],
    );
    ward.desk.log(
        "joss",
        &["alert-step", &alert, "step=taken", "take_over=yes"],
    );
    // Taking it is no act.
    let close = ["alert-step", &alert, "step=closed", "outcome=resolved"];
    ward.log(
        "joss",
        &close,
        &["nobody is recorded as having been reached or having acted"],
    );
    let acted = ["alert-step", &alert, "step=actioned", "what=rang, settled"];
    ward.desk.log("joss", &acted);
    ward.desk.log("joss", &close);
    ward.log(
        "imke",
        &["alert-step", &alert, "step=taken"],
        &["is closed: resolved", "an open alert, or a new one"],
    );
}

/// Two at the very same moment: one has it, the other is told, whoever was first.
#[test]
fn two_take_one_alert_at_once() {
    let desk = Desk::demo();
    let before = desk.head().seq.0;
    let alert = format!("alert=#{}", desk.open_alert("leg more painful"));
    let args = ["log", "alert-step", &alert, "step=taken"];
    let commands = ["imke", "joss"].map(|who| desk.command_as(who, &args));
    let answers: Vec<_> = std::thread::scope(|scope| {
        let running = commands.map(|command| scope.spawn(|| crate::desk::answer(command, "")));
        running.map(|one| one.join().unwrap()).into()
    });
    let mut codes: Vec<i32> = answers.iter().map(|answer| answer.code).collect();
    codes.sort_unstable();
    assert_eq!(codes, [0, 1], "{answers:?}");
    let told = answers.iter().find(|answer| answer.code == 1).unwrap();
    says(&told.err, &["is with ", "since Sun 19:24"]);
    assert_eq!(desk.head().seq.0, before + 1);
}

#[test]
fn entries_that_are_not_what_they_are_taken_for() {
    let ward = Refusing::new();
    ward.log(
        "orla",
        &["alert-step", "alert=#9999", "step=taken"],
        &[
            "alert: there is no entry #9999",
            "Accepted: a number up to #",
        ],
    );
    ward.log(
        "orla",
        &["alert-step", "alert=#12", "step=taken"],
        &["alert: #12 is", "not an alert"],
    );
    let tarnsby = ward.desk.open_alert("Not herself since lunch");
    ward.log(
        "orla",
        &[
            "alert-step",
            "patient=T01",
            &format!("alert=#{tarnsby}"),
            "step=seen",
        ],
        &["belongs to TARNSBY, Maud (Mrs), not to this patient"],
    );
}

#[test]
fn fields_that_are_missing_or_not_known() {
    let ward = Refusing::new();
    ward.log("orla", &["note", "patient=T01"], &["text: is missing"]);
    ward.log(
        "orla",
        &["note", "patient=T01", "txt=x"],
        &["txt: is not a field of this entry. Accepted: text"],
    );
}

#[test]
fn somebody_who_is_not_who_they_say() {
    let desk = Desk::demo();
    let before = desk.head();
    let note = ["log", "note", "patient=T01", "text=x"];
    let with = |user: &str, pin: &str| {
        let file = desk.file("some-pin", pin);
        let mut command = desk.command(&note);
        command
            .env("HANDFAST_USER", user)
            .env("HANDFAST_PIN_FILE", file);
        crate::desk::answer(command, "")
    };
    with("orla", "615207").failed(
        1,
        &["that is not the right PIN for orla", "11 tries are left"],
    );
    with("orla", "").failed(1, &["holds no PIN in its first line"]);
    with("orla", "\n472918\n").failed(1, &["holds no PIN in its first line"]);
    with("zork", "123456").failed(
        1,
        &["zork is not on the staff of this ward", "amos, dev, greta"],
    );
    with("No Handle!", "123456").failed(2, &["\"No Handle!\" is no handle"]);
    desk.run(&note)
        .failed(2, &["nobody is named who acts", "--user HANDLE"]);
    let mut unasked = desk.command(&note);
    unasked.env("HANDFAST_USER", "orla");
    crate::desk::answer(unasked, "").failed(2, &["a PIN is needed", "--pin-file FILE"]);
    let mut gone = desk.command(&note);
    gone.env("HANDFAST_USER", "orla")
        .env("HANDFAST_PIN_FILE", "/nowhere/pin");
    crate::desk::answer(gone, "").failed(1, &["no PIN can be read from /nowhere/pin"]);
    assert_eq!(desk.head(), before);
    with("orla", "472918\nwhatever follows is not read").done();
}

/// Wrong PINs are counted, make whoever types them wait, and a right one is not let through
/// meanwhile.
#[test]
fn wrong_pins_in_a_row_have_to_wait() {
    let desk = Desk::demo();
    let before = desk.head();
    let wrong = desk.file("wrong", "000000");
    let mut last = String::new();
    for _ in 0..5 {
        let mut command = desk.command(&["log", "note", "patient=T01", "text=x"]);
        command
            .env("HANDFAST_USER", "orla")
            .env("HANDFAST_PIN_FILE", &wrong);
        last = crate::desk::answer(command, "").failed(1, &["PIN"]).err;
    }
    says(&last, &["too many wrong PINs for orla; try again in"]);
    desk.run_as("orla", &["log", "note", "patient=T01", "text=x"])
        .failed(1, &["try again in"]);
    assert_eq!(desk.head(), before);
}

#[test]
fn commands_that_cannot_be_understood() {
    let desk = Desk::demo();
    let before = desk.head();
    desk.run(&["frobnicate"])
        .failed(2, &["frobnicate", "--help"]);
    desk.run(&[]).failed(2, &["subcommand"]);
    desk.run(&["alerts", "--frob"]).failed(2, &["--frob"]);
    desk.run_as("orla", &["log", "frog"]).failed(
        2,
        &["\"frog\" is not a kind of entry", "contact, note, obs"],
    );
    desk.run_as("orla", &["log", "contct", "patient=T01"])
        .failed(2, &["did you mean contact?"]);
    desk.run_as("orla", &["log", "note", "patient", "T01"])
        .failed(2, &["\"patient\" is not name=value"]);
    desk.run(&["handover", "--format", "csv"])
        .failed(2, &["this view has no CSV form", "text, html, json or svg"]);
    desk.run(&["entry", "99999"])
        .failed(1, &["there is no entry #99999", "the newest is #"]);
    assert_eq!(desk.head(), before);
}

/// In JSON too, with each field by itself.
#[test]
fn a_refusal_is_data_for_programs() {
    let desk = Desk::demo();
    let args = ["--json", "log", "obs", "patient=T01", "rr=95"];
    let answer = desk.run_as("orla", &args).failed(1, &[]);
    let error: serde_json::Value = serde_json::from_str(&answer.err).unwrap();
    assert_eq!(error["schema"], "handfast.error/1");
    assert_eq!(error["exit"], 1);
    assert_eq!(error["refusals"][0]["field"], "rr");
    assert_eq!(error["refusals"][0]["given"], "95");
    assert_eq!(
        error["refusals"][0]["accepted"],
        "a whole number from 1 to 80 /min"
    );
}

/// A correction or a withdrawal is refused like any other entry.
#[test]
fn amendments_that_cannot_be() {
    let desk = Desk::demo();
    let mine = desk.log("orla", &["obs", "patient=T01", "rr=18"]);
    let before = desk.head();
    let entry = mine.to_string();
    desk.run_as("orla", &["correct", &entry, "rr=95", "--cause", "typing"])
        .failed(1, &["rr: 95 is not possible here"]);
    desk.run_as("orla", &["correct", &entry, "frog=1", "--cause", "typing"])
        .failed(1, &["frog: is not a field of this entry"]);
    desk.run_as(
        "orla",
        &["withdraw", "9999", "--cause", "mistaken", "--reason", "x"],
    )
    .failed(1, &["there is no entry #9999"]);
    desk.run_as("orla", &["withdraw", &entry, "--cause", "frog"])
        .failed(2, &["a cause is one of typing, wrong-patient"]);
    desk.run_as(
        "greta",
        &["withdraw", &entry, "--cause", "mistaken", "--reason", "x"],
    )
    .failed(1, &["a governance officer may not write"]);
    assert_eq!(desk.head(), before);
    desk.run_as(
        "orla",
        &["withdraw", &entry, "--cause", "mistaken", "--reason", "x"],
    )
    .done();
    desk.run_as(
        "orla",
        &["withdraw", &entry, "--cause", "mistaken", "--reason", "x"],
    )
    .failed(1, &["withdrawn"]);
}

/// Several patients on one line: which of them is wrong is said, and none is recorded.
#[test]
fn one_wrong_patient_of_several_to_be_allocated() {
    let desk = Desk::demo();
    let before = desk.head();
    let line = ["allocate", "dev", "T01", "T99", "T03", "pell"];
    let answer = desk.run_as("orla", &line).failed(
        1,
        &[
            "nothing was recorded",
            "T99: patient: no patient on this ward is called \"T99\"",
            "pell: patient: \"pell\" could be 2 patients",
        ],
    );
    assert_eq!(answer.out, "");
    assert_eq!(desk.head(), before);
    desk.run_as("orla", &["allocate", "dev", "T01", "T03", "--dry-run"])
        .done();
    assert_eq!(desk.head(), before);
    let out = desk
        .run_as("orla", &["allocate", "dev", "T01", "T03"])
        .done();
    assert_eq!(out.matches("recorded: allocation").count(), 2, "{out}");
    assert_eq!(desk.head().seq.0, before.seq.0 + 2);
}

/// Creatinine in mg/dL and a lost decimal point are refused; what is only rare is asked about.
#[test]
fn a_result_in_another_unit_is_refused_and_a_rare_one_confirmed() {
    let ward = Refusing::new();
    let typed = |values| ["result", "patient=T04", values];
    ward.log(
        "orla",
        &typed("values=creat 1.1; k 4.1"),
        &[
            "creatinine 1.1 µmol/L is not possible",
            "5 to 5000 µmol/L (a number near 1 is probably in mg/dL",
        ],
    );
    ward.log("orla", &typed("values=hb 14.0"), &["is probably in g/dL"]);
    ward.log(
        "orla",
        &typed("values=k 9.1"),
        &["please confirm: values: potassium 9.1 mmol/L", "--confirm"],
    );
    let rare = ["log", "result", "patient=T04", "values=k 9.1", "--confirm"];
    ward.desk.run_as("orla", &rare).done();
}

/// Clinical reference W4 and P5: valid by the arithmetic, and not for an entry.
#[test]
fn a_calculator_reports_the_arithmetic_of_ten_equal_digits() {
    let desk = Desk::demo();
    let said = desk
        .run(&["score", "nhs_number", "number=9999999999"])
        .done();
    says(
        &said,
        &[
            "shown: 999 999 9999",
            "accepted in entry: no",
            "Arithmetic only",
        ],
    );
    let help = desk.run(&["score", "help"]).done();
    says(
        &help,
        &["nhs_number: whether ten digits", "score help NAME"],
    );
    let one = desk.run(&["score", "help", "aki"]).done();
    says(
        &one,
        &["creatinine: new serum creatinine", "(may be left out)"],
    );
}

//! Values to pin: for every kind and version one with everything stated, one with nothing
//! but what is required, and whatever else is needed to meet each form of a field once.
//!
//! Values are made from the field descriptions, so a new kind is covered without a line here.

use std::fmt::Write as _;

use handfast::record::draft::Draft;
use handfast::record::envelope::Envelope;
use handfast::record::field::{FieldReader, FieldSpec, ReadContext, Shape};
use handfast::record::ids::{Digest, EntryHash, PersonKey, ReadingKey, Seq, TreeHash};
use handfast::record::kind::contact::{
    ContactMode, ContactOutcome, NextStep, Spoken, Starter, Witness,
};
use handfast::record::kind::observation::SeenScore;
use handfast::record::kind::old::{ContactV1, ObservationV1, StaffChangedV1, StaffEnrolledV1};
use handfast::record::kind::proof::StatedTree;
use handfast::record::kind::shift::SheetName;
use handfast::record::kind::ward::{Replacement, StaffMove};
use handfast::record::kind::{Body, Kind};
use handfast::record::moment::Due;
use handfast::record::person::Handle;
use handfast::record::quantity::Count;
use handfast::record::role::Role;
use handfast::record::time::{Timestamp, WardZone};
use serde::Serialize;

/// 2026-11-24T10:00:00Z.
const NOW: Timestamp = Timestamp(1_795_514_400_000_000);
/// Later than [`NOW`].
const LATER: Timestamp = Timestamp(1_795_560_000_000_000);

/// The fields of one pinned entry, in the version it is stored in.
#[derive(Serialize)]
#[serde(untagged)]
pub enum Stored {
    Newest(Box<Body>),
    ContactV1(ContactV1),
    ObservationV1(Box<ObservationV1>),
    StaffEnrolledV1(StaffEnrolledV1),
    StaffChangedV1(StaffChangedV1),
}

/// One entry to pin.
pub struct Sample {
    pub name: String,
    pub envelope: Envelope,
    pub fields: Stored,
}

/// Every sample of one kind in one version.
pub fn samples(kind: Kind, version: u8) -> Vec<Sample> {
    if version == kind.version() {
        newest_samples(kind)
    } else {
        old_samples(kind, version)
    }
}

fn newest_samples(kind: Kind) -> Vec<Sample> {
    let mut full = read(kind, |spec| Some(full_text(kind, spec)));
    fill_in_by_program(&mut full);
    let minimal = read(kind, |spec| spec.required.then(|| first_text(spec)));
    let mut samples = vec![
        sample("full", full_envelope(), full),
        sample("minimal", minimal_envelope(), minimal),
    ];
    for (_, name, texts) in FURTHER.iter().filter(|(of, ..)| *of == kind) {
        let text = |spec: &FieldSpec| {
            let given = texts.iter().find(|(field, _)| *field == spec.name);
            given
                .map(|(_, text)| (*text).to_owned())
                .or_else(|| spec.required.then(|| first_text(spec)))
        };
        samples.push(sample(name, minimal_envelope(), read(kind, text)));
    }
    samples
}

/// Kind, name, fields as typed.
type Further = (Kind, &'static str, &'static [(&'static str, &'static str)]);

/// Forms of a field that neither the full nor the minimal value shows.
const FURTHER: &[Further] = &[
    (
        Kind::Observation,
        "not obtained",
        &[
            ("rr", "not obtained: asleep"),
            ("spo2", "88"),
            ("oxygen", "venturi 28%"),
            ("skin_temp", "33.4@monitored"),
        ],
    ),
    (
        Kind::Observation,
        "on air",
        &[("oxygen", "air"), ("temp", "37.1"), ("temp_site", "oral")],
    ),
    (
        Kind::Observation,
        "losses and parts not testable",
        &[
            ("gcs", "e4 vnt m6"),
            ("four_at", "total 7"),
            ("fluid_out", "drain 250 left chest; vomit unmeasured"),
            ("signs", "chest-pain; sight"),
        ],
    ),
    (
        Kind::Admission,
        "none known",
        &[("allergies", "none known"), ("local_number", "L-0042")],
    ),
    (
        Kind::Admission,
        "not asked",
        &[
            ("allergies", "not asked"),
            ("home_oxygen", "concentrator 1.5"),
        ],
    ),
    (Kind::Task, "daily", &[("repeat", "daily 09:00")]),
    (
        Kind::LabResult,
        "beyond measuring",
        &[("values", "plt <20; crp >300 (<5); hb 128.5 (>115)")],
    ),
];

fn sample(name: &str, envelope: Envelope, body: Body) -> Sample {
    Sample {
        name: name.to_owned(),
        envelope,
        fields: Stored::Newest(Box::new(body)),
    }
}

/// Reads a body from what `text` says would be typed. Rules across fields are not asked: the
/// bytes of a value do not depend on whether a nurse would be let through with it.
fn read(kind: Kind, text: impl Fn(&FieldSpec) -> Option<String>) -> Body {
    let mut draft = Draft::new(kind);
    for spec in kind.specs() {
        if let Some(text) = text(&spec) {
            draft.fields.push((spec.name.to_owned(), text));
        }
    }
    let cx = ReadContext {
        now: NOW,
        zone: WardZone::LONDON,
    };
    let mut reader = FieldReader::new(&draft.fields, cx);
    let body = kind.read(&mut reader);
    let mut refused = String::new();
    for refusal in &reader.refusals {
        let _ = writeln!(refused, "{}: {refusal}", kind.name());
    }
    body.unwrap_or_else(|| panic!("no sample can be made, say how in samples.rs:\n{refused}"))
}

/// What is typed for a field in the full value: the last of a list, words that are not ASCII.
fn full_text(kind: Kind, spec: &FieldSpec) -> String {
    if kind == Kind::Observation
        && let Some(source) = match spec.name {
            "rr" => Some("@patient"),
            "spo2" => Some("@monitored"),
            "temp" => Some("@staff"),
            _ => None,
        }
    {
        return format!("{}{source}", example(spec));
    }
    match (spec.shape, spec.name) {
        // The last when the file was written; `answer` came later.
        (Shape::Choice(_), "topic") if kind == Kind::Note => "question".to_owned(),
        // The list has grown since the golden file was written.
        (Shape::Choice(_), "act") if kind == Kind::Approval => "destroy".to_owned(),
        (Shape::Choice(choices), _) => choices.last().map(|c| c.code.to_owned()).unwrap(),
        (Shape::Person, _) if spec.many => "maya; j-osei2".to_owned(),
        (Shape::Note, name) => format!("{name}: “first” line\nsecond line, 2 × 5 µg £3 — Zoë"),
        (Shape::Line | Shape::Secret, name) => format!("{name}: naïve, 10⁹ <b> 🩺"),
        (_, "carers") => {
            "Jo Pell, daughter, 01632 960123; Anselm Brae, neighbour, 01632 960124".to_owned()
        }
        (_, "allergies") => "penicillin (rash); latex".to_owned(),
        (_, "oxygen" | "home_oxygen") => "cannula 2.5".to_owned(),
        (_, "values") => "crp 148 (0-5); k 4.1 (3.5-5.3)".to_owned(),
        (_, "findings") => "0f".repeat(32),
        _ => first_text(spec),
    }
}

/// What is typed for a field where any value will do.
fn first_text(spec: &FieldSpec) -> String {
    match spec.shape {
        Shape::Choice(choices) => choices[0].code.to_owned(),
        Shape::Line | Shape::Note | Shape::Secret => "x".to_owned(),
        Shape::YesNo => "yes".to_owned(),
        Shape::Past => "2026-10-25T01:30:00Z".to_owned(),
        Shape::Future => LATER.rfc3339(),
        Shape::Date => "02-Jul-1944".to_owned(),
        Shape::Repeat => "every 4h".to_owned(),
        Shape::Entry => "#258".to_owned(),
        Shape::Person => "maya".to_owned(),
        Shape::Number { .. } | Shape::Structured => match spec.name {
            "allergies" => "latex".to_owned(),
            "findings" => "00".repeat(32),
            _ => example(spec),
        },
    }
}

/// The example in a field's own hint; a small number where it has none.
fn example(spec: &FieldSpec) -> String {
    let example = spec.hint.split("e.g. ").nth(1).unwrap_or("7");
    example.split(" (").next().unwrap().to_owned()
}

/// Fields that nobody types.
fn fill_in_by_program(body: &mut Body) {
    let key = Some(PersonKey([0xa5; 32]));
    let reading = Some(ReadingKey([0x5a; 32]));
    match body {
        Body::StaffEnrolled(fields) => (fields.key, fields.reading) = (key, reading),
        Body::StaffChanged(fields) => (fields.key, fields.reading) = (key, reading),
        Body::RecoveryKey(fields) => fields.key = reading,
        Body::Observation(fields) => fields.score = Some(seen_score()),
        Body::WardKey(fields) => fields.key = key,
        Body::Checkpoint(fields) => {
            fields.stated = Some(StatedTree {
                size: 65_537,
                root: TreeHash([0x44; 32]),
                patients: 300,
                patients_root: TreeHash([0x55; 32]),
            });
        }
        Body::Amendment(fields) => {
            fields.replacement = Some(Replacement {
                kind: 20,
                version: 2,
                payload: vec![0, 1, 254, 255],
            });
        }
        Body::Handover(fields) => {
            fields.sheet = Some(SheetName {
                as_of: NOW,
                head_seq: Seq(65_537),
                head_hash: EntryHash([0x11; 32]),
                digest: Digest([0x22; 32]),
            });
        }
        Body::HandoverStep(fields) => fields.digest = Some(Digest([0x33; 32])),
        _ => {}
    }
}

pub fn full_envelope() -> Envelope {
    Envelope {
        occurred_at: NOW,
        approximate: true,
        role: Role::Sister,
        episode: Some(Seq(65_536)),
        late_reason: Some("no signal at the farm — Zoë".to_owned()),
        related: vec![Seq(1), Seq(4_294_967_296)],
        confirmed: vec!["rr".to_owned(), "temp".to_owned()],
    }
}

pub fn minimal_envelope() -> Envelope {
    Envelope {
        occurred_at: Timestamp(-1),
        approximate: false,
        role: Role::Assistant,
        episode: None,
        late_reason: None,
        related: vec![],
        confirmed: vec![],
    }
}

/// Versions that are no longer written: their frozen structs, by hand.
fn old_samples(kind: Kind, version: u8) -> Vec<Sample> {
    let old = match (kind, version) {
        (Kind::Contact, 1) => [contact_v1_full(), contact_v1_minimal()].map(Stored::ContactV1),
        (Kind::Observation, 1) => return crate::obs_v1::samples(),
        (Kind::StaffEnrolled, 1) => staff_v1().map(Stored::StaffEnrolledV1),
        (Kind::StaffChanged, 1) => staff_change_v1().map(Stored::StaffChangedV1),
        _ => panic!(
            "write a sample of {} version {version} in samples.rs",
            kind.name()
        ),
    };
    let names = [("full", full_envelope()), ("minimal", minimal_envelope())];
    let together = names.into_iter().zip(old);
    together
        .map(|((name, envelope), fields)| Sample {
            name: name.to_owned(),
            envelope,
            fields,
        })
        .collect()
}

fn contact_v1_full() -> ContactV1 {
    ContactV1 {
        mode: ContactMode::HelpButton,
        outcome: ContactOutcome::Declined,
        spoke_to: Some(Spoken::Nobody),
        spoke_name: Some("Jo Pell".into()),
        started_by: Some(Starter::Professional),
        how: Some("says fine\nlooks pale".into()),
        said_by: Some(Witness::Reported),
        advice: Some("sips of water, 2 × 250 mL".into()),
        safety_net: Some("ring 999 if short of breath".into()),
        next: Some(Due(LATER)),
        next_by: Some(Handle("maya".to_owned())),
        answers: Some(Seq(258)),
        attempt: Some(Count(3)),
        then: Some(NextStep::Ambulance),
    }
}

fn contact_v1_minimal() -> ContactV1 {
    ContactV1 {
        mode: ContactMode::Video,
        outcome: ContactOutcome::Reached,
        spoke_to: None,
        spoke_name: None,
        started_by: None,
        how: None,
        said_by: None,
        advice: None,
        safety_net: None,
        next: None,
        next_by: None,
        answers: None,
        attempt: None,
        then: None,
    }
}

/// As they were pinned when version 1 was the newest.
fn staff_v1() -> [StaffEnrolledV1; 2] {
    let full = StaffEnrolledV1 {
        handle: Handle("maya".to_owned()),
        name: "name: naïve, 10⁹ <b> 🩺".into(),
        role: Role::Keeper,
        registration: Some("registration: naïve, 10⁹ <b> 🩺".into()),
        key: Some(PersonKey([0xa5; 32])),
    };
    let minimal = StaffEnrolledV1 {
        name: "x".into(),
        role: Role::Assistant,
        registration: None,
        key: None,
        ..full.clone()
    };
    [full, minimal]
}

fn staff_change_v1() -> [StaffChangedV1; 2] {
    let full = StaffChangedV1 {
        handle: Handle("maya".to_owned()),
        change: StaffMove::KeyReplaced,
        role: Some(Role::Keeper),
        reason: "reason: naïve, 10⁹ <b> 🩺".into(),
        key: Some(PersonKey([0xa5; 32])),
    };
    let minimal = StaffChangedV1 {
        change: StaffMove::Suspended,
        role: None,
        reason: "x".into(),
        key: None,
        ..full.clone()
    };
    [full, minimal]
}

pub fn seen_score() -> SeenScore {
    SeenScore {
        total: Some(7),
        scale: 2,
        single_3: true,
        missing: vec!["hr".to_owned(), "temp".to_owned()],
    }
}

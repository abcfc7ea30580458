//! Random journals: bodies that may refer to anything or nothing, in any order, of several
//! patients, with amendments, discharges and readmissions.

use handfast::record::codec;
use handfast::record::entry::Entry;
use handfast::record::envelope::Envelope;
use handfast::record::field::{FieldReader, ReadContext};
use handfast::record::ids::{EntryHash, EntryId, PersonKey, Pseudonym, Seq};
use handfast::record::kind::ward::{Amendment, AmendmentAct, AmendmentCause, Replacement};
use handfast::record::kind::{Body, Kind, Subject};
use handfast::record::role::Role;
use handfast::record::time::{Span, Timestamp, WardZone};
use handfast::ward::Ward;
use proptest::prelude::*;

use crate::demo_ward::Entries;

/// When every random journal begins: the evening before the clocks go back.
pub const BEGAN: Timestamp = Timestamp(1_792_864_800_000_000);

/// One random act: which kind, about whom, referring to which earlier entry, how long after
/// the one before, and numbers that vary its fields.
#[derive(Debug, Clone)]
pub struct Act {
    kind: u8,
    patient: u8,
    target: u16,
    minutes: u16,
    late: u8,
    choice: u8,
}

pub fn acts() -> impl Strategy<Value = Vec<Act>> {
    let act = (
        any::<u8>(),
        0..4_u8,
        any::<u16>(),
        0..90_u16,
        any::<u8>(),
        any::<u8>(),
    )
        .prop_map(|(kind, patient, target, minutes, late, choice)| Act {
            kind,
            patient,
            target,
            minutes,
            late,
            choice,
        });
    prop::collection::vec(act, 1..70)
}

/// What the random fields are written in: kind, then fields with `{}` for the target.
type Form = (
    &'static str,
    &'static [&'static [(&'static str, &'static str)]],
);

const ADMISSION: &[(&str, &str)] = &[
    ("family", "Random"),
    ("given", "Pat"),
    ("born", "1950-01-01"),
    ("sex", "female"),
    ("local_number", "L1"),
    ("area", "Somewhere"),
    ("source", "gp"),
    ("reason", "Because"),
    ("allergies", "not asked"),
    ("ceiling", "full"),
    ("resuscitation", "attempt"),
    ("scale", "1"),
    ("slot", "T01"),
];

const FORMS: &[Form] = &[
    ("admission", &[ADMISSION]),
    ("admission", &[ADMISSION]),
    ("discharge", &[&[("to", "home"), ("summary", "Well")]]),
    (
        "alert",
        &[
            &[
                ("source", "help"),
                ("what", "Fell"),
                ("severity", "critical"),
            ],
            &[("source", "kit"), ("what", "Silent"), ("severity", "soon")],
        ],
    ),
    (
        "alert-step",
        &[
            &[("alert", "{}"), ("step", "taken")],
            &[("alert", "{}"), ("step", "closed"), ("outcome", "resolved")],
            &[("alert", "{}"), ("step", "released")],
        ],
    ),
    (
        "escalation",
        &[&[
            ("situation", "s"),
            ("background", "b"),
            ("assessment", "a"),
            ("recommendation", "r"),
            ("to_role", "registrar"),
            ("how", "phone"),
            ("answer_by", "+1h"),
        ]],
    ),
    (
        "escalation-step",
        &[
            &[("escalation", "{}"), ("step", "no-answer")],
            &[
                ("escalation", "{}"),
                ("step", "answered"),
                ("by", "Dr B"),
                ("plan", "p"),
            ],
            &[("escalation", "{}"), ("step", "closed"), ("outcome", "o")],
        ],
    ),
    (
        "task",
        &[
            &[("what", "Call"), ("due", "+1h")],
            &[("what", "Set"), ("due", "+30m"), ("repeat", "every 4h")],
            &[("what", "Later"), ("due", "+5d")],
        ],
    ),
    (
        "task-step",
        &[
            &[("task", "{}"), ("step", "done")],
            &[("task", "{}"), ("step", "cancelled"), ("reason", "x")],
            &[
                ("task", "{}"),
                ("step", "deferred"),
                ("reason", "x"),
                ("until", "+2h"),
            ],
        ],
    ),
    (
        "result",
        &[
            &[("values", "crp 148 (0-5)")],
            &[("sample", "{}"), ("values", "k 4.1 (3.5-5.3)")],
        ],
    ),
    (
        "result-review",
        &[
            &[("result", "{}"), ("decision", "none-needed")],
            &[
                ("result", "{}"),
                ("decision", "repeat"),
                ("repeat_by", "+1h"),
            ],
        ],
    ),
    (
        "supply",
        &[
            &[("item", "Tablets"), ("kind", "medicine")],
            &[
                ("item", "Chair"),
                ("kind", "equipment"),
                ("needed_by", "+2h"),
            ],
        ],
    ),
    (
        "supply-step",
        &[
            &[("supply", "{}"), ("step", "courier")],
            &[("supply", "{}"), ("step", "delivered"), ("identity", "two")],
            &[("supply", "{}"), ("step", "wrong-address")],
        ],
    ),
    (
        "contact",
        &[
            &[
                ("mode", "video"),
                ("outcome", "reached"),
                ("worry", "Not himself"),
            ],
            &[
                ("mode", "phone"),
                ("outcome", "no-answer"),
                ("then", "visit"),
            ],
            &[("mode", "phone"), ("outcome", "reached"), ("answers", "{}")],
            &[("mode", "phone"), ("outcome", "reached"), ("next", "+1h")],
        ],
    ),
    (
        "obs",
        &[
            &[("rr", "22"), ("spo2", "94"), ("worry", "Grey")],
            &[("rr", "18"), ("hr", "80")],
        ],
    ),
    (
        "sample",
        &[&[("what", "bloods"), ("tests", "CRP"), ("result_by", "+4h")]],
    ),
    ("note", &[&[("text", "A note"), ("topic", "question")]]),
    (
        "wound",
        &[&[
            ("site", "heel"),
            ("side", "left"),
            ("kind", "pressure-ulcer"),
            ("next_change", "+1h"),
        ]],
    ),
    (
        "dressing",
        &[&[("wound", "1"), ("applied", "Foam"), ("next_change", "+90m")]],
    ),
    (
        "line",
        &[&[
            ("kind", "cannula"),
            ("site", "left hand"),
            ("inserted", "2026-10-20"),
            ("next_care", "+1h"),
        ]],
    ),
    (
        "line-care",
        &[&[("line", "{}"), ("step", "flushed"), ("next_care", "+1h")]],
    ),
    (
        "dose",
        &[&[
            ("medicine", "Doxycycline 100 mg"),
            ("outcome", "taken"),
            ("next_due", "+1h"),
        ]],
    ),
    (
        "handover",
        &[&[("from_shift", "Day"), ("to_shift", "Night")]],
    ),
    (
        "handover-step",
        &[
            &[("handover", "{}"), ("step", "query"), ("text", "Why?")],
            &[
                ("handover", "{}"),
                ("step", "answer"),
                ("query", "{}"),
                ("text", "So."),
            ],
        ],
    ),
];

/// An entry of the kind a field names, so that most steps find what they are a step of.
fn meant(act: &Act, field: &str, entries: &Entries) -> Option<Seq> {
    let kind = match field {
        "query" => "handover-step",
        "answers" => "alert",
        field => field,
    };
    let of_kind = entries
        .0
        .values()
        .filter(|entry| entry.kind().name() == kind);
    let of_kind: Vec<Seq> = of_kind.map(|entry| entry.seq).collect();
    let at = usize::from(act.target) % of_kind.len().max(1);
    of_kind
        .get(at)
        .copied()
        .filter(|_| !act.late.is_multiple_of(4))
}

/// The entry an act makes, if its form can be written then.
fn entry(act: &Act, seq: Seq, now: Timestamp, entries: &Entries) -> Option<Entry> {
    let target = 1 + u64::from(act.target) % seq.0.max(1);
    let named = entries.0.get(&Seq(target));
    // Amendments are written as the station writes them: in the record of their target.
    let amend = act.kind % 11 == 10;
    let (patient, body) = match named.filter(|_| amend) {
        Some(named) => (named.patient, amendment(act, named)?),
        None => {
            let (kind, forms) = FORMS[usize::from(act.kind) % FORMS.len()];
            let fields = forms[usize::from(act.choice) % forms.len()];
            let mut whose = None;
            let mut typed: Vec<(String, String)> = Vec::new();
            for (name, value) in fields {
                let meant = meant(act, name, entries).filter(|_| *value == "{}");
                whose = whose.or(meant.and_then(|seq| entries.0.get(&seq)?.patient));
                let target = meant.map_or(target, |seq| seq.0);
                typed.push(((*name).to_owned(), value.replace("{}", &target.to_string())));
            }
            let kind = Kind::from_name(kind)?;
            let body = read(kind, &typed, now)?;
            let about_ward = kind.subject() == Subject::Either && act.patient == 0;
            let about_ward = about_ward || kind.subject() == Subject::Ward;
            let patient = whose.unwrap_or(Pseudonym([act.patient + 1; 16]));
            ((!about_ward).then_some(patient), body)
        }
    };
    let late = Span::minutes(i64::from(act.late) % 200);
    // Now and then a stranger: what they write only ever opens something.
    let who = match act.late {
        250.. => STAFF.len(),
        _ => usize::from(act.choice) % STAFF.len(),
    };
    let mut entry = written(seq, now, who, body);
    entry.patient = patient;
    entry.envelope.occurred_at = now.plus(Span(-late.0));
    Some(entry)
}

fn read(kind: Kind, typed: &[(String, String)], now: Timestamp) -> Option<Body> {
    let cx = ReadContext {
        now,
        zone: WardZone::LONDON,
    };
    let mut reader = FieldReader::new(typed, cx);
    let body = kind.read(&mut reader)?;
    assert!(reader.refusals.is_empty(), "{:?}", reader.refusals);
    Some(body)
}

fn written(seq: Seq, now: Timestamp, who: usize, body: Body) -> Entry {
    Entry {
        seq,
        hash: EntryHash([u8::try_from(seq.0 % 251).unwrap_or(0); 32]),
        id: EntryId([7; 16]),
        recorded_at: now,
        author: key(who),
        patient: None,
        envelope: Envelope {
            occurred_at: now,
            approximate: false,
            role: Role::Nurse,
            episode: None,
            late_reason: None,
            related: vec![],
            confirmed: vec![],
        },
        body,
    }
}

fn key(who: usize) -> PersonKey {
    PersonKey([u8::try_from(who).unwrap_or(u8::MAX) + 1; 32])
}

/// Who writes; the first is the keeper who founds the ward.
const STAFF: [(&str, &str); 3] = [("kit", "keeper"), ("nia", "nurse"), ("noor", "nurse")];

/// Opens the ward and enrols its people: only their word closes or answers anything.
fn founding() -> Entries {
    let typed = |fields: &[(&str, &str)]| -> Vec<(String, String)> {
        let owned = |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
        fields.iter().map(owned).collect()
    };
    let open = typed(&[
        ("name", "Netherwick"),
        ("zone", "Europe/London"),
        ("teaching", "yes"),
    ]);
    let opened = read(Kind::WardOpened, &open, BEGAN).expect("a ward");
    let mut entries = Entries::default();
    entries.0.insert(Seq(1), written(Seq(1), BEGAN, 0, opened));
    for (who, (handle, role)) in STAFF.into_iter().enumerate() {
        let fields = typed(&[("handle", handle), ("name", handle), ("role", role)]);
        let mut body = read(Kind::StaffEnrolled, &fields, BEGAN).expect("somebody");
        if let Body::StaffEnrolled(enrolled) = &mut body {
            enrolled.key = Some(key(who));
        }
        let seq = Seq(who as u64 + 2);
        entries.0.insert(seq, written(seq, BEGAN, 0, body));
    }
    entries
}

fn amendment(act: &Act, target: &Entry) -> Option<Body> {
    let correct = act.choice.is_multiple_of(2);
    let payload = codec::encode(&target.envelope, &target.body).ok()?;
    Some(Body::Amendment(Amendment {
        target: target.seq,
        act: if correct {
            AmendmentAct::Correct
        } else {
            AmendmentAct::Withdraw
        },
        cause: AmendmentCause::Typing,
        reason: None,
        entered_anew: None,
        replacement: correct.then(|| Replacement {
            kind: target.kind().code(),
            version: target.kind().version(),
            payload,
        }),
    }))
}

/// The ward that a random journal makes, and the moment after its last entry.
pub fn ward(acts: &[Act]) -> (Ward, Timestamp) {
    let mut entries = founding();
    let mut ward = Ward::new();
    for entry in entries.0.values() {
        ward.apply(entry, &entries);
    }
    assert!(ward.doubtful().is_empty(), "{:?}", ward.doubtful());
    let mut now = BEGAN;
    for act in acts {
        now = now.plus(Span::minutes(i64::from(act.minutes)));
        let seq = Seq(entries.0.len() as u64 + 1);
        if let Some(entry) = entry(act, seq, now, &entries) {
            entries.0.insert(seq, entry.clone());
            ward.apply(&entry, &entries);
        }
    }
    (ward, now.plus(Span::minutes(1)))
}

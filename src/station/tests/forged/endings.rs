//! What entries in doubt must not end, answer or take the place of, kind by kind.

use super::*;
use crate::record::quantity::Count;
use crate::ward::Patient;
use crate::ward::workings::{self, About, Working};

/// A patient with something of each sort open, and the folder open to anybody.
struct Open {
    desk: Desk,
    patient: Pseudonym,
    nurse: Arc<dyn Signer>,
}

impl Open {
    fn new() -> Open {
        let desk = desk();
        let patient = desk.station.resolve_patient("pell").unwrap();
        let nurse = desk.nurse.signer.clone();
        Open {
            desk,
            patient,
            nurse,
        }
    }

    fn body(&self, kind: Kind, fields: &[(&str, &str)]) -> Body {
        let mut draft = Draft::new(kind).with("patient", "pell");
        for (name, text) in fields {
            draft = draft.with(name, *text);
        }
        match draft.read(&self.desk.station.read_context()) {
            Ok(read) => read.body,
            Err(refusals) => panic!("{refusals:?}"),
        }
    }

    /// As the nurse truly wrote it.
    fn true_entry(&self, kind: Kind, fields: &[(&str, &str)]) -> Seq {
        let body = self.body(kind, fields);
        slip_in(&self.desk, self.nurse.clone(), Some(self.patient), &body)
    }

    /// Once in the nurse's name and once by a stranger.
    fn forge(&self, body: &Body, related: &[Seq]) -> [Seq; 2] {
        let forgers: [Arc<dyn Signer>; 2] = [
            Arc::new(Forger(self.nurse.public())),
            Arc::new(strangers_key()),
        ];
        forgers.map(|forger| {
            slip_in_related(
                &self.desk,
                forger,
                Some(self.patient),
                body,
                related.to_vec(),
            )
        })
    }

    fn later(&self, hours: i64) {
        let now = self.desk.station.now();
        self.desk.clock.set(now.plus(Span::hours(hours)));
    }

    /// Looks at the patient as folded, and as drawn anew after an amendment.
    fn look(&self, look: impl Fn(&Patient, &[Working])) {
        let mut station = fresh(&self.desk);
        for _ in 0..2 {
            let ward = station.ward();
            let patient = ward.patient(self.patient).unwrap();
            look(patient, &workings::workings(ward, patient, station.now()));
            station = redrawn(station, Some(self.patient));
        }
    }
}

#[test]
fn a_forged_answer_leaves_its_question_open() {
    let open = Open::new();
    let asked = open.true_entry(
        Kind::Note,
        &[("text", "May she bathe?"), ("topic", "question")],
    );
    let answer = open.body(Kind::Note, &[("text", "yes"), ("topic", "answer")]);
    let forged = open.forge(&answer, &[asked]);
    open.look(|patient, _| {
        let questions: Vec<Seq> = patient.ledgers.open_questions().map(|q| q.seq()).collect();
        assert_eq!(questions, [asked]);
        let notes = patient.ledgers.notes.iter();
        assert_eq!(notes.filter(|note| forged.contains(&note.seq())).count(), 2);
    });
}

const WOUND: [(&str, &str); 3] = [
    ("site", "heel"),
    ("side", "left"),
    ("kind", "pressure-ulcer"),
];

#[test]
fn a_forged_assessment_heals_no_wound_and_uses_up_no_number() {
    let open = Open::new();
    let found = open.true_entry(Kind::Wound, &WOUND);
    open.later(1);
    let Body::Wound(mut healed) = open.body(Kind::Wound, &WOUND) else {
        panic!()
    };
    healed.healed = Some(true);
    for stated in [1, i32::MAX] {
        healed.wound = Some(Count(stated));
        open.forge(&healed.clone().into(), &[]);
    }
    let next = open.true_entry(Kind::Wound, &WOUND);
    open.look(|patient, _| {
        let first = &patient.wounds[&1];
        assert!(!first.is_healed());
        assert_eq!(first.newest().unwrap().seq(), found);
        let numbers: Vec<i32> = patient.wounds.keys().copied().collect();
        assert_eq!(numbers, [1, 2, 3, 4, 5, 6], "each its own");
        assert!(patient.wounds.values().all(|wound| !wound.is_healed()));
        assert_eq!(patient.wounds[&6].newest().unwrap().seq(), next);
    });
}

/// Where numbers are used up, by whatever program, a new wound merges with none and is refused.
#[test]
fn a_wound_that_can_have_no_number_is_refused_and_merges_with_none() {
    let mut open = Open::new();
    let Body::Wound(mut last) = open.body(Kind::Wound, &WOUND) else {
        panic!()
    };
    last.wound = Some(Count(i32::MAX));
    let (nurse, patient) = (open.nurse.clone(), Some(open.patient));
    let known = slip_in(&open.desk, nurse, patient, &last.into());
    open.true_entry(Kind::Wound, &WOUND);
    open.look(|patient, _| {
        let wound = &patient.wounds[&i32::MAX];
        let series: Vec<Seq> = wound.assessments.iter().map(|held| held.seq()).collect();
        assert_eq!(series, [known]);
    });
    let draft = WOUND
        .iter()
        .fold(Draft::new(Kind::Wound), |draft, (name, text)| {
            draft.with(name, *text)
        });
    open.desk.station.refresh().unwrap();
    let told = refused(open.desk.log(draft.with("patient", "pell")));
    assert!(told.contains("used up every number"), "{told}");
}

#[test]
fn a_forged_contact_reaches_nobody_and_keeps_no_appointment() {
    let open = Open::new();
    let tried = open.true_entry(
        Kind::Contact,
        &[
            ("mode", "phone"),
            ("outcome", "no-answer"),
            ("then", "try-again"),
            ("next", "+1h"),
        ],
    );
    open.later(3);
    let reached = [
        ("mode", "phone"),
        ("outcome", "reached"),
        ("spoke_to", "patient"),
        ("next", "+24h"),
        ("worry", "she sounds breathless"),
    ];
    let worried = open.forge(&open.body(Kind::Contact, &reached), &[]);
    open.forge(&open.body(Kind::Contact, &reached[..4]), &[]);
    open.look(|patient, _| {
        assert!(patient.last_reached().is_none());
        let tries: Vec<Seq> = patient.unreached().iter().map(|held| held.seq()).collect();
        assert_eq!(tries, [tried]);
        assert_eq!(patient.next_contact().map(|held| held.seq()), Some(tried));
        let alerts: Vec<Seq> = patient.ledgers.alerts.keys().copied().collect();
        assert_eq!(alerts, worried, "a worry is looked at");
    });
}

fn set(
    rr: &'static str,
    spo2: &'static str,
    hr: &'static str,
) -> [(&'static str, &'static str); 7] {
    [
        ("rr", rr),
        ("spo2", spo2),
        ("oxygen", "air"),
        ("sbp", "118"),
        ("hr", hr),
        ("acvpu", "alert"),
        ("temp", "37.0"),
    ]
}

#[test]
fn a_forged_set_stands_beside_the_newest_and_not_in_its_place() {
    let open = Open::new();
    // RCP 2017: 25 a minute scores 3, 91 % on scale 1 scores 3, 111 a minute scores 2.
    let ill = open.true_entry(Kind::Observation, &set("25", "91", "111"));
    open.later(1);
    let forged = open.forge(&open.body(Kind::Observation, &set("14", "98", "70")), &[]);
    open.look(|patient, worked| {
        let newest = patient.last_set().unwrap();
        assert_eq!((newest.stamp.seq, newest.total()), (ill, Some(8)));
        let of_score = |w: &&Working| w.about == About::Score;
        let scores: Vec<&Working> = worked.iter().filter(of_score).collect();
        assert!(
            scores.iter().any(|w| w.text.starts_with("NEWS2 8")),
            "{scores:?}"
        );
        let beside = scores.iter().find(|w| w.text.contains("not proved"));
        let beside = beside.unwrap_or_else(|| panic!("{scores:?}"));
        assert_eq!(beside.entries, forged);
    });
}

#[test]
fn a_forged_result_stands_beside_the_newest_and_not_in_its_place() {
    let open = Open::new();
    let high = open.true_entry(Kind::LabResult, &[("values", "k 6.9 (3.5-5.3)")]);
    open.later(1);
    let forged = open.forge(
        &open.body(Kind::LabResult, &[("values", "k 4.1 (3.5-5.3)")]),
        &[],
    );
    open.look(|patient, worked| {
        let bloods: Vec<&Working> = worked.iter().filter(|w| w.about == About::Bloods).collect();
        assert_eq!(bloods.len(), 1, "{bloods:?}");
        assert!(bloods[0].text.contains("6.9") && bloods[0].text.contains("CRITICAL"));
        assert_eq!(bloods[0].entries, [high]);
        assert!(
            forged
                .iter()
                .all(|seq| patient.results[seq].is_unreviewed())
        );
    });
}

/// A sample that may never have been taken hides no sample that failed.
#[test]
fn a_forged_sample_hides_none_that_failed() {
    let open = Open::new();
    let fields = [("what", "bloods"), ("tests", "u&e"), ("result_by", "+6h")];
    let taken = open.true_entry(Kind::Sample, &fields);
    let lost = [
        ("sample", taken.to_string()),
        ("step", "lost".into()),
        ("detail", "courier".into()),
    ];
    let lost: Vec<(&str, &str)> = lost
        .iter()
        .map(|(name, text)| (*name, text.as_str()))
        .collect();
    open.true_entry(Kind::SampleStep, &lost);
    open.forge(&open.body(Kind::Sample, &fields), &[]);
    let station = fresh(&open.desk);
    let sheet = sheet_now(station.ward(), station.now());
    let whole = json::compact(&sheet);
    assert!(whole.contains("courier"), "{whole}");
}

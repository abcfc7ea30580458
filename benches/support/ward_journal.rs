//! A journal to measure on: contacts, sets of readings, notes, tasks and their ends over many
//! patients in turn, and now and then an entry that is withdrawn.

use std::path::Path;
use std::sync::Arc;

use handfast::journal::{FileStore, NewEntry, SigningSeed, Store, WriteOptions};
use handfast::record::codec;
use handfast::record::draft::Draft;
use handfast::record::envelope::Envelope;
use handfast::record::field::ReadContext;
use handfast::record::ids::{EntryId, JournalId, Pseudonym, Seq};
use handfast::record::kind::ward::{Amendment, AmendmentAct, AmendmentCause};
use handfast::record::kind::{Body, Kind, Subject};
use handfast::record::role::Role;
use handfast::record::time::{Span, Timestamp, WardZone};
use zeroize::Zeroizing;

const START: Timestamp = Timestamp(1_792_000_000_000_000);
/// Entries appended together.
const GROUP: usize = 1_000;

/// What to make.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    /// Patients, each admitted once.
    pub patients: u64,
    /// Entries in all.
    pub entries: u64,
    /// One in so many entries withdraws an earlier one of the same patient; 0 for none.
    pub withdraw_every: u64,
}

struct Maker {
    size: Size,
    store: FileStore,
    signer: Arc<SigningSeed>,
    made: u64,
    waiting: Vec<NewEntry>,
}

/// Makes the journal.
pub fn make(dir: &Path, size: Size) {
    FileStore::create(dir, JournalId([5; 16])).expect("a new journal");
    let options = WriteOptions::new("a bench", START);
    let (store, _) = FileStore::open_writer(dir, &options).expect("a writer");
    let signer = SigningSeed::from_bytes(&Zeroizing::new([7; 32]));
    let mut maker = Maker {
        size,
        store,
        signer: Arc::new(signer),
        made: 0,
        waiting: Vec::new(),
    };
    maker.begin();
    maker.go_on();
}

/// Appends one more note about one patient, as entry `number`.
pub fn add_note(dir: &Path, size: Size, number: u64) {
    let options = WriteOptions::new("a bench", START);
    let (store, _) = FileStore::open_writer(dir, &options).expect("a writer");
    let signer = SigningSeed::from_bytes(&Zeroizing::new([7; 32]));
    let mut maker = Maker {
        size,
        store,
        signer: Arc::new(signer),
        made: number,
        waiting: Vec::new(),
    };
    maker.type_in(Kind::Note, Some(0), &[("text", "one more")]);
    maker.flush();
}

impl Maker {
    fn begin(&mut self) {
        let opened = [
            ("name", "Bench ward"),
            ("zone", "Europe/London"),
            ("teaching", "yes"),
        ];
        self.type_in(Kind::WardOpened, None, &opened);
        for patient in 0..self.size.patients {
            let (family, number) = (format!("Bench{patient}"), format!("B{patient}"));
            let mut fields = vec![
                ("family", family.as_str()),
                ("local_number", &number),
                ("slot", &number),
            ];
            fields.extend(ADMISSION);
            self.type_in(Kind::Admission, Some(patient), &fields);
        }
    }

    /// Five entries for each patient in turn: contact, readings, note, task, task done.
    fn go_on(&mut self) {
        let patients = self.size.patients;
        let mut turn = 0;
        while self.made < self.size.entries {
            let patient = Some(turn % patients);
            let every = self.size.withdraw_every;
            if every > 0 && turn >= 2 * patients && turn % every == every - 1 {
                self.withdraw(patient, Seq(self.made + 1 - 2 * patients));
            } else {
                self.routine(turn, patient);
            }
            turn += 1;
        }
        self.flush();
    }

    fn routine(&mut self, turn: u64, patient: Option<u64>) {
        let (rr, hr) = ((14 + turn % 8).to_string(), (64 + turn % 40).to_string());
        match turn / self.size.patients % 5 {
            0 => self.type_in(Kind::Contact, patient, &CONTACT),
            1 => {
                let mut fields = vec![("rr", rr.as_str()), ("hr", &hr)];
                fields.extend(READINGS);
                self.type_in(Kind::Observation, patient, &fields);
            }
            2 => self.type_in(
                Kind::Note,
                patient,
                &[("text", "Slept well, ate breakfast, no new pain.")],
            ),
            3 => self.type_in(
                Kind::Task,
                patient,
                &[("what", "ring about the readings"), ("due", "+6h")],
            ),
            _ => {
                let task = Seq(self.made + 1 - self.size.patients).to_string();
                self.type_in(
                    Kind::TaskStep,
                    patient,
                    &[("task", &task), ("step", "done")],
                );
            }
        }
    }

    fn withdraw(&mut self, patient: Option<u64>, target: Seq) {
        let amendment = Amendment {
            target,
            act: AmendmentAct::Withdraw,
            cause: AmendmentCause::Typing,
            reason: None,
            entered_anew: None,
            replacement: None,
        };
        self.put(patient, &amendment.into());
    }

    fn type_in(&mut self, kind: Kind, patient: Option<u64>, fields: &[(&str, &str)]) {
        let pairs = fields
            .iter()
            .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()));
        let mut draft = Draft::from_pairs(kind, pairs);
        if kind != Kind::Admission && kind.subject() != Subject::Ward {
            draft.patient = Some("x".to_owned());
        }
        let cx = ReadContext {
            now: self.now(),
            zone: WardZone::LONDON,
        };
        let read = draft.read(&cx).expect("a draft that can be read");
        self.put(patient, &read.body);
    }

    fn now(&self) -> Timestamp {
        START.plus(Span(
            12_000_000 * i64::try_from(self.made).expect("a small number"),
        ))
    }

    fn put(&mut self, patient: Option<u64>, body: &Body) {
        let envelope = Envelope {
            occurred_at: self.now(),
            approximate: false,
            role: Role::Nurse,
            episode: None,
            late_reason: None,
            related: Vec::new(),
            confirmed: Vec::new(),
        };
        let recorded_at = self.now();
        self.made += 1;
        let mut id = [0; 16];
        id[..8].copy_from_slice(&self.made.to_le_bytes());
        self.waiting.push(NewEntry {
            id: EntryId(id),
            recorded_at,
            kind: body.kind().code(),
            kind_version: body.kind().version(),
            patient: patient.map_or(Pseudonym::ZERO, pseudonym),
            encoding: codec::ENCODING,
            payload: codec::encode(&envelope, body).expect("a payload"),
            signer: Arc::<SigningSeed>::clone(&self.signer),
            seal: None,
        });
        if self.waiting.len() >= GROUP {
            self.flush();
        }
    }

    fn flush(&mut self) {
        let waiting = std::mem::take(&mut self.waiting);
        self.store.append(waiting, None).expect("room on the disk");
    }
}

fn pseudonym(patient: u64) -> Pseudonym {
    let mut bytes = [9; 16];
    bytes[..8].copy_from_slice(&patient.to_le_bytes());
    Pseudonym(bytes)
}

const ADMISSION: [(&str, &str); 10] = [
    ("given", "Invented"),
    ("born", "02-Jul-1944"),
    ("sex", "female"),
    ("area", "Nowhere"),
    ("source", "gp"),
    ("reason", "measured"),
    ("allergies", "none known"),
    ("ceiling", "full"),
    ("resuscitation", "attempt"),
    ("scale", "1"),
];
const CONTACT: [(&str, &str); 4] = [
    ("mode", "video"),
    ("outcome", "reached"),
    ("how", "Bright, took tablets, walked to the gate."),
    ("next", "+4h"),
];
const READINGS: [(&str, &str); 6] = [
    ("spo2", "95"),
    ("oxygen", "air"),
    ("sbp", "128"),
    ("dbp", "74"),
    ("acvpu", "alert"),
    ("temp", "36.9"),
];

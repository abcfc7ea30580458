//! The demo ward's story folded straight into a ward: no journal, no station. Hashes are
//! made up from the entry number; everything else is as the story tells it.

use std::collections::BTreeMap;

use handfast::demo::cast::Member;
use handfast::demo::player::{Correction, StorySink, Withdrawal, play};
use handfast::record::codec;
use handfast::record::draft::Draft;
use handfast::record::entry::Entry;
use handfast::record::envelope::Envelope;
use handfast::record::field::{FieldReader, FieldValue, ReadContext, ShowContext};
use handfast::record::ids::{EntryHash, EntryId, PersonKey, Pseudonym, Seq};
use handfast::record::kind::shift::{HandoverMove, HandoverStep, SheetName};
use handfast::record::kind::ward::{
    Amendment, AmendmentAct, AmendmentCause, Replacement, StaffEnrolled, WardOpened,
};
use handfast::record::kind::{Body, Kind};
use handfast::record::person::Handle;
use handfast::record::role::Role;
use handfast::record::text::Line;
use handfast::record::time::{Leaning, Timestamp, parse_moment};
use handfast::view::handover::{SheetRequest, sheet};
use handfast::ward::{EntrySource, Found, Read, Ward};

/// Entries by number.
#[derive(Default)]
pub struct Entries(pub BTreeMap<Seq, Entry>);

impl EntrySource for Entries {
    fn entry(&self, seq: Seq) -> Option<Entry> {
        self.0.get(&seq).cloned()
    }
}

/// The ward as the story has made it so far.
pub struct DemoWard {
    pub ward: Ward,
    pub entries: Entries,
    pub now: Timestamp,
}

/// The whole story.
pub fn whole() -> DemoWard {
    let mut demo = DemoWard {
        ward: Ward::new(),
        entries: Entries::default(),
        now: Timestamp::EARLIEST,
    };
    play(&mut demo).unwrap_or_else(|error| panic!("{error}"));
    demo
}

/// The story up to a moment.
pub fn until(moment: Timestamp) -> DemoWard {
    let told = whole();
    let entries = told.entries.0.into_values();
    let mut demo = DemoWard::of(entries.filter(|e| e.recorded_at <= moment).collect());
    demo.now = moment;
    demo
}

/// A moment of the story, as people say it.
pub fn moment(said: &str) -> Timestamp {
    let opened = handfast::demo::cast::OPENED;
    parse_moment(said, opened, handfast::demo::cast::ZONE, Leaning::Future)
        .expect("a moment")
        .at
}

fn key(handle: &str) -> PersonKey {
    let mut bytes = [0; 32];
    for (byte, letter) in bytes.iter_mut().zip(handle.bytes()) {
        *byte = letter;
    }
    PersonKey(bytes)
}

fn made_up<const N: usize>(seq: Seq) -> [u8; N] {
    let mut bytes = [0xd0; N];
    for (byte, part) in bytes.iter_mut().rev().zip(seq.0.to_le_bytes()) {
        *byte = part;
    }
    bytes
}

/// A body from its JSON form; `None` if that is not one of the kind.
pub fn body_of(kind: Kind, value: serde_json::Value) -> Option<Body> {
    macro_rules! each {
        ($($variant:ident),+ $(,)?) => {
            match kind {
                $(Kind::$variant => serde_json::from_value(value).ok().map(Body::$variant),)+
                _ => None,
            }
        };
    }
    each!(
        Admission,
        EpisodeChange,
        Discharge,
        Consent,
        Contact,
        Note,
        Observation,
        Alert,
        AlertStep,
        Escalation,
        EscalationStep,
        Wound,
        Dressing,
        Task,
        TaskStep,
        Sample,
        SampleStep,
        LabResult,
        ResultReview,
        Supply,
        SupplyStep,
        Dose,
        BodyLine,
        LineCare,
        Kit,
        KitStep,
        Shift,
        Handover,
        HandoverStep,
        StaffEnrolled,
        WardOpened,
        PolicyChanged,
    )
}

impl DemoWard {
    /// Folds entries.
    pub fn of(entries: Vec<Entry>) -> DemoWard {
        let entries = Entries(entries.into_iter().map(|e| (e.seq, e)).collect());
        let mut ward = Ward::new();
        for entry in entries.0.values() {
            ward.apply(entry, &entries);
        }
        let newest = entries.0.values().next_back();
        DemoWard {
            ward,
            now: newest.map_or(Timestamp::EARLIEST, |entry| entry.recorded_at),
            entries,
        }
    }

    /// Every entry, as the journal would give them.
    pub fn reads(&self) -> Vec<Read> {
        let entries = self.entries.0.values();
        entries
            .map(|entry| Read::Entry(Box::new(entry.clone())))
            .collect()
    }

    fn next(&self) -> Seq {
        self.entries
            .0
            .keys()
            .next_back()
            .map_or(Seq(1), |seq| seq.next())
    }

    fn write(
        &mut self,
        at: Timestamp,
        by: (&str, Role),
        patient: Option<Pseudonym>,
        envelope: Option<Envelope>,
        body: Body,
    ) -> Seq {
        let seq = self.next();
        let envelope = envelope.unwrap_or(Envelope {
            occurred_at: at,
            approximate: false,
            role: by.1,
            episode: None,
            late_reason: None,
            related: vec![],
            confirmed: vec![],
        });
        let entry = Entry {
            seq,
            hash: EntryHash(made_up(seq)),
            id: EntryId(made_up(seq)),
            recorded_at: at,
            author: key(by.0),
            patient,
            envelope,
            body,
        };
        self.now = at;
        self.entries.0.insert(seq, entry.clone());
        self.ward.apply(&entry, &self.entries);
        seq
    }

    fn cx(&self, now: Timestamp) -> ReadContext {
        ReadContext {
            now,
            zone: handfast::demo::cast::ZONE,
        }
    }

    fn enrol_body(person: &Member) -> Body {
        Body::StaffEnrolled(StaffEnrolled {
            handle: Handle(person.handle.into()),
            name: Line(person.name.into()),
            role: person.role,
            registration: person.registration.map(Line::from),
            key: Some(key(person.handle)),
            reading: None,
        })
    }
}

impl StorySink for DemoWard {
    type Error = String;

    fn open(&mut self, at: Timestamp, ward: &str, keeper: &'static Member) -> Result<(), String> {
        let opened = WardOpened {
            name: Line(ward.into()),
            zone: Line("Europe/London".into()),
            teaching: true,
        };
        self.write(
            at,
            (keeper.handle, keeper.role),
            None,
            None,
            Body::WardOpened(opened),
        );
        self.enrol(at, keeper, keeper).map(|_| ())
    }

    fn enrol(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        person: &'static Member,
    ) -> Result<Seq, String> {
        let body = DemoWard::enrol_body(person);
        Ok(self.write(at, (by.handle, by.role), None, None, body))
    }

    fn log(&mut self, at: Timestamp, by: &'static Member, draft: &Draft) -> Result<Seq, String> {
        let read = draft
            .read(&self.cx(at))
            .map_err(|refusals| refusals.iter().map(ToString::to_string).collect::<String>())?;
        let patient = match &read.patient {
            None => None,
            Some(_) if read.body.kind() == Kind::Admission => Some(Pseudonym(made_up(self.next()))),
            Some(text) => match self.ward.find_patient(text) {
                Found::One(patient) => Some(patient),
                other => return Err(format!("{text}: {other:?}")),
            },
        };
        let envelope = Envelope {
            occurred_at: read.occurred_at,
            approximate: read.approximate,
            role: by.role,
            episode: None,
            late_reason: read.late_reason,
            related: read.related,
            confirmed: vec![],
        };
        Ok(self.write(at, (by.handle, by.role), patient, Some(envelope), read.body))
    }

    fn withdraw(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        withdrawal: &Withdrawal<'_>,
    ) -> Result<Seq, String> {
        let patient = self.entries.0[&withdrawal.target].patient;
        let body = Amendment {
            target: withdrawal.target,
            act: AmendmentAct::Withdraw,
            cause: AmendmentCause::from_code(withdrawal.cause).ok_or("cause")?,
            reason: Some(Line(withdrawal.reason.into())),
            entered_anew: withdrawal.entered_anew,
            replacement: None,
        };
        Ok(self.write(at, (by.handle, by.role), patient, None, body.into()))
    }

    fn correct(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        correction: &Correction<'_>,
    ) -> Result<Seq, String> {
        let target = self.entries.0[&correction.target].clone();
        let show = ShowContext {
            zone: handfast::demo::cast::ZONE,
            secrets: true,
        };
        let mut fields = target.body.typed(&show);
        for (name, value) in correction.changes {
            fields.retain(|(known, _)| known != name);
            fields.push((name.clone(), value.clone()));
        }
        let mut envelope = target.envelope.clone();
        if let Some(at_index) = fields.iter().position(|(name, _)| name == "at") {
            let (_, text) = fields.remove(at_index);
            let past = handfast::record::moment::Past::read(&text, &self.cx(at));
            envelope.occurred_at = past.map_err(|problem| problem.what)?.0;
        }
        let mut reader = FieldReader::new(&fields, self.cx(at));
        let body = target.kind().read(&mut reader).ok_or("fields")?;
        let payload = codec::encode(&envelope, &body).map_err(|error| error.to_string())?;
        let amendment = Amendment {
            target: correction.target,
            act: AmendmentAct::Correct,
            cause: AmendmentCause::from_code(correction.cause).ok_or("cause")?,
            reason: Some(Line(correction.reason.into())),
            entered_anew: None,
            replacement: Some(Replacement {
                kind: body.kind().code(),
                version: body.kind().version(),
                payload,
            }),
        };
        Ok(self.write(
            at,
            (by.handle, by.role),
            target.patient,
            None,
            amendment.into(),
        ))
    }

    fn prepare_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        handover: &Draft,
    ) -> Result<Seq, String> {
        let read = handover.read(&self.cx(at)).map_err(|_| "handover")?;
        let Body::Handover(mut body) = read.body else {
            return Err("not a handover".into());
        };
        let request = SheetRequest {
            receiver: body.receiver.clone(),
            opening: body.opening.as_ref().map(|opening| opening.0.clone()),
            ..SheetRequest::new(
                &self.ward,
                body.from_shift.as_str(),
                body.to_shift.as_str(),
                Some(Handle(by.handle.into())),
            )
        };
        let drawn = sheet(&self.ward, at, &request);
        body.sheet = Some(SheetName {
            as_of: at,
            head_seq: drawn.head.journal_seq,
            head_hash: drawn.head.journal_hash,
            digest: drawn.digest(),
        });
        Ok(self.write(at, (by.handle, by.role), None, None, body.into()))
    }

    fn accept_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        handover: Seq,
    ) -> Result<Seq, String> {
        let life = self.ward.handovers().get(&handover).ok_or("no handover")?;
        let digest = life.prepared.body.sheet.as_ref().map(|sheet| sheet.digest);
        let step = HandoverStep {
            handover,
            step: HandoverMove::Accepted,
            text: None,
            query: None,
            digest,
        };
        Ok(self.write(at, (by.handle, by.role), None, None, step.into()))
    }
}

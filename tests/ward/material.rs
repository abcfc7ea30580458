//! Entries to fold: plausible ones of every kind, about three patients or the ward, made from
//! a few small numbers each, so that a failing case can be cut down to the acts that matter.

#![allow(dead_code)] // each suite uses its part

use std::sync::{Arc, OnceLock};

use handfast::journal::{NewEntry, Signer, SigningSeed};
use handfast::record::codec;
use handfast::record::draft::Draft;
use handfast::record::entry::Entry;
use handfast::record::envelope::Envelope;
use handfast::record::field::ReadContext;
use handfast::record::ids::{EntryHash, EntryId, PersonKey, Pseudonym, Seq};
use handfast::record::kind::ward::{Amendment, AmendmentAct, AmendmentCause, Replacement};
use handfast::record::kind::{Body, Kind};
use handfast::record::rights;
use handfast::record::role::Role;
use handfast::record::time::{Span, Timestamp, WardZone};
use handfast::ward::{EntrySource, Ward};
use zeroize::Zeroizing;

/// The night before the clocks go back: Saturday 24 October 2026, 18:00 on the ward.
pub const START: &str = "2026-10-24T17:00:00Z";
pub const ZONE: WardZone = WardZone::LONDON;

/// One thing somebody writes.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Act {
    /// Which of [`KINDS`].
    pub kind: u8,
    /// Which of four people; the last is nobody's key.
    pub who: u8,
    /// Which of three patients; else the ward.
    pub patient: u8,
    /// Which earlier entry is meant, if one is.
    pub refers: u16,
    /// Which of the kind's forms.
    pub form: u8,
    /// Minutes since the act before.
    pub minutes: u16,
    /// How many minutes before it was written it happened.
    pub late: u16,
}

impl std::fmt::Debug for Act {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let kind = KINDS[usize::from(self.kind) % KINDS.len()].name();
        let Act {
            who,
            patient,
            refers,
            form,
            minutes,
            late,
            ..
        } = self;
        write!(
            f,
            "{kind}(who {who}, patient {patient}, refers {refers}, form {form}, +{minutes}, -{late})"
        )
    }
}

/// What random acts are made of; the common ones more than once.
pub const KINDS: &[Kind] = &[
    Kind::Contact,
    Kind::Contact,
    Kind::Observation,
    Kind::Observation,
    Kind::Note,
    Kind::Alert,
    Kind::AlertStep,
    Kind::AlertStep,
    Kind::Escalation,
    Kind::EscalationStep,
    Kind::EscalationStep,
    Kind::Wound,
    Kind::Dressing,
    Kind::Task,
    Kind::Task,
    Kind::TaskStep,
    Kind::TaskStep,
    Kind::Sample,
    Kind::SampleStep,
    Kind::LabResult,
    Kind::ResultReview,
    Kind::Supply,
    Kind::SupplyStep,
    Kind::SupplyStep,
    Kind::Dose,
    Kind::BodyLine,
    Kind::LineCare,
    Kind::Kit,
    Kind::KitStep,
    Kind::Consent,
    Kind::Allocation,
    Kind::EpisodeChange,
    Kind::Discharge,
    Kind::Admission,
    Kind::Shift,
    Kind::Handover,
    Kind::HandoverStep,
    Kind::HandoverStep,
    Kind::Access,
    Kind::PolicyChanged,
    Kind::StaffEnrolled,
    Kind::StaffChanged,
    Kind::DamageAccepted,
    Kind::WardKey,
    Kind::Checkpoint,
    Kind::Amendment,
    Kind::Amendment,
    Kind::Amendment,
    Kind::Amendment,
];

/// What the first entries of a journal write down, and then any number of acts.
#[derive(Debug, Clone)]
pub struct Story {
    pub entries: Vec<Entry>,
    pub now: Timestamp,
}

impl EntrySource for Story {
    fn entry(&self, seq: Seq) -> Option<Entry> {
        let at = self.entries.binary_search_by_key(&seq, |entry| entry.seq);
        at.ok().map(|at| self.entries[at].clone())
    }
}

impl Story {
    /// A ward with three of its four people and three patients.
    pub fn begin() -> Story {
        let mut story = Story {
            entries: Vec::new(),
            now: moment(START),
        };
        let open = "name=Netherwick ward; zone=Europe/London; teaching=yes";
        story.log(0, None, Kind::WardOpened, open);
        for (who, (handle, role)) in PEOPLE.into_iter().enumerate().take(3) {
            let fields = format!("handle={handle}; name=Staff {handle}; role={role}");
            let seq = story.log(0, None, Kind::StaffEnrolled, &fields);
            let at = story.entries.len() - 1;
            if let Body::StaffEnrolled(enrolled) = &mut story.entries[at].body {
                enrolled.key = Some(key(who));
            }
            assert_eq!(seq.0, at as u64 + 1);
        }
        for patient in 0..3 {
            story.log(1, Some(patient), Kind::Admission, &admission(patient));
        }
        story
    }

    /// The whole story of these acts.
    pub fn of(acts: &[Act]) -> Story {
        let mut story = Story::begin();
        for act in acts {
            story.act(*act);
        }
        story
    }

    /// Writes down one act.
    pub fn act(&mut self, act: Act) -> Seq {
        self.wait(i64::from(act.minutes));
        let kind = KINDS[usize::from(act.kind) % KINDS.len()];
        let who = entitled(kind, act);
        let patient = (act.patient % 4 < 3).then_some(usize::from(act.patient % 4));
        if kind == Kind::Amendment {
            return self.amend(act);
        }
        let fields = self.fields(kind, act, patient);
        let seq = self.log(who, patient, kind, &fields);
        let last = self.entries.len() - 1;
        let entry = &mut self.entries[last];
        entry.envelope.occurred_at = entry.recorded_at.plus(Span::minutes(-i64::from(act.late)));
        if let Body::StaffEnrolled(enrolled) = &mut entry.body {
            enrolled.key = Some(key(usize::from(act.form) % 6));
        }
        if let Body::StaffChanged(changed) = &mut entry.body {
            changed.key = Some(key(usize::from(act.form) % 6));
        }
        seq
    }

    /// Withdraws or corrects some earlier entry, mostly in that entry's own record.
    fn amend(&mut self, act: Act) -> Seq {
        let target = Seq(1 + u64::from(act.refers) % (self.entries.len() as u64 + 1));
        let there = self.entry(target);
        // Mostly whoever wrote it.
        let who = match act.who % 8 {
            0 => usize::from(act.form) % 4,
            _ => there.as_ref().map_or(1, |entry| whose(&entry.author)),
        };
        let patient = match act.form % 8 {
            0 => Some(pseudonym(0)),
            _ => there.as_ref().and_then(|entry| entry.patient),
        };
        let replacement = there
            .filter(|_| act.form.is_multiple_of(3))
            .map(|entry| self.replacement(&entry, act));
        let body = Body::Amendment(Amendment {
            target,
            act: if replacement.is_some() {
                AmendmentAct::Correct
            } else {
                AmendmentAct::Withdraw
            },
            cause: AmendmentCause::Mistaken,
            reason: None,
            entered_anew: None,
            replacement,
        });
        self.put(who, patient, body)
    }

    fn replacement(&self, entry: &Entry, act: Act) -> Replacement {
        let kind = entry.kind();
        let body = match kind {
            Kind::Amendment => entry.body.clone(),
            _ => body(kind, &self.fields(kind, act, Some(0)), self.now),
        };
        let envelope = Envelope {
            approximate: true,
            ..entry.envelope.clone()
        };
        replace_with(&envelope, &body)
    }

    /// Withdraws an entry.
    pub fn withdraw(&mut self, target: Seq) -> Seq {
        let patient = self.entry(target).and_then(|entry| entry.patient);
        let body = Body::Amendment(Amendment {
            target,
            act: AmendmentAct::Withdraw,
            cause: AmendmentCause::Mistaken,
            reason: None,
            entered_anew: None,
            replacement: None,
        });
        self.put(self.amender(target), patient, body)
    }

    /// Corrects an entry.
    pub fn correct(&mut self, target: Seq, envelope: &Envelope, body: &Body) -> Seq {
        let patient = self.entry(target).and_then(|entry| entry.patient);
        let amendment = Body::Amendment(Amendment {
            target,
            act: AmendmentAct::Correct,
            cause: AmendmentCause::Typing,
            reason: None,
            entered_anew: None,
            replacement: Some(replace_with(envelope, body)),
        });
        self.put(self.amender(target), patient, amendment)
    }

    /// Whoever wrote it, or else somebody whose word counts after everything so far: a random
    /// keeper suspends people, and changes their keys.
    fn amender(&self, target: Seq) -> usize {
        let ward = self.ward();
        let own = self.entry(target).map(|entry| whose(&entry.author));
        let counts = |who: &usize| {
            let staff = ward.staff_by_key(&key(*who));
            staff.is_some_and(|staff| !staff.is_suspended() && staff.key == Some(key(*who)))
        };
        let people = own.into_iter().chain([1, 2, 0]);
        people.into_iter().find(counts).unwrap_or(1)
    }

    pub fn wait(&mut self, minutes: i64) {
        self.now = self.now.plus(Span::minutes(minutes));
    }

    /// Writes one entry from its fields, as `name=value; name=value`.
    pub fn log(&mut self, who: usize, patient: Option<usize>, kind: Kind, fields: &str) -> Seq {
        let body = body(kind, fields, self.now);
        self.put(who, patient.map(pseudonym), body)
    }

    fn put(&mut self, who: usize, patient: Option<Pseudonym>, body: Body) -> Seq {
        let seq = Seq(self.entries.len() as u64 + 1);
        let digest = blake3::hash(format!("{seq}{body:?}").as_bytes());
        let mut id = [0; 16];
        id[..8].copy_from_slice(&seq.0.to_le_bytes());
        self.entries.push(Entry {
            seq,
            hash: EntryHash(*digest.as_bytes()),
            id: EntryId(id),
            recorded_at: self.now,
            author: key(who),
            patient,
            envelope: Envelope {
                occurred_at: self.now,
                approximate: false,
                role: Role::Nurse,
                episode: None,
                late_reason: None,
                related: Vec::new(),
                confirmed: Vec::new(),
            },
            body,
        });
        seq
    }

    /// The ward after everything.
    pub fn ward(&self) -> Ward {
        fold(&self.entries, self)
    }

    /// An earlier entry of a kind, of this patient if there is one; sometimes one that is of
    /// another kind, still to come, or not there at all.
    fn earlier(&self, kind: Kind, act: Act, patient: Option<usize>) -> Seq {
        let who = patient.map(pseudonym);
        let fitting: Vec<Seq> = self
            .entries
            .iter()
            .filter(|entry| entry.kind() == kind && entry.patient == who)
            .map(|entry| entry.seq)
            .collect();
        let wild = act.refers.is_multiple_of(11);
        match fitting.as_slice() {
            [] => Seq(1 + u64::from(act.refers)),
            _ if wild => Seq(1 + u64::from(act.refers)),
            some => some[usize::from(act.refers) % some.len()],
        }
    }

    fn fields(&self, kind: Kind, act: Act, patient: Option<usize>) -> String {
        let form = usize::from(act.form);
        let pick = |forms: &[&str]| forms[form % forms.len()].to_owned();
        let to = |kind| self.earlier(kind, act, patient);
        match kind {
            Kind::Contact => {
                let answers = to(Kind::Alert);
                match form % 7 {
                    0 => format!("mode=phone; outcome=reached; answers={answers}; how=sleepy"),
                    1 => format!("mode=phone; outcome=voicemail; then=visit; answers={answers}"),
                    other => CONTACTS[other % CONTACTS.len()].to_owned(),
                }
            }
            Kind::Observation => pick(OBSERVATIONS),
            Kind::Note => pick(&["text=slept well", "text=watch the leg; topic=watch-for"]),
            Kind::Alert => pick(&[
                "source=help-button; what=help call; severity=critical",
                "source=missing; what=no readings since noon; severity=soon",
            ]),
            Kind::AlertStep => format!("alert={}; {}", to(Kind::Alert), pick(ALERT_STEPS)),
            Kind::Escalation => pick(&[
                "situation=worse; background=COPD; assessment=tiring; recommendation=see him; \
                 to_role=registrar; how=phone; answer_by=+30m",
                "situation=pain; background=fall; assessment=hip?; recommendation=advice; \
                 to_role=GP; how=message",
            ]),
            Kind::EscalationStep => {
                let step = pick(ESCALATION_STEPS);
                format!("escalation={}; {step}", to(Kind::Escalation))
            }
            Kind::Wound => pick(WOUNDS),
            Kind::Dressing => format!(
                "wound={}; applied=foam; packing_in=1; next_change=+2d",
                form % 4 + 1
            ),
            Kind::Task => pick(TASKS),
            Kind::TaskStep => format!("task={}; {}", to(Kind::Task), pick(TASK_STEPS)),
            _ => self.more_fields(kind, act, patient),
        }
    }

    fn more_fields(&self, kind: Kind, act: Act, patient: Option<usize>) -> String {
        let form = usize::from(act.form);
        let pick = |forms: &[&str]| forms[form % forms.len()].to_owned();
        let to = |kind| self.earlier(kind, act, patient);
        match kind {
            Kind::Sample => pick(&[
                "what=bloods; tests=CRP, U&E; result_by=+4h",
                "what=urine; tests=culture",
            ]),
            Kind::SampleStep => {
                let step = pick(&[
                    "step=sent",
                    "step=arrived",
                    "step=lost; detail=left in the car",
                ]);
                format!("sample={}; {step}", to(Kind::Sample))
            }
            Kind::LabResult => format!(
                "sample={}; {}",
                to(Kind::Sample),
                pick(&[
                    "values=crp 148 (0-5)",
                    "words=haemolysed; quality=haemolysed"
                ])
            ),
            Kind::ResultReview => {
                let decision = pick(&["decision=none-needed", "decision=repeat; repeat_by=+1d"]);
                format!("result={}; {decision}", to(Kind::LabResult))
            }
            Kind::Supply => pick(&[
                "item=antibiotic pack; kind=medicine; needed_by=+6h",
                "item=walking frame; kind=equipment",
            ]),
            Kind::SupplyStep => format!("supply={}; {}", to(Kind::Supply), pick(SUPPLY_STEPS)),
            Kind::Dose => pick(&[
                "medicine=furosemide; outcome=given; next_due=+12h",
                "medicine=furosemide; outcome=missed; next_due=+1h",
                "medicine=paracetamol; outcome=taken",
            ]),
            Kind::BodyLine => pick(&[
                "kind=picc; site=right arm; inserted=20-Oct-2026; next_care=+1d",
                "kind=cannula; site=left hand; inserted=23-Oct-2026",
            ]),
            Kind::LineCare => {
                let step = pick(&[
                    "step=flushed; next_care=+1d",
                    "step=checked; site_score=1",
                    "step=removed",
                ]);
                format!("line={}; {step}", to(Kind::BodyLine))
            }
            Kind::Kit => pick(&[
                "item=wearable; serial=W-17",
                "item=tablet; serial=T-4; working=yes",
            ]),
            Kind::KitStep => {
                let step = pick(&[
                    "step=flat-battery",
                    "step=working",
                    "step=swapped; serial=W-18",
                    "step=returned",
                ]);
                format!("kit={}; {step}", to(Kind::Kit))
            }
            Kind::Consent => pick(&["about=remote monitoring; decision=given; by=patient"]),
            Kind::Allocation => format!("to={}", PEOPLE[form % 4].0),
            Kind::EpisodeChange => pick(&[
                "why=scale prescribed; scale=2; scale_by=Dr Marchbanke",
                "why=moved; slot=T09; phone=01632 960199",
                "why=told us; allergies=penicillin (rash)",
            ]),
            _ => self.ward_fields(kind, act, patient),
        }
    }

    fn ward_fields(&self, kind: Kind, act: Act, patient: Option<usize>) -> String {
        let form = usize::from(act.form);
        let pick = |forms: &[&str]| forms[form % forms.len()].to_owned();
        match kind {
            Kind::Discharge => "to=home; summary=well".to_owned(),
            Kind::Admission => admission(patient.unwrap_or(0)),
            Kind::Shift => pick(&[
                "name=Night; from=+1h; until=+11h; staff=maya;tom",
                "name=Day; from=+12h; until=+24h; staff=maya",
            ]),
            Kind::Handover => "from_shift=Day; to_shift=Night; receiver=tom".to_owned(),
            Kind::HandoverStep => {
                let handover = self.earlier(Kind::Handover, act, None);
                let query = self.earlier(Kind::HandoverStep, act, patient);
                let step = pick(&[
                    "step=given",
                    "step=query; text=who has the key?",
                    "step=answer; text=maya",
                    "step=accepted",
                    "step=declined; text=not yet",
                ]);
                let query = if step.starts_with("step=answer") {
                    format!("; query={query}")
                } else {
                    String::new()
                };
                format!("handover={handover}; {step}{query}")
            }
            Kind::Access => "act=opened; what=timeline".to_owned(),
            Kind::PolicyChanged => pick(&[
                "setting=late_entry_minutes; value=45; reason=trial",
                "setting=silence_hours; value=abc; reason=mistake",
            ]),
            Kind::StaffEnrolled => format!(
                "handle={}; name=Staff; role=nurse",
                PEOPLE[form % PEOPLE.len()].0
            ),
            Kind::StaffChanged => format!(
                "handle={}; {}; reason=asked",
                PEOPLE[form % PEOPLE.len()].0,
                pick(&[
                    "change=suspended",
                    "change=reinstated",
                    "change=role; role=sister",
                    "change=key"
                ])
            ),
            Kind::DamageAccepted => {
                format!("findings={}; what=one entry; reason=known", "ab".repeat(32))
            }
            Kind::WardKey => "reason=made".to_owned(),
            Kind::Checkpoint => "cause=asked".to_owned(),
            Kind::WardOpened => "name=Other; zone=UTC; teaching=no".to_owned(),
            other => panic!("no fields for {other:?}"),
        }
    }
}

const PEOPLE: [(&str, &str); 4] = [
    ("keeper", "keeper"),
    ("maya", "nurse"),
    ("tom", "sister"),
    ("late-joiner", "nurse"),
];
const CONTACTS: &[&str] = &[
    "mode=video; outcome=reached; spoke_to=patient; how=fine; next=+4h",
    "mode=phone; outcome=no-answer; then=try-again; next=+15m",
    "mode=phone; outcome=voicemail; then=next-of-kin",
    "mode=phone; outcome=reached; spoke_to=carer; worry=not himself",
    "mode=visit; outcome=reached; spoke_to=both; next=+12h; next_by=tom",
];
const OBSERVATIONS: &[&str] = &[
    "rr=18; spo2=96; oxygen=air; sbp=148; dbp=92; hr=88; acvpu=A; temp=37.1",
    "rr=22; spo2=91; oxygen=air; sbp=104; hr=112; acvpu=A; temp=38.4",
    "spo2=94; hr=90; worry=looks grey",
    "rr=25; spo2=92; sbp=98; hr=132; acvpu=V; temp=39.2",
    "pain=4; fluid_in=200",
];
const ALERT_STEPS: &[&str] = &[
    "step=seen",
    "step=taken",
    "step=actioned; what=called, settled",
    "step=escalated",
    "step=handed-over; to=tom",
    "step=released",
    "step=closed; outcome=resolved",
];
const ESCALATION_STEPS: &[&str] = &[
    "step=answered; by=Dr Fennimere; plan=bloods; read_back=yes; review_at=+2h",
    "step=no-answer",
    "step=next-called; by=Dr Marchbanke",
    "step=reviewed",
    "step=closed; outcome=settled",
];
const WOUNDS: &[&str] = &[
    "site=left heel; side=left; kind=pressure-ulcer; category=2; length=12; width=8; method=head-to-toe; next_change=+2d",
    "wound=1; site=left heel; side=left; kind=pressure-ulcer; category=2; packing_in=1",
    "wound=2; site=shin; side=right; kind=skin-tear; healed=yes",
    "wound=1; site=left heel; side=left; kind=pressure-ulcer; category=2; packing_out=1; packing_in=2",
];
const TASKS: &[&str] = &[
    "what=repeat pressure; due=+2h; person=tom",
    "what=observations; due=+4h; repeat=every 4h",
    "what=antibiotic; due=tomorrow 09:00; repeat=daily 09:00; priority=high",
    "what=phone the GP; due=+3h; from=+1h; role=nurse",
    "what=ring the pharmacy; due=+30m",
];
const TASK_STEPS: &[&str] = &[
    "step=done",
    "step=not-done; reason=asleep",
    "step=deferred; reason=busy; until=+3h",
    "step=reassigned; to=maya",
    "step=cancelled; reason=not needed",
];
const SUPPLY_STEPS: &[&str] = &[
    "step=prepared",
    "step=courier; holder=van 2",
    "step=wrong-address; dose_missed=18:00 dose",
    "step=returned",
    "step=delivered; identity=two",
    "step=lost; no_longer_needed=yes; detail=went home",
];

/// Invented; the number is from the range that is never given out.
pub fn admission(patient: usize) -> String {
    let (family, given, born) = [
        ("Pell", "Ada", "14-Mar-1955"),
        ("Pell", "Arthur", "02-Jul-1948"),
        ("Brambley", "Odette", "30-Nov-1956"),
    ][patient % 3];
    format!(
        "family={family}; given={given}; title=Mx; born={born}; sex=female; slot=T0{}; \
         local_number=LN-{patient}; area=Sallow Lane; source=gp; reason=pneumonia; \
         allergies=none known; ceiling=full; resuscitation=attempt; scale=1; smoker=no",
        patient + 1
    )
}

pub fn moment(text: &str) -> Timestamp {
    let at = chrono::DateTime::parse_from_rfc3339(text).unwrap();
    Timestamp::from_utc(at.to_utc())
}

pub fn pseudonym(patient: usize) -> Pseudonym {
    Pseudonym([patient as u8 + 1; 16])
}

/// The keys of six people, made from fixed secrets.
pub fn signer(who: usize) -> Arc<SigningSeed> {
    static SIGNERS: OnceLock<Vec<Arc<SigningSeed>>> = OnceLock::new();
    let signers = SIGNERS.get_or_init(|| {
        let seeds = (0..6).map(|who| Zeroizing::new([0x40 + who; 32]));
        seeds
            .map(|seed| Arc::new(SigningSeed::from_bytes(&seed)))
            .collect()
    });
    Arc::clone(&signers[who])
}

pub fn key(who: usize) -> PersonKey {
    static KEYS: OnceLock<Vec<PersonKey>> = OnceLock::new();
    KEYS.get_or_init(|| (0..6).map(|who| signer(who).public()).collect())[who]
}

/// Who has a key.
fn whose(author: &PersonKey) -> usize {
    (0..6).find(|who| key(*who) == *author).unwrap()
}

/// Mostly somebody who may write an entry of a kind, as people were enrolled.
fn entitled(kind: Kind, act: Act) -> usize {
    let who = usize::from(act.who) % 4;
    let may = |who: &usize| {
        let (_, role) = PEOPLE[*who];
        Role::ALL
            .iter()
            .any(|known| known.code() == role && rights::may_write(*known, kind))
    };
    if act.who.is_multiple_of(8) || may(&who) {
        return who;
    }
    [1, 2, 0].into_iter().find(may).unwrap_or(who)
}

/// The entries as a writer would append them.
pub fn to_append(entries: &[Entry]) -> Vec<NewEntry> {
    entries
        .iter()
        .map(|entry| NewEntry {
            id: entry.id,
            recorded_at: entry.recorded_at,
            kind: entry.kind().code(),
            kind_version: entry.kind().version(),
            patient: entry.patient.unwrap_or(Pseudonym::ZERO),
            encoding: codec::ENCODING,
            payload: codec::encode(&entry.envelope, &entry.body).unwrap(),
            signer: signer(whose(&entry.author)),
            seal: None,
        })
        .collect()
}

/// Reads fields typed as `name=value; name=value`.
pub fn body(kind: Kind, fields: &str, now: Timestamp) -> Body {
    let pairs = fields.split("; ").map(|pair| {
        let (name, value) = pair.split_once('=').unwrap();
        (name.trim().to_owned(), value.to_owned())
    });
    let mut draft = Draft::from_pairs(kind, pairs);
    draft.patient = (kind != Kind::Admission
        && kind.subject() != handfast::record::kind::Subject::Ward)
        .then(|| "T01".to_owned());
    match draft.read(&ReadContext { now, zone: ZONE }) {
        Ok(read) => read.body,
        Err(refusals) => panic!("{kind:?} {fields}: {refusals:?}"),
    }
}

fn replace_with(envelope: &Envelope, body: &Body) -> Replacement {
    Replacement {
        kind: body.kind().code(),
        version: body.kind().version(),
        payload: codec::encode(envelope, body).unwrap(),
    }
}

/// The ward after these entries.
pub fn fold(entries: &[Entry], source: &dyn EntrySource) -> Ward {
    let mut ward = Ward::new();
    for entry in entries {
        ward.apply(entry, source);
    }
    ward
}

/// A story of so many acts, the same for the same seed.
pub fn story(seed: u64, acts: usize) -> Story {
    let mut random = Random(seed);
    let acts: Vec<Act> = (0..acts).map(|_| random.act()).collect();
    Story::of(&acts)
}

/// A small generator (SplitMix64), so that a trial can be named by its seed.
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, limit: usize) -> usize {
        (self.next() % limit as u64) as usize
    }

    pub fn act(&mut self) -> Act {
        Act {
            kind: self.next() as u8,
            who: self.next() as u8,
            patient: self.next() as u8,
            refers: self.next() as u16,
            form: self.next() as u8,
            minutes: (self.next() % 20) as u16,
            late: if self.below(4) == 0 {
                self.below(1_500) as u16
            } else {
                0
            },
        }
    }
}

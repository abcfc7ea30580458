//! One patient's entries, or the ward's, in the order things happened; and one entry in full.
//!
//! Nothing is hidden: a corrected entry shows what was written and what it was corrected to,
//! a withdrawn one stays struck with the reason, one that cannot be read says so.

mod parts;
mod words;

use std::collections::BTreeMap;

use serde::Serialize;

use self::parts::{differences, fields, links};
use super::handover::kind_title;
use super::origin::{NameRef, Vantage, Writer};
use crate::record::entry::Entry;
use crate::record::field::ShowContext;
use crate::record::ids::{EntryHash, EntryId, PersonKey, Pseudonym, Seq};
use crate::record::kind::ward::{Amendment, AmendmentCause};
use crate::record::kind::{Body, Kind};
use crate::record::role::Role;
use crate::record::time::{Timestamp, WardZone};
use crate::ward::shifts::HandoverStepHeld;
use crate::ward::staff::Staff;
use crate::ward::{Author, Log, LogLine, Patient, Read, Standing};

/// Name and version of the timeline's JSON form.
pub const TIMELINE_SCHEMA: &str = "handfast.timeline/1";
/// Name and version of one entry's JSON form.
pub const ENTRY_SCHEMA: &str = "handfast.entry/1";

/// What a view is of and as of when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Heading {
    /// The ward's name.
    pub ward: String,
    /// The ward's clock, by IANA name.
    pub zone: WardZone,
    /// Invented patients only.
    pub teaching: bool,
    /// The moment it was drawn for.
    pub as_of: Timestamp,
    /// Newest entry it was drawn from.
    pub journal_seq: Seq,
    /// That entry's hash.
    pub journal_hash: EntryHash,
}

impl Heading {
    /// Of a vantage.
    #[must_use]
    pub fn of(vantage: &Vantage<'_>) -> Heading {
        let ward = vantage.ward;
        let (journal_seq, journal_hash) = ward.head().unwrap_or((Seq::NONE, EntryHash::ZERO));
        Heading {
            ward: ward.name().to_owned(),
            zone: ward.zone(),
            teaching: ward.is_teaching(),
            as_of: vantage.now,
            journal_seq,
            journal_hash,
        }
    }
}

/// Entries in the order things happened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Timeline {
    /// [`TIMELINE_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// Whose; none for the ward's own.
    pub who: Option<NameRef>,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
    /// NHS or local number, and date of birth, for a second identifier on every page.
    pub identifiers: Option<String>,
    /// When the newest stay ended, of somebody who is not on the ward any more.
    pub left_at: Option<Timestamp>,
    /// The entries, but for those of the access record.
    pub entries: Vec<EntryLine>,
    /// Entries of the access record, which are not among them: `handfast access` shows those.
    pub accesses_left_out: usize,
}

impl Timeline {
    /// Keeps what happened or was written on the day of the view's moment, by the ward's clock;
    /// says how many earlier entries that leaves out.
    pub fn keep_today(&mut self) -> usize {
        let dial = self.heading.dial();
        let today = dial.zone.date(dial.now);
        let before = self.entries.len();
        self.entries.retain(|entry| {
            let days = [entry.occurred_at, entry.recorded_at].map(|at| dial.zone.date(at));
            days.contains(&today)
        });
        before - self.entries.len()
    }
}

/// One entry in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EntryLine {
    /// The entry.
    pub seq: Seq,
    /// Kind, by the word people type; `unknown` for one of a newer program.
    pub kind: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// When it happened.
    pub occurred_at: Timestamp,
    /// The time was given as approximate.
    pub approximate: bool,
    /// When it was written.
    pub recorded_at: Timestamp,
    /// Written later than the policy's limit: both times are shown.
    pub late: bool,
    /// Why it was written late.
    pub late_reason: Option<String>,
    /// Who wrote it.
    pub by: Writer,
    /// Written after the last accepted sheet was drawn.
    pub is_new: bool,
    /// Its fields in words, as written.
    pub fields: Vec<FieldLine>,
    /// What the program computes from it, in words.
    pub computed: Option<String>,
    /// Whether it stands.
    pub standing: EntryStanding,
    /// What answered it, if it is a question.
    pub answered_by: Option<Seq>,
    /// Entries it names.
    pub links: Vec<Link>,
    /// Why it cannot be read, if it cannot.
    pub unreadable: Option<String>,
}

/// A field in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FieldLine {
    /// Its name.
    pub name: String,
    /// Its value.
    pub text: String,
}

/// An entry named by another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Link {
    /// The field that names it, or `related`.
    pub name: String,
    /// The entry.
    pub seq: Seq,
}

/// Whether an entry stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub enum EntryStanding {
    /// As written.
    Stands,
    /// Corrected; the original stays readable.
    Corrected {
        /// The amendment.
        by: Seq,
        /// Why, where the amendment could be read.
        cause: Option<AmendmentCause>,
        /// More about why.
        reason: Option<String>,
        /// Fields that differ.
        fields: Vec<CorrectedField>,
        /// When it happened, if that was corrected.
        occurred_at: Option<Timestamp>,
    },
    /// Withdrawn; the original stays readable, struck.
    Withdrawn {
        /// The amendment.
        by: Seq,
        /// Why.
        cause: AmendmentCause,
        /// More about why.
        reason: Option<String>,
        /// The entry in the right record.
        entered_anew: Option<Seq>,
    },
}

/// A field as it was written and as it was corrected.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CorrectedField {
    /// Its name.
    pub name: String,
    /// As written; none if it was left out.
    pub was: Option<String>,
    /// As corrected; none if it was taken out.
    pub is: Option<String>,
}

/// One entry in full.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EntryView {
    /// [`ENTRY_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// Whose record it is in.
    pub who: Option<NameRef>,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
    /// The entry in words.
    pub entry: EntryLine,
    /// Hash of the whole frame; none if it cannot be read.
    pub hash: Option<EntryHash>,
    /// Chosen by the writer.
    pub id: Option<EntryId>,
    /// The key it was signed with.
    pub author_key: PersonKey,
    /// Which patient, by pseudonym.
    pub patient: Option<Pseudonym>,
    /// The stay it belongs to, by the entry that began it.
    pub episode: Option<Seq>,
    /// Unusual values the writer confirmed, by field.
    pub confirmed: Vec<String>,
}

/// The timeline of a patient, or of the ward. `reads` holds the entries the log names, in any
/// order, and may hold others; one that is missing is shown as unreadable. `secrets` shows
/// key-safe codes, which only roles that visit may read.
#[must_use]
pub fn timeline(
    vantage: &Vantage<'_>,
    patient: Option<&Patient>,
    reads: &[Read],
    secrets: bool,
) -> Timeline {
    let log = patient.map_or(vantage.ward.common_log(), |patient| &patient.log);
    let drawing = Drawing::new(vantage, patient, log, reads, secrets);
    // Who looked is a record of its own: here it would bury what happened.
    let (accesses, lines): (Vec<_>, Vec<_>) = log
        .lines()
        .iter()
        .partition(|line| line.kind == Kind::Access.code());
    let mut entries: Vec<EntryLine> = lines.into_iter().map(|line| drawing.line(line)).collect();
    entries.sort_by_key(|entry| (entry.occurred_at, entry.seq));
    Timeline {
        schema: TIMELINE_SCHEMA,
        heading: Heading::of(vantage),
        who: patient.map(NameRef::of),
        similar_names: vantage.similar_names(patient),
        identifiers: patient.and_then(words::identifiers),
        left_at: patient.and_then(Patient::left_at),
        entries,
        accesses_left_out: accesses.len(),
    }
}

/// One entry in full. `reads` holds the amendments of its record, as for a timeline.
#[must_use]
pub fn entry_view(vantage: &Vantage<'_>, read: &Read, reads: &[Read], secrets: bool) -> EntryView {
    let (seq, author_key, patient) = match read {
        Read::Entry(entry) => (entry.seq, entry.author, entry.patient),
        Read::Unreadable(un) => (un.seq, un.author, un.patient),
    };
    let whose = patient.and_then(|patient| vantage.ward.patient(patient));
    let empty = Log::default();
    let log = vantage.ward.log_of(patient).unwrap_or(&empty);
    let mut drawing = Drawing::new(vantage, whose, log, reads, secrets);
    drawing.reads.insert(seq, read);
    let entry = read.entry();
    EntryView {
        schema: ENTRY_SCHEMA,
        heading: Heading::of(vantage),
        who: whose.map(NameRef::of),
        similar_names: vantage.similar_names(whose),
        entry: drawing.of_read(read),
        hash: entry.map(|entry| entry.hash),
        id: entry.map(|entry| entry.id),
        author_key,
        patient,
        episode: entry.and_then(|entry| entry.envelope.episode),
        confirmed: entry
            .map(|entry| entry.envelope.confirmed.clone())
            .unwrap_or_default(),
    }
}

/// What drawing a line needs.
struct Drawing<'a> {
    vantage: Vantage<'a>,
    patient: Option<&'a Patient>,
    log: &'a Log,
    standings: BTreeMap<Seq, Standing>,
    reads: BTreeMap<Seq, &'a Read>,
    cx: ShowContext,
}

impl<'a> Drawing<'a> {
    fn new(
        vantage: &Vantage<'a>,
        patient: Option<&'a Patient>,
        log: &'a Log,
        reads: &'a [Read],
        secrets: bool,
    ) -> Drawing<'a> {
        let seq = |read: &Read| match read {
            Read::Entry(entry) => entry.seq,
            Read::Unreadable(un) => un.seq,
        };
        Drawing {
            vantage: vantage.of(patient.map(|patient| patient.pseudonym)),
            patient,
            log,
            standings: log.standings(),
            reads: reads.iter().map(|read| (seq(read), read)).collect(),
            cx: ShowContext {
                zone: vantage.zone(),
                secrets,
            },
        }
    }

    fn line(&self, line: &LogLine) -> EntryLine {
        match self.reads.get(&line.seq) {
            Some(read) => self.of_read(read),
            None => self.unreadable(line, "it could not be read from the journal"),
        }
    }

    fn of_read(&self, read: &Read) -> EntryLine {
        match read {
            Read::Entry(entry) => self.readable(entry),
            Read::Unreadable(un) => {
                let ward = self.vantage.ward;
                let author = ward.staff_by_key(&un.author);
                let line = LogLine {
                    seq: un.seq,
                    kind: un.kind,
                    occurred_at: un.recorded_at,
                    recorded_at: un.recorded_at,
                    author: match author {
                        _ if ward.doubt(un.seq).is_some() => self.author_in_log(un.seq, un.author),
                        Some(staff) => Author::Staff(staff.handle.clone(), staff.role),
                        None => Author::Unknown(un.author),
                    },
                    readable: false,
                    limited: true,
                };
                self.unreadable(&line, &un.why)
            }
        }
    }

    /// Who wrote an entry that is in doubt.
    fn author_in_log(&self, seq: Seq, key: PersonKey) -> Author {
        match self.vantage.ward.doubt(seq).map(|one| one.author()) {
            Some(author) => author,
            None => Author::Unknown(key),
        }
    }

    fn unreadable(&self, line: &LogLine, why: &str) -> EntryLine {
        EntryLine {
            seq: line.seq,
            kind: Kind::from_code(line.kind).map_or("unknown", Kind::name),
            title: kind_title(line.kind),
            occurred_at: line.occurred_at,
            approximate: false,
            recorded_at: line.recorded_at,
            late: false,
            late_reason: None,
            by: Writer::of_author(self.vantage.ward, &line.author),
            is_new: self.vantage.is_new(line.seq),
            fields: Vec::new(),
            computed: None,
            standing: self.standing(line.seq, None),
            answered_by: None,
            links: Vec::new(),
            unreadable: Some(why.to_owned()),
        }
    }

    fn readable(&self, entry: &Entry) -> EntryLine {
        let ward = self.vantage.ward;
        let by = match ward.staff_by_key(&entry.author) {
            _ if ward.doubt(entry.seq).is_some() => {
                Writer::of_author(ward, &self.author_in_log(entry.seq, entry.author))
            }
            Some(staff) => Writer {
                role: Some(role_at(staff, entry)),
                ..Writer::of_handle(ward, &staff.handle)
            },
            None => Writer::of_author(ward, &Author::Unknown(entry.author)),
        };
        EntryLine {
            seq: entry.seq,
            kind: entry.kind().name(),
            title: entry.kind().title(),
            occurred_at: entry.occurred_at(),
            approximate: entry.envelope.approximate,
            recorded_at: entry.recorded_at,
            late: self.vantage.is_late(entry.delay()),
            late_reason: entry.envelope.late_reason.clone(),
            by,
            is_new: self.vantage.is_new(entry.seq),
            fields: fields(&entry.body, &self.cx),
            computed: self.computed(entry),
            standing: self.standing(entry.seq, Some(entry)),
            answered_by: self.answered_by(entry),
            links: links(entry),
            unreadable: None,
        }
    }

    /// The score of a set, as it counts now.
    fn computed(&self, entry: &Entry) -> Option<String> {
        let patient = self.patient?;
        let mut sets = patient.sets.iter().chain(&patient.unproved_sets);
        let set = sets.find(|set| set.stamp.seq == entry.seq)?;
        let news2 = set.news2()?;
        let single = if news2.single_3 { ", single 3" } else { "" };
        Some(match news2.score {
            Some(score) => format!("NEWS2 {} {}{single}", score.total, score.band.code()),
            None => {
                let missing: Vec<&str> = news2.missing.iter().map(|m| m.label()).collect();
                let floor = news2.at_least_in_words();
                let floor = floor.map_or(String::new(), |floor| format!(", {floor}"));
                format!(
                    "NEWS2 no total{floor}{single}: missing {}",
                    missing.join(", ")
                )
            }
        })
    }

    /// The entry that answers a question or a handover query, the newest if several do.
    fn answered_by(&self, entry: &Entry) -> Option<Seq> {
        let ward = self.vantage.ward;
        match &entry.body {
            Body::Note(_) => {
                let ledgers = ward.ledgers_of(entry.patient)?;
                ledgers.question(entry.seq)?;
                ledgers.answer_to(entry.seq).map(|held| held.seq())
            }
            Body::HandoverStep(step) => {
                let steps = &ward.handovers().get(&step.handover)?.steps;
                let answers = |step: &&HandoverStepHeld| step.held.body.query == Some(entry.seq);
                steps.iter().rfind(answers).map(|step| step.held.seq())
            }
            _ => None,
        }
    }

    fn amendment(&self, seq: Seq) -> Option<&Amendment> {
        match &self.reads.get(&seq)?.entry()?.body {
            Body::Amendment(amendment) => Some(amendment),
            _ => None,
        }
    }

    fn standing(&self, seq: Seq, entry: Option<&Entry>) -> EntryStanding {
        let reason = |by: Seq| {
            let amendment = self.amendment(by)?;
            amendment.reason.as_ref().map(|reason| reason.0.clone())
        };
        match self.standings.get(&seq) {
            None | Some(Standing::Stands) => EntryStanding::Stands,
            Some(Standing::Withdrawn {
                by,
                cause,
                entered_anew,
            }) => EntryStanding::Withdrawn {
                by: *by,
                cause: *cause,
                reason: reason(*by),
                entered_anew: *entered_anew,
            },
            Some(Standing::Corrected { by }) => {
                let now = entry.and_then(|entry| self.log.as_corrected(entry));
                let pair = entry.zip(now.as_ref());
                EntryStanding::Corrected {
                    by: *by,
                    cause: self.amendment(*by).map(|amendment| amendment.cause),
                    reason: reason(*by),
                    fields: pair
                        .map(|(was, is)| differences(&was.body, &is.body, &self.cx))
                        .unwrap_or_default(),
                    occurred_at: pair
                        .filter(|(was, is)| was.occurred_at() != is.occurred_at())
                        .map(|(_, is)| is.occurred_at()),
                }
            }
        }
    }
}

/// The role somebody had when they wrote an entry; before they had one, what the entry says.
fn role_at(staff: &Staff, entry: &Entry) -> Role {
    let standing = staff.standing_at(entry.seq);
    standing.map_or(entry.envelope.role, |held| held.role)
}

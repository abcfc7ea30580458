//! The access record: who looked at whose record, when, how and why; for governance, for a member of staff
//! themselves, and in words for the patient.

use std::collections::BTreeMap;

use serde::Serialize;

use super::origin::{NameRef, Vantage, Writer};
use super::page::{Block, Dial, Line, Page, Table};
use super::render::csv;
use super::timeline::Heading;
use super::words;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::Kind;
use crate::record::kind::ward::AccessAct;
use crate::record::person::Handle;
use crate::record::time::Timestamp;
use crate::ward::{AccessHeld, Ward};

/// Name and version of the access record's JSON form.
pub const ACCESS_SCHEMA: &str = "handfast.access/1";

/// What the record cannot tell, said below every one.
pub const LIMITS: &str = "Made by the program when somebody opens, prints or exports a record with it; the same again within four hours is one line. It does not tell who was told by word of mouth, who read over a shoulder or saw a printed page, or who opened a copy of the folder elsewhere with a key of their own. Wrong PINs are written down at the next right one.";

/// Where no access record is kept.
pub const NOT_KEPT: &str = "No access record is kept here: the records lie in clear, and whoever can read the folder reads them without signing in.";

/// Whose accesses are asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AccessOf {
    /// Everything.
    Ward,
    /// One patient's record.
    Patient(Pseudonym),
    /// What one member of staff did.
    Staff(Handle),
}

/// The access record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AccessRecord {
    /// [`ACCESS_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// Whether one is kept: in a journal whose records are sealed.
    pub kept: bool,
    /// Whose record; none unless one patient was asked for.
    pub patient: Option<Whose>,
    /// Who; none unless one member of staff was asked for.
    pub staff: Option<Writer>,
    /// What was done, oldest first.
    pub accesses: Vec<AccessLine>,
    /// Who wrote how many entries in this record; empty unless one patient was asked for.
    pub wrote: Vec<WroteLine>,
}

/// A patient, as far as the reader may know them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Whose {
    /// The pseudonym, which headers show in clear.
    pub pseudonym: Pseudonym,
    /// The name; none where the records are sealed for the reader.
    pub name: Option<NameRef>,
}

/// One access.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AccessLine {
    /// The entry.
    pub seq: Seq,
    /// When it was recorded.
    pub at: Timestamp,
    /// Who.
    pub by: Writer,
    /// What they did.
    pub act: AccessAct,
    /// With what.
    pub what: String,
    /// Why, if they said so.
    pub reason: Option<String>,
    /// Whose record; none for lists of the whole ward and for what is nobody's.
    pub patient: Option<Whose>,
    /// It is proven who wrote it.
    pub proved: bool,
}

/// Who wrote in a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WroteLine {
    /// Who.
    pub by: Writer,
    /// How many entries.
    pub entries: usize,
    /// The first.
    pub first: Timestamp,
    /// The newest.
    pub newest: Timestamp,
}

impl Whose {
    fn of(ward: &Ward, pseudonym: Pseudonym) -> Whose {
        let patient = ward.patient(pseudonym);
        let named = patient.filter(|patient| patient.details.is_some());
        Whose {
            pseudonym,
            name: named.map(NameRef::of),
        }
    }
}

impl std::fmt::Display for Whose {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.name {
            Some(name) => name.fmt(f),
            None => write!(f, "record {}", self.pseudonym),
        }
    }
}

/// The access record of somebody, or of the ward. Of a patient it holds what showed the whole ward while
/// they were on it, too.
#[must_use]
pub fn access_record(vantage: &Vantage<'_>, of: &AccessOf) -> AccessRecord {
    let ward = vantage.ward;
    let wanted = |access: &&AccessHeld| match of {
        AccessOf::Ward => true,
        AccessOf::Staff(handle) => access.held.stamp.author.is(handle),
        AccessOf::Patient(patient) => match access.patient {
            Some(whose) => whose == *patient,
            None => access.held.body.act.reads() && was_there(ward, *patient, access),
        },
    };
    let accesses = ward.accesses().iter().filter(wanted);
    AccessRecord {
        schema: ACCESS_SCHEMA,
        heading: Heading::of(vantage),
        kept: ward.is_sealed(),
        patient: match of {
            AccessOf::Patient(patient) => Some(Whose::of(ward, *patient)),
            _ => None,
        },
        staff: match of {
            AccessOf::Staff(handle) => Some(Writer::of_handle(ward, handle)),
            _ => None,
        },
        accesses: accesses
            .map(|access| AccessLine::of(ward, access))
            .collect(),
        wrote: match of {
            AccessOf::Patient(patient) => wrote(ward, *patient),
            _ => Vec::new(),
        },
    }
}

/// Whether something was recorded of this patient by then, and they had not left yet.
fn was_there(ward: &Ward, patient: Pseudonym, access: &AccessHeld) -> bool {
    let at = access.held.stamp.recorded_at;
    let log = ward.log_of(Some(patient));
    let came = log.and_then(|log| log.lines().first().map(|line| line.recorded_at));
    let left = ward.patient(patient).and_then(|patient| patient.left_at());
    came.is_some_and(|came| came <= at) && left.is_none_or(|left| at <= left)
}

fn wrote(ward: &Ward, patient: Pseudonym) -> Vec<WroteLine> {
    let lines = ward.log_of(Some(patient)).map(|log| log.lines());
    let written = lines
        .into_iter()
        .flatten()
        .filter(|line| line.kind != Kind::Access.code());
    let mut by: BTreeMap<String, WroteLine> = BTreeMap::new();
    for line in written {
        let writer = Writer::of_author(ward, &line.author);
        let one = by.entry(line.author.to_string()).or_insert(WroteLine {
            by: writer,
            entries: 0,
            first: line.recorded_at,
            newest: line.recorded_at,
        });
        one.entries += 1;
        one.newest = line.recorded_at;
    }
    by.into_values().collect()
}

impl AccessLine {
    fn of(ward: &Ward, access: &AccessHeld) -> AccessLine {
        let (stamp, body) = (&access.held.stamp, &access.held.body);
        AccessLine {
            seq: stamp.seq,
            at: stamp.recorded_at,
            by: Writer::of_author(ward, &stamp.author),
            act: body.act,
            what: body.what.to_string(),
            reason: body.reason.as_ref().map(ToString::to_string),
            patient: access.patient.map(|whose| Whose::of(ward, whose)),
            proved: !stamp.limited,
        }
    }

    /// `opened: timeline`.
    fn done(&self) -> Line {
        let done = format!("{}: {}", self.act.label(), self.what);
        let line = match self.act {
            AccessAct::Refused | AccessAct::UnlockFailed => Line::new().warn(done),
            _ => Line::of(done),
        };
        if self.proved {
            line
        } else {
            line.alarm("not proved")
        }
    }

    fn why(&self) -> Line {
        match &self.reason {
            Some(reason) => Line::of(format!("\"{reason}\"")),
            None if self.act.reads() => Line::new().quiet("no reason given"),
            None => Line::new(),
        }
    }

    fn whose(&self) -> String {
        match &self.patient {
            Some(whose) => whose.to_string(),
            None if self.act.reads() => "the whole ward".to_owned(),
            None => String::new(),
        }
    }
}

impl AccessRecord {
    fn title(&self) -> String {
        match (&self.patient, &self.staff) {
            (Some(whose), _) => format!("Access record of {whose}"),
            (_, Some(who)) => format!("Access record: what {who} opened"),
            _ => "Access record of the ward".to_owned(),
        }
    }

    /// For those who review it.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = self.heading.page(self.title());
        let dial = self.heading.dial();
        page.blocks.extend(self.not_kept());
        if self.accesses.is_empty() {
            page.blocks
                .push(Block::Lines(vec![Line::of("Nothing was recorded.")]));
        } else {
            let whose = self.patient.is_none();
            let lines = self.accesses.iter().map(|line| line.line(dial, whose));
            page.blocks.push(Block::Lines(lines.collect()));
        }
        page.blocks.extend(self.wrote_block(dial));
        page.foot = vec![LIMITS.to_owned()];
        page
    }

    /// For the patient: names and plain words, without numbers of entries. What was refused is told too:
    /// somebody tried.
    #[must_use]
    pub fn page_for_patient(&self) -> Page {
        let mut page = self
            .heading
            .page("Who has looked at your record".to_owned());
        let dial = self.heading.dial();
        if let Some(whose) = &self.patient {
            page.head.push(Line::of(whose.to_string()));
        }
        page.blocks.extend(self.not_kept());
        let (own, ward): (Vec<_>, Vec<_>) = self
            .accesses
            .iter()
            .partition(|line| line.patient.is_some());
        if own.is_empty() {
            let said = "Nobody's looking at your record alone was recorded.";
            page.blocks.push(Block::Lines(vec![Line::of(said)]));
        } else {
            page.blocks.push(Block::Table(Table {
                head: vec!["When", "Who", "What they did", "Why, as they said"],
                rows: own.iter().map(|line| line.row_for_patient(dial)).collect(),
            }));
        }
        page.blocks.extend(Self::whole_ward(&ward));
        page.blocks.extend(self.wrote_block(dial));
        page.foot = vec![
            LIMITS.to_owned(),
            "If you do not know why somebody looked at your record, ask the ward; you need give no reason.".to_owned(),
        ];
        page
    }

    /// Lists of everybody on the ward, a line a member of staff.
    fn whole_ward(lines: &[&AccessLine]) -> Option<Block> {
        let mut by: BTreeMap<String, usize> = BTreeMap::new();
        for line in lines {
            *by.entry(line.by.to_string()).or_default() += 1;
        }
        if by.is_empty() {
            return None;
        }
        let said = by.into_iter().map(|(who, times)| {
            Line::of(format!("{who}, {}", words::count(times, "time", "times")))
        });
        let mut shown = vec![Line::new().strong(
            "While you were on the ward these people saw lists of everybody on it, you among them:",
        )];
        shown.extend(said);
        Some(Block::Lines(shown))
    }

    fn not_kept(&self) -> Option<Block> {
        let lines = vec![Line::new().alarm(NOT_KEPT)];
        (!self.kept).then_some(Block::Lines(lines))
    }

    fn wrote_block(&self, dial: Dial) -> Vec<Block> {
        if self.wrote.is_empty() {
            return Vec::new();
        }
        let lines = self.wrote.iter().map(|line| {
            let entries = words::count(line.entries, "entry", "entries");
            Line::of(format!("{}: {entries}", line.by)).quiet(format!(
                "{} to {}",
                dial.zone.day_date_time(line.first),
                dial.zone.day_date_time(line.newest)
            ))
        });
        vec![
            Block::Heading("Wrote in the record".to_owned()),
            Block::Lines(lines.collect()),
        ]
    }

    /// The record for a spreadsheet.
    #[must_use]
    pub fn csv(&self) -> String {
        const HEAD: &[&str] = &[
            "entry", "at", "handle", "name", "act", "what", "reason", "record", "patient", "proved",
        ];
        csv::table(
            HEAD,
            self.accesses.iter().map(|line| {
                let whose = line.patient.as_ref();
                vec![
                    line.seq.0.to_string(),
                    csv::moment(Some(line.at)),
                    line.by
                        .handle
                        .as_ref()
                        .map(ToString::to_string)
                        .unwrap_or_default(),
                    line.by.to_string(),
                    line.act.code().to_owned(),
                    line.what.clone(),
                    line.reason.clone().unwrap_or_default(),
                    whose
                        .map(|whose| whose.pseudonym.to_string())
                        .unwrap_or_default(),
                    whose
                        .and_then(|whose| whose.name.as_ref().map(ToString::to_string))
                        .unwrap_or_default(),
                    line.proved.to_string(),
                ]
            }),
        )
    }
}

impl AccessLine {
    /// A line, with whose record it was unless the page is of one.
    fn line(&self, dial: Dial, with_whose: bool) -> Line {
        let line = Line::new()
            .plain(dial.zone.day_date_time(self.at))
            .quiet(self.seq.to_string())
            .strong(self.by.to_string())
            .then(self.done());
        let line = if with_whose {
            line.plain(self.whose())
        } else {
            line
        };
        line.then(self.why())
    }

    fn row_for_patient(&self, dial: Dial) -> Vec<Line> {
        let done = match self.act {
            AccessAct::Opened => format!("read it on a screen ({})", self.what),
            AccessAct::Printed => format!("made a page of it to print ({})", self.what),
            AccessAct::Exported => format!("took a copy out as a file ({})", self.what),
            AccessAct::Refused => format!("tried to write in it and was refused ({})", self.what),
            AccessAct::UnlockFailed => "tried to sign in".to_owned(),
        };
        let by = match self.by.role {
            Some(role) => format!("{}, {}", self.by.name, role.label().to_lowercase()),
            None => self.by.name.clone(),
        };
        vec![
            Line::of(dial.zone.day_date_time(self.at)),
            Line::of(by),
            Line::of(done),
            self.why(),
        ]
    }
}

//! Who is on the ward and how each one is, a line a patient.

use serde::Serialize;

use crate::record::kind::episode::{Ceiling, Resuscitation};
use crate::record::person::Allergies;
use crate::record::time::Timestamp;
use crate::view::handover::{KeysLine, PatientBlock, SheetRequest, Unseen, no_total, sheet};
use crate::view::origin::{NameRef, Vantage, Writer};
use crate::view::page::{Block, Dial, Line, Page, Table, Tone};
use crate::view::render::csv;
use crate::view::timeline::Heading;
use crate::view::words;

/// Name and version of the caseload's JSON form.
pub const CASELOAD_SCHEMA: &str = "handfast.caseload/1";

/// Who is on the ward.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Caseload {
    /// [`CASELOAD_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// Patients by slot and then by name.
    pub patients: Vec<CaseloadRow>,
    /// Records destroyed and recovery keys made anew in the last four weeks.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub keys: Vec<KeysLine>,
}

/// One patient.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CaseloadRow {
    /// Who.
    pub who: NameRef,
    /// NHS number, 3-3-4.
    pub nhs: Option<String>,
    /// Local number.
    pub local_number: Option<String>,
    /// Whole years.
    pub age_years: Option<u32>,
    /// Day of stay, from 1.
    pub day_of_stay: Option<i64>,
    /// Why the patient is on the ward.
    pub reason: Option<String>,
    /// Allergies.
    pub allergies: Allergies,
    /// How far care is to go.
    pub ceiling: Option<Ceiling>,
    /// Whether CPR is to be attempted.
    pub resuscitation: Option<Resuscitation>,
    /// Total of the newest set, if it is complete.
    pub news2: Option<u8>,
    /// Its band.
    pub band: Option<&'static str>,
    /// What the known parts of an incomplete set come to: a lower bound, never a total.
    pub at_least: Option<u8>,
    /// A part of it scores 3.
    pub single_3: bool,
    /// Points more than the set before it.
    pub rise: Option<i16>,
    /// When the newest set was taken; `None` if there is none in this stay.
    pub read_at: Option<Timestamp>,
    /// Total of the newest complete set, if the newest set is not complete.
    pub last_total: Option<u8>,
    /// When that was taken.
    pub last_total_at: Option<Timestamp>,
    /// No reading for longer than the policy allows.
    pub silent: bool,
    /// Open escalations.
    pub escalations: usize,
    /// Open alerts.
    pub alerts: usize,
    /// Results nobody has looked at.
    pub results_unseen: usize,
    /// How many of them are critical.
    pub critical_unseen: usize,
    /// When the oldest of them was reported.
    pub oldest_unseen_at: Option<Timestamp>,
    /// Attempts that reached nobody, if the newest ones did not.
    pub unreached_attempts: usize,
    /// Things that should have been done.
    pub overdue: usize,
    /// When the next thing is due.
    pub next_due: Option<Timestamp>,
    /// Who looks after the patient.
    pub allocated_to: Option<Writer>,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
}

/// Who is on the ward, as the sheet would show them.
#[must_use]
pub fn caseload(vantage: &Vantage<'_>) -> Caseload {
    let request = SheetRequest {
        since: vantage.since.map(|seq| (seq, vantage.now)),
        ..SheetRequest::new(vantage.ward, "", "", None)
    };
    let sheet = sheet(vantage.ward, vantage.now, &request);
    let mut patients: Vec<CaseloadRow> = sheet.patients.iter().map(row).collect();
    patients.sort_by(|a, b| key(&a.who).cmp(&key(&b.who)));
    Caseload {
        schema: CASELOAD_SCHEMA,
        heading: Heading::of(vantage),
        patients,
        keys: sheet.keys,
    }
}

fn key(who: &NameRef) -> (bool, Option<String>, &str) {
    let slot = who.slot.as_ref().map(|slot| slot.to_lowercase());
    (slot.is_none(), slot, &who.name)
}

fn row(block: &PatientBlock) -> CaseloadRow {
    let (who, now) = (&block.identity, &block.situation);
    let score = now.score.as_ref();
    let due = &block.recommendation.due;
    let unseen = Unseen::of(&block.assessment.results);
    CaseloadRow {
        who: NameRef {
            patient: who.patient,
            name: who.name.clone(),
            slot: who.slot.clone(),
        },
        nhs: who.nhs.clone(),
        local_number: who.local_number.clone(),
        age_years: who.age_years,
        day_of_stay: who.day_of_stay,
        reason: block.background.reason.clone(),
        allergies: who.allergies.clone(),
        ceiling: who.ceiling,
        resuscitation: who.resuscitation,
        news2: score.and_then(|score| score.total),
        band: score.and_then(|score| score.band),
        at_least: score.and_then(|score| score.at_least),
        single_3: score.is_some_and(|score| score.single_3),
        rise: score.and_then(|score| score.since_last.as_ref().map(|change| change.points)),
        read_at: score.map(|score| score.origin.occurred_at),
        last_total: score.and_then(|score| score.last_total.as_ref().map(|last| last.total)),
        last_total_at: score.and_then(|score| score.last_total.as_ref().map(|last| last.at)),
        silent: now.silence.is_some(),
        escalations: now.escalations.len(),
        alerts: now.alerts.len(),
        results_unseen: unseen.map_or(0, |unseen| unseen.count),
        critical_unseen: unseen.map_or(0, |unseen| unseen.critical),
        oldest_unseen_at: unseen.map(|unseen| unseen.oldest_at),
        unreached_attempts: now.unreached.as_ref().map_or(0, |tries| tries.attempts),
        overdue: due.iter().filter(|due| due.overdue).count(),
        next_due: due.iter().find(|due| !due.overdue).map(|due| due.due),
        allocated_to: block.recommendation.allocated_to.clone(),
        similar_names: who.similar_names.clone(),
    }
}

impl Caseload {
    /// The list in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let count = words::count(self.patients.len(), "patient", "patients");
        let mut page = self.heading.page(format!("Caseload, {count}"));
        let dial = self.heading.dial();
        page.blocks.push(Block::Table(Table {
            head: vec![
                "Patient", "Day", "NEWS2", "Readings", "Open", "Next due", "With",
            ],
            rows: self.patients.iter().map(|row| row.cells(dial)).collect(),
        }));
        let whose = self.patients.iter();
        let similar =
            words::similar_under_list(whose.map(|row| (Some(&row.who), &*row.similar_names)));
        // Under the table: in a cell its age would take the room of a column of names.
        let complete = self.patients.iter().filter_map(|row| {
            let (total, at) = (row.last_total?, row.last_total_at?);
            Some(Line::new().warn("LAST COMPLETE TOTAL").plain(format!(
                "{}: {total}, {}",
                row.who,
                dial.at_ago(at)
            )))
        });
        let keys = self.keys.iter().map(|line| line.line(dial));
        page.blocks
            .push(Block::Lines(complete.chain(similar).chain(keys).collect()));
        page.foot = vec![format!(
            "{}. {}",
            crate::clinical::news2::SOURCE,
            crate::clinical::news2::CAUTION
        )];
        page
    }

    /// The list for a spreadsheet.
    #[must_use]
    pub fn csv(&self) -> String {
        const HEAD: &[&str] = &[
            "slot",
            "name",
            "nhs",
            "local_number",
            "age_years",
            "day_of_stay",
            "reason",
            "news2",
            "band",
            "single_3",
            "read_at",
            "silent",
            "escalations",
            "alerts",
            "results_unseen",
            "critical_unseen",
            "oldest_unseen_at",
            "unreached_attempts",
            "overdue",
            "next_due",
            "allocated_to",
            "last_total",
            "last_total_at",
            "at_least",
            "similar_names",
        ];
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        csv::table(
            HEAD,
            self.patients.iter().map(|row| {
                vec![
                    text(&row.who.slot),
                    row.who.name.clone(),
                    text(&row.nhs),
                    text(&row.local_number),
                    csv::number(row.age_years),
                    csv::number(row.day_of_stay),
                    text(&row.reason),
                    csv::number(row.news2),
                    row.band.unwrap_or_default().to_owned(),
                    row.single_3.to_string(),
                    csv::moment(row.read_at),
                    row.silent.to_string(),
                    row.escalations.to_string(),
                    row.alerts.to_string(),
                    row.results_unseen.to_string(),
                    row.critical_unseen.to_string(),
                    csv::moment(row.oldest_unseen_at),
                    row.unreached_attempts.to_string(),
                    row.overdue.to_string(),
                    csv::moment(row.next_due),
                    row.allocated_to
                        .as_ref()
                        .map(ToString::to_string)
                        .unwrap_or_default(),
                    csv::number(row.last_total),
                    csv::moment(row.last_total_at),
                    csv::number(row.at_least),
                    words::names(&row.similar_names),
                ]
            }),
        )
    }
}

impl CaseloadRow {
    fn unseen(&self) -> Option<Unseen> {
        Some(Unseen {
            count: self.results_unseen,
            critical: self.critical_unseen,
            oldest_at: self.oldest_unseen_at?,
        })
    }

    fn cells(&self, dial: Dial) -> Vec<Line> {
        let age = self.age_years.map(|age| format!("({age}y)"));
        let score = match (self.news2, self.read_at) {
            (Some(total), _) if total >= 5 => Line::new().alarm(total.to_string()),
            (Some(total), _) => Line::new().strong(total.to_string()),
            (None, Some(_)) => no_total(self.at_least),
            (None, None) => Line::new().warn("none"),
        };
        let score = score.plain(
            self.rise
                .filter(|r| *r != 0)
                .map(words::points)
                .unwrap_or_default(),
        );
        let read = match (self.read_at, self.silent) {
            (None, _) => Line::new().warn("silent, none yet"),
            (Some(at), true) => Line::new().warn(format!("silent {}", dial.now.since(at).spoken())),
            (Some(at), false) => Line::of(dial.ago(at)),
        };
        let many = |many: usize, one: &str, more: &str| match many {
            0 => String::new(),
            many => words::count(many, one, more),
        };
        vec![
            Line::new()
                .strong(self.who.slot.clone().unwrap_or_default())
                .plain(&self.who.name)
                .quiet(age.unwrap_or_default())
                .then(words::similar_mark(&self.similar_names)),
            Line::of(
                self.day_of_stay
                    .map(|day| day.to_string())
                    .unwrap_or_default(),
            ),
            if self.single_3 {
                score.alarm("single 3")
            } else {
                score
            },
            read,
            Line::new().listed([
                (
                    Tone::Alarm,
                    many(self.escalations, "escalation", "escalations"),
                ),
                (Tone::Alarm, many(self.alerts, "alert", "alerts")),
                words::unseen(self.unseen(), dial),
                (
                    Tone::Warn,
                    many(
                        self.unreached_attempts,
                        "call unanswered",
                        "calls unanswered",
                    ),
                ),
                (Tone::Warn, many(self.overdue, "overdue", "overdue")),
            ]),
            Line::of(self.next_due.map(|at| dial.at(at)).unwrap_or_default()),
            Line::of(self.allocated_to.as_ref().map_or_else(
                || "nobody".to_owned(),
                |who| {
                    who.handle
                        .as_ref()
                        .map_or_else(|| who.name.clone(), ToString::to_string)
                },
            )),
        ]
    }
}

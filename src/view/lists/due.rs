//! What is due, of everybody, earliest first.

use serde::Serialize;

use crate::record::ids::Pseudonym;
use crate::record::kind::task::Priority;
use crate::record::person::Handle;
use crate::record::time::Timestamp;
use crate::view::handover::{DueLine, due_line};
use crate::view::origin::{NameRef, Vantage};
use crate::view::page::{Block, Line, Page, Table};
use crate::view::render::csv;
use crate::view::timeline::Heading;
use crate::view::words;

/// Name and version of the list's JSON form.
pub const DUE_SCHEMA: &str = "handfast.due/1";

/// Which part of the list is wanted; the default is all of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DueFilter {
    /// Of one patient only.
    pub patient: Option<Pseudonym>,
    /// Of one person only.
    pub owner: Option<Handle>,
    /// Due at or before a moment.
    pub until: Option<Timestamp>,
    /// Tasks only, not what else is due.
    pub tasks_only: bool,
}

/// What is due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DueList {
    /// [`DUE_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// How many should have been done.
    pub overdue: usize,
    /// Everything due, earliest first.
    pub items: Vec<DueRow>,
}

/// Something due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DueRow {
    /// For whom; none for the ward.
    pub who: Option<NameRef>,
    /// What and when.
    #[serde(flatten)]
    pub due: DueLine,
}

/// What is due, as filtered.
#[must_use]
pub fn due_list(vantage: &Vantage<'_>, filter: &DueFilter) -> DueList {
    let items: Vec<DueRow> = vantage
        .ward
        .due_items()
        .iter()
        .filter(|item| {
            filter
                .patient
                .is_none_or(|patient| item.patient == Some(patient))
        })
        .filter(|item| filter.owner.is_none() || item.owner == filter.owner)
        .filter(|item| filter.until.is_none_or(|until| item.due <= until))
        .filter(|item| !filter.tasks_only || item.sort == crate::ward::due::DueSort::Task)
        .map(|item| {
            let patient = item
                .patient
                .and_then(|patient| vantage.ward.patient(patient));
            let ledgers = patient.map_or(vantage.ward.common(), |patient| &patient.ledgers);
            DueRow {
                who: patient.map(NameRef::of),
                due: due_line(&vantage.of(item.patient), item, ledgers),
            }
        })
        .collect();
    DueList {
        schema: DUE_SCHEMA,
        heading: Heading::of(vantage),
        overdue: items.iter().filter(|row| row.due.overdue).count(),
        items,
    }
}

impl DueList {
    /// The list in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let dial = self.heading.dial();
        let title = format!("Due: {}, {} overdue", self.items.len(), self.overdue);
        let mut page = self.heading.page(title);
        let rows = self.items.iter().map(|row| {
            let due = &row.due;
            let when = if due.overdue {
                let late = dial.now.since(due.due).spoken();
                Line::new()
                    .strong(dial.at(due.due))
                    .warn(format!("OVERDUE {late}"))
            } else {
                Line::new().strong(dial.at(due.due))
            };
            let what = words::new_mark(due.is_new);
            let what = match due.priority {
                Priority::High => what.alarm("high priority"),
                Priority::Normal | Priority::Low => what,
            };
            let detail: Vec<String> = due.detail.iter().map(|d| format!("({d})")).collect();
            vec![
                when,
                Line::of(
                    row.who
                        .as_ref()
                        .map_or_else(|| "ward".to_owned(), ToString::to_string),
                ),
                what.plain(&due.what).quiet(detail.join(" ")),
                Line::of(words::whose(due.owner.as_ref(), due.role)),
                Line::new().quiet(due.seq.to_string()),
            ]
        });
        page.blocks.push(Block::Table(Table {
            head: vec!["Due", "Patient", "What", "Whose", "Entry"],
            rows: rows.collect(),
        }));
        page
    }

    /// The list for a spreadsheet.
    #[must_use]
    pub fn csv(&self) -> String {
        let head = [
            "due", "from", "overdue", "slot", "patient", "sort", "what", "owner", "role",
            "priority", "entry",
        ];
        csv::table(
            &head,
            self.items.iter().map(|row| {
                let (who, due) = (row.who.as_ref(), &row.due);
                vec![
                    csv::moment(Some(due.due)),
                    csv::moment(due.from),
                    due.overdue.to_string(),
                    who.and_then(|who| who.slot.clone()).unwrap_or_default(),
                    who.map(|who| who.name.clone()).unwrap_or_default(),
                    due.sort.to_owned(),
                    due.what.clone(),
                    due.owner
                        .as_ref()
                        .map(ToString::to_string)
                        .unwrap_or_default(),
                    due.role
                        .map(|role| role.code())
                        .unwrap_or_default()
                        .to_owned(),
                    due.priority.code().to_owned(),
                    due.seq.0.to_string(),
                ]
            }),
        )
    }
}

//! What is due, of everybody, earliest first.

use serde::Serialize;

use crate::record::ids::Pseudonym;
use crate::record::kind::task::Priority;
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::Timestamp;
use crate::view::handover::{DueLine, due_line};
use crate::view::origin::{NameRef, Vantage};
use crate::view::page::{Block, Line, Page, Table};
use crate::view::render::csv;
use crate::view::timeline::Heading;
use crate::view::words;
use crate::ward::Ward;
use crate::ward::due::{DueItem, DueSort};

/// Name and version of the list's JSON form.
pub const DUE_SCHEMA: &str = "handfast.due/1";

/// Which part of the list is wanted; the default is all of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DueFilter {
    /// Of one patient only.
    pub patient: Option<Pseudonym>,
    /// Of one person only.
    pub owner: Option<Handle>,
    /// What falls to one person: theirs, what their patients need, and what is left to their
    /// role and nobody in particular, and tasks they left to nobody at all.
    pub falls_to: Option<(Handle, Role)>,
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
    /// Whose alone it shows; none for everybody.
    pub only: Option<NameRef>,
    /// How many should have been done.
    pub overdue: usize,
    /// Shown for one patient: how many of the others' should have been done.
    pub overdue_elsewhere: Option<usize>,
    /// Everything due, earliest first.
    pub items: Vec<DueRow>,
}

/// Something due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DueRow {
    /// For whom; none for the ward.
    pub who: Option<NameRef>,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
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
        .filter(|item| {
            let to = filter.falls_to.as_ref();
            to.is_none_or(|to| falls_to(vantage.ward, item, to))
        })
        .filter(|item| filter.owner.is_none() || item.owner == filter.owner)
        .filter(|item| filter.until.is_none_or(|until| item.due <= until))
        .filter(|item| !filter.tasks_only || item.sort == DueSort::Task)
        .map(|item| {
            let patient = item
                .patient
                .and_then(|patient| vantage.ward.patient(patient));
            let ledgers = patient.map_or(vantage.ward.common(), |patient| &patient.ledgers);
            DueRow {
                who: patient.map(NameRef::of),
                similar_names: vantage.similar_names(patient),
                due: due_line(&vantage.of(item.patient), item, ledgers),
            }
        })
        .collect();
    DueList {
        schema: DUE_SCHEMA,
        heading: Heading::of(vantage),
        only: filter
            .patient
            .and_then(|patient| vantage.ward.patient(patient))
            .map(NameRef::of),
        overdue_elsewhere: filter
            .patient
            .map(|patient| overdue_elsewhere(vantage, patient)),
        overdue: items.iter().filter(|row| row.due.overdue).count(),
        items,
    }
}

/// Theirs by name; of a patient allocated to them; for their role with nobody named; or a task they
/// wrote and left to nobody. What a colleague who has left still owns comes with the patient.
fn falls_to(ward: &Ward, item: &DueItem, (handle, role): &(Handle, Role)) -> bool {
    let patient = item.patient.and_then(|patient| ward.patient(patient));
    let allocated = patient.and_then(|patient| patient.allocated_to());
    let unowned = item.owner.is_none() && item.role == Some(*role);
    item.owner.as_ref() == Some(handle)
        || allocated == Some(handle)
        || unowned
        || is_nobodys_by(ward, item, handle)
}

/// A task for nobody and no role: until somebody takes it, it is on the mind of who wrote it only.
fn is_nobodys_by(ward: &Ward, item: &DueItem, handle: &Handle) -> bool {
    let ledgers = ward.ledgers_of(item.patient);
    let task = ledgers.and_then(|ledgers| ledgers.tasks.get(&item.seq));
    let by = task.and_then(|task| task.set.stamp.author.handle());
    let nobodys = item.owner.is_none() && item.role.is_none();
    item.sort == DueSort::Task && nobodys && by == Some(handle)
}

fn overdue_elsewhere(vantage: &Vantage<'_>, patient: Pseudonym) -> usize {
    let due = vantage.ward.due_items();
    let others = due.iter().filter(|item| item.patient != Some(patient));
    others.filter(|item| item.is_overdue(vantage.now)).count()
}

impl DueList {
    /// The list in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let dial = self.heading.dial();
        let counted = format!("{}, {} overdue", self.items.len(), self.overdue);
        let title = match (&self.only, self.overdue_elsewhere) {
            (Some(who), Some(others)) => {
                format!("Due for {who} only: {counted}; {others} overdue elsewhere")
            }
            _ => format!("Due: {counted}"),
        };
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
            // Of what the clock brings nearly all is new since the last sheet: only what somebody set.
            let set = due.sort == DueSort::Task.code();
            let what = words::new_mark(set && due.is_new);
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
                )
                .then(words::similar_mark(&row.similar_names)),
                what.plain(&due.what).quiet(detail.join(" ")),
                Line::of(words::whose(due.owner.as_ref(), due.role)),
                Line::new().quiet(due.seq.to_string()),
            ]
        });
        page.blocks.push(Block::Table(Table {
            head: vec!["Due", "Patient", "What", "Whose", "Entry"],
            rows: rows.collect(),
        }));
        let whose = self.items.iter();
        let similar =
            words::similar_under_list(whose.map(|row| (row.who.as_ref(), &*row.similar_names)));
        page.blocks.push(Block::Lines(similar));
        page
    }

    /// The list for a spreadsheet.
    #[must_use]
    pub fn csv(&self) -> String {
        let head = [
            "due",
            "from",
            "overdue",
            "slot",
            "patient",
            "sort",
            "what",
            "owner",
            "role",
            "priority",
            "entry",
            "similar_names",
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
                    words::names(&row.similar_names),
                ]
            }),
        )
    }
}

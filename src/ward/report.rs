//! What happened on the ward in a period, counted: what a ward sister and governance read.
//!
//! Everything comes from the fold, which keeps the ledgers of patients who have left as well:
//! nothing is read from the journal again. Each figure names the entries it was counted from.
//! One pass over all the ward ever held: the cost grows with the length of the journal, and
//! the report is the one view of which that is true.
//!
//! Whatever has a moment of its own is counted in the period that holds the moment, the first
//! moment of a period included and the last not, so that figures of adjoining periods add up.
//! What became of it later counts as well: the figures are as known at the moment of the view.

mod answers;
mod beds;
mod contacts;
mod days;
mod figure;
mod handing;
mod period;
mod readings;
mod series;
mod stays;
mod work;
mod writing;

use serde::Serialize;

use super::Ward;
use super::held::Stamp;
use crate::record::ids::Seq;
use crate::record::time::Timestamp;

pub use days::WardDay;
pub use figure::{Figure, Spread, Unit, Waiting};
pub use period::{Period, PeriodRefusal};
pub use series::Series;

/// What a part of a report is about, in reading order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Matter {
    /// Patients who came, by who sent them.
    Admissions,
    /// Patients who left, by where to, and how long they had stayed.
    Discharges,
    /// Who was on the ward, and bed days.
    Beds,
    /// Contacts that were made or tried.
    Contacts,
    /// Contacts that had been agreed, and whether they happened.
    ContactsDue,
    /// Alerts and how long each step took.
    Alerts,
    /// Escalations and how long an answer took.
    Escalations,
    /// Work that was done, not done, or is overdue.
    Tasks,
    /// Sets of observations, and patients without any.
    Readings,
    /// What was written, and what was written late.
    Writing,
    /// Corrections and withdrawals.
    Amendments,
    /// Handovers, and how long they waited to be accepted.
    Handovers,
    /// Shifts, and hours that none covers.
    Shifts,
}

impl Matter {
    /// All, in reading order.
    pub const ALL: [Matter; 13] = [
        Matter::Admissions,
        Matter::Discharges,
        Matter::Beds,
        Matter::Contacts,
        Matter::ContactsDue,
        Matter::Alerts,
        Matter::Escalations,
        Matter::Tasks,
        Matter::Readings,
        Matter::Writing,
        Matter::Amendments,
        Matter::Handovers,
        Matter::Shifts,
    ];
}

/// One part of a report.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it is about.
    pub about: Matter,
    /// Its figures, in reading order.
    pub figures: Vec<Figure>,
}

/// Everything counted of a period.
#[derive(Debug, Clone, PartialEq)]
pub struct Counted {
    /// The parts, in reading order.
    pub parts: Vec<Part>,
    /// Each day of the ward's calendar that the period touches.
    pub days: Vec<WardDay>,
    /// Measures of the ward by day, where there are enough whole days.
    pub series: Vec<Series>,
}

/// What is counted from.
#[derive(Clone, Copy)]
struct Desk<'a> {
    ward: &'a Ward,
    period: Period,
    /// The moment of the view: what is open waits until then.
    now: Timestamp,
    /// When the journal begins: who was on the ward before, and without what, it does not know.
    began: Timestamp,
}

impl Desk<'_> {
    fn holds(&self, moment: Timestamp) -> bool {
        self.period.holds(moment)
    }

    /// The end of what can have happened: the period's, or now.
    fn end(&self) -> Timestamp {
        self.period.until.min(self.now)
    }

    fn figure(&self, name: &'static str, entries: impl IntoIterator<Item = Seq>) -> Figure {
        Figure::of(self.ward, name, entries)
    }
}

/// What became due before the period and still waits: no open item falls out of a report.
fn still(desk: &Desk<'_>, name: &'static str, waiting: figure::Taking) -> Figure {
    let spread = waiting.spread();
    let entries: Vec<Seq> = spread.waiting.iter().map(|one| one.seq).collect();
    desk.figure(name, entries).taking(spread)
}

/// Something that happened at a moment, with the entry that says so.
type Event = (Timestamp, Seq);

fn event(stamp: &Stamp) -> Event {
    (stamp.occurred_at, stamp.seq)
}

/// When the journal begins, as far as it can be read.
#[must_use]
pub fn began(ward: &Ward) -> Option<Timestamp> {
    let first = ward.common_log().lines().first();
    first.map(|line| line.recorded_at)
}

/// Counts what happened in a period, as known at `now`.
#[must_use]
pub fn count(ward: &Ward, period: Period, now: Timestamp) -> Counted {
    let began = began(ward).unwrap_or(now);
    let desk = Desk {
        ward,
        period,
        now,
        began,
    };
    let stays = stays::Stays::of(&desk);
    let days = days::days(&desk, &stays);
    let part = |about, figures| Part { about, figures };
    Counted {
        parts: vec![
            part(Matter::Admissions, stays::admissions(&desk, &stays)),
            part(Matter::Discharges, stays::discharges(&desk, &stays)),
            part(Matter::Beds, beds::beds(&desk, &stays)),
            part(Matter::Contacts, contacts::made(&desk)),
            part(Matter::ContactsDue, contacts::due(&desk)),
            part(Matter::Alerts, answers::alerts(&desk)),
            part(Matter::Escalations, answers::escalations(&desk)),
            part(Matter::Tasks, work::tasks(&desk)),
            part(Matter::Readings, readings::readings(&desk, &stays)),
            part(Matter::Writing, writing::writing(&desk)),
            part(Matter::Amendments, writing::amendments(&desk)),
            part(Matter::Handovers, handing::handovers(&desk)),
            part(Matter::Shifts, handing::shifts(&desk)),
        ],
        series: series::series(&days),
        days,
    }
}

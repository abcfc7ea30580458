//! What a report of the ward is counted against.

use super::{Key, Preset, Section, Values, independent};

const CAPACITY: Key = Key::whole(
    "report.capacity",
    0,
    (1, 2_000),
    "places",
    "How many patients the ward can look after at once. Occupancy is a share of it, from the moment it is set; \"unknown\" gives no share.",
    "there is no number to assume: each ward has its own",
)
.or("unknown")
.preset(Preset::Text("unknown"));

const SNAPSHOT: Key = Key::whole(
    "report.snapshot_hour",
    8,
    (0, 23),
    "hour of the day",
    "The full hour on the ward's clock at which the patients of a day are counted.",
    "NHS England's hospital bed situation report counts at 08:00; the time of its virtual-ward collection is not known to us",
);

pub(super) const SECTION: Section = Section {
    name: "report",
    about: "What a report of the ward is counted against",
    keys: &[&CAPACITY, &SNAPSHOT],
    check: independent,
};

/// What a report of the ward is counted against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Report {
    /// Places, where the ward has said how many.
    pub capacity: Option<u32>,
    /// Hour of the day, 0 to 23.
    pub snapshot_hour: u32,
}

impl Values {
    /// The section `report`.
    #[must_use]
    pub fn report(&self) -> Report {
        Report {
            capacity: self
                .whole_or(&CAPACITY)
                .and_then(|places| u32::try_from(places).ok()),
            snapshot_hour: u32::try_from(self.whole(&SNAPSHOT)).unwrap_or_default(),
        }
    }
}

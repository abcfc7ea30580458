//! A small invented ward for trying the shell on.

use std::path::Path;
use std::sync::Arc;

use handfast::record::draft::Draft;
use handfast::record::kind::Kind;
use handfast::record::person::Handle;
use handfast::record::role::Role;
use handfast::record::time::WardZone;
use handfast::station::clock::SystemClock;
use handfast::station::{Actor, InitRequest, StaffRequest, Station};

/// Everybody's PIN: this ward is invented.
pub const PIN: &str = "4729-11";

/// The nurse whose shell is tried, and a colleague at another keyboard.
pub const STAFF: [(&str, &str, Role); 2] = [
    ("maya", "Maya Lind", Role::Nurse),
    ("tom", "Tom Arkwright", Role::Nurse),
];

/// Two patients and two nurses in a new journal.
pub fn open(dir: &Path) {
    let request = InitRequest {
        ward: "Tansy Ward".to_owned(),
        zone: WardZone::LONDON,
        teaching: true,
        handle: Handle("keeper".to_owned()),
        name: "Kit Keeper".to_owned(),
        secret: PIN.to_owned().into(),
    };
    let (mut station, keeper) = Station::init(dir, &request, Arc::new(SystemClock)).expect("init");
    for (handle, name, role) in STAFF {
        let request = StaffRequest {
            handle: Handle(handle.to_owned()),
            name: name.to_owned(),
            role,
            registration: None,
            secret: PIN.to_owned().into(),
        };
        station.enrol(&keeper, &request).expect("enrol");
    }
    let maya = unlock(&mut station, "maya");
    admit(&mut station, &maya, "Pell", "Rose", "T07", "999 000 0018");
    admit(&mut station, &maya, "Osei", "Kofi", "T09", "999 000 0026");
}

pub fn unlock(station: &mut Station, handle: &str) -> Actor {
    let handle = Handle(handle.to_owned());
    station.unlock(&handle, PIN).expect("unlock")
}

fn admit(station: &mut Station, actor: &Actor, family: &str, given: &str, slot: &str, nhs: &str) {
    let mut draft = Draft::new(Kind::Admission);
    let fields = [
        ("patient", "new"),
        ("family", family),
        ("given", given),
        ("born", "02-Jul-1944"),
        ("sex", "female"),
        ("nhs", nhs),
        ("slot", slot),
        ("area", "Fernhill"),
        ("source", "gp"),
        ("reason", "chest infection"),
        ("allergies", "none known"),
        ("ceiling", "full"),
        ("resuscitation", "attempt"),
        ("scale", "1"),
    ];
    for (name, value) in fields {
        draft.set(name, value.to_owned());
    }
    station.submit(actor, &draft).expect("admit");
}

/// Another process's act: an alert about a patient, raised by Tom.
pub fn raise_alert(dir: &Path, slot: &str, what: &str) {
    let mut station = Station::open(dir).expect("open");
    let tom = unlock(&mut station, "tom");
    let draft = Draft::new(Kind::Alert)
        .with("patient", slot)
        .with("source", "help-button")
        .with("severity", "urgent")
        .with("what", what);
    station.submit(&tom, &draft).expect("alert");
}

/// Another process's act: Tom takes an alert.
pub fn take_alert(dir: &Path, alert: u64) {
    let mut station = Station::open(dir).expect("open");
    let tom = unlock(&mut station, "tom");
    let draft = Draft::new(Kind::AlertStep)
        .with("alert", format!("#{alert}"))
        .with("step", "taken");
    station.submit(&tom, &draft).expect("taken");
}

/// The newest entries of the journal, oldest first, as kind and fields in words.
pub fn newest(dir: &Path, count: u64) -> Vec<(Kind, String)> {
    let station = Station::open(dir).expect("open");
    let head = station.head().seq.0;
    let cx = station.show_context(None);
    let seqs = (head.saturating_sub(count) + 1..=head).map(handfast::record::ids::Seq);
    let entries = station.entries(seqs).into_iter().flatten();
    entries
        .filter_map(|read| read.entry().cloned())
        .map(|entry| {
            let fields = entry.body.show(&cx);
            let words: Vec<String> = fields
                .into_iter()
                .map(|field| format!("{} {}", field.name, field.text))
                .collect();
            (entry.kind(), words.join("; "))
        })
        .collect()
}

/// The number of the newest entry.
pub fn newest_number(dir: &Path) -> u64 {
    Station::open(dir).expect("open").head().seq.0
}

//! The ward and its staff. The PINs are for show: this is a teaching journal.

use super::calendar::thu;
use super::script::{SceneAct, Script};
use crate::record::role::Role;
use crate::record::time::{Timestamp, WardZone};

/// The ward's name.
pub const WARD: &str = "Tansy Ward";
/// The ward's clock.
pub const ZONE: WardZone = WardZone::LONDON;
/// When the journal is made.
pub const OPENED: Timestamp = thu(20, 0);

/// One member of the staff.
#[derive(Debug, PartialEq, Eq)]
pub struct Member {
    /// Handle to sign in with.
    pub handle: &'static str,
    /// Full name.
    pub name: &'static str,
    /// Role.
    pub role: Role,
    /// Registration number, invented, where the role has one.
    pub registration: Option<&'static str>,
    /// PIN, published in the README.
    pub pin: &'static str,
}

const fn member(
    handle: &'static str,
    name: &'static str,
    role: Role,
    registration: Option<&'static str>,
    pin: &'static str,
) -> Member {
    Member {
        handle,
        name,
        role,
        registration,
        pin,
    }
}

/// Whoever makes the journal and enrols the others.
pub static KEEPER: Member = member("wren", "Wren Applecroft", Role::Keeper, None, "210655");

/// Everybody else.
pub static STAFF: [Member; 9] = [
    member(
        "hester",
        "Hester Brackwater",
        Role::Sister,
        Some("DEMO-RN-0107"),
        "384016",
    ),
    member(
        "orla",
        "Orla Quillfeather",
        Role::Nurse,
        Some("DEMO-RN-0231"),
        "472918",
    ),
    member(
        "joss",
        "Joss Tumbrell",
        Role::Nurse,
        Some("DEMO-RN-0244"),
        "615207",
    ),
    member(
        "imke",
        "Imke Saltmarsh",
        Role::Nurse,
        Some("DEMO-RN-0268"),
        "930482",
    ),
    member(
        "dev",
        "Dev Larkhanger",
        Role::Nurse,
        Some("DEMO-RN-0290"),
        "758361",
    ),
    member("pip", "Pip Thistlewood", Role::Assistant, None, "146793"),
    member("nia", "Nia Cobblestane", Role::Assistant, None, "829570"),
    member(
        "amos",
        "Dr Amos Fennimere",
        Role::Clinician,
        Some("DEMO-MED-0042"),
        "507164",
    ),
    member("greta", "Greta Ledgerby", Role::Governance, None, "263849"),
];

/// The keeper enrols the staff, one after the other.
pub fn enrol(script: &mut Script) {
    let times = (1..).map(|minute| thu(20, minute));
    for (person, at) in STAFF.iter().zip(times) {
        script.add("wren", at, None, SceneAct::Enrol(person));
    }
}

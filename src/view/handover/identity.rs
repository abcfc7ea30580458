//! Who the patient is: the same order everywhere, with what must stand next to a name.

use serde::Serialize;

use crate::clinical::stay::day_of;
use crate::record::ids::Pseudonym;
use crate::record::kind::episode::{Ceiling, Resuscitation, Sex, Stated};
use crate::record::moment::Day;
use crate::record::person::{Allergies, Carer};
use crate::view::origin::{NameRef, Subject};
use crate::ward::Patient;

/// The identity line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Identity {
    /// Stands for the patient in the journal.
    pub patient: Pseudonym,
    /// `FAMILYNAME, Given (Title)`.
    pub name: String,
    /// What the patient likes to be called.
    pub known_as: Option<String>,
    /// Date of birth.
    pub born: Option<Day>,
    /// Whole years.
    pub age_years: Option<u32>,
    /// Sex.
    pub sex: Option<Sex>,
    /// Current gender, where it differs from sex.
    pub gender: Option<String>,
    /// NHS number, 3-3-4.
    pub nhs: Option<String>,
    /// Local number.
    pub local_number: Option<String>,
    /// Place on the ward's list.
    pub slot: Option<String>,
    /// Day of stay, 1 on the day of admission.
    pub day_of_stay: Option<i64>,
    /// Expected discharge date.
    pub expected_discharge: Option<Day>,
    /// Known, none known, or not asked: three things.
    pub allergies: Allergies,
    /// How far care is to go; it changes the response, never the score.
    pub ceiling: Option<Ceiling>,
    /// Whether CPR is to be attempted.
    pub resuscitation: Option<Resuscitation>,
    /// Where the paper form is kept in the house.
    pub form_kept: Option<String>,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
}

/// What somebody needs who goes there, calls, or is answered by somebody else. The key-safe
/// code is never here: only whether one is held.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reaching {
    /// Area of the address.
    pub area: Option<String>,
    /// Patient's telephone.
    pub phone: Option<String>,
    /// Carers and how to reach them.
    pub carers: Vec<Carer>,
    /// Getting in.
    pub access: Option<String>,
    /// A key-safe code is on record; who visits reads it in the program.
    pub key_safe_held: bool,
    /// Lone-worker risk.
    pub lone_worker: Option<String>,
    /// Interpreter or language.
    pub language: Option<String>,
    /// Hearing, sight, speech.
    pub hearing: Option<String>,
    /// Somebody smokes in the house; `None` if nobody has stated it.
    pub smoker: Option<Stated>,
    /// Oxygen in the house, before admission or now.
    pub oxygen_in_house: bool,
}

pub(super) fn identity(subject: &Subject<'_>, patient: &Patient) -> Identity {
    let vantage = &subject.vantage;
    let today = vantage.zone().date(vantage.now);
    let details = patient.details.as_ref();
    let admitted = patient.admitted().map(|stamp| stamp.occurred_at);
    let text = |line: &Option<crate::record::text::Line>| line.as_ref().map(|l| l.0.clone());
    Identity {
        patient: patient.pseudonym,
        name: patient.name_line(),
        known_as: details.and_then(|d| text(&d.known_as)),
        born: details.map(|d| d.born),
        age_years: patient.age_on(today).map(|age| age.years),
        sex: details.map(|d| d.sex),
        gender: details.and_then(|d| text(&d.gender)),
        nhs: details.and_then(|d| d.nhs).map(|nhs| nhs.to_string()),
        local_number: details.and_then(|d| text(&d.local_number)),
        slot: patient.slot().map(str::to_owned),
        day_of_stay: admitted
            .filter(|_| patient.is_current())
            .and_then(|at| day_of(vantage.zone().date(at), today)),
        expected_discharge: details.and_then(|d| d.expected_discharge),
        allergies: details.map_or(Allergies::NotAsked, |d| d.allergies.clone()),
        ceiling: details.map(|d| d.ceiling),
        resuscitation: details.map(|d| d.resuscitation),
        form_kept: details.and_then(|d| text(&d.form_kept)),
        similar_names: vantage.similar_names(Some(patient)),
    }
}

pub(in crate::view) fn reaching(patient: &Patient) -> Reaching {
    let details = patient.details.as_ref();
    let text = |line: &Option<crate::record::text::Line>| line.as_ref().map(|l| l.0.clone());
    let last_oxygen = patient.sets.iter().rev().find_map(|set| set.body.oxygen);
    let home_oxygen = details.and_then(|d| d.home_oxygen);
    Reaching {
        area: details.map(|d| d.area.0.clone()),
        phone: details.and_then(|d| text(&d.phone)),
        carers: details.map(|d| d.carers.clone()).unwrap_or_default(),
        access: details.and_then(|d| d.access.as_ref().map(|note| note.0.clone())),
        key_safe_held: details.is_some_and(|d| d.key_safe.is_some()),
        lone_worker: details.and_then(|d| text(&d.lone_worker)),
        language: details.and_then(|d| text(&d.language)),
        hearing: details.and_then(|d| text(&d.hearing)),
        smoker: details.and_then(|d| d.smoker),
        oxygen_in_house: [last_oxygen, home_oxygen]
            .into_iter()
            .flatten()
            .any(crate::record::observed::Oxygen::is_supplemental),
    }
}

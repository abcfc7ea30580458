//! Finding a patient by what people type, and noticing names that could be mixed up.

use super::Ward;
use super::patient::Patient;
use crate::record::ids::Pseudonym;

/// Whom a text could mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// One patient.
    One(Pseudonym),
    /// Several; the text must say more.
    Many(Vec<Pseudonym>),
    /// Nobody.
    None {
        /// Patients whose names are near.
        near: Vec<Pseudonym>,
    },
}

impl Ward {
    /// Patients on the ward, by slot and then by name.
    #[must_use]
    pub fn caseload(&self) -> Vec<&Patient> {
        let mut current: Vec<&Patient> = self.patients().filter(|p| p.is_current()).collect();
        current.sort_by_cached_key(|patient| {
            (
                patient.slot().is_none(),
                patient.slot().map(str::to_lowercase),
                patient.name_line(),
            )
        });
        current
    }

    /// Whom a text means: slot, NHS or local number, or three letters of a name or more (a letter
    /// typed by chance must write into nobody's record). Patients on
    /// the ward come first; a patient who has left is found only if nobody on it fits.
    #[must_use]
    pub fn find_patient(&self, text: &str) -> Found {
        let wanted = fold(text);
        if wanted.is_empty() {
            return Found::None { near: Vec::new() };
        }
        let (current, left): (Vec<&Patient>, Vec<&Patient>) = self
            .patients()
            .filter(|p| p.details.is_some())
            .partition(|p| p.is_current());
        let fit: &[fn(&Patient, &str) -> bool] = match says_too_little(text) {
            true => &[by_slot_or_number],
            false => &[exactly, begins],
        };
        for group in [&current, &left] {
            for fits in fit {
                let found: Vec<Pseudonym> = group
                    .iter()
                    .filter(|patient| fits(patient, &wanted))
                    .map(|patient| patient.pseudonym)
                    .collect();
                match found.as_slice() {
                    [] => {}
                    [one] => return Found::One(*one),
                    _ => return Found::Many(found),
                }
            }
        }
        let near = current.iter().filter(|patient| is_near(patient, &wanted));
        Found::None {
            near: near.map(|patient| patient.pseudonym).collect(),
        }
    }

    /// Other patients on the ward whose name is the same or could be taken for it.
    #[must_use]
    pub fn similar_names(&self, patient: &Patient) -> Vec<&Patient> {
        let Some(mine) = &patient.details else {
            return Vec::new();
        };
        let others = self
            .patients()
            .filter(|other| other.pseudonym != patient.pseudonym);
        others
            .filter(|other| other.is_current())
            .filter(|other| {
                other.details.as_ref().is_some_and(|theirs| {
                    looks_alike(&mine.family.0, &theirs.family.0)
                        || (looks_alike(&mine.given.0, &theirs.family.0)
                            && looks_alike(&mine.family.0, &theirs.given.0))
                })
            })
            .collect()
    }
}

/// Fewer than three letters, and no digit: too little to name a patient by, unless it is all of
/// a slot or number.
#[must_use]
pub fn says_too_little(text: &str) -> bool {
    let said = text.chars().filter(|c| c.is_alphanumeric());
    said.count() < 3 && !text.contains(|c: char| c.is_ascii_digit())
}

/// Lower case, letters and digits only, single spaces.
fn fold(text: &str) -> String {
    let plain: String = text
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .flat_map(char::to_lowercase)
        .collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn names(patient: &Patient) -> Vec<String> {
    let Some(details) = &patient.details else {
        return Vec::new();
    };
    let (family, given) = (fold(&details.family.0), fold(&details.given.0));
    let mut names = vec![
        format!("{family} {given}"),
        format!("{given} {family}"),
        family,
        given,
    ];
    names.extend(details.known_as.as_ref().map(|name| fold(&name.0)));
    names
}

fn exactly(patient: &Patient, wanted: &str) -> bool {
    by_slot_or_number(patient, wanted) || names(patient).iter().any(|name| name == wanted)
}

fn by_slot_or_number(patient: &Patient, wanted: &str) -> bool {
    let Some(details) = &patient.details else {
        return false;
    };
    let digits: String = wanted.chars().filter(char::is_ascii_digit).collect();
    let nhs = details.nhs.map(|nhs| nhs.to_string().replace(' ', ""));
    let is_number = digits.len() == 10 && wanted.chars().all(|c| c.is_ascii_digit() || c == ' ');
    let slot = details.slot.as_ref().map(|slot| fold(&slot.0));
    let local = details.local_number.as_ref().map(|number| fold(&number.0));
    (is_number && nhs.as_deref() == Some(digits.as_str()))
        || slot.as_deref() == Some(wanted)
        || local.as_deref() == Some(wanted)
}

fn begins(patient: &Patient, wanted: &str) -> bool {
    names(patient).iter().any(|name| name.starts_with(wanted))
}

fn is_near(patient: &Patient, wanted: &str) -> bool {
    let names = names(patient);
    let known: Vec<&str> = names.iter().map(String::as_str).collect();
    crate::record::field::nearest(wanted, &known).is_some()
}

/// The same, or at most one letter apart in names of four letters or more.
fn looks_alike(one: &str, other: &str) -> bool {
    let (one, other) = (fold(one), fold(other));
    if one == other {
        return true;
    }
    let (a, b): (Vec<char>, Vec<char>) = (one.chars().collect(), other.chars().collect());
    if a.len().min(b.len()) < 4 || a.len().abs_diff(b.len()) > 1 {
        return false;
    }
    let same_start = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let same_end = a
        .iter()
        .rev()
        .zip(b.iter().rev())
        .take_while(|(x, y)| x == y)
        .count();
    same_start + same_end + 1 >= a.len().max(b.len())
}

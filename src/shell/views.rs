//! What is looked at.

use super::look;
use super::session::{Session, held};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp, show_date};
use crate::shorthand::Act;
use crate::station::sheet_now;
use crate::view::page::TEACHING;
use crate::ward::due::DueItem;
use crate::ward::{Found, Patient, Read, Standing, Ward};

/// Whose work is listed.
struct Wanted {
    patient: Option<Pseudonym>,
    owner: Option<Handle>,
    /// However far ahead.
    all: bool,
}

impl Session {
    /// Draws a view, now or as it stood.
    pub(super) fn view(&mut self, act: Act, about: &str, as_of: Option<Timestamp>) -> String {
        let patient = match self.patient_of(about) {
            Ok(patient) => patient,
            Err(said) => return said,
        };
        let station = held(&self.station);
        let now = as_of.unwrap_or_else(|| station.now());
        let then = match as_of.map(|moment| station.ward_as_of(moment)).transpose() {
            Ok(then) => then,
            Err(error) => return error.to_string(),
        };
        let ward = then.as_ref().unwrap_or_else(|| station.ward());
        let mut page = None;
        let text = match act {
            Act::Patients | Act::Caseload => patients(ward, now),
            Act::Alerts => alerts(ward, now, about == "all"),
            Act::Tasks => {
                let owner = self.actor.as_ref().filter(|_| about == "mine");
                let owner = owner.map(|actor| actor.handle.clone());
                tasks(
                    ward,
                    now,
                    &Wanted {
                        patient,
                        owner,
                        all: about == "all",
                    },
                )
            }
            Act::Timeline => match patient {
                Some(patient) => timeline(&station, ward, patient),
                None => "No patient is selected; timeline NAME says whose.".to_owned(),
            },
            Act::Baseline => match patient {
                Some(patient) => baseline(ward, patient, now),
                None => "No patient is selected; baseline NAME says whose.".to_owned(),
            },
            Act::Handover => {
                page = Some(sheet_now(ward, now).page());
                super::handing::waiting(ward)
            }
            _ => String::new(),
        };
        let text = match as_of {
            Some(moment) => format!(
                "As it stood {}, as then known\n{text}",
                station.zone().day_date_time(moment)
            ),
            None => text,
        };
        let teaching = station.is_teaching() && page.is_none();
        drop(station);
        let text = if teaching {
            format!("*** {TEACHING} ***\n{text}")
        } else {
            text
        };
        if let Some(page) = &page {
            self.draw(page);
        }
        text
    }

    /// The patient a view is about: named, or the selected one.
    fn patient_of(&self, about: &str) -> Result<Option<Pseudonym>, String> {
        let about = about.trim().trim_start_matches('@');
        match about {
            "" => return Ok(self.patient),
            "all" | "mine" | "ward" => return Ok(None),
            _ => {}
        }
        match held(&self.station).ward().find_patient(about) {
            Found::One(patient) => Ok(Some(patient)),
            Found::Many(_) => Err(format!(
                "\"{about}\" could be several patients; say the slot."
            )),
            Found::None { .. } => Err(format!(
                "Nobody on the ward is \"{about}\"; \"patients\" lists everyone."
            )),
        }
    }

    /// One entry in full.
    pub(super) fn show(&self, seq: Seq) -> String {
        let station = held(&self.station);
        let entry = match station.entry(seq) {
            Ok(Read::Entry(entry)) => entry,
            Ok(Read::Unreadable(unreadable)) => {
                return format!("{seq} cannot be read here: {}", unreadable.why);
            }
            Err(error) => return error.to_string(),
        };
        let zone = station.zone();
        let by = station
            .ward()
            .staff_by_key(&entry.author)
            .map_or_else(|| entry.author.short(), |staff| staff.name.clone());
        let mut lines = vec![
            format!(
                "{seq} {}, {}",
                entry.kind(),
                look::who(station.ward(), entry.patient)
            ),
            format!(
                "  by {by}, {}; recorded {}",
                entry.envelope.role.label(),
                zone.day_date_time(entry.recorded_at)
            ),
        ];
        if entry.delay() >= crate::record::time::Span::minutes(1) {
            let about = if entry.envelope.approximate {
                "about "
            } else {
                ""
            };
            lines.push(format!(
                "  happened {about}{}",
                zone.day_date_time(entry.occurred_at())
            ));
        }
        let cx = station.show_context(self.actor.as_ref().map(|actor| actor.role));
        lines.extend(
            entry
                .body
                .show(&cx)
                .into_iter()
                .map(|field| format!("  {:<14} {}", field.name, field.text)),
        );
        lines.extend(
            entry
                .envelope
                .late_reason
                .iter()
                .map(|why| format!("  written late   {why}")),
        );
        let log = station.ward().log_of(entry.patient);
        lines.extend(
            log.and_then(|log| standing(log.standing_of(seq)))
                .map(|said| format!("  {said}")),
        );
        lines.push(format!("  hash {}", entry.hash));
        lines.join("\n")
    }
}

fn standing(standing: Standing) -> Option<String> {
    match standing {
        Standing::Stands => None,
        Standing::Corrected { by } => Some(format!("CORRECTED by {by}")),
        Standing::Withdrawn {
            by,
            cause,
            entered_anew,
        } => {
            let anew = entered_anew
                .map(|seq| format!(", entered anew as {seq}"))
                .unwrap_or_default();
            Some(format!("WITHDRAWN by {by}: {}{anew}", cause.label()))
        }
    }
}

/// Name, identifiers, allergies: what is read out before anything is done.
pub(super) fn identity(ward: &Ward, pseudonym: Pseudonym, now: Timestamp) -> String {
    let Some(patient) = ward.patient(pseudonym) else {
        return "not known".to_owned();
    };
    let Some(details) = &patient.details else {
        return patient.name_line();
    };
    let today = ward.zone().date(now);
    let age = patient
        .age_on(today)
        .map(|age| format!(" ({age})"))
        .unwrap_or_default();
    let number = details
        .nhs
        .as_ref()
        .map(ToString::to_string)
        .or_else(|| details.local_number.as_ref().map(ToString::to_string));
    let mut lines = vec![format!(
        "{}, born {}{age}, {}",
        look::who(ward, Some(pseudonym)),
        show_date(details.born.to_date()),
        number.unwrap_or_default()
    )];
    let cx = crate::record::field::ShowContext {
        zone: ward.zone(),
        secrets: false,
    };
    let allergies =
        crate::record::field::FieldValue::show(&details.allergies, &cx).unwrap_or_default();
    lines.push(format!(
        "  allergies {allergies}; {}; {}",
        details.ceiling.label(),
        details.resuscitation.label()
    ));
    let alike: Vec<String> = ward
        .similar_names(patient)
        .iter()
        .map(|other| look::who(ward, Some(other.pseudonym)))
        .collect();
    if !alike.is_empty() {
        lines.push(format!("  TAKE CARE, similar name: {}", alike.join("; ")));
    }
    lines.push(format!("  {}", last_known(patient, ward, now)));
    lines.join("\n")
}

/// The newest score and contact with their age, so that an old value never looks like now.
fn last_known(patient: &Patient, ward: &Ward, now: Timestamp) -> String {
    let set = match patient.last_set() {
        None => "no readings".to_owned(),
        Some(set) => {
            let score = set.total().map_or("NEWS2 incomplete".to_owned(), |total| {
                format!("NEWS2 {total}")
            });
            format!("{score}, {} ago", now.since(set.stamp.occurred_at).spoken())
        }
    };
    let contact = match patient.last_reached() {
        None => "not reached yet".to_owned(),
        Some(held) => format!("reached {}", ward.zone().day_time(held.stamp.occurred_at)),
    };
    format!("{set}; {contact}")
}

fn patients(ward: &Ward, now: Timestamp) -> String {
    let everyone = ward.caseload();
    if everyone.is_empty() {
        return "Nobody is on the ward.".to_owned();
    }
    let lines = everyone.iter().map(|patient| {
        let open = patient
            .ledgers
            .alerts
            .values()
            .filter(|alert| alert.is_open())
            .count();
        let alerts = if open == 0 {
            String::new()
        } else {
            format!("; {open} open alert(s)")
        };
        format!(
            "{:<5} {:<28} {}{alerts}",
            patient.slot().unwrap_or("-"),
            patient.name_line(),
            last_known(patient, ward, now)
        )
    });
    lines.collect::<Vec<_>>().join("\n")
}

fn alerts(ward: &Ward, now: Timestamp, all: bool) -> String {
    let open = look::open_alerts(ward);
    let mut lines: Vec<String> = open
        .iter()
        .map(|(patient, alert)| {
            let with = alert
                .holder()
                .map_or("NOBODY HAS IT".to_owned(), |(who, since)| {
                    format!("with {who} since {}", ward.zone().clock_time(*since))
                });
            format!(
                "{:<6} {:<9} {} ({}), {}, {with}",
                alert.seq().to_string(),
                alert.severity.code(),
                alert.what,
                look::who(ward, *patient),
                alert.age(now).spoken()
            )
        })
        .collect();
    if all {
        let closed = ward.patients().flat_map(|p| {
            p.ledgers
                .alerts
                .values()
                .filter(|a| !a.is_open())
                .map(move |a| (p.pseudonym, a))
        });
        lines.extend(closed.map(|(patient, alert)| {
            let outcome = alert.outcome().map_or("", |outcome| outcome.label());
            format!(
                "{:<6} closed    {} ({}), {outcome}",
                alert.seq().to_string(),
                alert.what,
                look::who(ward, Some(patient))
            )
        }));
    }
    if lines.is_empty() {
        "No alert is open.".to_owned()
    } else {
        lines.join("\n")
    }
}

/// How far ahead work is listed unless all of it is asked for: a shift.
const AHEAD: Span = Span::hours(12);

/// Work by due time: a patient's all, the ward's for a shift ahead.
fn tasks(ward: &Ward, now: Timestamp, wanted: &Wanted) -> String {
    let items = ward.due_items();
    let mine = |item: &&DueItem| {
        let this = wanted.patient.is_none() || item.patient == wanted.patient;
        let owner = wanted.owner.is_none() || item.owner.as_ref() == wanted.owner.as_ref();
        this && owner
    };
    let items: Vec<&DueItem> = items.iter().filter(mine).collect();
    let limit = if wanted.all || wanted.patient.is_some() {
        Timestamp::LATEST
    } else {
        now.plus(AHEAD)
    };
    let (listed, later): (Vec<&DueItem>, Vec<&DueItem>) =
        items.into_iter().partition(|item| item.due <= limit);
    let mut lines = vec![match wanted.patient {
        Some(_) => format!("Due for {}:", look::who(ward, wanted.patient)),
        None if wanted.all => "Due on the ward:".to_owned(),
        None => format!("Due on the ward until {}:", ward.zone().day_time(limit)),
    }];
    lines.extend(
        listed
            .iter()
            .map(|item| task_line(ward, now, item, wanted.patient.is_some())),
    );
    if listed.is_empty() {
        lines.push("  nothing".to_owned());
    }
    if !later.is_empty() {
        lines.push(format!("  {} more later: tasks all", later.len()));
    }
    lines.join("\n")
}

fn task_line(ward: &Ward, now: Timestamp, item: &DueItem, one_patient: bool) -> String {
    let late = if item.is_overdue(now) {
        format!("OVERDUE {} ", now.since(item.due).spoken())
    } else {
        String::new()
    };
    let whose = if one_patient {
        String::new()
    } else {
        format!(" ({})", look::who(ward, item.patient))
    };
    let owner = item
        .owner
        .as_ref()
        .map(|owner| format!(", {owner}"))
        .unwrap_or_default();
    let (seq, due) = (item.seq.to_string(), ward.zone().day_time(item.due));
    format!("{seq:<6} {due} {late}{}{whose}{owner}", item.what)
}

fn timeline(station: &crate::station::Station, ward: &Ward, pseudonym: Pseudonym) -> String {
    let Some(patient) = ward.patient(pseudonym) else {
        return "Not known at that time.".to_owned();
    };
    let cx = station.show_context(None);
    let lines = patient.log.lines().iter().map(|line| {
        let body = match station.entry(line.seq) {
            Ok(Read::Entry(entry)) => {
                let shown = entry
                    .body
                    .show(&cx)
                    .into_iter()
                    .map(|field| format!("{} {}", field.name, field.text));
                format!("{}: {}", entry.kind(), shown.collect::<Vec<_>>().join("; "))
            }
            Ok(Read::Unreadable(unreadable)) => unreadable.why,
            Err(error) => error.to_string(),
        };
        let mark = standing(patient.log.standing_of(line.seq))
            .map(|said| format!(" [{said}]"))
            .unwrap_or_default();
        format!(
            "{:<6} {} {} {body}{mark}",
            line.seq.to_string(),
            ward.zone().day_time(line.occurred_at),
            line.author
        )
    });
    format!(
        "{}\n{}",
        look::who(ward, Some(pseudonym)),
        lines.collect::<Vec<_>>().join("\n")
    )
}

fn baseline(ward: &Ward, pseudonym: Pseudonym, now: Timestamp) -> String {
    let mut text = identity(ward, pseudonym, now);
    let Some(details) = ward
        .patient(pseudonym)
        .and_then(|patient| patient.details.as_ref())
    else {
        return text;
    };
    let cx = crate::record::field::ShowContext {
        zone: ward.zone(),
        secrets: false,
    };
    let wanted = [
        "base_",
        "scale",
        "home_oxygen",
        "plan",
        "reason",
        "background",
        "treatment",
        "form_kept",
        "access",
        "lone",
        "language",
        "hearing",
    ];
    let shown = crate::record::kind::declare::Fields::show(details, &cx);
    for field in shown
        .iter()
        .filter(|field| wanted.iter().any(|begin| field.name.starts_with(begin)))
    {
        text.push_str(&format!("\n  {:<14} {}", field.name, field.text));
    }
    text
}

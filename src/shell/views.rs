//! What is looked at. Lists, timelines, entries and sheets are the view's; here is which of
//! them a command means, and the few lines that are read out before anything is done.

use super::look;
use super::session::{Session, held};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::rights::may_read_key_safes;
use crate::record::time::{Span, Timestamp, parse_span, show_date};
use crate::shorthand::Act;
use crate::station::{Station, reservations, sheet_now, since_last_accepted};
use crate::view::at_glance::at_glance;
use crate::view::baseline::baseline;
use crate::view::lists::{
    AlertWhich, CaseloadRow, DueFilter, alert_ledger, caseload, due_list, workings_of,
    workings_of_window,
};
use crate::view::origin::Vantage;
use crate::view::page::{Line, NOTHING_YET, Page, Reservations, TEACHING};
use crate::view::policy::{no_such_setting, policy_history, policy_view};
use crate::view::timeline::{entry_view, timeline};
use crate::view::words;
use crate::ward::observations::ObservationSet;
use crate::ward::workings::FLUID_HOURS;
use crate::ward::{Found, Patient, Read, Ward};

/// How far ahead the ward's work is listed unless all of it is asked for: a shift.
const AHEAD: Span = Span::hours(12);

/// From where a view is drawn, and of whom.
struct Drawing<'a> {
    station: &'a Station,
    vantage: Vantage<'a>,
    patient: Option<Pseudonym>,
    /// What the ward it is drawn from lacks.
    reservations: Reservations,
    /// As it stood, not as it stands.
    is_past: bool,
    /// Of a timeline, only what happened or was written today.
    is_today: bool,
    /// Of workings, the window of the fluid balance, if one was asked for.
    fluid_over: Option<Span>,
}

/// What was written since the last accepted sheet is marked as new.
pub(super) fn vantage(ward: &Ward, now: Timestamp) -> Vantage<'_> {
    Vantage {
        ward,
        now,
        since: since_last_accepted(ward),
    }
}

impl Drawing<'_> {
    /// Every entry of the record in view; what cannot be read is shown as such by the view.
    fn reads(&self) -> Vec<Read> {
        let log = self.vantage.ward.log_of(self.patient);
        let seqs = log.map(|log| log.lines().iter().map(|line| line.seq).collect());
        let seqs: Vec<Seq> = seqs.unwrap_or_default();
        self.station.entries(seqs).into_iter().flatten().collect()
    }

    fn timeline(&self, secrets: bool) -> Page {
        let patient = self
            .patient
            .and_then(|patient| self.vantage.ward.patient(patient));
        let mut view = timeline(&self.vantage, patient, &self.reads(), secrets);
        if !self.is_today {
            return view.page();
        }
        let left_out = view.keep_today();
        let mut page = view.page();
        let entries = words::count(left_out, "earlier entry is", "earlier entries are");
        page.head.push(Line::new().warn(format!(
            "TODAY ONLY: {entries} left out; timeline without today shows all."
        )));
        page
    }

    /// Words that are no page of the view, under the same loud heading and the moment.
    fn headed(&self, said: String) -> String {
        let mut lines = Vec::new();
        if self.station.is_teaching() {
            lines.push(format!("*** {TEACHING} ***"));
        }
        if self.is_past {
            let then = self.vantage.zone().day_date_time(self.vantage.now);
            lines.push(format!("As it stood {then}, as then known"));
        }
        if self.vantage.ward.head().is_none() {
            lines.push(NOTHING_YET.to_owned());
        }
        lines.push(said + &super::look::not_complete(&self.reservations));
        lines.join("\n")
    }
}

impl Session {
    /// Draws a view, now or as it stood.
    pub(super) fn view(&mut self, act: Act, about: &str, as_of: Option<Timestamp>) -> String {
        let (about, is_today) = of_today(act, about);
        let (about, fluid_over) = match of_window(act, about) {
            Ok(found) => found,
            Err(said) => return said,
        };
        let patient = match self.patient_of(about) {
            Ok(patient) => patient,
            Err(said) => return said,
        };
        let (said, page, reservations) = {
            let station = held(&self.station);
            let now = as_of.unwrap_or_else(|| station.now());
            let then = as_of.map(|moment| station.as_of(moment));
            let drawn = then.as_ref().unwrap_or_else(|| station.drawn());
            let drawing = Drawing {
                station: &station,
                vantage: vantage(&drawn.ward, now),
                patient,
                reservations: reservations(drawn),
                is_past: as_of.is_some(),
                is_today,
                fluid_over,
            };
            let (said, page) = self.drawing(&drawing, act, about);
            (said, page, drawing.reservations)
        };
        if let Some(page) = page {
            self.draw(&page, &reservations);
        }
        said
    }

    /// The ward's policy, or its history: `settings`, `settings news2`, `settings history`.
    pub(super) fn settings(&mut self, about: &str, as_of: Option<Timestamp>) -> String {
        let (page, reservations) = {
            let station = held(&self.station);
            let now = as_of.unwrap_or_else(|| station.now());
            let then = as_of.map(|moment| station.as_of(moment));
            let drawn = then.as_ref().unwrap_or_else(|| station.drawn());
            match settings_page(&vantage(&drawn.ward, now), about.trim()) {
                Ok(page) => (page, reservations(drawn)),
                Err(said) => return said,
            }
        };
        self.draw(&page, &reservations);
        String::new()
    }

    fn drawing(&self, drawing: &Drawing<'_>, act: Act, about: &str) -> (String, Option<Page>) {
        let vantage = &drawing.vantage;
        let page = match act {
            Act::Caseload => caseload(vantage).page(),
            Act::Alerts => {
                let which = AlertWhich {
                    open_only: !about.split_whitespace().any(|word| word == "all"),
                    patient: drawing.patient.filter(|_| !matches!(about, "" | "all")),
                    ..AlertWhich::default()
                };
                alert_ledger(vantage, &which).page()
            }
            Act::Tasks => due_list(vantage, &self.wanted(drawing, about)).page(),
            Act::Timeline => match drawing.patient {
                Some(_) => drawing.timeline(self.sees_secrets()),
                None => {
                    return (
                        "No patient is selected; timeline NAME says whose.".to_owned(),
                        None,
                    );
                }
            },
            Act::Workings => match drawing.patient.and_then(|id| vantage.ward.patient(id)) {
                Some(patient) => match drawing.fluid_over {
                    Some(over) => workings_of_window(vantage, patient, over).page(),
                    None => workings_of(vantage, patient).page(),
                },
                None => {
                    return (
                        "No patient is selected; workings NAME says whose.".to_owned(),
                        None,
                    );
                }
            },
            Act::Handover => {
                let sheet = sheet_now(vantage.ward, vantage.now).page();
                return (super::handing::waiting(vantage.ward), Some(sheet));
            }
            Act::Baseline => {
                let said = match drawing.patient {
                    Some(patient) => known_of(vantage, patient, self.sees_secrets()),
                    None => "No patient is selected; baseline NAME says whose.".to_owned(),
                };
                return (drawing.headed(said), None);
            }
            _ => return (drawing.headed(patients(vantage)), None),
        };
        (String::new(), Some(page))
    }

    /// Whose work and how far ahead: a patient's all, the ward's for a shift.
    fn wanted(&self, drawing: &Drawing<'_>, about: &str) -> DueFilter {
        let mine = self.actor.as_ref().filter(|_| about == "mine");
        let shift_ahead = drawing.patient.is_none() && about != "all";
        DueFilter {
            patient: drawing.patient,
            owner: None,
            falls_to: mine.map(|actor| (actor.handle.clone(), actor.role)),
            until: shift_ahead.then(|| drawing.vantage.now.plus(AHEAD)),
            tasks_only: false,
        }
    }

    fn sees_secrets(&self) -> bool {
        let role = self.actor.as_ref().map(|actor| actor.role);
        role.is_some_and(may_read_key_safes)
    }

    /// One entry in full.
    pub(super) fn show(&mut self, seq: Seq) -> String {
        let (page, reservations) = {
            let station = held(&self.station);
            let read = match station.entry(seq) {
                Ok(read) => read,
                Err(error) => return error.to_string(),
            };
            let patient = match &read {
                Read::Entry(entry) => entry.patient,
                Read::Unreadable(unreadable) => unreadable.patient,
            };
            let vantage = vantage(station.ward(), station.now());
            let drawing = Drawing {
                station: &station,
                vantage,
                patient,
                reservations: station.reservations(),
                is_past: false,
                is_today: false,
                fluid_over: None,
            };
            let view = entry_view(
                &drawing.vantage,
                &read,
                &drawing.reads(),
                self.sees_secrets(),
            );
            (view.page(), drawing.reservations)
        };
        self.draw(&page, &reservations);
        String::new()
    }

    /// The patient a view is about: named, or the selected one.
    pub(super) fn patient_of(&self, about: &str) -> Result<Option<Pseudonym>, String> {
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
}

/// Whose, and whether only today is wanted: `timeline pell today`.
pub(super) fn of_today(act: Act, about: &str) -> (&str, bool) {
    let about = about.trim();
    match about.strip_suffix("today") {
        Some(rest) if act == Act::Timeline && (rest.is_empty() || rest.ends_with(' ')) => {
            (rest.trim_end(), true)
        }
        _ => (about, false),
    }
}

/// Whose, and over how long fluid is balanced: `workings pell over 12h`.
///
/// # Errors
/// What is no window, and what would be one.
pub(super) fn of_window(act: Act, about: &str) -> Result<(&str, Option<Span>), String> {
    let about = about.trim();
    let split = match about.strip_prefix("over ") {
        Some(span) => Some(("", span)),
        None => about.rsplit_once(" over "),
    };
    let Some((whose, span)) = split.filter(|_| act == Act::Workings) else {
        return Ok((about, None));
    };
    let hours = parse_span(span)
        .ok()
        .filter(|over| over.whole_minutes() % 60 == 0)
        .map(|over| over.whole_minutes() / 60)
        .filter(|hours| FLUID_HOURS.contains(hours));
    match hours {
        Some(hours) => Ok((whose.trim_end(), Some(Span::hours(hours)))),
        None => Err(format!(
            "over \"{span}\" is no window of a fluid balance. Accepted: whole hours from {} to {}, e.g. workings over 12h.",
            FLUID_HOURS.start(),
            FLUID_HOURS.end()
        )),
    }
}

fn settings_page(vantage: &Vantage<'_>, about: &str) -> Result<Page, String> {
    let no_such = |name: &str| {
        no_such_setting(name)
            .map(|problem| format!("{}. Accepted: {}.", problem.what, problem.accepted))
    };
    let (first, rest) = about.split_once(' ').unwrap_or((about, ""));
    if first == "history" {
        let name = Some(rest.trim()).filter(|name| !name.is_empty());
        let history = policy_history(vantage, name);
        let none = name.filter(|_| history.changes.is_empty());
        return none.and_then(no_such).map_or(Ok(history.page()), Err);
    }
    let view = policy_view(vantage);
    if about.is_empty() {
        return Ok(view.page());
    }
    view.only(about)
        .map(|view| view.page())
        .ok_or_else(|| no_such(about).unwrap_or_default())
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
        words::cpr(details.resuscitation)
    ));
    let alike: Vec<String> = ward
        .similar_names(patient)
        .iter()
        .map(|other| look::who(ward, Some(other.pseudonym)))
        .collect();
    if !alike.is_empty() {
        lines.push(format!("  TAKE CARE, similar name: {}", alike.join("; ")));
    }
    lines.join("\n")
}

/// Who it is, and how they are: what is read before anything is done.
pub(super) fn card(ward: &Ward, pseudonym: Pseudonym, now: Timestamp) -> String {
    let mut text = identity(ward, pseudonym, now);
    if let Some(patient) = ward.patient(pseudonym) {
        for line in at_glance(&vantage(ward, now), patient) {
            text.push_str("\n  ");
            text.push_str(&line);
        }
    }
    text
}

/// The newest score and contact with their age, so that an old value never looks like now.
fn last_known(patient: &Patient, ward: &Ward, now: Timestamp) -> String {
    let ago = |set: &ObservationSet| now.since(set.stamp.occurred_at).spoken();
    let floor = |set: &ObservationSet| {
        let floor = set.news2().and_then(|news2| news2.at_least());
        floor.map_or(String::new(), |floor| format!(", at least {floor}"))
    };
    let set = match patient.last_set() {
        None => "no readings".to_owned(),
        Some(set) => match (
            set.total(),
            patient.last_total_before(set.stamp.occurred_at),
        ) {
            (Some(total), _) => format!("NEWS2 {total}, {} ago", ago(set)),
            (None, None) => format!("NEWS2 incomplete{}, {} ago", floor(set), ago(set)),
            (None, Some((last, total))) => format!(
                "NEWS2 incomplete{}, {} ago; last complete {total}, {} ago",
                floor(set),
                ago(set),
                ago(last)
            ),
        },
    };
    let reached = match patient.last_reached() {
        None => "not reached yet".to_owned(),
        Some(held) => format!("reached {}", ward.zone().day_time(held.stamp.occurred_at)),
    };
    // No answer is a finding: an attempt that reached nobody comes before who was reached once.
    let unreached = patient.unreached();
    let Some(last) = unreached.last() else {
        return format!("{set}; {reached}");
    };
    let tries = match unreached.len() {
        1 => String::new(),
        tries => format!(" ({tries} attempts)"),
    };
    format!(
        "{set}; NOT REACHED {}: {}{tries}; before that {reached}",
        ward.zone().day_time(last.stamp.occurred_at),
        last.body.outcome.label()
    )
}

/// Everybody on the ward in a line each: what the caseload counts, in words.
fn patients(vantage: &Vantage<'_>) -> String {
    let (ward, now) = (vantage.ward, vantage.now);
    let rows = caseload(vantage).patients;
    if rows.is_empty() {
        return "Nobody is on the ward.".to_owned();
    }
    let lines = rows.iter().map(|row| {
        let known = ward.patient(row.who.patient);
        let known = known.map_or_else(String::new, |patient| last_known(patient, ward, now));
        let open: String = open(row).iter().map(|said| format!("; {said}")).collect();
        format!(
            "{:<5} {:<28} {known}{open}",
            row.who.slot.as_deref().unwrap_or("-"),
            row.who.name,
        )
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// What of somebody is open, the most urgent first, and what must be said beside the name.
fn open(row: &CaseloadRow) -> Vec<String> {
    let some =
        |count: usize, one: &str, many: &str| (count > 0).then(|| words::count(count, one, many));
    let critical = match row.critical_unseen {
        0 => String::new(),
        critical => format!(" ({critical} CRITICAL)"),
    };
    [
        some(row.escalations, "open ESCALATION", "open ESCALATIONS"),
        some(row.alerts, "open alert", "open alerts"),
        some(row.results_unseen, "result", "results")
            .map(|count| format!("{count} NOT LOOKED AT{critical}")),
        row.silent.then(|| "SILENT, no readings".to_owned()),
        some(row.overdue, "overdue", "overdue"),
        (!row.similar_names.is_empty()).then(|| "SIMILAR NAME".to_owned()),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// What is known of their baseline, a line each, under who they are.
fn known_of(vantage: &Vantage<'_>, pseudonym: Pseudonym, secrets: bool) -> String {
    let mut text = identity(vantage.ward, pseudonym, vantage.now);
    let patient = vantage.ward.patient(pseudonym);
    for known in patient.map_or_else(Vec::new, |patient| baseline(vantage, patient, secrets)) {
        let said = super::entering::marked(&known.said);
        text.push_str(&format!("\n  {:<18} {said}", known.label));
    }
    text
}

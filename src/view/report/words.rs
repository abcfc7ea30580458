//! What each part and figure of a report is called, how it was counted, and after whom.

use crate::record::field::Choice;
use crate::record::kind::alert::{AlertOutcome, AlertSource, Severity};
use crate::record::kind::contact::{ContactMode, ContactOutcome};
use crate::record::kind::episode::{Destination, ReferralSource};
use crate::record::kind::ward::{AmendmentAct, AmendmentCause};
use crate::ward::report::{Figure, Matter};

const COMMON: &str = "common practice, no source";
const OURS: &str = "ours, no source";

pub(super) const DAYS_COUNTED: &str = "Here: on the ward at the snapshot hour (policy report.snapshot_hour); a share only where the ward has said how many places it had then (policy report.capacity). Night: on the ward at the midnight that ends the day. Missed: contacts that reached nobody. What is before the journal is not known. A day on which the clocks change has 23 or 25 hours. Source: the hospital bed situation report counts at 08:00, the hour of the virtual-ward collection is not known to us; a share above 80 % is what NHS England's virtual-ward framework (August 2024) asks for; that it may pass 100 % is common practice, no source.";

pub(super) const SERIES_RULE: &str = "XmR by whole days: mean and limits (2.66 mean moving ranges away) rest on the first 12 days; a signal is a day beyond a limit, 7 days on one side of the mean, 7 rising or falling, or two of three near one limit. Source: the rules of the NHS \"Making Data Count\" charts as their published R library states them.";

pub(super) const fn title(about: Matter) -> &'static str {
    match about {
        Matter::Admissions => "Admissions",
        Matter::Discharges => "Discharges and length of stay",
        Matter::Beds => "On the ward",
        Matter::Contacts => "Contacts",
        Matter::ContactsDue => "Contacts that were agreed",
        Matter::Alerts => "Alerts",
        Matter::Escalations => "Escalations",
        Matter::Tasks => "Tasks",
        Matter::Readings => "Observations",
        Matter::Writing => "Entries",
        Matter::Amendments => "Corrections and withdrawals",
        Matter::Handovers => "Handovers",
        Matter::Shifts => "Shifts",
    }
}

pub(super) const fn counted(about: Matter) -> &'static str {
    match about {
        Matter::Admissions => {
            "By when the patient came. Step up: sent by a general practice, a community team or the ambulance service; step down: by a hospital ward; of others the record does not say which."
        }
        Matter::Discharges => {
            "By when the patient left, and where to as whoever discharged them wrote it, expected and unexpected deaths too. Length of stay: date of leaving less date of coming, on the ward's calendar."
        }
        Matter::Beds => {
            "Who is on the ward as a moment begins: whoever comes at it is not, whoever leaves at it is. Bed days: midnights spent on the ward, those after the period's first moment. Of the time before the journal neither is known. A stay whose end is not known is in no bed day."
        }
        Matter::Contacts => {
            "By when each took place; all contacts, with and about patients. Reached nobody: no answer, voicemail, wrong number, could not get in."
        }
        Matter::ContactsDue => {
            "By when each was due. Another time agreed: in a contact before it was due. Reached: the patient or a carer, then or later. Tried: the first attempt then or later reached nobody. A patient who left before it was due is not counted; a call with a professional is neither."
        }
        Matter::Alerts => {
            "By when each was raised. Seen: the first step of any sort; taken: or anything after that; acted on: acted on, escalated or closed. Each time is from raising; an alert that still waits counts in the median as longer than all that do not."
        }
        Matter::Escalations => {
            "By when each was made; the time is until the first answer. One closed without an answer is in no time. After the time asked for: answered or closed later than it, or still waiting then."
        }
        Matter::Tasks => {
            "What was said of a task by when it was done; overdue by when it was due. Late: after it was due, as put off by then. Repeats nobody said anything of: those a later \"done\" passed over; of a repeating task that is overdue only its first repeat counts."
        }
        Matter::Readings => {
            "By when a set was taken, sets with a vital sign only; incomplete: no NEWS2 total. Silence: longer without a set than policy record.silence_hours, from admission, the journal's beginning or a set to the next, counted where the limit was passed. Next set late: after the interval the score asks for (policy news2). Both by policy as of the view."
        }
        Matter::Writing => {
            "By when it was written; late: written longer after it happened than policy record.late_entry_minutes. Withdrawn entries count: they were written."
        }
        Matter::Amendments => {
            "By when the correction or withdrawal was written, also one that was taken back since."
        }
        Matter::Handovers => {
            "By when each was prepared; the wait is until the whole ward was accepted. Overtaken: never answered, and a later one was accepted."
        }
        Matter::Shifts => {
            "Shifts by when they begin. Covered: minutes of the period, since the journal began, in which some shift with somebody on it is recorded."
        }
    }
}

pub(super) const fn source(about: Matter) -> &'static str {
    match about {
        Matter::Admissions => "step up and step down: common practice, no source",
        Matter::Discharges | Matter::Beds => {
            "NHS Data Dictionary, from memory: length of stay by dates, occupied bed days by midnights"
        }
        Matter::Contacts | Matter::Tasks | Matter::Writing | Matter::Amendments => COMMON,
        Matter::ContactsDue | Matter::Alerts | Matter::Escalations => OURS,
        Matter::Readings => {
            "intervals: RCP 2017, NEWS2 chart 4, written for hospital wards, and the ward's policy; the rest ours, no source"
        }
        Matter::Handovers | Matter::Shifts => OURS,
    }
}

/// The lists whose codes say of what sort a figure is.
const fn lists(about: Matter) -> &'static [&'static [Choice]] {
    match about {
        Matter::Admissions => &[ReferralSource::CHOICES],
        Matter::Discharges => &[Destination::CHOICES],
        Matter::Contacts => &[ContactMode::CHOICES, ContactOutcome::CHOICES],
        Matter::Alerts => &[
            AlertSource::CHOICES,
            Severity::CHOICES,
            AlertOutcome::CHOICES,
        ],
        Matter::Amendments => &[AmendmentAct::CHOICES, AmendmentCause::CHOICES],
        _ => &[],
    }
}

fn sort_label(about: Matter, code: &str) -> &str {
    let mut choices = lists(about).iter().flat_map(|list| list.iter());
    let found = choices.find(|choice| choice.code == code);
    found.map_or(code, |choice| choice.label)
}

/// What a figure is called.
pub(super) fn label(about: Matter, figure: &Figure) -> String {
    let sort: Vec<&str> = figure
        .of
        .iter()
        .map(|code| sort_label(about, code))
        .collect();
    match (figure.name, sort.join(", ")) {
        (name, sort) if sort.is_empty() => name_label(about, name).to_owned(),
        ("closed", sort) => format!("closed: {sort}"),
        (_, sort) => sort,
    }
}

/// The figures of a part that are of no sort, by name, and what each is called.
pub(super) const fn names(about: Matter) -> &'static [(&'static str, &'static str)] {
    match about {
        Matter::Admissions => &[
            ("admitted", "came"),
            ("step-up", "step up"),
            ("step-down", "step down"),
            ("step-not-said", "step up or down not said"),
            ("admitted-again", "of all, had stayed here before"),
        ],
        Matter::Discharges => &[
            ("left", "left"),
            (
                "stay-ends-before-it-begins",
                "left before they came: check the times",
            ),
        ],
        Matter::Beds => &[
            ("here-at-start", "on the ward at the beginning"),
            ("here-at-end", "on the ward at the end"),
            ("bed-days", "bed days"),
            ("end-of-stay-unknown", "stays of which no end is recorded"),
        ],
        Matter::Contacts => &[("contacts", "contacts"), ("unreached", "reached nobody")],
        Matter::ContactsDue => &[
            ("due", "agreed and due"),
            ("agreed-anew", "another time agreed"),
            ("made", "reached, after it was due by"),
            ("tried", "tried, after it was due by"),
            ("left-without", "did not happen before the patient left"),
            ("waits", "has not happened"),
            (
                "waits-from-before",
                "due before the period, has not happened",
            ),
        ],
        Matter::Alerts => &[
            ("raised", "all alerts"),
            ("open-at-start", "open at the beginning"),
            ("closed", "closed in the period"),
            ("open-at-end", "open at the end"),
        ],
        Matter::Escalations => &[
            ("made", "made, until answered"),
            (
                "after-the-time-asked-for",
                "answered after the time asked for, or not yet",
            ),
            ("closed-without-answer", "closed without an answer"),
            ("no-answer", "attempts nobody answered"),
            ("open-at-start", "open at the beginning, until answered"),
            ("closed", "closed in the period"),
            ("open-at-end", "open at the end"),
        ],
        _ => names_of_work(about),
    }
}

const fn names_of_work(about: Matter) -> &'static [(&'static str, &'static str)] {
    match about {
        Matter::Tasks => &[
            ("set", "set"),
            ("done", "done"),
            ("done-in-time", "of these, in time"),
            ("done-late", "of these, late by"),
            ("not-done", "not done, with a reason"),
            ("put-off", "put off"),
            ("cancelled", "cancelled"),
            ("repeats-nothing-said", "repeats nobody said anything of"),
            ("overdue", "overdue and still open"),
            ("overdue-from-before", "due before the period, still open"),
        ],
        Matter::Readings => &[
            ("sets", "sets"),
            ("complete", "complete, with a total"),
            ("incomplete", "incomplete"),
            (
                "sets-not-proved",
                "sets not proved to be their author's, in no other figure",
            ),
            ("silences", "silences, how long"),
            ("patients-silent", "patients with a silence"),
            ("silences-from-before", "silence since before the period"),
            ("next-set-late", "next set late by"),
            ("patients-next-set-late", "patients whose next set was late"),
            (
                "continuous-asked-for",
                "sets after which monitoring was to be continuous: not judged",
            ),
        ],
        Matter::Writing => &[("written", "written"), ("late", "late, by")],
        Matter::Amendments => &[
            ("corrected", "corrections"),
            ("withdrawn", "withdrawals"),
            ("amendments-withdrawn", "of both, taken back since"),
        ],
        Matter::Handovers => &[
            ("prepared", "prepared, until accepted"),
            ("accepted", "accepted"),
            ("declined", "not accepted"),
            ("overtaken", "overtaken"),
            ("patients-held-back", "accepted with somebody held back"),
            (
                "prepared-before",
                "prepared before the period, not answered",
            ),
            ("queries", "queries"),
        ],
        Matter::Shifts => &[
            ("shifts", "shifts"),
            ("nobody-on", "of these, with nobody on"),
            ("covered", "covered"),
            ("not-covered", "not covered by any shift"),
        ],
        _ => &[],
    }
}

fn name_label(about: Matter, name: &'static str) -> &'static str {
    let found = names(about).iter().find(|(known, _)| *known == name);
    found.map_or(name, |(_, label)| label)
}

/// What a daily measure is called.
pub(super) fn measure(name: &'static str) -> &'static str {
    match name {
        "here" => "patients at the snapshot",
        "admitted" => "admissions",
        "contacts" => "contacts",
        "unreached" => "contacts that reached nobody",
        "alerts-raised" => "alerts raised",
        "late" => "late entries",
        name => name,
    }
}

/// What an open item of a part still waits for.
pub(super) const fn waits_for(about: Matter) -> &'static str {
    match about {
        Matter::ContactsDue => "Has not happened, due since",
        Matter::Alerts => "Still open, waiting since",
        Matter::Escalations => "Still unanswered, waiting since",
        Matter::Tasks => "Still overdue, since",
        Matter::Readings => "Still waiting, since",
        Matter::Handovers => "Still not accepted, waiting since",
        _ => "Still waiting, since",
    }
}

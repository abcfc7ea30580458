//! What the program works out about one patient from the entries: each statement with its
//! parts, the entries it rests on, its source and its caution.
//!
//! The arithmetic is `clinical`'s; here is only which of the patient's entries go into which
//! of its functions. The shell, the sheet and JSON all show these same statements, so that no
//! two of them can disagree. Nothing here is stored: it follows from the entries and the
//! moment.

mod bloods;
mod consciousness;
mod fluid;
mod kidney;
mod pain;
mod postures;
mod pressure;
mod reach;
mod score;
mod stay;
mod trends;
mod wounds;

use serde::Serialize;

use super::observations::ObservationSet;
use super::policy::Policy;
use super::{Patient, Ward};
use crate::record::ids::Seq;
use crate::record::time::{Span, Timestamp, WardZone};

/// What a statement is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum About {
    /// Whether anybody answers: the patient, or who was asked for help.
    Answer,
    /// The early warning score.
    Score,
    /// The coma scale and the 4AT.
    Consciousness,
    /// One vital sign against the patient's own usual.
    Trend,
    /// Blood pressure.
    Pressure,
    /// Results of the laboratory.
    Bloods,
    /// Kidney function and injury.
    Kidney,
    /// One wound.
    Wound,
    /// Fluids in and out.
    Fluid,
    /// Pain.
    Pain,
    /// Days of stay and of treatment.
    Stay,
}

impl About {
    /// Every matter.
    pub const ALL: [About; 11] = [
        About::Answer,
        About::Score,
        About::Consciousness,
        About::Trend,
        About::Pressure,
        About::Bloods,
        About::Kidney,
        About::Wound,
        About::Fluid,
        About::Pain,
        About::Stay,
    ];

    /// In one word.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            About::Answer => "answer",
            About::Score => "score",
            About::Consciousness => "consciousness",
            About::Trend => "trend",
            About::Pressure => "pressure",
            About::Bloods => "bloods",
            About::Kidney => "kidney",
            About::Wound => "wound",
            About::Fluid => "fluid",
            About::Pain => "pain",
            About::Stay => "stay",
        }
    }
}

/// How much a statement asks of its reader. Only the first two stand on the handover sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// Somebody has to do something now.
    Act,
    /// Somebody should look.
    Look,
    /// It is so; nothing follows from it.
    Say,
}

/// A number that went into a statement, or came out of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Part {
    /// What it is.
    pub name: &'static str,
    /// Its value with its unit, in words.
    pub value: String,
}

impl Part {
    /// A named value.
    #[must_use]
    pub fn new(name: &'static str, value: impl Into<String>) -> Part {
        Part {
            name,
            value: value.into(),
        }
    }
}

/// One thing the program worked out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Working {
    /// What it is about.
    pub about: About,
    /// How much it asks of its reader.
    pub weight: Weight,
    /// One plain sentence. It may quote what people wrote: hostile until escaped.
    pub text: String,
    /// The numbers behind it.
    pub parts: Vec<Part>,
    /// The entries it was worked out from, oldest first.
    pub entries: Vec<Seq>,
    /// The publication, or that there is none.
    pub source: &'static str,
    /// What it must not be taken for.
    pub caution: &'static str,
}

/// From what, and as of when, something is worked out.
#[derive(Clone, Copy)]
struct Desk<'a> {
    patient: &'a Patient,
    /// The ward's policy at that moment.
    policy: &'a Policy,
    zone: WardZone,
    now: Timestamp,
    /// Over how long fluid is balanced, where somebody asked for another window than the policy's.
    fluid_over: Option<Span>,
}

impl<'a> Desk<'a> {
    fn at(ward: &'a Ward, patient: &'a Patient, now: Timestamp) -> Desk<'a> {
        Desk {
            patient,
            policy: ward.policy(),
            zone: ward.zone(),
            now,
            fluid_over: None,
        }
    }

    fn fluid_window(&self) -> Span {
        let policy = self.policy.values().fluid().window;
        self.fluid_over.unwrap_or(policy)
    }

    /// The sets of this stay that were taken by now.
    fn sets(&self) -> Vec<&'a ObservationSet> {
        let sets = self.patient.sets_of_stay().iter();
        sets.filter(|set| set.stamp.occurred_at <= self.now)
            .collect()
    }

    /// `22:10` today, `Sun 22:10` within six days, `25-Oct-2026 22:10` otherwise: a weekday alone
    /// would put a result of three weeks ago into this week.
    fn when(&self, moment: Timestamp) -> String {
        let days = (self.zone.date(self.now) - self.zone.date(moment)).num_days();
        match days {
            0 => self.zone.clock_time(moment),
            -6..=6 => self.zone.day_time(moment),
            _ => self.zone.date_time(moment),
        }
    }

    fn age_years(&self) -> Option<u32> {
        let age = self.patient.age_on(self.zone.date(self.now))?;
        Some(age.years)
    }
}

/// `16:29, 2hr 55min ago`.
fn ago(desk: &Desk<'_>, moment: Timestamp) -> String {
    let (at, ago) = (desk.when(moment), desk.now.since(moment).spoken());
    format!("{at}, {ago} ago")
}

/// With a capital first letter.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// All that can be worked out about a patient as of a moment, most pressing first.
#[must_use]
pub fn workings(ward: &Ward, patient: &Patient, now: Timestamp) -> Vec<Working> {
    worked_out(&Desk::at(ward, patient, now))
}

/// Shortest and longest window of a fluid balance that may be asked for, in hours: a shift's part
/// to a week.
pub const FLUID_HOURS: std::ops::RangeInclusive<i64> = 1..=168;

/// As [`workings`], with the fluid balance over another window than the policy's.
#[must_use]
pub fn workings_over(ward: &Ward, patient: &Patient, now: Timestamp, fluid: Span) -> Vec<Working> {
    worked_out(&Desk {
        fluid_over: Some(fluid),
        ..Desk::at(ward, patient, now)
    })
}

fn worked_out(desk: &Desk<'_>) -> Vec<Working> {
    let mut worked = reach::reach(desk);
    worked.extend(score::score(desk));
    worked.extend(consciousness::consciousness(desk));
    worked.extend(score::beside(desk));
    worked.extend(trends::trends(desk));
    worked.extend(pressure::pressure(desk));
    worked.extend(bloods::bloods(desk));
    worked.extend(kidney::kidney(desk));
    worked.extend(wounds::wounds(desk));
    worked.extend(fluid::fluid(desk));
    worked.extend(pain::pain(desk));
    worked.extend(stay::stays(desk));
    worked.sort_by_key(|working| (working.weight, working.about));
    worked
}

/// What the newest set calls for by the ward's policy: the response, and when the next is due.
#[must_use]
pub fn called_for(ward: &Ward, patient: &Patient, now: Timestamp) -> Vec<Working> {
    score::called_for(&Desk::at(ward, patient, now))
}

/// The sets a trend of a patient's vital signs is drawn from as of a moment, oldest first.
#[must_use]
pub fn trended(patient: &Patient, until: Timestamp) -> Vec<&ObservationSet> {
    trends::trended(patient, until)
}

/// Every reason to doubt a set's score, as people read it.
#[must_use]
pub fn doubts(
    ward: &Ward,
    patient: &Patient,
    set: &ObservationSet,
    now: Timestamp,
) -> Vec<&'static str> {
    score::doubts(&Desk::at(ward, patient, now), set)
}

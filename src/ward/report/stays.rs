//! Stays on the ward: who came, from where; who left, to where; how long they had stayed.

use super::figure::{Figure, midnights, tally};
use super::{Desk, Event, event};
use crate::clinical::stay::stay;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::episode::{Destination, ReferralSource};
use crate::record::time::{Timestamp, WardZone};
use crate::ward::patient::Episode;

/// One stay.
pub(super) struct Stay<'a> {
    pub(super) patient: Pseudonym,
    pub(super) episode: &'a Episode,
    /// Not the patient's first here.
    again: bool,
    /// The patient was admitted again before any discharge: when this stay ended is not known.
    pub(super) end_unknown: bool,
}

impl Stay<'_> {
    pub(super) fn seq(&self) -> Seq {
        self.episode.admitted.seq()
    }

    pub(super) fn began(&self) -> Timestamp {
        self.episode.admitted.stamp.occurred_at
    }

    pub(super) fn left(&self) -> Option<Event> {
        let discharged = self.episode.discharged.as_ref()?;
        Some(event(&discharged.stamp))
    }

    fn left_at(&self) -> Option<Timestamp> {
        self.left().map(|(at, _)| at)
    }

    /// It has a beginning and, if it ended, an end after it.
    pub(super) fn is_sound(&self) -> bool {
        !self.end_unknown && self.left_at().is_none_or(|left| left >= self.began())
    }

    /// On the ward as a moment begins: whoever comes at that moment is not, and whoever leaves
    /// at it still is.
    pub(super) fn is_here(&self, moment: Timestamp) -> bool {
        let stays = self.left_at().is_none_or(|left| left >= moment);
        self.is_sound() && self.began() < moment && stays
    }

    /// Midnights of the ward's calendar, once it ended.
    pub(super) fn midnights(&self, zone: WardZone) -> Option<i64> {
        let left = self.left_at().filter(|_| self.is_sound())?;
        stay(self.began(), left, zone)
            .ok()
            .map(|stay| stay.midnights)
    }
}

/// Every stay there was.
pub(super) struct Stays<'a>(pub(super) Vec<Stay<'a>>);

impl<'a> Stays<'a> {
    pub(super) fn of(desk: &Desk<'a>) -> Stays<'a> {
        let all = desk.ward.patients().flat_map(|patient| {
            let last = patient.episodes.len().saturating_sub(1);
            let episodes = patient.episodes.iter().enumerate();
            episodes.map(move |(at, episode)| Stay {
                patient: patient.pseudonym,
                episode,
                again: at > 0,
                end_unknown: at < last && episode.discharged.is_none(),
            })
        });
        Stays(all.collect())
    }

    fn begun(&self, desk: &Desk<'_>) -> Vec<&Stay<'a>> {
        let begun = self.0.iter().filter(|stay| desk.holds(stay.began()));
        begun.collect()
    }

    fn ended(&self, desk: &Desk<'_>) -> Vec<(&Stay<'a>, Seq)> {
        let ended = self.0.iter().filter_map(|stay| Some((stay, stay.left()?)));
        let held = ended.filter(|(_, (at, _))| desk.holds(*at));
        held.map(|(stay, (_, seq))| (stay, seq)).collect()
    }
}

/// From community care up to this ward, or from hospital down to it, where the record says.
fn step(source: ReferralSource) -> &'static str {
    match source {
        ReferralSource::GeneralPractice
        | ReferralSource::CommunityTeam
        | ReferralSource::Ambulance => "step-up",
        ReferralSource::HospitalWard => "step-down",
        ReferralSource::EmergencyDepartment
        | ReferralSource::SameDayCare
        | ReferralSource::Other => "step-not-said",
    }
}

pub(super) fn admissions(desk: &Desk<'_>, stays: &Stays<'_>) -> Vec<Figure> {
    let begun = stays.begun(desk);
    let source = |stay: &&Stay<'_>| stay.episode.admitted.body.source;
    let mut by_source = tally(begun.iter().map(|stay| (source(stay), stay.seq())));
    let mut by_step = tally(begun.iter().map(|stay| (step(source(stay)), stay.seq())));
    let again = begun.iter().filter(|stay| stay.again);
    let mut figures = vec![desk.figure("admitted", begun.iter().map(|stay| stay.seq()))];
    for name in ["step-up", "step-down", "step-not-said"] {
        figures.push(desk.figure(name, by_step.remove(name).unwrap_or_default()));
    }
    for source in ReferralSource::ALL {
        let entries = by_source.remove(source).unwrap_or_default();
        figures.push(desk.figure("admitted", entries).sort(vec![source.code()]));
    }
    figures.push(desk.figure("admitted-again", again.map(|stay| stay.seq())));
    figures
}

pub(super) fn discharges(desk: &Desk<'_>, stays: &Stays<'_>) -> Vec<Figure> {
    let zone = desk.ward.zone();
    let ended = stays.ended(desk);
    let destination = |stay: &Stay<'_>| {
        let discharged = stay.episode.discharged.as_ref();
        discharged.map(|discharge| discharge.body.to)
    };
    let by = ended
        .iter()
        .filter_map(|(stay, seq)| Some((destination(stay)?, *seq)));
    let mut by_destination = tally(by);
    let nights = ended
        .iter()
        .filter_map(|(stay, seq)| Some((stay.midnights(zone)?, *seq)));
    let nights: Vec<(i64, Seq)> = nights.collect();
    let not_measured = ended.iter().filter(|(stay, _)| !stay.is_sound());
    let not_measured: Vec<Seq> = not_measured.map(|(_, seq)| *seq).collect();
    let left = desk.figure("left", ended.iter().map(|(_, seq)| *seq));
    let mut figures = vec![left.taking(midnights("stayed", &nights))];
    for destination in Destination::ALL {
        let entries = by_destination.remove(destination).unwrap_or_default();
        figures.push(desk.figure("left", entries).sort(vec![destination.code()]));
    }
    if !not_measured.is_empty() {
        figures.push(desk.figure("stay-ends-before-it-begins", not_measured));
    }
    figures
}

//! Sets of observations, incomplete ones, and patients without any for too long.

use super::figure::{Figure, Taking, Unit};
use super::stays::{Stay, Stays};
use super::{Desk, still};
use crate::clinical::news2::{NextSet, next_set_by};
use crate::clinical::policy;
use crate::record::ids::Seq;
use crate::record::time::Timestamp;
use crate::ward::observations::ObservationSet;

pub(super) fn readings(desk: &Desk<'_>, stays: &Stays<'_>) -> Vec<Figure> {
    let mut figures = sets(desk);
    figures.extend(gaps(desk, stays));
    figures
}

fn sets(desk: &Desk<'_>) -> Vec<Figure> {
    let patients = || desk.ward.patients();
    let held = |set: &&ObservationSet| desk.holds(set.stamp.occurred_at) && set.has_vital_sign();
    let sets = patients().flat_map(|patient| &patient.sets).filter(held);
    let sets: Vec<&ObservationSet> = sets.collect();
    let those = |which: &dyn Fn(&ObservationSet) -> bool| {
        let those = sets.iter().filter(|set| which(set));
        those.map(|set| set.stamp.seq).collect::<Vec<Seq>>()
    };
    let unproved = patients()
        .flat_map(|patient| &patient.unproved_sets)
        .filter(held);
    let unproved: Vec<Seq> = unproved.map(|set| set.stamp.seq).collect();
    let mut figures = vec![
        desk.figure("sets", those(&|_| true)),
        desk.figure("complete", those(&|set| set.total().is_some())),
        desk.figure("incomplete", those(&|set| set.total().is_none())),
    ];
    if !unproved.is_empty() {
        figures.push(desk.figure("sets-not-proved", unproved));
    }
    figures
}

/// What lies behind one anchor in a stay: the admission or a set, until the next set, the end
/// of the stay, or now.
struct Behind<'a> {
    seq: Seq,
    began: Timestamp,
    set: Option<&'a ObservationSet>,
    next: Option<Timestamp>,
}

fn gaps(desk: &Desk<'_>, stays: &Stays<'_>) -> Vec<Figure> {
    let values = desk.ward.policy().values();
    let (silence, news2) = (values.record().silence, values.news2());
    let mut silent = Gaps::new(desk, "without-reading");
    let mut asked = Gaps::new(desk, "late-by");
    let mut continuous = Vec::new();
    for stay in stays.0.iter().filter(|stay| stay.is_sound()) {
        for behind in behind(desk, stay) {
            let since = behind.began.max(desk.began);
            silent.add(stay, &behind, since.plus(silence), since);
            match behind.set.and_then(|set| next_set(&news2, set)) {
                Some(NextSet::Due { to, .. }) => asked.add(stay, &behind, to, to),
                Some(NextSet::Continuous) if desk.holds(behind.began) => {
                    continuous.push(behind.seq);
                }
                _ => {}
            }
        }
    }
    let before = still(desk, "silences-from-before", silent.before());
    let [gaps, patients] = silent.figures("silences", "patients-silent");
    let [late, whose] = asked.figures("next-set-late", "patients-next-set-late");
    let unjudged = desk.figure("continuous-asked-for", continuous);
    vec![gaps, patients, before, late, whose, unjudged]
}

fn next_set(policy: &policy::News2, set: &ObservationSet) -> Option<NextSet> {
    let scored = set.news2()?;
    Some(next_set_by(policy, &scored, set.stamp.occurred_at))
}

/// The admission and each set of a stay, with what came after it.
fn behind<'a>(desk: &Desk<'a>, stay: &Stay<'_>) -> Vec<Behind<'a>> {
    let left = stay.left().map(|(at, _)| at);
    let patient = desk.ward.patient(stay.patient);
    let sets = patient.map_or(&[][..], |patient| &patient.sets);
    let of_stay = sets.iter().filter(|set| {
        let at = set.stamp.occurred_at;
        set.has_vital_sign() && stay.began() <= at && left.is_none_or(|left| at <= left)
    });
    let sets: Vec<&ObservationSet> = of_stay.collect();
    let first = Behind {
        seq: stay.seq(),
        began: stay.began(),
        set: None,
        next: sets.first().map(|set| set.stamp.occurred_at).or(left),
    };
    let others = sets.iter().enumerate().map(|(at, set)| Behind {
        seq: set.stamp.seq,
        began: set.stamp.occurred_at,
        set: Some(set),
        next: sets.get(at + 1).map(|next| next.stamp.occurred_at).or(left),
    });
    std::iter::once(first).chain(others).collect()
}

/// Gaps that went past a limit in the period.
struct Gaps<'a> {
    desk: Desk<'a>,
    taking: Taking,
    entries: Vec<Seq>,
    /// Went past the limit before the period, and still go on.
    before: Vec<(Seq, Timestamp)>,
    stays: Vec<(crate::record::ids::Pseudonym, Seq)>,
}

impl<'a> Gaps<'a> {
    const fn new(desk: &Desk<'a>, name: &'static str) -> Gaps<'a> {
        Gaps {
            desk: *desk,
            taking: Taking::until(name, desk.now),
            entries: Vec::new(),
            before: Vec::new(),
            stays: Vec::new(),
        }
    }

    /// Counted where the limit was passed, unless that was before the journal; measured from
    /// `since`.
    fn add(&mut self, stay: &Stay<'_>, behind: &Behind<'_>, limit: Timestamp, since: Timestamp) {
        let end = behind.next.unwrap_or(self.desk.now);
        if limit < end && limit >= self.desk.began && self.desk.holds(limit) {
            self.taking.add(behind.seq, since, behind.next);
            self.entries.push(behind.seq);
            self.stays.push((stay.patient, stay.seq()));
        } else if behind.next.is_none() && limit < self.desk.period.from {
            self.before.push((behind.seq, since));
        }
    }

    fn before(&self) -> Taking {
        let mut taking = Taking::until("without-reading", self.desk.now);
        for (seq, since) in &self.before {
            taking.add(*seq, *since, None);
        }
        taking
    }

    fn figures(mut self, gaps: &'static str, patients: &'static str) -> [Figure; 2] {
        self.stays.sort_unstable();
        let mut who: Vec<_> = self.stays.iter().map(|(patient, _)| *patient).collect();
        who.dedup();
        let stays = self.stays.iter().map(|(_, seq)| *seq);
        let whose = self.desk.figure(patients, stays);
        [
            self.desk
                .figure(gaps, self.entries)
                .taking(self.taking.spread()),
            whose.counting(who.len() as u64, Unit::Patients),
        ]
    }
}

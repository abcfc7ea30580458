//! Contacts that were made, those that reached nobody, and those that had been agreed.

use super::figure::{Figure, Taking, tally};
use super::{Desk, Event, event, still};
use crate::record::ids::Seq;
use crate::record::kind::contact::Contact;
use crate::record::time::Timestamp;
use crate::ward::{Held, Patient};

fn contacts<'a>(desk: &Desk<'a>) -> impl Iterator<Item = &'a Held<Contact>> {
    desk.ward.patients().flat_map(|patient| &patient.contacts)
}

/// When each contact took place, or only those that reached nobody.
pub(super) fn events(desk: &Desk<'_>, unreached_only: bool) -> Vec<Event> {
    contacts(desk)
        .filter(|held| !unreached_only || held.body.outcome.is_unreached())
        .map(|held| event(&held.stamp))
        .collect()
}

pub(super) fn made(desk: &Desk<'_>) -> Vec<Figure> {
    let held = contacts(desk).filter(|held| desk.holds(held.stamp.occurred_at));
    let held: Vec<&Held<Contact>> = held.collect();
    let unreached = held.iter().filter(|held| held.body.outcome.is_unreached());
    let by_mode = tally(held.iter().map(|held| (held.body.mode, held.seq())));
    let by_outcome = tally(held.iter().map(|held| (held.body.outcome, held.seq())));
    let by_both = tally(
        held.iter()
            .map(|held| ((held.body.mode, held.body.outcome), held.seq())),
    );
    let mut figures = vec![
        desk.figure("contacts", held.iter().map(|held| held.seq())),
        desk.figure("unreached", unreached.map(|held| held.seq())),
    ];
    for (mode, entries) in by_mode {
        figures.push(desk.figure("by-mode", entries).sort(vec![mode.code()]));
    }
    for (outcome, entries) in by_outcome {
        figures.push(
            desk.figure("by-outcome", entries)
                .sort(vec![outcome.code()]),
        );
    }
    for ((mode, outcome), entries) in by_both {
        let sort = vec![mode.code(), outcome.code()];
        figures.push(desk.figure("by-mode-and-outcome", entries).sort(sort));
    }
    figures
}

/// What became of a contact that had been agreed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Became {
    /// Another time was agreed before it was due, in this contact.
    AgreedAnew,
    /// The patient or a carer was reached, then or later.
    Made(Timestamp),
    /// The first attempt then or later reached nobody.
    Tried(Timestamp),
    /// The patient left after it was due, and nobody had tried.
    LeftWithout,
    /// Nobody has tried yet.
    Waits,
}

pub(super) fn due(desk: &Desk<'_>) -> Vec<Figure> {
    let mut agreed: Vec<(Seq, Timestamp, Became)> = Vec::new();
    let mut before = Taking::until("waits", desk.now);
    for patient in desk.ward.patients() {
        for (at, held) in patient.contacts.iter().enumerate() {
            let due = held.body.next.map(|next| next.0);
            let due = due.filter(|due| *due < desk.end());
            let due = due.and_then(|due| Some((due, became(patient, at, due)?)));
            match due {
                Some((due, became)) if desk.holds(due) => agreed.push((held.seq(), due, became)),
                Some((due, Became::Waits)) => before.add(held.seq(), due, None),
                _ => {}
            }
        }
    }
    let those = |which: fn(&Became) -> bool| {
        let those = agreed.iter().filter(move |(_, _, became)| which(became));
        those.map(|(seq, _, _)| *seq)
    };
    let mut made = Taking::until("reached-after", desk.now);
    let mut tried = Taking::until("tried-after", desk.now);
    let mut waits = Taking::until("waits", desk.now);
    for (seq, due, became) in &agreed {
        match became {
            Became::Made(at) => made.add(*seq, *due, Some(*at)),
            Became::Tried(at) => tried.add(*seq, *due, Some(*at)),
            Became::Waits => waits.add(*seq, *due, None),
            Became::AgreedAnew | Became::LeftWithout => {}
        }
    }
    let is_made = |became: &Became| matches!(became, Became::Made(_));
    let is_tried = |became: &Became| matches!(became, Became::Tried(_));
    vec![
        desk.figure("due", those(|_| true)),
        desk.figure("agreed-anew", those(|became| *became == Became::AgreedAnew)),
        desk.figure("made", those(is_made)).taking(made.spread()),
        desk.figure("tried", those(is_tried)).taking(tried.spread()),
        desk.figure(
            "left-without",
            those(|became| *became == Became::LeftWithout),
        ),
        desk.figure("waits", those(|became| *became == Became::Waits))
            .taking(waits.spread()),
        still(desk, "waits-from-before", before),
    ]
}

/// What became of what the contact at a place in the series agreed; nothing where the patient
/// left before it was due. Whoever speaks with a professional has neither made nor tried it.
fn became(patient: &Patient, at: usize, due: Timestamp) -> Option<Became> {
    let agreed_at = patient.contacts[at].stamp.occurred_at;
    let ends = patient
        .episodes
        .iter()
        .filter_map(|stay| stay.discharged.as_ref());
    let left = ends
        .map(|end| end.stamp.occurred_at)
        .filter(|left| *left >= agreed_at)
        .min();
    if left.is_some_and(|left| left < due) {
        return None;
    }
    let later = patient.contacts[at + 1..].iter();
    let later = later.take_while(|held| left.is_none_or(|left| held.stamp.occurred_at <= left));
    for held in later {
        let when = held.stamp.occurred_at;
        if when < due {
            if held.body.next.is_some() {
                return Some(Became::AgreedAnew);
            }
        } else if held.body.reached_the_home() {
            return Some(Became::Made(when));
        } else if held.body.outcome.is_unreached() {
            return Some(Became::Tried(when));
        }
    }
    Some(if left.is_some() {
        Became::LeftWithout
    } else {
        Became::Waits
    })
}

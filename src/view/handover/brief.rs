//! Every handover in a line, and what was written since one was accepted: the same words in the shell
//! and on the command line.

use serde::Serialize;

use super::SinceAccepted;
use crate::record::ids::{Digest, Seq};
use crate::record::time::{Timestamp, WardZone};
use crate::view::words;
use crate::ward::Ward;
use crate::ward::shifts::HandoverLife;

/// One handover and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InBrief {
    /// The entry that prepared it.
    pub seq: Seq,
    /// When it was prepared.
    pub prepared_at: Timestamp,
    /// The shift that gives.
    pub from_shift: String,
    /// The shift that takes.
    pub to_shift: String,
    /// Who prepared it.
    pub giver: String,
    /// For whom it was prepared.
    pub receiver: Option<String>,
    /// Digest of its sheet.
    pub digest: Option<Digest>,
    /// `waiting`, `accepted` or `declined`.
    pub state: &'static str,
    /// Who accepted or declined it.
    pub settled_by: Option<String>,
    /// When.
    pub settled_at: Option<Timestamp>,
    /// Questions nobody has answered.
    pub open_queries: usize,
    /// Patients who were not taken over with it.
    pub patients_held_back: usize,
}

impl InBrief {
    /// Of one handover.
    #[must_use]
    pub fn of(life: &HandoverLife) -> InBrief {
        let body = &life.prepared.body;
        let declined = life.declined().map(|step| &step.held.stamp);
        let (state, stamp) = match (life.accepted(), declined) {
            (Some(stamp), _) => ("accepted", Some(stamp)),
            (None, Some(stamp)) => ("declined", Some(stamp)),
            (None, None) => ("waiting", None),
        };
        InBrief {
            seq: life.seq(),
            prepared_at: life.prepared.stamp.occurred_at,
            from_shift: body.from_shift.0.clone(),
            to_shift: body.to_shift.0.clone(),
            giver: life.prepared.stamp.author.to_string(),
            receiver: body.receiver.as_ref().map(ToString::to_string),
            digest: body.sheet.as_ref().map(|sheet| sheet.digest),
            state,
            settled_by: stamp.map(|stamp| stamp.author.to_string()),
            settled_at: stamp.map(|stamp| stamp.occurred_at),
            open_queries: life.open_queries().len(),
            patients_held_back: life.patients_held_back().len(),
        }
    }
}

/// Every handover in a line, oldest first.
#[must_use]
pub fn handover_lines(ward: &Ward) -> Vec<String> {
    let zone = ward.zone();
    let lines = ward.handovers().values().map(InBrief::of).map(|one| {
        let by = one
            .settled_by
            .map(|who| format!(" by {who}"))
            .unwrap_or_default();
        let at = one
            .settled_at
            .map(|at| format!(" {}", zone.day_time(at)))
            .unwrap_or_default();
        format!(
            "{} {}: {} to {}, {}{at}{by}; {}, {}",
            one.seq,
            zone.day_time(one.prepared_at),
            one.from_shift,
            one.to_shift,
            one.state,
            words::count(one.open_queries, "open query", "open queries"),
            words::count(
                one.patients_held_back,
                "patient held back",
                "patients held back"
            ),
        )
    });
    lines.collect()
}

impl SinceAccepted {
    /// Each entry in a line, under one that says which handover.
    #[must_use]
    pub fn lines(&self, zone: WardZone) -> Vec<String> {
        let head = format!(
            "{} accepted {} by {}. Written since its sheet was drawn: {}",
            self.handover,
            zone.day_time(self.accepted_at),
            self.accepted_by,
            self.entries.len()
        );
        let lines = self.entries.iter().map(|line| {
            let who = line.who.as_ref().map_or("ward", |who| who.name.as_str());
            let similar = match &*line.similar_names {
                [] => String::new(),
                others => format!(" (SIMILAR NAME: {})", words::names(others)),
            };
            let early = if line.before_acceptance {
                " (before you accepted)"
            } else {
                ""
            };
            format!(
                "{:>6} {} {who}{similar}: {}, by {}{early}",
                line.seq.to_string(),
                zone.day_time(line.occurred_at),
                line.kind,
                line.by
            )
        });
        std::iter::once(head).chain(lines).collect()
    }
}

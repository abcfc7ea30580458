//! What was withdrawn since the last accepted sheet, and what was written after it.

use serde::Serialize;

use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::Kind;
use crate::record::kind::ward::AmendmentCause;
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp};
use crate::view::origin::{NameRef, Vantage, Writer};
use crate::view::page::{Dial, Line};
use crate::ward::{Log, LogLine, Patient, Standing, Ward};

/// An entry that was withdrawn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WithdrawnLine {
    /// The entry that was withdrawn.
    pub seq: Seq,
    /// What it was.
    pub kind: &'static str,
    /// In whose record it stands, struck; none for the ward's.
    pub who: Option<NameRef>,
    /// When it had been written.
    pub recorded_at: Timestamp,
    /// Who had written it.
    pub by: Writer,
    /// The withdrawal.
    pub withdrawn_by: Seq,
    /// Why.
    pub cause: AmendmentCause,
    /// The entry in the right record.
    pub entered_anew: Option<Seq>,
}

/// What was done lately to the keys of the records, which whoever reads the ward's pages would
/// otherwise not meet: a destroyed record is on no list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct KeysLine {
    /// The entry.
    pub seq: Seq,
    /// When it was recorded.
    pub recorded_at: Timestamp,
    /// What was done.
    pub what: &'static str,
    /// The record it was done to.
    pub patient: Option<Pseudonym>,
    /// Who did it; two people, where it takes two.
    pub by: Vec<Writer>,
}

/// For how long it is said; our choice, no source. `sealing status` says it for ever.
const KEYS_SAID: Span = Span::days(28);

/// Records destroyed and recovery keys made anew in the last four weeks.
pub(super) fn keys(vantage: &Vantage<'_>) -> Vec<KeysLine> {
    let (ward, sealing) = (vantage.ward, vantage.ward.sealing());
    let line = |seq, at, what, patient, by: &[Handle]| KeysLine {
        seq,
        recorded_at: at,
        what,
        patient,
        by: by.iter().map(|one| Writer::of_handle(ward, one)).collect(),
    };
    let destroyed = sealing.destroyed().iter();
    let destroyed = destroyed
        .map(|(patient, one)| line(one.seq, one.at, "record destroyed", Some(*patient), &one.by));
    let begun = sealing.begun().filter(|begun| begun.newest != begun.since);
    let anew = begun.map(|begun| {
        let by = std::slice::from_ref(&begun.by);
        line(begun.newest, begun.at, "new recovery key made", None, by)
    });
    let mut lines: Vec<KeysLine> = destroyed
        .chain(anew)
        .filter(|line| vantage.now.since(line.recorded_at) <= KEYS_SAID)
        .collect();
    lines.sort_by_key(|line| line.seq);
    lines
}

impl KeysLine {
    /// The line in words.
    #[must_use]
    pub fn line(&self, dial: Dial) -> Line {
        let people: Vec<String> = self.by.iter().map(ToString::to_string).collect();
        let many = match people.len() {
            2 => "by two people",
            _ => "by one person",
        };
        let whose = self.patient.map(|patient| format!("({})", patient.short()));
        Line::new()
            .warn(self.what.to_uppercase())
            .plain(self.seq.to_string())
            .quiet(whose.unwrap_or_default())
            .plain(format!("{many}: {}", people.join(" and ")))
            .quiet(dial.at(self.recorded_at))
    }
}

/// Withdrawals newer than `since`; without an earlier handover, every one of a patient who is
/// on the ward.
pub(super) fn withdrawn(vantage: &Vantage<'_>) -> Vec<WithdrawnLine> {
    let mut lines = Vec::new();
    for patient in vantage.ward.patients() {
        let shown = vantage.since.is_some() || patient.is_current();
        if shown {
            add(vantage, &patient.log, Some(patient), &mut lines);
        }
    }
    add(vantage, vantage.ward.common_log(), None, &mut lines);
    lines.sort_by_key(|line| line.withdrawn_by);
    lines
}

fn add(
    vantage: &Vantage<'_>,
    log: &Log,
    patient: Option<&Patient>,
    lines: &mut Vec<WithdrawnLine>,
) {
    let since = vantage.of(patient.map(|patient| patient.pseudonym)).since;
    for (seq, standing) in log.standings() {
        let Standing::Withdrawn {
            by,
            cause,
            entered_anew,
        } = standing
        else {
            continue;
        };
        let old = since.is_some_and(|since| by <= since);
        let Some(line) = line_of(log, seq).filter(|_| !old) else {
            continue;
        };
        lines.push(WithdrawnLine {
            seq,
            kind: kind_title(line.kind),
            who: patient.map(NameRef::of),
            recorded_at: line.recorded_at,
            by: Writer::of_author(vantage.ward, &line.author),
            withdrawn_by: by,
            cause,
            entered_anew,
        });
    }
}

fn line_of(log: &Log, seq: Seq) -> Option<&LogLine> {
    let at = log
        .lines()
        .binary_search_by_key(&seq, |line| line.seq)
        .ok()?;
    log.lines().get(at)
}

/// What a kind is called; a number this program does not know is an entry of a newer one.
#[must_use]
pub fn kind_title(code: u16) -> &'static str {
    Kind::from_code(code).map_or("entry of a newer program", Kind::title)
}

/// What was written after the sheet of an accepted handover was drawn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SinceAccepted {
    /// Name and version of this form.
    pub schema: &'static str,
    /// The handover.
    pub handover: Seq,
    /// Who accepted it.
    pub accepted_by: Writer,
    /// When.
    pub accepted_at: Timestamp,
    /// Newest entry on the sheet that was accepted.
    pub sheet_head: Option<Seq>,
    /// Entries that are not on it, oldest first; the handover's own are left out.
    pub entries: Vec<SinceLine>,
}

/// An entry that is not on the accepted sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SinceLine {
    /// The entry.
    pub seq: Seq,
    /// What it is.
    pub kind: &'static str,
    /// Whose record; none for the ward.
    pub who: Option<NameRef>,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
    /// When it happened.
    pub occurred_at: Timestamp,
    /// When it was written.
    pub recorded_at: Timestamp,
    /// Who wrote it.
    pub by: Writer,
    /// Written after the sheet was drawn but before it was accepted.
    pub before_acceptance: bool,
}

/// What is not on the sheet somebody accepted; `None` if that handover is unknown or nobody
/// has accepted it.
#[must_use]
pub fn since_accepted(ward: &Ward, handover: Seq) -> Option<SinceAccepted> {
    let life = ward.handovers().get(&handover)?;
    let accepted = life.accepted()?;
    let sheet_head = life
        .prepared
        .body
        .sheet
        .as_ref()
        .map(|sheet| sheet.head_seq);
    let from = sheet_head.unwrap_or(handover);
    let mut own: Vec<Seq> = life.steps.iter().map(|step| step.held.seq()).collect();
    own.push(handover);
    let logs = ward
        .patients()
        .map(|patient| (Some(patient), &patient.log))
        .chain([(None, ward.common_log())]);
    let mut entries: Vec<SinceLine> = Vec::new();
    for (patient, log) in logs {
        let similar = patient.map(|patient| ward.similar_names(patient));
        let similar = similar.unwrap_or_default().into_iter().map(NameRef::of);
        let similar: Vec<NameRef> = similar.collect();
        let start = log.lines().partition_point(|line| line.seq <= from);
        let lines = log.lines()[start..].iter();
        entries.extend(
            lines
                .filter(|line| !own.contains(&line.seq))
                .map(|line| SinceLine {
                    seq: line.seq,
                    kind: kind_title(line.kind),
                    who: patient.map(NameRef::of),
                    similar_names: similar.clone(),
                    occurred_at: line.occurred_at,
                    recorded_at: line.recorded_at,
                    by: Writer::of_author(ward, &line.author),
                    before_acceptance: line.seq < accepted.seq,
                }),
        );
    }
    entries.sort_by_key(|line| line.seq);
    Some(SinceAccepted {
        schema: "handfast.since-accepted/1",
        handover,
        accepted_by: Writer::of_author(ward, &accepted.author),
        accepted_at: accepted.occurred_at,
        sheet_head,
        entries,
    })
}

/// The newest entry on the last accepted sheet, and when it was accepted.
pub(super) fn last_accepted(ward: &Ward, own: Option<Seq>) -> Option<(Seq, Timestamp)> {
    let (life, head) = ward.accepted_but(own)?;
    Some((head, life.accepted()?.occurred_at))
}

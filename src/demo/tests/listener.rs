//! Listens to the story: reads every draft, keeps what was said and what could not be taken.

use std::convert::Infallible;

use crate::demo::cast::{Member, ZONE};
use crate::demo::player::{Correction, Withdrawal};
use crate::demo::{StorySink, play};
use crate::record::draft::{Draft, ReadDraft};
use crate::record::field::{ReadContext, ShowContext};
use crate::record::ids::Seq;
use crate::record::kind::{Body, Kind};
use crate::record::time::Timestamp;

/// One entry as told.
pub(super) struct Told {
    pub(super) at: Timestamp,
    pub(super) by: &'static str,
    pub(super) seq: Seq,
    pub(super) kind: &'static str,
    pub(super) read: Option<ReadDraft>,
}

impl Told {
    pub(super) fn slot(&self) -> Option<&str> {
        self.read.as_ref()?.patient.as_deref()
    }

    /// The stated fields in words, joined.
    pub(super) fn words(&self) -> String {
        let cx = ShowContext {
            zone: ZONE,
            secrets: true,
        };
        let shown = self.read.as_ref().map(|read| read.body.show(&cx));
        let parts = shown
            .into_iter()
            .flatten()
            .map(|field| format!("{}={}", field.name, field.text));
        parts.collect::<Vec<_>>().join("|")
    }
}

#[derive(Default)]
pub(super) struct Listener {
    pub(super) told: Vec<Told>,
    pub(super) withdrawn: Vec<(Seq, Option<Seq>)>,
    pub(super) corrected: Vec<Seq>,
    pub(super) accepted: Vec<(Timestamp, Seq)>,
    pub(super) complaints: Vec<String>,
}

impl Listener {
    fn hear(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        kind: &'static str,
        draft: Option<&Draft>,
    ) -> Result<Seq, Infallible> {
        let seq = Seq(self.told.len() as u64 + 3);
        let cx = ReadContext {
            now: at,
            zone: ZONE,
        };
        let read = draft.and_then(|draft| match draft.read(&cx) {
            Ok(read) => {
                if !read.confirmed {
                    for unusual in &read.unusual {
                        self.complaints
                            .push(format!("{seq} {kind} {:?}: {unusual}", draft.patient));
                    }
                }
                Some(read)
            }
            Err(refusals) => {
                for refusal in refusals {
                    self.complaints
                        .push(format!("{seq} {kind} {:?}: {refusal}", draft.patient));
                }
                None
            }
        });
        let by = by.handle;
        self.told.push(Told {
            at,
            by,
            seq,
            kind,
            read,
        });
        Ok(seq)
    }
}

impl StorySink for Listener {
    type Error = Infallible;

    fn open(&mut self, _: Timestamp, _: &str, _: &'static Member) -> Result<(), Infallible> {
        Ok(())
    }
    fn enrol(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        _: &'static Member,
    ) -> Result<Seq, Infallible> {
        self.hear(at, by, "staff", None)
    }
    fn log(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        draft: &Draft,
    ) -> Result<Seq, Infallible> {
        let kind = Kind::from_name(&draft.kind).map_or("unknown", Kind::name);
        self.hear(at, by, kind, Some(draft))
    }
    fn withdraw(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        what: &Withdrawal<'_>,
    ) -> Result<Seq, Infallible> {
        self.withdrawn.push((what.target, what.entered_anew));
        self.hear(at, by, "amendment", None)
    }
    fn correct(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        what: &Correction<'_>,
    ) -> Result<Seq, Infallible> {
        self.corrected.push(what.target);
        self.hear(at, by, "amendment", None)
    }
    fn prepare_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        draft: &Draft,
    ) -> Result<Seq, Infallible> {
        self.hear(at, by, "handover", Some(draft))
    }
    fn accept_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        handover: Seq,
    ) -> Result<Seq, Infallible> {
        self.accepted.push((at, handover));
        self.hear(at, by, "handover-step", None)
    }
}

pub(super) fn listened() -> Listener {
    let mut listener = Listener::default();
    play(&mut listener).unwrap();
    listener
}

/// Bodies of one kind, with who told them and when.
pub(super) fn bodies<'a, T>(
    listener: &'a Listener,
    slot: &str,
    pick: impl Fn(&'a Body) -> Option<&'a T>,
) -> Vec<(&'a Told, &'a T)> {
    let told = listener
        .told
        .iter()
        .filter(|told| slot.is_empty() || told.slot() == Some(slot));
    told.filter_map(|told| Some((told, pick(&told.read.as_ref()?.body)?)))
        .collect()
}

macro_rules! pick {
    ($kind:ident) => {
        |body| match body {
            Body::$kind(fields) => Some(fields),
            _ => None,
        }
    };
}
pub(super) use pick;

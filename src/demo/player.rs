//! Tells the story to whatever writes entries.

use std::collections::BTreeMap;

use super::cast::{KEEPER, Member, STAFF};
use super::{Scene, SceneAct, story};
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::time::Timestamp;

/// Where the story is written. Each call makes one entry and says its number.
pub trait StorySink {
    /// Why an entry was not written.
    type Error;

    /// The journal is made and its keeper enrolled; `at` is the moment.
    ///
    /// # Errors
    /// Whatever kept it from being written; so for every other call.
    fn open(
        &mut self,
        at: Timestamp,
        ward: &str,
        keeper: &'static Member,
    ) -> Result<(), Self::Error>;
    /// Somebody joins the staff.
    ///
    /// # Errors
    /// See [`StorySink::open`].
    fn enrol(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        person: &'static Member,
    ) -> Result<Seq, Self::Error>;
    /// An entry as typed.
    ///
    /// # Errors
    /// See [`StorySink::open`].
    fn log(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        draft: &Draft,
    ) -> Result<Seq, Self::Error>;
    /// An entry is withdrawn.
    ///
    /// # Errors
    /// See [`StorySink::open`].
    fn withdraw(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        withdrawal: &Withdrawal<'_>,
    ) -> Result<Seq, Self::Error>;
    /// An entry's fields are corrected.
    ///
    /// # Errors
    /// See [`StorySink::open`].
    fn correct(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        correction: &Correction<'_>,
    ) -> Result<Seq, Self::Error>;
    /// A handover sheet is prepared.
    ///
    /// # Errors
    /// See [`StorySink::open`].
    fn prepare_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        handover: &Draft,
    ) -> Result<Seq, Self::Error>;
    /// A handover is accepted.
    ///
    /// # Errors
    /// See [`StorySink::open`].
    fn accept_handover(
        &mut self,
        at: Timestamp,
        by: &'static Member,
        handover: Seq,
    ) -> Result<Seq, Self::Error>;
}

/// What is withdrawn and why.
#[derive(Debug, Clone, Copy)]
pub struct Withdrawal<'a> {
    /// The entry.
    pub target: Seq,
    /// Why, by code.
    pub cause: &'a str,
    /// More about why.
    pub reason: &'a str,
    /// The entry made anew.
    pub entered_anew: Option<Seq>,
}

/// What is corrected and why.
#[derive(Debug, Clone, Copy)]
pub struct Correction<'a> {
    /// The entry.
    pub target: Seq,
    /// Field names and right values.
    pub changes: &'a [(String, String)],
    /// Why, by code.
    pub cause: &'a str,
    /// More about why.
    pub reason: &'a str,
}

/// Why the story could not be told to its end.
#[derive(Debug, thiserror::Error)]
pub enum PlayError<E> {
    /// The story names a scene that has not been told.
    #[error("the story refers to \"{0}\", which has not happened yet")]
    NotYet(String),
    /// The story names somebody who is not on the staff.
    #[error("the story names \"{0}\", who is not on the staff")]
    Nobody(&'static str),
    /// The journal could not be made.
    #[error("{0}")]
    NotOpened(Box<E>),
    /// The entry was not written.
    #[error("at {at} by {by}: {why}", at = at.rfc3339())]
    NotWritten {
        /// When it should have been recorded.
        at: Timestamp,
        /// By whom.
        by: &'static str,
        /// Why not.
        why: Box<E>,
    },
}

/// Tells the whole story.
///
/// # Errors
/// [`PlayError`] at the first scene that cannot be told.
pub fn play<S: StorySink>(sink: &mut S) -> Result<(), PlayError<S::Error>> {
    let at = super::cast::OPENED;
    sink.open(at, super::cast::WARD, &KEEPER)
        .map_err(|why| PlayError::NotOpened(Box::new(why)))?;
    let mut told = Told::default();
    for scene in story() {
        tell(sink, &scene, &mut told)?;
    }
    Ok(())
}

fn tell<S: StorySink>(
    sink: &mut S,
    scene: &Scene,
    told: &mut Told,
) -> Result<(), PlayError<S::Error>> {
    let by = member(scene.author).ok_or(PlayError::Nobody(scene.author))?;
    let at = scene.recorded_at;
    let written = match &scene.act {
        SceneAct::Enrol(person) => sink.enrol(at, by, person),
        SceneAct::Log(draft) => sink.log(at, by, &told.fill(draft)?),
        SceneAct::Withdraw {
            target,
            cause,
            reason,
            entered_anew,
        } => {
            let withdrawal = Withdrawal {
                target: told.number(target)?,
                cause,
                reason,
                entered_anew: entered_anew.map(|label| told.number(label)).transpose()?,
            };
            sink.withdraw(at, by, &withdrawal)
        }
        SceneAct::Correct {
            target,
            changes,
            cause,
            reason,
        } => {
            let target = told.number(target)?;
            sink.correct(
                at,
                by,
                &Correction {
                    target,
                    changes,
                    cause,
                    reason,
                },
            )
        }
        SceneAct::PrepareHandover {
            from_shift,
            to_shift,
            receiver,
            opening,
        } => {
            let draft = Draft::new(crate::record::kind::Kind::Handover)
                .with("from_shift", *from_shift)
                .with("to_shift", *to_shift)
                .with("receiver", *receiver)
                .with("opening", *opening);
            sink.prepare_handover(at, by, &draft)
        }
        SceneAct::AcceptHandover { handover } => {
            let handover = told.number(handover)?;
            sink.accept_handover(at, by, handover)
        }
    };
    let seq = written.map_err(|why| PlayError::NotWritten {
        at,
        by: scene.author,
        why: Box::new(why),
    })?;
    if let Some(label) = &scene.label {
        told.numbers.insert(label.clone(), seq);
    }
    Ok(())
}

/// A member of the staff by handle.
#[must_use]
pub fn member(handle: &str) -> Option<&'static Member> {
    std::iter::once(&KEEPER)
        .chain(&STAFF)
        .find(|member| member.handle == handle)
}

/// Entry numbers of the scenes told so far, by label.
#[derive(Debug, Default)]
struct Told {
    numbers: BTreeMap<String, Seq>,
}

impl Told {
    fn number<E>(&self, label: &str) -> Result<Seq, PlayError<E>> {
        let known = self.numbers.get(label).copied();
        known.ok_or_else(|| PlayError::NotYet(label.to_owned()))
    }

    /// The draft with `{label}` replaced by `#number`.
    fn fill<E>(&self, draft: &Draft) -> Result<Draft, PlayError<E>> {
        let mut filled = draft.clone();
        for (_, value) in &mut filled.fields {
            *value = self.replace(value)?;
        }
        filled.related = draft
            .related
            .as_deref()
            .map(|text| self.replace(text))
            .transpose()?;
        Ok(filled)
    }

    fn replace<E>(&self, text: &str) -> Result<String, PlayError<E>> {
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        while let Some((before, label, after)) = labelled(rest) {
            out.push_str(before);
            out.push_str(&self.number(label)?.to_string());
            rest = after;
        }
        out.push_str(rest);
        Ok(out)
    }
}

/// The text before a `{label}`, the label, and the text after it.
fn labelled(text: &str) -> Option<(&str, &str, &str)> {
    let (before, rest) = text.split_once('{')?;
    let (label, after) = rest.split_once('}')?;
    Some((before, label, after))
}

//! How scenes are written down and put in order.

use std::collections::BTreeMap;

use super::calendar::dated;
use crate::record::draft::Draft;
use crate::record::field::{FieldSpec, Shape};
use crate::record::kind::Kind;
use crate::record::time::{Span, Timestamp};

/// One act of one person at one moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scene {
    /// When it was recorded.
    pub recorded_at: Timestamp,
    /// Who, by handle.
    pub author: &'static str,
    /// What later scenes call the entry this makes.
    pub label: Option<String>,
    /// What is done.
    pub act: SceneAct,
}

/// What is done. Field values may name earlier scenes by label in braces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SceneAct {
    /// The keeper enrols somebody.
    Enrol(&'static super::cast::Member),
    /// An entry as typed.
    Log(Draft),
    /// An entry is withdrawn.
    Withdraw {
        /// Label of the entry.
        target: &'static str,
        /// Why, by code.
        cause: &'static str,
        /// More about why.
        reason: &'static str,
        /// Label of the entry made anew, if there is one.
        entered_anew: Option<&'static str>,
    },
    /// An entry's fields are corrected.
    Correct {
        /// Label of the entry.
        target: &'static str,
        /// Field names and their right values.
        changes: Vec<(String, String)>,
        /// Why, by code.
        cause: &'static str,
        /// More about why.
        reason: &'static str,
    },
    /// A handover sheet is prepared.
    PrepareHandover {
        /// The shift that gives.
        from_shift: &'static str,
        /// The shift that takes.
        to_shift: &'static str,
        /// Who receives, by handle.
        receiver: &'static str,
        /// What the giver says first.
        opening: &'static str,
    },
    /// A handover is accepted; patients declined before stay declined.
    AcceptHandover {
        /// Label of the prepared handover.
        handover: &'static str,
    },
}

/// Scenes as they are thought up: story by story, not yet in time order.
#[derive(Debug, Default)]
pub struct Script {
    scenes: Vec<Scene>,
}

/// Writes one entry into a script:
/// `log!(script, orla, fri(3, 12), contact "T02" => "label"; mode: "phone", outcome: "reached")`.
/// Kind words with a hyphen are written with an underscore; `set` is a whole set of readings.
macro_rules! log {
    ($script:expr, $who:ident, $at:expr, $kind:ident $($patient:literal)? $(=> $label:literal)?; $($field:ident: $value:expr),* $(,)?) => {
        $script.log(
            stringify!($who),
            $at,
            None::<&str>$(.or(Some($label)))?,
            stringify!($kind),
            None::<&str>$(.or(Some($patient)))?,
            &[$((stringify!($field), $value)),*],
        )
    };
}
pub(super) use log;

impl Script {
    /// Adds one entry as typed.
    pub fn log(
        &mut self,
        author: &'static str,
        at: Timestamp,
        label: Option<&str>,
        kind: &str,
        patient: Option<&str>,
        fields: &[(&str, &str)],
    ) {
        let act = SceneAct::Log(draft(kind, patient, fields));
        self.add(author, at, label, act);
    }

    /// Adds any act.
    pub fn add(
        &mut self,
        author: &'static str,
        recorded_at: Timestamp,
        label: Option<&str>,
        act: SceneAct,
    ) {
        let label = label.map(str::to_owned);
        self.scenes.push(Scene {
            recorded_at,
            author,
            label,
            act,
        });
    }

    /// All scenes in time order. Nobody writes two entries within the same few seconds, and no
    /// two entries share a moment.
    #[must_use]
    pub fn in_order(self) -> Vec<Scene> {
        let mut scenes = self.scenes;
        scenes.sort_by_key(|scene| scene.recorded_at);
        let mut last_by: BTreeMap<&str, Timestamp> = BTreeMap::new();
        let mut last = Timestamp::EARLIEST;
        for (place, scene) in scenes.iter_mut().enumerate() {
            let spread = mix(place as u64);
            let wanted = scene.recorded_at.plus(seconds(spread % 17));
            let free = last.plus(seconds(1 + spread / 17 % 3));
            let own = last_by
                .get(scene.author)
                .map_or(wanted, |own| own.plus(seconds(14 + spread / 51 % 16)));
            scene.recorded_at = wanted.max(free).max(own);
            last = scene.recorded_at;
            last_by.insert(scene.author, last);
        }
        scenes
    }
}

/// So many seconds.
#[must_use]
pub fn seconds(seconds: u64) -> Span {
    Span(
        i64::try_from(seconds)
            .unwrap_or(0)
            .saturating_mul(1_000_000),
    )
}

/// A number that looks arbitrary and is always the same (the finaliser of SplitMix64).
#[must_use]
pub const fn mix(number: u64) -> u64 {
    let mut z = number.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn draft(kind: &str, patient: Option<&str>, fields: &[(&str, &str)]) -> Draft {
    let kind = kind.replace('_', "-");
    let specs = Kind::from_name(&kind).map(Kind::specs).unwrap_or_default();
    let mut draft = Draft::new(Kind::Note);
    draft.kind = kind;
    draft.patient = patient.map(str::to_owned);
    for (name, value) in fields {
        if *name == "set" {
            for (name, value) in readings(value) {
                draft.set(name, value);
            }
        } else if *name == "at" || is_moment(&specs, name) {
            draft.set(name, dated(value));
        } else {
            draft.set(name, (*value).to_owned());
        }
    }
    draft
}

fn is_moment(specs: &[FieldSpec], name: &str) -> bool {
    specs
        .iter()
        .any(|spec| spec.name == name && matches!(spec.shape, Shape::Past | Shape::Future))
}

/// `rr spo2 oxygen sbp/dbp hr acvpu temp`, a dash for what was not taken:
/// `18 96 air 128/76 82 A 37.1`. Oxygen with its amount is `cannula:2`.
fn readings(set: &str) -> Vec<(&'static str, String)> {
    const NAMES: [&str; 7] = ["rr", "spo2", "oxygen", "sbp", "hr", "acvpu", "temp"];
    let mut found = Vec::new();
    for (name, word) in NAMES.into_iter().zip(set.split_whitespace()) {
        match (name, word.split_once('/')) {
            (_, _) if word == "-" => {}
            ("sbp", Some((systolic, diastolic))) => {
                found.push(("sbp", systolic.to_owned()));
                found.push(("dbp", diastolic.to_owned()));
            }
            ("oxygen", _) => found.push((name, word.replace(':', " "))),
            _ => found.push((name, word.to_owned())),
        }
    }
    found
}

/// A contact in which a set of readings was taken, and the task that it does.
#[derive(Debug, Clone, Copy)]
pub struct Seen<'a> {
    /// Who wrote it.
    pub who: &'static str,
    /// When the contact was written; the readings follow a minute later.
    pub at: Timestamp,
    /// The patient's slot.
    pub slot: &'a str,
    /// `video`, `visit` or `phone`.
    pub mode: &'a str,
    /// How the patient was.
    pub how: &'a str,
    /// The readings, as [`readings`] takes them; empty for none.
    pub set: &'a str,
    /// The writer's judgement.
    pub judgement: &'a str,
    /// Next contact due; empty for none stated.
    pub next: &'a str,
    /// Label of the task that is done by this; empty for none.
    pub task: &'a str,
    /// Further fields of the contact.
    pub contact: &'a [(&'a str, &'a str)],
    /// Further fields of the readings.
    pub obs: &'a [(&'a str, &'a str)],
}

impl Seen<'static> {
    /// A contact by this person of this patient, everything else empty.
    #[must_use]
    pub const fn new(
        who: &'static str,
        at: Timestamp,
        slot: &'static str,
        mode: &'static str,
    ) -> Self {
        Seen {
            who,
            at,
            slot,
            mode,
            how: "",
            set: "",
            judgement: "",
            next: "",
            task: "",
            contact: &[],
            obs: &[],
        }
    }
}

impl Script {
    /// Writes the contact (`<label>`), the readings (`<label>-obs`) and the task's step.
    pub fn seen(&mut self, seen: &Seen<'_>, label: &str) {
        let minutes = 3 + mix(seen.at.0.unsigned_abs()) % 6;
        let (said_by, source) = match seen.mode {
            "visit" => ("seen", "staff"),
            "phone" => ("patient", "patient"),
            _ => ("seen-video", "patient"),
        };
        let began = format!("-{minutes}m");
        let mut fields = vec![
            ("at", began.as_str()),
            ("mode", seen.mode),
            ("outcome", "reached"),
            ("spoke_to", "patient"),
            ("started_by", "ward"),
            ("how", seen.how),
            ("said_by", said_by),
            ("identified", "yes"),
            ("next", seen.next),
        ];
        lay_over(&mut fields, seen.contact);
        self.log(
            seen.who,
            seen.at,
            Some(label),
            "contact",
            Some(seen.slot),
            &fields,
        );
        self.seen_readings(seen, label, source, minutes);
    }

    fn seen_readings(&mut self, seen: &Seen<'_>, label: &str, source: &str, minutes: u64) {
        let mut done_by = label.to_owned();
        let mut minute = 0;
        if !seen.set.is_empty() {
            let taken = format!("-{}m", minutes - 1);
            let during = format!("{{{label}}}");
            let mut fields = vec![
                ("at", taken.as_str()),
                ("set", seen.set),
                ("source", source),
                ("judgement", seen.judgement),
                ("during", during.as_str()),
            ];
            lay_over(&mut fields, seen.obs);
            done_by = format!("{label}-obs");
            minute += 1;
            let at = seen.at.plus(Span::minutes(minute));
            self.log(
                seen.who,
                at,
                Some(&done_by),
                "obs",
                Some(seen.slot),
                &fields,
            );
        }
        if !seen.task.is_empty() {
            let at = seen.at.plus(Span::minutes(minute)).plus(seconds(20));
            let (task, by_entry) = (format!("{{{}}}", seen.task), format!("{{{done_by}}}"));
            let fields = [
                ("task", task.as_str()),
                ("step", "done"),
                ("by_entry", by_entry.as_str()),
            ];
            self.log(seen.who, at, None, "task-step", Some(seen.slot), &fields);
        }
    }
}

/// Replaces fields of the same name and adds the others; drops what stayed empty.
fn lay_over<'a>(fields: &mut Vec<(&'a str, &'a str)>, more: &[(&'a str, &'a str)]) {
    fields.retain(|(name, value)| !value.is_empty() && more.iter().all(|(other, _)| other != name));
    fields.extend(more.iter().filter(|(_, value)| !value.is_empty()));
}

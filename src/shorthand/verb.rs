//! The first word of an entry: which kind it begins and what it already says.

use crate::record::kind::Kind;

/// Where a verb stands in the help.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum VerbGroup {
    /// Talking with the patient.
    Contact,
    /// Readings and notes.
    Record,
    /// Alerts and escalations.
    Alert,
    /// Work to do.
    Task,
    /// Wounds, lines, samples, medicines, kit.
    Care,
    /// Coming, changing, leaving.
    Episode,
    /// Shifts.
    Ward,
}

/// A word that begins an entry.
#[derive(Debug, Clone, Copy)]
pub struct Verb {
    /// The words, the usual one first.
    pub words: &'static [&'static str],
    /// The kind of entry.
    pub kind: Kind,
    /// Fields it fixes.
    pub fixed: &'static [(&'static str, &'static str)],
    /// Fields it fills if nothing else is typed for them.
    pub otherwise: &'static [(&'static str, &'static str)],
    /// Another kind whose fields may stand on the same line, as an entry of its own that
    /// cites the first in the field named.
    pub also: Option<(Kind, &'static str)>,
    /// Everything after it is text.
    pub rest_is_text: bool,
    /// A number before the text is the entry it belongs with, whose patient it follows.
    pub is_reply: bool,
    /// Where it stands in the help.
    pub group: VerbGroup,
    /// What it means, with all that it says by itself.
    pub help: &'static str,
    /// One line somebody might type.
    pub example: &'static str,
}

/// The verb a word names, in any of its spellings.
#[must_use]
pub fn verb_named(word: &str) -> Option<&'static Verb> {
    VERBS.iter().find(|verb| verb.words.contains(&word))
}

const PLAIN: Verb = Verb {
    words: &[],
    kind: Kind::Note,
    fixed: &[],
    otherwise: &[],
    also: None,
    rest_is_text: false,
    is_reply: false,
    group: VerbGroup::Record,
    help: "",
    example: "",
};

/// A contact: reached if the line says how the patient is, unless it says otherwise; readings
/// on the same line become a set of observations taken in it.
const fn contact(
    words: &'static [&'static str],
    mode: &'static [(&'static str, &'static str)],
    help: &'static str,
    example: &'static str,
) -> Verb {
    Verb {
        words,
        kind: Kind::Contact,
        fixed: mode,
        otherwise: &[("outcome", "reached")],
        also: Some((Kind::Observation, "during")),
        group: VerbGroup::Contact,
        help,
        example,
        ..PLAIN
    }
}

const fn entry(
    words: &'static [&'static str],
    kind: Kind,
    group: VerbGroup,
    help: &'static str,
    example: &'static str,
) -> Verb {
    Verb {
        words,
        kind,
        group,
        help,
        example,
        ..PLAIN
    }
}

const fn step(
    words: &'static [&'static str],
    kind: Kind,
    fixed: &'static [(&'static str, &'static str)],
    group: VerbGroup,
    help: &'static str,
    example: &'static str,
) -> Verb {
    Verb {
        words,
        kind,
        fixed,
        group,
        help,
        example,
        ..PLAIN
    }
}

const fn text(
    words: &'static [&'static str],
    fixed: &'static [(&'static str, &'static str)],
    help: &'static str,
    example: &'static str,
) -> Verb {
    Verb {
        words,
        fixed,
        rest_is_text: true,
        help,
        example,
        ..PLAIN
    }
}

use Kind as K;
use VerbGroup as G;

/// Every verb. A flat table, read from top to bottom by the help.
#[rustfmt::skip]
pub const VERBS: &[Verb] = &[
    contact(&["v", "video"], &[("mode", "video")],
        "A video call. It says: by video, and reached unless you write na, voicemail, declined and so on; without readings or a word of how the patient is it asks what came of it. Readings on the line become a set of observations taken during the call; text is how the patient is.",
        "v rr18 s96 air 148/92 p88 t37.1 al n+4h \"well, eating\""),
    contact(&["p", "phone", "call"], &[("mode", "phone")],
        "A phone call. As v, by phone.",
        "p na then try-again n+15m attempt 2"),
    contact(&["visit"], &[("mode", "visit")],
        "A home visit. As v, in the house.",
        "visit rr 20 sats 94 air bp 132/80 hr 92 temp 37.4 alert source staff \"up and dressed\""),
    contact(&["msg", "message"], &[("mode", "message")],
        "A message to or from the patient. As v, in writing.",
        "msg \"asks when the nurse comes\" next 15:00"),
    contact(&["help", "hb"], &[("mode", "help")],
        "A help-button call: help and the alert's number, or hb. As v, by the help button; the number is the alert it answers.",
        "help #12 \"pressed by mistake, well\""),
    Verb { kind: K::Contact, also: Some((K::Observation, "during")), ..entry(&["contact"], K::Contact, G::Contact,
        "A contact with everything written out: nothing is filled in for you.",
        "contact mode phone outcome reached spoke_to carer \"slept well\"") },

    entry(&["obs", "o"], K::Observation, G::Record,
        "A set of readings in any order; text is your judgement.",
        "obs rr 18 sats 96 air bp 148/92 hr 88 temp 37.1 alert"),
    text(&["note", "nt"], &[],
        "A nursing note: the rest of the line is the note. Alone it opens a note of several lines.",
        "note asks for a commode downstairs"),
    text(&["watch"], &[("topic", "watch-for")],
        "What to watch for and what to do then: the rest of the line. It stands on the handover sheet.",
        "watch RR above 24: call the registrar"),
    text(&["ask"], &[("topic", "question")],
        "A question nobody has answered yet: the rest of the line. It stands on the handover sheet.",
        "ask who restarts the anticoagulant?"),
    Verb { is_reply: true, ..text(&["answer"], &[("topic", "answer")],
        "The answer to a question: its number, then the rest of the line. The question leaves the handover sheet.",
        "answer #12 the surgery does, on Monday") },

    entry(&["alert"], K::Alert, G::Alert,
        "Something somebody must look at: what raised it, how soon, and what it is.",
        "alert carer-concern urgent \"daughter says he looks grey\""),
    step(&["worried", "worry", "concern"], K::Alert, &[("source", "nurse-concern")], G::Alert,
        "You are worried, and need no number for it. Say how soon and about what.",
        "worried urgent \"quieter than this morning\""),
    step(&["seen"], K::AlertStep, &[("step", "seen")], G::Alert, "You have seen an alert.", "seen #12"),
    step(&["take"], K::AlertStep, &[("step", "taken")], G::Alert,
        "You take an alert. If a colleague has it you are told who; take_over takes it all the same.", "take #12"),
    step(&["act", "acted"], K::AlertStep, &[("step", "actioned")], G::Alert,
        "What you found and did about an alert.", "act #12 \"rang, was asleep on the sensor\""),
    step(&["close"], K::AlertStep, &[("step", "closed")], G::Alert,
        "An alert is over, with how it ended.", "close #12 mistake \"pressed in her sleep\""),
    step(&["release"], K::AlertStep, &[("step", "released")], G::Alert, "You give an alert back.", "release #12"),
    step(&["hand"], K::AlertStep, &[("step", "handed-over")], G::Alert, "You hand an alert to a colleague.", "hand #12 to maya"),
    step(&["raised"], K::AlertStep, &[("step", "escalated")], G::Alert, "An alert was escalated.", "raised #12 \"see the escalation\""),
    entry(&["esc", "escalation"], K::Escalation, G::Alert,
        "You ask somebody more senior for help, as SBAR. Alone it asks for each part.",
        "esc"),
    step(&["answered"], K::EscalationStep, &[("step", "answered")], G::Alert,
        "Somebody answered an escalation: who, the plan, read back.",
        "answered #30 by \"Dr Amin, registrar\" plan \"bloods tonight\" read_back yes review 22:00"),
    step(&["noanswer"], K::EscalationStep, &[("step", "no-answer")], G::Alert, "Nobody answered an escalation; for a patient who does not answer: p na.", "noanswer #30"),
    step(&["nextcalled"], K::EscalationStep, &[("step", "next-called")], G::Alert,
        "The next in the chain was called.", "nextcalled #30 by \"Dr Osei, consultant\""),
    step(&["reviewed"], K::EscalationStep, &[("step", "reviewed")], G::Alert, "The agreed plan was looked at again.", "reviewed #30 \"pressure up\""),
    step(&["ended"], K::EscalationStep, &[("step", "closed")], G::Alert, "An escalation is over, with how it ended.", "ended #30 \"stays at home\""),

    entry(&["task"], K::Task, G::Task,
        "Something to be done by a time, for a role or a person.", "task \"repeat BP\" due 15:30 for nurse"),
    step(&["done"], K::TaskStep, &[("step", "done")], G::Task, "A task is done.", "done #45"),
    step(&["notdone"], K::TaskStep, &[("step", "not-done")], G::Task, "A task was not done, and why.", "notdone #45 \"asleep\""),
    step(&["defer"], K::TaskStep, &[("step", "deferred")], G::Task, "A task is put off, until when and why.", "defer #45 until +2h \"visitors\""),
    step(&["give"], K::TaskStep, &[("step", "reassigned")], G::Task, "A task goes to a colleague.", "give #45 to maya"),
    step(&["cancel"], K::TaskStep, &[("step", "cancelled")], G::Task, "A task is no longer needed, and why.", "cancel #45 \"went to hospital\""),

    entry(&["wound"], K::Wound, G::Care, "A look at a wound.", "wound 1 site heel side left kind pressure length 3.2 width 2.1"),
    entry(&["dress", "dressing"], K::Dressing, G::Care, "A dressing was changed.", "dress 1 applied foam next +2d \"clean\""),
    entry(&["sample"], K::Sample, G::Care, "A sample was taken.", "sample bloods tests \"CRP, U&E\" result_by 16:00"),
    step(&["sent"], K::SampleStep, &[("step", "sent")], G::Care, "A sample was sent.", "sent #50"),
    step(&["arrived"], K::SampleStep, &[("step", "arrived")], G::Care, "A sample arrived at the laboratory.", "arrived #50"),
    step(&["rejected"], K::SampleStep, &[("step", "rejected")], G::Care, "The laboratory rejected a sample.", "rejected #50 \"haemolysed\""),
    step(&["lostsample"], K::SampleStep, &[("step", "lost")], G::Care, "A sample was lost.", "lostsample #50 \"not in the van\""),
    entry(&["result"], K::LabResult, G::Care, "The laboratory reported.", "result #50 crp 148 (0-5); k 4.1 (3.5-5.3)"),
    entry(&["review"], K::ResultReview, G::Care, "You looked at a result and decided.", "review #51 acted \"rang the registrar\""),
    entry(&["supply"], K::Supply, G::Care, "Something must reach the patient.", "supply \"co-amoxiclav 625 mg, 21 tablets\" medicine dose_due 22:00"),
    step(&["prepared"], K::SupplyStep, &[("step", "prepared")], G::Care, "A supply is prepared.", "prepared #60"),
    step(&["checked"], K::SupplyStep, &[("step", "checked")], G::Care, "A supply was checked.", "checked #60"),
    step(&["collected"], K::SupplyStep, &[("step", "collected")], G::Care, "A supply was collected.", "collected #60"),
    step(&["courier"], K::SupplyStep, &[("step", "with-courier")], G::Care, "A supply went to the courier.", "courier #60 holder \"van 2\""),
    step(&["delivered"], K::SupplyStep, &[("step", "delivered")], G::Care, "A supply arrived, with the identity check.", "delivered #60 two holder \"Mrs Pell\""),
    step(&["wrongdoor"], K::SupplyStep, &[("step", "wrong-address")], G::Care, "A supply went to the wrong address.", "wrongdoor #60 dose_missed \"22:00 co-amoxiclav\""),
    step(&["nodoor"], K::SupplyStep, &[("step", "no-answer")], G::Care, "Nobody answered at the door.", "nodoor #60 dose_missed \"22:00 co-amoxiclav\""),
    step(&["refused"], K::SupplyStep, &[("step", "refused")], G::Care, "A supply was refused.", "refused #60"),
    step(&["returned"], K::SupplyStep, &[("step", "returned")], G::Care, "A supply came back.", "returned #60"),
    step(&["aside"], K::SupplyStep, &[("step", "quarantined")], G::Care, "A supply was put aside, not to be used.", "aside #60 \"out of the cold chain\""),
    step(&["lost"], K::SupplyStep, &[("step", "lost")], G::Care, "A supply was lost.", "lost #60"),
    step(&["destroyed"], K::SupplyStep, &[("step", "destroyed")], G::Care, "A supply was destroyed.", "destroyed #60"),
    entry(&["dose"], K::Dose, G::Care, "A dose taken, given, missed or refused.", "dose \"co-amoxiclav 625 mg\" taken last_taken 14:00 next 22:00"),
    entry(&["line"], K::BodyLine, G::Care, "A line or device is in the patient.", "line midline \"left upper arm\" inserted 20-Oct-2026"),
    step(&["linecheck"], K::LineCare, &[("step", "checked")], G::Care, "A line was checked.", "linecheck #70 site_score 0"),
    step(&["flushed"], K::LineCare, &[("step", "flushed")], G::Care, "A line was flushed.", "flushed #70 next +8h"),
    step(&["resited"], K::LineCare, &[("step", "resited")], G::Care, "A line was resited.", "resited #70"),
    step(&["removed"], K::LineCare, &[("step", "removed")], G::Care, "A line was removed.", "removed #70"),
    step(&["blocked"], K::LineCare, &[("step", "blocked")], G::Care, "A line is blocked.", "blocked #70"),
    entry(&["kit"], K::Kit, G::Care, "Monitoring kit was issued.", "kit \"pulse oximeter\" serial PX-104 working yes charged yes"),
    step(&["working"], K::KitStep, &[("step", "working")], G::Care, "Kit is set up and working.", "working #80"),
    step(&["charged"], K::KitStep, &[("step", "charged")], G::Care, "Kit is charged.", "charged #80"),
    step(&["flat"], K::KitStep, &[("step", "flat-battery")], G::Care, "Kit has a flat battery.", "flat #80"),
    step(&["range"], K::KitStep, &[("step", "out-of-range")], G::Care, "Kit is out of range.", "range #80"),
    step(&["fault"], K::KitStep, &[("step", "fault")], G::Care, "Kit has a fault.", "fault #80 \"shows E4\""),
    step(&["swapped"], K::KitStep, &[("step", "swapped")], G::Care, "Kit was swapped.", "swapped #80 serial PX-105"),
    step(&["kitback"], K::KitStep, &[("step", "returned")], G::Care, "Kit came back.", "kitback #80"),

    entry(&["admit", "admission"], K::Admission, G::Episode, "A patient comes onto the ward. Alone it asks for each part.", "admit"),
    entry(&["change"], K::EpisodeChange, G::Episode, "The plan or details change, with why.", "change ceiling home-only why \"agreed with the family\""),
    entry(&["discharge"], K::Discharge, G::Episode, "A patient leaves the ward.", "discharge to home summary \"infection treated\""),
    entry(&["consent"], K::Consent, G::Episode, "What the patient agreed to or did not.", "consent monitoring given by patient"),
    entry(&["allocate", "allocation"], K::Allocation, G::Episode, "Who looks after this patient, or several at once.", "allocate maya t01 t02"),
    entry(&["shift"], K::Shift, G::Ward, "Who is on, from when to when.", "shift Night from 20:00 until tomorrow 08:00 staff maya;tom"),
    entry(&["policy"], K::PolicyChanged, G::Ward, "A ward policy value changes.", "policy record.late_entry_minutes value 60 reason \"agreed at the ward meeting\""),
    // The full words, for whoever writes everything out.
    entry(&["alert-step"], K::AlertStep, G::Alert, "Any step of an alert.", "alert-step #12 seen"),
    entry(&["escalation-step"], K::EscalationStep, G::Alert, "Any step of an escalation.", "escalation-step #30 no-answer"),
    entry(&["task-step"], K::TaskStep, G::Task, "Any step of a task.", "task-step #45 done"),
    entry(&["sample-step"], K::SampleStep, G::Care, "Any step of a sample.", "sample-step #50 sent"),
    entry(&["result-review"], K::ResultReview, G::Care, "As review.", "result-review #51 none-needed"),
    entry(&["supply-step"], K::SupplyStep, G::Care, "Any step of a supply.", "supply-step #60 prepared"),
    entry(&["line-care"], K::LineCare, G::Care, "Any care of a line.", "line-care #70 checked"),
    entry(&["kit-step"], K::KitStep, G::Care, "Any step of kit.", "kit-step #80 working"),
    entry(&["handover-step"], K::HandoverStep, G::Ward, "Any step of a handover.", "handover-step #90 query \"who visits?\""),
];

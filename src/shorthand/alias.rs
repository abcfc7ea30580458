//! Other words for fields, and where bare texts and bare numbers of entries go. One table
//! each; the fields themselves are the record layer's.

use crate::record::field::FieldSpec;
use crate::record::kind::Kind;

/// Other words for fields, by field name. A word may stand for several fields of which the
/// value decides: `for nurse` is a role, `for maya` a person.
#[rustfmt::skip]
const ALIASES: &[(&str, &[&str])] = &[
    ("rr", &["resp", "resps", "respirations", "r"]),
    ("spo2", &["s", "sat", "sats", "sp02"]),
    ("hr", &["p", "pulse", "bpm"]),
    ("temp", &["t", "temperature"]),
    ("temp_site", &["tsite"]),
    ("skin_temp", &["skin", "st"]),
    ("acvpu", &["avpu"]),
    ("glucose", &["g", "bm", "bg"]),
    ("weight", &["w", "wt"]),
    ("sbp", &["sys", "systolic"]),
    ("dbp", &["dia", "diastolic"]),
    ("pain_moving", &["painmove"]),
    ("fluid_in", &["in", "drank"]),
    ("urine", &["passed"]),
    ("fluid_out", &["out", "lost"]),
    ("gcs", &["coma"]),
    ("four_at", &["4at", "fourat"]),
    ("signs", &["symptoms", "sx"]),
    ("source", &["src"]),
    ("judgement", &["j", "think"]),
    ("action", &["plan"]),
    ("next", &["n"]),
    ("next_change", &["next", "n"]),
    ("next_care", &["next", "n"]),
    ("next_due", &["next", "n"]),
    ("spoke_to", &["spoke"]),
    ("spoke_name", &["name"]),
    ("started_by", &["started"]),
    ("said_by", &["said", "says"]),
    ("identified", &["id"]),
    ("safety_net", &["safety"]),
    ("answers", &["re"]),
    ("attempt", &["try"]),
    ("worry", &["worried"]),
    ("take_over", &["takeover", "over"]),
    ("to_role", &["role"]),
    ("to_name", &["called"]),
    ("answer_by", &["by"]),
    ("next_in_chain", &["chain"]),
    ("read_back", &["readback"]),
    ("review_at", &["review"]),
    ("role", &["for"]),
    ("person", &["for"]),
    ("until", &["to"]),
    ("result_by", &["by"]),
    ("repeat_by", &["by"]),
    ("identity", &["idcheck"]),
    ("dose_missed", &["missed"]),
    ("site_score", &["score"]),
    ("last_taken", &["last"]),
    ("packing_in", &["in"]),
    ("packing_out", &["out"]),
    ("entered_anew", &["anew"]),
];

/// Other words than its own name for a field.
#[must_use]
pub fn field_words(field: &str) -> &'static [&'static str] {
    let found = ALIASES.iter().find(|(name, _)| *name == field);
    found.map_or(&[], |(_, words)| *words)
}

/// Whether a word, in lower case, names a field. A field's own name wins over an alias of
/// another: the caller asks for own names first.
pub(super) fn names(spec: &FieldSpec, word: &str, own_only: bool) -> bool {
    let own = spec.name == word || spec.name == word.replace('-', "_");
    own || !own_only && field_words(spec.name).contains(&word)
}

/// The field that takes text in quotes or after `--` when no field is named.
#[rustfmt::skip]
pub(super) const fn text_field(kind: Kind) -> Option<&'static str> {
    Some(match kind {
        Kind::Contact => "how",
        Kind::Observation => "judgement",
        Kind::Note | Kind::HandoverStep => "text",
        Kind::Alert | Kind::AlertStep | Kind::Task => "what",
        Kind::Escalation => "situation",
        Kind::EscalationStep => "response",
        Kind::TaskStep => "reason",
        Kind::Wound | Kind::SupplyStep | Kind::LineCare | Kind::KitStep | Kind::Consent
            | Kind::Dose | Kind::SampleStep | Kind::Shift => "detail",
        Kind::Dressing => "looked",
        Kind::Sample => "tests",
        Kind::LabResult => "words",
        Kind::ResultReview => "action",
        Kind::Supply | Kind::Kit => "item",
        Kind::BodyLine => "site",
        Kind::EpisodeChange => "why",
        Kind::Discharge => "summary",
        Kind::Handover => "opening",
        Kind::StaffChanged | Kind::PolicyChanged | Kind::DamageAccepted | Kind::Amendment
            | Kind::Access | Kind::WardKey | Kind::Approval | Kind::RecordDestroyed => "reason",
        Kind::RecoveryKey => "holders",
        Kind::Checkpoint | Kind::WardOpened | Kind::StaffEnrolled | Kind::Admission | Kind::Allocation => return None,
    })
}

/// The text field of a step, which depends on the step: what was done goes into `detail`
/// where no reason is wanted.
pub(super) fn text_field_of(kind: Kind, fixed: &[(&str, &str)]) -> Option<&'static str> {
    let step = fixed.iter().find(|(field, _)| *field == "step");
    match (kind, step.map(|(_, step)| *step)) {
        (Kind::TaskStep, Some("done" | "reassigned")) => Some("detail"),
        (Kind::EscalationStep, Some("closed")) => Some("outcome"),
        (Kind::Dose, _) => Some("medicine"),
        _ => text_field(kind),
    }
}

/// The field that takes a bare `#12`.
#[must_use]
#[rustfmt::skip]
pub const fn entry_field(kind: Kind) -> Option<&'static str> {
    Some(match kind {
        Kind::Contact => "answers",
        Kind::Observation => "during",
        Kind::AlertStep => "alert",
        Kind::EscalationStep => "escalation",
        Kind::Escalation => "about",
        Kind::TaskStep => "task",
        Kind::Alert => "from",
        Kind::Task | Kind::Sample => "source",
        Kind::SampleStep | Kind::LabResult => "sample",
        Kind::ResultReview => "result",
        Kind::SupplyStep => "supply",
        Kind::LineCare => "line",
        Kind::KitStep => "kit",
        Kind::HandoverStep => "handover",
        Kind::Amendment => "target",
        Kind::Allocation => "shift",
        _ => return None,
    })
}

/// A step is about whichever patient its alert, task or supply is about, whoever is selected.
#[must_use]
pub const fn follows_its_entry(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::AlertStep
            | Kind::EscalationStep
            | Kind::TaskStep
            | Kind::SampleStep
            | Kind::ResultReview
            | Kind::SupplyStep
            | Kind::LineCare
            | Kind::KitStep
    )
}

/// Fields whose value may stand without their name, tried in this order before a word is
/// refused: the wound's number, the tests of a result, when a task repeats.
pub(super) const fn bare_fields(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::LabResult => &["values"],
        Kind::Task => &["repeat"],
        Kind::Wound | Kind::Dressing => &["wound"],
        Kind::Sample => &["what"],
        Kind::Shift => &["name"],
        Kind::PolicyChanged => &["setting"],
        Kind::Consent => &["about"],
        _ => &[],
    }
}

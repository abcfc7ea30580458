//! What is known of a thing for its whole life need not be typed again: a wound keeps its
//! site, side and kind.

use super::Station;
use super::outcome::SubmitError;
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::record::kind::wound::{WoundAssessment, WoundType};
use crate::ward::wounds::WoundLife;

impl Station {
    /// Fills in what is known for life of the wound a draft names, where nothing was typed.
    pub fn carry_known(&self, draft: &mut Draft) {
        let number = draft
            .get("wound")
            .and_then(|text| text.trim().parse::<i32>().ok());
        let (Some(Kind::Wound), Some(number)) = (Kind::from_name(&draft.kind), number) else {
            return;
        };
        let Some(patient) = &draft.patient else {
            return;
        };
        let Ok(pseudonym) = self.resolve_patient(patient) else {
            return;
        };
        let wounds = self
            .ward()
            .patient(pseudonym)
            .map(|patient| &patient.wounds);
        let Some(known) = wounds.and_then(|wounds| wounds.get(&number)?.newest()) else {
            return;
        };
        let facts = [
            ("site", known.body.site.to_string()),
            ("side", known.body.side.code().to_owned()),
            ("kind", known.body.kind.code().to_owned()),
        ];
        for (field, value) in facts {
            if draft.get(field).is_none_or(|typed| typed.trim().is_empty()) {
                draft.fields.retain(|(name, _)| name != field);
                draft.set(field, value);
            }
        }
    }
}

/// Refuses an assessment that says of a known wound what it cannot be: then it is another
/// wound, or one of the two entries is wrong.
pub(super) fn same_wound(typed: &WoundAssessment, known: &WoundLife) -> Result<(), SubmitError> {
    let Some(before) = known.newest() else {
        return Ok(());
    };
    let (seq, before) = (before.stamp.seq, &before.body);
    let number = known.number;
    let refuse = |field: &str, is: &str, code: &str| Err(differs(number, seq, field, is, code));
    if typed.side != before.side {
        return refuse("side", before.side.label(), before.side.code());
    }
    if typed.kind != before.kind && before.kind != WoundType::Unknown {
        return refuse("kind", before.kind.label(), before.kind.code());
    }
    let words = |text: &str| {
        text.split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .to_lowercase()
    };
    let (here, there) = (typed.site.to_string(), before.site.to_string());
    if words(&here) != words(&there) {
        return refuse("site", &there, &there);
    }
    Ok(())
}

fn differs(number: i32, seq: Seq, field: &str, is: &str, code: &str) -> SubmitError {
    SubmitError::refuse_field(
        field,
        format!("wound {number} is {is} by {seq}, and keeps its {field} for life"),
        format!(
            "{code}, or leave {field} out; no number if it is another wound; \"correct {seq}\" if that was wrong"
        ),
    )
}

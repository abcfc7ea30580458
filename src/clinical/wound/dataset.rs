//! What a generic wound assessment should hold.
//!
//! Source: Coleman and others 2017, *Journal of Tissue Viability* 26:226–240, the generic
//! wound assessment minimum data set; item names from memory. Only the items that one wound
//! assessment of ours can carry are checked; allergies, treatment aim and limb assessment
//! live in other entries.

use crate::record::kind::wound::{WoundAssessment, WoundType};

/// Items of the published data set (Coleman 2017: 37 in five domains).
pub const ITEMS: usize = 37;
/// How many of them [`missing_items`] looks at: no more than one assessment of ours can carry.
pub const ITEMS_LOOKED_AT: usize = 16;

/// The items that no wound assessment of ours holds, so that nobody takes a complete one for all of the data
/// set: what other entries hold, with which, and what has no field here and belongs in a note.
pub const NOT_LOOKED_AT: [&str; 12] = [
    "risk factors for delayed healing (note)",
    "allergies (admission)",
    "skin sensitivities (note)",
    "effect on quality of life: physical, social, emotional (note)",
    "information given to patient and carer (contact)",
    "number and place of wounds (one entry each)",
    "how long it has been there (note)",
    "aim of treatment (note)",
    "date of the next whole assessment (task)",
    "how often it hurts (note)",
    "lower-limb assessment, ABPI (note)",
    "referrals (escalation or task)",
];

/// The items of the minimum data set that this assessment leaves out, as people name them.
/// Empty for a healed wound, of which nothing more is asked.
#[must_use]
pub fn missing_items(wound: &WoundAssessment) -> Vec<&'static str> {
    if wound.healed == Some(true) {
        return Vec::new();
    }
    let shares = [
        wound.epithelial,
        wound.granulation,
        wound.slough,
        wound.necrotic,
    ];
    let pressure = wound.kind == WoundType::PressureUlcer;
    let items: [(&str, bool); ITEMS_LOOKED_AT] = [
        ("type of wound", wound.kind == WoundType::Unknown),
        (
            "length and width",
            wound.length.is_none() || wound.width.is_none(),
        ),
        ("depth", wound.depth.is_none()),
        (
            "undermining or tunnelling (say none)",
            wound.undermining.is_none(),
        ),
        (
            "pressure-ulcer category",
            pressure && wound.category.is_none(),
        ),
        (
            "tissue of the bed and its amount",
            shares.iter().all(Option::is_none),
        ),
        ("edges", wound.edges.is_none()),
        ("surrounding skin", wound.skin.is_none()),
        ("healed, yes or no", wound.healed.is_none()),
        ("pain", wound.pain.is_none()),
        ("amount of exudate", wound.exudate.is_none()),
        (
            "type of exudate",
            wound.exudate_type.is_none() && has_exudate(wound),
        ),
        ("odour", wound.odour.is_none()),
        ("signs of infection", wound.infection.is_none()),
        ("swab taken, yes or no", wound.swab.is_none()),
        ("next change", wound.next_change.is_none()),
    ];
    items
        .into_iter()
        .filter_map(|(item, missing)| missing.then_some(item))
        .collect()
}

fn has_exudate(wound: &WoundAssessment) -> bool {
    use crate::record::kind::wound::ExudateAmount;
    wound
        .exudate
        .is_some_and(|amount| amount != ExudateAmount::None)
}

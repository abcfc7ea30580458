//! `wound_dataset`: what a wound assessment leaves out.

use serde::Serialize;

use super::fields::Fields;
use super::{Calculator, Field, Refused, to_json};
use crate::clinical::wound::{ITEMS, ITEMS_LOOKED_AT, NOT_LOOKED_AT, missing_items};
use crate::record::field::{FieldReader, ReadContext};
use crate::record::kind::declare::Fields as _;
use crate::record::kind::wound::WoundAssessment;
use crate::record::moment::Due;
use crate::record::time::{Timestamp, WardZone};

pub(super) const WOUND_DATASET: Calculator = Calculator {
    name: "wound_dataset",
    about: "what one wound assessment leaves out of the generic minimum data set (Coleman 2017): 16 of its 37 items are looked at",
    fields: &[
        Field::may(
            "kind",
            "kind of wound, such as pressure-ulcer; unknown counts as left out",
        ),
        Field::may(
            "healed",
            "yes or no; of a healed wound nothing more is asked",
        ),
        Field::may("length", "cm, one decimal, 0 to 100"),
        Field::may("width", "cm, one decimal, 0 to 100"),
        Field::may("depth", "cm, one decimal, 0 to 100"),
        Field::may("undermining", "by clock face, or none"),
        Field::may(
            "category",
            "of a pressure ulcer only: 1 to 4, unstageable or deep-tissue",
        ),
        Field::may("epithelial", "share of the bed, per cent"),
        Field::may("granulation", "share of the bed, per cent"),
        Field::may("slough", "share of the bed, per cent"),
        Field::may("necrotic", "share of the bed, per cent"),
        Field::may("exudate", "none, low, moderate or high"),
        Field::may(
            "exudate_type",
            "serous, haemoserous, sanguineous, seropurulent or purulent",
        ),
        Field::may("odour", "yes or no"),
        Field::may("pain", "0 to 10"),
        Field::may("edges", "in words"),
        Field::may("skin", "the surrounding skin, in words"),
        Field::may(
            "infection",
            "none, covert-local, overt-local, spreading or systemic",
        ),
        Field::may("swab", "yes or no"),
        Field::may("next_change", "RFC 3339 time of the next change"),
    ],
    example: r#"{"calc":"wound_dataset","kind":"pressure-ulcer","length":3.2,"width":2.1,"category":"3","slough":40,"granulation":60,"exudate":"moderate","pain":4,"infection":"none"}"#,
    run,
};

const SOURCE: &str =
    "generic wound assessment minimum data set, Coleman 2017; item names from memory";
const CAUTION: &str = "Nothing left out of these is not a full assessment: allergies, risk factors, quality of life, aim, limb assessment and referrals are not looked at here.";

#[derive(Serialize)]
struct Answer {
    ok: bool,
    left_out: Vec<&'static str>,
    looked_at: usize,
    of_published: usize,
    says: String,
    source: &'static str,
    caution: &'static str,
    /// What no assessment holds, and where it belongs.
    not_looked_at: [&'static str; NOT_LOOKED_AT.len()],
}

fn run(fields: &Fields<'_>) -> Result<String, Refused> {
    let wound = assessment(fields)?;
    let left_out = missing_items(&wound);
    let looked = format!("{ITEMS_LOOKED_AT} of the {ITEMS} published items are looked at");
    let says = match (wound.healed == Some(true), left_out.len()) {
        (true, _) => "healed: nothing more is asked".to_owned(),
        (false, 0) => format!("nothing is left out; {looked}"),
        (false, 1) => format!("1 item is left out; {looked}"),
        (false, count) => format!("{count} items are left out; {looked}"),
    };
    Ok(to_json(&Answer {
        ok: true,
        left_out,
        looked_at: ITEMS_LOOKED_AT,
        of_published: ITEMS,
        says,
        source: SOURCE,
        caution: CAUTION,
        not_looked_at: NOT_LOOKED_AT,
    }))
}

/// The assessment that an entry with these fields would be. Limits and lists are the record's.
fn assessment(fields: &Fields<'_>) -> Result<WoundAssessment, Refused> {
    let next = fields.moment("next_change")?;
    let mut typed = vec![
        // Where it is changes no item that is looked at.
        ("site".to_owned(), "not asked".to_owned()),
        ("side".to_owned(), "n-a".to_owned()),
    ];
    let asked = WOUND_DATASET.fields.iter().map(|field| field.name);
    for name in asked.filter(|name| *name != "next_change") {
        typed.extend(fields.as_typed(name)?.map(|text| (name.to_owned(), text)));
    }
    if !typed.iter().any(|(name, _)| name == "kind") {
        typed.push(("kind".to_owned(), "unknown".to_owned()));
    }
    let cx = ReadContext {
        now: Timestamp::EARLIEST,
        zone: WardZone::LONDON,
    };
    let mut reader = FieldReader::new(&typed, cx);
    let wound = WoundAssessment::read(&mut reader);
    let mut wound = wound.ok_or_else(|| {
        let refused = reader.refusals.first();
        Refused::Said(refused.map_or(String::new(), ToString::to_string))
    })?;
    wound.next_change = next.map(Due);
    Ok(wound)
}

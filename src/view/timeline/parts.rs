//! The parts of an entry's line: its fields, what a correction changed, what it names.

use std::collections::BTreeMap;

use super::{CorrectedField, FieldLine, Link};
use crate::record::entry::Entry;
use crate::record::field::{Shape, ShowContext};
use crate::record::kind::Body;
use crate::record::time::WardZone;

pub(super) fn fields(body: &Body, cx: &ShowContext) -> Vec<FieldLine> {
    let shown = body.show(cx).into_iter();
    shown
        .map(|field| FieldLine {
            name: field.name.to_owned(),
            text: field.text,
        })
        .collect()
}

pub(super) fn differences(was: &Body, is: &Body, cx: &ShowContext) -> Vec<CorrectedField> {
    let map = |body: &Body| -> BTreeMap<&'static str, String> {
        body.show(cx)
            .into_iter()
            .map(|field| (field.name, field.text))
            .collect()
    };
    let (was, mut is) = (map(was), map(is));
    let mut differing: Vec<CorrectedField> = Vec::new();
    for (name, was) in was {
        let is = is.remove(name);
        if is.as_ref() != Some(&was) {
            differing.push(CorrectedField {
                name: name.to_owned(),
                was: Some(was),
                is,
            });
        }
    }
    differing.extend(is.into_iter().map(|(name, is)| CorrectedField {
        name: name.to_owned(),
        was: None,
        is: Some(is),
    }));
    differing
}

pub(super) fn links(entry: &Entry) -> Vec<Link> {
    let cx = ShowContext {
        zone: WardZone::UTC,
        secrets: false,
    };
    let specs = entry.kind().specs();
    let is_entry = |name: &str| {
        let mut specs = specs.iter();
        specs.any(|spec| spec.name == name && spec.shape == Shape::Entry)
    };
    let named = entry
        .body
        .show(&cx)
        .into_iter()
        .filter(|field| is_entry(field.name));
    let mut links: Vec<Link> = named
        .filter_map(|field| {
            Some(Link {
                name: field.name.to_owned(),
                seq: field.text.parse().ok()?,
            })
        })
        .collect();
    links.extend(entry.envelope.related.iter().map(|seq| Link {
        name: "related".to_owned(),
        seq: *seq,
    }));
    links
}

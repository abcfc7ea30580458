//! B in words.

use crate::clinical::news2::scale_2_in_words;
use crate::record::kind::episode::Stated;
use crate::record::observed::Spo2Scale;
use crate::view::handover::PatientBlock;
use crate::view::handover::identity::Reaching;
use crate::view::page::{Dial, Line, Tone};
use crate::view::words::{new_mark, signed};

pub(in crate::view::handover) fn background(block: &PatientBlock, dial: Dial) -> Vec<Line> {
    let back = &block.background;
    let named = |label: &str, text: &Option<String>| {
        text.as_ref()
            .map(|text| Line::new().quiet(label).plain(text))
    };
    let mut lines: Vec<Line> = Vec::new();
    let from = back.referred_by.map(|by| format!("(from {by})"));
    lines.extend(named("", &back.reason).map(|line| line.quiet(from.unwrap_or_default())));
    lines.extend(named("History:", &back.history));
    lines.extend(named("Treatment:", &back.treatment));
    let usual = if back.baseline.is_empty() {
        "not recorded".to_owned()
    } else {
        back.baseline.join(", ")
    };
    let mind = back
        .usual_mind
        .as_ref()
        .map(|mind| format!("; usual mind: {mind}"));
    lines.push(
        Line::new()
            .quiet("Usual:")
            .plain(usual)
            .plain(mind.unwrap_or_default()),
    );
    if back.scale == Some(Spo2Scale::Scale2) {
        lines.push(Line::new().strong(scale_2_in_words(back.scale_by.as_deref())));
    }
    lines.extend(named("Home oxygen:", &back.home_oxygen));
    lines.extend(smoker(&block.reaching).map(|(tone, words)| Line::new().with(tone, words)));
    lines.extend(named("Responsible:", &back.consultant));
    lines.extend(back.changed.iter().map(|change| {
        new_mark(change.origin.is_new)
            .warn("CHANGED")
            .plain(change.what.join("; "))
            .quiet(format!("because {}", change.why))
            .closed()
            .then(signed(&change.origin, dial))
    }));
    lines
}

/// What burns beside oxygen, in words; nothing where nothing is known that matters.
pub(in crate::view) const fn smoker(reaching: &Reaching) -> Option<(Tone, &'static str)> {
    match (reaching.smoker, reaching.oxygen_in_house) {
        (Some(Stated::Yes), true) => Some((Tone::Alarm, "SMOKER BESIDE OXYGEN in the house")),
        (Some(Stated::Yes), false) => Some((Tone::Plain, "Somebody smokes in the house.")),
        (None | Some(Stated::NotAsked), true) => Some((
            Tone::Warn,
            "Oxygen in the house; nobody has asked whether anyone smokes.",
        )),
        _ => None,
    }
}

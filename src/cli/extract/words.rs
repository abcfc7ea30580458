//! What was found of an extract, in words: on the terminal and on its page.

use crate::record::kind::ward::AmendmentAct;
use crate::station::extract::Extract;
use crate::station::extract::check::{Amended, Checked, Complete, ShownEntry};
use crate::view::extract::{ExtractEntry, ExtractHead, page};

/// The page for reading.
pub fn html_of(extract: &Extract, checked: &Checked) -> String {
    let head = ExtractHead {
        ward: checked
            .ward
            .clone()
            .unwrap_or_else(|| "a ward that is not named".to_owned()),
        scope: format!("Asked for: {}", extract.scope),
        made: format!(
            "Made {} by {}. Purpose: {}. Nothing vouches for these three.",
            extract.made_at, extract.made_by, extract.purpose
        ),
        teaching: checked.teaching,
        proved: proved(extract, checked),
        problems: checked.problems.clone(),
    };
    let entries: Vec<ExtractEntry> = checked.entries.iter().map(on_page).collect();
    let withheld = checked.withheld.iter();
    let withheld: Vec<_> = withheld
        .map(|held| (held.place, held.reason.clone()))
        .collect();
    page(&head, &entries, &withheld, checked.zone)
}

fn on_page(shown: &ShownEntry) -> ExtractEntry {
    let mark = |amended: &Amended| {
        let by = amended.by;
        match (amended.act, amended.stands) {
            (AmendmentAct::Withdraw, true) => format!("Withdrawn by {by}"),
            (AmendmentAct::Correct, true) => format!("Corrected by {by}: what holds stands there"),
            (AmendmentAct::Withdraw, false) => {
                format!("Withdrawn by {by}, which was withdrawn itself")
            }
            (AmendmentAct::Correct, false) => {
                format!("Corrected by {by}, which was withdrawn itself")
            }
        }
    };
    let gone = |amended: &Amended| amended.stands && amended.act == AmendmentAct::Withdraw;
    ExtractEntry {
        seq: shown.seq,
        by: shown.by.clone(),
        entry: shown.entry.clone(),
        marks: shown.amended.iter().map(mark).collect(),
        withdrawn: shown.amended.iter().any(gone),
    }
}

/// Everything that was found, a line each, as the terminal shows it.
pub fn in_lines(extract: &Extract, checked: &Checked) -> Vec<String> {
    let mut lines = Vec::new();
    if checked.teaching {
        lines.push(crate::view::page::TEACHING.to_owned());
    }
    lines.push(if checked.problems.is_empty() {
        "HOLDS: every entry shown is as it was recorded, by an author who might write it, and belongs \
         to the journal that the checkpoint is of."
            .to_owned()
    } else {
        "DOES NOT HOLD:".to_owned()
    });
    let problems = checked.problems.iter();
    lines.extend(problems.map(|what| format!("  {what}")));
    lines.extend(proved(extract, checked));
    lines.extend(checked.withheld.iter().map(|held| {
        let (place, reason) = (held.place, &held.reason);
        format!("  the entry in place {place} is withheld; reason given: {reason}")
    }));
    lines
}

/// What the checks say, a sentence each.
fn proved(extract: &Extract, checked: &Checked) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(checkpoint) = &checked.checkpoint {
        said.push(format!(
            "Rests on the checkpoint over entries 1 to {} of journal {}. To read out and compare with one \
             kept elsewhere: {}",
            checkpoint.size,
            extract.journal,
            checkpoint.digits()
        ));
    }
    let unread = checked.entries.iter();
    let unread = unread.filter(|shown| shown.entry.is_err()).count();
    let unread = match unread {
        0 => String::new(),
        some => format!(" {some} of those shown cannot be read by this program."),
    };
    said.push(format!(
        "{} entries shown, {} withheld.{unread}",
        checked.shown,
        checked.withheld.len()
    ));
    if checked.opened > 0 {
        said.push(format!(
            "{} of those shown are sealed in the journal and opened here, each with a key of its own that opens nothing \
             else. What they say is what was sealed, unless whoever wrote one had prepared it then to open in two ways.",
            checked.opened
        ));
    }
    if let Some(up_to) = checked.up_to {
        said.push(format!(
            "All this is as of entry {up_to}, the checkpoint's own: of what came after, nothing is shown or said."
        ));
        said.extend(checked.patients.iter().map(completeness));
        if checked.patients.is_empty() {
            said.push(
                "No patient's record is in it, so nothing is said of how much of one is here."
                    .to_owned(),
            );
        }
    }
    let missing = |one: &Complete| one.in_all > one.shown;
    if checked.patients.iter().any(missing) {
        said.push(
            "Whether one of those that are not shown withdraws or corrects one that is cannot be told from this file."
                .to_owned(),
        );
    }
    said
}

fn completeness(one: &Complete) -> String {
    let (shown, held) = (one.shown, one.withheld);
    let elsewhere = one.in_all.saturating_sub(shown + held);
    let all = format!(
        "Up to entry {} the record of patient {} has {} entries",
        one.up_to,
        one.patient.short(),
        one.in_all
    );
    match (held, elsewhere) {
        (0, 0) => format!("{all}, and all of them are here."),
        (held, 0) => format!("{all}: {shown} are here and {held} withheld."),
        (held, elsewhere) => {
            format!("{all}: {shown} are here, {held} withheld, {elsewhere} not in the file.")
        }
    }
}

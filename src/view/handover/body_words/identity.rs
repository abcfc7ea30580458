//! Who the patient is, in words.

use crate::record::kind::episode::{Ceiling, Resuscitation};
use crate::record::person::Allergies;
use crate::record::time::show_date;
use crate::view::handover::PatientBlock;
use crate::view::handover::identity::Identity;
use crate::view::page::Line;
use crate::view::words;

pub(in crate::view::handover) fn identity(block: &PatientBlock) -> Vec<Line> {
    let who = &block.identity;
    let born = match (who.born, who.age_years) {
        (Some(day), Some(age)) => format!("born {} ({age}y)", show_date(day.to_date())),
        (Some(day), None) => format!("born {} (age not known)", show_date(day.to_date())),
        _ => "date of birth not recorded".to_owned(),
    };
    let sex = who.sex.map_or("sex not recorded", |sex| sex.label());
    let line = Line::new().plain(format!("{born}, {},", sex.to_lowercase()));
    let line = match (&who.nhs, &who.local_number) {
        (Some(nhs), _) => line.plain(format!("NHS {nhs};")),
        (None, Some(local)) => line.plain(format!("no NHS number, local {local};")),
        (None, None) => line.warn("NO NHS OR LOCAL NUMBER RECORDED;"),
    };
    let known_as = who
        .known_as
        .as_ref()
        .map(|name| format!("likes to be called {name}"));
    let gender = who.gender.as_ref().map(|gender| format!("gender {gender}"));
    let mut lines = vec![
        line.plain(list(&[gender, known_as, Some(stay(who))])),
        safety(who),
        if_worse(block),
    ];
    lines.extend(words::similar_names(&who.similar_names));
    lines
}

fn list(parts: &[Option<String>]) -> String {
    let parts: Vec<&str> = parts.iter().flatten().map(String::as_str).collect();
    parts.join("; ")
}

fn stay(who: &Identity) -> String {
    let day = match who.day_of_stay {
        Some(day) => format!("day {day} of stay"),
        None => "day of stay not known".to_owned(),
    };
    let out = match who.expected_discharge {
        Some(day) => format!("expected out {}", show_date(day.to_date())),
        None => "no expected discharge date".to_owned(),
    };
    format!("{day}, {out}")
}

/// What to do if the patient gets worse stands with the name, not at the end of the block.
fn if_worse(block: &PatientBlock) -> Line {
    match &block.recommendation.plan {
        Some(plan) => Line::new().quiet("If worse:").strong(plan),
        None => Line::new().warn("IF WORSE: NO ESCALATION PLAN RECORDED."),
    }
}

/// Allergies, ceiling of care and CPR stand next to the name.
fn safety(who: &Identity) -> Line {
    let line = Line::new().quiet("Allergies:");
    let line = match &who.allergies {
        Allergies::NotAsked => line.warn("NOT ASKED."),
        Allergies::NoneKnown => line.plain("none known."),
        Allergies::Known(each) => line.alarm(format!("{}.", each.join("; "))),
    };
    let line = line.quiet("Ceiling of care:");
    let line = match who.ceiling {
        None | Some(Ceiling::NotDecided) => line.warn("NOT DECIDED."),
        Some(ceiling) => line.strong(format!("{}.", ceiling.label())),
    };
    let line = match who.resuscitation {
        None => line.warn("CPR not recorded."),
        Some(Resuscitation::NotDiscussed) => {
            line.warn(format!("{}.", words::cpr(Resuscitation::NotDiscussed)))
        }
        Some(resuscitation) => line.strong(format!("{}.", words::cpr(resuscitation))),
    };
    line.quiet(
        who.form_kept
            .as_ref()
            .map(|place| format!("Form: {place}."))
            .unwrap_or_default(),
    )
}

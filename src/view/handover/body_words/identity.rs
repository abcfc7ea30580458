//! Who the patient is, in words.

use crate::record::kind::episode::{Ceiling, Resuscitation};
use crate::record::person::Allergies;
use crate::record::time::show_date;
use crate::view::handover::identity::Identity;
use crate::view::page::Line;

pub(in crate::view::handover) fn identity(who: &Identity) -> Vec<Line> {
    let born = match (who.born, who.age_years) {
        (Some(day), Some(age)) => format!("born {} ({age}y)", show_date(day.to_date())),
        (Some(day), None) => format!("born {}", show_date(day.to_date())),
        _ => "date of birth not recorded".to_owned(),
    };
    let sex = who.sex.map_or("sex not recorded", |sex| sex.label());
    let number = match (&who.nhs, &who.local_number) {
        (Some(nhs), _) => format!("NHS {nhs}"),
        (None, Some(local)) => format!("no NHS number; local {local}"),
        (None, None) => "no number recorded".to_owned(),
    };
    let known_as = who
        .known_as
        .as_ref()
        .map(|name| format!("likes to be called {name}"));
    let gender = who.gender.as_ref().map(|gender| format!("gender {gender}"));
    let mut lines = vec![
        Line::new()
            .plain(format!("{born},"))
            .plain(format!("{sex},"))
            .plain(list(&[Some(number), gender, known_as, stay(who)])),
        safety(who),
    ];
    if !who.similar_names.is_empty() {
        let names: Vec<String> = who.similar_names.iter().map(ToString::to_string).collect();
        lines.push(
            Line::new()
                .warn("SIMILAR NAME ON THE WARD:")
                .plain(names.join("; ")),
        );
    }
    lines
}

fn list(parts: &[Option<String>]) -> String {
    let parts: Vec<&str> = parts.iter().flatten().map(String::as_str).collect();
    parts.join("; ")
}

fn stay(who: &Identity) -> Option<String> {
    let day = who.day_of_stay.map(|day| format!("day {day} of stay"));
    let out = who
        .expected_discharge
        .map(|d| format!("expected out {}", show_date(d.to_date())));
    let parts: Vec<String> = [day, out].into_iter().flatten().collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// Allergies, ceiling of care and CPR stand next to the name.
fn safety(who: &Identity) -> Line {
    let line = Line::new().quiet("Allergies");
    let line = match &who.allergies {
        Allergies::NotAsked => line.warn("NOT ASKED."),
        Allergies::NoneKnown => line.plain("none known."),
        Allergies::Known(each) => line.alarm(format!("{}.", each.join("; "))),
    };
    let line = line.quiet("Ceiling of care");
    let line = match who.ceiling {
        None | Some(Ceiling::NotDecided) => line.warn("NOT DECIDED."),
        Some(ceiling) => line.strong(format!("{}.", ceiling.label())),
    };
    let line = match who.resuscitation {
        None | Some(Resuscitation::NotDiscussed) => line.warn("CPR not discussed."),
        Some(resuscitation) => line.strong(format!("CPR: {}.", resuscitation.label())),
    };
    line.quiet(
        who.form_kept
            .as_ref()
            .map(|place| format!("Form: {place}."))
            .unwrap_or_default(),
    )
}

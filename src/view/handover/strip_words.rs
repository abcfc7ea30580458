//! The ward strip in words.

use super::strip::{Floor, HeldBack, Highest, ShiftLine, SilentPatient, Strip, SupplyOnWay};
use crate::view::origin::NameRef;
use crate::view::page::{Dial, Fact, Line};
use crate::view::words;

pub(super) fn facts(strip: &Strip, dial: Dial) -> Vec<Fact> {
    let mut facts = vec![
        fact("Caseload", vec![caseload(strip)]),
        fact("Open", vec![open(strip, dial)]),
        fact("Work", vec![work(strip, dial)]),
        fact("Scores", scores(strip, dial)),
        fact("Silent", silent(strip, dial)),
        fact("Unreached", unreached(strip, dial)),
        fact("Staff", staff(strip, dial)),
        fact("Supplies", supplies(strip, dial)),
    ];
    if !strip.held_back.is_empty() {
        let held_back = strip.held_back.iter().map(held_back);
        // Before all that is counted: nobody may think that somebody else looks after them.
        facts.insert(1, fact("Handover", held_back.collect()));
    }
    if !strip.similar_names.is_empty() {
        let groups = strip.similar_names.iter();
        facts.push(fact(
            "Names",
            groups
                .map(|group| Line::new().warn("SIMILAR:").plain(list(group)))
                .collect(),
        ));
    }
    facts
}

fn fact(label: &'static str, lines: Vec<Line>) -> Fact {
    Fact { label, lines }
}

fn list(names: &[NameRef]) -> String {
    let names: Vec<String> = names.iter().map(ToString::to_string).collect();
    names.join("; ")
}

fn or_nobody(names: &[NameRef]) -> String {
    if names.is_empty() {
        "nobody".to_owned()
    } else {
        list(names)
    }
}

fn caseload(strip: &Strip) -> Line {
    Line::new()
        .strong(strip.caseload.to_string())
        .plain(words::plural(strip.caseload, "patient.", "patients."))
        .quiet("Came today:")
        .plain(format!("{}.", or_nobody(&strip.came_today)))
        .quiet("Expected to leave today or before:")
        .plain(format!("{}.", or_nobody(&strip.expected_out)))
        .quiet("Left today:")
        .plain(format!("{}.", or_nobody(&strip.left_today)))
        .quiet("Expected to come: not held in this journal.")
}

fn held_back(held_back: &HeldBack) -> Line {
    let why = if held_back.declined {
        "declined"
    } else {
        "asked, not answered before"
    };
    Line::new()
        .alarm("NOT TAKEN OVER")
        .plain(format!("with {}:", held_back.handover))
        .strong(held_back.who.to_string())
        .plain(format!("({why}: {})", held_back.text.replace('\n', " ")))
        .quiet(held_back.seq.to_string())
}

fn open(strip: &Strip, dial: Dial) -> Line {
    let alerts = words::count(strip.open_alerts, "open alert", "open alerts");
    let escalations = words::count(
        strip.open_escalations,
        "open escalation",
        "open escalations",
    );
    let mut line = match strip.oldest_alert_at {
        None => Line::of(format!("{alerts};")),
        Some(at) => Line::new().alarm(alerts).plain(format!(
            "({} not taken; oldest {});",
            strip.alerts_untaken,
            dial.at_ago(at)
        )),
    };
    line = match strip.open_escalations {
        0 => line.plain(format!("{escalations};")),
        _ => line.alarm(escalations).plain(";"),
    };
    let results = words::count(
        strip.unreviewed_results,
        "result nobody has seen",
        "results nobody has seen",
    );
    line = match strip.oldest_unreviewed_at {
        None => line.plain(format!("{results};")),
        Some(at) => unseen_results(line.warn(results), strip, dial.at_ago(at)),
    };
    line.plain(words::count(
        strip.open_queries,
        "handover query unanswered",
        "handover queries unanswered",
    ))
}

fn unseen_results(line: Line, strip: &Strip, oldest: String) -> Line {
    let line = match strip.unreviewed_critical {
        0 => line,
        many => line.alarm(format!("{many} CRITICAL")),
    };
    line.plain(format!("(oldest reported {oldest});"))
}

fn work(strip: &Strip, dial: Dial) -> Line {
    let overdue = format!("{} overdue", strip.overdue);
    let line = match strip.overdue {
        0 => Line::of(overdue),
        _ => Line::new().warn(overdue),
    };
    line.plain(format!(
        "and {} due by {}",
        strip.due_this_shift,
        dial.at(strip.shift_ends)
    ))
}

fn scores(strip: &Strip, dial: Dial) -> Vec<Line> {
    let highest = strip.highest.iter();
    let mut ranked: Vec<(u8, Line)> = highest
        .map(|high| (high.total, score(high, dial)))
        .collect();
    let floors = strip.floors.iter();
    ranked.extend(floors.map(|one| (one.points(), floor(one, dial))));
    // A stable order: of equal points the complete set stands first.
    ranked.sort_by_key(|(points, _)| std::cmp::Reverse(*points));
    let mut lines: Vec<Line> = ranked.into_iter().map(|(_, line)| line).collect();
    if lines.is_empty() {
        lines.push(Line::of("no known score above 0"));
    }
    if !strip.without_total.is_empty() {
        lines.push(
            Line::new()
                .warn("NO TOTAL:")
                .plain(list(&strip.without_total))
                .quiet("(newest set incomplete)"),
        );
    }
    lines
}

fn score(high: &Highest, dial: Dial) -> Line {
    let line = Line::new().strong(format!("NEWS2 {}:", high.total));
    let line = line.plain(format!("{};", high.who));
    let line = if high.single_3 {
        line.alarm("single 3;")
    } else {
        line
    };
    let rise = match high.rise {
        None => "no earlier total;".to_owned(),
        Some(0) => "no change;".to_owned(),
        Some(more) => format!("{} since the set before;", words::points(more)),
    };
    line.plain(rise)
        .quiet(format!("taken {}", dial.at_ago(high.at)))
}

/// `NEWS2 no total: T07 PELL, Rose (Mrs); AT LEAST 7 from what was measured; last total 3 at ..`.
fn floor(floor: &Floor, dial: Dial) -> Line {
    let line = Line::new()
        .warn("NEWS2 no total:")
        .plain(format!("{};", floor.who));
    let line = match floor.at_least {
        Some(points @ 5..) => line.alarm(format!("AT LEAST {points} FROM WHAT WAS MEASURED;")),
        Some(points) => line.plain(format!("at least {points} from what was measured;")),
        None => line,
    };
    let line = if floor.single_3 {
        line.alarm("single 3;")
    } else {
        line
    };
    let last = floor.last_total.as_ref();
    line.plain(last.map_or_else(
        || "no complete set before;".to_owned(),
        |then| format!("last total {} at {};", then.total, dial.at_ago(then.at)),
    ))
    .quiet(format!("taken {}", dial.at_ago(floor.at)))
}

/// Longest silence first; after a quiet night they are many, so they share a line.
fn silent(strip: &Strip, dial: Dial) -> Vec<Line> {
    if strip.silent.is_empty() {
        return vec![Line::of("nobody without recent readings")];
    }
    let mut silent: Vec<&SilentPatient> = strip.silent.iter().collect();
    silent.sort_by_key(|silent| silent.last_reading_at);
    let each = silent.iter().map(|silent| {
        let name = silent.who.slot.as_ref().unwrap_or(&silent.who.name);
        match silent.last_reading_at {
            Some(at) => format!("{name} {}", dial.now.since(at).spoken()),
            None => format!("{name} no reading in this stay"),
        }
    });
    let each: Vec<String> = each.collect();
    vec![
        Line::new()
            .warn(format!("SILENT {}:", strip.silent.len()))
            .plain(each.join("; "))
            .quiet("since the newest reading"),
    ]
}

fn unreached(strip: &Strip, dial: Dial) -> Vec<Line> {
    if strip.unreached.is_empty() {
        return vec![Line::of("no call is left unanswered")];
    }
    let lines = strip.unreached.iter().map(|tries| {
        Line::new()
            .warn("NOT REACHED:")
            .plain(format!("{};", tries.who))
            .plain(words::count(tries.attempts, "attempt", "attempts"))
            .quiet(format!("since {}", dial.at_ago(tries.since)))
    });
    lines.collect()
}

fn staff(strip: &Strip, dial: Dial) -> Vec<Line> {
    let mut lines: Vec<Line> = strip
        .shifts
        .iter()
        .map(|shift| shift_line(shift, dial))
        .collect();
    if lines.is_empty() {
        lines.push(Line::of("no shift is recorded for now or later"));
    }
    lines.extend(strip.allocation.iter().map(|allocation| {
        let slots: Vec<&str> = allocation
            .patients
            .iter()
            .map(|who| who.slot.as_deref().unwrap_or(&who.name))
            .collect();
        Line::new()
            .plain(format!("{} has", allocation.to))
            .strong(format!("{}:", allocation.patients.len()))
            .quiet(slots.join(" "))
    }));
    if !strip.unallocated.is_empty() {
        lines.push(
            Line::new()
                .warn("ALLOCATED TO NOBODY:")
                .plain(list(&strip.unallocated)),
        );
    }
    lines
}

fn shift_line(shift: &ShiftLine, dial: Dial) -> Line {
    let staff: Vec<String> = shift.staff.iter().map(ToString::to_string).collect();
    let staff = if staff.is_empty() {
        "nobody named".to_owned()
    } else {
        staff.join(", ")
    };
    let detail = shift.detail.clone().unwrap_or_default();
    Line::new()
        .strong(&shift.name)
        .quiet(format!(
            "{} to {}:",
            dial.at(shift.from),
            dial.at(shift.until)
        ))
        .plain(format!("{staff}."))
        .plain(detail)
}

fn supplies(strip: &Strip, dial: Dial) -> Vec<Line> {
    if strip.supplies.is_empty() {
        return vec![Line::of("nothing is on its way")];
    }
    strip
        .supplies
        .iter()
        .map(|supply| supply_line(supply, dial))
        .collect()
}

fn supply_line(supply: &SupplyOnWay, dial: Dial) -> Line {
    let state = supply.state.map_or("asked for", |state| state.label());
    let line = Line::new()
        .plain(format!("{}:", supply.who))
        .plain(format!("{};", supply.item));
    let line = if supply.failed {
        line.alarm(format!("NOT DELIVERED, {state};"))
    } else {
        line.plain(format!("{state};"))
    };
    line.quiet(
        supply
            .needed_by
            .map(|at| format!("needed {}", dial.at(at)))
            .unwrap_or_default(),
    )
    .quiet(supply.seq.to_string())
}

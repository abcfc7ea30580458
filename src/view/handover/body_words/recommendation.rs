//! R in words, and how to reach the patient.

use crate::record::kind::task::Priority;
use crate::view::handover::PatientBlock;
use crate::view::handover::identity::Reaching;
use crate::view::handover::plan::{DueLine, QueryLine};
use crate::view::page::{Dial, Line, Tone};
use crate::view::words::{human, new_mark, signed, whose};

pub(in crate::view::handover) fn recommendation(block: &PatientBlock, dial: Dial) -> Vec<Line> {
    let plan = &block.recommendation;
    let mut lines: Vec<Line> = Vec::new();
    lines.push(match &plan.allocated_to {
        Some(who) => Line::new().quiet("Allocated to:").plain(who.to_string()),
        None => Line::new().warn("ALLOCATED TO NOBODY"),
    });
    lines.extend(plan.queries.iter().map(|line| query(line, dial)));
    lines.extend(plan.due.iter().map(|line| due(line, dial)));
    if plan.due_later > 0 {
        lines.push(Line::new().quiet(format!("and {} due later", plan.due_later)));
    }
    if plan.next_contact.is_none() && block.situation.unreached.is_none() {
        lines.push(Line::new().warn("No next contact is arranged."));
    }
    lines.extend(
        plan.watch_for
            .iter()
            .map(|note| human("Watch for:", note, dial)),
    );
    lines.extend(
        plan.safety_net
            .iter()
            .map(|net| human("Patient was told:", net, dial)),
    );
    lines.extend(
        plan.questions
            .iter()
            .map(|note| human("Question:", note, dial)),
    );
    lines.extend(reaching(&block.reaching));
    lines
}

pub(in crate::view::handover) fn due(due: &DueLine, dial: Dial) -> Line {
    let from = due.from.map(|from| format!("{} to ", dial.at(from)));
    let at = format!("{}{}", from.unwrap_or_default(), dial.at(due.due));
    let line = new_mark(due.is_new);
    let line = if due.overdue {
        let late = dial.now.since(due.due).spoken();
        line.warn(format!("OVERDUE {late},"))
            .strong(format!("was due {at}:"))
    } else {
        line.strong(format!("{at}:"))
    };
    let line = if due.priority == Priority::High {
        line.alarm("high priority,")
    } else {
        line
    };
    let whose = whose(due.owner.as_ref(), due.role);
    line.plain(&due.what)
        .plain(
            due.detail
                .iter()
                .map(|part| format!("({part})"))
                .collect::<Vec<_>>()
                .join(" "),
        )
        .quiet(format!("- {whose}"))
        .quiet(due.seq.to_string())
}

pub(in crate::view::handover) fn query(query: &QueryLine, dial: Dial) -> Line {
    new_mark(query.origin.is_new)
        .warn("QUERY UNANSWERED:")
        .with(Tone::Human, "[human]")
        .plain(&query.text)
        .quiet(format!("(in handover {})", query.handover))
        .closed()
        .then(signed(&query.origin, dial))
}

fn reaching(reach: &Reaching) -> Vec<Line> {
    let named = |label: &str, text: &Option<String>| {
        text.as_ref()
            .map(|text| Line::new().quiet(label).plain(text))
    };
    let carers: Vec<String> = reach
        .carers
        .iter()
        .map(|carer| format!("{} ({}) {}", carer.name, carer.relation, carer.reach))
        .collect();
    let carers = Some(carers.join("; ")).filter(|carers| !carers.is_empty());
    let risk = reach.lone_worker.as_ref();
    let risk = risk.map(|risk| Line::new().warn("LONE WORKER:").plain(risk));
    let mut lines: Vec<Line> = Vec::new();
    lines.extend(risk);
    let phone = match &reach.phone {
        Some(phone) => Line::new().quiet("Phone:").plain(format!("{phone};")),
        None => Line::new().warn("PHONE NOT RECORDED;"),
    };
    let carers = named("Carers:", &carers);
    lines.push(phone.then(carers.unwrap_or_else(|| Line::of("no carer recorded"))));
    let key = if reach.key_safe_held {
        "(key-safe code held; whoever visits reads it in the program: baseline)"
    } else {
        ""
    };
    let visit = match &reach.area {
        Some(area) => Line::new().quiet("Visit:").plain(format!("{area};")),
        None => Line::new().quiet("Visit: area not recorded;"),
    };
    lines.push(
        visit
            .plain(
                reach
                    .access
                    .clone()
                    .unwrap_or_else(|| "how to get in is not recorded".to_owned()),
            )
            .quiet(key),
    );
    lines.extend(named("Language:", &reach.language));
    lines.extend(named("Hearing, sight, speech:", &reach.hearing));
    lines.retain(|line| !line.is_empty());
    lines
}

//! Nobody answers: a patient who was not reached, and an escalation without an answer. Both
//! age, and the ward's policy says what is done next.

use super::{About, Desk, Part, Weight, Working, ago};
use crate::ward::escalations::EscalationLife;

const SOURCE: &str = "this ward's policy; there is no published limit";
const CAUTION: &str = "No answer is a finding, not a result: silence is not stability.";

pub(super) fn reach(desk: &Desk<'_>) -> Vec<Working> {
    let open = desk.patient.escalations.values();
    let waiting = open.filter(|life| life.is_open() && life.answer().is_none());
    let mut worked: Vec<Working> = waiting.map(|life| unanswered(desk, life)).collect();
    worked.extend(not_reached(desk));
    worked
}

fn unanswered(desk: &Desk<'_>, life: &EscalationLife) -> Working {
    let policy = desk.policy.values().escalation();
    let made = life.made.stamp.occurred_at;
    let waited = desk.now.since(made);
    let to = &life.made.body.to_role;
    let mut text = format!(
        "Escalation {} to {to} has had no answer for {}",
        life.seq(),
        waited.spoken()
    );
    // What was agreed in the entry goes before the policy, as in the list of what is due.
    let due = life
        .answer_due()
        .unwrap_or_else(|| made.plus(policy.unanswered_after));
    let late = desk.now >= due;
    if late {
        text += &format!(": {}", policy.next);
    }
    Working {
        about: About::Answer,
        weight: if late { Weight::Act } else { Weight::Look },
        text,
        parts: vec![Part::new("answer due", desk.when(due))],
        entries: vec![life.seq()],
        source: SOURCE,
        caution: CAUTION,
    }
}

fn not_reached(desk: &Desk<'_>) -> Option<Working> {
    let attempts = desk.patient.unreached();
    let last = attempts.last()?;
    let policy = desk.policy.values().contact();
    let used_up = i64::try_from(attempts.len()).unwrap_or(i64::MAX) >= policy.no_answer_attempts;
    let due = match last.body.next {
        Some(agreed) => agreed.0,
        None => last.stamp.occurred_at.plus(policy.next_attempt),
    };
    let mut text = format!(
        "Not reached in {} {}",
        attempts.len(),
        if attempts.len() == 1 {
            "attempt"
        } else {
            "attempts"
        }
    );
    if used_up {
        text += &format!(": {}", policy.welfare_check);
    } else if due < desk.now {
        let late = desk.now.since(due).spoken();
        text += &format!("; the next was due by {}, {late} ago", desk.when(due));
    } else {
        text += &format!("; the next is due by {}", desk.when(due));
    }
    Some(Working {
        about: About::Answer,
        weight: if used_up { Weight::Act } else { Weight::Look },
        text,
        parts: vec![Part::new("last attempt", ago(desk, last.stamp.occurred_at))],
        entries: attempts.iter().map(|held| held.seq()).collect(),
        source: SOURCE,
        caution: CAUTION,
    })
}

//! The ledger of alerts: who raised, saw, took, acted on and closed each, and how long it
//! waited. Beside them, and never as one of them, the critical results nobody has looked at:
//! whoever asks what needs somebody now must not miss them.

use serde::Serialize;

use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::alert::{AlertMove, AlertOutcome, AlertSource, Severity};
use crate::record::time::{Span, Timestamp};
use crate::view::handover::{ResultLine, result_line, result_words};
use crate::view::origin::{NameRef, Origin, Subject, Vantage, Writer};
use crate::view::page::{Block, Card, Dial, Line, Page, Part};
use crate::view::render::csv;
use crate::view::timeline::Heading;
use crate::view::words;
use crate::ward::Patient;
use crate::ward::alerts::AlertLife;

/// Name and version of the ledger's JSON form.
pub const ALERTS_SCHEMA: &str = "handfast.alerts/1";

/// Which alerts are wanted; the default is all of them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct AlertWhich {
    /// Open ones only.
    pub open_only: bool,
    /// Raised at or after a moment; open ones always.
    pub since: Option<Timestamp>,
    /// Of one patient only.
    pub patient: Option<Pseudonym>,
}

/// The ledger.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AlertLedger {
    /// [`ALERTS_SCHEMA`].
    pub schema: &'static str,
    /// As of when.
    pub heading: Heading,
    /// How many are open.
    pub open: usize,
    /// Critical results nobody has looked at, the one that has waited longest first. They are
    /// no alerts and are not counted as such.
    pub critical_unseen: Vec<CriticalRow>,
    /// Open ones first, most severe first; then the closed, newest first.
    pub alerts: Vec<AlertRow>,
}

/// A critical result nobody has looked at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CriticalRow {
    /// Whose.
    pub who: NameRef,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
    /// Minutes since it was reported.
    pub waited_minutes: i64,
    /// What it says.
    pub result: ResultLine,
}

/// One alert's life.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AlertRow {
    /// Whose; none for the ward's.
    pub who: Option<NameRef>,
    /// Others on the ward whose name is the same or could be taken for it.
    pub similar_names: Vec<NameRef>,
    /// What raised it.
    pub source: AlertSource,
    /// What it is.
    pub what: String,
    /// How soon somebody must act.
    pub severity: Severity,
    /// More about it.
    pub detail: Option<String>,
    /// Who raised it and when.
    pub raised: Origin,
    /// Not closed.
    pub open: bool,
    /// Who has it.
    pub holder: Option<Writer>,
    /// Since when.
    pub held_since: Option<Timestamp>,
    /// How it ended.
    pub outcome: Option<AlertOutcome>,
    /// Minutes until somebody had it, or until now while nobody has; being seen ends no waiting.
    pub waited_minutes: i64,
    /// Minutes until somebody had acted on it or called for help; closing is no act. `None` if
    /// nobody has.
    pub to_action_minutes: Option<i64>,
    /// Every step, in the order recorded.
    pub steps: Vec<StepLine>,
}

/// One step of an alert's life.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StepLine {
    /// What was done.
    pub step: AlertMove,
    /// When it was done.
    pub at: Timestamp,
    /// Who did it.
    pub by: Writer,
    /// The entry.
    pub seq: Seq,
    /// What was found and done.
    pub what: Option<String>,
    /// Whom it was handed to.
    pub to: Option<Writer>,
    /// It follows from a contact that answered the alert.
    pub by_contact: bool,
}

/// The ledger, as wanted.
#[must_use]
pub fn alert_ledger(vantage: &Vantage<'_>, which: &AlertWhich) -> AlertLedger {
    let ward = vantage.ward;
    let mut alerts: Vec<AlertRow> = Vec::new();
    let whose = ward.patients().map(Some).chain([None]);
    for patient in whose {
        let id = patient.map(|patient| patient.pseudonym);
        if which.patient.is_some() && which.patient != id {
            continue;
        }
        let ledgers = patient.map_or(ward.common(), |patient| &patient.ledgers);
        if ledgers.alerts.is_empty() {
            continue;
        }
        let subject = vantage.on(patient);
        let similar = vantage.similar_names(patient);
        let wanted = ledgers.alerts.values().filter(|alert| {
            let new = which
                .since
                .is_none_or(|since| alert.stamp.occurred_at >= since);
            alert.is_open() || (!which.open_only && new)
        });
        alerts.extend(wanted.map(|alert| row(&subject, patient, &similar, alert)));
    }
    alerts.sort_by_key(|row| {
        let closed = (!row.open).then_some(std::cmp::Reverse(row.raised.occurred_at));
        // Of one urgency first what nobody has.
        let open = row
            .open
            .then_some((row.severity, row.holder.is_some(), row.raised.occurred_at));
        (closed, open, row.raised.seq)
    });
    AlertLedger {
        schema: ALERTS_SCHEMA,
        heading: Heading::of(vantage),
        open: alerts.iter().filter(|row| row.open).count(),
        critical_unseen: critical_unseen(vantage, which),
        alerts,
    }
}

fn critical_unseen(vantage: &Vantage<'_>, which: &AlertWhich) -> Vec<CriticalRow> {
    let waiting = vantage.ward.critical_unseen().into_iter();
    waiting
        .filter(|(patient, _)| which.patient.is_none_or(|one| one == patient.pseudonym))
        .map(|(patient, life)| CriticalRow {
            who: NameRef::of(patient),
            similar_names: vantage.similar_names(Some(patient)),
            waited_minutes: vantage
                .now
                .since(life.reported.stamp.occurred_at)
                .whole_minutes(),
            result: result_line(&vantage.on(Some(patient)), patient, life),
        })
        .collect()
}

impl CriticalRow {
    fn card(&self, dial: Dial) -> Card {
        let waited = Span::minutes(self.waited_minutes).spoken();
        let seq = self.result.origin.seq;
        Card {
            title: words::new_mark(self.result.origin.is_new)
                .strong(self.who.to_string())
                .alarm("CRITICAL RESULT")
                .plain(self.result.in_short()),
            aside: Line::new().alarm("NOBODY HAS LOOKED AT IT"),
            urgent: true,
            lead: words::similar_names(&self.similar_names)
                .into_iter()
                .chain([Line::new().alarm(format!("WAITING {waited}"))])
                .collect(),
            parts: vec![Part {
                letter: "",
                name: "Result, no alert",
                lines: vec![
                    result_words(&self.result, dial),
                    Line::new().quiet(format!("Whoever has looked writes: review {}", seq.0)),
                ],
            }],
        }
    }
}

fn row(
    subject: &Subject<'_>,
    patient: Option<&Patient>,
    similar_names: &[NameRef],
    alert: &AlertLife,
) -> AlertRow {
    let vantage = &subject.vantage;
    let named = |handle| Writer::of_handle(vantage.ward, handle);
    let steps = alert.steps.iter().map(|step| StepLine {
        step: step.body.step,
        at: step.stamp.occurred_at,
        by: Writer::of_author(vantage.ward, &step.stamp.author),
        seq: step.stamp.seq,
        what: step.body.what.clone(),
        to: step.body.to.as_ref().map(named),
        by_contact: step.body.by_contact,
    });
    AlertRow {
        who: patient.map(NameRef::of),
        similar_names: similar_names.to_vec(),
        source: alert.source,
        what: alert.what.clone(),
        severity: alert.severity,
        detail: alert.detail.clone(),
        raised: subject.origin_with(&alert.stamp, alert.steps.last().map(|s| s.stamp.seq)),
        open: alert.is_open(),
        holder: alert.holder().map(|(handle, _)| named(handle)),
        held_since: alert.holder().map(|(_, since)| *since),
        outcome: alert.outcome(),
        waited_minutes: alert.waited(vantage.now).whole_minutes(),
        to_action_minutes: alert.time_to_action().map(|span| span.whole_minutes()),
        steps: steps.collect(),
    }
}

impl AlertRow {
    /// The first step of a sort.
    #[must_use]
    pub fn first(&self, wanted: AlertMove) -> Option<&StepLine> {
        self.steps.iter().find(|step| step.step == wanted)
    }

    fn card(&self, dial: Dial) -> Card {
        let who = self
            .who
            .as_ref()
            .map_or_else(|| "ward".to_owned(), ToString::to_string);
        let state = match (self.open, &self.holder, self.outcome) {
            (false, _, outcome) => {
                let how = outcome.map_or("outcome not recorded", |outcome| outcome.label());
                let acted = match self.to_action_minutes {
                    Some(_) => "",
                    None => ", without a recorded act",
                };
                Line::of(format!("closed: {how}{acted}"))
            }
            (true, Some(holder), _) => Line::new().strong(format!("open; {holder} has it")),
            (true, None, _) => Line::new().alarm("OPEN; NOBODY HAS IT"),
        };
        let waited = Span::minutes(self.waited_minutes).spoken();
        let waited = match self.open && self.holder.is_none() {
            false => Line::new().plain(format!("waited {waited}")),
            true => Line::new().alarm(format!("WAITING {waited}")),
        };
        let acted = self.to_action_minutes.map(|minutes| {
            let span = Span::minutes(minutes).spoken();
            format!("acted on after {span}")
        });
        let lines = vec![
            Line::new()
                .quiet(format!("({};", self.source))
                .quiet(format!("{})", self.severity))
                .plain(self.detail.clone().unwrap_or_default()),
            Line::new()
                .quiet("raised")
                .plain(dial.at_ago(self.raised.occurred_at))
                .then(words::by(&self.raised, dial)),
        ];
        let steps = self.steps.iter().map(|step| step_line(step, dial));
        Card {
            title: words::new_mark(self.raised.is_new)
                .strong(who)
                .plain(&self.what),
            aside: state,
            urgent: self.open,
            lead: words::similar_names(&self.similar_names)
                .into_iter()
                .chain([waited.plain(acted.map(|acted| format!("; {acted}")).unwrap_or_default())])
                .collect(),
            parts: vec![Part {
                letter: "",
                name: "Life",
                lines: lines.into_iter().chain(steps).collect(),
            }],
        }
    }
}

fn step_line(step: &StepLine, dial: Dial) -> Line {
    let to = step.to.as_ref().map(|to| format!("to {to}"));
    Line::new()
        .quiet(dial.at(step.at))
        .strong(step.step.label())
        .plain(to.unwrap_or_default())
        .plain(step.what.clone().unwrap_or_default())
        .quiet(format!("{} {}", step.by, step.seq))
        .quiet(if step.by_contact {
            "(by a contact)"
        } else {
            ""
        })
}

impl AlertLedger {
    /// The ledger in words.
    #[must_use]
    pub fn page(&self) -> Page {
        let dial = self.heading.dial();
        let mut title = format!("Alerts: {}, {} open", self.alerts.len(), self.open);
        if !self.critical_unseen.is_empty() {
            let count = self.critical_unseen.len();
            let results = words::count(count, "critical result", "critical results");
            title += &format!("; {results} nobody has looked at");
        }
        let mut page = self.heading.page(title);
        let results = self.critical_unseen.iter().map(|row| row.card(dial));
        let alerts = self.alerts.iter().map(|row| row.card(dial));
        page.blocks
            .push(Block::Cards(results.chain(alerts).collect()));
        page
    }

    /// The alerts for a spreadsheet; results are in the caseload's.
    #[must_use]
    pub fn csv(&self) -> String {
        let head = [
            "entry",
            "slot",
            "patient",
            "severity",
            "source",
            "what",
            "raised_at",
            "raised_by",
            "seen_at",
            "seen_by",
            "taken_at",
            "taken_by",
            "actioned_at",
            "actioned_by",
            "closed_at",
            "closed_by",
            "outcome",
            "waited_minutes",
            "to_action_minutes",
            "similar_names",
        ];
        csv::table(
            &head,
            self.alerts.iter().map(|row| {
                let who = row.who.as_ref();
                let mut cells = vec![
                    row.raised.seq.0.to_string(),
                    who.and_then(|who| who.slot.clone()).unwrap_or_default(),
                    who.map(|who| who.name.clone()).unwrap_or_default(),
                    row.severity.code().to_owned(),
                    row.source.code().to_owned(),
                    row.what.clone(),
                    csv::moment(Some(row.raised.occurred_at)),
                    row.raised.by.to_string(),
                ];
                for wanted in [
                    AlertMove::Seen,
                    AlertMove::Taken,
                    AlertMove::Actioned,
                    AlertMove::Closed,
                ] {
                    let step = row.first(wanted);
                    cells.push(csv::moment(step.map(|step| step.at)));
                    cells.push(step.map(|step| step.by.to_string()).unwrap_or_default());
                }
                cells.push(row.outcome.map(|o| o.code()).unwrap_or_default().to_owned());
                cells.push(row.waited_minutes.to_string());
                cells.push(csv::number(row.to_action_minutes));
                cells.push(words::names(&row.similar_names));
                cells
            }),
        )
    }
}

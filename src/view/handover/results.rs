//! Results on the sheet. A result has five owners (taken, arrived, resulted, seen, acted on),
//! and is nobody's while one of them is missing; the line says which.

use serde::Serialize;

use crate::record::field::FieldValue;
use crate::record::kind::sample::{ResultDecision, ResultValue, SampleMove, SampleQuality};
use crate::record::time::{Span, Timestamp};
use crate::view::origin::{Origin, Subject, Writer};
use crate::ward::Patient;
use crate::ward::samples::{ResultLife, SampleLife};

/// A result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ResultLine {
    /// Who entered it and when.
    pub origin: Origin,
    /// Each value, with the laboratory's range.
    pub values: Vec<ValueLine>,
    /// The result in words.
    pub words: Option<String>,
    /// At least one value is outside the laboratory's own range.
    pub outside_range: bool,
    /// Every value is known to be within the laboratory's own range, the sample was not called
    /// unfit and nothing is said in words. What is not known to be normal is not normal.
    pub all_within_range: bool,
    /// The laboratory called it critical, or a published critical limit is reached.
    pub critical: bool,
    /// Whether the sample was fit.
    pub quality: Option<SampleQuality>,
    /// When the sample was taken and by whom; `None` if the result names no sample.
    pub taken: Option<ResultStage>,
    /// When the laboratory had it; `None` if nobody recorded that.
    pub arrived: Option<ResultStage>,
    /// Who said, when the sample was taken, that they would look; `None` if nobody was named.
    pub reviewer: Option<Writer>,
    /// Nobody has looked at it.
    pub unreviewed: bool,
    /// Who looked and decided, by the newest review; `None` while nobody has.
    pub seen: Option<ResultStage>,
    /// What was decided.
    pub decision: Option<ResultDecision>,
    /// What was made of it and done.
    pub action: Option<String>,
}

/// One of a result's stages: who and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ResultStage {
    /// Who wrote it.
    pub by: Writer,
    /// When it happened.
    pub at: Timestamp,
}

/// One value of a result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ValueLine {
    /// The test, the number as reported and the laboratory's range, in words.
    pub text: String,
    /// Outside the laboratory's own range; `None` where it gave none, or where a value such as
    /// `<5` could lie on either side of a limit.
    pub outside_range: Option<bool>,
}

/// Results of one patient that nobody has looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unseen {
    /// How many.
    pub count: usize,
    /// How many of them are critical.
    pub critical: usize,
    /// When the oldest of them was reported.
    pub oldest_at: Timestamp,
}

impl Unseen {
    /// Of a patient's results; `None` if somebody has looked at each.
    #[must_use]
    pub fn of(results: &[ResultLine]) -> Option<Unseen> {
        let unseen = || results.iter().filter(|result| result.unreviewed);
        Some(Unseen {
            count: unseen().count(),
            critical: unseen().filter(|result| result.critical).count(),
            oldest_at: unseen().map(|result| result.origin.occurred_at).min()?,
        })
    }

    /// `CRITICAL result unseen 3hr`, `2 results unseen 3hr`: for the Open cell of a table.
    #[must_use]
    pub fn short(self, now: Timestamp) -> String {
        let age = now.since(self.oldest_at).spoken();
        let critical = if self.critical > 0 { "CRITICAL " } else { "" };
        match self.count {
            1 => format!("{critical}result unseen {age}"),
            many => format!("{many} {critical}results unseen {age}"),
        }
    }
}

impl ResultLine {
    /// Nobody has looked at it, and it is critical.
    #[must_use]
    pub fn is_critical_unseen(&self) -> bool {
        self.unreviewed && self.critical
    }

    /// Every value that is, or may be, outside its range; of the others only how many there are.
    #[must_use]
    pub fn in_short(&self) -> String {
        let (within, outside): (Vec<_>, Vec<_>) = self
            .values
            .iter()
            .partition(|value| value.outside_range == Some(false));
        let outside = outside.into_iter().map(|value| value.text.clone());
        let words = self.words.as_deref();
        let words = words.map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "));
        let mut said: Vec<String> = outside.chain(words).collect();
        if !within.is_empty() {
            said.push(format!("{} within range", within.len()));
        }
        said.join(", ")
    }

    /// Nobody has looked at it, and it is not known to be within its range.
    #[must_use]
    pub fn is_abnormal_unseen(&self) -> bool {
        self.unreviewed && (self.critical || !self.all_within_range)
    }
}

/// How long a reviewed result outside its range stays on the sheet.
const RESULT_SHOWN_FOR: Span = Span::hours(48);

pub(super) fn results(subject: &Subject<'_>, patient: &Patient) -> Vec<ResultLine> {
    let recent = subject.vantage.now.plus(Span(-RESULT_SHOWN_FOR.0));
    let lines = patient.results.values().map(|life| {
        let line = result_line(subject, patient, life);
        (line, life.reported.stamp.recorded_at >= recent)
    });
    lines
        .filter(|(line, recent)| {
            let worth_seeing = line.outside_range || line.critical || line.origin.is_new;
            line.unreviewed || (*recent && worth_seeing)
        })
        .map(|(line, _)| line)
        .collect()
}

pub(in crate::view) fn result_line(
    subject: &Subject<'_>,
    patient: &Patient,
    life: &ResultLife,
) -> ResultLine {
    let cx = super::situation::show_context(subject);
    let body = &life.reported.body;
    let review = life.reviews.last();
    let sample = body.sample.and_then(|seq| patient.samples.get(&seq));
    let stage = |stamp: &crate::ward::Stamp| ResultStage {
        by: Writer::of_author(subject.vantage.ward, &stamp.author),
        at: stamp.occurred_at,
    };
    ResultLine {
        origin: subject.origin_with(&life.reported.stamp, review.map(|held| held.seq())),
        values: body
            .values
            .iter()
            .filter_map(|value| {
                Some(ValueLine {
                    text: value.show(&cx)?,
                    outside_range: value.is_outside_range(),
                })
            })
            .collect(),
        words: body.words.as_ref().map(|words| words.0.clone()),
        outside_range: body
            .values
            .iter()
            .any(|v| v.is_outside_range() == Some(true)),
        critical: life.is_critical(subject.vantage.ward.policy()),
        all_within_range: is_all_within(&body.values, body.words.is_some(), body.quality),
        quality: body.quality,
        taken: sample.map(|life| stage(&life.taken.stamp)),
        arrived: sample.and_then(arrival).map(stage),
        reviewer: sample
            .and_then(|life| life.taken.body.reviewer.as_ref())
            .map(|handle| Writer::of_handle(subject.vantage.ward, handle)),
        seen: review.map(|held| stage(&held.stamp)),
        unreviewed: life.is_unreviewed(),
        decision: review.map(|held| held.body.decision),
        action: review.and_then(|held| held.body.action.as_ref().map(|text| text.0.clone())),
    }
}

/// When the laboratory said it had the sample.
fn arrival(life: &SampleLife) -> Option<&crate::ward::Stamp> {
    let arrived = |step: &&crate::ward::Held<crate::record::kind::sample::SampleStep>| {
        step.body.step == SampleMove::Arrived
    };
    life.steps.iter().find(arrived).map(|step| &step.stamp)
}

fn is_all_within(values: &[ResultValue], words: bool, quality: Option<SampleQuality>) -> bool {
    let fit = quality.is_none_or(|quality| quality == SampleQuality::Fit);
    let within = |value: &ResultValue| value.is_outside_range() == Some(false);
    fit && !words && !values.is_empty() && values.iter().all(within)
}

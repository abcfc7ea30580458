//! Notes that answer a question.

use super::Station;
use crate::record::draft::{Draft, ReadDraft};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::contact::NoteTopic;
use crate::record::kind::{Body, Kind};
use crate::record::problem::{Refusal, Unusual};

impl Station {
    /// The question a note answers, from which its patient follows.
    pub(super) fn question_of(draft: &Draft) -> Option<&str> {
        let is_note = Kind::from_name(&draft.kind) == Some(Kind::Note);
        let topic = draft.get("topic").map(str::trim);
        let is_answer = is_note && topic == Some(NoteTopic::Answer.code());
        let related = draft.related.as_deref().filter(|_| is_answer);
        related?.split_whitespace().next()
    }

    /// An answer names the question it answers, of the same patient; a second answer is asked
    /// about, since somebody may be acting on the first.
    pub(super) fn validate_answer(
        &self,
        read: &ReadDraft,
        patient: Option<Pseudonym>,
        refusals: &mut Vec<Refusal>,
        unusual: &mut Vec<Unusual>,
    ) {
        if !matches!(&read.body, Body::Note(note) if note.topic == Some(NoteTopic::Answer)) {
            return;
        }
        let Some(ledgers) = self.ward().ledgers_of(patient) else {
            return;
        };
        let open: Vec<Seq> = ledgers.open_questions().map(|held| held.seq()).collect();
        let accepted = match open.as_slice() {
            [] => "a note: no question is open here".to_owned(),
            open => {
                let open: Vec<String> = open.iter().map(Seq::to_string).collect();
                format!("an open question: {}", open.join(", "))
            }
        };
        if read.related.is_empty() {
            let what = "the answer does not say which question it answers";
            refusals.push(Refusal::field("related", what, accepted.clone()));
        }
        for seq in &read.related {
            if ledgers.question(*seq).is_none() {
                let what = format!("{seq} is no question of this patient that stands");
                refusals.push(Refusal::field("related", what, accepted.clone()));
            } else if let Some(answer) = ledgers.answer_to(*seq) {
                let by = &answer.stamp.author;
                let by = by
                    .handle()
                    .map_or_else(|| by.to_string(), |by| self.name_of(by).to_owned());
                unusual.push(Unusual {
                    field: "related".to_owned(),
                    what: format!(
                        "{seq} was answered by {by} at {}: \"{}\" ({})",
                        self.zone().day_time(answer.stamp.occurred_at),
                        answer.body.text.0.replace('\n', " "),
                        answer.seq()
                    ),
                });
            }
        }
    }
}

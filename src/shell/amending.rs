//! Putting right and taking back.

use super::entering::marked;
use super::lines::Refill;
use super::look;
use super::session::{Session, State, held};
use crate::record::ids::Seq;
use crate::record::kind::ward::AmendmentCause;
use crate::record::problem::Unusual;
use crate::shorthand::{Entries, parse_correction};
use crate::station::AmendmentReason;
use crate::station::SubmitError;
use crate::ward::Read;

impl Session {
    /// `correct #40 rr 19 cause typing because "hit the wrong key"`. The cause is
    /// the writer's to say: none is invented.
    pub(super) fn correct(&mut self, seq: Seq, line: &str, fields_at: usize) -> String {
        let read = held(&self.station).entry(seq);
        let entry = match read {
            Ok(Read::Entry(entry)) => entry,
            Ok(Read::Unreadable(unreadable)) => return self.back_with(line, &unreadable.why),
            Err(error) => return self.back_with(line, &error.to_string()),
        };
        let made = match parse_correction(entry.kind(), line, fields_at, &self.context()) {
            Ok(made) => made,
            Err(mistakes) => return self.mistaken(line, &mistakes),
        };
        let changes = changes(&made);
        if changes.is_empty() {
            return self.offer_to_edit(seq, &entry, line);
        }
        let Some(reason) = reason_of(&made) else {
            return self.asked_why(line);
        };
        let confirm = made.drafts.first().is_some_and(|draft| draft.confirm);
        let Some(actor) = self.actor.clone() else {
            return self.back_with(line, "nobody is signed in");
        };
        let corrected = held(&self.station).correct(&actor, seq, &changes, &reason, confirm);
        match corrected {
            Ok(receipt) => {
                self.own.push(vec![receipt.seq]);
                self.amended(&receipt)
            }
            Err(SubmitError::Confirm(unusual)) => self.confirm_correction(line, &unusual),
            Err(error) => self.back_with(line, &self.why_not(&error)),
        }
    }

    fn confirm_correction(&mut self, line: &str, unusual: &[Unusual]) -> String {
        let what: Vec<String> = unusual.iter().map(|one| format!("  {one}")).collect();
        let line = format!("{line} confirm");
        self.refused += 1;
        self.state = State::Ready(Some(Refill::at_end(&line)));
        format!(
            "Unusual:\n{}\nNothing was recorded yet: Enter confirms, or change the line.",
            what.join("\n")
        )
    }

    /// Nothing to change was typed: shows what stands, to be changed.
    fn offer_to_edit(
        &mut self,
        seq: Seq,
        entry: &crate::record::entry::Entry,
        line: &str,
    ) -> String {
        let cx = held(&self.station).show_context(self.actor.as_ref().map(|actor| actor.role));
        let standing = entry.body.show(&cx);
        let fields: Vec<String> = standing
            .iter()
            .map(|field| format!("  {} {}", field.name, marked(&field.text)))
            .collect();
        let begun = format!("{} ", line.trim_end());
        self.state = State::Ready(Some(Refill::at_end(&begun)));
        format!(
            "{seq} says:\n{}\nType the field and its right value, then cause and perhaps because \"…\".",
            fields.join("\n")
        )
    }

    /// A correction that does not say why: the line is back, ready for the cause.
    fn asked_why(&mut self, line: &str) -> String {
        self.refused += 1;
        let begun = format!("{} cause ", line.trim_end());
        self.state = State::Ready(Some(Refill::at_end(&begun)));
        format!(
            "{} it does not say why. Accepted: cause {}; then perhaps because \"…\".",
            self.nothing_recorded(),
            causes()
        )
    }

    /// `withdraw #12 wrong-patient "meant Mr Osei" anew #13`.
    pub(super) fn withdraw(
        &mut self,
        seq: Seq,
        cause: Option<&str>,
        reason: Option<String>,
        anew: Option<Seq>,
        line: &str,
    ) -> String {
        let Some(cause) = cause.and_then(AmendmentCause::from_code) else {
            let said = format!("no cause is given. Accepted: {}", causes());
            return self.back_with(line, &said);
        };
        let Some(actor) = self.actor.clone() else {
            return self.back_with(line, "nobody is signed in");
        };
        let patient = held(&self.station).patient_of(seq);
        if patient.is_some() && self.patient.is_some() && patient != self.patient {
            let said = format!(
                "{seq} is about {}, and {} is selected. Accepted: choose that patient first, then \
                 the line again",
                self.full(patient),
                self.full(self.patient)
            );
            return self.back_with(line, &said);
        }
        let reason = AmendmentReason {
            cause,
            words: reason,
        };
        let withdrawn = held(&self.station).withdraw(&actor, seq, &reason, anew);
        match withdrawn {
            Ok(receipt) => {
                self.own.push(vec![receipt.seq]);
                self.amended(&receipt)
            }
            Err(error) => self.back_with(line, &self.why_not(&error)),
        }
    }

    /// Takes back the writer's own last line, or asks first: where it is about another patient
    /// than the selected one, and where the line before was an undo too.
    pub(super) fn undo(&mut self) -> String {
        let Some(seq) = self.own.last().and_then(|line| line.last()).copied() else {
            return self.undo_now();
        };
        let patient = held(&self.station).patient_of(seq);
        let another = patient.is_some() && patient != self.patient;
        if !another && !self.undone {
            return self.undo_now();
        }
        let what = look::what_it_is(&held(&self.station), seq);
        if !self.can_ask {
            self.refused += 1;
            return format!(
                "Nothing was taken back: the next would be {seq}, {what}. Accepted: withdraw {seq} and a cause ({}).",
                causes()
            );
        }
        self.state = State::Undoing;
        self.refresh_known();
        let why = match another {
            true => "This is about another patient than the selected one",
            false => "A second undo",
        };
        format!(
            "{why}. Take back {seq}?\n  {what}\ny takes it back; n or Enter leaves it as it is."
        )
    }

    /// The answer to "take it back?".
    pub(super) fn undo_if(&mut self, answer: &str) -> String {
        match answer.trim().to_lowercase().as_str() {
            "y" | "yes" => self.undo_now(),
            "" | "n" | "no" | "cancel" => {
                self.refresh_known();
                "Nothing was taken back.".to_owned()
            }
            _ => {
                self.state = State::Undoing;
                "Nothing was taken back yet. y takes it back; n leaves it as it is.".to_owned()
            }
        }
    }

    /// Takes back the writer's own last line of this session, its newest entry first. What can
    /// never be taken back is said once and passed over by the next undo.
    fn undo_now(&mut self) -> String {
        let (Some(seqs), Some(actor)) = (self.own.pop(), self.actor.clone()) else {
            return "Nothing of yours in this session is left to take back; \"withdraw #123\" takes back an earlier entry.".to_owned();
        };
        let reason = AmendmentReason {
            cause: AmendmentCause::Undo,
            words: None,
        };
        let mut text = Vec::new();
        let mut left = seqs;
        while let Some(seq) = left.pop() {
            let what = look::what_it_is(&held(&self.station), seq);
            let withdrawn = held(&self.station).withdraw(&actor, seq, &reason, None);
            match withdrawn {
                Ok(receipt) => {
                    self.undone = true;
                    text.push(format!(
                        "{seq} is taken back by {}; it stays readable, struck.\n  {what}",
                        receipt.seq
                    ));
                }
                Err(error) => {
                    text.push(format!("{seq} is not taken back: {error}"));
                    let never = matches!(error, SubmitError::Refused(_));
                    left.extend((!never).then_some(seq));
                    self.own.push(left);
                    text.extend(never.then(|| self.next_undo()));
                    break;
                }
            }
        }
        self.lapse();
        self.refresh_known();
        text.join("\n")
    }

    /// What "undo" takes back next.
    fn next_undo(&mut self) -> String {
        self.own.retain(|line| !line.is_empty());
        match self.own.last().and_then(|line| line.last()) {
            Some(seq) => format!(
                "\"undo\" again takes back {seq}, from before it:\n  {}",
                look::what_it_is(&held(&self.station), *seq)
            ),
            None => "Nothing else of yours in this session is left to take back.".to_owned(),
        }
    }

    fn amended(&mut self, receipt: &crate::station::Receipt) -> String {
        self.lapse();
        self.refresh_known();
        let station = held(&self.station);
        let whose = look::who(station.ward(), receipt.patient);
        let first = format!("{} {} recorded, {whose}", receipt.seq, receipt.kind);
        let changed = receipt.changed.iter().map(|changed| format!("  {changed}"));
        std::iter::once(first)
            .chain(changed)
            .collect::<Vec<_>>()
            .join("\n")
    }

    /// Nothing was recorded; the line is back for editing.
    pub(super) fn back_with(&mut self, line: &str, said: &str) -> String {
        self.refused += 1;
        self.state = State::Ready(Some(Refill::at_end(line)));
        format!("{} {said}", self.nothing_recorded())
    }
}

fn changes(made: &Entries) -> Vec<(String, String)> {
    let Some(draft) = made.drafts.first() else {
        return Vec::new();
    };
    let mut changes = draft.fields.clone();
    changes.extend(draft.at.clone().map(|at| ("at".to_owned(), at)));
    changes
}

fn reason_of(made: &Entries) -> Option<AmendmentReason> {
    let typed = made.drafts.get(1)?;
    let cause = typed.get("cause").and_then(AmendmentCause::from_code)?;
    let words = typed.get("reason").map(str::to_owned);
    Some(AmendmentReason { cause, words })
}

fn causes() -> String {
    let codes: Vec<&str> = AmendmentCause::CHOICES
        .iter()
        .map(|choice| choice.code)
        .collect();
    codes.join(", ")
}

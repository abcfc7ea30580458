//! From a line's entries to the journal: check all of them, ask what is missing or unusual,
//! write them in order, say what came of it.

use std::fmt::Display;

use super::draft::{Parked, Unsettled, typed_line};
use super::form::Form;
use super::lines::Refill;
use super::look;
use super::session::{Session, State, held};
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::record::problem::{Refusal, Unusual};
use crate::shorthand::{Entries, Link, Place, entry_field};
use crate::station::{Actor, Offer, Receipt, Station, SubmitError};
use crate::ward::Read;

/// What checking found before anything was written.
enum Checked {
    Fine,
    Unusual(Vec<Unusual>),
    Refused(usize, Vec<Refusal>),
    Failed(SubmitError),
}

impl Session {
    /// Records a line's entries, or says why not and what to do.
    pub(super) fn enter(&mut self, entries: Entries, line: &str) -> String {
        self.enter_from(entries, line, None)
    }

    /// Records what a form completed.
    pub(super) fn enter_form(&mut self, form: Form) -> String {
        let (entries, line) = (form.entries.clone(), form.line.clone());
        self.enter_from(entries, &line, Some(form))
    }

    fn enter_from(&mut self, mut entries: Entries, line: &str, form: Option<Form>) -> String {
        let Some(actor) = self.actor.clone() else {
            self.refused += 1;
            return "Nobody is signed in, so nothing can be recorded.".to_owned();
        };
        let checked = {
            let station = held(&self.station);
            for draft in &mut entries.drafts {
                aim(&station, draft);
            }
            check(&station, &actor, &entries)
        };
        match checked {
            Checked::Fine => self.record(&actor, entries, line),
            Checked::Unusual(unusual) => self.ask_whether(entries, line, &unusual),
            Checked::Refused(draft, refusals) => {
                self.refused_entry(&entries, line, draft, &refusals, form)
            }
            Checked::Failed(error) => self.failed(line, &error, form),
        }
    }

    fn ask_whether(&mut self, entries: Entries, line: &str, unusual: &[Unusual]) -> String {
        let what: Vec<String> = unusual.iter().map(|one| format!("  {one}")).collect();
        let what = what.join("\n");
        if self.can_ask {
            self.state = State::Confirm(entries, line.to_owned());
            self.refresh_known();
            return format!(
                "Unusual:\n{what}\ny records it as it is; Enter goes back to the line."
            );
        }
        self.refused += 1;
        format!(
            "Nothing was recorded. Unusual:\n{what}\nAdd the word confirm if it is right: {line} confirm"
        )
    }

    fn refused_entry(
        &mut self,
        entries: &Entries,
        line: &str,
        draft: usize,
        refusals: &[Refusal],
        form: Option<Form>,
    ) -> String {
        let unaimed = |refusal: &Refusal| refusal.field.as_deref() == Some("patient");
        if entries.drafts[draft].patient.is_none() && refusals.iter().any(unaimed) {
            return self.without_patient(line);
        }
        let was_form = form.is_some();
        let next = match form {
            Some(form) => form.reopened(refusals),
            None if self.can_ask => Form::open(entries, line, draft, refusals),
            None => None,
        };
        if let Some(form) = next {
            let opening = if was_form {
                format!("{}\n{}", said(refusals), form.question())
            } else {
                form.opening()
            };
            self.state = State::Form(form);
            self.refresh_known();
            return opening;
        }
        self.refused += 1;
        if was_form {
            self.park(Parked::Entries(entries.clone(), line.to_owned()));
        }
        let place = refusals
            .iter()
            .find_map(|refusal| entries.place_of(draft, refusal.field.as_deref()?));
        let refill = place.map_or_else(|| Refill::at_end(line), |at| Refill::from_byte(line, at));
        self.state = State::Ready(Some(refill));
        format!("{}\n{}", self.nothing_recorded(), said(refusals))
    }

    /// The line waits until somebody is chosen.
    fn without_patient(&mut self, line: &str) -> String {
        self.refused += 1;
        self.for_patient = Some(line.to_owned());
        "Nothing was recorded: no patient is selected. Choose one by name or slot, and the line \
         comes back; or write @ and the slot in it."
            .to_owned()
    }

    /// Not the line's fault, or not to be mended by asking: the line comes back.
    fn failed(&mut self, line: &str, error: &SubmitError, form: Option<Form>) -> String {
        self.refused += 1;
        if let Some(form) = form {
            self.park(Parked::Form(Box::new(form)));
        }
        self.state = State::Ready(Some(Refill::at_end(line)));
        format!("{} {error}", self.nothing_recorded())
    }

    // Writing.

    fn record(&mut self, actor: &Actor, mut entries: Entries, line: &str) -> String {
        let mut text = Vec::new();
        let mut seqs: Vec<Seq> = Vec::new();
        let mut offers = Vec::new();
        for index in 0..entries.drafts.len() {
            for link in entries.links.iter().filter(|link| link.from == index) {
                if let Some(seq) = seqs.get(link.to) {
                    entries.drafts[index].set(link.field, seq.to_string());
                }
            }
            let submitted = held(&self.station).submit(actor, &entries.drafts[index]);
            match submitted {
                Ok(receipt) => {
                    seqs.push(receipt.seq);
                    text.push(self.receipt(&receipt));
                    offers.extend(receipt.offers);
                }
                Err(error) => {
                    text.push(self.stopped_at(index, &seqs, entries, line, &error));
                    break;
                }
            }
        }
        if !seqs.is_empty() {
            self.own.push(seqs);
            self.offers = one_key_each(offers);
            text.extend(
                self.offers
                    .iter()
                    .map(|offer| format!("  [{}] {}", offer.key, offer.label)),
            );
        }
        self.refresh_known();
        text.join("\n")
    }

    /// One of several was not taken: the ones before it stand, the rest is kept.
    pub(super) fn stopped_at(
        &mut self,
        index: usize,
        seqs: &[Seq],
        entries: Entries,
        line: &str,
        error: &SubmitError,
    ) -> String {
        self.refused += 1;
        let line = line.to_owned();
        if let SubmitError::NotKnown { id, .. } = error {
            let entries = rest(entries, index, seqs);
            return self.unsettled(
                Unsettled {
                    id: *id,
                    entries,
                    line,
                },
                seqs,
                error,
            );
        }
        if seqs.is_empty() {
            self.state = State::Ready(Some(Refill::at_end(&line)));
            return format!("{} {error}", self.nothing_recorded());
        }
        self.park(Parked::Entries(rest(entries, index, seqs), line));
        format!(
            "{} is recorded; the rest is not: {error}\nThe rest is kept: \"draft\" tries it again.",
            listed(seqs)
        )
    }

    /// The first of these may stand in the journal: it is kept with its id, and looked for
    /// before anything is entered again.
    fn unsettled(&mut self, unsettled: Unsettled, seqs: &[Seq], error: &dyn Display) -> String {
        let after = unsettled.entries.drafts.len() - 1;
        self.park(Parked::Unsettled(Box::new(unsettled)));
        let before = match seqs {
            [] => String::new(),
            seqs => format!("{} is recorded. Of the next one it is ", listed(seqs)),
        };
        let after = match after {
            0 => String::new(),
            after => format!(" {after} more of the line not recorded, and kept."),
        };
        format!(
            "{before}{error}.{after}\n\"draft\" looks for it, and goes on with what is not recorded."
        )
    }

    /// Finds out whether the first entry stands, and enters what does not.
    pub(super) fn settle(&mut self, unsettled: Unsettled) -> String {
        let Some(actor) = self.actor.clone() else {
            return self.unsettled(unsettled, &[], &"nobody is signed in");
        };
        let settled = held(&self.station).settle(&actor.name, unsettled.id);
        match settled {
            Err(error) => {
                let said = format!("still not known whether it was recorded: {error}");
                self.unsettled(unsettled, &[], &said)
            }
            Ok(None) => {
                let said = self.enter(unsettled.entries, &unsettled.line);
                format!("It had not been recorded.\n{said}")
            }
            Ok(Some(seq)) => {
                self.own.push(vec![seq]);
                let left = rest(unsettled.entries, 1, &[seq]);
                let said = format!("It is recorded: {seq}.");
                if left.drafts.is_empty() {
                    return said;
                }
                format!("{said}\n{}", self.enter(left, &unsettled.line))
            }
        }
    }

    /// Number, whose, what was taken down, what it changed.
    fn receipt(&self, receipt: &Receipt) -> String {
        let station = held(&self.station);
        let at = station.zone().clock_time(receipt.recorded_at);
        let whose = look::who(station.ward(), receipt.patient);
        let mut lines = vec![format!(
            "{} {} recorded {at}, {whose}",
            receipt.seq, receipt.kind
        )];
        if let Ok(Read::Entry(entry)) = station.entry(receipt.seq) {
            let cx = station.show_context(self.actor.as_ref().map(|actor| actor.role));
            let shown = entry
                .body
                .show(&cx)
                .into_iter()
                .map(|field| format!("{} {}", field.name, field.text));
            let late = (entry.occurred_at() != entry.recorded_at
                && entry.delay() >= crate::record::time::Span::minutes(1))
            .then(|| format!("at {}", station.zone().day_time(entry.occurred_at())));
            let shown: Vec<String> = late.into_iter().chain(shown).collect();
            lines.push(format!("  {}", shown.join("; ")));
        }
        lines.extend(receipt.changed.iter().map(|changed| format!("  {changed}")));
        lines.join("\n")
    }

    /// What the program itself wrote for the person: says so and offers what may follow.
    pub(super) fn recorded(&mut self, receipt: Receipt) -> String {
        let mut text = vec![self.receipt(&receipt)];
        self.own.push(vec![receipt.seq]);
        self.offers = one_key_each(receipt.offers);
        text.extend(
            self.offers
                .iter()
                .map(|offer| format!("  [{}] {}", offer.key, offer.label)),
        );
        self.refresh_known();
        text.join("\n")
    }

    // Offers.

    /// The offer a single letter takes.
    pub(super) fn offered(&self, line: &str) -> Option<Offer> {
        let mut letters = line.trim().chars();
        let (letter, rest) = (letters.next()?, letters.next());
        if rest.is_some() {
            return None;
        }
        self.offers
            .iter()
            .find(|offer| offer.key.eq_ignore_ascii_case(&letter))
            .cloned()
    }

    pub(super) fn take_offer(&mut self, offer: &Offer) -> String {
        self.offers.clear();
        let draft = offer.draft.clone();
        let places = draft.fields.iter().map(|(field, _)| Place {
            draft: 0,
            field: field.clone(),
            at: 0,
        });
        let places: Vec<Place> = places
            .chain([Place {
                draft: 0,
                field: String::new(),
                at: 0,
            }])
            .collect();
        let line = typed_line(&draft);
        let entries = Entries {
            drafts: vec![draft],
            links: Vec::new(),
            places,
        };
        self.enter(entries, &line)
    }
}

/// The entries from `index` on; what cites one before it gets that one's number.
fn rest(mut entries: Entries, index: usize, seqs: &[Seq]) -> Entries {
    let mut drafts = entries.drafts.split_off(index);
    let mut links = Vec::new();
    for link in entries.links.iter().filter(|link| link.from >= index) {
        let from = link.from - index;
        match (link.to.checked_sub(index), seqs.get(link.to)) {
            (Some(to), _) => links.push(Link { from, to, ..*link }),
            (None, Some(seq)) => drafts[from].set(link.field, seq.to_string()),
            (None, None) => {}
        }
    }
    Entries {
        drafts,
        links,
        places: Vec::new(),
    }
}

fn listed(seqs: &[Seq]) -> String {
    let numbers: Vec<String> = seqs.iter().map(ToString::to_string).collect();
    numbers.join(", ")
}

fn said(refusals: &[Refusal]) -> String {
    let lines: Vec<String> = refusals
        .iter()
        .map(|refusal| format!("  {refusal}"))
        .collect();
    lines.join("\n")
}

/// Each offer gets its own letter; one that another has already takes the next free one.
fn one_key_each(offers: Vec<Offer>) -> Vec<Offer> {
    let mut taken: Vec<char> = Vec::new();
    let mut kept = Vec::new();
    for mut offer in offers {
        let free = std::iter::once(offer.key)
            .chain('a'..='z')
            .find(|key| !taken.contains(key));
        let Some(key) = free else { break };
        offer.key = key;
        taken.push(key);
        kept.push(offer);
    }
    kept
}

/// Points a step at the patient of the entry it is about.
fn aim(station: &Station, draft: &mut Draft) {
    if draft.patient.is_some() {
        return;
    }
    let Some(kind) = Kind::from_name(&draft.kind) else {
        return;
    };
    let target = entry_field(kind)
        .and_then(|field| draft.get(field))
        .and_then(|text| text.parse::<Seq>().ok());
    draft.patient = target
        .and_then(|seq| station.patient_of(seq))
        .map(|patient| patient.to_string());
}

/// Checks all entries of a line before any is written.
fn check(station: &Station, actor: &Actor, entries: &Entries) -> Checked {
    let cx = station.read_context();
    for (index, draft) in entries.drafts.iter().enumerate() {
        if let Err(refusals) = draft.read(&cx) {
            return Checked::Refused(index, refusals);
        }
    }
    let mut unusual = Vec::new();
    for (index, draft) in entries.drafts.iter().enumerate() {
        match station.rehearse(actor, draft) {
            Ok(()) => {}
            Err(SubmitError::Confirm(found)) => unusual.extend(found),
            Err(SubmitError::Refused(refusals)) => return Checked::Refused(index, refusals),
            Err(error) => return Checked::Failed(error),
        }
    }
    if unusual.is_empty() {
        Checked::Fine
    } else {
        Checked::Unusual(unusual)
    }
}

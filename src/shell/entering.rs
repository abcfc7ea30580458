//! From a line's entries to the journal: check all of them, ask what is missing or unusual,
//! write them in order, say what came of it.

use std::fmt::Display;

use super::draft::{Origin, Parked, Unsettled, typed_line};
use super::form::Form;
use super::lines::Refill;
use super::look;
use super::session::{Session, State, held};
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::record::problem::{Refusal, Unusual};
use crate::shorthand::{Entries, Link, Place, entry_field, follows_its_entry};
use crate::station::{Actor, NoneTaken, Offer, Receipt, Station, SubmitError};
use crate::ward::Read;

/// What checking found before anything was written.
enum Checked {
    Fine,
    Unusual(Vec<Unusual>),
    Refused(usize, Vec<Refusal>),
    /// Some of several that stand or fall together.
    NoneTaken(NoneTaken),
    Failed(SubmitError),
}

impl Session {
    /// Records a line's entries, or says why not and what to do.
    pub(super) fn enter(&mut self, entries: Entries, line: &str) -> String {
        self.enter_from(entries, line, Origin::Line)
    }

    /// Records what a form completed.
    pub(super) fn enter_form(&mut self, form: Form) -> String {
        let (entries, line) = (form.entries.clone(), form.line.clone());
        self.enter_from(entries, &line, Origin::Form(Box::new(form)))
    }

    /// Records what was kept of a line.
    pub(super) fn enter_rest(&mut self, entries: Entries, line: &str) -> String {
        self.enter_from(entries, line, Origin::Rest)
    }

    pub(super) fn enter_from(
        &mut self,
        mut entries: Entries,
        line: &str,
        origin: Origin,
    ) -> String {
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
        let accepted = match (&checked, &origin) {
            (Checked::Unusual(unusual), Origin::Form(form)) => form.accepts(unusual),
            _ => false,
        };
        if accepted {
            let drafts = entries.drafts.iter_mut();
            drafts.for_each(|draft| draft.confirm = true);
        }
        match checked {
            _ if accepted => self.record_or_read_back(&actor, entries, line, origin),
            Checked::Fine => self.record_or_read_back(&actor, entries, line, origin),
            Checked::Unusual(unusual) => self.ask_whether(entries, line, &unusual, origin),
            Checked::Refused(draft, refusals) => {
                self.refused_entry(&entries, line, draft, &refusals, origin)
            }
            Checked::NoneTaken(none) => self.none_taken(entries, line, none, origin),
            Checked::Failed(error) => self.failed(entries, line, &error, origin),
        }
    }

    /// Records, or first reads an escalation back that was put together in a form.
    fn record_or_read_back(
        &mut self,
        actor: &Actor,
        entries: Entries,
        line: &str,
        origin: Origin,
    ) -> String {
        match origin {
            Origin::Form(mut form) if form.is_to_be_read_back() => {
                let whose = self.whose(&entries);
                let said = form.reads_back();
                let form = Box::new(form.asking_everything());
                self.state = State::Confirm(entries, line.to_owned(), Origin::ReadBack(form));
                self.refresh_known();
                format!(
                    "Read back, for {whose}:\n{said}\ny records it for {whose}; n or Enter goes back to the form, with every answer kept."
                )
            }
            origin => self.record(actor, entries, line, origin),
        }
    }

    pub(super) fn ask_whether(
        &mut self,
        entries: Entries,
        line: &str,
        unusual: &[Unusual],
        origin: Origin,
    ) -> String {
        let what: Vec<String> = unusual.iter().map(|one| format!("  {one}")).collect();
        let what = what.join("\n");
        let whose = self.whose(&entries);
        if self.can_ask {
            let back = match &origin {
                Origin::Line => "the line",
                Origin::Form(_) | Origin::ReadBack(_) => "the form, with every answer kept",
                Origin::Rest => "where you were; it stays kept",
            };
            let mut read_back = String::new();
            let origin = match origin {
                Origin::Form(mut form) => {
                    if form.is_to_be_read_back() {
                        read_back = format!("Read back, for {whose}:\n{}\n", form.reads_back());
                    }
                    Origin::Form(Box::new(about_unusual(*form, unusual)))
                }
                other => other,
            };
            self.state = State::Confirm(entries, line.to_owned(), origin);
            self.refresh_known();
            return format!(
                "{read_back}Unusual, for {whose}:\n{what}\ny records it as it is for {whose}; n or Enter goes back to {back}."
            );
        }
        self.refused += 1;
        format!(
            "Nothing was recorded. Unusual, for {whose}:\n{what}\nAdd the word confirm if it is right: {line} confirm"
        )
    }

    /// The answer to "record it?".
    pub(super) fn confirm(
        &mut self,
        mut entries: Entries,
        typed: String,
        origin: Origin,
        answer: &str,
    ) -> String {
        match answer.trim().to_lowercase().as_str() {
            "y" | "yes" => {
                let origin = match origin {
                    // Nothing unusual was asked about, so nothing unusual is confirmed.
                    Origin::ReadBack(mut form) => {
                        form.agree();
                        Origin::Form(form)
                    }
                    mut asked => {
                        let drafts = entries.drafts.iter_mut();
                        drafts.for_each(|draft| draft.confirm = true);
                        if let Origin::Form(form) = &mut asked {
                            form.agree();
                        }
                        asked
                    }
                };
                self.enter_from(entries, &typed, origin)
            }
            "" | "n" | "no" => self.unconfirmed(entries, &typed, origin),
            "cancel" => {
                self.keep(entries, &typed, origin);
                "Stopped; nothing was recorded. It is kept: \"draft\" goes on with it.".to_owned()
            }
            _ => {
                self.state = State::Confirm(entries, typed, origin);
                "Nothing was recorded yet. y records it as it is; n goes back, and keeps what was typed; cancel keeps it for later.".to_owned()
            }
        }
    }

    fn unconfirmed(&mut self, entries: Entries, typed: &str, origin: Origin) -> String {
        match origin {
            Origin::Line => {
                self.state = State::Ready(Some(Refill::at_end(typed)));
                "Nothing was recorded; the line is back.".to_owned()
            }
            Origin::Form(form) | Origin::ReadBack(form) => {
                let question = form.question();
                self.state = State::Form(*form);
                self.refresh_known();
                format!(
                    "Nothing was recorded; the form is back with every answer kept. Change this one, back for the others, . to finish, cancel to keep it for later.\n{question}"
                )
            }
            Origin::Rest => {
                self.keep(entries, typed, Origin::Rest);
                "Nothing was recorded. It is kept: \"draft\" brings it back.".to_owned()
            }
        }
    }

    /// Keeps for its writer what was not recorded.
    pub(super) fn keep(&mut self, entries: Entries, line: &str, origin: Origin) {
        self.park(match origin {
            Origin::Line => Parked::Line(line.to_owned()),
            Origin::Form(form) | Origin::ReadBack(form) => Parked::Form(form),
            Origin::Rest => Parked::Entries(entries, line.to_owned()),
        });
    }

    fn refused_entry(
        &mut self,
        entries: &Entries,
        line: &str,
        draft: usize,
        refusals: &[Refusal],
        origin: Origin,
    ) -> String {
        let refusals = &about_its_entry(&entries.drafts[draft], refusals);
        let unaimed = |refusal: &Refusal| refusal.field.as_deref() == Some("patient");
        if entries.drafts[draft].patient.is_none() && refusals.iter().any(unaimed) {
            return match origin {
                Origin::Line => self.without_patient(line),
                other => {
                    self.keep(entries.clone(), line, other);
                    format!(
                        "{}\nIt is kept: choose a patient, then \"draft\".",
                        said(refusals)
                    )
                }
            };
        }
        match origin {
            Origin::Form(form) | Origin::ReadBack(form) => {
                self.refused_form(entries, line, draft, refusals, *form)
            }
            Origin::Line if self.can_ask => match Form::open(entries, line, draft, refusals) {
                Some(form) => self.ask_by(form, wrong(&entries.drafts[draft], refusals)),
                None => self.refused_line(entries, line, draft, refusals),
            },
            Origin::Line => self.refused_line(entries, line, draft, refusals),
            Origin::Rest => match Form::open(entries, line, draft, refusals) {
                Some(form) if self.can_ask => {
                    self.ask_by(form, wrong(&entries.drafts[draft], refusals))
                }
                _ => self.kept_as_it_is(entries, line, &said(refusals)),
            },
        }
    }

    /// A form's entry was refused: it asks again about what was, and keeps the rest.
    fn refused_form(
        &mut self,
        entries: &Entries,
        line: &str,
        draft: usize,
        refusals: &[Refusal],
        form: Form,
    ) -> String {
        let same = form.clone();
        let again = same
            .asking_about(draft, refusals)
            .or_else(|| Form::open(entries, line, draft, refusals));
        if let Some(again) = again {
            return self.ask_by(again, Some(said(refusals)));
        }
        self.refused += 1;
        // What is wrong is no question of the form: all of it comes back as one line.
        match one_line(entries) {
            Some(whole) => {
                self.state = State::Ready(Some(Refill::at_end(&whole)));
                format!("{}\n{}", self.nothing_recorded(), said(refusals))
            }
            None => {
                self.park(Parked::Form(Box::new(form)));
                format!(
                    "Nothing was recorded:\n{}\nIt is kept: \"draft\" tries it again.",
                    said(refusals)
                )
            }
        }
    }

    fn ask_by(&mut self, form: Form, first: Option<String>) -> String {
        let whose = self.whose(&form.entries);
        let opening = match first {
            Some(said) => format!(
                "Nothing was recorded yet for {whose}:\n{said}\nEvery other answer is kept.\n{}",
                form.question()
            ),
            None => form.opening(&whose),
        };
        self.state = State::Form(form);
        self.refresh_known();
        opening
    }

    fn refused_line(
        &mut self,
        entries: &Entries,
        line: &str,
        draft: usize,
        refusals: &[Refusal],
    ) -> String {
        self.refused += 1;
        let place = refusals
            .iter()
            .find_map(|refusal| entries.place_of(draft, refusal.field.as_deref()?));
        let refill = place.map_or_else(|| Refill::at_end(line), |at| Refill::from_byte(line, at));
        self.state = State::Ready(Some(refill));
        format!("{}\n{}", self.nothing_recorded(), said(refusals))
    }

    fn kept_as_it_is(&mut self, entries: &Entries, line: &str, why: &str) -> String {
        self.refused += 1;
        self.keep(entries.clone(), line, Origin::Rest);
        format!("Nothing was recorded:\n{why}\nIt is kept: \"draft\" tries it again.")
    }

    /// The line waits until somebody is chosen.
    fn without_patient(&mut self, line: &str) -> String {
        self.refused += 1;
        self.for_patient = Some(line.to_owned());
        "Nothing was recorded: no patient is selected. Choose one by name or slot, and the line \
         comes back; or write @ and the slot in it."
            .to_owned()
    }

    /// Not the line's fault, or not to be mended by asking: the line comes back, and a form is
    /// kept with every answer.
    pub(super) fn failed(
        &mut self,
        entries: Entries,
        line: &str,
        error: &SubmitError,
        origin: Origin,
    ) -> String {
        self.refused += 1;
        if let Some(actor) = self.actor.clone() {
            let patient = self.subject_of(&entries);
            held(&self.station).record_refusal(&actor, error, patient);
        }
        if let Origin::Line = origin {
            self.state = State::Ready(Some(Refill::at_end(line)));
            return format!("{} {}", self.nothing_recorded(), self.why_not(error));
        }
        self.keep(entries, line, origin);
        format!(
            "Nothing was recorded: {}\nEverything you typed is kept: \"draft\" tries it again.",
            self.why_not(error)
        )
    }

    // Writing.

    pub(super) fn record(
        &mut self,
        actor: &Actor,
        mut entries: Entries,
        line: &str,
        origin: Origin,
    ) -> String {
        if entries.together {
            return self.record_together(actor, entries, line, origin);
        }
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
                Err(error) if seqs.is_empty() && !matches!(error, SubmitError::NotKnown { .. }) => {
                    return self.not_taken(entries, line, &error, origin);
                }
                Err(error) => {
                    text.push(self.stopped_at(index, &seqs, entries, line, &error));
                    break;
                }
            }
        }
        if !seqs.is_empty() {
            text.extend(self.own_entries(seqs, offers));
        }
        self.refresh_known();
        text.join("\n")
    }

    /// Remembers what a line wrote, for `undo`, and what may follow it; the offers in words.
    pub(super) fn own_entries(&mut self, seqs: Vec<Seq>, offers: Vec<Offer>) -> Vec<String> {
        self.own.push(seqs);
        self.offers = one_key_each(offers);
        let offers = self.offers.iter();
        offers
            .map(|offer| format!("  [{}] {}", offer.key, offer.label))
            .collect()
    }

    /// Nothing of it stands in the journal: the ward changed under it, or the journal would
    /// not have it.
    fn not_taken(
        &mut self,
        entries: Entries,
        line: &str,
        error: &SubmitError,
        origin: Origin,
    ) -> String {
        match (error, origin) {
            (SubmitError::Refused(refusals), origin @ (Origin::Form(_) | Origin::Rest)) => {
                self.refused_entry(&entries, line, 0, refusals, origin)
            }
            (SubmitError::Confirm(unusual), origin) => {
                self.ask_whether(entries, line, unusual, origin)
            }
            (error, origin) => self.failed(entries, line, error, origin),
        }
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
        if let SubmitError::NotKnown { id, further, .. } = error {
            let entries = rest(entries, index, seqs);
            return self.unsettled(
                Unsettled {
                    id: *id,
                    further: further.clone(),
                    entries,
                    line,
                },
                seqs,
                error,
            );
        }
        if seqs.is_empty() {
            self.state = State::Ready(Some(Refill::at_end(&line)));
            return format!("{} {}", self.nothing_recorded(), self.why_not(error));
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
        let not_known = 1 + unsettled.further.len();
        let after = unsettled.entries.drafts.len().saturating_sub(not_known);
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
                let said = self.enter_rest(unsettled.entries, &unsettled.line);
                format!("It had not been recorded.\n{said}")
            }
            Ok(Some(seq)) => self.settle_further(&actor, seq, unsettled),
        }
    }

    /// The first stands; of those that were written with it, so may any number from the first.
    fn settle_further(&mut self, actor: &Actor, first: Seq, unsettled: Unsettled) -> String {
        let mut seqs = vec![first];
        let mut said = String::new();
        for (at, id) in unsettled.further.iter().enumerate() {
            let settled = held(&self.station).settle(&actor.name, *id);
            match settled {
                Ok(Some(seq)) => seqs.push(seq),
                Ok(None) => break,
                Err(error) => {
                    said = format!("still not known whether it was recorded: {error}");
                    let left = Unsettled {
                        id: *id,
                        further: unsettled.further[at + 1..].to_vec(),
                        entries: rest(unsettled.entries.clone(), seqs.len(), &seqs),
                        line: unsettled.line.clone(),
                    };
                    said = self.unsettled(left, &seqs, &said);
                    break;
                }
            }
        }
        self.own.push(seqs.clone());
        if !said.is_empty() {
            return said;
        }
        let left = rest(unsettled.entries, seqs.len(), &seqs);
        let said = format!("It is recorded: {}.", listed(&seqs));
        if left.drafts.is_empty() {
            return said;
        }
        format!("{said}\n{}", self.enter_rest(left, &unsettled.line))
    }

    /// Number, whose, what was taken down, what it changed.
    pub(super) fn receipt(&self, receipt: &Receipt) -> String {
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
            lines.push(format!("  {}", marked(&shown.join("; "))));
        }
        lines.extend(receipt.changed.iter().map(|changed| format!("  {changed}")));
        lines.join("\n")
    }

    /// What the program itself wrote for the person: says so and offers what may follow.
    pub(super) fn recorded(&mut self, receipt: Receipt) -> String {
        let mut text = vec![self.receipt(&receipt)];
        text.extend(self.own_entries(vec![receipt.seq], receipt.offers));
        self.refresh_known();
        text.join("\n")
    }

    // Offers.

    /// The offer a single letter takes.
    pub(super) fn offered(&self, line: &str) -> Option<Offer> {
        let letter = one_letter(line)?;
        let offer = self.offers.iter().find(|offer| is_key(offer, letter));
        offer.cloned()
    }

    /// Somebody moved on: what was offered is not offered any more.
    pub(super) fn lapse(&mut self) {
        for offer in std::mem::take(&mut self.offers) {
            self.lapsed.retain(|old| !is_key(old, offer.key));
            self.lapsed.push(offer);
        }
    }

    /// A letter whose offer has lapsed: says so once, and does nothing else.
    pub(super) fn lapsed_offer(&mut self, line: &str) -> Option<String> {
        let letter = one_letter(line)?;
        let at = self.lapsed.iter().position(|offer| is_key(offer, letter))?;
        let offer = self.lapsed.remove(at);
        self.refused += 1;
        Some(format!(
            "Nothing was done: the offer [{}] {} has lapsed, because something else was done since. Type it in full if you still mean it: {}",
            offer.key,
            offer.label,
            self.offer_in_words(&offer)
        ))
    }

    /// An offer as it would be typed, its patient by slot.
    fn offer_in_words(&self, offer: &Offer) -> String {
        let mut draft = offer.draft.clone();
        let patient = super::whose::subject(&held(&self.station), &draft);
        if draft.patient.is_some()
            && let Some(patient) = patient
        {
            let short = self.short(Some(patient));
            draft.patient = short.split(' ').next().map(str::to_owned);
        }
        typed_line(&draft)
    }

    pub(super) fn take_offer(&mut self, offer: &Offer) -> String {
        self.offers.clear();
        self.undone = false;
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
            together: false,
        };
        self.enter(entries, &line)
    }
}

/// The one character that a line is.
fn one_letter(line: &str) -> Option<char> {
    let mut letters = line.trim().chars();
    let letter = letters.next()?;
    letters.next().is_none().then_some(letter)
}

fn is_key(offer: &Offer, letter: char) -> bool {
    offer.key.eq_ignore_ascii_case(&letter)
}

/// Words over several lines, each further one marked, so that none can pass for a line of ours.
pub(super) fn marked(text: &str) -> String {
    text.replace('\n', "\n    | ")
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
        together: entries.together,
    }
}

/// A form's own question for each unusual value; all of them if none is one of its fields.
fn about_unusual(form: Form, unusual: &[Unusual]) -> Form {
    let named: Vec<Refusal> = unusual
        .iter()
        .map(|one| Refusal::field(&one.field, one.what.clone(), String::new()))
        .collect();
    let drafts = 0..form.entries.drafts.len();
    let found = drafts
        .filter_map(|draft| form.clone().asking_about(draft, &named))
        .next();
    let mut form = found.unwrap_or_else(|| form.asking_everything());
    form.only_to_be_confirmed();
    form
}

/// Why values that were typed are refused, if any was.
fn wrong(draft: &Draft, refusals: &[Refusal]) -> Option<String> {
    let typed = |refusal: &&Refusal| {
        let field = refusal.field.as_deref();
        field.is_some_and(|field| draft.get(field).is_some())
    };
    let wrong: Vec<Refusal> = refusals.iter().filter(typed).cloned().collect();
    (!wrong.is_empty()).then(|| said(&wrong))
}

/// A step without a patient lacks its entry, not a patient: that is what to say.
fn about_its_entry(draft: &Draft, refusals: &[Refusal]) -> Vec<Refusal> {
    let kind = Kind::from_name(&draft.kind).filter(|kind| follows_its_entry(*kind));
    let field = kind.and_then(entry_field);
    let (Some(field), None) = (field, &draft.patient) else {
        return refusals.to_vec();
    };
    let mut kept: Vec<Refusal> = refusals
        .iter()
        .filter(|refusal| refusal.field.as_deref() != Some("patient"))
        .cloned()
        .collect();
    let readable = draft.get(field).and_then(|text| text.parse::<Seq>().ok());
    if let Some(seq) = readable {
        let accepted = "the number of one that was recorded, e.g. from \"alerts\" or \"tasks\"";
        kept.push(Refusal::field(
            field,
            format!("no entry {seq} about a patient is in the journal"),
            accepted,
        ));
    }
    kept
}

/// One entry as a line that can be typed, if it can stand on one.
fn one_line(entries: &Entries) -> Option<String> {
    let [draft] = entries.drafts.as_slice() else {
        return None;
    };
    Some(typed_line(draft)).filter(|line| !line.contains('\n'))
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

/// Points a step at the patient of the entry it is about, and carries what is known for life.
fn aim(station: &Station, draft: &mut Draft) {
    aim_at_patient(station, draft);
    station.carry_known(draft);
}

fn aim_at_patient(station: &Station, draft: &mut Draft) {
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
    // What stands or falls together is said together.
    let singly = entries.drafts.iter().filter(|_| !entries.together);
    for (index, draft) in singly.enumerate() {
        if let Err(refusals) = draft.read(&cx) {
            return Checked::Refused(index, refusals);
        }
    }
    if entries.together {
        return match station.rehearse_all(actor, &entries.drafts) {
            Ok(()) => Checked::Fine,
            Err(none) => Checked::NoneTaken(none),
        };
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

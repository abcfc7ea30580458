//! Handing over and taking over, in the shell.

use super::draft::Origin;
use super::look;
use super::session::{Session, held};
use crate::record::draft::Draft;
use crate::record::ids::Seq;
use crate::record::kind::Kind;
use crate::record::person::Handle;
use crate::record::problem::Unusual;
use crate::shorthand::{Act, Entries, HandoverAct, Place};
use crate::station::{HandoverRequest, MadeAgain, SubmitError, reservations};
use crate::view::handover::{handover_lines, since_accepted};
use crate::view::words;
use crate::ward::shifts::{HandoverLife, HandoverStepHeld};
use crate::ward::{Found, Ward};

const NO_HANDOVER: &str = "no handover has been prepared; \"handover prepare\" makes one";

impl Session {
    /// `handover`, `handover prepare`, `handover query @pell "who visits?"`, …
    pub(super) fn handover(
        &mut self,
        act: HandoverAct,
        about: &str,
        entries: &[Seq],
        texts: &[String],
        named: &[(String, String)],
        line: &str,
    ) -> String {
        let step = match act {
            HandoverAct::Show => return self.sheet(entries.first().copied(), about),
            HandoverAct::List => return self.every_handover(line),
            HandoverAct::Since => return self.since(entries.first().copied(), line),
            HandoverAct::Prepare => return self.prepare(texts, named, line),
            HandoverAct::Give => "given",
            HandoverAct::Query => "query",
            HandoverAct::Answer => "answer",
            HandoverAct::Accept => "accepted",
            HandoverAct::Decline => "declined",
        };
        // As in any line of entries: the word says that it is meant as it stands.
        let (about, confirmed) = match about.strip_suffix("confirm") {
            Some(rest) if rest.is_empty() || rest.ends_with(' ') => (rest.trim_end(), true),
            _ => (about, false),
        };
        let everybody = act == HandoverAct::Accept && about == "all";
        let named_patient = (!about.is_empty() && !everybody).then(|| about.to_owned());
        let target = {
            let station = held(&self.station);
            target(station.ward(), act, entries, named_patient.as_deref())
        };
        let (handover, query) = match target {
            Ok(target) => target,
            Err(said) => return self.back_with(line, &said),
        };
        let mut draft = Draft::new(Kind::HandoverStep)
            .with("handover", handover.to_string())
            .with("step", step);
        draft.patient = named_patient;
        draft.confirm = confirmed;
        if let Some(query) = query {
            draft.set("query", query.to_string());
            draft.patient = draft.patient.or_else(|| {
                held(&self.station)
                    .patient_of(query)
                    .map(|one| one.to_string())
            });
        }
        if let Some(text) = texts.first() {
            draft.set("text", text.clone());
        }
        let places = draft.fields.iter().map(|(field, _)| Place {
            draft: 0,
            field: field.clone(),
            at: line.len(),
        });
        let places = places.collect();
        let unopened = act == HandoverAct::Accept && !confirmed && !self.has_opened(handover);
        let asked = unopened.then(|| self.about_unopened(handover, &draft));
        // One by one first: whoever is taken over by then is not held back from the ward.
        let mut drafts = Vec::new();
        if everybody {
            drafts = held(&self.station).accept_each_asked_about(handover);
        }
        drafts.push(draft);
        let entries = Entries {
            drafts,
            links: Vec::new(),
            places,
            together: false,
        };
        match asked {
            Some(asked) if !asked.is_empty() => {
                self.ask_whether(entries, line, &asked, Origin::Line)
            }
            _ => self.enter(entries, line),
        }
    }

    /// Whether whoever is at the keyboard had the sheet before their eyes in this session.
    fn has_opened(&self, handover: Seq) -> bool {
        let me = self.actor.as_ref().map(|actor| &actor.handle);
        let mut opened = self.sheets_opened.iter();
        opened.any(|(by, sheet)| Some(by) == me && *sheet == handover)
    }

    /// The sheet of this handover is on the screen, or the ward's as it stands now.
    pub(super) fn opens_sheet(&mut self, handover: Option<Seq>) {
        let Some(me) = self.actor.as_ref().map(|actor| actor.handle.clone()) else {
            return;
        };
        let opened: Vec<Seq> = match handover {
            Some(one) => vec![one],
            None => held(&self.station)
                .ward()
                .handovers()
                .keys()
                .copied()
                .collect(),
        };
        let opened = opened.into_iter().map(|seq| (me.clone(), seq));
        self.sheets_opened.extend(opened);
    }

    /// What is asked before a ward is taken over unread: what comes with it, and whatever the
    /// station would ask. Nothing, where the station refuses it anyway: it says why.
    fn about_unopened(&self, handover: Seq, draft: &Draft) -> Vec<Unusual> {
        let Some(actor) = &self.actor else {
            return Vec::new();
        };
        let station = held(&self.station);
        let more = match station.rehearse(actor, draft) {
            Ok(()) => Vec::new(),
            Err(SubmitError::Confirm(more)) => more,
            Err(_) => return Vec::new(),
        };
        let patient = draft.patient.as_deref();
        let patient = patient.and_then(|text| station.resolve_patient(text).ok());
        let unread = format!(
            "you have not opened its sheet in this session; \"handover show {handover}\" shows it"
        );
        let comes = station.comes_with(handover, patient).into_iter();
        let comes = comes.map(|one| format!("comes with it: {one}"));
        let asked = [unread].into_iter().chain(comes);
        let asked = asked.map(|what| Unusual {
            field: "handover".to_owned(),
            what,
        });
        asked.chain(more).collect()
    }
}

/// Which handover a step belongs to, and which query it answers: the one named, or the only
/// one that is open.
fn target(
    ward: &Ward,
    act: HandoverAct,
    entries: &[Seq],
    patient: Option<&str>,
) -> Result<(Seq, Option<Seq>), String> {
    let handovers = ward.handovers();
    if act == HandoverAct::Answer {
        return question(ward, entries.first().copied(), patient);
    }
    if let Some(named) = entries.first() {
        return Ok((*named, None));
    }
    if let Some(handover) = patient.and_then(|text| not_taken_over(ward, text)) {
        return Ok((handover, None));
    }
    let pending: Vec<Seq> = handovers
        .values()
        .filter(|life| life.is_pending())
        .map(|life| life.seq())
        .collect();
    match pending.as_slice() {
        [only] => Ok((*only, None)),
        [] => match handovers.keys().next_back() {
            // A question can still be put about a handover that was accepted.
            Some(last) if act == HandoverAct::Query => Ok((*last, None)),
            _ => Err("no handover is waiting; \"handover prepare\" makes one".to_owned()),
        },
        [.., newest] => {
            let all: Vec<String> = pending.iter().map(ToString::to_string).collect();
            Err(format!(
                "several handovers wait: {}; name one, e.g. {newest}",
                all.join(", ")
            ))
        }
    }
}

/// The question that an answer belongs to: the one named, or the only one that is open about the patient
/// or in the handover that is named. One stays open until it is answered, also of a patient taken over.
fn question(
    ward: &Ward,
    named: Option<Seq>,
    patient: Option<&str>,
) -> Result<(Seq, Option<Seq>), String> {
    let about = match patient.map(|text| ward.find_patient(text)) {
        Some(Found::One(patient)) => Some(patient),
        _ => None,
    };
    let open = ward.handovers().values().flat_map(|life| {
        let open = life.open_queries().into_iter();
        open.map(move |query| (life.seq(), query))
    });
    let open: Vec<_> = open.collect();
    let fits = |(handover, query): &&(Seq, &HandoverStepHeld)| {
        let is_named = named.is_none_or(|one| one == *handover || one == query.held.seq());
        is_named && (about.is_none() || about == query.patient)
    };
    let fitting: Vec<_> = open.iter().filter(fits).collect();
    match (fitting.as_slice(), open.as_slice()) {
        ([(handover, query)], _) => Ok((*handover, Some(query.held.seq()))),
        (_, []) => Err("no question is open on any handover".to_owned()),
        _ => {
            let open = open.iter().map(|(_, query)| {
                let whose = look::who(ward, query.patient);
                format!("handover answer {} \"…\" ({whose})", query.held.seq())
            });
            let open: Vec<String> = open.collect();
            Err(format!("which question? Accepted: {}", open.join(", or ")))
        }
    }
}

/// The handover in which somebody named like this was held back.
fn not_taken_over(ward: &Ward, text: &str) -> Option<Seq> {
    let Found::One(patient) = ward.find_patient(text) else {
        return None;
    };
    let mut waiting = ward.not_taken_over().into_iter();
    waiting
        .find(|(_, one)| *one == patient)
        .map(|(handover, _)| handover)
}

/// Who is asked to take over, for the answer to `handover prepare`.
pub(super) fn waiting(ward: &Ward) -> String {
    let pending = ward.handovers().values().filter(|life| life.is_pending());
    let lines = pending.map(|life| {
        let questions = life.open_queries().len();
        format!(
            "Handover {} by {} waits to be accepted; {}.",
            life.seq(),
            life.prepared.stamp.author,
            words::count(questions, "open question", "open questions")
        )
    });
    let held_back = ward
        .not_taken_over()
        .into_iter()
        .map(|(handover, patient)| {
            let who = look::who(ward, Some(patient));
            format!("NOT TAKEN OVER with {handover}: {who}")
        });
    lines.chain(held_back).collect::<Vec<_>>().join("\n")
}

impl Session {
    /// Every handover and where it stands, as on the command line.
    fn every_handover(&mut self, line: &str) -> String {
        let lines = {
            let station = held(&self.station);
            let lacking = reservations(station.drawn()).sentences();
            let lines = lacking.into_iter().chain(handover_lines(station.ward()));
            lines.collect::<Vec<_>>()
        };
        if lines.is_empty() {
            return self.back_with(line, NO_HANDOVER);
        }
        lines.join("\n")
    }

    /// What was written since a handover was accepted; the newest accepted one if none is named.
    fn since(&mut self, handover: Option<Seq>, line: &str) -> String {
        let found = {
            let station = held(&self.station);
            let ward = station.ward();
            let accepted = ward.last_accepted().map(HandoverLife::seq);
            let lacking = reservations(station.drawn()).sentences();
            match handover.or(accepted) {
                None => Err("no handover has been accepted".to_owned()),
                Some(seq) => since_accepted(ward, seq)
                    .map(|found| [lacking, found.lines(ward.zone())].concat().join("\n"))
                    .ok_or_else(|| {
                        format!("{seq} is no accepted handover; \"handover list\" says which are")
                    }),
            }
        };
        match found {
            Ok(lines) => lines,
            Err(said) => self.back_with(line, &said),
        }
    }

    /// The sheet as the ward stands, or the sheet of a handover drawn again.
    fn sheet(&mut self, handover: Option<Seq>, about: &str) -> String {
        let Some(seq) = handover else {
            let note = self.opens(None, "the ward's handover sheet");
            let mut said = self.view(Act::Handover, about, None);
            said.extend(note.map(|note| format!("\n{note}")));
            self.opens_sheet(None);
            return said;
        };
        let drawn = held(&self.station).handover_sheet(seq);
        match drawn {
            Err(error) => error.to_string(),
            Ok(None) => format!("{seq} is no handover."),
            Ok(Some(state)) => {
                self.opens(None, &format!("the sheet of handover {seq}"));
                self.draw(&state.sheet.page(), &state.reservations);
                self.opens_sheet(Some(seq));
                let same = match state.made_again() {
                    MadeAgain::ToTheByte => "drawn again, the same to the byte",
                    MadeAgain::OtherForm => {
                        "NOT the sheet to the byte: its entries are the same, and this version of \
                         the program draws them otherwise"
                    }
                    MadeAgain::OtherEntries => {
                        "NOT the sheet that was named: entries were altered or cannot be read"
                    }
                };
                format!("Sheet of handover {seq}, {same}")
            }
        }
    }

    /// Draws the sheet as it stands and gives it its number.
    fn prepare(&mut self, texts: &[String], named: &[(String, String)], line: &str) -> String {
        let Some(actor) = self.actor.clone() else {
            return self.back_with(line, "nobody is signed in");
        };
        let mut request = HandoverRequest {
            opening: texts.first().cloned(),
            ..HandoverRequest::default()
        };
        for (name, value) in named {
            match name.as_str() {
                "from" | "from_shift" => request.from_shift = Some(value.clone()),
                "to" | "to_shift" => request.to_shift = Some(value.clone()),
                "receiver" => match Handle::parse(value) {
                    Some(handle) => request.receiver = Some(handle),
                    None => return self.back_with(line, &format!("\"{value}\" is no handle")),
                },
                _ => {
                    let said = format!(
                        "\"{name}\" is not understood here. Accepted: from=, to=, receiver=, and an opening in quotes"
                    );
                    return self.back_with(line, &said);
                }
            }
        }
        let prepared = held(&self.station).prepare_handover(&actor, &request);
        match prepared {
            Ok(receipt) => self.recorded(receipt),
            Err(error) => {
                let said = self.why_not(&error);
                self.back_with(line, &said)
            }
        }
    }
}

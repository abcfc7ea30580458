//! The handover sheet: everything the oncoming shift must know, in the order to act on it.
//!
//! A sheet is a pure function of the ward and the request, so a sheet that was accepted can
//! be drawn again to the byte from the entries it was drawn from. Nothing that is open
//! ([`Ward::open_items`]) is ever missing from it; `tests/view/nothing_falls_off.rs` proves that.

mod amended;
mod assessment;
mod background;
mod body_words;
mod brief;
mod identity;
mod left;
mod order;
mod page;
mod plan;
mod results;
mod score;
mod situation;
mod stay;
mod strip;
mod strip_words;
mod wounds;

pub use amended::{KeysLine, SinceAccepted, SinceLine, WithdrawnLine, kind_title, since_accepted};
pub use assessment::{Assessment, BodyLineLine, DoseLine, KitLine, SampleLine, SupplyLine};
pub use background::{Background, PlanChange};
pub(in crate::view) use body_words::{no_total, result as result_words, smoker};
pub use brief::{InBrief, handover_lines};
pub(in crate::view) use identity::reaching;
pub use identity::{Identity, Reaching};
pub use left::{LeftBlock, WardBlock};
pub use order::{RULE, Standing};
pub use plan::{DueLine, QueryLine, Recommendation, due_line};
pub(in crate::view) use results::result_line;
pub use results::{ResultLine, ResultStage, Unseen, ValueLine};
pub use score::{PartLine, RecentSet, ScoreChange, ScoreNow, TotalThen};
pub use situation::{
    AlertLine, ContactLine, EscalationLine, OxygenNow, Silence, Situation, Unreached,
};
pub use strip::{
    AllocationLine, Floor, HeldBack, Highest, ShiftLine, SilentPatient, Strip, SupplyOnWay,
    UnreachedPatient,
};
pub use wounds::WoundLine;

use serde::Serialize;

use super::origin::{Vantage, Writer};
use super::render::json;
use crate::clinical::{CAUTION, news2};
use crate::record::ids::{Digest, EntryHash, Seq};
use crate::record::kind::shift::Handover;
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp, WardZone};
use crate::ward::shifts::{HandoverLife, HandoverStepHeld};
use crate::ward::{Held, Patient, Ward};

/// Name and version of the sheet's JSON form.
pub const SCHEMA: &str = "handfast.handover/1";

/// What a sheet is drawn for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRequest {
    /// The shift that gives, in words.
    pub from_shift: String,
    /// The shift that takes, in words.
    pub to_shift: String,
    /// Who gives; nobody yet, if the sheet is only being read.
    pub giver: Option<Handle>,
    /// Who receives.
    pub receiver: Option<Handle>,
    /// What the giver wants to say first.
    pub opening: Option<String>,
    /// Newest entry on the last accepted sheet, and when that was accepted.
    pub since: Option<(Seq, Timestamp)>,
    /// The entry of the handover this sheet is for, once it is written: its own queries and
    /// steps are not part of the sheet.
    pub own: Option<Seq>,
}

impl SheetRequest {
    /// What is new is marked against the last handover accepted in `ward`.
    #[must_use]
    pub fn new(
        ward: &Ward,
        from_shift: &str,
        to_shift: &str,
        giver: Option<Handle>,
    ) -> SheetRequest {
        SheetRequest {
            from_shift: from_shift.to_owned(),
            to_shift: to_shift.to_owned(),
            giver,
            receiver: None,
            opening: None,
            since: amended::last_accepted(ward, None),
            own: None,
        }
    }

    /// To draw the sheet of a prepared handover again. `ward` is the ward as of the sheet's
    /// head, and the moment to draw it for is the sheet's `as_of`.
    #[must_use]
    pub fn again(ward: &Ward, prepared: &Held<Handover>) -> SheetRequest {
        let body = &prepared.body;
        let giver = prepared.stamp.author.handle().cloned();
        SheetRequest {
            from_shift: body.from_shift.0.clone(),
            to_shift: body.to_shift.0.clone(),
            giver,
            receiver: body.receiver.clone(),
            opening: body.opening.as_ref().map(|opening| opening.0.clone()),
            since: amended::last_accepted(ward, Some(prepared.seq())),
            own: Some(prepared.seq()),
        }
    }
}

/// A handover sheet as data.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sheet {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// What it is and as of when.
    pub head: Head,
    /// The ward at a glance.
    pub strip: Strip,
    /// In which order the patients stand.
    pub rule: &'static str,
    /// Patients on the ward, in that order.
    pub patients: Vec<PatientBlock>,
    /// What concerns the ward and no single patient.
    pub ward: WardBlock,
    /// Patients who are not on the ward and have something open.
    pub left_open: Vec<LeftBlock>,
    /// Entries withdrawn since the last accepted sheet.
    pub withdrawn: Vec<WithdrawnLine>,
    /// Records destroyed and recovery keys made anew in the last four weeks.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub keys: Vec<KeysLine>,
}

/// What the sheet is and as of when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Head {
    /// The ward's name.
    pub ward: String,
    /// The ward's clock, by IANA name.
    pub zone: WardZone,
    /// Invented patients only.
    pub teaching: bool,
    /// The shift that gives.
    pub from_shift: String,
    /// The shift that takes.
    pub to_shift: String,
    /// Who gives; nobody yet, if the sheet is only being read.
    pub giver: Option<Writer>,
    /// Who receives.
    pub receiver: Option<Writer>,
    /// What the giver wants to say first.
    pub opening: Option<String>,
    /// The moment it was drawn for.
    pub as_of: Timestamp,
    /// Newest entry it was drawn from.
    pub journal_seq: Seq,
    /// That entry's hash.
    pub journal_hash: EntryHash,
    /// When the last handover was accepted; what is new since its sheet is marked.
    pub since_accepted_at: Option<Timestamp>,
    /// Newest entry on that sheet.
    pub since_seq: Option<Seq>,
    /// What computed values are and are not.
    pub caution: &'static str,
    /// What the score is and is not, and whose it is.
    pub score_caution: &'static str,
    /// Copyright of the score.
    pub score_source: &'static str,
}

/// One patient on the ward.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PatientBlock {
    /// Place on the sheet, from 1.
    pub place: usize,
    /// The part of the rule that puts them there.
    pub stands_by: Standing,
    /// Admitted since the last accepted sheet.
    pub is_new: bool,
    /// Who.
    pub identity: Identity,
    /// S: now.
    pub situation: Situation,
    /// B: why, and what is usual.
    pub background: Background,
    /// A: what people make of it, and what was computed.
    pub assessment: Assessment,
    /// R: what is to be done.
    pub recommendation: Recommendation,
    /// How to reach them and get in.
    pub reaching: Reaching,
}

/// Draws the sheet of a ward as of `now`. The ward must hold nothing recorded after that.
#[must_use]
pub fn sheet(ward: &Ward, now: Timestamp, request: &SheetRequest) -> Sheet {
    let vantage = &Vantage {
        ward,
        now,
        since: request.since.map(|(seq, _)| seq),
    };
    let shift_ends = strip::shift_end(vantage, &request.to_shift);
    let horizon = shift_ends.max(now.plus(Span::days(1)));
    let open = plan::open_queries(ward, request.own);
    let mut patients: Vec<PatientBlock> = ward
        .caseload()
        .into_iter()
        .map(|patient| block(vantage, patient, horizon, &open))
        .collect();
    order::arrange(&mut patients);
    let ward_block = left::ward_block(vantage, &open);
    let left_open = left::left_open(vantage, &open);
    Sheet {
        schema: SCHEMA,
        head: head(vantage, request),
        strip: strip::strip(vantage, &patients, &ward_block, &left_open, shift_ends),
        rule: RULE,
        patients,
        ward: ward_block,
        left_open,
        withdrawn: amended::withdrawn(vantage),
        keys: amended::keys(vantage),
    }
}

impl Sheet {
    /// Names the sheet: BLAKE3 of its JSON form on one line: what `--json` prints, without the
    /// members in which a view says what it lacks, and without the line end.
    #[must_use]
    pub fn digest(&self) -> Digest {
        Digest(*blake3::hash(json::compact(self).as_bytes()).as_bytes())
    }
}

fn head(vantage: &Vantage<'_>, request: &SheetRequest) -> Head {
    let ward = vantage.ward;
    let named = |handle: &Handle| Writer::of_handle(ward, handle);
    let (journal_seq, journal_hash) = ward.head().unwrap_or((Seq::NONE, EntryHash::ZERO));
    Head {
        ward: ward.name().to_owned(),
        zone: ward.zone(),
        teaching: ward.is_teaching(),
        from_shift: request.from_shift.clone(),
        to_shift: request.to_shift.clone(),
        giver: request.giver.as_ref().map(named),
        receiver: request.receiver.as_ref().map(named),
        opening: request.opening.clone(),
        as_of: vantage.now,
        journal_seq,
        journal_hash,
        since_accepted_at: request.since.map(|(_, at)| at),
        since_seq: vantage.since,
        caution: CAUTION,
        score_caution: news2::CAUTION,
        score_source: news2::SOURCE,
    }
}

fn block(
    vantage: &Vantage<'_>,
    patient: &Patient,
    horizon: Timestamp,
    open: &[&HandoverStepHeld],
) -> PatientBlock {
    let subject = &vantage.on(Some(patient));
    PatientBlock {
        place: 0,
        stands_by: Standing::Rest,
        is_new: patient
            .episode_seq()
            .is_some_and(|seq| subject.vantage.is_new(seq)),
        identity: identity::identity(subject, patient),
        situation: situation::situation(subject, patient),
        background: background::background(subject, patient),
        assessment: assessment::assessment(subject, patient),
        recommendation: plan::recommendation(subject, patient, horizon, open),
        reaching: identity::reaching(patient),
    }
}

/// One patient's block with nothing of the sheet around it.
#[must_use]
pub fn patient_block(vantage: &Vantage<'_>, patient: &Patient) -> PatientBlock {
    let open = plan::open_queries(vantage.ward, None);
    block(vantage, patient, vantage.now.plus(Span::days(1)), &open)
}

/// Every handover but one.
fn lasting(ward: &Ward, own: Option<Seq>) -> impl Iterator<Item = &HandoverLife> {
    let handovers = ward.handovers().values();
    handovers.filter(move |life| Some(life.seq()) != own)
}

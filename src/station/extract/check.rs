//! Whether an extract is what it says: with the file alone, no journal and no secret.

use std::collections::BTreeMap;

use super::{Extract, FORMAT, PatientPart, Shown};
use crate::journal::note::{Checkpoint, SignedNote, VerifierKey};
use crate::journal::tree::{
    AUTHORITY_KINDS, PatientChain, entry_leaf, inclusion_holds, patient_proof_holds,
};
use crate::journal::{Frame, SignedFrame, genesis};
use crate::record::entry::Entry;
use crate::record::ids::{Pseudonym, Seq, from_hex};
use crate::record::kind::proof::StatedTree;
use crate::record::kind::{Body, Kind};
use crate::station::judge::RightsJudge;
use crate::ward::Read;

/// What was found.
pub struct Checked {
    /// Everything that does not hold, in sentences. Empty: it is what it says.
    pub problems: Vec<String>,
    /// How many entries it shows.
    pub shown: usize,
    /// Those that are held back, with their reasons.
    pub withheld: Vec<(Seq, String)>,
    /// What is known of each patient's record as a whole.
    pub patients: Vec<Complete>,
    /// The checkpoint it rests on.
    pub checkpoint: Option<Checkpoint>,
    /// A teaching journal: invented patients only, and signatures that prove nothing.
    pub teaching: bool,
    /// The ward's name, by the first entry.
    pub ward: Option<String>,
    /// The entries that are shown, in order, with their authors' names.
    pub entries: Vec<(Entry, String)>,
    /// The ward's clock.
    pub zone: crate::record::time::WardZone,
}

/// What the checkpoint commits to for one patient, and how much of it is here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Complete {
    /// Whose record.
    pub patient: Pseudonym,
    /// How many entries it has up to [`Complete::up_to`].
    pub in_all: u64,
    /// How many of them are shown.
    pub shown: u64,
    /// How many are held back with a reason.
    pub withheld: u64,
    /// Complete up to this many entries of the journal.
    pub up_to: u64,
}

/// Reads an extract.
///
/// # Errors
/// A sentence on why it is none.
pub fn read(bytes: &[u8]) -> Result<Extract, String> {
    let extract: Extract =
        serde_json::from_slice(bytes).map_err(|error| format!("it is no extract: {error}"))?;
    if extract.format != FORMAT {
        let said: String = extract.format.chars().take(60).collect();
        return Err(format!(
            "it says it is \"{said}\", and this program reads \"{FORMAT}\""
        ));
    }
    Ok(extract)
}

/// Checks everything an extract says about itself.
#[must_use]
pub fn check(extract: &Extract) -> Checked {
    let mut checker = Checker {
        extract,
        problems: Vec::new(),
        frames: BTreeMap::new(),
    };
    let checkpoint = checker.checkpoint();
    if let Some(checkpoint) = &checkpoint {
        for shown in extract.entries.iter().chain(&extract.authority) {
            checker.belongs(shown, checkpoint);
        }
    }
    let judge = checker.authors();
    let stated = checker.stated();
    let patients = match &stated {
        Some((seq, stated)) => checker.complete(*seq, stated),
        None => {
            checker.wrong("no entry in it states what each patient has".to_owned());
            Vec::new()
        }
    };
    let asked = extract.entries.iter();
    let withheld = asked
        .clone()
        .filter_map(|shown| Some((shown.seq, shown.withheld.clone()?)));
    let read = asked.filter_map(|shown| {
        let entry = Read::from_frame(checker.frames.get(&shown.seq)?)
            .entry()?
            .clone();
        let by = judge.name_of(&entry.author).unwrap_or("unknown").to_owned();
        Some((entry, by))
    });
    Checked {
        shown: extract
            .entries
            .iter()
            .filter(|shown| shown.frame.is_some())
            .count(),
        withheld: withheld.collect(),
        entries: read.collect(),
        teaching: judge.is_teaching(),
        ward: judge.ward_name().map(str::to_owned),
        zone: judge.zone(),
        patients,
        checkpoint,
        problems: checker.problems,
    }
}

struct Checker<'e> {
    extract: &'e Extract,
    problems: Vec<String>,
    /// Every entry that is shown, whole, signed and in its place.
    frames: BTreeMap<Seq, SignedFrame>,
}

impl Checker<'_> {
    fn wrong(&mut self, what: String) {
        self.problems.push(what);
    }

    /// The checkpoint, signed with the key that the extract names.
    fn checkpoint(&mut self) -> Option<Checkpoint> {
        let note = SignedNote::parse(self.extract.checkpoint.as_bytes());
        let read = note.and_then(|note| {
            let key: VerifierKey = self.extract.ward_key.parse()?;
            note.check(&key)?;
            let text = Checkpoint::parse(note.text())?;
            Ok((text, key))
        });
        match read {
            Err(error) => {
                self.wrong(format!("its checkpoint is not to be believed: {error}"));
                None
            }
            Ok((text, key)) if text.journal() != Some(self.extract.journal) => {
                self.wrong(format!(
                    "its checkpoint is of {}, another journal",
                    text.origin
                ));
                let _ = key;
                None
            }
            Ok((text, key)) if text.origin != key.name.as_str() => {
                self.wrong(format!(
                    "its checkpoint is signed by {}, not by the ward",
                    key.name
                ));
                None
            }
            Ok((text, _)) => Some(text),
        }
    }

    /// Whether an entry is intact, its author's, and in its place under the checkpoint.
    fn belongs(&mut self, shown: &Shown, checkpoint: &Checkpoint) {
        let seq = shown.seq;
        let leaf = entry_leaf(shown.hash);
        let (size, root) = (checkpoint.size, checkpoint.root);
        if !inclusion_holds(leaf, shown.index, size, &shown.path, root) {
            return self.wrong(format!("entry {seq} is not proved to be in the journal"));
        }
        let Some(hex) = &shown.frame else {
            if shown.withheld.is_none() {
                self.wrong(format!("entry {seq} is left out without a reason"));
            }
            return;
        };
        let bytes = from_hex(hex).unwrap_or_default();
        let frame = match Frame::check(&bytes) {
            Ok(frame) if frame.bytes().len() == bytes.len() => frame,
            Ok(_) => return self.wrong(format!("bytes follow entry {seq}")),
            Err(fault) => return self.wrong(format!("entry {seq}: {fault}")),
        };
        if frame.seq() != seq || frame.hash() != shown.hash {
            return self.wrong(format!("what is shown as entry {seq} is another entry"));
        }
        match frame.check_signature() {
            Ok(signed) => drop(self.frames.insert(seq, signed)),
            Err(_) => self.wrong(format!("entry {seq} is not signed by the author it names")),
        }
    }

    /// Who wrote each entry, and whether they might.
    fn authors(&mut self) -> RightsJudge {
        let mut judge = RightsJudge::new();
        match self.frames.get(&Seq(1)) {
            Some(first) if first.header().prev == genesis(self.extract.journal) => {}
            Some(_) => self.wrong("its first entry opens another journal".to_owned()),
            None => self.wrong("the entry that opened the ward is not in it".to_owned()),
        }
        let mut found = Vec::new();
        for (seq, frame) in &self.frames {
            if let Some(what) = judge.judge_alone(frame) {
                found.push(format!("entry {seq} {what}"));
            }
        }
        self.problems.extend(found);
        let key: Option<VerifierKey> = self.extract.ward_key.parse().ok();
        if key.is_none_or(|key| !judge.ward_keys().contains(&key.key)) {
            self.wrong("no keeper announced the key that signed its checkpoint".to_owned());
        }
        judge
    }

    /// The newest checkpoint's entry, and what it states.
    fn stated(&self) -> Option<(Seq, StatedTree)> {
        let shown = self.extract.authority.iter().rev();
        let mut stated = shown.filter_map(|shown| {
            let frame = self.frames.get(&shown.seq)?;
            (frame.header().kind == Kind::Checkpoint.code()).then_some(())?;
            match Read::from_frame(frame).entry()?.body.clone() {
                Body::Checkpoint(checkpoint) => Some((shown.seq, checkpoint.stated?)),
                _ => None,
            }
        });
        stated.next()
    }

    /// Each patient's hashes against what the checkpoint's entry commits to, and the entries shown
    /// against the hashes.
    fn complete(&mut self, at: Seq, stated: &StatedTree) -> Vec<Complete> {
        let mut complete = Vec::new();
        let mut whose: Vec<Pseudonym> = self
            .frames
            .range(..at)
            .filter_map(|(_, frame)| {
                let header = frame.header();
                let counted =
                    header.patient != Pseudonym::ZERO || AUTHORITY_KINDS.contains(&header.kind);
                counted.then_some(header.patient)
            })
            .collect();
        whose.push(Pseudonym::ZERO);
        whose.sort_unstable();
        whose.dedup();
        for patient in whose {
            let parts = self.extract.patients.iter();
            let Some(part) = parts.clone().find(|part| part.patient == patient) else {
                self.wrong(format!("what {} has in all is not in it", called(patient)));
                continue;
            };
            let chain = PatientChain::of(part.hashes.iter().copied());
            if !patient_proof_holds(patient, &chain, &part.path, stated.patients_root) {
                self.wrong(format!(
                    "what it says {} has in all is not what the checkpoint's entry {at} states",
                    called(patient)
                ));
                continue;
            }
            let one = self.counted(part, at, stated.size);
            if patient == Pseudonym::ZERO {
                if one.shown < one.in_all {
                    let missing = one.in_all - one.shown;
                    self.wrong(format!(
                        "{missing} of the entries that say who may write what are not in it"
                    ));
                }
            } else {
                complete.push(one);
            }
        }
        complete
    }

    fn counted(&mut self, part: &PatientPart, at: Seq, up_to: u64) -> Complete {
        let patient = part.patient;
        let mut shown = 0;
        let mut outside = Vec::new();
        for (seq, frame) in self.frames.range(..at) {
            let header = frame.header();
            let counted = header.patient == patient
                && (patient != Pseudonym::ZERO || AUTHORITY_KINDS.contains(&header.kind));
            if !counted {
                continue;
            }
            if part.hashes.contains(&frame.hash()) {
                shown += 1;
            } else {
                outside.push(format!(
                    "entry {seq} is not among those {} has in all",
                    called(patient)
                ));
            }
        }
        self.problems.extend(outside);
        let held = self.extract.entries.iter().filter(|entry| {
            entry.withheld.is_some() && entry.seq < at && part.hashes.contains(&entry.hash)
        });
        Complete {
            patient,
            in_all: part.hashes.len() as u64,
            shown,
            withheld: held.count() as u64,
            up_to,
        }
    }
}

fn called(patient: Pseudonym) -> String {
    if patient == Pseudonym::ZERO {
        "the ward's staff".to_owned()
    } else {
        format!("patient {}", patient.short())
    }
}

//! Whether an extract is what it says: with the file alone, no journal and no secret.

mod complete;

use std::collections::{BTreeMap, BTreeSet};

use super::{Extract, FORMAT, Shown};
use crate::journal::note::{Checkpoint, SignedNote, VerifierKey};
use crate::journal::tree::{entry_leaf, inclusion_holds, root_before};
use crate::journal::{Frame, Opening, SignedFrame, genesis, open_with};
use crate::record::entry::Entry;
use crate::record::ids::{EntryHash, Pseudonym, Seq, from_hex};
use crate::record::kind::proof::StatedTree;
use crate::record::kind::ward::AmendmentAct;
use crate::record::kind::{Body, Kind};
use crate::station::judge::RightsJudge;
use crate::ward::Read;

/// What was found.
pub struct Checked {
    /// Everything that does not hold, in sentences. Empty: it is what it says.
    pub problems: Vec<String>,
    /// How many entries it shows.
    pub shown: usize,
    /// Those that are held back and proved to be in the journal.
    pub withheld: Vec<Withheld>,
    /// What is known of each patient's record as a whole.
    pub patients: Vec<Complete>,
    /// The checkpoint it rests on.
    pub checkpoint: Option<Checkpoint>,
    /// The checkpoint's own entry: what is proved, is proved up to it.
    pub up_to: Option<Seq>,
    /// A teaching journal: invented patients only, and signatures that prove nothing.
    pub teaching: bool,
    /// The ward's name, by the first entry.
    pub ward: Option<String>,
    /// How many of those that are shown are sealed in the journal and opened here.
    pub opened: usize,
    /// The entries that are shown, in order.
    pub entries: Vec<ShownEntry>,
    /// The ward's clock.
    pub zone: crate::record::time::WardZone,
}

/// An entry that is held back. Its number stands in the file and nothing proves it; its place does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Withheld {
    /// The how-manieth of the tree's leaves it is, from 1: its number, where no entry was lost before it.
    pub place: u64,
    /// Why, in the maker's words.
    pub reason: String,
}

/// An entry that is shown.
#[derive(Debug, Clone)]
pub struct ShownEntry {
    /// Its number.
    pub seq: Seq,
    /// Its author's name.
    pub by: String,
    /// What it says, or why this program cannot read it.
    pub entry: Result<Entry, String>,
    /// What amends it, of what is shown: which entry, how, and whether that stands itself.
    pub amended: Vec<Amended>,
}

/// That an entry is withdrawn or corrected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Amended {
    /// By which entry.
    pub by: Seq,
    /// How.
    pub act: AmendmentAct,
    /// Whether no other shown entry withdraws that one.
    pub stands: bool,
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
        held: BTreeMap::new(),
        openings: BTreeMap::new(),
    };
    let checkpoint = checker.checkpoint();
    if let Some(checkpoint) = &checkpoint {
        checker.each_once();
        for shown in extract.entries.iter().chain(&extract.authority) {
            checker.belongs(shown, checkpoint);
        }
        checker.in_order();
    }
    let judge = checker.authors();
    let stated = checkpoint
        .as_ref()
        .and_then(|checkpoint| checker.stated(checkpoint));
    let patients = match &stated {
        Some((at, stated)) => checker.complete(*at, stated),
        None => Vec::new(),
    };
    let reasons = extract.entries.iter().chain(&extract.authority);
    let reasons: BTreeMap<u64, &String> = reasons
        .filter_map(|shown| Some((shown.index, shown.withheld.as_ref()?)))
        .collect();
    let withheld = checker.held.values().map(|index| Withheld {
        place: index.saturating_add(1),
        reason: reasons
            .get(index)
            .map(|why| (*why).clone())
            .unwrap_or_default(),
    });
    let mut withheld: Vec<Withheld> = withheld.collect();
    withheld.sort_by_key(|held| held.place);
    let entries = checker.shown(&judge);
    Checked {
        shown: entries.len(),
        opened: checker.openings.len(),
        withheld,
        entries,
        teaching: judge.is_teaching(),
        ward: judge.ward_name().map(str::to_owned),
        zone: judge.zone(),
        patients,
        up_to: stated.map(|(at, _)| at.seq),
        checkpoint,
        problems: checker.problems,
    }
}

/// Where an entry is: its number, and its leaf.
#[derive(Debug, Clone, Copy)]
struct Place {
    seq: Seq,
    index: u64,
}

struct Checker<'e> {
    extract: &'e Extract,
    problems: Vec<String>,
    /// Every entry that is shown, whole, signed and in its place, with its leaf.
    frames: BTreeMap<Seq, (SignedFrame, u64)>,
    /// Every entry that is held back and in its place, by its hash, with its leaf.
    held: BTreeMap<EntryHash, u64>,
    /// What opens the sealed entries that are shown.
    openings: BTreeMap<Seq, Opening>,
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
            Ok((text, _)) if text.journal() != Some(self.extract.journal) => {
                self.wrong(format!(
                    "its checkpoint is of {}, another journal",
                    text.origin
                ));
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

    /// Whatever stands twice could be counted twice.
    fn each_once(&mut self) {
        let (mut seqs, mut places, mut hashes) =
            (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
        let all = self.extract.entries.iter().chain(&self.extract.authority);
        let mut found = Vec::new();
        for shown in all {
            let is_new =
                seqs.insert(shown.seq) & places.insert(shown.index) & hashes.insert(shown.hash);
            if !is_new {
                found.push(format!(
                    "entry {}, its place or its hash stands in it twice",
                    shown.seq
                ));
            }
        }
        self.problems.extend(found);
    }

    /// Whether an entry is intact, its author's, and in its place under the checkpoint.
    fn belongs(&mut self, shown: &Shown, checkpoint: &Checkpoint) {
        let (seq, index) = (shown.seq, shown.index);
        let leaf = entry_leaf(shown.hash);
        let (size, root) = (checkpoint.size, checkpoint.root);
        if !inclusion_holds(leaf, index, size, &shown.path, root) {
            return self.wrong(format!("entry {seq} is not proved to be in the journal"));
        }
        let hex = match (&shown.frame, &shown.withheld) {
            (Some(hex), None) => hex,
            (None, Some(_)) => {
                self.held.insert(shown.hash, index);
                return;
            }
            (None, None) => {
                return self.wrong(format!("entry {seq} is left out without a reason"));
            }
            (Some(_), Some(_)) => {
                return self.wrong(format!("entry {seq} is shown and said to be withheld"));
            }
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
        if let Some(text) = &shown.opening {
            match opening(text).filter(|opening| open_with(&frame, opening).is_ok()) {
                Some(opening) => drop(self.openings.insert(seq, opening)),
                None => self.wrong(format!("what is said to open entry {seq} does not open it")),
            }
        }
        match frame.check_signature() {
            Ok(signed) => drop(self.frames.insert(seq, (signed, index))),
            Err(_) => self.wrong(format!("entry {seq} is not signed by the author it names")),
        }
    }

    /// Later entries have later places: so that nobody is judged by what came after.
    fn in_order(&mut self) {
        let mut last = None;
        let mut found = Vec::new();
        for (seq, (_, index)) in &self.frames {
            if last.is_some_and(|last| *index <= last) {
                found.push(format!("entry {seq} is not where its number says"));
            }
            last = Some(*index);
        }
        self.problems.extend(found);
    }

    /// Who wrote each entry, and whether they might.
    fn authors(&mut self) -> RightsJudge {
        let mut judge = RightsJudge::new();
        match self.frames.get(&Seq(1)) {
            Some((first, _)) if first.header().prev == genesis(self.extract.journal) => {}
            Some(_) => self.wrong("its first entry opens another journal".to_owned()),
            None => self.wrong("the entry that opened the ward is not in it".to_owned()),
        }
        let mut found = Vec::new();
        for (seq, (frame, _)) in &self.frames {
            if let Some(what) = judge.judge_alone(frame) {
                found.push(format!("entry {seq} {what}"));
            }
        }
        self.problems.extend(found);
        let key: Option<VerifierKey> = self.extract.ward_key.parse().ok();
        let announced = judge.ward_keys();
        match key.map(|key| announced.iter().rposition(|known| *known == key.key)) {
            Some(Some(at)) if at + 1 == announced.len() => {}
            Some(Some(_)) => self.wrong(
                "its checkpoint is signed with a key that a keeper had replaced by then".to_owned(),
            ),
            _ => self.wrong("no keeper announced the key that signed its checkpoint".to_owned()),
        }
        judge
    }

    /// The checkpoint's own entry, and what it states. It is the newest one of its kind that is shown, the
    /// last entry that is shown, and the one with which the checkpoint ends; and what it states of the entries before
    /// it is what the checkpoint has there. So whoever holds the ward's key alone, without a member of
    /// staff, makes no checkpoint that an extract could rest on.
    fn stated(&mut self, checkpoint: &Checkpoint) -> Option<(Place, StatedTree)> {
        let is_checkpoint = |frame: &SignedFrame| frame.header().kind == Kind::Checkpoint.code();
        let mut newest_first = self.frames.iter().rev();
        let Some((seq, (frame, index))) = newest_first.find(|(_, (frame, _))| is_checkpoint(frame))
        else {
            self.wrong("no checkpoint's entry is in it, so nothing says what is all".to_owned());
            return None;
        };
        let (seq, index) = (*seq, *index);
        let with_it = u64::from(frame.header().following).saturating_add(1);
        let body = Read::from_frame(frame)
            .entry()
            .map(|entry| entry.body.clone());
        let all = self.extract.entries.iter().chain(&self.extract.authority);
        let past: Vec<String> = all
            .clone()
            .filter(|shown| shown.index > index)
            .map(|shown| {
                format!(
                    "entry {} lies after the checkpoint's entry {seq}: nothing in it tells whether its author \
                     might still write",
                    shown.seq
                )
            })
            .collect();
        let path = all.clone().find(|shown| shown.seq == seq);
        let path = path.map(|shown| shown.path.clone()).unwrap_or_default();
        self.problems.extend(past);
        if index.checked_add(with_it) != Some(checkpoint.size) {
            self.wrong(format!(
                "its checkpoint covers {} entries, and the newest checkpoint's entry in it, {seq}, is that of another \
                 one: what came in between is not in it",
                checkpoint.size
            ));
            return None;
        }
        let Some(Body::Checkpoint(said)) = body else {
            self.wrong(format!("the checkpoint's entry {seq} cannot be read"));
            return None;
        };
        let Some(stated) = said.stated else {
            self.wrong(format!("the checkpoint's entry {seq} states nothing"));
            return None;
        };
        let before = root_before(index, checkpoint.size, &path);
        if stated.size != index || before != Some(stated.root) {
            self.wrong(format!(
                "the checkpoint's entry {seq} states other entries before it than the checkpoint has"
            ));
            return None;
        }
        Some((Place { seq, index }, stated))
    }

    /// What an entry says: in clear, or opened with what stands beside it.
    fn read(&self, seq: Seq, frame: &SignedFrame) -> Read {
        match self.openings.get(&seq) {
            Some(opening) => Read::opened_with(frame, opening),
            None => Read::from_frame(frame),
        }
    }

    /// What was asked for and is shown, with what is shown of its amendments.
    fn shown(&self, judge: &RightsJudge) -> Vec<ShownEntry> {
        let amendments = self.amendments();
        let asked: BTreeSet<Seq> = self.extract.entries.iter().map(|shown| shown.seq).collect();
        let shown = self.frames.iter().filter(|(seq, _)| asked.contains(seq));
        shown
            .map(|(seq, (frame, _))| ShownEntry {
                seq: *seq,
                by: judge
                    .name_of(&frame.header().author)
                    .unwrap_or("unknown")
                    .to_owned(),
                entry: match self.read(*seq, frame) {
                    Read::Entry(entry) => Ok(*entry),
                    Read::Unreadable(unreadable) => Err(unreadable.why),
                },
                amended: amendments.get(seq).cloned().unwrap_or_default(),
            })
            .collect()
    }

    /// What is amended by what, among what is shown.
    fn amendments(&self) -> BTreeMap<Seq, Vec<Amended>> {
        let mut amended: BTreeMap<Seq, Vec<Amended>> = BTreeMap::new();
        let mut withdrawn = BTreeSet::new();
        // Newest first: whether an amendment stands is told by what came after it.
        for (seq, (frame, _)) in self.frames.iter().rev() {
            let read = self.read(*seq, frame);
            let Some(Body::Amendment(amendment)) = read.entry().map(|entry| &entry.body) else {
                continue;
            };
            let (by, act, stands) = (*seq, amendment.act, !withdrawn.contains(seq));
            if stands && act == AmendmentAct::Withdraw {
                withdrawn.insert(amendment.target);
            }
            let of_target = amended.entry(amendment.target).or_default();
            of_target.insert(0, Amended { by, act, stands });
        }
        amended
    }
}

/// 32 bytes in hexadecimal.
fn opening(text: &str) -> Option<Opening> {
    let bytes = from_hex(text)?;
    <[u8; 32]>::try_from(bytes).ok().map(Opening)
}

/// Whose record, in a sentence.
fn called(patient: Pseudonym) -> String {
    if patient == Pseudonym::ZERO {
        "the ward's staff".to_owned()
    } else {
        format!("patient {}", patient.short())
    }
}

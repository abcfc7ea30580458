//! What a correction or a withdrawal did to what people see: the score it changed, and what fell
//! off the lists or came back to them. Told by drawing the ward as it stood just before.

use std::collections::BTreeSet;

use super::Station;
use crate::record::ids::{Pseudonym, Seq};
use crate::ward::open::{OpenItem, OpenSort};
use crate::ward::{Patient, Ward};

/// What amending `target` by the entry `by` changed, a sentence each.
pub(super) fn changes(
    station: &Station,
    patient: Option<Pseudonym>,
    by: Seq,
    target: Seq,
) -> Vec<String> {
    let Some(earlier) = by.0.checked_sub(1) else {
        return Vec::new();
    };
    let before = station.as_at(Seq(earlier)).ward;
    let after = station.ward();
    let mut said = Vec::new();
    if let Some(patient) = patient {
        said.extend(scores(
            before.patient(patient),
            after.patient(patient),
            target,
        ));
    }
    let now = station.now();
    let open = |ward: &Ward| -> BTreeSet<OpenItem> { ward.open_items(now).into_iter().collect() };
    let (was, is) = (open(&before), open(after));
    said.extend(
        was.difference(&is)
            .map(|item| format!("{} {} is on no list any more", words(item.sort), item.seq)),
    );
    said.extend(
        is.difference(&was)
            .map(|item| format!("{} {} is on the lists again", words(item.sort), item.seq)),
    );
    said
}

const fn words(sort: OpenSort) -> &'static str {
    match sort {
        OpenSort::Alert => "open alert",
        OpenSort::Escalation => "open escalation",
        OpenSort::OverdueTask => "overdue task",
        OpenSort::UnreviewedResult => "result nobody has looked at,",
        OpenSort::UndeliveredSupply => "supply that has not arrived,",
    }
}

/// The score of the set that was amended, and the patient's newest, before and now.
fn scores(before: Option<&Patient>, after: Option<&Patient>, target: Seq) -> Vec<String> {
    let of_set = |patient: Option<&Patient>| {
        let set = patient?.sets.iter().find(|set| set.stamp.seq == target)?;
        set.has_vital_sign().then(|| total(set.total()))
    };
    let newest = |patient: Option<&Patient>| {
        let set = patient?
            .sets
            .iter()
            .rev()
            .find(|set| set.has_vital_sign())?;
        Some((set.stamp.seq, total(set.total())))
    };
    let Some(was) = of_set(before) else {
        return Vec::new();
    };
    let mut said = vec![match of_set(after) {
        Some(is) if is == was => format!("{target}: {is}, as before"),
        Some(is) => format!("{target}: {is}, was {was}"),
        None => format!("the set {target} ({was}) counts no more"),
    }];
    let (then, now) = (newest(before), newest(after));
    if then != now {
        said.push(
            now.map_or("no readings are left".to_owned(), |(seq, total)| {
                format!("the newest set is {seq}: {total}")
            }),
        );
    }
    said
}

fn total(total: Option<u8>) -> String {
    total.map_or("no NEWS2 total".to_owned(), |total| {
        format!("NEWS2 {total}")
    })
}

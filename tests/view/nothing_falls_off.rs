//! Nothing open may fall off the sheet: for any journal, in every form.

use std::collections::BTreeSet;

use handfast::record::time::Span;
use handfast::view::handover::{Sheet, SheetRequest, sheet};
use handfast::view::render::text::Paper;
use handfast::view::render::{html, json, text};
use handfast::ward::open::{OpenItem, OpenSort};
use proptest::prelude::*;

use crate::material;

/// Entry numbers of everything open on the sheet, by ledger: looked up in the data, so that a
/// number that stands there for another reason does not count.
fn on_sheet(sheet: &Sheet) -> BTreeSet<(OpenSort, u64)> {
    let mut found = BTreeSet::new();
    for block in &sheet.patients {
        for alert in &block.situation.alerts {
            found.insert((OpenSort::Alert, alert.origin.seq.0));
        }
        for escalation in &block.situation.escalations {
            found.insert((OpenSort::Escalation, escalation.origin.seq.0));
        }
        for result in block.assessment.results.iter().filter(|r| r.unreviewed) {
            found.insert((OpenSort::UnreviewedResult, result.origin.seq.0));
        }
        for supply in &block.assessment.supplies {
            found.insert((OpenSort::UndeliveredSupply, supply.origin.seq.0));
        }
        let overdue = block.recommendation.due.iter();
        for due in overdue.filter(|due| due.overdue && due.sort == "task") {
            found.insert((OpenSort::OverdueTask, due.seq.0));
        }
    }
    for block in &sheet.left_open {
        found.extend(
            block
                .alerts
                .iter()
                .map(|a| (OpenSort::Alert, a.origin.seq.0)),
        );
        let escalations = block.escalations.iter();
        found.extend(escalations.map(|e| (OpenSort::Escalation, e.origin.seq.0)));
        let results = block.results.iter();
        found.extend(results.map(|r| (OpenSort::UnreviewedResult, r.origin.seq.0)));
        let supplies = block.supplies.iter();
        found.extend(supplies.map(|s| (OpenSort::UndeliveredSupply, s.origin.seq.0)));
        let due = block
            .due
            .iter()
            .filter(|due| due.overdue && due.sort == "task");
        found.extend(due.map(|d| (OpenSort::OverdueTask, d.seq.0)));
    }
    found.extend(
        sheet
            .ward
            .alerts
            .iter()
            .map(|a| (OpenSort::Alert, a.origin.seq.0)),
    );
    let due = sheet.ward.due.iter().filter(|due| due.overdue);
    found.extend(due.map(|d| (OpenSort::OverdueTask, d.seq.0)));
    found
}

/// The number as people see it, not as the beginning of a longer one.
fn is_shown(text: &str, seq: u64) -> bool {
    let number = format!("#{seq}");
    text.match_indices(&number).any(|(at, _)| {
        let after = text[at + number.len()..].chars().next();
        !after.is_some_and(|c| c.is_ascii_digit())
    })
}

fn words(sort: OpenSort) -> &'static str {
    match sort {
        OpenSort::Alert => "ALERT",
        OpenSort::Escalation => "ESCALATION OPEN",
        OpenSort::OverdueTask => "OVERDUE",
        OpenSort::UnreviewedResult => "RESULT NOBODY HAS SEEN",
        OpenSort::UndeliveredSupply => "",
    }
}

fn check(acts: &[material::Act], since: bool) -> Result<Vec<OpenItem>, TestCaseError> {
    let (ward, now) = material::ward(acts);
    let now = now.plus(Span::minutes(90));
    let mut request = SheetRequest::new(&ward, "Night", "Day", None);
    request.since = ward.head().filter(|_| since).map(|(seq, _)| (seq, now));
    let sheet = sheet(&ward, now, &request);
    let open = ward.open_items(now);
    let found = on_sheet(&sheet);
    let page = sheet.page();
    let forms = [
        text::page(&page, Paper::plain(80)),
        text::page(&page, Paper::plain(140)),
        html::page(&page).expect("drawn"),
    ];
    let data = json::compact(&sheet);
    for item in &open {
        prop_assert!(
            found.contains(&(item.sort, item.seq.0)),
            "{item:?} fell off the sheet"
        );
        for form in &forms {
            prop_assert!(is_shown(form, item.seq.0), "{item:?} fell off:\n{form}");
            prop_assert!(form.contains(words(item.sort)), "{item:?} is not named");
        }
        let member = format!("\"seq\":{},", item.seq.0);
        prop_assert!(data.contains(&member), "{item:?} is not in the JSON");
    }
    // Nor may the sheet call something open that is not.
    prop_assert_eq!(found.len(), open.len());
    Ok(open)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn whatever_is_open_is_on_the_sheet(acts in material::acts(), since: bool) {
        check(&acts, since)?;
    }

    /// A sheet drawn again from the same entries is the same to the byte.
    #[test]
    fn a_sheet_drawn_again_is_the_same(acts in material::acts()) {
        let (ward, now) = material::ward(&acts);
        let (again, _) = material::ward(&acts);
        let request = SheetRequest::new(&ward, "Night", "Day", None);
        let first = sheet(&ward, now, &request);
        let second = sheet(&again, now, &request);
        prop_assert_eq!(first.digest(), second.digest());
        prop_assert_eq!(json::compact(&first), json::compact(&second));
    }
}

/// The random journals do hold open items of every sort, also of patients who have left; else
/// the property above would prove nothing.
#[test]
fn random_journals_hold_every_sort_of_open_item() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;

    let mut runner = TestRunner::deterministic();
    let mut seen: BTreeSet<(OpenSort, bool, bool)> = BTreeSet::new();
    for _ in 0..150 {
        let acts = material::acts()
            .new_tree(&mut runner)
            .expect("a tree")
            .current();
        let (ward, _) = material::ward(&acts);
        for item in check(&acts, false).expect("nothing falls off") {
            let patient = item.patient.and_then(|patient| ward.patient(patient));
            let here = patient.is_some_and(|patient| patient.is_current());
            seen.insert((item.sort, patient.is_some(), here));
        }
    }
    let sorts = [
        OpenSort::Alert,
        OpenSort::Escalation,
        OpenSort::OverdueTask,
        OpenSort::UnreviewedResult,
        OpenSort::UndeliveredSupply,
    ];
    for sort in sorts {
        assert!(
            seen.contains(&(sort, true, true)),
            "{sort:?} of somebody on the ward"
        );
        assert!(
            seen.contains(&(sort, true, false)),
            "{sort:?} of somebody who has left"
        );
    }
    assert!(seen.contains(&(OpenSort::Alert, false, false)));
    assert!(seen.contains(&(OpenSort::OverdueTask, false, false)));
}

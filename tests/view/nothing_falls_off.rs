//! Nothing open may fall off the sheet: for any journal, in every form.

use std::collections::BTreeSet;

use handfast::record::time::{Span, Timestamp};
use handfast::view::handover::{Sheet, SheetRequest, Standing, sheet};
use handfast::view::page::{Reservations, Reserved};
use handfast::view::render::text::Paper;
use handfast::view::render::{html, json, text};
use handfast::ward::Ward;
use handfast::ward::open::{OpenItem, OpenSort};
use handfast::ward::shifts::HandoverLife;
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

/// Whatever else is overdue and whatever was asked and not answered, by its entry.
fn also_open(ward: &Ward, now: Timestamp) -> BTreeSet<(&'static str, u64)> {
    let due = ward.due_items();
    let overdue = due.iter().filter(|item| item.is_overdue(now));
    let mut open: BTreeSet<_> = overdue.map(|i| (i.sort.code(), i.seq.0)).collect();
    let queries = ward
        .handovers()
        .values()
        .flat_map(HandoverLife::open_queries);
    open.extend(queries.map(|step| ("query", step.held.seq().0)));
    let reached = ward.caseload().into_iter();
    open.extend(reached.filter_map(|p| Some(("not reached", p.unreached().last()?.seq().0))));
    open
}

fn also_on_sheet(sheet: &Sheet) -> BTreeSet<(&'static str, u64)> {
    let here = sheet.patients.iter();
    let due = here.clone().flat_map(|block| &block.recommendation.due);
    let due = due.chain(sheet.left_open.iter().flat_map(|block| &block.due));
    let due = due.chain(&sheet.ward.due).filter(|due| due.overdue);
    let mut found: BTreeSet<_> = due.map(|due| (due.sort, due.seq.0)).collect();
    let queries = here.clone().flat_map(|block| &block.recommendation.queries);
    let queries = queries.chain(sheet.left_open.iter().flat_map(|block| &block.queries));
    let queries = queries.chain(&sheet.ward.queries);
    found.extend(queries.map(|query| ("query", query.origin.seq.0)));
    found.extend(here.filter_map(|block| {
        let tries = block.situation.unreached.as_ref()?;
        Some(("not reached", tries.last.origin.seq.0))
    }));
    found
}

/// An escalation nobody has answered says so, and a result nobody has seen lifts its patient.
fn check_loud(sheet: &Sheet, page: &str) -> Result<(), TestCaseError> {
    for block in &sheet.patients {
        let calls = &block.situation.escalations;
        if calls.iter().any(|call| !call.answered) {
            prop_assert!(page.contains("NOBODY HAS ANSWERED."));
            prop_assert_eq!(block.stands_by, Standing::OpenEscalation);
        }
        if block
            .assessment
            .results
            .iter()
            .any(|result| result.unreviewed)
        {
            prop_assert!(block.stands_by < Standing::Rest, "{:?}", block.stands_by);
        }
    }
    Ok(())
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
    let also = also_open(&ward, now);
    prop_assert_eq!(&also, &also_on_sheet(&sheet));
    for (sort, seq) in also {
        for form in &forms {
            prop_assert!(is_shown(form, seq), "{sort} #{seq} fell off:\n{form}");
        }
    }
    check_loud(&sheet, &forms[1])?;
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
    let mut also: BTreeSet<&'static str> = BTreeSet::new();
    for _ in 0..150 {
        let acts = material::acts()
            .new_tree(&mut runner)
            .expect("a tree")
            .current();
        let (ward, now) = material::ward(&acts);
        let later = now.plus(Span::minutes(90));
        also.extend(also_open(&ward, later).into_iter().map(|(sort, _)| sort));
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
    let sorts = [
        "unreached",
        "escalation-answer",
        "task",
        "next-contact",
        "dose",
        "dressing",
        "line-care",
        "result-expected",
        "result-repeat",
        "supply",
        "query",
        "not reached",
    ];
    for sort in sorts {
        assert!(
            also.contains(sort),
            "{sort} in some journal, not only {also:?}"
        );
    }
}

/// Entries that could not be read are not on the sheet, and the sheet says of each that it is
/// not; of those in doubt it says that they are.
#[test]
fn a_sheet_names_each_entry_it_could_not_read() {
    let (ward, now) = material::ward(&[]);
    let sheet = sheet(&ward, now, &SheetRequest::new(&ward, "Night", "Day", None));
    let missing = [
        "entry #4 is damaged".to_owned(),
        "entry #9 is damaged".to_owned(),
    ];
    let doubt = "the signature of entry #12 does not verify".to_owned();
    let reservations = Reservations::new(missing.to_vec(), vec![doubt.clone()]);
    let page = sheet.page().under(&reservations);
    for form in [
        text::page(&page, Paper::plain(140)),
        html::page(&page).expect("drawn"),
    ] {
        for what in &missing {
            let said = format!("NOT COMPLETE: {what}; not on this page.");
            assert!(form.contains(&said), "{form}");
        }
        assert!(form.contains(&format!("NOT PROVED: {doubt}.")), "{form}");
    }
    let json = json::compact(&Reserved::new(&sheet, &reservations));
    let read: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(read["complete"], false);
    assert_eq!(read["damage"], serde_json::json!(missing));
    assert_eq!(read["unproved"], serde_json::json!([doubt]));
    assert_eq!(read["schema"], "handfast.handover/1");
}

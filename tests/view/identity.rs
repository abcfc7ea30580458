//! Who a block is about stands at its head, and what is not known is said to be unknown.

use handfast::view::handover::{SheetRequest, sheet};
use handfast::view::render::html;
use handfast::view::render::text::{self, Paper};

use crate::small_ward;

fn blocks() -> Vec<String> {
    let demo = small_ward::ward();
    let request = SheetRequest::new(&demo.ward, "Day", "Night", None);
    let page = text::page(
        &sheet(&demo.ward, demo.now, &request).page(),
        Paper::plain(400),
    );
    let rule = "\u{2500}".repeat(20);
    page.split(&rule).map(str::to_owned).collect()
}

fn block_of(slot: &str) -> String {
    let found = blocks().into_iter().find(|block| {
        let first = block.trim_start_matches('\u{2500}').trim_start();
        first
            .lines()
            .next()
            .is_some_and(|line| line.contains(&format!(" {slot} ")))
            && block.contains(" S  ")
    });
    found.unwrap_or_else(|| panic!("no block of {slot}"))
}

/// Name, date of birth with age and a number; then what must be known before anything is done.
#[test]
fn a_block_begins_with_two_identifiers_and_what_is_known() {
    let ines = block_of("S1");
    for words in [
        "S1 LARKMEAD, Ines (Mrs)",
        "born 02-Jul-1944 (82y), female, NHS 999 000 0018;",
        "day 1 of stay, expected out 26-Oct-2026",
        "Allergies: penicillin (rash); latex.",
        "Ceiling of care: full escalation.",
        "CPR to be attempted.",
        "If worse: Total 5: on-call registrar",
    ] {
        assert!(ines.contains(words), "{words} is not in\n{ines}");
    }
    let before_now = ines.find("If worse:") < ines.find(" S  ");
    assert!(before_now, "the plan stands with the name");
}

#[test]
fn what_is_not_known_of_somebody_is_said_to_be_unknown() {
    let tom = block_of("S2");
    for words in [
        "no NHS number, local L-204;",
        "no expected discharge date",
        "Allergies: NOT ASKED.",
        "IF WORSE: NO ESCALATION PLAN RECORDED.",
        "PHONE NOT RECORDED;",
        "no carer recorded",
        "how to get in is not recorded",
        "Usual: not recorded",
        "RR not recorded;",
    ] {
        assert!(tom.contains(words), "{words} is not in\n{tom}");
    }
}

/// On paper each page says what it is and is not, and a patient's words stay with the name.
#[test]
fn every_printed_page_carries_the_caution() {
    let demo = small_ward::ward();
    let request = SheetRequest::new(&demo.ward, "Day", "Night", None);
    let page = html::page(&sheet(&demo.ward, demo.now, &request).page()).expect("drawn");
    let caution = "@top-left { content: \"Decision support only: a clinician decides. Concern \
                   about a patient overrides any low score.\" }";
    for rule in [
        caution,
        "@top-right { content: \"TEACHING JOURNAL: invented people\" }",
        "@bottom-left { content: \"As of Sat 24-Oct-2026 16:30, journal #",
        "counter(page)",
        "table + article { break-before: page; }",
        "article { margin: 0.5em 0; break-inside: avoid; }",
    ] {
        assert!(page.contains(rule), "{rule} is not in the page");
    }
}

//! `docs/rights.md` is made from the program's own table, so that whoever verifies a journal
//! without the program knows who may write what. `HANDFAST_WRITE_DOCS=1 cargo test --test record
//! rights` writes it anew.

use std::fmt::Write as _;

use handfast::record::kind::Kind;
use handfast::record::kind::shift::HandoverMove;
use handfast::record::rights;
use handfast::record::role::Role;

const OPENING: &str = "\
# Who may write what

Which role may write which kind of entry. This page is made by a test from the table that the
program itself asks before an entry is written, that views ask when they take one in, and that
`handfast verify` asks again for every entry that is there (`tests/record/rights.rs`). An entry by
somebody who had no right to write it is named on every page, ends nothing and stops writing until a keeper has
accepted it ([what the fold believes](decisions/0004-what-the-fold-believes.md)). It is a choice of this program, taken from no
source: a ward that wants other rights needs another program.

The role counts that the author had at that entry by the staff entries before it, whatever the
entry itself says; an entry that says another role is a finding of its own.

A cell says `yes` or is empty.

";

const STEPS: &str = "
## Who may take which step of a handover

A `handover-step` is one kind, and not every step of it is for everybody who may write the kind. Whoever accepts or
declines a ward, or one patient of it, answers for what happens next: a role that can be in charge. It holds for every
entry there is. A choice of this program, from no source.

";

const CLOSING: &str = "
## Rules beside the table

- **The first two entries** found the ward. Entry 1 opens it and entry 2 enrols its first keeper; one
  key signs both, the one entry 2 names, and both say they are written as keeper.
- **A handle is enrolled once.** Changes name somebody who is enrolled.
- **An author** has the key the staff entries before give them, and is not suspended.
- **Amending**: one's own entries, under any key one has had. Those of others: the ward sister.
  The target lies before. Which kinds are amended at all stands in the last column. An amendment may be withdrawn but not
  corrected. A correction keeps the kind of its target.
- **A handover** names the sheet's last entry, which is the entry just before the handover's own: its
  number and its hash, which is also the frame's `prev`.
- **Accepting a handover** names the digest that the handover names, is done by somebody other than
  whoever prepared it, and once: only a patient held back may be accepted or declined afterwards.
- **Destroying a record** names an approval of destroying that same record, at most seven days old and used once; of its author and the
  approval's one is a keeper and the other a governance officer, two people.
- **Accepting damage, and going on from a backup**, in a journal whose records are sealed: names an approval of exactly that report (its reason begins with
  the report's digest) by a governance officer or another keeper. Where nobody else on the staff could be that person, the keeper alone.
- **Sealed**: from a keeper's `recovery` entry on, payloads are sealed, except of the kinds that `docs/journal-format.md` lists. One in clear,
  or a sealed one of those kinds, is a finding.
- **Times**: nothing happened later than it was recorded, in an entry or in a correction. An entry
  recorded more than 24 hours before the one before it shows that one of the two clocks was wrong (no
  source for the 24 hours: longer than a shift and than any mistake in the time zone).

- **What an entry names** (an alert, a task, a sample, ...) lies before it, is of that kind and in the same
  record. An amendment's target is in the same record and was not withdrawn before.
- **Staff**: a handle is 2 to 24 lower-case letters, digits or hyphens; nobody is enrolled with, or given, another's key;
  the last keeper is neither suspended nor given another role.
- **A kind that `verify` does not know** has no row here: how many entries there are of it is said, the right to write
  them is not judged, and the verdict is not *whole* (exit code 4).

Not checked by `verify`: whether what an entry names still stood, and whether the sheet drawn again has the digest
named. Of a sealed entry only its place, signature, author and kind are checked: what it names, amendments, handovers
and times are sealed with the rest, and `verify` says of how many entries that holds.

";

fn page() -> String {
    let mut page = OPENING.to_owned();
    let labels: Vec<String> = Role::ALL
        .iter()
        .map(|role| role.label().to_owned())
        .collect();
    let codes: Vec<String> = Role::ALL
        .iter()
        .map(|role| format!("`{}`", role.code()))
        .collect();
    let rules = vec!["---"; labels.len() + 3].join(" | ");
    // Writing to a string cannot fail.
    let _ = writeln!(page, "| number | kind | {} | amended |", labels.join(" | "));
    let _ = writeln!(page, "| {rules} |");
    let _ = writeln!(page, "| | | {} | |", codes.join(" | "));
    for kind in Kind::ALL {
        let cells = Role::ALL
            .iter()
            .map(|role| yes(rights::may_write(*role, *kind)));
        let cells: Vec<&str> = cells.collect();
        let _ = writeln!(
            page,
            "| {} | `{}` | {} | {} |",
            kind.code(),
            kind.name(),
            cells.join(" | "),
            amended(*kind),
        );
    }
    page.push_str(STEPS);
    let _ = writeln!(page, "| step | {} |", labels.join(" | "));
    let _ = writeln!(page, "| {} |", vec!["---"; labels.len() + 1].join(" | "));
    for step in HandoverMove::ALL {
        let cells = Role::ALL
            .iter()
            .map(|role| yes(rights::may_take_step(*role, *step)));
        let cells: Vec<&str> = cells.collect();
        let _ = writeln!(page, "| `{}` | {} |", step.code(), cells.join(" | "));
    }
    page.push_str(CLOSING);
    page.truncate(page.trim_end().len());
    page.push('\n');
    page
}

const fn yes(may: bool) -> &'static str {
    if may { "yes" } else { "" }
}

fn amended(kind: Kind) -> &'static str {
    match (rights::may_be_amended(kind), rights::may_be_corrected(kind)) {
        (true, true) => "yes",
        (true, false) => "withdrawn only",
        _ => "never",
    }
}

#[test]
fn the_page_is_the_programs_table() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/rights.md");
    let fresh = page();
    if std::env::var_os("HANDFAST_WRITE_DOCS").is_some() {
        std::fs::write(path, &fresh).unwrap();
    }
    let kept = std::fs::read_to_string(path).unwrap();
    assert!(
        kept == fresh,
        "docs/rights.md differs; HANDFAST_WRITE_DOCS=1 cargo test --test record rights"
    );
}

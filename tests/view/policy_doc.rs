//! `docs/policy.md` is written from the descriptions of the settings.
//! `HANDFAST_WRITE_DOCS=1 cargo test --test view policy_doc` writes it anew.

use handfast::view::policy::policy_keys;

const MARK: &str = "<!-- from here on written by tests/view/policy_doc.rs -->\n";

#[test]
fn the_page_describes_every_setting() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/policy.md");
    let page = std::fs::read_to_string(path).expect("docs/policy.md");
    let (prose, tables) = page.split_once(MARK).expect("the mark");
    let fresh = policy_keys().markdown();
    if std::env::var_os("HANDFAST_WRITE_DOCS").is_some() {
        std::fs::write(path, format!("{prose}{MARK}{fresh}")).expect("written");
        return;
    }
    assert!(
        tables == fresh,
        "docs/policy.md differs from the settings; HANDFAST_WRITE_DOCS=1 cargo test --test view policy_doc"
    );
}

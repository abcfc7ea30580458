//! Writes the demo ward's sheets to files, to be looked at.

use handfast::record::person::Handle;
use handfast::record::time::{Leaning, Timestamp, parse_moment};
use handfast::view::handover::{SheetRequest, sheet};
use handfast::view::render::text::Paper;
use handfast::view::render::{html, json, text};

use crate::demo_ward;

fn moment(said: &str) -> Timestamp {
    let zone = handfast::demo::cast::ZONE;
    parse_moment(said, handfast::demo::cast::OPENED, zone, Leaning::Future)
        .expect("a moment")
        .at
}

/// `HANDFAST_LOOKS=DIR cargo test --test view looks -- --ignored` writes them there.
#[test]
#[ignore = "writes files for people to look at"]
fn looks() {
    let dir = std::path::PathBuf::from(std::env::var("HANDFAST_LOOKS").expect("a directory"));
    let last = demo_ward::whole().now;
    for (name, at) in [("sat-am", moment("24-Oct-2026 07:44")), ("end", last)] {
        let demo = demo_ward::until(at);
        let request = SheetRequest {
            receiver: Some(Handle("imke".into())),
            opening: Some("A hard night.".into()),
            ..SheetRequest::new(&demo.ward, "Night", "Long day", Some(Handle("orla".into())))
        };
        let sheet = sheet(&demo.ward, at, &request);
        let page = sheet.page();
        let put = |ending: &str, text: String| {
            std::fs::write(dir.join(format!("{name}.{ending}")), text).expect("written");
        };
        put("html", html::page(&page).expect("drawn"));
        put("80.txt", text::page(&page, Paper::plain(80)));
        put("130.txt", text::page(&page, Paper::plain(130)));
        put("json", json::pretty(&sheet));
    }
}

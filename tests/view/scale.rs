//! A sheet costs what is open and recent, not what there ever was.

use std::time::Instant;

use handfast::view::handover::{SheetRequest, sheet};
use handfast::view::render::text::Paper;
use handfast::view::render::{html, text};

use crate::demo_ward::{self, DemoWard};

/// The demo ward's patients many times over: some 200 on the ward, 10,000 entries.
#[test]
#[ignore = "takes a while unoptimised; prints times"]
fn many_patients() {
    let story = demo_ward::whole();
    let mut entries = Vec::new();
    for copy in 0..13_u8 {
        for entry in story.entries.0.values() {
            let Some(patient) = entry.patient else {
                if copy == 0 {
                    entries.push(entry.clone());
                }
                continue;
            };
            let mut again = entry.clone();
            let mut id = patient.0;
            id[0] = copy;
            again.patient = Some(handfast::record::ids::Pseudonym(id));
            entries.push(again);
        }
    }
    entries.sort_by_key(|entry| entry.recorded_at);
    for (seq, entry) in (1..).zip(&mut entries) {
        entry.seq = handfast::record::ids::Seq(seq);
    }
    let demo = DemoWard::of(entries);
    let request = SheetRequest::new(&demo.ward, "a", "b", None);
    let began = Instant::now();
    let drawn = sheet(&demo.ward, demo.now, &request);
    println!(
        "{} patients, data {:?}",
        drawn.patients.len(),
        began.elapsed()
    );
    let began = Instant::now();
    let page = drawn.page();
    let written = text::page(&page, Paper::plain(80)).len();
    println!("text {:?}, {written} bytes", began.elapsed());
    let began = Instant::now();
    let written = html::page(&page).expect("drawn").len();
    println!("html {:?}, {written} bytes", began.elapsed());
    let began = Instant::now();
    println!("digest {} {:?}", drawn.digest().short(), began.elapsed());
}

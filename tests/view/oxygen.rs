//! Oxygen on the sheet: which scale, which target, by whom, and when there is too much of it.

use handfast::view::handover::{SheetRequest, sheet};
use handfast::view::render::text::{self, Paper};

use crate::small_ward::{SAME, Writing, clock};

fn page(scale: &str, spo2: &str, oxygen: &str) -> String {
    let mut w = Writing::begun();
    let who = format!(
        "patient=new\n{SAME}\nfamily=Testone\ngiven=Ada\nborn=02-Jul-1944\nsex=female\n\
         local_number=L-1\nslot=X1\nallergies=none known"
    );
    w.log("06:10", "imke", "admission", "", &who);
    w.log(
        "06:20",
        "imke",
        "change",
        "X1",
        &format!("{scale}\nwhy=as prescribed"),
    );
    let set = format!(
        "rr=16\nspo2={spo2}\n{oxygen}\nsbp=128\ndbp=76\nhr=72\nacvpu=alert\ntemp=37.1\nsource=staff"
    );
    w.log("15:00", "imke", "obs", "X1", &set);
    let request = SheetRequest::new(&w.demo.ward, "Day", "Night", None);
    let sheet = sheet(&w.demo.ward, clock("16:00"), &request);
    text::page(&sheet.page(), Paper::plain(400))
}

/// RCP NEWS2 (2017), chart 1: on scale 2 the target is 88 to 92 %, and 93 % and over on oxygen
/// scores as too much. A high number must not read as a good one to whoever takes over.
#[test]
fn scale_2_stands_with_its_target_and_prescriber_and_too_much_oxygen_is_said() {
    let scale_2 = "scale=2\nscale_by=Dr Amin";
    let scale = "SpO2 scale 2, target 88 to 92 %, prescribed by Dr Amin";
    let above = |percent: &str| format!("SpO2 {percent} % is above target on oxygen");
    let oxygen = "oxygen=nc 2";
    for (spo2, on, too_much) in [
        ("95", oxygen, true),
        ("93", oxygen, true),
        ("92", oxygen, false),
        ("95", "oxygen=air", false),
    ] {
        let page = page(scale_2, spo2, on);
        assert!(page.contains(scale), "{page}");
        assert_eq!(page.contains(&above(spo2)), too_much, "{spo2} {on}: {page}");
    }
    let page = page("ceiling=full", "95", oxygen);
    assert!(
        !page.contains("scale 2") && !page.contains("above target"),
        "{page}"
    );
}

//! Thursday evening: what the paper record said, copied out. Consent, monitoring kit, lines,
//! and the standing tasks of every patient.

use std::collections::BTreeMap;

use super::super::calendar::{fri, thu};
use super::super::script::{Script, log, seconds};
use crate::record::time::Timestamp;

const COPIED: &str = "copied from the paper record when the ward began this journal";

pub fn tell(s: &mut Script) {
    consents(s);
    kit(s);
    lines(s);
    standing_calls(s);
}

fn consents(s: &mut Script) {
    log!(s, hester, thu(20, 46), consent "T01";
        at: "20-Oct-2026 15:20", late_reason: COPIED, about: "remote monitoring",
        decision: "given", by: "patient", detail: "Shown the wearable and what leaves the house.");
    log!(s, hester, thu(20, 47), consent "T02";
        at: "18-Oct-2026 11:40", late_reason: COPIED, about: "sharing with wife and son",
        decision: "given", by: "patient",
        detail: "All of it; he would rather they asked us than him.");
    log!(s, hester, thu(20, 48), consent "T05";
        at: "21-Oct-2026 10:20", late_reason: COPIED, about: "remote monitoring and falls sensor",
        decision: "given", by: "patient",
        detail: "Said it back in her own words. Daughter present.");
    log!(s, hester, thu(20, 49), consent "T03";
        at: "19-Oct-2026 17:00", late_reason: COPIED,
        about: "home fire-safety visit, smoking beside oxygen", decision: "declined",
        by: "patient",
        detail: "Explained the burns risk to him and his son. Son says he goes outside. To be asked again.");
    log!(s, joss, thu(20, 43), consent "T06";
        at: "12-Oct-2026 14:20", late_reason: COPIED, about: "photographs of the foot",
        decision: "given", by: "patient", detail: "Ward camera only.");
    log!(s, joss, thu(20, 44), consent "T13";
        at: "19-Oct-2026 11:30", late_reason: COPIED, about: "sharing with family",
        decision: "declined", by: "patient", detail: "Nobody to be told that he is a patient.");
    log!(s, imke, thu(20, 44), consent "T12";
        at: "16-Oct-2026 11:00", late_reason: COPIED, about: "staying at home, comfort care only",
        decision: "given", by: "attorney", by_name: "Rosalind Otterfold, daughter",
        capacity_concern: "Too drowsy to weigh it up today; she said the same herself on 15-Oct-2026.");
    log!(s, imke, thu(20, 45), consent "T14";
        at: "17-Oct-2026 15:20", late_reason: COPIED, about: "remote monitoring",
        decision: "given", by: "patient");
}

fn kit(s: &mut Script) {
    let issue =
        |s: &mut Script, who, at: Timestamp, label: &str, slot, item, serial, since: &str| {
            let fields = [
                ("at", since),
                ("late_reason", COPIED),
                ("item", item),
                ("serial", serial),
                ("working", "yes"),
                ("charged", "yes"),
                ("taught", "yes"),
            ];
            s.log(who, at, Some(label), "kit", Some(slot), &fields);
        };
    let wearable = "Wearable: pulse, breathing rate, oxygen, skin temperature";
    issue(
        s,
        "hester",
        thu(20, 51),
        "T01-kit",
        "T01",
        wearable,
        "TW-0141",
        "20-Oct-2026 15:15",
    );
    issue(
        s,
        "hester",
        thu(20, 52),
        "T03-kit",
        "T03",
        wearable,
        "TW-0138",
        "19-Oct-2026 17:05",
    );
    issue(
        s,
        "hester",
        thu(20, 53),
        "T16-kit",
        "T16",
        wearable,
        "TW-0150",
        "20-Oct-2026 18:20",
    );
    issue(
        s,
        "hester",
        thu(20, 54),
        "T02-kit",
        "T02",
        "Scales and blood-pressure cuff",
        "TS-0026",
        "18-Oct-2026 11:45",
    );
    issue(
        s,
        "hester",
        thu(20, 55),
        "T05-kit",
        "T05",
        "Falls sensor and help button",
        "TF-0009",
        "21-Oct-2026 10:30",
    );
    issue(
        s,
        "imke",
        thu(20, 47),
        "T14-kit",
        "T14",
        wearable,
        "TW-0127",
        "17-Oct-2026 15:10",
    );
    issue(
        s,
        "imke",
        thu(20, 48),
        "T09-kit",
        "T09",
        wearable,
        "TW-0133",
        "19-Oct-2026 17:50",
    );
    issue(
        s,
        "imke",
        thu(20, 49),
        "T11-kit",
        "T11",
        "Peak-flow meter and oximeter",
        "TP-0071",
        "18-Oct-2026 13:20",
    );
    issue(
        s,
        "joss",
        thu(20, 46),
        "T08-kit",
        "T08",
        "Oximeter and blood-pressure cuff",
        "TB-0064",
        "20-Oct-2026 09:50",
    );
}

fn lines(s: &mut Script) {
    log!(s, joss, thu(20, 48), line "T06" => "T06-picc";
        at: "12-Oct-2026 14:10", late_reason: COPIED, kind: "picc",
        site: "right upper arm, 38 cm at the skin", inserted: "10-Oct-2026",
        night_cover: "Out-of-hours district nurses, 01632 960300, can flush a PICC",
        next_care: "Fri 11:00");
    log!(s, joss, thu(20, 49), line "T13" => "T13-cannula";
        at: "21-Oct-2026 18:10", late_reason: COPIED, kind: "cannula", site: "left forearm",
        inserted: "21-Oct-2026", night_cover: "Nobody at night: capped after the 18:00 dose",
        next_care: "Fri 09:00");
    log!(s, hester, thu(20, 57), line "T04" => "T04-cannula";
        at: "21-Oct-2026 13:30", late_reason: COPIED, kind: "cannula", site: "right hand",
        inserted: "21-Oct-2026", night_cover: "Nobody at night", next_care: "Fri 10:00");
    log!(s, imke, thu(20, 51), line "T12" => "T12-pump";
        at: "16-Oct-2026 11:20", late_reason: COPIED, kind: "pump",
        site: "left upper arm, butterfly", inserted: "16-Oct-2026",
        night_cover: "Out-of-hours district nurses, 01632 960300", next_care: "Fri 11:00");
    log!(s, imke, thu(20, 53), line "T12" => "T12-catheter";
        at: "17-Oct-2026 14:00", late_reason: COPIED, kind: "urinary-catheter",
        site: "urethral, 14 Ch", inserted: "17-Oct-2026",
        night_cover: "Out-of-hours district nurses, 01632 960300");
}

/// Every patient is seen on video or by a visit each morning; a task a day says so.
fn standing_calls(s: &mut Script) {
    const CALLS: [(&str, &str, &str); 15] = [
        ("T02", "joss", "09:15"),
        ("T03", "joss", "09:15"),
        ("T04", "joss", "09:45"),
        ("T05", "joss", "09:45"),
        ("T06", "joss", "10:15"),
        ("T07", "joss", "10:15"),
        ("T08", "joss", "10:45"),
        ("T09", "imke", "09:15"),
        ("T10", "imke", "09:15"),
        ("T11", "imke", "09:45"),
        ("T12", "imke", "09:45"),
        ("T13", "imke", "10:15"),
        ("T14", "imke", "10:15"),
        ("T15", "imke", "10:45"),
        ("T16", "imke", "10:45"),
    ];
    let mut at = BTreeMap::from([("joss", thu(20, 51)), ("imke", thu(20, 55))]);
    for (slot, who, time) in CALLS {
        let due = format!("Fri {time}");
        let repeat = format!("daily {time}");
        let label = format!("{slot}-call");
        let fields = [
            ("what", "Morning call with a full set of observations"),
            ("due", due.as_str()),
            ("repeat", repeat.as_str()),
            ("role", "nurse"),
            ("kind", "call"),
        ];
        let when = at.entry(who).or_insert(fri(0, 0));
        s.log(who, *when, Some(&label), "task", Some(slot), &fields);
        *when = when.plus(seconds(41));
    }
}

//! Mrs Otterfold is dying at home, as she decided. Her score is high and stays arithmetic; the
//! ceiling of care changes the response.

use super::super::calendar::{fri, sat, sun, sun_bst, thu};
use super::super::script::{Script, log};

/// Doses are in the details: the medicine keeps one name, so that its next change is one item.
const PUMP: &str = "Alfentanil and midazolam over 24 hours by subcutaneous pump";

pub fn tell(s: &mut Script) {
    scored_not_chased(s);
    pump_days(s);
    daughter(s);
    sunday(s);
}

fn scored_not_chased(s: &mut Script) {
    log!(s, orla, thu(22, 2), contact "T12" => "gwen-thu";
        at: "-9m", mode: "phone", outcome: "reached", spoke_to: "carer",
        spoke_name: "Rosalind Otterfold, daughter", started_by: "ward", identified: "yes",
        how: "Asleep, breathing easily. Wets her lips when offered. Daughter has her own supper beside her.",
        said_by: "carer", advice: "Mouth care as shown, turn when she stirs.",
        safety_net: "Restless, in pain or rattly: us until eight, or the palliative line 01632 960310.",
        next: "Fri 09:45");
    log!(s, imke, fri(11, 40), contact "T12" => "gwen-fri";
        at: "-40m", mode: "visit", outcome: "reached", spoke_to: "carer",
        spoke_name: "Rosalind Otterfold, daughter", started_by: "ward", identified: "yes",
        how: "Wakes to touch, smiled at her daughter. Hands cool, face at ease. No rattle.",
        said_by: "seen", next: "Sat 09:45");
    log!(s, imke, fri(11, 43), obs "T12" => "gwen-fri-obs";
        at: "-32m", set: "24 90 air 92/54 104 V 36.4", temp_site: "axillary", pain: "0",
        source: "staff",
        judgement: "Total 11 with a single 3. Expected. Comfort plan: no call follows from the number; she is comfortable.",
        action: "No further sets unless they help her comfort, agreed with the daughter and Dr Fennimere.",
        during: "{gwen-fri}");
    log!(s, imke, fri(11, 46), alert "T12" => "gwen-alert";
        source: "threshold", severity: "critical", what: "NEWS2 11", from: "{gwen-fri-obs}");
    log!(s, imke, fri(11, 47), alert_step "T12";
        alert: "{gwen-alert}", step: "closed", outcome: "expected",
        what: "Last days of life, comfort care, plan followed.");
    log!(s, imke, fri(11, 49), task_step "T12";
        task: "{T12-call}", step: "done", by_entry: "{gwen-fri}");
}

fn pump_days(s: &mut Script) {
    log!(s, imke, thu(21, 1), task "T12" => "gwen-pump";
        what: "Change the pump, two people sign", due: "Fri 11:00", repeat: "daily 11:00",
        role: "nurse", kind: "medicine", priority: "high");
    log!(s, imke, fri(11, 51), line_care "T12";
        line: "{T12-pump}", step: "checked", site_score: "0", next_care: "Sat 11:00",
        detail: "Day 7. Refilled 11:20 with Nia Cobblestane, site soft, light green.");
    log!(s, imke, fri(11, 52), dose "T12";
        at: "Fri 11:20", medicine: PUMP, outcome: "given", last_taken: "Thu 11:05", next_due: "Sat 11:00", said_by: "seen", detail: "Alfentanil 1 mg, midazolam 10 mg.");
    log!(s, imke, fri(11, 54), task_step "T12"; task: "{gwen-pump}", step: "done");
    log!(s, imke, sat(11, 30), line_care "T12";
        line: "{T12-pump}", step: "resited", site_score: "2", next_care: "Sun 11:00",
        detail: "Day 8. Left arm red and hard: moved to the right upper arm.");
    log!(s, imke, sat(11, 32), dose "T12";
        at: "Sat 11:10", medicine: PUMP, outcome: "given", last_taken: "Fri 11:20", next_due: "Sun 11:00", said_by: "seen", detail: "Alfentanil 1 mg, midazolam 10 mg.");
    log!(s, imke, sat(11, 33), task_step "T12"; task: "{gwen-pump}", step: "done");
    log!(s, imke, sat(11, 35), task_step "T12";
        task: "{T12-call}", step: "done", detail: "Seen at the pump change: settled.");
}

fn daughter(s: &mut Script) {
    log!(s, joss, sat(23, 52), contact "T12" => "gwen-night";
        at: "-11m", mode: "phone", outcome: "reached", spoke_to: "carer",
        spoke_name: "Rosalind Otterfold, daughter", started_by: "carer",
        how: "More restless since ten, plucking at the sheet. Not in pain that she can see.",
        said_by: "carer",
        advice: "Catheter not kinked, dry bed, lamp on. Extra dose from the box is hers to have: out-of-hours nurse coming.",
        next: "Sun 00:45");
    log!(s, joss, sat(23, 55), note "T12";
        topic: "medicines",
        text: "Out-of-hours district nurse asked at 23:54 for an extra midazolam under the skin. About 40 minutes.");
    log!(s, joss, sun_bst(0, 51), dose "T12";
        at: "Sun 00:36 BST", medicine: "Midazolam 2.5 mg under the skin", outcome: "given",
        said_by: "reported", detail: "By the district nurse.");
    log!(s, joss, sun_bst(1, 12), contact "T12";
        at: "-3m", mode: "phone", outcome: "reached", spoke_to: "carer",
        spoke_name: "Rosalind Otterfold, daughter", started_by: "ward",
        how: "Asleep, brow smooth. Daughter lying down beside her.", said_by: "carer",
        next: "Sun 09:45");
}

fn sunday(s: &mut Script) {
    log!(s, imke, sun(11, 36), contact "T12" => "gwen-sun";
        at: "-38m", mode: "visit", outcome: "reached", spoke_to: "carer",
        spoke_name: "Rosalind Otterfold, daughter", started_by: "ward", identified: "yes",
        how: "Does not wake today. Long pauses between breaths, face at ease, warm. Daughter and brother with her.",
        said_by: "seen",
        advice: "What the next day or two may look like, in plain words. They asked and I answered.",
        next: "Mon 09:45");
    log!(s, imke, sun(11, 39), line_care "T12";
        line: "{T12-pump}", step: "checked", site_score: "0", next_care: "Mon 11:00",
        detail: "Day 9, new site day 1, soft.");
    log!(s, imke, sun(11, 40), dose "T12";
        at: "Sun 11:08", medicine: PUMP, outcome: "given", last_taken: "Sat 11:10", next_due: "Mon 11:00", said_by: "seen",
        detail: "Alfentanil 1.5 mg, midazolam 15 mg: raised by Dr Fennimere after two extra doses in the night and morning.");
    log!(s, imke, sun(11, 42), task_step "T12"; task: "{gwen-pump}", step: "done");
    log!(s, imke, sun(11, 43), task_step "T12";
        task: "{T12-call}", step: "done", by_entry: "{gwen-sun}");
    log!(s, imke, sun(14, 22), supply "T12" => "gwen-cd";
        item: "Midazolam 10 mg/2 mL, 10 ampoules; alfentanil 1 mg/2 mL, 10 ampoules",
        kind: "controlled-drug", dose_due: "Mon 11:00", needed_by: "Sun 21:30", seal: "S-20930",
        instructions: "Daughter signs, two counts at the door; house stock will last to Monday 02:00 if two more extras are needed");
    log!(s, imke, sun(17, 32), supply_step "T12";
        supply: "{gwen-cd}", step: "prepared", holder: "Out-of-hours pharmacy");
    log!(s, hester, sun(18, 24), supply_step "T12";
        supply: "{gwen-cd}", step: "checked", holder: "Duty pharmacist and Hester Brackwater",
        condition: "Ten and ten counted by two, seal S-20930");
    log!(s, nia, sun(19, 5), supply_step "T12";
        supply: "{gwen-cd}", step: "with-courier", holder: "Named carrier, driver 3",
        condition: "Seal whole; expected 20:45");
}

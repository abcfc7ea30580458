//! Mr Rahimi-Thorne does not answer. No answer is a finding: it is counted, it ages, next of kin
//! is tried, somebody is sent.

use super::super::calendar::{fri, sat, sun};
use super::super::script::{Script, log};

pub fn tell(s: &mut Script) {
    no_answer(s);
    sent(s);
    found(s);
}

fn no_answer(s: &mut Script) {
    log!(s, imke, fri(15, 2), contact "T11" => "parviz-1";
        mode: "video", outcome: "no-answer", spoke_to: "nobody", started_by: "ward", attempt: "1",
        then: "try-again", next: "Fri 15:17");
    log!(s, imke, fri(15, 18), contact "T11" => "parviz-2";
        mode: "phone", outcome: "voicemail", spoke_to: "nobody", started_by: "ward", attempt: "2",
        then: "try-again", next: "Fri 15:30",
        advice: "Message left: ring us, use the reliever if wheezy.");
    log!(s, imke, fri(15, 31), contact "T11" => "parviz-3";
        mode: "phone", outcome: "no-answer", spoke_to: "nobody", started_by: "ward", attempt: "3",
        then: "next-of-kin", next: "Fri 15:35");
    log!(s, imke, fri(15, 33), alert "T11" => "parviz-alert";
        source: "no-contact", severity: "urgent",
        what: "Three attempts since 15:02, last spoken to at 09:50", from: "{parviz-3}",
        detail: "Severe asthma, day 5 of steroid, once in intensive care. 16:00 peak flow has not come.");
    log!(s, imke, fri(15, 34), alert_step "T11"; alert: "{parviz-alert}", step: "taken");
    log!(s, imke, fri(15, 39), contact "T11" => "parviz-wife";
        at: "-3m", mode: "phone", outcome: "reached", spoke_to: "carer",
        spoke_name: "Shirin Rahimi-Thorne, wife", started_by: "ward",
        how: "She left for her sister's at one; he was asleep on the sofa and well.",
        said_by: "carer", advice: "Stay by the phone.", then: "visit");
}

fn sent(s: &mut Script) {
    log!(s, imke, fri(15, 42), task "T11" => "parviz-go";
        what: "Go and see whether Mr Rahimi-Thorne is all right; ring from the door",
        due: "Fri 16:20", person: "nia", kind: "visit", priority: "high", source: "{parviz-alert}");
    log!(s, imke, fri(15, 43), alert_step "T11";
        alert: "{parviz-alert}", step: "actioned",
        what: "Wife reached, not with him. Nia on her way, 25 minutes. No answer at the door by 16:15: 999 with police.");
}

fn found(s: &mut Script) {
    log!(s, nia, fri(16, 22), contact "T11" => "parviz-found";
        at: "-12m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes",
        how: "In the garden shed mending a bicycle, phone charging indoors. Full sentences, no wheeze to hear.",
        said_by: "seen",
        advice: "Phone in the pocket while he is a patient. He laughed, then saw my face and did not.",
        next: "Sat 09:45", related: "{parviz-1} {parviz-2} {parviz-3}");
    log!(s, nia, fri(16, 24), obs "T11" => "parviz-set";
        at: "-8m", set: "17 96 air 134/80 84 A 36.7", temp_site: "tympanic", source: "staff",
        judgement: "Total 0. Peak flow 410, best 520.", during: "{parviz-found}");
    log!(s, nia, fri(16, 25), task_step "T11";
        task: "{parviz-go}", step: "done", by_entry: "{parviz-found}");
    log!(s, imke, fri(16, 30), alert_step "T11";
        alert: "{parviz-alert}", step: "closed", outcome: "resolved",
        what: "Found well at 16:10, 68 minutes after the first try. Wife rung back.");
    log!(s, imke, fri(16, 33), change "T11";
        why: "Not reached for an hour on Friday", phone: "01632 960213",
        carers: "Shirin Rahimi-Thorne, wife, works nights, 01632 960212; Farrokh Rahimi-Thorne, brother, two doors down, 01632 960214");
    log!(s, imke, sat(9, 58), dose "T11";
        medicine: "Prednisolone 40 mg by mouth", outcome: "taken", last_taken: "Sat 08:00",
        next_due: "Sun 08:00", said_by: "patient", detail: "Day 6 of 7.");
    log!(s, imke, sun(9, 55), dose "T11";
        medicine: "Prednisolone 40 mg by mouth", outcome: "taken", last_taken: "Sun 08:15",
        said_by: "patient", detail: "Day 7 of 7, course finished.");
}

//! Mr Skelbrack: visits in pairs, a large dog, a key safe, allergies nobody had asked about, a
//! cuff refused.

use super::super::calendar::{fri, sat, sun};
use super::super::script::{Script, log};

const CEFAZOLIN: &str = "Cefazolin 2 g by vein";

pub fn tell(s: &mut Script) {
    asked(s);
    refused_cuff(s);
    saturday(s);
    sunday(s);
}

fn asked(s: &mut Script) {
    log!(s, imke, fri(9, 12), contact "T13" => "skel-fri";
        at: "-24m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes", how: "Civil today. Arm less swollen, can make a fist.", said_by: "seen",
        advice: "Sling by day, pillow by night.", next: "Fri 18:00");
    log!(s, imke, fri(9, 14), change "T13";
        why: "Allergies asked today, before the dose; nobody had on admission",
        allergies: "none known");
    log!(s, imke, fri(9, 16), note "T13";
        topic: "incident",
        text: "Given a cephalosporin by vein since Monday with the allergy question unasked. No harm. Told Hester Brackwater; incident form 26-117.");
    log!(s, imke, fri(9, 15), obs "T13" => "skel-fri-obs";
        at: "-20m", set: "16 97 air 144/86 88 A 37.3", temp_site: "tympanic", source: "staff",
        judgement: "Total 0. Redness 4 cm below the elbow.", during: "{skel-fri}");
    log!(s, imke, fri(9, 17), dose "T13";
        at: "-14m", medicine: CEFAZOLIN, outcome: "given", last_taken: "Thu 18:05",
        next_due: "Fri 18:00", said_by: "seen");
    log!(s, imke, fri(9, 18), line_care "T13";
        line: "{T13-cannula}", step: "checked", site_score: "0", next_care: "Sat 09:00",
        detail: "Day 2.");
    log!(s, imke, fri(9, 19), task_step "T13";
        task: "{T13-call}", step: "done", by_entry: "{skel-fri-obs}");
    log!(s, imke, fri(9, 21), note "T13";
        topic: "safeguarding",
        text: "Went in with Nia Cobblestane as planned. Dog shut in the kitchen before the door opened. Phoned the ward on leaving at 09:10.");
}

fn refused_cuff(s: &mut Script) {
    log!(s, imke, fri(18, 40), contact "T13" => "skel-eve";
        at: "-24m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes",
        how: "Has had a few drinks, jumpy. Let us give the dose. Would not have the cuff: it hurts.",
        said_by: "seen", next: "Sat 09:00");
    log!(s, imke, fri(18, 42), obs "T13" => "skel-eve-obs";
        at: "-18m", rr: "17", spo2: "97", oxygen: "air",
        sbp: "not obtained: cuff refused, says it hurts the arm", hr: "96", acvpu: "alert",
        temp: "37.6", temp_site: "tympanic", source: "staff",
        judgement: "Incomplete without a pressure, so no total. Pulse 96. Hands warm, talks sense.",
        action: "Ask again in the morning, on the other arm.", during: "{skel-eve}");
    log!(s, imke, fri(18, 44), dose "T13";
        at: "-12m", medicine: CEFAZOLIN, outcome: "given", last_taken: "Fri 09:03",
        next_due: "Sat 09:00", said_by: "seen");
    log!(s, imke, fri(18, 46), task "T13" => "skel-bp";
        what: "Blood pressure, refused on Friday evening; right arm, ask first", due: "Sat 09:30",
        role: "nurse", kind: "obs", source: "{skel-eve-obs}");
}

fn saturday(s: &mut Script) {
    log!(s, imke, sat(9, 14), contact "T13" => "skel-sat";
        at: "-22m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes", how: "Sorry about last night, he says. Made Nia a tea.",
        said_by: "seen", next: "Sat 18:00");
    log!(s, imke, sat(9, 16), obs "T13" => "skel-sat-obs";
        at: "-16m", set: "16 97 air 146/88 84 A 37.0", temp_site: "tympanic", source: "staff",
        judgement: "Total 0. Cuff on the right arm, no trouble. Redness 6 cm below the elbow, going the right way.",
        during: "{skel-sat}");
    log!(s, imke, sat(9, 17), task_step "T13";
        task: "{skel-bp}", step: "done", by_entry: "{skel-sat-obs}");
    log!(s, imke, sat(9, 18), dose "T13";
        at: "-10m", medicine: CEFAZOLIN, outcome: "given", last_taken: "Fri 18:32",
        next_due: "Sat 18:00", said_by: "seen");
    log!(s, imke, sat(9, 19), line_care "T13";
        line: "{T13-cannula}", step: "resited", site_score: "1", next_care: "Sun 09:00",
        detail: "Day 3, changed as planned. Right forearm.");
    log!(s, imke, sat(9, 20), task_step "T13";
        task: "{T13-call}", step: "done", by_entry: "{skel-sat-obs}");
    log!(s, imke, sat(18, 40), contact "T13";
        at: "-20m", mode: "visit", outcome: "no-entry", spoke_to: "nobody", started_by: "ward",
        attempt: "1", then: "try-again", next: "Sat 19:10",
        advice: "No answer, dog barking, lift out. Rang his mobile from the landing: on his way from the shop.");
    log!(s, imke, sat(19, 22), dose "T13";
        at: "-9m", medicine: CEFAZOLIN, outcome: "given", last_taken: "Sat 09:10",
        next_due: "Sun 09:00", said_by: "seen", detail: "Let in at 19:08, 1hr late.");
    log!(s, imke, sat(19, 24), contact "T13";
        at: "-16m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes", how: "Back with the shopping, sober. Left with Nia at 19:20.",
        said_by: "seen", next: "Sun 09:00");
}

fn sunday(s: &mut Script) {
    log!(s, imke, sun(9, 10), contact "T13" => "skel-sun";
        at: "-20m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes", how: "Slept. Arm nearly its own size. Wants to be done with us.",
        said_by: "seen", next: "Sun 18:00");
    log!(s, imke, sun(9, 12), obs "T13" => "skel-sun-obs";
        at: "-15m", set: "15 98 air 140/84 80 A 36.8", temp_site: "tympanic", source: "staff",
        judgement: "Total 0.", during: "{skel-sun}");
    log!(s, imke, sun(9, 13), dose "T13";
        at: "-9m", medicine: CEFAZOLIN, outcome: "given", last_taken: "Sat 19:13",
        next_due: "Sun 18:00", said_by: "seen");
    log!(s, imke, sun(9, 14), line_care "T13";
        line: "{T13-cannula}", step: "flushed", site_score: "0", next_care: "Mon 09:00");
    log!(s, imke, sun(9, 15), task_step "T13";
        task: "{T13-call}", step: "done", by_entry: "{skel-sun-obs}");
    log!(s, imke, sun(18, 22), contact "T13";
        at: "-15m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes",
        how: "Watching the football with the sound off, dog in the kitchen already.",
        said_by: "seen", next: "Mon 09:00");
    log!(s, imke, sun(18, 24), dose "T13";
        at: "-10m", medicine: CEFAZOLIN, outcome: "given", last_taken: "Sun 09:04",
        next_due: "Mon 09:00", said_by: "seen", detail: "Last but one by vein.");
    log!(s, imke, sun(18, 26), dose "T13";
        medicine: "Thiamine 100 mg by mouth", outcome: "refused", said_by: "patient",
        next_due: "Mon 09:00",
        detail: "Says it makes no difference. Explained again what it is for.");
}

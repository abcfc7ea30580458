//! Mrs Velkova's cellulitis through an interpreter: CRP rising, then falling, and a line drawn on
//! the skin.

use super::super::calendar::{fri, sat, sun, thu};
use super::super::script::{Script, log};

const CEFT: &str = "Ceftriaxone 2 g by vein";

pub fn tell(s: &mut Script) {
    friday(s);
    saturday(s);
    sunday(s);
}

fn friday(s: &mut Script) {
    log!(s, hester, thu(21, 1), result "T04" => "velk-crp-0";
        at: "21-Oct-2026 12:00",
        late_reason: "copied from the paper record when the ward began this journal",
        values: "crp 96 (0-5); wcc 12.8 (4-11); creat 71 (45-84)", quality: "fit");
    log!(s, hester, thu(21, 5), result_review "T04";
        result: "{velk-crp-0}", at: "21-Oct-2026 13:00",
        late_reason: "copied from the paper record when the ward began this journal",
        decision: "acted", action: "Admitted to the ward on antibiotic by vein.");
    log!(s, joss, fri(10, 24), contact "T04" => "velk-fri";
        at: "-26m", mode: "visit", outcome: "reached", spoke_to: "patient",
        spoke_name: "Interpreter line, no. 4471", started_by: "ward", identified: "yes",
        how: "Leg more painful at night. Redness 2 cm above Wednesday's line on the shin. Slept badly.",
        said_by: "seen", advice: "Leg above the heart, tablets for pain before bed.",
        safety_net: "Through the interpreter, said back to me: shivering, or red above the knee, ring at any hour.",
        next: "Fri 17:00");
    log!(s, joss, fri(10, 26), obs "T04" => "velk-fri-obs";
        at: "-20m", set: "18 97 air 132/78 92 A 38.2", temp_site: "tympanic", pain: "5",
        pain_moving: "7", glucose: "11.4", source: "staff",
        judgement: "Total 2: pulse and temperature. Line crossed by 2 cm on day 2, which can still happen.",
        action: "New line drawn and dated. Bloods. Told Dr Fennimere.", during: "{velk-fri}");
    log!(s, joss, fri(10, 27), sample "T04" => "velk-s1";
        at: "-15m", what: "bloods", tests: "CRP, full blood count, kidney function",
        site: "right elbow", result_by: "Fri 16:00", reviewer: "joss");
    log!(s, joss, fri(10, 29), dose "T04";
        at: "-10m", medicine: CEFT, outcome: "given", last_taken: "Thu 10:05",
        next_due: "Sat 10:00", said_by: "seen");
    log!(s, joss, fri(10, 30), line_care "T04";
        line: "{T04-cannula}", step: "flushed", site_score: "1", next_care: "Sat 10:00",
        detail: "Day 2. Slightly sore, no redness.");
    log!(s, joss, fri(10, 31), task_step "T04";
        task: "{T04-call}", step: "done", by_entry: "{velk-fri-obs}");
    log!(s, nia, fri(12, 21), sample_step "T04";
        sample: "{velk-s1}", step: "sent", detail: "Midday run");
    log!(s, joss, fri(15, 30), result "T04" => "velk-crp-1";
        sample: "{velk-s1}",
        values: "crp 148 (0-5); wcc 14.1 (4-11); creat 74 (45-84); k 4.3 (3.5-5.3)", quality: "fit");
    log!(s, joss, fri(15, 34), result_review "T04";
        result: "{velk-crp-1}", decision: "escalated",
        action: "CRP 96 to 148 in two days on treatment. To the board round at 16:00.");
    log!(s, joss, fri(15, 36), alert "T04" => "velk-alert";
        source: "result", severity: "soon", what: "CRP 148, was 96: rising on treatment",
        from: "{velk-crp-1}");
    log!(s, joss, fri(15, 37), alert_step "T04"; alert: "{velk-alert}", step: "taken");
    log!(s, amos, fri(17, 20), contact "T04" => "velk-amos";
        at: "-25m", mode: "visit", outcome: "reached", spoke_to: "patient",
        spoke_name: "Interpreter line, no. 4416", started_by: "ward", identified: "yes",
        how: "Hot, red, tender to mid-shin. No crepitus, pain in keeping with the skin, toes warm. Blister on the instep.",
        said_by: "seen", advice: "Same antibiotic at full dose; rest with the leg up.",
        safety_net: "Pain out of proportion or purple skin: 999.", next: "Sat 10:00");
    log!(s, joss, fri(17, 30), alert_step "T04";
        alert: "{velk-alert}", step: "closed", outcome: "resolved",
        what: "Seen by Dr Fennimere 16:55. Not necrotising. CRP lags; goes on, bloods again tomorrow.");
}

fn saturday(s: &mut Script) {
    log!(s, dev, sat(10, 34), contact "T04" => "velk-sat";
        at: "-26m", mode: "visit", outcome: "reached", spoke_to: "patient",
        spoke_name: "Interpreter line, no. 4502", started_by: "ward", identified: "yes",
        how: "Slept. Redness level with Friday's line, no further. Blister flat.", said_by: "seen",
        next: "Sun 10:00");
    log!(s, dev, sat(10, 36), obs "T04" => "velk-sat-obs";
        at: "-18m", set: "17 97 air 130/76 88 A 37.7", temp_site: "tympanic", pain: "4",
        glucose: "9.8", source: "staff", judgement: "Total 0. Better in herself.",
        during: "{velk-sat}");
    log!(s, dev, sat(10, 37), sample "T04" => "velk-s2";
        at: "-14m", what: "bloods", tests: "CRP, full blood count", site: "right elbow",
        result_by: "Sat 17:00", reviewer: "dev");
    log!(s, dev, sat(10, 38), dose "T04";
        at: "-9m", medicine: CEFT, outcome: "given", last_taken: "Fri 10:19",
        next_due: "Sun 10:00", said_by: "seen");
    log!(s, dev, sat(10, 40), line_care "T04";
        line: "{T04-cannula}", step: "resited", site_score: "2", next_care: "Sun 10:00",
        detail: "Day 3, red for 2 cm and sore. Out, new one in the left forearm at the first attempt.");
    log!(s, dev, sat(10, 41), task_step "T04";
        task: "{T04-call}", step: "done", by_entry: "{velk-sat-obs}");
    log!(s, nia, sat(12, 26), sample_step "T04"; sample: "{velk-s2}", step: "sent");
    log!(s, dev, sat(16, 1), result "T04" => "velk-crp-2";
        sample: "{velk-s2}", values: "crp 171 (0-5); wcc 11.6 (4-11)", quality: "fit");
    log!(s, dev, sat(16, 3), result_review "T04";
        result: "{velk-crp-2}", decision: "acted",
        action: "CRP 171 but white cells falling, leg better, no fever. Dr Fennimere: the peak, probably. Again tomorrow.");
}

fn sunday(s: &mut Script) {
    log!(s, dev, sun(10, 22), contact "T04" => "velk-sun";
        at: "-20m", mode: "visit", outcome: "reached", spoke_to: "patient",
        spoke_name: "Interpreter line, no. 4471", started_by: "ward", identified: "yes",
        how: "Smiling. Redness 3 cm inside the line and paler. Walked to the door.",
        said_by: "seen", next: "Mon 10:00");
    log!(s, dev, sun(10, 24), obs "T04" => "velk-sun-obs";
        at: "-14m", set: "16 98 air 126/76 82 A 37.1", temp_site: "tympanic", pain: "2",
        glucose: "8.1", source: "staff", judgement: "Total 0. Margin drawing back.",
        during: "{velk-sun}");
    log!(s, dev, sun(10, 26), sample "T04" => "velk-s3";
        at: "-12m", what: "bloods", tests: "CRP, full blood count", site: "left elbow",
        result_by: "Sun 17:00", reviewer: "dev");
    log!(s, dev, sun(10, 27), dose "T04";
        at: "-8m", medicine: CEFT, outcome: "given", last_taken: "Sat 10:29",
        next_due: "Mon 10:00", said_by: "seen");
    log!(s, dev, sun(10, 27), line_care "T04";
        line: "{T04-cannula}", step: "flushed", site_score: "0", next_care: "Mon 10:00",
        detail: "Left forearm, day 1, dry.");
    log!(s, dev, sun(10, 28), task_step "T04";
        task: "{T04-call}", step: "done", by_entry: "{velk-sun-obs}");
    log!(s, nia, sun(11, 42), sample_step "T04"; sample: "{velk-s3}", step: "sent");
    log!(s, dev, sun(16, 2), result "T04" => "velk-crp-3";
        sample: "{velk-s3}", values: "crp 92 (0-5); wcc 9.4 (4-11)", quality: "fit");
    log!(s, dev, sun(16, 6), result_review "T04";
        result: "{velk-crp-3}", decision: "none-needed",
        action: "96, 148, 171, 92: over the top. Tablets from Tuesday if tomorrow is the same.");
}

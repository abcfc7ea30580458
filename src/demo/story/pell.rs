//! Two patients called Pell, no relation. A help call that was a mistake, readings entered on
//! the wrong one of the two, a pulse mistyped, and a potassium that was not a result.

use super::super::calendar::{fri, sat, sun, sun_bst, thu};
use super::super::script::{SceneAct, Script, Seen, log};

pub fn tell(s: &mut Script) {
    weights(s);
    help_call(s);
    potassium(s);
    wrong_patient(s);
    kidney_bloods(s);
    audrey_alone(s);
    audrey_drifts(s);
}

fn weights(s: &mut Script) {
    let furosemide = "Furosemide 80 mg by vein";
    log!(s, joss, thu(20, 59), task "T02" => "T02-weight";
        what: "Weigh before breakfast, same scales", due: "Fri 08:00", repeat: "daily 08:00",
        role: "assistant", kind: "obs");
    log!(s, nia, fri(8, 24), obs "T02";
        at: "Fri 07:40", weight: "80.6", source: "patient",
        judgement: "Down 0.8 kg on the paper's 81.4. Read to me by his wife.");
    log!(s, nia, fri(8, 25), task_step "T02"; task: "{T02-weight}", step: "done");
    log!(s, joss, fri(11, 32), dose "T02";
        at: "-12m", medicine: furosemide, outcome: "given", last_taken: "Thu 11:15",
        next_due: "Sat 11:00", said_by: "seen");
    log!(s, nia, sat(8, 21), obs "T02";
        at: "Sat 07:45", weight: "80.1", source: "patient",
        judgement: "Down another half kilogram. Ankles less tight, says Mrs Pell.");
    log!(s, nia, sat(8, 22), task_step "T02"; task: "{T02-weight}", step: "done");
    log!(s, dev, sat(11, 12), dose "T02";
        at: "-9m", medicine: furosemide, outcome: "given", last_taken: "Fri 11:20",
        next_due: "Sun 11:00", said_by: "seen");
    log!(s, nia, sun(8, 26), obs "T02";
        at: "Sun 07:50", weight: "79.4", source: "patient",
        judgement: "2 kg down in three days, which is the aim.");
    log!(s, nia, sun(8, 27), task_step "T02"; task: "{T02-weight}", step: "done");
    log!(s, dev, sun(11, 20), dose "T02";
        at: "-10m", medicine: furosemide, outcome: "given", last_taken: "Sat 11:03",
        next_due: "Mon 11:00", said_by: "seen",
        detail: "Dizzy on standing for a minute, then well. 104/62 sitting, 96/58 standing.");
}

fn help_call(s: &mut Script) {
    log!(s, orla, fri(3, 10), alert "T02" => "pell-help";
        source: "help-button", severity: "critical", what: "Help button pressed at 03:09");
    log!(s, orla, fri(3, 11), alert_step "T02"; alert: "{pell-help}", step: "taken");
    log!(s, orla, fri(3, 15), contact "T02" => "pell-help-call";
        at: "-3m", mode: "help", outcome: "reached", spoke_to: "both", spoke_name: "Noreen Pell",
        started_by: "patient", identified: "yes",
        how: "Pressed it turning over in bed. Not breathless, no pain, cross with himself. Talks in full sentences, wife beside him agrees.",
        said_by: "patient", advice: "Pendant on the bedside hook at night, within reach.",
        safety_net: "Never mind pressing it again.", answers: "{pell-help}", next: "Fri 09:15");
    log!(s, orla, fri(3, 17), alert_step "T02";
        alert: "{pell-help}", step: "closed", outcome: "mistake",
        what: "Answered in three minutes. Pressed by accident.");
}

fn potassium(s: &mut Script) {
    log!(s, joss, fri(9, 2), task "T02" => "pell-bloods-task";
        what: "Kidney bloods", due: "Fri 11:30", role: "nurse", kind: "bloods");
    log!(s, joss, fri(11, 36), sample "T02" => "pell-sample-1";
        at: "-14m", what: "bloods", tests: "kidney function and potassium",
        site: "right elbow, a slow draw", result_by: "Fri 17:00", reviewer: "joss",
        source: "{pell-bloods-task}");
    log!(s, joss, fri(11, 37), task_step "T02";
        task: "{pell-bloods-task}", step: "done", by_entry: "{pell-sample-1}");
    log!(s, nia, fri(12, 20), sample_step "T02";
        sample: "{pell-sample-1}", step: "sent", detail: "Midday run");
    log!(s, nia, fri(14, 5), sample_step "T02"; sample: "{pell-sample-1}", step: "arrived");
    log!(s, joss, fri(16, 52), result "T02" => "pell-result-1";
        sample: "{pell-sample-1}",
        values: "creat 131 (59-104); urea 11.2 (2.5-7.8); na 136 (133-146)",
        words: "Potassium not reported: haemolysed.", quality: "haemolysed");
    log!(s, joss, fri(16, 56), result_review "T02";
        result: "{pell-result-1}", decision: "repeat", repeat_by: "Sat 11:00",
        action: "Creatinine 131, his usual is 120. No potassium: repeat from the other arm with tomorrow's dose.");
    log!(s, joss, fri(16, 58), task "T02" => "pell-repeat-k";
        what: "Repeat potassium, haemolysed on Friday", due: "Sat 11:15", role: "nurse",
        kind: "bloods", priority: "high", source: "{pell-result-1}",
        detail: "Left arm, larger needle, no tourniquet longer than a minute.");
    log!(s, dev, sat(11, 15), sample "T02" => "pell-sample-2";
        at: "-5m", what: "bloods", tests: "kidney function and potassium", site: "left elbow",
        result_by: "Sat 17:00", reviewer: "dev", source: "{pell-repeat-k}");
    log!(s, dev, sat(11, 17), task_step "T02";
        task: "{pell-repeat-k}", step: "done", by_entry: "{pell-sample-2}");
    log!(s, nia, sat(12, 24), sample_step "T02"; sample: "{pell-sample-2}", step: "sent");
    log!(s, dev, sat(16, 5), result "T02" => "pell-result-2";
        sample: "{pell-sample-2}",
        values: "creat 138 (59-104); urea 12.4 (2.5-7.8); na 135 (133-146); k 4.9 (3.5-5.3)",
        quality: "fit");
    log!(s, dev, sat(16, 9), result_review "T02";
        result: "{pell-result-2}", decision: "acted",
        action: "Potassium 4.9. Creatinine 120, 131, 138: told Dr Fennimere by phone, same dose, bloods again Sunday.");
}

fn wrong_patient(s: &mut Script) {
    log!(s, pip, fri(22, 6), contact "T02" => "audrey-on-arthur";
        at: "-7m", mode: "video", outcome: "reached", spoke_to: "patient", started_by: "ward",
        how: "Cough less, sitting by the window with the cat.", said_by: "seen-video");
    log!(s, pip, fri(22, 7), obs "T02" => "audrey-obs-on-arthur";
        at: "-5m", set: "17 95 air 132/70 78 A 37.1", source: "patient",
        during: "{audrey-on-arthur}");
    log!(s, pip, fri(22, 19), contact "T09" => "audrey-contact";
        at: "Fri 21:59", mode: "video", outcome: "reached", spoke_to: "patient",
        started_by: "ward", identified: "yes",
        how: "Cough less, sitting by the window with the cat.", said_by: "seen-video",
        next: "Sat 09:15", related: "{audrey-on-arthur}");
    log!(s, pip, fri(22, 20), obs "T09" => "audrey-obs";
        at: "Fri 22:02", set: "17 95 air 132/70 78 A 37.1", source: "patient",
        during: "{audrey-contact}", related: "{audrey-obs-on-arthur}",
        judgement: "Read out by Miss Pell, T09. First written on Mr Pell, T02, by mistake.");
    withdraw(
        s,
        fri(22, 22),
        "audrey-on-arthur",
        "audrey-contact",
        "I picked Pell from the list without the date of birth. He was not called.",
    );
    withdraw(
        s,
        fri(22, 23),
        "audrey-obs-on-arthur",
        "audrey-obs",
        "Readings of Miss Audrey Pell, T09.",
    );
    log!(s, orla, fri(22, 29), note "T02";
        topic: "incident",
        text: "Two entries for Miss Audrey Pell were made here at 22:06 and withdrawn at 22:22. Nothing was done because of them. Both Pells: date of birth before anything else.");
    log!(s, pip, fri(22, 36), obs "T02" => "arthur-evening";
        at: "-3m", set: "18 96 air 110/66 98 A 36.6", source: "patient",
        judgement: "By phone with Mrs Pell.", related: "{audrey-obs-on-arthur}");
    s.add(
        "pip",
        fri(22, 39),
        None,
        SceneAct::Correct {
            target: "arthur-evening",
            changes: vec![("hr".to_owned(), "88".to_owned())],
            cause: "typing",
            reason: "88 on the cuff, typed 98; read back to Mrs Pell",
        },
    );
}

fn withdraw(
    s: &mut Script,
    at: crate::record::time::Timestamp,
    target: &'static str,
    anew: &'static str,
    reason: &'static str,
) {
    s.add(
        "pip",
        at,
        None,
        SceneAct::Withdraw {
            target,
            cause: "wrong-patient",
            reason,
            entered_anew: Some(anew),
        },
    );
}

fn kidney_bloods(s: &mut Script) {
    s.seen(
        &Seen {
            how: "A bit washed out. Dry mouth. Passed less water since lunch.",
            set: "17 97 air 103/60 88 A 36.5",
            judgement: "Total 1: systolic 103, was 115 this morning. Perhaps too dry now. Bloods are at the laboratory.",
            next: "Sun 20:30",
            obs: &[("action", "Drink to thirst, sit before standing. Bloods decide about tomorrow's dose.")],
            ..Seen::new("dev", sun(15, 12), "T02", "video")
        },
        "pell-washed-out",
    );
    log!(s, dev, sun(11, 24), sample "T02" => "pell-sample-3";
        at: "-11m", what: "bloods", tests: "kidney function and potassium", site: "left elbow",
        result_by: "Sun 18:00", reviewer: "dev");
    log!(s, nia, sun(11, 41), sample_step "T02";
        sample: "{pell-sample-3}", step: "sent", detail: "Midday run");
    log!(s, nia, sun(13, 28), sample_step "T02"; sample: "{pell-sample-3}", step: "arrived");
    log!(s, dev, sun(18, 52), result "T02" => "pell-result-3";
        sample: "{pell-sample-3}",
        values: "creat 168 (59-104); urea 15.8 (2.5-7.8); na 134 (133-146); k 5.5 (3.5-5.3)",
        quality: "fit", phoned_by: "Duty biochemist", read_back: "yes");
    log!(s, dev, sun(18, 54), task "T02";
        what: "Look at Mr Pell's kidney bloods (creatinine 168, potassium 5.5) before his morning dose",
        due: "Sun 21:00", role: "nurse", kind: "bloods", priority: "high",
        source: "{pell-result-3}",
        detail: "Taken down by phone between two calls for Mrs Tarnsby; nobody has looked at it yet.");
}

/// Her pulse climbs all Sunday and scores nothing: what is unusual for her shows before NEWS2 moves.
fn audrey_drifts(s: &mut Script) {
    for (at, set, skin) in [
        (fri(2, 26), "16 96 air - 74 - -", "33.5"),
        (sat(3, 12), "15 96 air - 72 - -", "33.3"),
    ] {
        log!(s, pip, at, obs "T09";
            set: set, skin_temp: skin, confirm: "yes", source: "monitored",
            judgement: "Asleep, from the wearable. Incomplete, not scored.");
    }
    s.seen(
        &Seen {
            how: "Slept through. Wants the wearable off, it snags the knitting.",
            set: "17 97 air 128/72 84 A 37.0",
            judgement: "Total 0. Pulse 84: she had just come up the stairs.",
            next: "Sun 16:00",
            task: "T09-call",
            ..Seen::new("imke", sun(9, 28), "T09", "video")
        },
        "audrey-sun-am",
    );
    log!(s, imke, sun(12, 46), obs "T09" => "audrey-sun-noon";
        at: "-5m", set: "17 96 air 126/72 87 A 37.2", source: "patient",
        judgement: "Total 0. Sent by her from the tablet, no message with it.");
    s.seen(
        &Seen {
            how: "Bright, a little hoarse. Shoulders ache, blames the knitting. Ate half of lunch.",
            set: "18 96 air 122/70 89 A 37.4",
            judgement: "Total 0, and 84, 87, 89 since breakfast. She says she is fine.",
            next: "Mon 09:15",
            ..Seen::new("imke", sun(16, 12), "T09", "video")
        },
        "audrey-sun-pm",
    );
    log!(s, imke, sun(18, 44), obs "T09" => "audrey-sun-eve";
        at: "-4m", set: "18 96 air 118/68 90 A 37.5", source: "patient",
        judgement: "Total 0 still. Not her usual pulse. Home tomorrow only if the night is quiet.");
    log!(s, imke, sun(18, 46), task "T09" => "audrey-night";
        what: "Full set: pulse 84, 87, 89, 90 today and the score still 0", due: "Sun 22:00",
        role: "nurse", kind: "obs", source: "{audrey-sun-eve}");
}

fn audrey_alone(s: &mut Script) {
    log!(s, imke, thu(20, 58), note "T09";
        topic: "watch-for",
        text: "Same family name as Mr Arthur Pell, T02. Date of birth and full name at every contact.");
    log!(s, imke, sat(14, 10), contact "T09" => "audrey-niece";
        at: "-8m", mode: "phone", outcome: "reached", spoke_to: "carer",
        spoke_name: "Marguerite Dancy, niece", started_by: "carer",
        how: "Says her aunt sounds brighter but is not eating the meals left for her.",
        said_by: "carer", advice: "Small and often; the milk drinks from the pharmacy.",
        next: "Sun 16:00");
    log!(s, imke, sun(12, 40), task "T09" => "audrey-niece-call";
        what: "Ring Marguerite Dancy (niece) about meals after discharge", due: "Sun 18:30",
        person: "imke", kind: "liaison", source: "{audrey-niece}");
    log!(s, joss, sun_bst(0, 22), obs "T09";
        set: "15 95 air - 70 - -", skin_temp: "33.4", confirm: "yes", source: "monitored",
        judgement: "Asleep, from the wearable. Incomplete, not scored.");
}

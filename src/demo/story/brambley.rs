//! Mrs Brambley gets worse slowly. Breathing rate 16, 18, 19, 21, 22 over a day while she says
//! she is fine; the readings are believed, the first call goes unanswered, the next one does not.

use super::super::calendar::{fri, sat, sun, sun_bst, thu};
use super::super::script::{Script, Seen, log};

pub fn tell(s: &mut Script) {
    creeping_up(s);
    believed(s);
    escalated(s);
    treated_at_home(s);
    first_night(s);
    answering(s);
    settled(s);
}

fn creeping_up(s: &mut Script) {
    let by = |who, at| Seen::new(who, at, "T01", "video");
    s.seen(
        &Seen {
            how: "Sitting up with the crossword. Says she is fine. Cough looser, talks in full sentences.",
            set: "16 95 air 134/78 80 A 37.0",
            judgement: "Where she was on admission.",
            next: "Fri 08:40",
            ..by("orla", thu(21, 36))
        },
        "brambley-1",
    );
    s.seen(
        &Seen {
            how: "Slept well, ate toast. Says she is fine.",
            set: "18 95 air 130/76 82 A 37.2",
            judgement: "Breathing rate 18, was 16. Nothing else to see. Same again at noon rather than tonight.",
            next: "Fri 12:30",
            ..by("joss", fri(8, 41))
        },
        "brambley-2",
    );
    s.seen(
        &Seen {
            how: "Making soup while we talked. Feels no different. Stopped for breath once on the way to the sink.",
            set: "19 95 air 128/74 92 A 37.4",
            judgement: "Total 2: pulse over 90 for the first time. Rate 16, 18, 19. The trend is the finding, not the total.",
            next: "Fri 15:45",
            obs: &[("action", "Four-hourly sets from now, to be raised at the board round if up again.")],
            ..by("joss", fri(12, 37))
        },
        "brambley-3",
    );
    log!(s, joss, fri(12, 40), task "T01" => "T01-obs";
        what: "Full set of observations, breathing counted for a whole minute", due: "Fri 15:45",
        repeat: "every 4h", role: "nurse", kind: "obs", priority: "high",
        source: "{brambley-3-obs}");
    s.seen(
        &Seen {
            how: "Says she is perfectly well and we fuss. Answers in shorter sentences than this morning.",
            set: "21 95 air 126/74 90 A 37.7",
            judgement: "Total 3. Rate 16, 18, 19, 21 in 18 hours. She does not feel ill yet. I think this is coming back.",
            next: "Fri 19:45",
            task: "T01-obs",
            ..by("joss", fri(15, 50))
        },
        "brambley-4",
    );
}

fn believed(s: &mut Script) {
    log!(s, joss, fri(15, 54), alert "T01" => "brambley-alert";
        source: "nurse-concern", severity: "soon", from: "{brambley-4-obs}",
        what: "Breathing rate 16, 18, 19, 21 over 18 hours; feels well, total only 3");
    log!(s, joss, fri(15, 55), alert_step "T01"; alert: "{brambley-alert}", step: "taken");
    log!(s, joss, fri(16, 28), alert_step "T01";
        alert: "{brambley-alert}", step: "actioned",
        what: "Board round: Dr Fennimere agrees it is early. Oral antibiotic goes on, four-hourly sets through the night, call if 5 or more.");
    log!(s, joss, fri(16, 33), note "T01" => "brambley-watch";
        topic: "watch-for",
        text: "Breathing rate 22 or more, or total 5: do not wait for her to feel ill. Ring the registrar, next is the on-call consultant.");
    log!(s, joss, fri(19, 58), alert_step "T01";
        alert: "{brambley-alert}", step: "handed-over", to: "orla",
        what: "Evening set is due, she is first on the list.");
    log!(s, orla, fri(20, 12), alert_step "T01"; alert: "{brambley-alert}", step: "taken");
}

fn escalated(s: &mut Script) {
    s.seen(
        &Seen {
            how: "Says a bit tired, nothing more. Shoulders moving with each breath. Husband says she left her supper.",
            set: "22 94 air 122/70 94 A 38.1",
            judgement: "Total 5: rate 22, saturation 94, pulse 94, temperature 38.1. Two more than at 15:50. Sepsis from the chest until shown otherwise.",
            next: "Fri 21:30",
            task: "T01-obs",
            contact: &[("spoke_to", "both"), ("spoke_name", "Piers Brambley"), ("safety_net", "Blue lips, drowsy, or cannot finish a sentence: 999 at once, then us.")],
            obs: &[("action", "Registrar now.")],
            ..Seen::new("orla", fri(20, 42), "T01", "video")
        },
        "brambley-5",
    );
    log!(s, orla, fri(20, 52), escalation "T01" => "brambley-sbar";
        about: "{brambley-alert}",
        situation: "Orla Quillfeather, nurse, Tansy Ward. Odette Brambley, 71, at home. NEWS2 5 at 20:40, was 1 last night. Rate 22, saturation 94 on air, pulse 94, 38.1.",
        background: "Right lower lobe pneumonia, home on Tuesday on oral antibiotics. No allergies known. Usual rate 16, saturation 95. For full escalation.",
        assessment: "I think the pneumonia is not covered and she is becoming septic. She hardly feels it herself.",
        recommendation: "I need her seen at home within two hours and a decision on antibiotics by vein or hospital. I am repeating the set at 21:30.",
        to_role: "On-call medical registrar", how: "phone", answer_by: "Fri 21:10",
        next_in_chain: "Dr Isolde Marchbanke, on-call consultant");
    log!(s, orla, fri(20, 54), alert_step "T01"; alert: "{brambley-alert}", step: "escalated");
    log!(s, orla, fri(21, 4), escalation_step "T01";
        escalation: "{brambley-sbar}", step: "no-answer",
        response: "Rang out twice, 20:53 and 21:02. Switchboard: in the resuscitation room.");
    log!(s, orla, fri(21, 6), escalation_step "T01";
        escalation: "{brambley-sbar}", step: "next-called",
        by: "Dr Isolde Marchbanke, on-call consultant");
    log!(s, orla, fri(21, 17), escalation_step "T01";
        escalation: "{brambley-sbar}", step: "answered",
        by: "Dr Isolde Marchbanke, on-call consultant",
        response: "Agrees. Treat at home if she holds on air.",
        plan: "Dr Fennimere to see her by 22:30. Bloods and cultures, then ceftriaxone 1 g by vein tonight and daily. Sets hourly until midnight. Total of 7, or any oxygen needed: 999 and the medical unit.",
        read_back: "yes", review_at: "Fri 23:30");
    log!(s, orla, fri(21, 20), task "T01" => "brambley-visit";
        what: "Dr Fennimere to see her at home: bloods, cannula, first dose", due: "Fri 22:30",
        role: "clinician", person: "amos", kind: "visit", priority: "high",
        source: "{brambley-sbar}");
    log!(s, orla, fri(21, 34), obs "T01" => "brambley-6";
        set: "22 94 air 124/70 96 A 38.2", source: "patient",
        judgement: "Total 5, unchanged. Husband counted with me.",
        action: "Told them who is coming and when.");
}

fn treated_at_home(s: &mut Script) {
    log!(s, amos, fri(22, 46), contact "T01" => "brambley-seen";
        at: "-35m", mode: "visit", outcome: "reached", spoke_to: "both",
        spoke_name: "Piers Brambley", started_by: "ward", identified: "yes",
        how: "Warm, tired, not distressed. Crackles at the right base, as on discharge, and some on the left now. Feet warm, passing urine.",
        said_by: "seen", advice: "Stay at home tonight, husband awake until midnight.",
        safety_net: "Told both: 999 if drowsy, mottled, or breathless talking.", next: "Fri 23:30");
    log!(s, amos, fri(22, 48), obs "T01" => "brambley-7";
        set: "23 94 air 120/68 98 A 38.3", source: "staff", temp_site: "tympanic",
        judgement: "Total 5. Both bases. Treatable at home while on air.",
        during: "{brambley-seen}", at: "-20m");
    log!(s, amos, fri(22, 49), line "T01" => "brambley-cannula";
        kind: "cannula", site: "left forearm, 20 gauge", inserted: "23-Oct-2026",
        night_cover: "Out-of-hours district nurses, 01632 960300", next_care: "Sat 10:00");
    log!(s, amos, fri(22, 50), sample "T01" => "brambley-bloods";
        at: "-14m", what: "bloods",
        tests: "CRP, full blood count, kidney function, blood cultures two sets",
        site: "left arm, before the antibiotic", result_by: "Sat 08:00", reviewer: "amos");
    log!(s, amos, fri(22, 52), dose "T01" => "brambley-dose-1";
        at: "-6m", medicine: "Ceftriaxone 1 g by vein", outcome: "given", next_due: "Sat 18:00",
        said_by: "seen",
        detail: "Slowly over five minutes, no reaction. Next one may come forward to the day visits.");
    log!(s, amos, fri(22, 53), task_step "T01";
        task: "{brambley-visit}", step: "done", by_entry: "{brambley-seen}");
    log!(s, orla, fri(22, 58), alert_step "T01";
        alert: "{brambley-alert}", step: "actioned",
        what: "Seen at home 22:10 by Dr Fennimere, bloods taken, first dose by vein at 22:46.");
    log!(s, orla, fri(22, 59), sample_step "T01";
        sample: "{brambley-bloods}", step: "sent", detail: "Night courier, 22:55");
    log!(s, orla, fri(23, 51), sample_step "T01"; sample: "{brambley-bloods}", step: "arrived");
}

fn first_night(s: &mut Script) {
    let by = |at| Seen::new("orla", at, "T01", "video");
    s.seen(
        &Seen {
            how: "Dozing in the chair. Husband holds the tablet. Says she feels hot.",
            set: "22 94 air 118/68 96 A 38.3",
            judgement: "Total 5, no worse an hour after the dose.",
            next: "Sat 01:30",
            task: "T01-obs",
            contact: &[("spoke_to", "both"), ("spoke_name", "Piers Brambley")],
            ..by(fri(23, 33))
        },
        "brambley-8",
    );
    log!(s, orla, fri(23, 39), escalation_step "T01";
        escalation: "{brambley-sbar}", step: "reviewed",
        by: "Dr Isolde Marchbanke, on-call consultant",
        response: "Holding on air. Stay with the plan.",
        plan: "Two-hourly sets to 06:00, next look after the morning bloods.", read_back: "yes",
        review_at: "Sat 09:30");
    s.seen(
        &Seen {
            how: "Shivering. Now says: I do feel ill. Taken paracetamol at 01:10.",
            set: "23 94 air 116/66 102 A 38.6",
            judgement: "Total 5. First time she feels it herself, nine hours after the readings said so.",
            next: "Sat 03:30",
            obs: &[("action", "Not 7, on air, urine at midnight. Two-hourly as agreed.")],
            ..by(sat(1, 34))
        },
        "brambley-9",
    );
    s.seen(
        &Seen {
            how: "Asleep, woke to her name and knew the day.",
            set: "22 95 air 114/66 96 A 38.0",
            judgement: "Total 4. Turning, perhaps.",
            next: "Sat 07:30",
            task: "T01-obs",
            ..by(sat(3, 31))
        },
        "brambley-10",
    );
    log!(s, orla, sat(7, 12), result "T01" => "brambley-result";
        sample: "{brambley-bloods}",
        values: "crp 186 (0-5); wcc 15.2 (4-11); neut 13.1 (2-7.5); creat 78 (45-84); k 4.0 (3.5-5.3); na 137 (133-146)",
        words: "Blood cultures: no growth so far, final on Wednesday.", quality: "fit");
    s.seen(
        &Seen {
            how: "Had tea. Says better than at two, not good.",
            set: "21 95 air 118/68 92 A 37.8",
            judgement: "Total 4 again, temperature settling.",
            next: "Sat 11:40",
            task: "T01-obs",
            ..by(sat(7, 31))
        },
        "brambley-11",
    );
}

fn answering(s: &mut Script) {
    log!(s, amos, sat(9, 20), result_review "T01";
        result: "{brambley-result}", decision: "acted",
        action: "CRP 186 fits. Ceftriaxone to day 5, repeat bloods Sunday, no need for hospital while she improves.");
    log!(s, amos, sat(9, 26), escalation_step "T01";
        escalation: "{brambley-sbar}", step: "reviewed", by: "Dr Amos Fennimere",
        response: "Seen on video. Better than last night.",
        plan: "Daily by vein, four-hourly sets.", read_back: "yes");
    s.seen(
        &Seen {
            how: "Up in the chair, ate half a sandwich. Cough productive again, which she calls progress.",
            set: "21 95 air 122/70 90 A 37.6",
            judgement: "Total 3: 5, 5, 4, 4, 3.",
            next: "Sat 15:40",
            task: "T01-obs",
            ..Seen::new("dev", sat(11, 41), "T01", "video")
        },
        "brambley-12",
    );
    log!(s, dev, sat(11, 47), escalation_step "T01";
        escalation: "{brambley-sbar}", step: "closed",
        outcome: "Treated at home. Total 5 to 3 in 13 hours, on air throughout.");
    log!(s, dev, sat(11, 49), alert_step "T01";
        alert: "{brambley-alert}", step: "closed", outcome: "resolved",
        what: "Escalated, seen, treated, improving.");
    s.seen(
        &Seen {
            how: "Walked to the gate. Slept after lunch.",
            set: "20 95 air 124/72 88 A 37.4",
            judgement: "Total 1. Breathing rate back inside the normal range.",
            next: "Sat 19:40",
            task: "T01-obs",
            ..Seen::new("dev", sat(15, 42), "T01", "video")
        },
        "brambley-13",
    );
    log!(s, dev, sat(18, 8), dose "T01";
        at: "-8m", medicine: "Ceftriaxone 1 g by vein", outcome: "given", last_taken: "Fri 22:46",
        next_due: "Sun 18:00", said_by: "seen",
        detail: "Brought forward, agreed by Dr Fennimere at the board round.");
    log!(s, dev, sat(18, 10), line_care "T01";
        line: "{brambley-cannula}", step: "flushed", site_score: "0", next_care: "Sun 18:00",
        detail: "Dry, not sore.");
    s.seen(
        &Seen {
            how: "Ate supper. Husband says she is telling him what to do again.",
            set: "20 95 air 126/74 86 A 37.3",
            judgement: "Total 1.",
            next: "Sun 06:40",
            task: "T01-obs",
            contact: &[("spoke_to", "both"), ("spoke_name", "Piers Brambley")],
            ..Seen::new("joss", sat(20, 46), "T01", "video")
        },
        "brambley-14",
    );
}

fn settled(s: &mut Script) {
    log!(s, joss, sat(23, 44), obs "T01" => "brambley-15";
        set: "18 95 air - 82 - -", skin_temp: "33.9", confirm: "yes", source: "monitored",
        judgement: "Asleep. Wearable steady since 22:00; incomplete set, not scored.");
    log!(s, joss, sat(23, 45), task_step "T01";
        task: "{T01-obs}", step: "done", by_entry: "{brambley-15}",
        detail: "From the monitor, by agreement with her.");
    log!(s, joss, sun(2, 49), task_step "T01";
        task: "{T01-obs}", step: "not-done",
        reason: "Asleep; wearable steady, breathing rate 17 to 18 since midnight");
    s.seen(
        &Seen {
            how: "Slept through. Says she feels like herself.",
            set: "18 95 air 128/74 82 A 36.9",
            judgement: "Total 1. Her usual.",
            next: "Sun 10:40",
            task: "T01-obs",
            ..Seen::new("joss", sun(6, 41), "T01", "video")
        },
        "brambley-16",
    );
    s.seen(
        &Seen {
            how: "Walked to the corner and back without stopping.",
            set: "18 96 air 130/76 80 A 36.8",
            judgement: "Total 0, the first since she came.",
            next: "Sun 14:40",
            task: "T01-obs",
            ..Seen::new("dev", sun(10, 42), "T01", "visit")
        },
        "brambley-17",
    );
    log!(s, dev, sun(10, 48), sample "T01" => "brambley-bloods-2";
        at: "-4m", what: "bloods", tests: "CRP, full blood count, kidney function",
        site: "right arm", result_by: "Mon 10:00", reviewer: "amos");
    log!(s, nia, sun(11, 40), sample_step "T01";
        sample: "{brambley-bloods-2}", step: "sent", detail: "Midday run, with Mr Pell's");
    s.seen(
        &Seen {
            how: "Asleep in the garden chair, woke laughing.",
            set: "17 95 air 128/76 80 A 36.8",
            judgement: "Total 1.",
            next: "Sun 18:40",
            task: "T01-obs",
            ..Seen::new("dev", sun(14, 43), "T01", "video")
        },
        "brambley-18",
    );
    log!(s, dev, sun(18, 4), dose "T01";
        at: "-6m", medicine: "Ceftriaxone 1 g by vein", outcome: "given", last_taken: "Sat 18:00",
        next_due: "Mon 18:00", said_by: "seen");
    log!(s, dev, sun(18, 6), line_care "T01";
        line: "{brambley-cannula}", step: "flushed", site_score: "1", next_care: "Mon 10:00",
        detail: "Slight redness at the entry, not sore. Day 2: look again in the morning, resite if 2.");
    s.seen(
        &Seen {
            how: "Watching television. Asks when she can stop the four-hourly calls.",
            set: "17 96 air 130/76 78 A 36.7",
            judgement: "Total 0. Four-hourly sets could stop; for the morning round.",
            next: "Sun 22:45",
            task: "T01-obs",
            ..Seen::new("dev", sun(18, 41), "T01", "video")
        },
        "brambley-19",
    );
    log!(s, joss, sun_bst(0, 40), note "T01";
        topic: "family", said_by: "carer",
        text: "Husband rang to ask whether he may sleep. Told him yes, the wearable is watching and so am I.");
}

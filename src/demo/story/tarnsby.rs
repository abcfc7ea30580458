//! Mrs Tarnsby: her daughter's worry on Sunday afternoon has no number. It turns out to be new
//! confusion. The escalation is answered and waits for its review when the shift ends.

use super::super::calendar::{fri, sat, sun};
use super::super::script::{Script, Seen, log};

pub fn tell(s: &mut Script) {
    drinking(s);
    worry(s);
    escalated(s);
}

fn drinking(s: &mut Script) {
    log!(s, nia, fri(14, 22), contact "T05" => "tarn-fri";
        at: "-18m", mode: "visit", outcome: "reached", spoke_to: "both",
        spoke_name: "Sylvie Tarnsby-Roe, daughter", started_by: "ward", identified: "yes",
        how: "In her chair, frame within reach. Finished the crossword but for two.",
        said_by: "seen", advice: "Jug in sight, a glass with every visit.", next: "Sat 09:45");
    log!(s, nia, fri(14, 24), obs "T05";
        at: "-12m", fluid_in: "650", urine: "400", source: "carer",
        judgement: "From the daughter's chart since 08:00.", during: "{tarn-fri}");
    log!(s, nia, fri(14, 26), note "T05";
        topic: "mobility", said_by: "seen",
        text: "Stands from the chair in one go, turns safely with the frame. Rug in the hall taken up with her leave. Falls sensor tested: rang here in nine seconds.");
    log!(s, nia, sat(14, 31), obs "T05";
        at: "-6m", fluid_in: "500", urine: "350", source: "carer",
        judgement: "Less than Friday. Daughter will sit with her at tea.");
    log!(s, dev, sat(17, 40), task "T05" => "tarn-fluids";
        what: "Fluid chart from the daughter, aim 1,200 mL by evening", due: "Sun 17:30",
        role: "assistant", kind: "call");
    log!(s, imke, sat(18, 12), dose "T05";
        medicine: "Nitrofurantoin 100 mg by mouth", outcome: "taken", last_taken: "Sat 17:55",
        next_due: "Sun 08:00", said_by: "carer",
        detail: "Day 4 of 7. Box counted by the daughter, none missed.");
}

fn worry(s: &mut Script) {
    log!(s, nia, sun(9, 58), obs "T05";
        at: "-6m", fluid_in: "180", urine: "70", source: "carer",
        judgement: "From the daughter's chart, sent by message.");
    log!(s, nia, sun(13, 34), obs "T05";
        at: "-4m", fluid_in: "120", urine: "60", source: "carer",
        judgement: "Same again. Half of yesterday's by this time; daughter offers every half hour.");
    log!(s, dev, sun(16, 14), contact "T05" => "tarn-worry";
        at: "-5m", mode: "phone", outcome: "reached", spoke_to: "carer",
        spoke_name: "Sylvie Tarnsby-Roe, daughter", started_by: "carer",
        how: "She just isn't herself. Called me by my aunt's name, put the crossword in the sink. Was right as rain at breakfast.",
        said_by: "carer", worry: "Not herself since lunch, calls her daughter by the wrong name",
        advice: "Stay with her, I am ringing back on video now.", next: "Sun 16:20");
    log!(s, dev, sun(16, 17), alert_step "T05"; alert: "{tarn-worry}", step: "taken");
    s.seen(
        &Seen {
            how: "Pleasant, picking at her sleeve. Thinks it is 1962. Cannot start the months backwards. Drank two cups today.",
            set: "20 95 air 108/62 92 C 37.9",
            judgement: "New confusion. This morning she knew the day and her crossword. C 3, saturation 1, systolic 1, pulse 1: total 6, and a single 3. She drank little yesterday too.",
            next: "Sun 17:00",
            contact: &[("spoke_to", "both"), ("spoke_name", "Sylvie Tarnsby-Roe, daughter"), ("safety_net", "Harder to wake, shaking, or a fall: 999.")],
            obs: &[("action", "On-call registrar now. Daughter stays.")],
            ..Seen::new("dev", sun(16, 34), "T05", "video")
        },
        "tarn-confused",
    );
    log!(s, dev, sun(16, 41), obs "T05" => "tarn-4at";
        at: "-4m", four_at: "0 2 1 4", source: "staff",
        judgement: "Over video. Alert, place and year wrong, would not start the months backwards, right as rain at breakfast.");
}

fn escalated(s: &mut Script) {
    log!(s, dev, sun(16, 46), escalation "T05" => "tarn-sbar";
        about: "{tarn-worry}",
        situation: "Dev Larkhanger, nurse, Tansy Ward. Maud Tarnsby, 88, at home. New confusion since lunch, NEWS2 6 with a single 3; this morning 0.",
        background: "Urine infection, day 5 of nitrofurantoin, no urine culture result yet. Frailty 6, no dementia. Trimethoprim makes her vomit. DNACPR; for hospital ward if home fails.",
        assessment: "Delirium. Infection not covered, or dry: 500 mL in all of yesterday, pressure down from 126.",
        recommendation: "I need her seen at home this evening, bloods and a change of antibiotic considered. I can send Nia with a bladder scanner by 18:00.",
        to_role: "On-call medical registrar", to_name: "Dr Leontine Ashgrave", how: "phone",
        answer_by: "Sun 17:15", next_in_chain: "Dr Isolde Marchbanke, on-call consultant");
    log!(s, dev, sun(16, 48), alert_step "T05"; alert: "{tarn-worry}", step: "escalated");
    log!(s, dev, sun(17, 3), escalation_step "T05";
        escalation: "{tarn-sbar}", step: "answered",
        by: "Dr Leontine Ashgrave, on-call medical registrar",
        response: "Agrees delirium. Stay at home if she drinks and daughter can stay the night.",
        plan: "Bladder scan and bloods this evening. Glass an hour. Change to the second-line tablet, being couriered. Set at 19:00 and 21:00. Total 7, drowsy or not drinking: hospital.",
        read_back: "yes", review_at: "Sun 21:00");
    log!(s, dev, sun(17, 5), dose "T05";
        medicine: "Nitrofurantoin 100 mg by mouth", outcome: "taken", last_taken: "Sun 08:10",
        said_by: "carer", detail: "Day 5, the last of these: stopped by Dr Ashgrave, second-line tablets from tonight.");
    log!(s, dev, sun(17, 6), task "T05" => "tarn-scan";
        what: "Visit: bladder scan, bloods, look at the skin and the bowels", due: "Sun 18:30",
        person: "nia", kind: "visit", priority: "high", source: "{tarn-sbar}");
    log!(s, dev, sun(17, 8), task "T05" => "tarn-21";
        what: "Full set with orientation, then ring Dr Ashgrave for the review", due: "Sun 21:00",
        role: "nurse", kind: "obs", priority: "high", source: "{tarn-sbar}");
    log!(s, nia, sun(18, 19), contact "T05" => "tarn-nia";
        at: "-15m", mode: "visit", outcome: "reached", spoke_to: "both",
        spoke_name: "Sylvie Tarnsby-Roe, daughter", started_by: "ward", identified: "yes",
        how: "Knew me, not the day. Bladder scan 120 mL. Bowels opened on Saturday. Skin whole. Took half a beaker with help.",
        said_by: "seen");
    log!(s, nia, sun(18, 22), sample "T05" => "tarn-bloods";
        at: "-12m", what: "bloods", tests: "CRP, full blood count, kidney function, calcium",
        site: "left elbow", result_by: "Sun 22:30", reviewer: "orla");
    log!(s, nia, sun(18, 23), task_step "T05";
        task: "{tarn-scan}", step: "done", by_entry: "{tarn-nia}");
    log!(s, nia, sun(18, 24), obs "T05";
        at: "-14m", fluid_in: "120", urine: "50", source: "carer",
        judgement: "420 in and 180 out since eight, from the daughter's chart. Little urine, and dark.");
    log!(s, nia, sun(18, 25), task_step "T05";
        task: "{tarn-fluids}", step: "done", detail: "420 mL, far from 1,200.");
    log!(s, nia, sun(18, 47), sample_step "T05";
        sample: "{tarn-bloods}", step: "sent", detail: "Evening courier");
    s.seen(
        &Seen {
            how: "A little clearer, knows her daughter. Still 1962.",
            set: "20 95 air 112/64 90 C 37.8",
            judgement: "Total 4 with a single 3: confusion and saturation. Down from 6, pressure better.",
            next: "Sun 21:00",
            contact: &[("spoke_to", "both"), ("spoke_name", "Sylvie Tarnsby-Roe, daughter")],
            ..Seen::new("dev", sun(19, 6), "T05", "video")
        },
        "tarn-1900",
    );
    log!(s, dev, sun(19, 12), supply "T05" => "tarn-supply";
        item: "Second-line antibiotic tablets, one day's pack", kind: "medicine",
        dose_due: "Sun 22:00", needed_by: "Sun 21:30", seal: "S-20931",
        instructions: "To the daughter, who is there all night. Key safe if asleep.");
    log!(s, dev, sun(19, 20), supply_step "T05";
        supply: "{tarn-supply}", step: "prepared", holder: "Out-of-hours pharmacy");
}

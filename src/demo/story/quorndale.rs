//! Mr Quorndale's pressure is high in the morning and is repeated the same afternoon, as planned. On
//! Sunday it is severe, with a sign that the score does not see, and he is seen the same day.

use super::super::calendar::{fri, sat, sun};
use super::super::script::{Script, Seen, log};

pub fn tell(s: &mut Script) {
    raised_and_repeated(s);
    settled(s);
    up_again(s);
}

fn raised_and_repeated(s: &mut Script) {
    s.seen(
        &Seen {
            how: "Headache gone, fever gone. Rushed up the stairs for the cuff. Tablets restarted only last night.",
            set: "16 97 air 178/102 84 A 36.9",
            judgement: "178/102, usual about 148. No headache, face even, both arms up, speech clear. One day of tablets is not enough to judge.",
            next: "Fri 15:00",
            task: "T08-call",
            contact: &[("safety_net", "Face, arm or speech change, or worst-ever headache: 999.")],
            obs: &[("posture", "sitting"), ("action", "Repeat seated after ten minutes' rest, 15:00 today.")],
            ..Seen::new("joss", fri(10, 52), "T08", "video")
        },
        "quorn-high",
    );
    log!(s, joss, fri(10, 55), alert "T08" => "quorn-alert";
        source: "threshold", severity: "soon", what: "Blood pressure 178/102",
        from: "{quorn-high-obs}");
    log!(s, joss, fri(10, 56), alert_step "T08"; alert: "{quorn-alert}", step: "taken");
    log!(s, joss, fri(10, 57), task "T08" => "quorn-repeat";
        what: "Repeat blood pressure, seated, after ten minutes' rest, twice", due: "Fri 15:00",
        from: "Fri 14:30", role: "nurse", kind: "obs", priority: "high", source: "{quorn-high-obs}");
    s.seen(
        &Seen {
            how: "Sat with the radio for a quarter of an hour first. Feels well.",
            set: "16 97 air 152/88 76 A 36.8",
            judgement: "Second of two: 156/90, then 152/88. Near his usual.",
            next: "Sat 10:45",
            task: "quorn-repeat",
            obs: &[
                ("posture", "sitting"),
                ("action", "Twice-daily readings at home, tablets at 08:00."),
            ],
            ..Seen::new("joss", fri(15, 8), "T08", "video")
        },
        "quorn-repeat-done",
    );
    log!(s, joss, fri(15, 12), alert_step "T08";
        alert: "{quorn-alert}", step: "closed", outcome: "resolved",
        what: "152/88 at rest the same afternoon.");
    log!(s, joss, fri(15, 14), dose "T08";
        medicine: "Amlodipine 5 mg by mouth", outcome: "taken", last_taken: "Fri 08:20",
        next_due: "Sat 08:00", said_by: "patient");
}

fn settled(s: &mut Script) {
    log!(s, dev, sat(18, 52), obs "T08";
        at: "Sat 17:30", late_reason: "his message lay unread while I was with Mr Wickenhall", sbp: "146", dbp: "84", hr: "74", source: "patient", posture: "sitting",
        judgement: "His evening reading, sent by message.");
    log!(s, dev, sat(18, 54), task "T08" => "quorn-evening";
        what: "Evening blood pressure, sent by him by 18:00; ring if it has not come",
        due: "Sun 18:30", role: "assistant", kind: "obs");
}

fn up_again(s: &mut Script) {
    s.seen(
        &Seen {
            how: "Rang us himself. Headache since breakfast, and for an hour the left edge of the newspaper swims. Face even, both arms up, speech clear.",
            set: "16 97 air 186/108 80 A 36.8",
            judgement: "186/108, second of two after ten minutes' rest. Total 0: the score does not see this. With his sight it is for today.",
            next: "Sun 16:00",
            contact: &[("started_by", "patient"), ("safety_net", "Face, arm or speech change, or sight gone: 999.")],
            obs: &[("posture", "sitting"), ("signs", "headache; sight"), ("action", "Dr Fennimere now.")],
            ..Seen::new("imke", sun(14, 34), "T08", "video")
        },
        "quorn-severe",
    );
    log!(s, imke, sun(14, 38), escalation "T08" => "quorn-sbar";
        about: "{quorn-severe-obs}",
        situation: "Imke Saltmarsh, nurse, Tansy Ward. Peter Quorndale, 74, at home. 186/108 twice, headache, disturbed sight on the left for an hour. NEWS2 0.",
        background: "Hypertension, small stroke in 2021. Two tablets; the second one not taken since Monday, I find. Influenza over. No allergies known. For full escalation.",
        assessment: "Severe pressure with a sign. No weakness.",
        recommendation: "I need him assessed today: eyes, both arms, neurology. I stay on the line until you say where.",
        to_role: "Visiting clinician", to_name: "Dr Amos Fennimere", how: "phone",
        answer_by: "Sun 15:00", next_in_chain: "Dr Leontine Ashgrave, on-call medical registrar");
    log!(s, imke, sun(14, 45), escalation_step "T08";
        escalation: "{quorn-sbar}", step: "answered",
        by: "Dr Amos Fennimere, visiting clinician",
        response: "Ten minutes away. Will look at his eyes at home first.",
        plan: "Seen by 16:00. Haemorrhage in the eye, weakness or 200 systolic: hospital at once.",
        read_back: "yes", review_at: "Sun 16:30");
    log!(s, imke, sun(14, 50), note "T08";
        topic: "medicines", said_by: "patient",
        text: "Found both boxes of the second tablet unopened: he thought it was stopped with the other. Told him to start tonight, Dr Fennimere agrees. List on the fridge rewritten together on video.");
    log!(s, imke, sun(14, 53), dose "T08";
        medicine: "Indapamide 2.5 mg by mouth", outcome: "missed", next_due: "Mon 08:00",
        said_by: "patient",
        detail: "Not taken since Monday 19-Oct-2026, both boxes unopened. Restarts in the morning.");
    log!(s, imke, sun(14, 55), dose "T08";
        medicine: "Amlodipine 5 mg by mouth", outcome: "taken", last_taken: "Sun 08:05",
        next_due: "Mon 08:00", said_by: "patient", detail: "Every day since Friday.");
    log!(s, amos, sun(16, 2), contact "T08" => "quorn-amos";
        at: "-40m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes",
        how: "Headache easing, newspaper straight again since three. Fields full. Both discs sharp, no haemorrhage. Power, face and speech as in 2021's letter.",
        said_by: "seen", advice: "Second tablet tonight, both from tomorrow.",
        safety_net: "Same again, or weakness: 999.", next: "Sun 18:00");
    log!(s, amos, sun(16, 4), obs "T08";
        at: "-22m", sbp: "174", dbp: "98", posture: "sitting", arm: "left", source: "staff");
    log!(s, amos, sun(16, 5), obs "T08" => "quorn-amos-obs";
        at: "-18m", set: "16 97 air 170/96 76 A 36.7", temp_site: "tympanic", posture: "sitting",
        arm: "right", signs: "none", source: "staff", during: "{quorn-amos}",
        judgement: "Arms alike. No damage found; for home, evening reading by 18:00 and every day this week.");
    log!(s, amos, sun(16, 8), escalation_step "T08";
        escalation: "{quorn-sbar}", step: "closed",
        outcome: "Seen at home within the hour and a half, nothing in the eyes, second tablet restarts.");
}

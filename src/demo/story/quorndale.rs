//! Mr Quorndale's pressure is high in the morning and is repeated the same afternoon, as planned.

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
}

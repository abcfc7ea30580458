//! Mr Merridew-Stane goes back to hospital in the small hours of Saturday. The limit in his plan
//! was two litres; it was kept to.

use super::super::calendar::{fri, sat};
use super::super::script::{Script, Seen, log};

pub fn tell(s: &mut Script) {
    friday(s);
    night(s);
    hospital(s);
}

fn friday(s: &mut Script) {
    s.seen(
        &Seen {
            how: "Weaned since eight, sitting by the window. Appetite poor.",
            set: "18 95 air 122/70 86 A 37.2",
            judgement: "Total 1 on air.",
            task: "T16-call",
            next: "Fri 17:00",
            ..Seen::new("imke", fri(10, 38), "T16", "video")
        },
        "stan-1",
    );
    s.seen(
        &Seen {
            how: "Wife put the oxygen back on at half past three: he looked tired and 92 on the finger. Feels better for it.",
            set: "20 95 concentrator:1 118/68 92 A 37.6",
            judgement: "Total 4: oxygen 2, saturation 1, pulse 1. Not weaned after all; told Dr Fennimere.",
            next: "Fri 20:30",
            contact: &[("spoke_to", "both"), ("spoke_name", "Lettice Merridew-Stane, wife"), ("safety_net", "More than 1 L needed: ring first.")],
            ..Seen::new("imke", fri(17, 6), "T16", "video")
        },
        "stan-2",
    );
    s.seen(
        &Seen {
            how: "In bed early. Says he is cold. Short answers.",
            set: "21 94 concentrator:1 114/66 94 A 37.9",
            judgement: "Total 6: rate 2, saturation 1, oxygen 2, pulse 1. Worse than at five. Medium band.",
            next: "Fri 23:00",
            contact: &[("spoke_to", "both"), ("spoke_name", "Lettice Merridew-Stane, wife")],
            obs: &[("action", "To whoever answers for Mrs Brambley, in the same call.")],
            ..Seen::new("orla", fri(20, 33), "T16", "video")
        },
        "stan-3",
    );
    log!(s, orla, fri(21, 24), alert "T16" => "stan-alert";
        source: "nurse-concern", severity: "urgent",
        what: "Total 6 on 1 L, was 1 on air this morning", from: "{stan-3-obs}");
    log!(s, orla, fri(21, 25), alert_step "T16"; alert: "{stan-alert}", step: "taken");
    log!(s, orla, fri(21, 26), alert_step "T16";
        alert: "{stan-alert}", step: "actioned",
        what: "Dr Marchbanke, in the same call as Mrs Brambley at 21:17: three-hourly sets, 999 at 7 or at more than 2 L/min.");
    log!(s, orla, fri(21, 27), task "T16" => "stan-sets";
        what: "Full set; 7 or more, or over 2 L/min, is 999", due: "Fri 23:00", repeat: "every 3h",
        role: "nurse", kind: "obs", priority: "high", source: "{stan-alert}");
}

fn night(s: &mut Script) {
    let by = |at| Seen {
        contact: &[
            ("spoke_to", "both"),
            ("spoke_name", "Lettice Merridew-Stane, wife"),
        ],
        ..Seen::new("orla", at, "T16", "video")
    };
    s.seen(
        &Seen {
            how: "Dozing, wakes at once, knows where he is.",
            set: "21 95 concentrator:1 116/66 90 A 37.7",
            judgement: "Total 5. One better.",
            next: "Sat 02:00",
            task: "stan-sets",
            ..by(fri(23, 6))
        },
        "stan-4",
    );
    s.seen(
        &Seen {
            how: "Could not sleep for coughing. Sips of water.",
            set: "22 94 concentrator:1 112/64 92 A 38.0",
            judgement: "Total 6.",
            next: "Sat 05:00",
            task: "stan-sets",
            ..by(sat(2, 4))
        },
        "stan-5",
    );
    s.seen(
        &Seen {
            how: "Grey, breathless between words. Wife turned it to 3 while the call connected.",
            set: "26 91 concentrator:3 102/58 112 A 38.4",
            judgement: "Total 12: rate 3, saturation 3, oxygen 2, systolic 1, pulse 2, temperature 1, and two single 3s. High. Over his two litres.",
            next: "Sat 05:10",
            task: "stan-sets",
            contact: &[("spoke_to", "both"), ("spoke_name", "Lettice Merridew-Stane, wife"), ("advice", "Sit him forward, front door open, porch light on.")],
            obs: &[("action", "999 at 04:56, staying on the video.")],
            ..by(sat(4, 57))
        },
        "stan-6",
    );
}

fn hospital(s: &mut Script) {
    log!(s, orla, sat(5, 0), escalation "T16" => "stan-sbar";
        about: "{stan-alert}",
        situation: "Stanley Merridew-Stane, 84. NEWS2 12 at 04:55 on 3 L, was 6 at 02:00. Grey, words only.",
        background: "Chest infection after influenza, day 6. Stents. Anaphylaxis to penicillin. For full escalation, CPR.",
        assessment: "Worsening pneumonia, probably sepsis.",
        recommendation: "Ambulance now. Resuscitation room ready; penicillin allergy told to the crew.",
        to_role: "Ambulance control", how: "999", answer_by: "Sat 05:00",
        next_in_chain: "On-call medical registrar");
    log!(s, orla, sat(5, 2), escalation_step "T16";
        escalation: "{stan-sbar}", step: "answered", by: "Ambulance control, call-taker 81",
        response: "Crew dispatched, eight minutes.",
        plan: "Blue light to the emergency department. Registrar told by me at 05:01.",
        read_back: "yes", review_at: "Sat 05:20");
    log!(s, orla, sat(5, 3), alert_step "T16"; alert: "{stan-alert}", step: "escalated");
    log!(s, pip, sat(5, 14), contact "T16" => "stan-gone";
        at: "-2m", mode: "phone", outcome: "reached", spoke_to: "carer",
        spoke_name: "Lettice Merridew-Stane, wife", started_by: "ward",
        how: "Crew with him since 05:04, leaving now. She goes with him; neighbour has the key.",
        said_by: "carer");
    log!(s, orla, sat(5, 24), escalation_step "T16";
        escalation: "{stan-sbar}", step: "closed",
        outcome: "Left for hospital at 05:15 with the crew, allergy and last set handed over by phone.");
    log!(s, orla, sat(5, 26), alert_step "T16";
        alert: "{stan-alert}", step: "closed", outcome: "to-hospital",
        what: "999 called 04:56, crew at the door 05:04, left 05:15.");
    log!(s, orla, sat(5, 30), task_step "T16";
        task: "{stan-sets}", step: "cancelled", reason: "Gone to hospital");
    log!(s, orla, sat(5, 31), task_step "T16";
        task: "{T16-call}", step: "cancelled", reason: "Gone to hospital");
    log!(s, orla, sat(6, 12), discharge "T16";
        at: "Sat 05:15",
        to: "hospital-urgent",
        summary: "Chest infection after influenza, worse from Friday afternoon. Total 1 at 10:35, 4 at 17:00, 6 at 20:30, 5 at 23:00, 6 at 02:00, 12 at 04:55. Penicillin anaphylaxis. Oxygen 3 L when he left.",
        arranged: "Registrar has the readings. Ward to ring the wife at noon.",
        told: "Registrar, wife, Dr Marchbanke");
    log!(s, nia, sat(14, 5), kit_step "T16";
        kit: "{T16-kit}", step: "returned", detail: "Collected from the neighbour, cleaned.");
}

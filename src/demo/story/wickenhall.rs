//! Mr Wickenhall is on SpO2 scale 2 with a concentrator and a son who smokes. Somebody turns the
//! oxygen up; his hourly sets run through the night when 01:30 happens twice.

use super::super::calendar::{fri, sat, sun, sun_bst, thu};
use super::super::script::{Script, Seen, log};

pub fn tell(s: &mut Script) {
    mornings(s);
    smoke(s);
    turned_up(s);
    clock_change(s);
    after(s);
}

fn mornings(s: &mut Script) {
    let by = |who, at| Seen::new(who, at, "T03", "video");
    s.seen(
        &Seen {
            how: "Third pillow out, he says that is a good sign. Cough brings up white.",
            set: "20 90 concentrator:1 138/80 86 A 36.8",
            judgement: "Scale 2. Total 2, the oxygen only. His usual.",
            next: "Fri 09:15",
            ..by("orla", thu(21, 44))
        },
        "wick-thu",
    );
    s.seen(
        &Seen {
            how: "Slept in the chair, as he does. Nebuliser just finished.",
            set: "21 89 concentrator:1 136/78 90 A 36.7",
            judgement: "Total 4: rate 21 straight after the stairs, oxygen 2. Counted again at rest: 20.",
            next: "Fri 13:00",
            task: "T03-call",
            ..by("joss", fri(9, 28))
        },
        "wick-fri",
    );
    s.seen(
        &Seen {
            how: "Watching the racing, son at work. No headache.",
            set: "20 90 concentrator:1 134/76 86 A 36.8",
            judgement: "Total 2.",
            next: "Sat 09:15",
            ..by("joss", fri(16, 44))
        },
        "wick-fri-pm",
    );
    s.seen(
        &Seen {
            how: "Talks in sentences. Says the fire people may come if they take their boots off.",
            set: "20 91 concentrator:1 136/80 84 A 36.6",
            judgement: "Total 2.",
            next: "Sat 17:00",
            task: "T03-call",
            ..by("dev", sat(9, 28))
        },
        "wick-sat",
    );
    s.seen(
        &Seen {
            how: "Tired of being woken, otherwise as usual. Dial still taped at 1.",
            set: "19 90 concentrator:1 132/78 84 A 36.7",
            judgement: "Total 2, in his range.",
            next: "Sun 14:30",
            task: "T03-call",
            ..by("dev", sun(9, 20))
        },
        "wick-sun",
    );
    s.seen(
        &Seen {
            how: "Pottering. Son has put the ashtray in the shed.",
            set: "20 91 concentrator:1 134/78 86 A 36.8",
            judgement: "Total 2.",
            next: "Sun 20:30",
            ..by("dev", sun(14, 32))
        },
        "wick-sun-pm",
    );
}

fn smoke(s: &mut Script) {
    log!(s, hester, thu(21, 0), note "T03";
        topic: "watch-for",
        text: "Scale 2, prescribed, target 88 to 92 %. Above 92 % on oxygen is a finding, not good news. Drowsy or headache: registrar.");
    log!(s, nia, fri(13, 5), contact "T03" => "wick-visit";
        at: "-22m", mode: "visit", outcome: "reached", spoke_to: "both",
        spoke_name: "Kit Wickenhall, son", started_by: "ward", identified: "yes",
        how: "Nebulisers helping. Ashtray and lighter on the table beside the concentrator.",
        said_by: "seen",
        advice: "No flame within three metres, oxygen off and coat aired before anyone smokes outside. Son moved the ashtray to the porch while I was there.",
        next: "Fri 16:45");
    log!(s, nia, fri(13, 8), note "T03";
        topic: "safeguarding", said_by: "seen",
        text: "Fire risk: smoking materials beside home oxygen. Told Hester Brackwater at 13:07. Fire-safety visit was declined on Monday, asked again today: he will think about it.");
    log!(s, hester, fri(13, 30), task "T03" => "wick-fire";
        what: "Ask Mr Wickenhall again about the fire-safety visit", due: "Sat 12:00",
        role: "nurse", kind: "liaison", priority: "high");
    log!(s, dev, sat(9, 32), consent "T03";
        about: "home fire-safety visit, smoking beside oxygen", decision: "given", by: "patient",
        detail: "Agreed today, son present. Crew to come on Monday morning.");
    log!(s, dev, sat(9, 33), task_step "T03";
        task: "{wick-fire}", step: "done", detail: "He agreed. Visit booked for Mon 26-Oct-2026.");
}

fn turned_up(s: &mut Script) {
    s.seen(
        &Seen {
            how: "Feels better on more oxygen, he says. Yawning. The dial is at 2, not 1.",
            set: "20 95 concentrator:2 136/80 90 A 36.9",
            judgement: "Scale 2 on oxygen: 95 is too high and scores 2, oxygen 2, total 4. Son turned it up at lunch because Dad looked grey.",
            next: "Sat 18:30",
            contact: &[("spoke_to", "both"), ("spoke_name", "Kit Wickenhall, son"), ("advice", "Back to 1 while I watched. Shown both the mark on the dial and why.")],
            obs: &[("action", "Back to 1 L/min at 16:58. Repeat in 90 minutes.")],
            ..Seen::new("dev", sat(17, 0), "T03", "video")
        },
        "wick-high",
    );
    log!(s, dev, sat(17, 5), alert "T03" => "wick-alert";
        source: "threshold", severity: "urgent", what: "SpO2 95 % on 2 L/min, target 88 to 92 %",
        from: "{wick-high-obs}");
    log!(s, dev, sat(17, 6), alert_step "T03"; alert: "{wick-alert}", step: "taken");
    log!(s, dev, sat(17, 8), alert_step "T03";
        alert: "{wick-alert}", step: "actioned",
        what: "Oxygen back to 1 L/min, alert and talking, no headache. Tape put over the dial. Dr Fennimere by phone: hourly from 23:30 if still above his range.");
    s.seen(
        &Seen {
            how: "Less sleepy. Still says he liked it better at 2.",
            set: "20 93 concentrator:1 134/78 88 A 36.8",
            judgement: "93 on oxygen scores 1, oxygen 2: total 3. Coming down.",
            next: "Sat 22:30",
            ..Seen::new("dev", sat(18, 33), "T03", "video")
        },
        "wick-93",
    );
    log!(s, dev, sat(18, 41), task "T03" => "wick-evening";
        what: "Full set; if still above 92 % then hourly to 02:30 GMT", due: "Sat 22:30",
        role: "nurse", kind: "obs", priority: "high", source: "{wick-alert}");
    log!(s, dev, sat(19, 50), alert_step "T03";
        alert: "{wick-alert}", step: "handed-over", to: "joss",
        what: "93 on 1 L at 18:30. Hourly tonight if still above his range.");
    log!(s, joss, sat(20, 14), alert_step "T03"; alert: "{wick-alert}", step: "taken");
}

fn clock_change(s: &mut Script) {
    let at_night = |at| Seen {
        contact: &[("spoke_to", "both"), ("spoke_name", "Kit Wickenhall, son")],
        ..Seen::new("joss", at, "T03", "video")
    };
    s.seen(
        &Seen {
            how: "In bed, propped up. Son has his tablet.",
            set: "20 93 concentrator:1 132/78 86 A 36.8",
            judgement: "Total 3. Still one above his range: hourly as agreed.",
            next: "Sat 23:30",
            task: "wick-evening",
            ..at_night(sat(22, 31))
        },
        "wick-2230",
    );
    log!(s, joss, sat(22, 36), task "T03" => "wick-hourly";
        what: "Hourly set, by elapsed time: the clock goes back tonight", due: "Sat 23:30",
        repeat: "every 1h", role: "nurse", kind: "obs", priority: "high", source: "{wick-2230-obs}");
    s.seen(
        &Seen {
            how: "Awake, easy to talk to.",
            set: "19 93 concentrator:1 130/76 84 A 36.7",
            judgement: "Total 3.",
            task: "wick-hourly",
            ..at_night(sat(23, 31))
        },
        "wick-2330",
    );
    s.seen(
        &Seen {
            how: "Dozing, opens his eyes when I say his name and answers at once.",
            set: "18 92 concentrator:1 128/76 82 A 36.7",
            judgement: "Total 2, the oxygen only. Inside his range for the first time since lunch.",
            task: "wick-hourly",
            ..at_night(sun_bst(0, 31))
        },
        "wick-0030",
    );
    s.seen(
        &Seen {
            how: "Asleep, woken for the set. No headache.",
            set: "18 92 concentrator:1 126/74 82 A 36.6",
            judgement: "Total 2. 01:30 BST, the first of two.",
            task: "wick-hourly",
            ..at_night(sun_bst(1, 31))
        },
        "wick-0130-bst",
    );
    s.seen(
        &Seen {
            how: "Asleep, woken again, not pleased about it. Knows the day and that the clock has changed.",
            set: "18 91 concentrator:1 128/74 80 A 36.6",
            judgement: "Total 2. 01:30 GMT: one hour after the last set, the clock notwithstanding.",
            task: "wick-hourly",
            ..at_night(sun(1, 31))
        },
        "wick-0130-gmt",
    );
    s.seen(
        &Seen {
            how: "Asleep, settled. Son off to bed.",
            set: "18 91 concentrator:1 126/74 80 A 36.6",
            judgement: "Total 2, four sets in range. Hourly can stop; next at 06:30.",
            next: "Sun 06:30",
            task: "wick-hourly",
            ..at_night(sun(2, 32))
        },
        "wick-0230",
    );
    log!(s, joss, sun(2, 38), task_step "T03";
        task: "{wick-hourly}", step: "cancelled",
        reason: "In range for three hours, as agreed with Dr Fennimere");
    log!(s, joss, sun(2, 41), alert_step "T03";
        alert: "{wick-alert}", step: "closed", outcome: "resolved",
        what: "91 to 92 % on 1 L/min for three hours, alert, no headache.");
}

fn after(s: &mut Script) {
    s.seen(
        &Seen {
            how: "Slept from half past two. Coughing up his usual.",
            set: "19 90 concentrator:1 130/76 84 A 36.7",
            judgement: "Total 2. His baseline.",
            next: "Sun 09:15",
            ..Seen::new("joss", sun(6, 33), "T03", "video")
        },
        "wick-0630",
    );
    log!(s, dev, sun(9, 24), dose "T03";
        medicine: "Prednisolone 30 mg by mouth", outcome: "taken", last_taken: "Sun 08:10",
        said_by: "patient",
        detail: "Last of the course was due on Saturday; one tablet left over, so one was missed. He thinks Friday.");
    log!(s, dev, sun(9, 26), note "T03";
        topic: "question",
        text: "A steroid dose was missed on some day before Sunday. Pharmacist or Dr Marchbanke: extend by a day, or leave?");
    log!(s, dev, sun(16, 31), task "T03";
        what: "Evening set, scale 2", due: "Sun 20:30", repeat: "every 6h", role: "nurse",
        kind: "obs");
}

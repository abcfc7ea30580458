//! Ms Adebanjo-Marsh's tablets go to 14 Orchard Row instead of 14 Orchard Rise. They come back,
//! one dose is missed, and the second delivery asks two questions at the door.

use super::super::calendar::{fri, sat, sun};
use super::super::script::{Script, Seen, log};

pub fn tell(s: &mut Script) {
    wrong_door(s);
    right_door(s);
    onward(s);
}

fn wrong_door(s: &mut Script) {
    log!(s, imke, fri(9, 24), dose "T10";
        at: "-6m", medicine: "Gentamicin by vein, last of two days", outcome: "given",
        last_taken: "Thu 09:10", said_by: "reported",
        detail: "By the visiting team. Cannula out, site dry.");
    log!(s, imke, fri(9, 30), supply "T10" => "sade-tablets";
        item: "Cefalexin 500 mg capsules, 28", kind: "medicine", dose_due: "Fri 18:00",
        needed_by: "Fri 16:00", seal: "S-20877", instructions: "Hand to her, she is on her own");
    log!(s, nia, fri(11, 20), supply_step "T10";
        supply: "{sade-tablets}", step: "prepared", holder: "Ward pharmacy");
    log!(s, imke, fri(11, 42), supply_step "T10";
        supply: "{sade-tablets}", step: "checked", holder: "Imke Saltmarsh",
        condition: "Seal S-20877 whole, label read against the chart");
    log!(s, nia, fri(13, 48), supply_step "T10";
        supply: "{sade-tablets}", step: "with-courier", holder: "Courier, driver 12");
    log!(s, nia, fri(16, 35), supply_step "T10" => "sade-wrong";
        supply: "{sade-tablets}", step: "wrong-address", holder: "A Mr Tull at 14 Orchard Row",
        dose_missed: "Cefalexin, Friday 18:00", condition: "Seal whole",
        detail: "Driver 12 rang: left at 14 Orchard Row, should be Orchard Rise. Mr Tull rang the number on the bag. Driver going back for it now.");
    log!(s, imke, fri(16, 40), alert "T10" => "sade-alert";
        source: "other", severity: "urgent",
        what: "Antibiotic delivered to the wrong address; 18:00 dose will be missed",
        from: "{sade-wrong}");
    log!(s, imke, fri(16, 41), alert_step "T10"; alert: "{sade-alert}", step: "taken");
    log!(s, imke, fri(16, 47), contact "T10" => "sade-told";
        at: "-5m", mode: "phone", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes", how: "No fever, no rigors, passing urine. Calm about it.",
        said_by: "patient",
        advice: "Told her what happened and that I am sorry. First capsule when they come, tonight.",
        safety_net: "Shaking or sick: ring before they come.", next: "Fri 20:30");
    log!(s, nia, fri(17, 22), supply_step "T10";
        supply: "{sade-tablets}", step: "returned", holder: "Nia Cobblestane, ward",
        dose_missed: "Cefalexin, Friday 18:00",
        condition: "Seal S-20877 whole, 28 capsules not opened");
    log!(s, imke, fri(17, 31), note "T10";
        topic: "incident",
        text: "Wrong-address delivery. Label said 14 Orchard R., cut off by the printer. Dr Fennimere told at 17:25 of the missed 18:00 dose: first capsule tonight, no extra dose. Patient told by me at 16:42. Incident form 26-118.");
}

fn right_door(s: &mut Script) {
    log!(s, nia, fri(18, 35), supply_step "T10";
        supply: "{sade-tablets}", step: "with-courier", holder: "Courier, driver 7",
        condition: "Same seal, address written out by hand");
    log!(s, nia, fri(19, 46), supply_step "T10";
        supply: "{sade-tablets}", step: "delivered", holder: "Folasade Adebanjo-Marsh",
        identity: "two-identifiers", condition: "Seal whole",
        detail: "Driver 7 asked for full name and date of birth before handing over.");
    log!(s, imke, fri(19, 54), dose "T10";
        medicine: "Cefalexin 500 mg by mouth", outcome: "taken", last_taken: "Fri 19:50",
        next_due: "Fri 23:50", said_by: "patient",
        detail: "First capsule, 1hr 50min late, while we spoke.");
    log!(s, imke, fri(19, 56), alert_step "T10";
        alert: "{sade-alert}", step: "closed", outcome: "resolved",
        what: "Delivered 19:46 with identity check, first capsule 19:50.");
}

fn onward(s: &mut Script) {
    log!(s, pip, fri(21, 8), contact "T10";
        at: "-4m", mode: "phone", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes",
        how: "Kept the capsule down. Temperature 37.0 by her own thermometer. Going to bed.",
        said_by: "patient", next: "Sat 09:15");
    log!(s, imke, sat(18, 20), dose "T10";
        medicine: "Cefalexin 500 mg by mouth", outcome: "taken", last_taken: "Sat 17:45",
        next_due: "Sat 23:45", said_by: "patient", detail: "Four a day, none missed since.");
    log!(s, imke, sun(9, 41), note "T10";
        topic: "question",
        text: "She asks whether she may drive to work on Tuesday. Nobody has answered her yet.");
    s.seen(
        &Seen {
            how: "Well. Back pain down to an ache.",
            set: "15 98 air 118/74 72 A 36.6",
            judgement: "Total 0. Home tomorrow if the night is quiet.",
            next: "Mon 09:15",
            ..Seen::new("imke", sun(16, 40), "T10", "video")
        },
        "sade-sun",
    );
    log!(s, imke, sun(16, 44), dose "T10";
        medicine: "Cefalexin 500 mg by mouth", outcome: "taken", last_taken: "Sun 12:10",
        next_due: "Sun 22:00", said_by: "patient", detail: "The 17:45 one is in her hand.");
}

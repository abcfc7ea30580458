//! Mrs Fenwater's wearable: charged too late once, swapped, and silent again when the shift ends.
//! The last value is not shown as if it were now.

use super::super::calendar::{fri, sat, sun, sun_bst};
use super::super::script::{Script, Seen, log};

pub fn tell(s: &mut Script) {
    flat_battery(s);
    swapped(s);
    silent_again(s);
}

fn flat_battery(s: &mut Script) {
    log!(s, orla, fri(4, 28), kit_step "T14";
        kit: "{T14-kit}", step: "flat-battery",
        detail: "Nothing since 04:02. Battery was at 6 % at midnight.");
    log!(s, orla, fri(4, 31), alert "T14" => "fen-flat";
        source: "missing", severity: "soon", what: "No readings since 04:02, battery flat");
    log!(s, orla, fri(4, 32), alert_step "T14"; alert: "{fen-flat}", step: "taken");
    log!(s, orla, fri(4, 40), contact "T14";
        at: "-5m", mode: "phone", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes", how: "Woken, sorry for the trouble. No flutter, no pain, not dizzy.",
        said_by: "patient",
        advice: "On the charger now, back on the wrist at seven. Charge at supper, not at night.",
        next: "Fri 10:15");
    log!(s, orla, fri(7, 20), kit_step "T14";
        kit: "{T14-kit}", step: "charged", detail: "Readings since 07:08: pulse 84 to 90.");
    log!(s, orla, fri(7, 22), alert_step "T14";
        alert: "{fen-flat}", step: "closed", outcome: "kit-fault",
        what: "Battery. She was well when rung; three hours without readings.");
}

fn swapped(s: &mut Script) {
    log!(s, nia, sat(13, 10), kit_step "T14";
        kit: "{T14-kit}", step: "fault", detail: "Clip cracked, falls off in the kitchen.");
    log!(s, nia, sat(13, 34), kit_step "T14";
        kit: "{T14-kit}", step: "swapped", serial: "TW-0159",
        detail: "On her wrist, readings seen here at 13:33. She showed me how to charge it.");
    log!(s, joss, sun_bst(0, 28), obs "T14";
        set: "15 96 air - 84 - -", skin_temp: "33.1", confirm: "yes", source: "monitored",
        judgement: "Asleep, new wearable. Incomplete, not scored. Pulse irregular, 78 to 90 since ten.",
        rhythm: "irregular");
    log!(s, imke, sun(10, 50), dose "T14";
        medicine: "Bisoprolol 3.75 mg by mouth", outcome: "taken", last_taken: "Sun 08:10",
        next_due: "Mon 08:00", said_by: "patient");
}

fn silent_again(s: &mut Script) {
    log!(s, imke, sun(15, 22), obs "T14" => "fen-last";
        at: "Sun 15:10", set: "16 96 air - 88 - -", skin_temp: "33.0", confirm: "yes",
        source: "monitored", judgement: "Afternoon look at the monitor. Incomplete, not scored.");
    log!(s, nia, sun(17, 14), kit_step "T14";
        kit: "{T14-kit}", step: "out-of-range",
        detail: "Nothing since 16:48. Battery was 71 %, so not that.");
    log!(s, nia, sun(17, 16), alert "T14" => "fen-silent";
        source: "missing", severity: "soon", what: "No readings since 16:48, battery was 71 %");
    log!(s, nia, sun(17, 17), alert_step "T14"; alert: "{fen-silent}", step: "taken");
    log!(s, nia, sun(17, 24), contact "T14";
        mode: "phone", outcome: "no-answer", spoke_to: "nobody", started_by: "ward", attempt: "1",
        then: "try-again", next: "Sun 17:45", advice: "Landline and mobile.");
    s.seen(
        &Seen {
            how: "Was at the hen house without her phone. Says she feels well. Hub light is off.",
            judgement: "",
            next: "Sun 19:30",
            contact: &[("advice", "Hub plug out and in again. If no light, Nia comes tomorrow with another; her own cuff at 19:00 and 21:00.")],
            ..Seen::new("nia", sun(17, 52), "T14", "phone")
        },
        "fen-found",
    );
    log!(s, nia, sun(17, 56), task "T14";
        what: "Ring for her own cuff and pulse; still no readings from the wearable",
        due: "Sun 19:30", role: "nurse", kind: "obs", priority: "high", source: "{fen-silent}");
    log!(s, nia, sun(17, 58), task "T14";
        what: "Take a replacement hub and try it before leaving", due: "Mon 10:00",
        role: "assistant", kind: "supply", source: "{fen-silent}");
    log!(s, nia, sun(18, 0), supply "T14" => "fen-hub";
        item: "Replacement hub, TH-0033", kind: "equipment", needed_by: "Mon 10:00");
}

//! Two who come while the journal is open: Mrs Cornmarsh on Friday, Mr Lindqvist-Rowe on
//! Saturday, who declines photographs and has a question when the shift ends.

use super::super::calendar::{fri, sat, sun, sun_bst};
use super::super::script::{Script, Seen, log};

pub fn tell(s: &mut Script) {
    cornmarsh(s);
    cornmarsh_goes_on(s);
    cornmarsh_doses(s);
    lindqvist_rowe(s);
    leg(s);
}

fn cornmarsh(s: &mut Script) {
    log!(s, hester, fri(14, 12), admission "T17" => "T17";
        family: "Cornmarsh", given: "Beryl", title: "Mrs", born: "25-Jul-1947", sex: "female",
        nhs: "999 243 6794", slot: "T17", area: "Bakehouse Row, Netherwick", phone: "01632 960271",
        carers: "Wilf Cornmarsh, husband, 01632 960272", source: "same-day",
        reason: "Clot in the left leg and a chest infection; step down the same day",
        background: "Rheumatoid arthritis on methotrexate, held since Thursday. Knee replacement 2014.",
        treatment: "Anticoagulant tablets started today; antibiotic by mouth day 1 of 5.",
        allergies: "not asked", ceiling: "full", resuscitation: "not-discussed",
        plan: "Breathless, chest pain or coughing blood: 999. Saturation 92 or less: registrar.",
        base_rr: "18", base_spo2: "95", base_sbp: "128", base_hr: "82", base_weight: "74.8",
        scale: "1", hearing: "Left ear only", smoker: "no", consultant: "Dr Isolde Marchbanke",
        expected_discharge: "28-Oct-2026");
    log!(s, nia, fri(14, 58), kit "T17" => "T17-kit";
        item: "Wearable: pulse, breathing rate, oxygen, skin temperature", serial: "TW-0144",
        working: "yes", charged: "yes", taught: "yes");
    log!(s, hester, fri(15, 0), consent "T17";
        about: "remote monitoring", decision: "given", by: "patient",
        detail: "Her husband wanted to know whether we can hear them. No, and said so.");
    log!(s, imke, fri(18, 2), contact "T17" => "corn-fri";
        at: "-10m", mode: "video", outcome: "reached", spoke_to: "both",
        spoke_name: "Wilf Cornmarsh, husband", started_by: "ward", identified: "yes",
        how: "Tired from the hospital. Calf sore, leg up on the stool. Cough dry.",
        said_by: "seen-video",
        safety_net: "Sharp chest pain or breathless: 999, husband said it back.", next: "Fri 21:30");
    log!(s, imke, fri(18, 4), change "T17";
        why: "Allergies asked on first call, the hospital letter was silent",
        allergies: "clarithromycin (sickness); plasters (rash)");
    log!(s, imke, fri(18, 6), obs "T17" => "corn-fri-obs";
        at: "-9m", set: "19 94 air 130/74 88 A 37.8", source: "patient",
        judgement: "Total 1. Saturation 94, a little below the 95 on the letter.",
        during: "{corn-fri}");
    log!(s, imke, fri(18, 8), task "T17" => "T17-call";
        what: "Morning call with a full set of observations", due: "Sat 09:45",
        repeat: "daily 09:45", role: "nurse", kind: "call");
    log!(s, imke, fri(18, 10), dose "T17";
        medicine: "Apixaban 10 mg by mouth", outcome: "taken", last_taken: "Fri 17:40",
        next_due: "Sat 08:00", said_by: "patient",
        detail: "Second dose; first at noon in hospital.");
}

fn cornmarsh_goes_on(s: &mut Script) {
    log!(s, pip, fri(21, 34), obs "T17";
        at: "-4m", set: "18 95 air 126/72 84 A 37.5", source: "patient",
        judgement: "Total 1. Read out by Mr Cornmarsh, ear to the phone.");
    log!(s, pip, sat(0, 41), obs "T17";
        set: "17 94 air - 80 - -", skin_temp: "33.6", confirm: "yes", source: "monitored",
        judgement: "Asleep. Incomplete, not scored.");
    log!(s, imke, sat(15, 18), note "T17";
        topic: "medicines", said_by: "patient",
        text: "Methotrexate: stays held until the antibiotic is finished, Dr Marchbanke's letter read to both. Folic acid goes on. Husband wrote it on the calendar.");
    log!(s, pip, sun_bst(0, 12), obs "T17";
        set: "16 95 air - 76 - -", skin_temp: "33.2", confirm: "yes", source: "monitored",
        judgement: "Asleep. Incomplete, not scored.");
    s.seen(
        &Seen {
            how: "Leg less tight, husband measured the calf: 1 cm less than Friday. Cough loose.",
            set: "17 95 air 126/74 78 A 36.9",
            judgement: "Total 1, her baseline.",
            next: "Mon 09:45",
            ..Seen::new("imke", sun(15, 40), "T17", "video")
        },
        "corn-sun-pm",
    );
}

fn cornmarsh_doses(s: &mut Script) {
    log!(s, imke, sat(18, 8), dose "T17";
        medicine: "Apixaban 10 mg by mouth", outcome: "taken", last_taken: "Sat 08:05",
        next_due: "Sat 20:00", said_by: "patient");
    log!(s, imke, sun(15, 43), dose "T17";
        medicine: "Apixaban 10 mg by mouth", outcome: "taken", last_taken: "Sun 08:00",
        next_due: "Sun 20:30", said_by: "carer", detail: "Husband has the box and the calendar.");
}

fn lindqvist_rowe(s: &mut Script) {
    log!(s, imke, sat(12, 44), admission "T18" => "T18";
        family: "Lindqvist-Rowe", given: "Anton", title: "Mr", born: "10-Nov-1975", sex: "male",
        nhs: "999 536 6827", slot: "T18", area: "Ferry Road, Little Ferrow", phone: "01632 960281",
        carers: "Petra Lindqvist-Rowe, wife, 01632 960282", source: "emergency",
        reason: "Cellulitis of the right shin, step down after one night; antibiotic by vein twice more",
        background: "Well. Cut his shin on a trailer on Tuesday. Tetanus given in the department.",
        treatment: "Antibiotic by vein Sunday and Monday at 12:00, then tablets.",
        allergies: "none known", ceiling: "full", resuscitation: "attempt",
        plan: "Redness over the knee, shaking, or pain out of proportion: same-day review.",
        base_rr: "15", base_spo2: "98", base_sbp: "130", base_hr: "74", base_weight: "86",
        scale: "1", access: "Caravan behind the farmhouse; ring the bell on the gate.",
        smoker: "no", consultant: "Dr Amos Fennimere", expected_discharge: "27-Oct-2026");
    log!(s, imke, sat(12, 50), consent "T18";
        about: "photographs of the leg", decision: "declined", by: "patient",
        detail: "Line drawn on the skin instead.");
    log!(s, imke, sat(12, 51), task "T18" => "T18-call";
        what: "Morning call with a full set of observations", due: "Sun 10:45",
        repeat: "daily 10:45", role: "nurse", kind: "call");
    log!(s, nia, sat(13, 56), kit "T18";
        item: "Oximeter and thermometer", serial: "TP-0078", working: "yes", charged: "yes",
        taught: "yes");
    log!(s, dev, sat(14, 12), line "T18" => "T18-cannula";
        kind: "cannula", site: "left hand", inserted: "24-Oct-2026",
        night_cover: "Nobody at night", next_care: "Sun 12:00");
    log!(s, dev, sat(14, 14), wound "T18" => "T18-w1";
        at: "-8m", site: "shin, middle third", side: "right", kind: "trauma",
        method: "longest-axis", length: "4.2", width: "0.6", depth: "0.2", epithelial: "30",
        granulation: "70", slough: "0", necrotic: "0", exudate: "low", exudate_type: "serous",
        odour: "no", pain: "4", edges: "held by strips", skin: "red to 6 cm, line drawn",
        infection: "spreading", dressing: "low-adherent pad", packing_out: "0", packing_in: "0",
        next_change: "Mon 12:00");
    s.seen(
        &Seen {
            how: "Leg throbs when he stands. Children bringing him tea.",
            set: "15 98 air 132/78 76 A 37.4",
            judgement: "Total 0.",
            next: "Sun 10:45",
            ..Seen::new("imke", sat(17, 24), "T18", "video")
        },
        "lind-sat",
    );
}

fn leg(s: &mut Script) {
    log!(s, imke, sun(12, 22), dose "T18";
        at: "-8m", medicine: "Ceftriaxone 2 g by vein", outcome: "given", next_due: "Mon 12:00",
        said_by: "seen", detail: "Second checker Nia Cobblestane.");
    log!(s, imke, sun(12, 24), line_care "T18";
        line: "{T18-cannula}", step: "flushed", site_score: "0", next_care: "Mon 12:00");
    log!(s, nia, sun(19, 22), alert "T18" => "lind-alert";
        source: "patient-concern", severity: "urgent",
        what: "Message: leg more painful tonight, wants to talk to a nurse");
    log!(s, nia, sun(19, 24), alert_step "T18";
        alert: "{lind-alert}", step: "seen",
        what: "All three nurses on calls; told Imke Saltmarsh, she has it next.");
}

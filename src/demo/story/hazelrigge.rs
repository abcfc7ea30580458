//! Mr Hazelrigge's foot does not heal: the same measurements by the same method, week on week, and
//! past four weeks its marker is missed. The ulcer on his other leg heals and reaches its own. His
//! PICC line has its day count and its site score.

use super::super::calendar::{fri, sat, sun, thu};
use super::super::script::{SceneAct, Script, log};

const COPIED: &str = "copied from the paper record when the ward began this journal";
const FROM_CLINIC: &str = "copied from the foot clinic's record when the ward began this journal";
const ABX: &str = "Ertapenem 1 g by PICC";

pub fn tell(s: &mut Script) {
    before(s);
    friday(s);
    saturday(s);
    sunday(s);
}

fn before(s: &mut Script) {
    log!(s, joss, thu(21, 0), wound "T06" => "haz-w0";
        at: "21-Sep-2026 10:30", late_reason: FROM_CLINIC,
        site: "foot, under the fifth metatarsal head", side: "left", kind: "diabetic-foot-ulcer",
        method: "head-to-toe", length: "2.7", width: "2.1", depth: "0.8", epithelial: "0",
        granulation: "70", slough: "30", necrotic: "0", exudate: "low", exudate_type: "serous",
        odour: "no", pain: "0", edges: "callus", undermining: "none", skin: "dry",
        infection: "none", swab: "no", dressing: "foam", packing_out: "0", packing_in: "0");
    log!(s, joss, thu(21, 1), wound "T06" => "haz-leg-1";
        at: "21-Sep-2026 10:40", late_reason: FROM_CLINIC,
        site: "gaiter, inner side", side: "right", kind: "venous-leg-ulcer",
        method: "head-to-toe", length: "3.6", width: "2.4", depth: "0.3", epithelial: "10",
        granulation: "70", slough: "20", necrotic: "0", exudate: "moderate",
        exudate_type: "serous", odour: "no", pain: "3", edges: "sloping", undermining: "none",
        skin: "stained, dry", infection: "none", swab: "no",
        dressing: "low-adherent pad, two-layer compression", packing_out: "0", packing_in: "0");
    log!(s, joss, thu(21, 2), wound "T06" => "haz-w1";
        at: "12-Oct-2026 14:15", late_reason: COPIED, wound: "1",
        site: "foot, under the fifth metatarsal head", side: "left", kind: "diabetic-foot-ulcer",
        method: "head-to-toe", length: "2.8", width: "2.1", depth: "0.9", epithelial: "0",
        granulation: "60", slough: "40", necrotic: "0", exudate: "moderate",
        exudate_type: "seropurulent", odour: "no", pain: "1", edges: "callus, undermined",
        undermining: "0.5 cm at 2 to 4 o'clock", skin: "macerated", infection: "overt-local",
        swab: "yes", dressing: "alginate rope and foam", packing_out: "0", packing_in: "1",
        next_change: "14-Oct-2026 11:00");
    log!(s, joss, thu(21, 4), wound "T06" => "haz-w2";
        at: "19-Oct-2026 11:20", late_reason: COPIED, wound: "1",
        site: "foot, under the fifth metatarsal head", side: "left", kind: "diabetic-foot-ulcer",
        method: "head-to-toe", length: "2.8", width: "2.2", depth: "0.9", epithelial: "0",
        granulation: "55", slough: "45", necrotic: "0", exudate: "moderate",
        exudate_type: "seropurulent", odour: "no", pain: "1", edges: "callus trimmed",
        undermining: "0.6 cm at 2 to 5 o'clock", skin: "less macerated", infection: "overt-local",
        dressing: "alginate rope and foam", packing_out: "1", packing_in: "1",
        next_change: "21-Oct-2026 11:00");
    log!(s, joss, thu(21, 6), task "T06" => "haz-dress";
        what: "Foot dressing, packing counted out and in", due: "Fri 11:00", repeat: "every 2d",
        role: "nurse", kind: "dressing");
}

fn friday(s: &mut Script) {
    log!(s, joss, fri(12, 14), contact "T06" => "haz-fri";
        at: "-28m", mode: "visit", outcome: "reached", spoke_to: "patient", started_by: "ward",
        identified: "yes",
        how: "Well in himself. Boot was off when I came in, on the sofa since breakfast.",
        said_by: "seen", advice: "Boot whenever the foot touches the floor.", next: "Sat 10:15");
    log!(s, joss, fri(12, 16), obs "T06" => "haz-fri-obs";
        at: "-28m", set: "15 98 air 136/80 76 A 36.8", temp_site: "tympanic", glucose: "12.6",
        source: "staff", judgement: "Total 0. Sugar higher than he likes: bread at eleven.",
        during: "{haz-fri}");
    log!(s, joss, fri(12, 17), dose "T06";
        at: "-22m", medicine: ABX, outcome: "given", last_taken: "Thu 11:10",
        next_due: "Sat 11:00", said_by: "seen");
    log!(s, joss, fri(12, 18), line_care "T06";
        line: "{T06-picc}", step: "flushed", site_score: "0", next_care: "Sat 11:00",
        detail: "Day 13. 38 cm at the skin, dressing dry.");
    log!(s, joss, fri(12, 20), dressing "T06" => "haz-d1";
        at: "-12m", wound: "1", applied: "alginate rope and foam",
        looked: "No better. Sloughy, wet edges.", strike_through: "yes", packing_out: "1",
        packing_in: "1", next_change: "Sun 11:00");
    log!(s, joss, fri(12, 21), task_step "T06";
        task: "{haz-dress}", step: "done", by_entry: "{haz-d1}");
    log!(s, joss, fri(12, 22), task_step "T06";
        task: "{T06-call}", step: "done", by_entry: "{haz-fri-obs}");
}

fn saturday(s: &mut Script) {
    log!(s, dev, sat(12, 40), contact "T06" => "haz-sat";
        at: "-18m", mode: "visit", outcome: "reached", spoke_to: "both",
        spoke_name: "Bettina Hazelrigge, partner", started_by: "ward", identified: "yes",
        how: "Low at half past four, 3.4, woke sweating, took juice. Says the evening insulin was the same as ever.",
        said_by: "patient", advice: "Snack before bed. Diabetes nurse to ring on Monday.",
        next: "Sun 10:15");
    log!(s, dev, sat(12, 42), obs "T06" => "haz-sat-obs";
        at: "-14m", set: "15 98 air 130/78 72 A 36.7", temp_site: "tympanic", glucose: "7.9",
        source: "staff", judgement: "Total 0.", during: "{haz-sat}");
    log!(s, dev, sat(12, 43), dose "T06";
        at: "-10m", medicine: ABX, outcome: "given", last_taken: "Fri 11:55",
        next_due: "Sun 11:00", said_by: "seen");
    log!(s, dev, sat(12, 44), line_care "T06";
        line: "{T06-picc}", step: "flushed", site_score: "0", next_care: "Sun 11:00",
        detail: "Day 14. Flushes freely, draws back.");
    log!(s, dev, sat(12, 45), task_step "T06";
        task: "{T06-call}", step: "done", by_entry: "{haz-sat-obs}");
    log!(s, dev, sat(12, 48), task "T06";
        what: "Ask the diabetes nurse to ring about the night hypo", due: "Mon 10:00",
        role: "nurse", kind: "liaison");
}

fn sunday(s: &mut Script) {
    log!(s, amos, sun(11, 2), contact "T06" => "haz-amos";
        at: "-25m", mode: "visit", outcome: "reached", spoke_to: "both",
        spoke_name: "Bettina Hazelrigge, partner", started_by: "ward", identified: "yes",
        how: "Comfortable, frustrated. Wants to know whether he will lose the toe beside it.",
        said_by: "seen", advice: "Honest answer: not known, the foot clinic decides with him.",
        next: "Mon 10:15");
    log!(s, amos, sun(11, 5), wound "T06" => "haz-w3";
        at: "-15m", wound: "1", site: "foot, under the fifth metatarsal head", side: "left",
        kind: "diabetic-foot-ulcer", method: "head-to-toe", length: "2.9", width: "2.2",
        depth: "1.0", epithelial: "0", granulation: "50", slough: "50", necrotic: "0",
        exudate: "high", exudate_type: "seropurulent", odour: "yes", pain: "2", edges: "rolled",
        undermining: "0.6 cm at 2 to 5 o'clock", skin: "macerated, 1 cm", infection: "overt-local",
        swab: "yes", dressing: "alginate rope and foam", packing_out: "1", packing_in: "1",
        next_change: "Tue 11:00",
        detail: "Five weeks, no smaller: 2.7 by 2.1 at the clinic, 2.8 by 2.1, 2.8 by 2.2, 2.9 by 2.2. Bone not felt today.");
    log!(s, amos, sun(11, 6), wound "T06" => "haz-leg-2";
        at: "-10m", wound: "2", site: "gaiter, inner side", side: "right",
        kind: "venous-leg-ulcer", method: "head-to-toe", length: "2.2", width: "1.6",
        depth: "0.1", epithelial: "40", granulation: "60", slough: "0", necrotic: "0",
        exudate: "low", exudate_type: "serous", odour: "no", pain: "1", edges: "drawing in",
        undermining: "none", skin: "stained, soft", infection: "none", swab: "no",
        dressing: "low-adherent pad, two-layer compression", packing_out: "0", packing_in: "0",
        next_change: "Tue 11:00", detail: "The other leg does as it should.");
    log!(s, amos, sun(11, 7), sample "T06" => "haz-swab";
        at: "-12m", what: "swab", tests: "culture and sensitivities",
        site: "wound 1, base after cleaning", result_by: "Wed 12:00", reviewer: "amos");
    log!(s, imke, sun(11, 48), note "T06" => "haz-slip";
        topic: "incident", text: "Hand gel in the car boot is out of date, three bottles.");
    s.add(
        "imke",
        sun(11, 50),
        None,
        SceneAct::Withdraw {
            target: "haz-slip",
            cause: "mistaken",
            reason: "belongs to no patient; filed on paper",
            entered_anew: None,
        },
    );
    log!(s, dev, sun(12, 34), obs "T06" => "haz-sun-obs";
        at: "-6m", set: "16 98 air 134/80 78 A 37.3", temp_site: "tympanic", glucose: "9.2",
        source: "staff", judgement: "Total 0. Temperature a little higher than Saturday.");
    log!(s, dev, sun(12, 35), dose "T06";
        at: "-4m", medicine: ABX, outcome: "given", last_taken: "Sat 12:33", next_due: "Mon 11:00",
        said_by: "seen");
    log!(s, dev, sun(12, 36), line_care "T06";
        line: "{T06-picc}", step: "flushed", site_score: "1", next_care: "Mon 11:00",
        detail: "Day 15. Pink at the exit for 0.5 cm, no pus. Dressing changed, securing device new. Tape-free because of his skin.");
    log!(s, dev, sun(12, 37), task_step "T06";
        task: "{haz-dress}", step: "done", by_entry: "{haz-w3}");
    log!(s, dev, sun(12, 38), task_step "T06";
        task: "{T06-call}", step: "done", by_entry: "{haz-sun-obs}");
    log!(s, dev, sun(12, 41), task "T06" => "haz-clinic";
        what: "Ring the foot clinic's weekend line: wound no smaller in five weeks, wants seeing this week",
        due: "Sun 17:00", person: "dev", role: "nurse", kind: "liaison", priority: "high",
        source: "{haz-w3}");
}

//! Mrs Mistlewood's wound heals: the same ruler, smaller each time, and she goes home to usual care.

use super::super::calendar::{fri, sat, sun, thu};
use super::super::script::{Script, log};

const COPIED: &str = "copied from the paper record when the ward began this journal";

pub fn tell(s: &mut Script) {
    before(s);
    closing(s);
    home(s);
}

fn before(s: &mut Script) {
    log!(s, joss, thu(21, 7), wound "T07" => "mist-w1";
        at: "15-Oct-2026 12:30", late_reason: COPIED,
        site: "abdomen, lower end of the midline scar", side: "midline", kind: "surgical",
        method: "head-to-toe", length: "3.4", width: "1.6", depth: "1.2", epithelial: "0",
        granulation: "80", slough: "20", necrotic: "0", exudate: "moderate",
        exudate_type: "haemoserous", odour: "no", pain: "3", edges: "open, even",
        skin: "pink, 0.5 cm", infection: "none", dressing: "alginate ribbon and film",
        packing_out: "0", packing_in: "1", next_change: "16-Oct-2026 11:00");
    log!(s, joss, thu(21, 9), wound "T07" => "mist-w2";
        at: "20-Oct-2026 10:50", late_reason: COPIED, wound: "1",
        site: "abdomen, lower end of the midline scar", side: "midline", kind: "surgical",
        method: "head-to-toe", length: "2.0", width: "0.9", depth: "0.5", epithelial: "15",
        granulation: "85", slough: "0", necrotic: "0", exudate: "low", exudate_type: "serous",
        odour: "no", pain: "1", edges: "drawing in", skin: "normal", infection: "none",
        dressing: "alginate ribbon and film", packing_out: "1", packing_in: "1",
        next_change: "21-Oct-2026 11:00");
    log!(s, joss, thu(21, 11), task "T07" => "mist-dress";
        what: "Abdominal dressing, ribbon counted out and in", due: "Fri 11:00",
        repeat: "daily 11:00", role: "assistant", kind: "dressing");
}

fn closing(s: &mut Script) {
    log!(s, nia, fri(11, 6), dressing "T07" => "mist-d1";
        at: "-14m", wound: "1", applied: "alginate ribbon and film",
        looked: "Clean, small, beefy red. No smell.", strike_through: "no", packing_out: "1",
        packing_in: "0", next_change: "Sat 11:00");
    log!(s, nia, fri(11, 8), task_step "T07";
        task: "{mist-dress}", step: "done", by_entry: "{mist-d1}",
        detail: "One ribbon out, none in: too shallow now to pack.");
    log!(s, nia, sat(11, 4), dressing "T07" => "mist-d2";
        at: "-11m", wound: "1", applied: "film",
        looked: "A slit with a dry crust. Skin over most of it.", strike_through: "no",
        packing_out: "0", packing_in: "0", next_change: "Sun 11:00");
    log!(s, nia, sat(11, 5), task_step "T07";
        task: "{mist-dress}", step: "done", by_entry: "{mist-d2}");
    log!(s, nia, sat(11, 9), note "T07";
        topic: "nutrition", said_by: "patient",
        text: "Porridge, two eggs, fish pie yesterday. Dietitian's drinks make her feel sick, so she gives them to the neighbour. Told Dev Larkhanger.");
}

fn home(s: &mut Script) {
    log!(s, hester, sun(9, 58), wound "T07" => "mist-w3";
        at: "-8m", wound: "1", site: "abdomen, lower end of the midline scar", side: "midline",
        kind: "surgical", method: "head-to-toe", healed: "yes", length: "0", width: "0",
        depth: "0", epithelial: "100", granulation: "0", slough: "0", necrotic: "0",
        exudate: "none", odour: "no", pain: "0", skin: "normal, scar flat", infection: "none",
        detail: "Closed. 3.4 by 1.6, then 2.0 by 0.9, now nothing, in ten days.");
    log!(s, hester, sun(10, 1), task_step "T07";
        task: "{mist-dress}", step: "cancelled", reason: "Healed");
    log!(s, dev, sun(13, 11), task_step "T07";
        task: "{T07-call}", step: "cancelled", reason: "Goes home today");
    log!(s, dev, sun(13, 14), discharge "T07";
        to: "usual-care",
        summary: "Opened abdominal wound healed on 25-Oct-2026, ten days on the ward. Eating, weight 61.4 kg. No antibiotics. Blood pressure tablets as before.",
        arranged: "Surgical clinic on 03-Nov-2026. Practice nurse to look at the scar in a week.",
        told: "Patient, Mrs Plumley (with leave), GP by letter today");
}

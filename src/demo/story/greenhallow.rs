//! Ms Greenhallow goes home to usual care on Saturday.

use super::super::calendar::{fri, sat};
use super::super::script::{Script, log};

pub fn tell(s: &mut Script) {
    log!(s, imke, fri(17, 44), change "T15";
        why: "Board round on Friday", treatment: "Last tablets Saturday morning, then none.",
        expected_discharge: "24-Oct-2026");
    log!(s, imke, sat(11, 58), dose "T15";
        medicine: "Last of the antibiotic tablets", outcome: "taken", last_taken: "Sat 09:15",
        said_by: "patient");
    log!(s, imke, sat(12, 18), task_step "T15";
        task: "{T15-call}", step: "cancelled", reason: "Goes home today");
    log!(s, imke, sat(12, 20), discharge "T15";
        to: "usual-care",
        summary: "Infection after keyhole gallbladder surgery, five days on the ward. Fever-free for three days, eating, wounds dry. Antibiotics finished today.",
        arranged: "Surgical clinic on 05-Nov-2026. Blood test at her practice in one week: the practice looks at it.",
        told: "Patient and partner on video; GP by letter today");
}

//! Who is on the ward when the journal opens. Each admission is copied from the ward's paper
//! record on Thursday evening, so it happened days before it was recorded, and says why.

use super::calendar::thu;
use super::script::{Script, log};

/// Why Thursday evening's entries are late.
const COPIED: &str = "copied from the paper record when the ward began this journal";

/// The sixteen who are already patients; the two who come later have their own story.
pub fn admit(script: &mut Script) {
    hester(script);
    joss(script);
    imke(script);
}

fn hester(s: &mut Script) {
    log!(s, hester, thu(20, 14), admission "T01" => "T01";
        at: "20-Oct-2026 15:10", late_reason: COPIED, family: "Brambley", given: "Odette",
        title: "Mrs", known_as: "Odie", born: "14-Mar-1955", sex: "female", nhs: "999 555 6316",
        slot: "T01", area: "Sallow Lane, Netherwick", phone: "01632 960114",
        carers: "Piers Brambley, husband, lives with her, 01632 960115", source: "hospital-ward",
        reason: "Pneumonia, right lower lobe; step down on day 3",
        background: "Two nights in hospital. Hypertension. Never smoked. Walks to the shop.",
        treatment: "Oral antibiotics to day 7; wearable monitoring; two full sets a day.",
        allergies: "none known", ceiling: "full", resuscitation: "not-discussed",
        plan: "Total of 5, or 3 in one reading: call the on-call medical registrar. Return to the acute medical unit agreed.",
        base_rr: "16", base_spo2: "95", base_sbp: "132", base_hr: "78", base_weight: "64.2",
        base_mind: "Sharp, no confusion ever", scale: "1",
        access: "Front door, bell works. Two steps.", smoker: "no", pregnant: "no",
        spinal_injury: "no", consultant: "Dr Isolde Marchbanke", expected_discharge: "26-Oct-2026");
    log!(s, hester, thu(20, 19), admission "T02" => "T02";
        at: "18-Oct-2026 11:30", late_reason: COPIED, family: "Pell", given: "Arthur", title: "Mr",
        born: "02-Jul-1948", sex: "male", nhs: "999 848 6343", slot: "T02",
        area: "Tanyard Row, Little Ferrow", phone: "01632 960121",
        carers: "Noreen Pell, wife, lives with him, 01632 960122; Ruben Pell, son, 01632 960123",
        source: "same-day",
        reason: "Heart failure with fluid overload; intravenous diuretic at home",
        background: "Heart failure, ejection fraction 35 %. Chronic kidney disease, usual creatinine 120. Hip replacement 2019.",
        treatment: "Furosemide by vein once a day by the visiting nurse; daily weight; bloods every second day.",
        allergies: "ramipril (cough)", ceiling: "hospital-ward", resuscitation: "dnacpr",
        form_kept: "Blue folder on the fridge",
        plan: "Weight up 2 kg in 3 days, or breathless lying flat: call the heart failure nurse, out of hours the registrar.",
        base_rr: "18", base_spo2: "96", base_sbp: "112", base_hr: "84", base_weight: "81.4",
        scale: "1", hearing: "Hearing aid on the right; speak to that side", smoker: "no",
        consultant: "Dr Isolde Marchbanke", expected_discharge: "28-Oct-2026");
    log!(s, hester, thu(20, 24), admission "T03" => "T03";
        at: "19-Oct-2026 16:45", late_reason: COPIED, family: "Wickenhall", given: "Desmond",
        title: "Mr", known_as: "Des", born: "30-Nov-1956", sex: "male", nhs: "999 141 6374",
        slot: "T03", area: "Coldharbour Cottages, Ferrow", phone: "01632 960131",
        carers: "Kit Wickenhall, son, lives with him, 01632 960132", source: "hospital-ward",
        reason: "Flare-up of chronic obstructive lung disease; step down",
        background: "COPD with confirmed hypercapnic failure in 2024 (acute NIV). Concentrator at home for two years.",
        treatment: "Nebulisers four times a day, oral steroid day 4 of 5, oxygen 1 L/min by concentrator.",
        allergies: "doxycycline (rash)", ceiling: "hospital-ward", resuscitation: "attempt",
        plan: "Below 88 % or drowsy: do not turn the oxygen up; call the registrar. Ward-level NIV agreed.",
        base_rr: "20", base_spo2: "90", base_sbp: "138", base_hr: "88", base_weight: "58.8",
        scale: "2", scale_by: "Dr Isolde Marchbanke, respiratory, 19-Oct-2026, target 88 to 92 %",
        home_oxygen: "concentrator 1", smoker: "yes", access: "Side door; push hard, it sticks.",
        consultant: "Dr Isolde Marchbanke", expected_discharge: "27-Oct-2026");
    log!(s, hester, thu(20, 30), admission "T04" => "T04";
        at: "21-Oct-2026 13:20", late_reason: COPIED, family: "Velkova", given: "Dragomira",
        title: "Mrs", born: "09-May-1962", sex: "female", nhs: "999 434 6407", slot: "T04",
        area: "Glebe Court, Netherwick", phone: "01632 960141",
        carers: "Lyuben Velkov, nephew, 01632 960142", source: "emergency",
        reason: "Cellulitis of the left lower leg; antibiotic by vein once a day",
        background: "Type 2 diabetes, tablets only. Lymphoedema of both legs since 2015.",
        treatment: "Antibiotic by vein at 10:00 daily by the visiting nurse; leg raised; margin drawn on the skin.",
        allergies: "none known", ceiling: "full", resuscitation: "attempt",
        plan: "Redness beyond the line, or temperature 38.5 or more: same-day review.",
        base_rr: "16", base_spo2: "97", base_sbp: "128", base_hr: "80", base_weight: "92",
        scale: "1",
        language: "Bulgarian; telephone interpreter line, the nephew is not to interpret",
        smoker: "no", consultant: "Dr Amos Fennimere", expected_discharge: "27-Oct-2026");
    log!(s, hester, thu(20, 36), admission "T05" => "T05";
        at: "21-Oct-2026 10:05", late_reason: COPIED, family: "Tarnsby", given: "Maud",
        title: "Mrs", born: "17-Jan-1938", sex: "female", nhs: "999 727 6434", slot: "T05",
        area: "Pound Close, Ferrow", phone: "01632 960151",
        carers: "Sylvie Tarnsby-Roe, daughter, daily visits, 01632 960152", source: "gp",
        reason: "Urine infection and a fall without injury; step up to avoid admission",
        background: "Frailty score 6. Osteoarthritis. Walks with a frame. No dementia diagnosis.",
        treatment: "Oral antibiotic day 1 of 7; fluids chart kept by the daughter; falls sensor.",
        allergies: "trimethoprim (vomiting)", ceiling: "hospital-ward", resuscitation: "dnacpr",
        form_kept: "Inside the front-door cupboard",
        plan: "New confusion, a fall, or not drinking: same-day assessment. Hospital if it cannot be treated at home.",
        base_rr: "17", base_spo2: "96", base_sbp: "126", base_hr: "76", base_weight: "47.5",
        base_mind: "Orientated, does the crossword; forgets names when tired", scale: "1",
        access: "Key safe right of the door. Narrow hall.", key_safe: "4417",
        hearing: "Reading glasses; hears well", smoker: "no", consultant: "Dr Amos Fennimere",
        expected_discharge: "28-Oct-2026");
    log!(s, hester, thu(20, 41), admission "T16" => "T16";
        at: "20-Oct-2026 18:00", late_reason: COPIED, family: "Merridew-Stane", given: "Stanley",
        title: "Mr", born: "22-Feb-1942", sex: "male", nhs: "999 950 6763", slot: "T16",
        area: "Quarry Bank, Upper Ferrow", phone: "01632 960261",
        carers: "Lettice Merridew-Stane, wife, lives with him, 01632 960262",
        source: "hospital-ward", reason: "Chest infection after influenza; step down on oxygen",
        background: "Ischaemic heart disease, stents 2018. Ex-smoker, no chronic lung disease.",
        treatment: "Antibiotic by mouth day 5 of 7; oxygen 1 L/min by concentrator, to be weaned.",
        allergies: "penicillin (anaphylaxis)", ceiling: "full", resuscitation: "attempt",
        plan: "Total of 7 or more, or more than 2 L/min needed: 999 and tell the registrar.",
        base_rr: "18", base_spo2: "95", base_sbp: "124", base_hr: "82", base_weight: "77.6",
        scale: "1", home_oxygen: "air", smoker: "no", consultant: "Dr Isolde Marchbanke",
        expected_discharge: "27-Oct-2026");
}

fn joss(s: &mut Script) {
    log!(s, joss, thu(20, 15), admission "T06" => "T06";
        at: "12-Oct-2026 14:00", late_reason: COPIED, family: "Hazelrigge", given: "Clement",
        title: "Mr", born: "11-Aug-1968", sex: "male", nhs: "999 020 6465", slot: "T06",
        area: "Lime Kiln Yard, Netherwick", phone: "01632 960161",
        carers: "Bettina Hazelrigge, partner, 01632 960162", source: "hospital-ward",
        reason: "Infected diabetic foot ulcer with bone infection; six weeks by PICC",
        background: "Type 1 diabetes for 30 years, neuropathy. Lost the left little toe in 2022.",
        treatment: "Antibiotic by PICC at 11:00 daily; foot offloaded in a boot; dressing every second day.",
        allergies: "paper tape (blisters)", ceiling: "full", resuscitation: "attempt",
        plan: "Spreading redness, temperature, or PICC trouble: same-day call to the foot clinic.",
        base_rr: "15", base_spo2: "98", base_sbp: "134", base_hr: "74", base_weight: "88.3",
        scale: "1", access: "Through the yard gate; it is dark after 17:00, bring a torch.",
        smoker: "no", consultant: "Mr Tobiah Crane-Ashdown, foot clinic",
        expected_discharge: "31-Oct-2026");
    log!(s, joss, thu(20, 21), admission "T07" => "T07";
        at: "15-Oct-2026 12:10", late_reason: COPIED, family: "Mistlewood", given: "Joan",
        title: "Mrs", born: "28-Apr-1944", sex: "female", nhs: "999 313 6492", slot: "T07",
        area: "Almshouse Green, Little Ferrow", phone: "01632 960171",
        carers: "Agatha Plumley, neighbour, 01632 960172", source: "hospital-ward",
        reason: "Wound of the abdomen opened at its lower end after bowel surgery; step down",
        background: "Right hemicolectomy on 06-Oct-2026. Eating again. Blood pressure tablets.",
        treatment: "Dressing daily; weekly bloods; dietitian by phone.",
        allergies: "latex (itching)", ceiling: "full", resuscitation: "not-discussed",
        plan: "Fever, more discharge, or a bulge: surgical registrar the same day.", base_rr: "16",
        base_spo2: "96", base_sbp: "136", base_hr: "76", base_weight: "61", scale: "1",
        access: "Ground floor. Ring twice, she takes a minute.", smoker: "no",
        consultant: "Miss Perpetua Ravell, surgery", expected_discharge: "25-Oct-2026");
    log!(s, joss, thu(20, 26), admission "T08" => "T08";
        at: "20-Oct-2026 09:40", late_reason: COPIED, family: "Quorndale", given: "Peter",
        title: "Mr", born: "05-Dec-1951", sex: "male", nhs: "999 606 6525", slot: "T08",
        area: "Mill Bridge, Netherwick", phone: "01632 960181",
        carers: "Thomasin Quorndale, sister, 01632 960182", source: "gp",
        reason: "Influenza with dehydration; step up",
        background: "Hypertension on two tablets. Small stroke in 2021, no weakness left. Lives alone.",
        treatment: "Antiviral day 3 of 5; fluids; blood pressure tablets stopped for two days, now restarted.",
        allergies: "none known", ceiling: "full", resuscitation: "attempt",
        plan: "Blood pressure 180 or more, or 120 or more below: seen the same day. Weakness, speech or face change: 999.",
        base_rr: "16", base_spo2: "97", base_sbp: "148", base_hr: "72", base_weight: "70.4",
        scale: "1", smoker: "no", consultant: "Dr Amos Fennimere",
        expected_discharge: "26-Oct-2026");
    log!(s, joss, thu(20, 32), admission "T13" => "T13";
        at: "19-Oct-2026 11:15", late_reason: COPIED, family: "Skelbrack", given: "Ivor",
        title: "Mr", born: "19-Jun-1971", sex: "male", nhs: "999 071 6676", slot: "T13",
        area: "Ropewalk Flats, Netherwick", phone: "01632 960231", source: "same-day",
        reason: "Infected forearm after a cut from fencing wire; antibiotic by vein twice a day",
        background: "Anxiety. Drinks about 30 units a week. Did not want to stay in hospital.",
        treatment: "Antibiotic by vein at 09:00 and 18:00; arm in a sling; cannula changed every third day.",
        allergies: "not asked", ceiling: "full", resuscitation: "not-discussed",
        plan: "Fingers numb or pale, or redness above the elbow: emergency department.",
        base_rr: "16", base_spo2: "97", base_sbp: "142", base_hr: "86", base_weight: "79",
        scale: "1",
        access: "Third floor, lift often broken. Large dog: ask for it to be shut in the kitchen before going in.",
        key_safe: "2098",
        lone_worker: "Shouted at staff on 20-Oct-2026: visit in pairs, phone the ward on leaving",
        smoker: "yes", consultant: "Dr Amos Fennimere", expected_discharge: "26-Oct-2026");
    log!(s, joss, thu(20, 37), admission "T14" => "T14";
        at: "17-Oct-2026 15:00", late_reason: COPIED, family: "Fenwater", given: "Lucille",
        title: "Mrs", born: "03-Sep-1953", sex: "female", nhs: "999 364 6709", slot: "T14",
        area: "Weir Cottage, Upper Ferrow", phone: "01632 960241",
        carers: "Jonty Fenwater, grandson, evenings, 01632 960242", source: "hospital-ward",
        reason: "Fast atrial fibrillation, rate now controlled; step down with monitoring",
        background: "Atrial fibrillation since 2020, anticoagulated. Hip arthritis.",
        treatment: "New rate tablet, dose raised on 19-Oct-2026; wearable monitoring day and night.",
        allergies: "iodine dressing (rash)", ceiling: "full", resuscitation: "attempt",
        plan: "Pulse above 120 for ten minutes, fainting or chest pain: 999.", base_rr: "16",
        base_spo2: "96", base_sbp: "122", base_hr: "88", base_weight: "68.9", scale: "1",
        access: "Poor mobile signal in the valley; the landline is surest.", smoker: "no",
        consultant: "Dr Isolde Marchbanke", expected_discharge: "26-Oct-2026");
}

fn imke(s: &mut Script) {
    log!(s, imke, thu(20, 17), admission "T09" => "T09";
        at: "19-Oct-2026 17:30", late_reason: COPIED, family: "Pell", given: "Audrey",
        title: "Miss", born: "12-Oct-1946", sex: "female", nhs: "999 899 6554", slot: "T09",
        area: "Chapel Steps, Netherwick", phone: "01632 960191",
        carers: "Marguerite Dancy, niece, 01632 960192", source: "ambulance",
        reason: "Covid with a low oxygen reading, now settling; step up",
        background: "Retired teacher. Osteoporosis. No relation to Mr Arthur Pell, who is also on the ward.",
        treatment: "Paracetamol, fluids, oximeter and wearable; antiviral finished.",
        allergies: "codeine (nausea)", ceiling: "full", resuscitation: "attempt",
        plan: "92 % or less at rest on two readings: call the registrar.", base_rr: "16",
        base_spo2: "96", base_sbp: "130", base_hr: "74", base_weight: "55.5", scale: "1",
        smoker: "no", consultant: "Dr Amos Fennimere", expected_discharge: "26-Oct-2026");
    log!(s, imke, thu(20, 22), admission "T10" => "T10";
        at: "20-Oct-2026 20:15", late_reason: COPIED, family: "Adebanjo-Marsh", given: "Folasade",
        title: "Ms", known_as: "Sade", born: "23-May-1980", sex: "female", nhs: "999 192 6585",
        slot: "T10", area: "14 Orchard Rise, Little Ferrow", phone: "01632 960201",
        source: "emergency", reason: "Kidney infection; two days by vein, then tablets",
        background: "Well before. One earlier kidney infection in 2022.",
        treatment: "Antibiotic by vein until Friday morning, then tablets to be delivered.",
        allergies: "none known", ceiling: "full", resuscitation: "attempt",
        plan: "Rigors, vomiting tablets, or no urine for 8 hours: same-day review.", base_rr: "15",
        base_spo2: "98", base_sbp: "118", base_hr: "76", base_weight: "71.2", scale: "1",
        smoker: "no", pregnant: "no", consultant: "Dr Amos Fennimere",
        expected_discharge: "26-Oct-2026");
    log!(s, imke, thu(20, 28), admission "T11" => "T11";
        at: "18-Oct-2026 13:00", late_reason: COPIED, family: "Rahimi-Thorne", given: "Parviz",
        title: "Mr", born: "15-Jul-1959", sex: "male", nhs: "999 485 6618", slot: "T11",
        area: "Drovers Way, Ferrow", phone: "01632 960211",
        carers: "Shirin Rahimi-Thorne, wife, works nights, 01632 960212", source: "emergency",
        reason: "Severe flare-up of asthma, day 5 of steroid; step down",
        background: "Asthma since childhood, one intensive-care stay in 2009. Works shifts at a bakery.",
        treatment: "Oral steroid, inhalers by spacer, peak flow twice a day.",
        allergies: "aspirin (wheeze)", ceiling: "full", resuscitation: "attempt",
        plan: "Peak flow under half of best, or reliever more than four-hourly: 999.",
        base_rr: "16", base_spo2: "96", base_sbp: "130", base_hr: "80", base_weight: "83.7",
        scale: "1", smoker: "no", consultant: "Dr Isolde Marchbanke",
        expected_discharge: "27-Oct-2026");
    log!(s, imke, thu(20, 33), admission "T12" => "T12";
        at: "16-Oct-2026 10:45", late_reason: COPIED, family: "Otterfold", given: "Gwendolen",
        title: "Mrs", known_as: "Gwen", born: "08-Feb-1935", sex: "female", nhs: "999 778 6645",
        slot: "T12", area: "Hill House, Upper Ferrow", phone: "01632 960221",
        carers: "Rosalind Otterfold, daughter, lives with her, 01632 960222", source: "community",
        reason: "Last days of life with heart and kidney failure; symptom control at home",
        background: "Decided with her family on 15-Oct-2026 that she stays at home.",
        treatment: "Subcutaneous pump, changed daily at 11:00; medicines for breathlessness in the house.",
        allergies: "none known", ceiling: "comfort", resuscitation: "dnacpr",
        form_kept: "Envelope on the hall table, with the daughter's copy upstairs",
        plan: "Comfort first. No 999 for expected decline: call the ward, at night the palliative line. The score will be high and does not change this.",
        base_rr: "22", base_spo2: "91", base_sbp: "98", base_hr: "96",
        base_mind: "Drowsy, wakes to voice", scale: "1", access: "Daughter answers at any hour.",
        hearing: "Very deaf; touch her hand first", smoker: "no",
        consultant: "Dr Amos Fennimere with the palliative team");
    log!(s, imke, thu(20, 39), admission "T15" => "T15";
        at: "19-Oct-2026 19:20", late_reason: COPIED, family: "Greenhallow", given: "Ruth",
        title: "Ms", born: "27-Mar-1987", sex: "female", nhs: "999 657 6736", slot: "T15",
        area: "Station Parade, Netherwick", phone: "01632 960251",
        carers: "Callum Oakes-Lund, partner, 01632 960252", source: "same-day",
        reason: "Infection after gallbladder surgery; antibiotic course finishing",
        background: "Keyhole operation on 12-Oct-2026. Otherwise well.",
        treatment: "Tablets to Saturday; twice-daily temperature; wounds clean.",
        allergies: "none known", ceiling: "full", resuscitation: "attempt",
        plan: "Fever, yellow eyes or worse pain: surgical registrar the same day.", base_rr: "14",
        base_spo2: "98", base_sbp: "116", base_hr: "70", base_weight: "66", scale: "1",
        smoker: "no", pregnant: "no", consultant: "Miss Perpetua Ravell, surgery",
        expected_discharge: "24-Oct-2026");
}

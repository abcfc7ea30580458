//! Who is on, who has whom, and how the ward is handed from one shift to the next: once with a
//! question answered on the spot, once with one patient not accepted until it was put right.

use super::super::calendar::{fri, sat, sun, thu};
use super::super::script::{SceneAct, Script, log, seconds};
use crate::record::time::Timestamp;

pub fn tell(s: &mut Script) {
    rota(s);
    allocations(s);
    friday_morning(s);
    friday_evening(s);
    saturday_morning(s);
    saturday_evening(s);
    sunday_morning(s);
    oversight(s);
}

fn rota(s: &mut Script) {
    log!(s, hester, thu(20, 11), shift => "thu-night";
        name: "Night", from: "Thu 20:00", until: "Fri 08:00", staff: "orla; pip");
    log!(s, hester, thu(21, 2), shift => "fri-day";
        name: "Long day", from: "Fri 08:00", until: "Fri 20:00", staff: "hester; joss; imke; nia");
    log!(s, hester, thu(21, 3), shift => "fri-night";
        name: "Night", from: "Fri 20:00", until: "Sat 08:00", staff: "orla; pip");
    log!(s, hester, fri(15, 40), shift => "sat-day";
        name: "Long day", from: "Sat 08:00", until: "Sat 20:00", staff: "imke; dev; nia",
        detail: "No sister on the ward; Hester Brackwater by phone until 17:00.");
    log!(s, hester, fri(15, 41), shift => "sat-night";
        name: "Night", from: "Sat 20:00", until: "Sun 08:00", staff: "joss; pip",
        detail: "Clocks go back at 02:00: this night has thirteen hours. Break cover from the out-of-hours team at 03:00.");
    log!(s, hester, fri(15, 42), shift => "sun-day";
        name: "Long day", from: "Sun 08:00", until: "Sun 20:00", staff: "hester; imke; dev; nia");
    log!(s, hester, sun(15, 20), shift => "sun-night";
        name: "Night", from: "Sun 20:00", until: "Mon 08:00", staff: "orla; pip");
}

fn allocations(s: &mut Script) {
    let first = ["T01", "T02", "T03", "T04", "T05", "T06", "T07", "T08"];
    let second = ["T09", "T10", "T11", "T12", "T13", "T14", "T15", "T16"];
    allocate(s, "hester", thu(21, 4), "thu-night", "orla", &first);
    allocate(s, "hester", thu(21, 8), "thu-night", "orla", &second);
    allocate(s, "hester", fri(8, 12), "fri-day", "joss", &first);
    allocate(s, "hester", fri(8, 16), "fri-day", "imke", &second);
    allocate(s, "hester", fri(14, 24), "fri-day", "imke", &["T17"]);
    allocate(s, "imke", sat(12, 54), "sat-day", "imke", &["T18"]);
    allocate(s, "orla", fri(20, 22), "fri-night", "orla", &first);
    allocate(s, "orla", fri(20, 26), "fri-night", "orla", &second);
    allocate(s, "orla", fri(20, 30), "fri-night", "orla", &["T17"]);
    allocate(s, "imke", sat(8, 14), "sat-day", "dev", &first);
    allocate(
        s,
        "imke",
        sat(8, 18),
        "sat-day",
        "imke",
        &["T09", "T10", "T11", "T12", "T13", "T14", "T15", "T17"],
    );
    allocate(s, "joss", sat(20, 20), "sat-night", "joss", &first);
    allocate(
        s,
        "joss",
        sat(20, 24),
        "sat-night",
        "joss",
        &["T09", "T10", "T11", "T12", "T13", "T14", "T17", "T18"],
    );
    allocate(s, "hester", sun(8, 16), "sun-day", "dev", &first);
    allocate(
        s,
        "hester",
        sun(8, 20),
        "sun-day",
        "imke",
        &["T09", "T10", "T11", "T12", "T13", "T14", "T17", "T18"],
    );
}

fn allocate(
    s: &mut Script,
    by: &'static str,
    from: Timestamp,
    shift: &str,
    to: &str,
    slots: &[&str],
) {
    let shift = format!("{{{shift}}}");
    for (slot, place) in slots.iter().zip(0..) {
        let fields = [("to", to), ("shift", shift.as_str())];
        s.log(
            by,
            from.plus(seconds(place * 26)),
            None,
            "allocation",
            Some(slot),
            &fields,
        );
    }
}

fn prepare(
    s: &mut Script,
    who: &'static str,
    at: Timestamp,
    label: &str,
    (from_shift, to_shift, receiver): (&'static str, &'static str, &'static str),
    opening: &'static str,
) {
    let act = SceneAct::PrepareHandover {
        from_shift,
        to_shift,
        receiver,
        opening,
    };
    s.add(who, at, Some(label), act);
}

fn accept(s: &mut Script, who: &'static str, at: Timestamp, handover: &'static str) {
    s.add(who, at, None, SceneAct::AcceptHandover { handover });
}

fn friday_morning(s: &mut Script) {
    prepare(
        s,
        "orla",
        fri(7, 46),
        "ho-fri-am",
        ("Thursday night", "Friday day", "joss"),
        "Quiet but for one help call. Watch Mrs Brambley's breathing: it has not settled to where she started.",
    );
    log!(s, orla, fri(8, 1), handover_step;
        handover: "{ho-fri-am}", step: "given", text: "Read through together by the board.");
    log!(s, joss, fri(8, 4), handover_step "T11" => "ho-fri-am-q";
        handover: "{ho-fri-am}", step: "query",
        text: "He works shifts. Is he awake at nine, or do I ring him at noon?");
    log!(s, orla, fri(8, 6), handover_step "T11";
        handover: "{ho-fri-am}", step: "answer", query: "{ho-fri-am-q}",
        text: "Off sick this week, so mornings are fine. His wife comes off nights and sleeps until two: use his mobile, not the landline.");
    accept(s, "joss", fri(8, 8), "ho-fri-am");
}

fn friday_evening(s: &mut Script) {
    prepare(
        s,
        "joss",
        fri(19, 48),
        "ho-fri-pm",
        ("Friday day", "Friday night", "orla"),
        "Mrs Brambley first: breathing rate has crept up all day though she feels well. Mr Rahimi-Thorne took a visit to find.",
    );
    log!(s, joss, fri(20, 1), handover_step; handover: "{ho-fri-pm}", step: "given");
    log!(s, orla, fri(20, 7), handover_step "T16" => "ho-fri-pm-q";
        handover: "{ho-fri-pm}", step: "query",
        text: "The sheet has him on air at 10:35 and on 1 L at 17:00. Which is he on now, and who put it back?");
    log!(s, orla, fri(20, 9), handover_step "T16";
        handover: "{ho-fri-pm}", step: "declined",
        text: "Not taken until I know his oxygen. The rest I take now.");
    accept(s, "orla", fri(20, 10), "ho-fri-pm");
    log!(s, joss, fri(20, 15), handover_step "T16";
        handover: "{ho-fri-pm}", step: "answer", query: "{ho-fri-pm-q}",
        text: "On 1 L/min. His wife put it back at 15:30 because he looked tired. I rang just now: 95 % on 1 L, sitting up. Dr Fennimere knows.");
    log!(s, orla, fri(20, 17), handover_step "T16";
        handover: "{ho-fri-pm}", step: "accepted", text: "Taken. I will ring him first.");
}

fn saturday_morning(s: &mut Script) {
    prepare(
        s,
        "orla",
        sat(7, 44),
        "ho-sat-am",
        ("Friday night", "Saturday day", "imke"),
        "A hard night: Mrs Brambley escalated at 20:52 and started on an antibiotic by vein; Mr Merridew-Stane to hospital at 05:15.",
    );
    log!(s, orla, sat(8, 0), handover_step; handover: "{ho-sat-am}", step: "given");
    accept(s, "imke", sat(8, 9), "ho-sat-am");
}

fn saturday_evening(s: &mut Script) {
    prepare(
        s,
        "imke",
        sat(19, 45),
        "ho-sat-pm",
        ("Saturday day", "Saturday night", "joss"),
        "Mr Wickenhall needs hourly sets tonight. The clock goes back: go by elapsed time, not by the wall.",
    );
    log!(s, imke, sat(20, 0), handover_step; handover: "{ho-sat-pm}", step: "given");
    log!(s, joss, sat(20, 6), handover_step "T12" => "ho-sat-pm-q";
        handover: "{ho-sat-pm}", step: "query", text: "If the pump alarms at three, who comes?");
    log!(s, imke, sat(20, 8), handover_step "T12";
        handover: "{ho-sat-pm}", step: "answer", query: "{ho-sat-pm-q}",
        text: "The out-of-hours district nurses, 01632 960300. They have the chart and the spare line.");
    accept(s, "joss", sat(20, 11), "ho-sat-pm");
}

fn sunday_morning(s: &mut Script) {
    prepare(
        s,
        "joss",
        sun(7, 45),
        "ho-sun-am",
        ("Saturday night", "Sunday day", "dev"),
        "Thirteen hours. Mr Wickenhall kept in his range by hourly sets. Nobody went in. Mrs Mistlewood hopes to go today.",
    );
    log!(s, joss, sun(7, 59), handover_step; handover: "{ho-sun-am}", step: "given");
    accept(s, "dev", sun(8, 7), "ho-sun-am");
}

fn oversight(s: &mut Script) {
    log!(s, hester, thu(20, 13), policy;
        setting: "silence_hours", value: "12",
        reason: "Two sets a day is the least on this ward; anybody who needs more has a task for it");
    log!(s, hester, thu(20, 12), policy;
        setting: "late_entry_minutes", value: "60",
        reason: "Agreed at the opening meeting: anything written more than an hour after is marked late");
    log!(s, hester, fri(16, 30), note;
        topic: "mdt",
        text: "Board round with Dr Fennimere, 16:00 to 16:25, all patients. Mrs Brambley: breathing rate up on each set, keep four-hourly tonight. Mr Merridew-Stane: not to be weaned today after all. Ms Greenhallow: home tomorrow.");
    log!(s, imke, sat(16, 40), note;
        topic: "mdt",
        text: "Board round by phone with Dr Fennimere, 16:15 to 16:35, all patients. Mrs Brambley: responding, day 2 by vein. Dr Fennimere sees Mr Hazelrigge's foot on Sunday.");
    log!(s, hester, sun(12, 5), note;
        topic: "mdt",
        text: "Board round with Dr Fennimere, 11:30 to 12:00, all patients. Mr Arthur Pell: repeat kidney bloods today. Mr Hazelrigge: wound is not moving, foot clinic to see him this week.");
    log!(s, nia, sat(11, 50), note;
        topic: "incident",
        text: "Ward car: nearside tyre flat on Drovers Way. Changed on the spot, visits ran 40 minutes late. Recovery number is in the glove box, not in the boot as the sheet says.");
}

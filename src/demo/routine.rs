//! The rounds between the stories: each patient's morning and afternoon call. The words are
//! written by hand; the readings wander around the patient's own baseline by a fixed rule.

use super::calendar::{fri, sat, sun, thu};
use super::script::{Script, Seen, mix};
use crate::record::time::Timestamp;

/// A patient's usual readings: breathing rate, saturation, systolic, diastolic, pulse, and
/// temperature in tenths of a degree.
struct Usual(u64, u64, u64, u64, u64, u64);

/// One call: who, when, how the patient was, and the day's task if this is the morning call.
struct Call {
    who: &'static str,
    at: Timestamp,
    how: &'static str,
    next: &'static str,
}

const fn call(who: &'static str, at: Timestamp, next: &'static str, how: &'static str) -> Call {
    Call { who, at, how, next }
}

/// All rounds.
pub fn rounds(s: &mut Script) {
    for (slot, usual, calls) in CALLS {
        for call in *calls {
            one(s, slot, usual, call);
        }
    }
}

fn one(s: &mut Script, slot: &'static str, usual: &Usual, call: &Call) {
    let seed = mix(call.at.0.unsigned_abs() ^ u64::from(slot.as_bytes()[2]));
    let near =
        |value: u64, width: u64, shift: u32| value + (seed >> shift) % (2 * width + 1) - width;
    let temp = near(usual.5, 2, 20);
    let set = format!(
        "{} {} air {}/{} {} A {}.{}",
        near(usual.0, 1, 0),
        near(usual.1, 1, 4).min(100),
        near(usual.2, 7, 8),
        near(usual.3, 5, 12),
        near(usual.4, 4, 16),
        temp / 10,
        temp % 10
    );
    let label = format!("{slot}-at-{}", call.at.0 / 60_000_000);
    let morning = is_morning(call.at);
    let task = if morning {
        format!("{slot}-call")
    } else {
        String::new()
    };
    let judgement = JUDGEMENTS[usize::try_from(seed >> 24).unwrap_or(0) % JUDGEMENTS.len()];
    let seen = Seen {
        how: call.how,
        set: &set,
        judgement,
        next: call.next,
        task: &task,
        ..Seen::new(call.who, call.at, slot, "video")
    };
    s.seen(&seen, &label);
}

fn is_morning(at: Timestamp) -> bool {
    let into_story = at.since(thu(0, 0)).whole_minutes();
    let clock = if at < sun(1, 0) {
        into_story
    } else {
        into_story - 60
    };
    (8 * 60..12 * 60).contains(&(clock % (24 * 60)))
}

/// What a nurse makes of an unremarkable set.
const JUDGEMENTS: [&str; 8] = [
    "Nothing new.",
    "As yesterday.",
    "Where I would expect.",
    "Settled. No change to the plan.",
    "Close to baseline.",
    "No concern from me.",
    "Steady.",
    "Readings and face agree.",
];

type Rounds = (&'static str, Usual, &'static [Call]);

const CALLS: &[Rounds] = &[
    (
        "T02",
        Usual(18, 96, 114, 68, 82, 366),
        &[
            call(
                "orla",
                thu(21, 52),
                "Fri 09:15",
                "Ankles marked by his socks. Lies on two pillows, as usual.",
            ),
            call(
                "joss",
                fri(9, 14),
                "Fri 11:15",
                "Slept after the false alarm. Passing plenty of water after yesterday's dose.",
            ),
            call(
                "joss",
                fri(16, 20),
                "Fri 22:00",
                "Legs up, feet smaller by his own account. Asked about salt.",
            ),
            call(
                "dev",
                sat(9, 12),
                "Sat 11:00",
                "Up three times for the toilet, not breathless with it.",
            ),
            call(
                "dev",
                sat(16, 24),
                "Sun 09:15",
                "Walked round the garden on Noreen's arm.",
            ),
            call(
                "dev",
                sun(9, 12),
                "Sun 11:00",
                "One pillow last night, for the first time in a month.",
            ),
        ],
    ),
    (
        "T05",
        Usual(16, 97, 126, 70, 76, 367),
        &[
            call(
                "orla",
                thu(22, 14),
                "Fri 09:45",
                "In bed with the radio. Frame beside her, light on in the hall.",
            ),
            call(
                "joss",
                fri(9, 46),
                "Fri 14:00",
                "Burning less when she passes water. Ate porridge.",
            ),
            call(
                "dev",
                sat(9, 44),
                "Sat 14:30",
                "Knows the day, gave me six down. A bit dry-lipped.",
            ),
            call(
                "dev",
                sun(9, 44),
                "Sun 16:00",
                "Daughter there. Orientated, cross about the clocks. Three spoons of breakfast.",
            ),
        ],
    ),
    (
        "T07",
        Usual(16, 97, 134, 78, 76, 367),
        &[
            call(
                "joss",
                fri(10, 42),
                "Sat 10:15",
                "Walked to the letterbox. No pull in the wound.",
            ),
            call(
                "dev",
                sat(10, 50),
                "Sun 10:15",
                "Baked scones. Sore only when she laughs.",
            ),
            call(
                "dev",
                sun(9, 26),
                "Sun 13:00",
                "Bag packed, she says, though she is already at home.",
            ),
        ],
    ),
    (
        "T08",
        Usual(16, 97, 150, 86, 74, 367),
        &[
            call(
                "orla",
                thu(22, 26),
                "Fri 10:45",
                "Aches gone. Drank two litres, he kept the bottles to show.",
            ),
            call(
                "dev",
                sat(9, 54),
                "Sat 18:00",
                "Cough dry, no fever since Thursday. Took the first tablet at eight.",
            ),
            call(
                "dev",
                sun(10, 58),
                "Sun 18:00",
                "Bored. Walked to the bridge and back with his sister.",
            ),
        ],
    ),
    (
        "T09",
        Usual(16, 97, 130, 72, 75, 368),
        &[
            call(
                "orla",
                thu(22, 38),
                "Fri 09:15",
                "Hoarse, reading in bed. Cat on the oximeter cable.",
            ),
            call(
                "imke",
                fri(9, 34),
                "Fri 16:00",
                "Full name and date of birth, then how are you: better. Some taste back.",
            ),
            call(
                "imke",
                fri(16, 58),
                "Fri 22:00",
                "Slept two hours after lunch. Stairs once without stopping.",
            ),
            call(
                "imke",
                sat(9, 36),
                "Sat 16:00",
                "Breakfast half eaten. Cough at night only.",
            ),
            call(
                "imke",
                sat(16, 52),
                "Sun 09:15",
                "Niece's meals in the freezer, soup today. Brighter on the phone than her niece thinks.",
            ),
        ],
    ),
    (
        "T10",
        Usual(15, 98, 118, 72, 74, 368),
        &[
            call(
                "orla",
                thu(22, 48),
                "Fri 09:15",
                "Back pain four of ten lying still. Keeping water down.",
            ),
            call(
                "imke",
                fri(10, 2),
                "Fri 16:30",
                "No fever in the night. Toast for breakfast.",
            ),
            call(
                "imke",
                sat(9, 48),
                "Sat 18:00",
                "Slept. Tablets with food, no sickness.",
            ),
            call(
                "imke",
                sun(9, 37),
                "Sun 16:30",
                "Out for milk. Loin ache when she bends.",
            ),
        ],
    ),
    (
        "T11",
        Usual(16, 97, 132, 80, 80, 367),
        &[
            call(
                "orla",
                thu(23, 0),
                "Fri 09:45",
                "Awake as if on shift. Peak flow 390 tonight, best 520.",
            ),
            call(
                "imke",
                fri(9, 50),
                "Fri 15:00",
                "Peak flow 400. Reliever once since midnight.",
            ),
            call(
                "imke",
                sat(10, 8),
                "Sat 17:00",
                "Answered on the first ring and said so. Peak flow 430.",
            ),
            call(
                "imke",
                sat(17, 8),
                "Sun 09:45",
                "Peak flow 440. Hoovered, no wheeze after.",
            ),
            call(
                "imke",
                sun(9, 52),
                "Sun 17:00",
                "Peak flow 460, no reliever for a day. Last steroid tablet taken.",
            ),
            call(
                "imke",
                sun(17, 6),
                "Mon 09:45",
                "Peak flow 455. Wants to know about the flour at work.",
            ),
        ],
    ),
    (
        "T14",
        Usual(16, 97, 122, 74, 86, 366),
        &[
            call(
                "orla",
                thu(23, 12),
                "Fri 10:15",
                "No palpitations since Tuesday. Grandson fitted the strap better.",
            ),
            call(
                "imke",
                fri(10, 26),
                "Fri 17:00",
                "Wearable charged and on. Felt one flutter on the stairs, seconds only.",
            ),
            call(
                "imke",
                fri(17, 46),
                "Sat 10:15",
                "Fed the hens, sat down between. Pulse by hand irregular, as ever.",
            ),
            call(
                "imke",
                sat(10, 24),
                "Sat 17:00",
                "Dizzy for a moment getting up at six, gone by the kitchen.",
            ),
            call(
                "imke",
                sat(17, 40),
                "Sun 10:15",
                "New wearable comfortable. No dizziness since morning.",
            ),
            call(
                "imke",
                sun(10, 14),
                "Sun 17:00",
                "Good night. Jonty came, they did the bins.",
            ),
        ],
    ),
    (
        "T15",
        Usual(14, 98, 116, 72, 70, 366),
        &[
            call(
                "imke",
                fri(10, 48),
                "Fri 17:00",
                "Shoulder ache gone. Stairs easily.",
            ),
            call(
                "imke",
                fri(17, 26),
                "Sat 10:45",
                "Temperature 36.6 at noon. Cooking for two.",
            ),
            call(
                "imke",
                sat(10, 42),
                "Sat 12:00",
                "Wounds dry, no yellow in her eyes by daylight at the window.",
            ),
        ],
    ),
    (
        "T17",
        Usual(17, 96, 126, 74, 80, 372),
        &[
            call(
                "imke",
                sat(10, 56),
                "Sat 17:00",
                "Leg up, calf softer. Cough loose now, green once.",
            ),
            call(
                "imke",
                sat(18, 4),
                "Sun 09:45",
                "Ate a roast. Gums did not bleed, she checks.",
            ),
            call(
                "imke",
                sun(10, 30),
                "Sun 15:30",
                "Up and dressed, husband making lists.",
            ),
        ],
    ),
    (
        "T18",
        Usual(15, 98, 130, 78, 74, 370),
        &[
            call(
                "imke",
                sun(10, 42),
                "Sun 12:00",
                "Redness at the line, not over it. Slept on his back, leg on a crate.",
            ),
            call(
                "imke",
                sun(16, 54),
                "Mon 10:45",
                "Dose went in well at noon. Throbs when he stands, no worse.",
            ),
        ],
    ),
];

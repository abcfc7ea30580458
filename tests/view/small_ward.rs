//! A small fixed ward with one of everything that has its own look, for snapshots. Invented
//! people; NHS numbers from the range reserved for tests.

use handfast::demo::cast::Member;
use handfast::demo::player::{Correction, StorySink, Withdrawal, member};
use handfast::record::draft::Draft;
use handfast::record::ids::Seq;
use handfast::record::kind::Kind;
use handfast::record::time::Timestamp;

use crate::demo_ward::{DemoWard, moment};

pub struct Writing {
    pub demo: DemoWard,
}

fn who(handle: &str) -> &'static Member {
    member(handle).expect("on the staff")
}

impl Writing {
    /// A ward that was just opened, with its staff.
    pub fn begun() -> Writing {
        let mut writing = Writing {
            demo: DemoWard::of(Vec::new()),
        };
        let keeper = who("wren");
        writing
            .demo
            .open(clock("06:00"), "Small Ward", keeper)
            .expect("opened");
        for handle in ["orla", "imke", "hester"] {
            writing
                .demo
                .enrol(clock("06:01"), keeper, who(handle))
                .expect("enrolled");
        }
        writing
    }

    /// `at` is the wall clock, `fields` are `name=value` a line.
    pub fn log(&mut self, at: &str, by: &str, kind: &str, patient: &str, fields: &str) -> Seq {
        let kind = Kind::from_name(kind).expect("a kind");
        let mut draft = Draft::new(kind);
        draft.patient = Some(patient.to_owned()).filter(|text| !text.is_empty());
        for line in fields
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty())
        {
            let (name, value) = line.split_once('=').expect("name=value");
            draft.set(name, value.to_owned());
        }
        let written = self.demo.log(clock(at), who(by), &draft);
        written.unwrap_or_else(|error| panic!("{at} {kind}: {error}"))
    }
}

pub fn clock(at: &str) -> Timestamp {
    moment(&format!("24-Oct-2026 {at}"))
}

pub const SAME: &str = "area=Millbrook Terrace
    source=hospital-ward
    reason=Pneumonia, step down on day 3
    treatment=Oral antibiotics to day 7
    ceiling=full
    resuscitation=attempt
    scale=1";

/// The ward, and the moment at which it is looked at.
pub fn ward() -> DemoWard {
    let mut writing = Writing::begun();
    admissions(&mut writing);
    morning(&mut writing);
    handed_over(&mut writing);
    afternoon(&mut writing);
    writing.demo.now = clock("16:30");
    writing.demo
}

fn admissions(w: &mut Writing) {
    w.log(
        "06:05",
        "hester",
        "shift",
        "",
        "name=Long day\nfrom=08:00\nuntil=20:00\nstaff=imke; orla",
    );
    let ines = format!(
        "{SAME}\nfamily=Larkmead\ngiven=Ines\ntitle=Mrs\nborn=02-Jul-1944\nsex=female\nnhs=9990000018\n\
         slot=S1\nallergies=penicillin (rash); latex\nbase_rr=16\nbase_spo2=96\nbase_mind=Sharp\n\
         key_safe=4711 left of the door\naccess=Two steps, dog\nphone=01632 960001\n\
         carers=Jo Larkmead, daughter, 01632 960123\nplan=Total 5: on-call registrar\n\
         expected_discharge=26-Oct-2026"
    );
    w.log(
        "06:10",
        "imke",
        "admission",
        "",
        &format!("patient=new\n{ines}"),
    );
    let tom = format!(
        "{SAME}\nfamily=Larkmede\ngiven=Tom\nborn=11-Mar-1961\nsex=male\nlocal_number=L-204\nslot=S2\n\
         allergies=not asked\nscale=2\nscale_by=Dr Amin, 88 to 92 %\nhome_oxygen=concentrator 1\nsmoker=yes"
    );
    let tom = tom.replace("\n    scale=1", "").replace("scale=1\n", "");
    w.log(
        "06:20",
        "imke",
        "admission",
        "",
        &format!("patient=new\n{tom}"),
    );
    let ada = format!(
        "{SAME}\nfamily=Quince\ngiven=Ada\nborn=09-Sep-1950\nsex=female\nlocal_number=L-205\nslot=S3\nallergies=none known"
    );
    w.log(
        "06:30",
        "imke",
        "admission",
        "",
        &format!("patient=new\n{ada}"),
    );
    w.log("06:31", "hester", "allocation", "S1", "to=imke");
}

fn morning(w: &mut Writing) {
    w.log("08:10", "imke", "obs", "S1",
        "rr=16\nspo2=96\noxygen=air\nsbp=128\ndbp=76\nhr=82\nacvpu=alert\ntemp=37.1\nsource=patient\njudgement=As yesterday");
    w.log(
        "08:20",
        "imke",
        "obs",
        "S2",
        "spo2=90\noxygen=concentrator 1\nhr=88\nsource=monitored",
    );
    w.log(
        "08:30",
        "imke",
        "result",
        "S3",
        "values=crp 148 (0-5); k 4.1 (3.5-5.3)",
    );
    w.log(
        "08:40",
        "imke",
        "supply",
        "S1",
        "item=Doxycycline 100 mg, 8 capsules\nkind=medicine\nneeded_by=14:00\ndose_due=18:00",
    );
    w.log("08:50", "imke", "wound", "S1",
        "wound=1\nsite=heel\nside=left\nkind=pressure-ulcer\ncategory=2\nlength=3.2\nwidth=2.1\nmethod=head-to-toe\ninfection=none\nnext_change=tomorrow 10:00");
    w.log(
        "09:00",
        "imke",
        "line",
        "S1",
        "kind=cannula\nsite=left forearm\ninserted=23-Oct-2026",
    );
    w.log(
        "09:10",
        "imke",
        "task",
        "S2",
        "what=Ring about the concentrator\ndue=15:00\npriority=high\nrole=nurse",
    );
    w.log(
        "09:20",
        "imke",
        "discharge",
        "S3",
        "to=home\nsummary=Well, CRP to be chased",
    );
}

fn handed_over(w: &mut Writing) {
    let draft = Draft::new(Kind::Handover)
        .with("from_shift", "Night")
        .with("to_shift", "Long day")
        .with("receiver", "orla");
    let prepared = w
        .demo
        .prepare_handover(clock("10:00"), who("imke"), &draft)
        .expect("prepared");
    w.log(
        "10:02",
        "orla",
        "handover-step",
        "S2",
        &format!("handover={prepared}\nstep=query\ntext=Who prescribed his oxygen at home?"),
    );
    w.demo
        .accept_handover(clock("10:05"), who("orla"), prepared)
        .expect("accepted");
}

fn afternoon(w: &mut Writing) {
    w.log("13:00", "orla", "contact", "S1",
        "at=12:10\nlate_reason=no signal at the house\nmode=visit\noutcome=reached\nspoke_to=both\nhow=Says fine, looks grey\nsaid_by=seen\nsafety_net=999 if breathless at rest\nnext=17:00");
    let set = w.log("14:00", "orla", "obs", "S1",
        "rr=22\nspo2=94\noxygen=air\nsbp=118\ndbp=68\nhr=98\nacvpu=alert\ntemp=37.1\nsource=staff\njudgement=I am not happy with her breathing\naction=Registrar");
    let changes = [("temp".to_owned(), "38.4".to_owned())];
    let correction = Correction {
        target: set,
        changes: &changes,
        cause: "typing",
        reason: "38.4 on the chart",
    };
    w.demo
        .correct(clock("14:03"), who("orla"), &correction)
        .expect("corrected");
    w.log(
        "14:05",
        "orla",
        "alert",
        "S1",
        "source=nurse\nwhat=Breathing 22, was 16\nseverity=urgent",
    );
    w.log("14:10", "orla", "escalation", "S1",
        "situation=NEWS2 5, was 0\nbackground=Pneumonia day 3\nassessment=Getting worse\nrecommendation=See her within two hours\nto_role=registrar\nto_name=Dr Amin\nhow=phone\nanswer_by=15:00\nnext_in_chain=consultant on call");
    let wrong = w.log(
        "14:30",
        "orla",
        "note",
        "S2",
        "text=Daughter rings at six each evening",
    );
    let right = w.log(
        "14:35",
        "orla",
        "note",
        "S1",
        "text=Daughter rings at six each evening\ntopic=family",
    );
    let withdrawal = Withdrawal {
        target: wrong,
        cause: "wrong-patient",
        reason: "The other Larkmead",
        entered_anew: Some(right),
    };
    w.demo
        .withdraw(clock("14:36"), who("orla"), &withdrawal)
        .expect("withdrawn");
    w.log(
        "15:30",
        "orla",
        "contact",
        "S2",
        "mode=phone\noutcome=no-answer\nthen=try-again\nnext=16:00\nattempt=1",
    );
    w.log(
        "16:05",
        "orla",
        "contact",
        "S2",
        "mode=phone\noutcome=voicemail\nthen=next-of-kin\nattempt=2",
    );
    let supply = w
        .demo
        .entries
        .0
        .values()
        .find(|e| e.kind() == Kind::Supply)
        .map(|e| e.seq);
    let supply = supply.expect("asked for");
    w.log(
        "16:10",
        "orla",
        "supply-step",
        "S1",
        &format!("supply={supply}\nstep=wrong-address\nholder=number 14\ndose_missed=18:00 today"),
    );
    w.log(
        "16:20",
        "orla",
        "note",
        "S1",
        "text=Breathing over 24 or total 7: 999, then ring us\ntopic=watch-for",
    );
}

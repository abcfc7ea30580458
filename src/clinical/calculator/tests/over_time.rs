//! The calculators that look at more than one reading, with numbers of the clinical reference.

use serde_json::{Value, json};

use super::{answer, error};
use crate::clinical::calculator::CALCULATORS;

fn ask(line: &Value) -> Value {
    let said: Value = serde_json::from_str(&answer(&line.to_string())).expect("JSON");
    assert_eq!(said["ok"], true, "{said}");
    for beside in ["source", "caution"] {
        assert!(
            !said[beside].as_str().unwrap_or_default().is_empty(),
            "{said}"
        );
    }
    said
}

fn set(at: &str, rr: i32, hr: i32, temp: f64) -> Value {
    json!({"at": at, "rr": rr, "spo2": 96, "scale": 1, "oxygen": false, "sbp": 120,
        "hr": hr, "acvpu": "A", "temp": temp})
}

#[test]
fn scores_over_time() {
    let sets = json!([
        set("2026-03-01T16:00:00Z", 21, 96, 38.2),
        set("2026-03-01T08:00:00Z", 18, 88, 37.1),
        set("2026-03-01T12:00:00Z", 18, 92, 37.1),
    ]);
    let said = ask(
        &json!({"calc": "news2_series", "sets": sets, "age": 15, "pregnant": true,
        "as_of": "2026-03-01T21:30:00Z"}),
    );
    // 2 for 21 breaths, 1 for 96 beats, 1 for 38.2 (W1).
    assert_eq!((&said["total"], &said["band"]), (&json!(4), &json!("low")));
    assert_eq!(said["since_before"]["parts"], json!({"rr": 2, "temp": 1}));
    assert_eq!(said["since_first"]["total"], 4);
    assert_eq!(said["band_held"]["minutes"], 13 * 60 + 30);
    assert_eq!(said["calls_for"]["row"], "1-4");
    assert_eq!(said["next_set"]["to"], "2026-03-01T22:00:00.000000Z");
    assert_eq!(said["next_set"]["overdue"], false);
    let doubts = said["doubts"].to_string();
    assert!(
        doubts.contains("under 16") && doubts.contains("pregnancy"),
        "{doubts}"
    );
    let none = json!({"calc": "news2_series", "sets": sets, "as_of": "2026-02-01T00:00:00Z"});
    assert!(error(&none.to_string()).contains("no set up to that time"));
    let wrong =
        json!({"calc": "news2_series", "sets": [{"at": "2026-03-01T08:00:00Z", "rr": 900}]});
    assert!(error(&wrong.to_string()).contains("not possible"));
    // An incomplete set has no total, no band, and is to be completed.
    let open =
        ask(&json!({"calc": "news2_series", "sets": [{"at": "2026-03-01T08:00:00Z", "rr": 18}]}));
    assert!(open["total"].is_null() && open["calls_for"].is_null());
    assert!(
        open["next_set"]["says"]
            .as_str()
            .expect("said")
            .starts_with("complete this set")
    );
}

#[test]
fn pressures_that_ask_for_something() {
    let bp = |more: Value| {
        let mut line = json!({"calc": "bp", "sbp": 180, "dbp": 100, "measured": "clinic"});
        line.as_object_mut()
            .expect("object")
            .extend(more.as_object().expect("object").clone());
        line
    };
    let severe = |more| {
        ask(&bp(more))["severe"]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    };
    assert!(severe(json!({})).contains("signs are not given"));
    assert!(severe(json!({"signs": "none"})).contains("within 7 days"));
    assert!(severe(json!({"signs": "chest-pain"})).contains("the same day"));
    assert!(ask(&bp(json!({"sbp": 179})))["severe"].is_null());
    let target = |age: i32| ask(&bp(json!({"age": age})))["home_average_target_under"].clone();
    assert_eq!(
        (target(79), target(80)),
        (json!([135, 85]), json!([145, 85]))
    );
    let fall = |up: i32| {
        ask(&bp(json!({"standing_sbp": up, "standing_dbp": 90})))["fall_on_standing"]
            ["is_postural_drop"]
            .clone()
    };
    assert_eq!((fall(161), fall(160)), (json!(false), json!(true)));
    let due = ask(&bp(json!({"at": "2026-03-01T08:00:00Z"})));
    assert!(
        due["repeat_by"]
            .as_str()
            .is_some_and(|by| by > "2026-03-01T08:00:00Z")
    );
    assert!(error(&bp(json!({"signs": "headache"})).to_string()).contains("chest-pain"));
    assert!(
        error(&bp(json!({"standing_sbp": 150})).to_string()).contains("standing_dbp is missing")
    );
}

#[test]
fn bloods_over_time() {
    let k = |value: Value, more: Value| {
        let mut line = json!({"calc": "blood_series", "test": "k", "results": [
            {"at": "2026-03-02T08:00:00Z", "value": value, "low": 3.5, "high": 5.3},
            {"at": "2026-03-01T08:00:00Z", "value": 4.8}]});
        line.as_object_mut()
            .expect("object")
            .extend(more.as_object().expect("object").clone());
        line
    };
    let high = ask(&k(json!(6.5), json!({"as_of": "2026-03-02T11:00:00Z"})));
    assert_eq!(high["critical_because"], "at or above 6.5 mmol/L");
    assert_eq!(
        (&high["flag"], &high["since_before"]),
        (&json!("high"), &json!(1.7))
    );
    assert_eq!(high["unreviewed_minutes"], 180);
    let under = ask(&k(
        json!(6.4),
        json!({"reviewed_at": "2026-03-02T08:00:00Z"}),
    ));
    assert_eq!(under["critical"], false);
    assert!(under["unreviewed_minutes"].is_null());
    let early = k(json!(6.4), json!({"reviewed_at": "2026-03-01T08:00:00Z"}));
    assert!(error(&early.to_string()).contains("before the latest result"));
    let crp = |last: i32| {
        ask(
            &json!({"calc": "crp", "treated_from": "2026-03-01T08:00:00Z", "values": [
            {"at": "2026-03-01T09:00:00Z", "value": 96}, {"at": "2026-03-02T09:00:00Z", "value": 180},
            {"at": "2026-03-03T08:00:00Z", "value": last}]}),
        )
    };
    assert_eq!(
        (&crp(90)["percent_of_peak"], &crp(90)["rising"]),
        (&json!(50), &json!(false))
    );
    assert_eq!(crp(181)["rising_on_treatment"], true);
    let one = json!({"calc": "crp", "treated_from": "2026-03-01T08:00:00Z", "values": []});
    assert!(error(&one.to_string()).contains("fewer than two values"));
}

#[test]
fn wounds_over_time() {
    let wound = |width: f64, more: Value| {
        let mut line = json!({"calc": "wound_series", "type": "venous-leg-ulcer", "measured": [
            {"at": "2026-03-29T10:00:00Z", "length": 4.0, "width": width},
            {"at": "2026-03-01T10:00:00Z", "length": 4.0, "width": 3.0}]});
        line.as_object_mut()
            .expect("object")
            .extend(more.as_object().expect("object").clone());
        ask(&line)
    };
    let reached = wound(
        1.8,
        json!({"infection": "overt-local", "category_before": "4", "category": "3",
        "next_dressing": "2026-04-01T00:30:00Z"}),
    );
    assert_eq!(reached["curve"][1]["reduction_percent"], 40.0);
    assert!(
        reached["four_weeks"]
            .as_str()
            .expect("said")
            .starts_with("at least 40 %")
    );
    assert_eq!(reached["escalate_for_infection"], false);
    assert_eq!(reached["staged_backwards"], true);
    // Half past midnight UTC is half past one in London: three midnights on.
    assert_eq!(reached["days_to_dressing"], 3);
    let missed = wound(1.9, json!({"infection": "spreading"}));
    assert!(
        missed["four_weeks"]
            .as_str()
            .expect("said")
            .starts_with("less than 40 %")
    );
    assert_eq!(missed["escalate_for_infection"], true);
}

#[test]
fn small_ones() {
    assert!(
        ask(&json!({"calc": "acvpu", "acvpu": "P"}))["says"]
            .to_string()
            .contains("Glasgow")
    );
    assert_eq!(
        ask(&json!({"calc": "pain", "rest": 3, "moving": 6, "before": 8}))["since_before"],
        -2
    );
    assert!(error(r#"{"calc":"pain","rest":11}"#).contains("0 to 10"));
    assert!(error(r#"{"calc":"pain"}"#).contains("rest or moving is missing"));
    let day = |on| json!({"calc": "treatment_day", "began": "28-Feb-2028", "on": on});
    assert_eq!(ask(&day("2028-03-01"))["day"], 3);
    assert!(error(&day("2028-02-27").to_string()).contains("before the treatment began"));
}

/// Each field that is named is read: an answer does not change silently with one left unread.
#[test]
fn every_calculator_refuses_a_field_it_does_not_know() {
    for calculator in CALCULATORS {
        let line = calculator.example.replacen('{', r#"{"unheard_of":1,"#, 1);
        assert!(error(&line).contains("unheard_of"), "{}", calculator.name);
    }
}

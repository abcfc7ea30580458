//! The documented shapes, byte for byte, and what is refused.

mod over_time;

use proptest::prelude::*;
use serde_json::Value;

use super::*;

const FULL: &str = r#"{"calc":"news2","rr":18,"spo2":96,"scale":1,"oxygen":false,"sbp":120,"hr":88,"acvpu":"A","temp":37.1}"#;

/// The error of a refused line.
fn error(line: &str) -> String {
    let answer: Value = serde_json::from_str(&answer(line)).expect("an answer is JSON");
    assert_eq!(answer["ok"], Value::Bool(false), "{line}: {answer}");
    answer["error"].as_str().expect("a sentence").to_owned()
}

/// An answer without the source and caution at its end, neither of which may be empty.
fn bare(line: &str) -> String {
    let said = answer(line);
    let whole: Value = serde_json::from_str(&said).expect("an answer is JSON");
    for beside in ["source", "caution"] {
        assert!(
            whole[beside].as_str().is_some_and(|text| text.len() > 10),
            "{said}"
        );
    }
    let (shape, _) = said.rsplit_once(r#","source":"#).expect("a source");
    format!("{shape}}}")
}

fn with(from: &str, to: &str) -> String {
    assert!(FULL.contains(from));
    FULL.replace(from, to)
}

#[test]
fn news2_answers_the_documented_shape() {
    assert_eq!(
        answer(FULL),
        r#"{"ok":true,"total":0,"parts":{"rr":0,"spo2":0,"oxygen":0,"sbp":0,"hr":0,"acvpu":0,"temp":0},"band":"low","single_3":false}"#
    );
    assert_eq!(
        answer(
            r#" { "temp" : 35.0, "rr":8, "calc":"news2", "spo2":91, "scale":1, "oxygen":true, "sbp":90, "hr":40, "acvpu":"U" } "#
        ),
        r#"{"ok":true,"total":20,"parts":{"rr":3,"spo2":3,"oxygen":2,"sbp":3,"hr":3,"acvpu":3,"temp":3},"band":"high","single_3":true}"#
    );
}

#[test]
fn an_incomplete_news2_names_what_is_missing_and_keeps_its_parts() {
    assert_eq!(
        answer(
            r#"{"calc":"news2","rr":25,"spo2":96,"oxygen":false,"sbp":120,"hr":88,"acvpu":"A","temp":null}"#
        ),
        r#"{"ok":false,"error":"the set is incomplete: scale and temp are missing, so there is no total","missing":["scale","temp"],"parts":{"rr":3,"oxygen":0,"sbp":0,"hr":0,"acvpu":0},"single_3":true}"#
    );
    assert!(
        error(r#"{"calc":"news2"}"#)
            .contains("rr, spo2, scale, oxygen, sbp, hr, acvpu and temp are missing")
    );
}

/// 0.1 has no binary fraction; every tenth must land on its own side of each boundary.
#[test]
fn a_temperature_is_read_as_written() {
    let temp = |text: &str| {
        let answer: Value = serde_json::from_str(&answer(&with("37.1", text))).expect("JSON");
        answer["parts"]["temp"].as_u64()
    };
    for (text, points) in [
        ("35", 3),
        ("35.0", 3),
        ("35.1", 1),
        ("36.0", 1),
        ("36.1", 0),
        ("38.0", 0),
        ("38.00", 0),
        ("38.1", 1),
        ("39", 1),
        ("39.0", 1),
        ("39.1", 2),
        ("39.10", 2),
    ] {
        assert_eq!(temp(text), Some(points), "{text}");
    }
    for (text, part) in [
        (
            "37.15",
            "finer than is charted; give a number with at most one decimal",
        ),
        ("38.05", "never rounded"),
        ("35.000000000000001", "finer"),
        ("98.6", "98.6 looks like Fahrenheit"),
        ("\"37.1\"", "must be a number"),
        ("3.71e1", "written without an exponent"),
        ("-37.1", "not possible"),
        ("99999999999999999999999", "not possible"),
        ("-99999999999999999999999", "not possible"),
        (
            "24.9",
            "temperature 24.9 °C is not possible; accepted are 25.0 to 45.0",
        ),
        ("[37.1]", "must be a number"),
        ("true", "must be a number"),
        ("NaN", "not one JSON object"),
        ("037.1", "not one JSON object"),
    ] {
        let said = error(&with("37.1", text));
        assert!(said.contains(part), "{text}: {said}");
    }
}

#[test]
fn what_is_wrong_is_said() {
    for (line, part) in [
        (String::new(), "not one JSON object"),
        ("[]".to_owned(), "not one JSON object"),
        ("{".to_owned(), "not one JSON object"),
        (format!("{FULL}{FULL}"), "not one JSON object"),
        ("{}".to_owned(), "\"calc\" is missing"),
        (r#"{"calc":7}"#.to_owned(), "must be a text"),
        (
            r#"{"calc":"newsier"}"#.to_owned(),
            "no calculator \"newsier\"; give one of news2, news2_series, map",
        ),
        (
            with("\"rr\"", "\"resp\""),
            "\"resp\" is not a field of news2; its fields are rr, spo2",
        ),
        (
            with("\"rr\":18", "\"rr\":18,\"rr\":19"),
            "\"rr\" is given twice",
        ),
        (with("18", "18.5"), "finer"),
        (
            with("18", "1e1"),
            "written without an exponent: 10, not 1e1",
        ),
        (
            with("18", "0"),
            "respiration rate 0 is not possible; accepted are 1 to 80",
        ),
        (with("96", "101"), "SpO2 101 is not possible"),
        (with("\"scale\":1", "\"scale\":3"), "accepted are 1 to 2"),
        (with("false", "\"no\""), "\"oxygen\" must be true or false"),
        (with("false", "0"), "\"oxygen\" must be true or false"),
        (with("\"A\"", "\"X\""), "C (new confusion)"),
        (
            format!("{{\"x\":{}1{}}}", "[".repeat(5000), "]".repeat(5000)),
            "\"calc\" is missing",
        ),
        ("x".repeat(70_000), "at most 65536"),
        (
            format!("{{{}}}", vec!["\"a\":1"; 33].join(",")),
            "more than 32 fields",
        ),
    ] {
        let said = error(&line);
        assert!(said.contains(part), "{line:.60}: {said}");
    }
    // A number is a number, however its writer likes to print it.
    assert_eq!(answer(&with("18", "18.0")), answer(FULL));
    assert_eq!(
        answer(&FULL.replace("\"rr\"", "\"\\u0072r\"")),
        answer(FULL)
    );
}

#[test]
fn control_characters_stay_escaped() {
    let said = answer("{\"calc\":\"\\u001b[31m\\u202e\"}");
    assert!(!said.contains('\u{1b}'));
}

#[test]
fn pressures() {
    assert_eq!(
        answer(r#"{"calc":"map","sbp":134,"dbp":85,"hr":72}"#),
        format!(
            r#"{{"ok":true,"map":101,"pulse_pressure":49,"shock_index":0.54,"clinic_range":"below","home_range":"stage-1","caution":"{}"}}"#,
            crate::clinical::pressure::RANGE_CAUTION
        )
    );
    assert!(error(r#"{"calc":"map","sbp":134}"#).contains("dbp is missing"));
    assert!(error(r#"{"calc":"map","sbp":80,"dbp":120}"#).contains("wrong way round"));
    let reading = |day: u32, hour: u32, sbp: u32, dbp: u32| {
        format!(r#"{{"at":"2026-03-{day:02}T{hour:02}:00:00Z","sbp":{sbp},"dbp":{dbp}}}"#)
    };
    let readings: Vec<String> = (1..=4)
        .flat_map(|day| {
            [8, 9, 20, 21].map(|hour| reading(day, hour, if day == 1 { 199 } else { 135 }, 80))
        })
        .collect();
    assert_eq!(
        bare(&format!(
            r#"{{"calc":"home_bp","readings":[{}]}}"#,
            readings.join(",")
        )),
        r#"{"ok":true,"average":"135/80","range":"stage-1","readings_used":12,"days":4,"notes":["fewer than the ideal 7 days"]}"#
    );
    assert!(
        error(&format!(
            r#"{{"calc":"home_bp","readings":[{}]}}"#,
            readings[..9].join(",")
        ))
        .contains("at least 4")
    );
    let one = error(&format!(
        r#"{{"calc":"home_bp","readings":[{}]}}"#,
        readings[0]
    ));
    assert!(one.contains("cover 1 day;"), "{one}");
    assert!(
        error(r#"{"calc":"home_bp","readings":[{"at":"monday","sbp":1,"dbp":1}]}"#)
            .contains("readings[0].at")
    );
    assert!(error(r#"{"calc":"home_bp","readings":[{"pulse":1}]}"#).contains("readings[0].pulse"));
}

#[test]
fn trends() {
    let reading = |n: usize, value: &str| {
        format!(
            r#"{{"at":"2026-03-{:02}T{:02}:00:00Z","value":{value}}}"#,
            1 + n / 6,
            n % 6 * 4
        )
    };
    let usual = [
        "36.8", "36.9", "37.0", "36.8", "36.7", "36.9", "36.8", "37", "36.9",
    ];
    let list: Vec<String> = usual
        .iter()
        .enumerate()
        .map(|(n, v)| reading(n, v))
        .collect();
    let ask = |more: &str| {
        answer(&format!(
            r#"{{"calc":"trend","sign":"temp",{more}"readings":[{}]}}"#,
            list.join(",")
        ))
    };
    let said: Value = serde_json::from_str(&ask("")).expect("JSON");
    assert_eq!(said["ok"], true, "{said}");
    assert_eq!(
        said["says"],
        "temperature 36.9 °C at 08:00, usual 36.3 to 37.4"
    );
    assert_eq!(said["usual"], serde_json::json!([36.3, 37.4]));
    assert!(said["drift"].is_null() && said["slope_per_hour"].is_null());
    assert!(ask(r#""as_of":"2026-02-01T00:00:00Z","#).contains("no reading up to that time"));
    assert!(error(r#"{"calc":"trend","sign":"skin","readings":[]}"#).contains("rr, spo2"));
    let fine =
        r#"{"calc":"trend","sign":"hr","readings":[{"at":"2026-03-01T00:00:00Z","value":80.5}]}"#;
    assert!(error(fine).contains("readings[0].value"));
}

/// Every calculator, its fields, and the answer to its example stand in the document, word for
/// word. `HANDFAST_WRITE_DOCS=1 cargo test --lib calculator` writes them.
#[test]
fn the_document_lists_every_calculator_field_and_answer() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/clinical.md");
    let document = std::fs::read_to_string(path).expect("docs/clinical.md");
    let mut reference = String::new();
    for calculator in CALCULATORS {
        reference += &format!("### `{}`: {}\n\n", calculator.name, calculator.about);
        reference += "| field | holds | |\n|---|---|---|\n";
        for field in calculator.fields {
            let need = if field.required {
                "required"
            } else {
                "may be left out"
            };
            reference += &format!("| `{}` | {} | {need} |\n", field.name, field.holds);
        }
        let said = answer(calculator.example);
        assert!(said.starts_with(r#"{"ok":true"#), "{said}");
        reference += &format!("\n```json\n{}\n{said}\n```\n\n", calculator.example);
    }
    let (prose, _) = document.split_once("### `news2`").expect("its place");
    let fresh = format!("{prose}{}\n", reference.trim_end());
    if std::env::var_os("HANDFAST_WRITE_DOCS").is_some() {
        std::fs::write(path, &fresh).expect("written");
        return;
    }
    assert!(
        document == fresh,
        "docs/clinical.md differs; HANDFAST_WRITE_DOCS=1 cargo test --lib calculator"
    );
}

#[test]
fn persons() {
    let number = |digits: &str| {
        let said = answer(&format!(r#"{{"calc":"nhs_number","number":"{digits}"}}"#));
        let (shape, caution) = said.split_once(r#","caution":"#).expect("a caution");
        assert!(caution.contains("Arithmetic only"), "{said}");
        format!("{shape}}}")
    };
    assert_eq!(
        number("999 000 0018"),
        r#"{"ok":true,"shown":"999 000 0018","reserved_for_tests":true,"accepted_in_entry":true}"#
    );
    // Clinical reference W4 and P5: valid by the arithmetic, refused in entry.
    assert_eq!(
        number("9999999999"),
        r#"{"ok":true,"shown":"999 999 9999","reserved_for_tests":true,"accepted_in_entry":false}"#
    );
    assert!(error(r#"{"calc":"nhs_number","number":"9990000019"}"#).contains("should be 8, not 9"));
    assert!(error(r#"{"calc":"nhs_number","number":9990000018}"#).contains("in quotes"));
    assert_eq!(
        answer(r#"{"calc":"age","born":"29-Feb-1944","on":"2026-02-28"}"#),
        r#"{"ok":true,"years":81,"months":11,"days":30}"#
    );
    assert!(error(r#"{"calc":"age","born":"2026-02-28","on":"2026-02-27"}"#).contains("before"));
    assert_eq!(
        answer(
            r#"{"calc":"stay","admitted":"2026-10-24T09:00:00Z","left":"2026-10-26T10:00:00Z"}"#
        ),
        r#"{"ok":true,"midnights":2,"elapsed_min":2940}"#
    );
}

#[test]
fn bloods() {
    let aki = |more: &str| {
        answer(&format!(
            r#"{{"calc":"aki","creatinine":120,"age":70,{more}}}"#
        ))
    };
    assert_eq!(
        aki(r#""previous":[{"creatinine":80,"days_ago":7},{"creatinine":100,"hours_ago":30}]"#),
        format!(
            r#"{{"ok":true,"stage":1,"reference":80.0,"reference_rule":"lowest-0-7-days","ratio":1.5,"rise_48h":20.0,"in_range":null,"says":"AKI 1 alert: creatinine 120 µmol/L is 1.50 times the lowest of the last 7 days (80 µmol/L)","caution":"{}"}}"#,
            crate::clinical::aki::CAUTION
        )
    );
    let alone = aki(r#""previous":[],"low":59,"high":104"#);
    assert!(alone.contains(r#""stage":null"#) && alone.contains("above the laboratory's range"));
    assert!(error(r#"{"calc":"aki","creatinine":120}"#).contains("age and previous are missing"));
    assert!(error(r#"{"calc":"aki","creatinine":1.3,"age":70,"previous":[]}"#).contains("mg/dL"));
    assert!(aki(r#""previous":[{"creatinine":80}]"#).contains(r#""ok":false"#));
    assert!(
        aki(r#""previous":[{"creatinine":80,"days_ago":1,"hours_ago":1}]"#).contains("give one")
    );
    assert!(aki(r#""previous":[],"low":104,"high":59"#).contains("less than high"));
    // One limit alone is documented and enough (reference 6: a child's stage 3 needs the upper).
    assert!(aki(r#""previous":[],"high":104"#).contains("above the laboratory's range"));
    let child = |more: &str| {
        answer(&format!(
            r#"{{"calc":"aki","creatinine":181,"age":17,"previous":[{{"creatinine":100,"days_ago":3}}]{more}}}"#
        ))
    };
    assert!(child(r#","high":60"#).contains(r#""stage":3"#));
    let unchecked = child("");
    assert!(unchecked.contains(r#""stage":1"#) && unchecked.contains("by value was not checked"));
    assert_eq!(
        answer(r#"{"calc":"egfr","creatinine":80,"age":50,"sex":"F"}"#),
        format!(
            r#"{{"ok":true,"ckd_epi_2009":74,"ckd_epi_2021":77,"reported_uk":"74","reported_by":"CKD-EPI 2009 without ethnicity","unit":"mL/min/1.73 m²","caution":"{}"}}"#,
            crate::clinical::egfr::CAUTION
        )
    );
    assert!(error(r#"{"calc":"egfr","creatinine":80,"age":17,"sex":"F"}"#).contains("18 to 120"));
    assert!(error(r#"{"calc":"egfr","creatinine":80,"age":50,"sex":"other"}"#).contains("women"));
    assert!(error(r#"{"calc":"egfr","creatinine":80,"age":50}"#).contains("sex is missing"));
}

#[test]
fn single_results() {
    assert_eq!(
        bare(r#"{"calc":"blood","test":"k","value":6.5,"low":3.5,"high":5.0}"#),
        r#"{"ok":true,"flag":"high","range_from":"laboratory","critical":true,"unit":"mmol/L"}"#
    );
    assert_eq!(
        answer(r#"{"calc":"blood","test":"crp","value":"<5"}"#),
        format!(
            r#"{{"ok":true,"flag":"within","range_from":"typical","critical":false,"unit":"mg/L","source":"{}","caution":"{}"}}"#,
            crate::clinical::blood::SOURCE,
            crate::clinical::blood::TYPICAL_CAUTION
        )
    );
    let hb = r#"{"calc":"blood","test":"hb","value":120"#;
    let unknown = answer(&format!("{hb}}}"));
    assert!(unknown.contains(r#""flag":"unknown","range_from":"none""#));
    assert!(
        unknown.contains("depends on sex: give sex (F or M)"),
        "{unknown}"
    );
    let glucose = answer(r#"{"calc":"blood","test":"glucose","value":6}"#);
    assert!(
        glucose.contains("no typical range of glucose is held"),
        "{glucose}"
    );
    let either = answer(r#"{"calc":"blood","test":"crp","value":"<6"}"#);
    assert!(either.contains("either side of a limit"), "{either}");
    // Another unit, as the entry itself refuses it (src/record/kind/sample/limits.rs).
    let g_per_dl = error(r#"{"calc":"blood","test":"hb","value":14.0}"#);
    assert!(
        g_per_dl.contains("not possible") && g_per_dl.contains("g/dL"),
        "{g_per_dl}"
    );
    let rare = answer(r#"{"calc":"blood","test":"k","value":9}"#);
    assert!(
        rare.contains(r#""check":"potassium 9 mmol/L is outside 2 to 8"#),
        "{rare}"
    );
    assert!(answer(&format!(r#"{hb},"sex":"F"}}"#)).contains(r#""flag":"within""#));
    assert!(answer(&format!(r#"{hb},"sex":"M"}}"#)).contains(r#""flag":"low""#));
    assert!(error(&format!(r#"{hb},"low":9,"high":9}}"#)).contains("less than high"));
    for bad in ["-1", "\"5\"", "\"<\"", "\"<-5\"", "true", "[5]", "\"é5\""] {
        let line = format!(r#"{{"calc":"blood","test":"k","value":{bad}}}"#);
        assert!(
            error(&line).contains("must be a number of 0 or more"),
            "{bad}"
        );
    }
    assert!(error(r#"{"calc":"blood","test":"xyz","value":5}"#).contains("a test such as"));
}

#[test]
fn at_the_bedside() {
    assert_eq!(
        bare(
            r#"{"calc":"wound","length":3,"width":2,"depth":0.2,"first_length":5,"first_width":2.0,"days":28,"type":"diabetic-foot-ulcer"}"#
        ),
        r#"{"ok":true,"healed":false,"area_rectangle_cm2":6.0,"area_ellipse_cm2":4.7124,"volume_box_cm3":1.2,"perimeter_cm":7.9327,"reduction_percent":40.0,"gilman_cm":0.3232,"gilman_cm_per_week":0.0808,"marker":{"percent":50,"reached":false,"source":"Sheehan 2003 (midpoint 53 %; 50 % is its rounded consensus form)","says":"less than 50 % smaller at 4 weeks: reassess cause, infection, compression or offloading, and circulation; consider a specialist"}}"#
    );
    assert_eq!(
        bare(r#"{"calc":"wound","length":0,"width":0}"#),
        r#"{"ok":true,"healed":true,"area_rectangle_cm2":0.0,"area_ellipse_cm2":0.0,"perimeter_cm":0.0}"#
    );
    assert!(error(r#"{"calc":"wound","length":3.25,"width":2}"#).contains("finer"));
    assert!(error(r#"{"calc":"wound","length":3,"width":2,"days":28}"#).contains("first_length"));
    assert!(
        error(r#"{"calc":"wound","length":3,"width":2,"first_length":0,"first_width":0}"#)
            .contains("no area")
    );
    assert_eq!(
        bare(r#"{"calc":"gcs","eye":3,"verbal":4,"motor":6}"#),
        r#"{"ok":true,"total":13,"parts":"E3 V4 M6","suggests_confusion":true}"#
    );
    assert_eq!(
        bare(r#"{"calc":"gcs","eye":4,"verbal":"NT","motor":6}"#),
        r#"{"ok":true,"total":null,"parts":"E4 VNT M6","suggests_confusion":false}"#
    );
    assert!(error(r#"{"calc":"gcs","eye":4,"motor":6}"#).contains("verbal is missing"));
    assert!(
        error(r#"{"calc":"gcs","eye":5,"verbal":5,"motor":6}"#)
            .contains("eye 5 is not on the scale")
    );
    assert_eq!(
        bare(r#"{"calc":"4at","alertness":0,"amt4":1,"attention":2,"acute_change":4}"#),
        r#"{"ok":true,"total":7,"reading":"possible delirium","credit":"4AT © MacLullich, Ryan, Cash (the4at.com)"}"#
    );
    assert!(
        error(r#"{"calc":"4at","alertness":0,"amt4":1}"#)
            .contains("attention and acute_change are missing")
    );
    assert_eq!(
        bare(
            r#"{"calc":"fluid","from":"2026-03-01T00:00:00Z","to":"2026-03-01T06:00:00Z","weight":80,"amounts":[{"at":"2026-03-01T00:00:00Z","way":"in","ml":500},{"at":"2026-03-01T05:59:00Z","way":"urine","ml":239},{"at":"2026-03-01T06:00:00Z","way":"out","ml":100}]}"#
        ),
        r#"{"ok":true,"in_ml":500,"out_ml":239,"net_ml":261,"urine_ml":239,"counted":2,"urine_under_half_ml_per_kg_h":true}"#
    );
    assert!(error(r#"{"calc":"fluid","from":"2026-03-01T00:00:00Z","to":"2026-03-01T00:00:00Z","amounts":[]}"#).contains("must end after"));
}

proptest! {
    /// Whatever is sent, one line of JSON with "ok" comes back.
    #[test]
    fn any_line_is_answered(line in "\\PC{0,60}|\\{\"calc\":\"[a-z0-9_]{0,8}\",\"[a-z0-9_]{0,8}\":[0-9.eE+-]{0,8}\\}") {
        let said = answer(&line);
        let parsed: Value = serde_json::from_str(&said).expect("JSON");
        prop_assert!(parsed["ok"].is_boolean() && !said.contains('\n'));
    }

    /// Tenths survive: the points are those of the library, for every tenth in range.
    #[test]
    fn tenths_are_exact(tenths in 250_i32..=450) {
        let text = format!("{}.{}", tenths / 10, tenths % 10);
        let said: Value = serde_json::from_str(&answer(&with("37.1", &text))).expect("JSON");
        let set = crate::clinical::news2::Set { temp_deci_c: Some(tenths), ..Default::default() };
        let points = crate::clinical::news2::score(&set).expect("possible").parts.temp;
        prop_assert_eq!(said["parts"]["temp"].as_u64(), points.map(u64::from));
    }
}

/// Clinical reference W8, row 2, and W10.
#[test]
fn ward_measures() {
    let chart = answer(r#"{"calc":"xmr","values":[10,12,11,13,10,12,11,25,13,11,12,10]}"#);
    assert_eq!(
        chart,
        r#"{"ok":true,"mean":12.5,"mean_range":3.8182,"low":2.3436,"high":22.6564,"range_high":12.474,"trial":false,"outside":[7],"shift":[],"trend":[],"two_of_three":[]}"#
    );
    assert!(answer(r#"{"calc":"xmr","values":[1,2]}"#).contains("trial limits"));
    assert!(error(r#"{"calc":"xmr","values":[1]}"#).contains("at least 2 points"));
    assert!(error(r#"{"calc":"xmr","values":[1,"two"]}"#).contains("list of numbers"));
    assert!(error(r#"{"calc":"xmr","values":[1,1e5]}"#).contains("without exponents"));
    let full = r#"{"calc":"occupancy","patients":5,"capacity":0,"population":50000}"#;
    assert_eq!(
        answer(full),
        r#"{"ok":true,"occupancy_percent":null,"above_80_percent":null,"capacity_per_100_000":0.0,"says":"occupancy is not defined without an open place"}"#
    );
    assert!(error(r#"{"calc":"occupancy","patients":-1,"capacity":5}"#).contains("0 to 100000"));
    assert!(
        error(r#"{"calc":"retention","last_entry":"2026-04-14"}"#).contains("record is missing")
    );
    let kept = r#"{"calc":"retention","last_entry":"2026-02-30","record":"adult"}"#;
    assert!(answer(kept).contains(r#""ok":false"#));
}

/// The target of the age: NG136 1.4.22, both sides of 80.
#[test]
fn a_home_average_is_held_against_the_target_of_the_age() {
    let readings = r#"{"at":"2026-03-01T08:00:00Z","sbp":150,"dbp":92},{"at":"2026-03-02T08:00:00Z","sbp":140,"dbp":84},{"at":"2026-03-03T08:00:00Z","sbp":138,"dbp":83},{"at":"2026-03-04T08:00:00Z","sbp":140,"dbp":84}"#;
    let said = |age: &str| {
        answer(&format!(
            r#"{{"calc":"home_bp","readings":[{readings}]{age}}}"#
        ))
    };
    assert!(said("").contains(r#""days":4,"notes""#), "{}", said(""));
    let (younger, older) = (said(r#","age":79"#), said(r#","age":80"#));
    assert!(
        younger.contains(r#""target_under":[135,85],"under_target":false"#),
        "{younger}"
    );
    assert!(
        older.contains(r#""target_under":[145,85],"under_target":true"#),
        "{older}"
    );
    assert!(said(r#","age":17"#).contains("18 to 120"));
}

/// A series refuses what one result refuses.
#[test]
fn a_series_refuses_what_is_not_possible() {
    let bad = r#"{"calc":"blood_series","test":"k","results":[{"at":"2026-03-01T08:00:00Z","value":45}]}"#;
    assert!(
        error(bad).contains("potassium 45 mmol/L is not possible"),
        "{}",
        answer(bad)
    );
    let crp = r#"{"calc":"crp","treated_from":"2026-03-01T08:00:00Z","values":[{"at":"2026-03-01T09:00:00Z","value":96},{"at":"2026-03-03T09:00:00Z","value":1001}]}"#;
    assert!(
        error(crp).contains("CRP 1001 mg/L is not possible"),
        "{}",
        answer(crp)
    );
}

#[test]
fn a_wound_data_set_says_what_is_left_out_and_of_how_many() {
    let full = r#"{"calc":"wound_dataset","kind":"venous-leg-ulcer","healed":false,"length":3.2,"width":2.1,"depth":0.2,"undermining":"none","granulation":100,"edges":"flat","skin":"dry","pain":2,"exudate":"none","odour":"no","infection":"none","swab":"no","next_change":"2026-03-03T10:00:00Z"}"#;
    let said = answer(full);
    assert!(
        said.contains(r#""left_out":[],"looked_at":16,"of_published":37"#),
        "{said}"
    );
    let said = answer(&full.replace(r#""depth":0.2,"#, ""));
    assert!(
        said.contains(r#""left_out":["depth"]"#)
            && said.contains("1 item is left out; 16 of the 37"),
        "{said}"
    );
    let empty = answer(r#"{"calc":"wound_dataset"}"#);
    // Whoever reads it is told what the check cannot see.
    assert!(empty.contains("allergies (admission)") && empty.contains("quality of life"));
    assert!(
        empty.contains("type of wound") && empty.contains("14 items are left out"),
        "{empty}"
    );
    let healed = answer(r#"{"calc":"wound_dataset","healed":true}"#);
    assert!(healed.contains("healed: nothing more is asked"), "{healed}");
    for (bad, what) in [
        (r#"{"calc":"wound_dataset","length":101}"#, "not possible"),
        (
            r#"{"calc":"wound_dataset","exudate":"lots"}"#,
            "not one of the values",
        ),
        (r#"{"calc":"wound_dataset","pain":[3]}"#, "one text, number"),
        (r#"{"calc":"wound_dataset","site":"heel"}"#, "not a field"),
    ] {
        assert!(error(bad).contains(what), "{}", answer(bad));
    }
}

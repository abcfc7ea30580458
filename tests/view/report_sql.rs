//! The ward's report against an independent count: the demo ward's entries in SQLite, counted
//! in SQL. Nothing of the fold is used there; corrections are put in place and what was
//! withdrawn is left out by the entries' own words.

use std::collections::BTreeMap;

use handfast::record::codec;
use handfast::record::ids::Seq;
use handfast::record::kind::Body;
use handfast::view::origin::Vantage;
use handfast::view::report::{Report, report};
use handfast::ward::report::{Figure, Matter, Period};
use rusqlite::Connection;

use crate::demo_ward::{self, DemoWard};

fn db(demo: &DemoWard) -> Connection {
    let db = Connection::open_in_memory().expect("a database");
    db.execute_batch(
        "create table entry(seq integer primary key, kind text, patient text, at integer,
             written integer, body text);
         create table instead(seq integer primary key, at integer, body text);",
    )
    .expect("tables");
    for entry in demo.entries.0.values() {
        let patient = entry.patient.map(|patient| patient.to_string());
        let body = serde_json::to_string(&entry.body).expect("JSON");
        let row = (
            number(entry.seq),
            entry.kind().name(),
            patient,
            entry.envelope.occurred_at.0,
            entry.recorded_at.0,
            body,
        );
        db.execute("insert into entry values (?,?,?,?,?,?)", row)
            .expect("a row");
        let Body::Amendment(amendment) = &entry.body else {
            continue;
        };
        if let Some(new) = &amendment.replacement {
            let read = codec::decode(new.kind, new.version, codec::ENCODING, &new.payload);
            let (envelope, body) = read.expect("a correction");
            let body = serde_json::to_string(&body).expect("JSON");
            let row = (number(amendment.target), envelope.occurred_at.0, body);
            db.execute("insert into instead values (?,?,?)", row)
                .expect("one correction of an entry");
        }
    }
    db.execute_batch(
        "create view stands as
           select e.seq, kind, patient, coalesce(i.at, e.at) as at, written,
                  coalesce(i.body, e.body) as body
           from entry e left join instead i on i.seq = e.seq
           where e.seq not in (select body ->> 'target' from entry
                               where kind = 'amendment' and body ->> 'act' = 'withdraw');
         -- A worry in a contact or a set raises an alert of its own.
         create view alerts as
           select seq, at, body ->> 'source' as source, body ->> 'severity' as severity
             from stands where kind = 'alert'
           union all
           select seq, at,
                  case when body ->> 'started_by' = 'carer' or body ->> 'spoke_to' = 'carer' then 'carer-concern'
                       when body ->> 'started_by' = 'patient' or body ->> 'spoke_to' = 'patient' then 'patient-concern'
                       else 'nurse-concern' end, 'urgent'
             from stands where kind = 'contact' and body ->> 'worry' is not null
           union all
           select seq, at, 'nurse-concern', 'urgent'
             from stands where kind = 'obs' and body ->> 'worry' is not null;
         create view contacts as
           select seq, patient, at, body ->> 'mode' as mode, body ->> 'outcome' as outcome,
                  body ->> 'outcome' in ('no-answer','voicemail','wrong-number','no-entry') as missed,
                  coalesce(body ->> 'spoke_to', '') in ('professional','nobody') as elsewhere,
                  unixepoch(substr(body ->> 'next', 1, 19)) * 1000000 as next
             from stands where kind = 'contact';",
    )
    .expect("views");
    db
}

type Found = BTreeMap<String, Vec<i64>>;

/// Entries by the first column; the period's ends are `?1` and `?2`.
fn sql(db: &Connection, period: Period, query: &str) -> Found {
    let mut statement = db.prepare(query).expect(query);
    let ends = [period.from.0, period.until.0];
    let ends = &ends[..statement.parameter_count()];
    let rows = statement
        .query_map(rusqlite::params_from_iter(ends), |row| {
            Ok((row.get::<_, String>(0)?, row.get::<_, i64>(1)?))
        })
        .expect(query);
    let mut found = Found::new();
    for row in rows {
        let (key, seq) = row.expect(query);
        found.entry(key).or_default().push(seq);
    }
    found.values_mut().for_each(|seqs| seqs.sort_unstable());
    found
}

/// The same of a report: figures of one name that are of some sort and not 0.
fn ours(report: &Report, about: Matter, name: &str) -> Found {
    let figures = &report.part(about).expect("a part").figures;
    let sorted = figures.iter().filter(|f| f.name == name && f.count > 0);
    let sorted = sorted.filter(|figure| !figure.of.is_empty());
    sorted
        .map(|figure| (figure.of.join(" "), seqs(figure)))
        .collect()
}

fn seqs(figure: &Figure) -> Vec<i64> {
    figure.entries.iter().map(|seq| number(*seq)).collect()
}

/// As SQL counts.
fn number(seq: Seq) -> i64 {
    i64::try_from(seq.0).expect("a small number")
}

fn one(report: &Report, about: Matter, name: &str) -> Figure {
    let part = report.part(about).expect("a part");
    part.figure(name)
        .unwrap_or_else(|| panic!("{name}"))
        .clone()
}

pub fn drawn(demo: &DemoWard, period: Period) -> Report {
    let vantage = Vantage {
        ward: &demo.ward,
        now: demo.now,
        since: None,
    };
    report(&vantage, period)
}

/// The week before, and the day of the clock change so far.
pub fn periods(demo: &DemoWard) -> [Period; 2] {
    let week = Period::last_days(demo.now, demo.ward.zone());
    let today = Period {
        from: week.until,
        until: demo.now,
    };
    [week, today]
}

#[test]
fn counts_by_sort_are_those_of_sql() {
    let demo = demo_ward::whole();
    let db = db(&demo);
    let mut rows = 0;
    for period in periods(&demo) {
        let report = drawn(&demo, period);
        for (about, name, query) in [
            (
                Matter::Admissions,
                "admitted",
                "select body ->> 'source', seq from stands
                 where kind = 'admission' and at >= ?1 and at < ?2",
            ),
            (
                Matter::Discharges,
                "left",
                "select body ->> 'to', seq from stands
                 where kind = 'discharge' and at >= ?1 and at < ?2",
            ),
            (
                Matter::Contacts,
                "by-mode-and-outcome",
                "select mode || ' ' || outcome, seq from contacts where at >= ?1 and at < ?2",
            ),
            (
                Matter::Alerts,
                "by-source-and-severity",
                "select source || ' ' || severity, seq from alerts where at >= ?1 and at < ?2",
            ),
            (
                Matter::Alerts,
                "closed",
                "select s.body ->> 'outcome', s.body ->> 'alert' from stands s
                 where kind = 'alert-step' and s.body ->> 'step' = 'closed' and at >= ?1 and at < ?2",
            ),
            (
                Matter::Amendments,
                "by-act-and-cause",
                "select body ->> 'act' || ' ' || (body ->> 'cause'), seq from entry
                 where kind = 'amendment' and written >= ?1 and written < ?2",
            ),
        ] {
            let theirs = sql(&db, period, query);
            rows += theirs.values().map(Vec::len).sum::<usize>();
            assert_eq!(ours(&report, about, name), theirs, "{name}");
        }
    }
    assert!(rows > 150, "the demo ward has something to count: {rows}");
}

#[test]
fn figures_without_a_sort_are_those_of_sql() {
    let demo = demo_ward::whole();
    let db = db(&demo);
    for period in periods(&demo) {
        let report = drawn(&demo, period);
        for (about, name, query) in [
            (
                Matter::Contacts,
                "unreached",
                "select '', seq from contacts where missed and at >= ?1 and at < ?2",
            ),
            (
                Matter::Escalations,
                "made",
                "select '', seq from stands where kind = 'escalation' and at >= ?1 and at < ?2",
            ),
            (
                Matter::Tasks,
                "set",
                "select '', seq from stands where kind = 'task' and at >= ?1 and at < ?2",
            ),
            (
                Matter::Tasks,
                "done",
                "select '', seq from stands where kind = 'task-step'
                 and body ->> 'step' = 'done' and at >= ?1 and at < ?2",
            ),
            (
                Matter::Tasks,
                "not-done",
                "select '', seq from stands where kind = 'task-step'
                 and body ->> 'step' = 'not-done' and at >= ?1 and at < ?2",
            ),
            (
                Matter::Readings,
                "sets",
                "select '', seq from stands where kind = 'obs' and at >= ?1 and at < ?2
                 and coalesce(body ->> 'rr', body ->> 'spo2', body ->> 'sbp', body ->> 'hr',
                              body ->> 'acvpu', body ->> 'temp') is not null",
            ),
            (
                Matter::Readings,
                "complete",
                "select '', seq from stands where kind = 'obs' and at >= ?1 and at < ?2
                 and body ->> '$.rr.value.value' is not null and body ->> '$.spo2.value.value' is not null
                 and body ->> '$.sbp.value.value' is not null and body ->> '$.hr.value.value' is not null
                 and body ->> '$.temp.value.value' is not null
                 and body ->> 'acvpu' is not null and body ->> 'oxygen' is not null",
            ),
            (
                Matter::Writing,
                "written",
                "select '', seq from entry where written >= ?1 and written < ?2",
            ),
            (
                Matter::Writing,
                "late",
                "select '', seq from entry where written >= ?1 and written < ?2
                 and written - at > 60000000 * (select body ->> 'value' from entry
                     where kind = 'policy' and body ->> 'setting' like '%late_entry_minutes'
                     order by seq desc limit 1)",
            ),
            (
                Matter::Handovers,
                "prepared",
                "select '', seq from stands where kind = 'handover' and at >= ?1 and at < ?2",
            ),
            (
                Matter::Handovers,
                "accepted",
                "select '', h.seq from stands h, stands s where h.kind = 'handover'
                 and s.kind = 'handover-step' and s.patient is null
                 and s.body ->> 'step' = 'accepted' and s.body ->> 'handover' = h.seq
                 and h.at >= ?1 and h.at < ?2",
            ),
            (
                Matter::Shifts,
                "shifts",
                "select '', seq from stands where kind = 'shift'
                 and unixepoch(substr(body ->> 'from', 1, 19)) * 1000000 >= ?1
                 and unixepoch(substr(body ->> 'from', 1, 19)) * 1000000 < ?2",
            ),
            (
                Matter::ContactsDue,
                "due",
                "select '', c.seq from contacts c where next >= ?1 and next < ?2 and not exists
                   (select 1 from stands d where d.kind = 'discharge' and d.patient = c.patient
                    and d.at >= c.at and d.at < c.next)",
            ),
            (
                Matter::ContactsDue,
                "agreed-anew",
                "select '', c.seq from contacts c where next >= ?1 and next < ?2 and exists
                   (select 1 from contacts l where l.patient = c.patient
                    and (l.at, l.seq) > (c.at, c.seq) and l.at < c.next and l.next is not null)
                 and not exists
                   (select 1 from stands d where d.kind = 'discharge' and d.patient = c.patient
                    and d.at >= c.at and d.at < c.next)",
            ),
        ] {
            let theirs = sql(&db, period, query);
            let theirs = theirs.get("").cloned().unwrap_or_default();
            let figure = one(&report, about, name);
            assert_eq!(seqs(&figure), theirs, "{name}");
            assert_eq!(figure.count, theirs.len() as u64, "{name}");
        }
    }
}

/// Minutes from one moment to the first of others, per entry; none while it waits.
fn waits(db: &Connection, period: Period, query: &str) -> Vec<(i64, Option<f64>)> {
    let mut statement = db.prepare(query).expect(query);
    let rows = statement
        .query_map([period.from.0, period.until.0], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .expect(query);
    rows.map(|row| row.expect(query)).collect()
}

/// The middle by the textbook, over all; what waits is longer than anything.
fn middle(waits: &[(i64, Option<f64>)]) -> Option<f64> {
    let mut all: Vec<f64> = waits.iter().map(|w| w.1.unwrap_or(f64::INFINITY)).collect();
    all.sort_by(f64::total_cmp);
    let count = all.len();
    if count == 0 {
        return None;
    }
    let mean = (all[(count - 1) / 2] + all[count / 2]) / 2.0;
    mean.is_finite().then_some(mean)
}

const TO_ACT: &str = "select a.seq, (select (min(s.at) - a.at) / 60e6 from
      (select at from stands where kind = 'alert-step' and body ->> 'alert' = a.seq
         and body ->> 'step' in ('actioned','escalated','closed')
       union all
       select at from stands where kind = 'contact' and body ->> 'answers' = a.seq
         and body ->> 'outcome' not in ('no-answer','voicemail','wrong-number','no-entry')) s)
    from alerts a where a.at >= ?1 and a.at < ?2";

const TO_CLOSE: &str = "select a.seq, (select (min(s.at) - a.at) / 60e6 from stands s
      where kind = 'alert-step' and body ->> 'alert' = a.seq and body ->> 'step' = 'closed')
    from alerts a where a.at >= ?1 and a.at < ?2";

const TO_ANSWER: &str = "select e.seq, (select (min(s.at) - e.at) / 60e6 from stands s
      where kind = 'escalation-step' and body ->> 'escalation' = e.seq
        and body ->> 'step' = 'answered')
    from stands e where e.kind = 'escalation' and e.at >= ?1 and e.at < ?2";

const TO_ACCEPT: &str = "select h.seq, (select (min(s.at) - h.at) / 60e6 from stands s
      where kind = 'handover-step' and patient is null and body ->> 'handover' = h.seq
        and body ->> 'step' = 'accepted')
    from stands h where h.kind = 'handover' and h.at >= ?1 and h.at < ?2";

#[test]
fn times_are_those_of_sql_and_nothing_that_waits_is_left_out() {
    let demo = demo_ward::whole();
    let db = db(&demo);
    let (mut ended, mut waiting) = (0, 0);
    for period in periods(&demo) {
        let report = drawn(&demo, period);
        for (about, name, step, query) in [
            (Matter::Alerts, "raised", "acted", TO_ACT),
            (Matter::Alerts, "raised", "closed", TO_CLOSE),
            (Matter::Escalations, "made", "answered", TO_ANSWER),
            (Matter::Handovers, "prepared", "accepted", TO_ACCEPT),
        ] {
            let theirs = waits(&db, period, query);
            let figure = one(&report, about, name);
            let spread = figure.times.iter().find(|spread| spread.name == step);
            let spread = spread.expect("a spread");
            let mut open: Vec<i64> = spread.waiting.iter().map(|one| number(one.seq)).collect();
            open.sort_unstable();
            let known = theirs.iter().filter_map(|(_, minutes)| *minutes);
            let longest = known.clone().fold(f64::MIN, f64::max);
            let mut still: Vec<i64> = theirs
                .iter()
                .filter(|w| w.1.is_none())
                .map(|w| w.0)
                .collect();
            still.sort_unstable();
            assert_eq!(
                (spread.ended, open),
                (known.count(), still.clone()),
                "{step}"
            );
            let same = match (spread.median, middle(&theirs)) {
                (Some(ours), Some(theirs)) => (ours - theirs).abs() < 1e-6,
                (ours, theirs) => ours == theirs,
            };
            assert!(same, "{step}: {:?}, {:?}", spread.median, middle(&theirs));
            if spread.longest_waits {
                assert!(
                    spread.longest.is_some_and(|so_far| so_far >= longest),
                    "{step}"
                );
            } else if spread.ended > 0 {
                let ours = spread.longest.expect("a longest");
                assert!((ours - longest).abs() < 1e-6, "{step}: {ours}, {longest}");
            }
            ended += spread.ended;
            waiting += still.len();
        }
    }
    assert!(ended > 25 && waiting > 3, "{ended} ended, {waiting} wait");
}

/// Until midnight before the clock change the ward's clock is an hour before UTC.
#[test]
fn stays_and_bed_days_are_those_of_sql() {
    let demo = demo_ward::whole();
    let db = db(&demo);
    let [week, _] = periods(&demo);
    let report = drawn(&demo, week);
    let nights: Vec<f64> = db
        .prepare(
            "select julianday(date(d.at / 1000000 + 3600, 'unixepoch'))
                  - julianday(date(a.at / 1000000 + 3600, 'unixepoch'))
             from stands d join stands a on a.patient = d.patient and a.kind = 'admission'
             where d.kind = 'discharge' and d.at >= ?1 and d.at < ?2 order by 1",
        )
        .and_then(|mut s| {
            let rows = s.query_map([week.from.0, week.until.0], |row| row.get(0))?;
            rows.collect()
        })
        .expect("stays");
    let left = one(&report, Matter::Discharges, "left");
    assert_eq!(nights.len() as u64, left.count);
    let nights: Vec<(i64, Option<f64>)> = nights.into_iter().map(|n| (0, Some(n))).collect();
    assert_eq!(left.times[0].median, middle(&nights));
    // The journal begins on the 22nd: three midnights until the end of the 24th.
    let bed_days: i64 = db
        .query_row(
            "select count(*) from (values ('2026-10-23'), ('2026-10-24'), ('2026-10-25')) night
             join stands a on a.kind = 'admission'
               and date(a.at / 1000000 + 3600, 'unixepoch') < night.column1
             left join stands d on d.kind = 'discharge' and d.patient = a.patient
             where d.at is null or date(d.at / 1000000 + 3600, 'unixepoch') >= night.column1",
            [],
            |row| row.get(0),
        )
        .expect("bed days");
    let bed_days = u64::try_from(bed_days).expect("a count");
    assert_eq!(one(&report, Matter::Beds, "bed-days").count, bed_days);
    let by_day = report.days.iter().filter_map(|day| day.count("bed-days"));
    assert_eq!(by_day.sum::<u64>(), bed_days);
}

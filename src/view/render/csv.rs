//! Tables for spreadsheets: RFC 4180, and no cell that a spreadsheet would run.

use crate::view::escape;
use crate::view::page::Reservations;

/// A head and its rows, each line ended by CR LF as RFC 4180 asks.
#[must_use]
pub fn table(head: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut out = String::new();
    row(&mut out, head.iter().map(|name| (*name).to_owned()));
    for cells in rows {
        row(&mut out, cells.into_iter());
    }
    out
}

/// The same table with its reservations first, each in a row of its own under the head: a
/// program that expects a value there stops, and a person reads it before anything else.
#[must_use]
pub fn under(table: &str, reservations: &Reservations) -> String {
    let Some((head, rows)) = table.split_once("\r\n") else {
        return table.to_owned();
    };
    let empty = head.matches(',').count();
    let mut out = format!("{head}\r\n");
    for said in reservations.sentences() {
        let cells = std::iter::once(said).chain(std::iter::repeat_n(String::new(), empty));
        row(&mut out, cells);
    }
    out.push_str(rows);
    out
}

/// A number, or nothing.
#[must_use]
pub fn number<N: std::fmt::Display>(number: Option<N>) -> String {
    number.map(|number| number.to_string()).unwrap_or_default()
}

/// A moment in UTC by RFC 3339, or nothing.
#[must_use]
pub fn moment(moment: Option<crate::record::time::Timestamp>) -> String {
    moment
        .map(crate::record::time::Timestamp::rfc3339)
        .unwrap_or_default()
}

fn row(out: &mut String, cells: impl Iterator<Item = String>) {
    for (at, cell) in cells.enumerate() {
        if at > 0 {
            out.push(',');
        }
        out.push_str(&quoted(&escape::csv_cell(&cell)));
    }
    out.push_str("\r\n");
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quoting_and_formulas() {
        let rows = [vec![
            "=HYPERLINK(\"http://x\")".to_owned(),
            "a,b".to_owned(),
            "-3".to_owned(),
            "-3+2".to_owned(),
        ]];
        assert_eq!(
            table(&["one", "two", "three", "four"], rows),
            "one,two,three,four\r\n\"'=HYPERLINK(\"\"http://x\"\")\",\"a,b\",-3,'-3+2\r\n"
        );
    }
}

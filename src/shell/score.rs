//! `score`: a calculator in the middle of work. It reads no record and writes nothing; the same
//! words give the same answer as `handfast score` on the command line.

use super::session::Session;
use crate::clinical::calculator::{CALCULATORS, typed, words_of};

impl Session {
    /// Asks a calculator, or gives the line back with what is wrong.
    pub(super) fn score(&mut self, line: &str) -> String {
        let words = words_of(line);
        match words.get(1..) {
            None | Some([] | ["list"]) => list(),
            Some([name, inputs @ ..]) => match typed(name, inputs) {
                Ok(answer) => answer
                    .words
                    .unwrap_or_else(|why| self.back_with(line, &format!("No number: {why}"))),
                Err(error) => self.back_with(line, &format!("{error}, such as rr=18.")),
            },
        }
    }
}

/// Every calculator, with what it works out.
fn list() -> String {
    let line = |calc: &crate::clinical::calculator::Calculator| {
        let fields: Vec<&str> = calc.fields.iter().map(|field| field.name).collect();
        format!("{}: {}\n  {}", calc.name, calc.about, fields.join(", "))
    };
    CALCULATORS.iter().map(line).collect::<Vec<_>>().join("\n")
}

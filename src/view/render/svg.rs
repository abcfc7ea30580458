//! A page of text as one SVG picture, for documents: what the terminal shows, drawn.

use std::fmt::Write;

use unicode_width::UnicodeWidthStr;

use super::text::{self, Paper};
use crate::view::page::Page;

/// Width of one column and height of one line, in the picture's units.
const COLUMN: f64 = 8.4;
const LINE: usize = 18;
const MARGIN: usize = 16;

/// The first `lines` lines of a page at a width, with a title and a description for those who
/// cannot see it.
#[must_use]
pub fn page(page: &Page, width: usize, lines: usize) -> String {
    let styled = text::page(
        page,
        Paper {
            width,
            styled: true,
        },
    );
    let shown: Vec<&str> = styled.lines().take(lines).collect();
    #[expect(clippy::cast_precision_loss, reason = "a few hundred columns")]
    let wide = (width as f64) * COLUMN + 2.0 * MARGIN as f64;
    let high = shown.len() * LINE + 2 * MARGIN;
    let mut svg = String::new();
    let title = escape(&page.title);
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" viewBox=\"0 0 {wide:.0} {high}\" \
         width=\"{wide:.0}\" height=\"{high}\">\n<title>{title}</title>\n<desc>{} {title}, as a \
         terminal shows it; the first {} lines.</desc>\n<rect width=\"100%\" height=\"100%\" \
         fill=\"#fdfdfb\"/>\n<g font-family=\"DejaVu Sans Mono, Menlo, Consolas, monospace\" \
         font-size=\"14\" fill=\"#1b1b1b\">\n",
        if page.teaching {
            "Teaching journal, invented people."
        } else {
            ""
        },
        shown.len()
    );
    for (number, line) in shown.iter().enumerate() {
        let y = MARGIN + (number + 1) * LINE - 4;
        let _ = writeln!(svg, "<text y=\"{y}\">{}</text>", spans(line));
    }
    svg.push_str("</g>\n</svg>\n");
    svg
}

/// Blanks are written as no-break blanks, because viewers fold runs of the ordinary ones.
/// One `tspan` for each run of one style, each at its own column, so that the columns stand
/// under each other in any font.
fn spans(line: &str) -> String {
    let mut out = String::new();
    let (mut style, mut column) = ("", 0_usize);
    for (index, part) in line.split('\u{1b}').enumerate() {
        let words = if index == 0 {
            part
        } else if let Some((code, words)) = part.split_once('m') {
            style = attributes(code);
            words
        } else {
            part
        };
        if words.is_empty() {
            continue;
        }
        #[expect(clippy::cast_precision_loss, reason = "a few hundred columns")]
        let x = MARGIN as f64 + column as f64 * COLUMN;
        let _ = write!(
            out,
            "<tspan x=\"{x:.1}\"{style}>{}</tspan>",
            escape(words).replace(' ', "\u{a0}")
        );
        column += words.width();
    }
    out
}

/// How a terminal style is drawn. The words carry the meaning; this only stresses it.
fn attributes(code: &str) -> &'static str {
    match code {
        "[1" => " font-weight=\"bold\"",
        "[2" => " fill=\"#5a5a5a\"",
        "[1;31" => " font-weight=\"bold\" fill=\"#9c1c1c\"",
        "[35" => " fill=\"#7a2f7a\"",
        "[7" => " font-weight=\"bold\" text-decoration=\"underline\"",
        "[32" => " fill=\"#1f5f2e\"",
        "[36" => " fill=\"#1d5566\"",
        "[9" => " text-decoration=\"line-through\"",
        _ => "",
    }
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::view::page::{Block, Line};

    #[test]
    fn words_are_escaped_and_styles_become_attributes() {
        let page = Page {
            title: "A <b> & c".into(),
            teaching: false,
            head: vec![],
            as_of: String::new(),
            journal: String::new(),
            blocks: vec![Block::Lines(vec![
                Line::new().alarm("ALERT").plain("<script>"),
            ])],
            foot: vec![],
        };
        let svg = super::page(&page, 80, 10);
        assert!(svg.contains("A &lt;b&gt; &amp; c"), "{svg}");
        assert!(svg.contains("fill=\"#9c1c1c\">ALERT</tspan>"), "{svg}");
        assert!(
            svg.contains("&lt;script&gt;") && !svg.contains("<script>"),
            "{svg}"
        );
        assert!(!svg.contains('\u{1b}'), "{svg}");
    }
}

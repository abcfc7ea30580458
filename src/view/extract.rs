//! An extract as people read it: one HTML file, no scripts, nothing fetched, made for A4 paper.

use super::escape;
use super::page::TEACHING;
use crate::record::entry::Entry;
use crate::record::field::ShowContext;
use crate::record::ids::Seq;
use crate::record::time::WardZone;

/// What stands on the page beside the entries.
#[derive(Debug, Clone, Default)]
pub struct ExtractHead {
    /// The ward's name.
    pub ward: String,
    /// What was asked for.
    pub scope: String,
    /// Why it was made, when and by whom.
    pub made: String,
    /// A teaching journal: invented patients only.
    pub teaching: bool,
    /// What was checked, one sentence each.
    pub proved: Vec<String>,
    /// What does not hold; shown first, if there is anything.
    pub problems: Vec<String>,
}

/// An entry on the page.
#[derive(Debug, Clone)]
pub struct ExtractEntry {
    /// Its number.
    pub seq: Seq,
    /// Its author's name.
    pub by: String,
    /// What it says, or why it cannot be read.
    pub entry: Result<Entry, String>,
    /// That it is withdrawn or corrected, and by what, a sentence each.
    pub marks: Vec<String>,
    /// Whether it no longer holds as it stands: it is shown struck through.
    pub withdrawn: bool,
}

/// The whole file. Withheld entries come with their place and the reason that was given.
#[must_use]
pub fn page(
    head: &ExtractHead,
    entries: &[ExtractEntry],
    withheld: &[(u64, String)],
    zone: WardZone,
) -> String {
    let cx = ShowContext {
        zone,
        secrets: false,
    };
    let mut rows: Vec<(u64, String)> = entries
        .iter()
        .map(|entry| (entry.seq.0, row(entry, &cx)))
        .collect();
    rows.extend(withheld.iter().map(|(place, why)| {
        let why = text(why);
        let row = format!(
            "<section class=\"held\"><h2>The entry in place {place} is withheld</h2><p>Shown by its hash only. Reason \
             that was given: {why}</p></section>\n"
        );
        (*place, row)
    }));
    rows.sort_by_key(|(seq, _)| *seq);
    let rows: String = rows.into_iter().map(|(_, row)| row).collect();
    let list = |class: &str, items: &[String]| -> String {
        if items.is_empty() {
            return String::new();
        }
        let items: String = items
            .iter()
            .map(|item| format!("<li>{}</li>", text(item)))
            .collect();
        format!("<ul class=\"{class}\">{items}</ul>\n")
    };
    format!(
        "<!doctype html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\">\n<title>{title}</title>\n\
         <style>\n{STYLE}</style></head><body>\n{teaching}<h1>{title}</h1>\n<p>{scope}</p>\n<p class=\"made\">{made}</p>\n\
         {problems}{proved}<p class=\"made\">This page is for reading. What proves it is the file beside it: \
         <code>handfast extract verify FILE</code>. Recorded observations and judgements, not advice.</p>\n\
         {rows}</body></html>\n",
        title = text(&format!("Extract from the record of {}", head.ward)),
        teaching = if head.teaching {
            format!("<p class=\"teaching\">{}</p>\n", text(TEACHING))
        } else {
            String::new()
        },
        scope = text(&head.scope),
        made = text(&head.made),
        problems = list("wrong", &head.problems),
        proved = list("proved", &head.proved),
    )
}

/// One entry: what, when, by whom, what became of it, and its fields.
fn row(shown: &ExtractEntry, cx: &ShowContext) -> String {
    let marks: String = shown
        .marks
        .iter()
        .map(|mark| format!("<p class=\"mark\">{}</p>", text(mark)))
        .collect();
    let class = if shown.withdrawn {
        " class=\"gone\""
    } else {
        ""
    };
    let entry = match &shown.entry {
        Ok(entry) => entry,
        Err(why) => {
            return format!(
                "<section class=\"held\"><h2>{} cannot be read here</h2><p class=\"made\">by {}</p>{marks}<p>It is \
                 in the extract, whole and signed, and this program cannot read what it says: {}</p></section>\n",
                shown.seq,
                text(&shown.by),
                text(why)
            );
        }
    };
    let occurred = cx.zone.day_date_time(entry.occurred_at());
    let recorded = cx.zone.day_date_time(entry.recorded_at);
    let late = if occurred == recorded {
        String::new()
    } else {
        format!(", recorded {recorded}")
    };
    let fields: String = entry
        .body
        .show(cx)
        .iter()
        .map(|shown| {
            let name = shown.name.replace('_', " ");
            format!("<dt>{}</dt><dd>{}</dd>", text(&name), text(&shown.text))
        })
        .collect();
    format!(
        "<section{class}><h2>{} {}</h2><p class=\"made\">{}{} by {} ({})</p>{marks}<dl>{fields}</dl></section>\n",
        entry.seq,
        text(entry.kind().title()),
        text(&occurred),
        text(&late),
        text(&shown.by),
        text(entry.envelope.role.label()),
    )
}

/// Text from people, harmless in a page.
fn text(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in escape::page(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' => out.push_str("<br>"),
            other => out.push(other),
        }
    }
    out
}

const STYLE: &str = "\
@page { size: A4; margin: 16mm }
body { font: 10.5pt/1.4 \"DejaVu Sans\", sans-serif; color: #111; background: #fff; max-width: 46em; \
margin: 1.5em auto; padding: 0 1em }
h1 { font-size: 1.4em; margin: 0 0 .3em }
h2 { font-size: 1em; margin: 0 }
section { border-top: 1px solid #999; padding: .5em 0 }
h2, .made { break-after: avoid }
dd { break-inside: avoid }
.teaching { background: #fe0; color: #000; font-weight: bold; padding: .3em .6em }
.made { color: #444; margin: .1em 0 }
.wrong { border: 3px solid #900; padding: .5em 1.5em; font-weight: bold }
.held { color: #444; font-style: italic }
.mark { font-weight: bold; border-left: 4px solid #111; padding-left: .5em; margin: .2em 0 }
.gone dl { text-decoration: line-through }
dl { display: grid; grid-template-columns: 10em 1fr; gap: .1em 1em; margin: .3em 0 0 }
dt { color: #444 } dd { margin: 0; overflow-wrap: anywhere }
@media print { body { margin: 0; max-width: none; padding: 0 } }
";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_people_typed_is_text_and_nothing_else() {
        let head = ExtractHead {
            ward: "<b>\u{202e}\"Ward\"".to_owned(),
            scope: "a & b <script>alert(1)</script>".to_owned(),
            problems: vec!["<img src=x>".to_owned()],
            ..ExtractHead::default()
        };
        let held = [(7, "names <i>a neighbour".to_owned())];
        let unread = ExtractEntry {
            seq: Seq(8),
            by: "<i>somebody".to_owned(),
            entry: Err("<i>sealed".to_owned()),
            marks: vec!["<i>withdrawn".to_owned()],
            withdrawn: true,
        };
        let page = page(&head, &[unread], &held, WardZone::LONDON);
        assert!(!page.contains("<script") && !page.contains("<img") && !page.contains("<i>"));
        assert!(page.contains("&lt;b&gt;&lt;U+202E&gt;"));
        assert!(page.contains("The entry in place 7 is withheld"));
        assert!(page.contains("#8 cannot be read here") && page.contains("&lt;i&gt;withdrawn"));
    }
}

//! The mark sheet for people.
//!
//! Must not know: how a claim is judged.

use std::fmt::Write as _;

use anstyle::AnsiColor;
use unicode_width::UnicodeWidthStr;

use super::{MarkSheet, Marking, Row};
use crate::base::unheeded;
use crate::present::diagnostics::{Colour, Style};
use crate::present::text::{one_line, wrap};

/// A claim longer than this is cut.
const MOST_CLAIM_COLUMNS: usize = 60;

const MOST_NAME_COLUMNS: usize = 200;
const MOST_WHY_COLUMNS: usize = 400;

/// A table of the claims, the slips beneath the wrong ones, and the score.
pub fn render_marks(sheet: &MarkSheet, style: Style) -> String {
    let mut page = unheeded(&one_line(&sheet.file, style.width));
    page.push('\n');
    if let Some(title) = &sheet.title {
        page.push_str(&unheeded(&one_line(title, style.width)));
        page.push('\n');
    }
    if sheet.rows.is_empty() {
        page.push_str("\n  it makes no claims\n");
        let _ = writeln!(page, "\n{}", sheet.closing.words());
        page.push_str(&elsewhere(sheet));
        return page;
    }
    let lines: Vec<String> = sheet.rows.iter().map(|row| row.line.to_string()).collect();
    let claims: Vec<String> = sheet.rows.iter().map(|row| one_line(&row.claim, MOST_CLAIM_COLUMNS)).collect();
    let widest = |texts: &[String], least: &str| {
        texts.iter().map(|text| text.width()).chain([least.width()]).max().unwrap_or_default()
    };
    let (line_width, claim_width) = (widest(&lines, "line"), widest(&claims, "claim"));
    let mark_width = if sheet.count(Marking::NotJudged) > 0 { "– not judged".width() } else { "✓ right".width() };
    let _ = writeln!(
        page,
        "\n  {:>line_width$}  {:mark_width$}  {}  computed",
        "line",
        "mark",
        padded("claim", claim_width)
    );
    for ((row, line), claim) in sheet.rows.iter().zip(&lines).zip(&claims) {
        let mark = painted(row.mark, &padded(&format!("{} {}", row.mark.sign(), row.mark.word()), mark_width), style);
        let text = format!("  {line:>line_width$}  {mark}  {}  {}", padded(claim, claim_width), computed(sheet, row));
        page.push_str(text.trim_end());
        page.push('\n');
        let indent = line_width + mark_width + 6;
        if !row.why.is_empty() && row.mark != Marking::NotJudged {
            for line in wrap(&row.why, style.width.saturating_sub(indent).max(20)) {
                let _ = writeln!(page, "{:indent$}{line}", "");
            }
        }
    }
    let _ = writeln!(page, "\n{}; {}", sheet.closing.stability, score(sheet));
    page.push_str(&elsewhere(sheet));
    page
}

/// `5 claims of roof.kp are not marked here`
fn elsewhere(sheet: &MarkSheet) -> String {
    let line = |(file, count): &(String, usize)| {
        let file = one_line(file, MOST_NAME_COLUMNS);
        match count {
            1 => format!("one claim of {file} is not marked here\n"),
            many => format!("{many} claims of {file} are not marked here\n"),
        }
    };
    sheet.elsewhere.iter().map(line).collect()
}

/// What was computed; of which of many, where a loop claims many on one line.
fn computed(sheet: &MarkSheet, row: &Row) -> String {
    let is_shared = sheet.rows.iter().filter(|other| other.line == row.line).nth(1).is_some();
    match (row.mark, is_shared) {
        (Marking::NotJudged, _) => one_line(&row.why, MOST_WHY_COLUMNS),
        (_, true) => format!("{}: {}", row.subject, row.computed),
        (_, false) => row.computed.clone(),
    }
}

fn padded(text: &str, width: usize) -> String {
    format!("{text}{:1$}", "", width.saturating_sub(text.width()))
}

fn painted(mark: Marking, text: &str, style: Style) -> String {
    let colour = match mark {
        Marking::Right => AnsiColor::Green,
        Marking::Wrong => AnsiColor::Red,
        Marking::NotJudged => AnsiColor::BrightBlack,
    };
    match style.colour {
        Colour::Plain => text.to_owned(),
        Colour::Ansi => {
            let paint = colour.on_default();
            format!("{paint}{text}{paint:#}")
        }
    }
}

/// `7 of 9 claims hold`
fn score(sheet: &MarkSheet) -> String {
    let (right, total, open) = (sheet.count(Marking::Right), sheet.rows.len(), sheet.count(Marking::NotJudged));
    let mut text = match (right, total) {
        (_, 1) => format!("{right} of 1 claim holds"),
        (1, _) => format!("1 of {total} claims holds"),
        _ => format!("{right} of {total} claims hold"),
    };
    if open > 0 {
        let _ = write!(text, ", {open} not judged");
    }
    if sheet.other_errors > 0 {
        let errors =
            if sheet.other_errors == 1 { "one error".to_owned() } else { format!("{} errors", sheet.other_errors) };
        let beside = if total == 1 { "beside it" } else { "beside them" };
        let _ =
            write!(text, "; {errors} {beside}: `kingpost check {}` tells", one_line(&sheet.file, MOST_NAME_COLUMNS));
    }
    text
}

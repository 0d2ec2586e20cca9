//! The mark sheet for people.
//!
//! Must not know: how a claim is judged.

use std::fmt::Write as _;

use anstyle::AnsiColor;
use unicode_width::UnicodeWidthStr;

use super::{MarkSheet, Marking, Row};
use crate::base::unheeded;
use crate::check::closing::ClaimCounts;
use crate::check::words::plural;
use crate::present::diagnostics::Style;
use crate::present::results::CAUTION;
use crate::present::text::{Align, one_line, padded, wrap};

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
        let made = if sheet.closing.left_out > 0 { "no claim judged" } else { "no claims" };
        let _ = writeln!(page, "\n  {made}");
        let _ = writeln!(page, "\n{}", sheet.closing.words());
        page.push_str(&elsewhere(sheet));
        return page;
    }
    let column = |heading: &str, align, cell: &dyn Fn(&Row) -> String| {
        padded(vec![heading.to_owned()], sheet.rows.iter().map(cell).collect(), align).into_iter()
    };
    let mut lines = column("line", Align::Right, &|row| row.line.to_string());
    let mut marks = column("mark", Align::Left, &|row| format!("{} {}", row.mark.sign(), row.mark.word()));
    let mut claims = column("claim", Align::Left, &|row| one_line(&row.claim, MOST_CLAIM_COLUMNS));
    page.push('\n');
    for row in std::iter::once(None).chain(sheet.rows.iter().map(Some)) {
        let (Some(line), Some(mark), Some(claim)) = (lines.next(), marks.next(), claims.next()) else { break };
        let indent = line.width() + mark.width() + 6;
        let (mark, computed) = match row {
            Some(row) => (painted(row.mark, &mark, style), computed(sheet, row)),
            None => (mark, "computed".to_owned()),
        };
        let _ = writeln!(page, "{}", format!("  {line}  {mark}  {claim}  {computed}").trim_end());
        if let Some(row) = row.filter(|row| !row.why.is_empty() && row.mark != Marking::NotJudged) {
            for line in wrap(&row.why, style.width.saturating_sub(indent).max(20)) {
                let _ = writeln!(page, "{:indent$}{line}", "");
            }
        }
    }
    let _ = writeln!(page, "\n{}; {}{}", sheet.closing.stability, score(sheet), sheet.closing.set);
    page.push_str(&elsewhere(sheet));
    let _ = writeln!(page, "{CAUTION}");
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

fn painted(mark: Marking, text: &str, style: Style) -> String {
    let colour = match mark {
        Marking::Right => AnsiColor::Green,
        Marking::Wrong => AnsiColor::Red,
        Marking::NotJudged => AnsiColor::BrightBlack,
    };
    style.colour.paint(colour.on_default(), text)
}

/// `7 of 9 correct`
fn score(sheet: &MarkSheet) -> String {
    let (ClaimCounts { right, unjudged: open, .. }, total) = (sheet.closing.claims, sheet.rows.len());
    let mut text = format!("{right} of {total} correct");
    if open > 0 {
        let _ = write!(text, ", {open} not judged");
    }
    if sheet.other_errors > 0 {
        let errors = plural(sheet.other_errors, "other error");
        let _ = write!(text, "; {errors}: see `kingpost check {}`", one_line(&sheet.file, MOST_NAME_COLUMNS));
    }
    text
}

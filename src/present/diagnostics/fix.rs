//! Corrections as the lines they would write.
//!
//! Must not know: how corrections are applied to files.

use rustc_hash::{FxHashMap, FxHashSet};

use super::super::text::one_line;
use super::excerpt::line_bytes;
use crate::base::{FileId, Files, SourceFile, Span, unheeded};
use crate::diagnostic::{Diagnostic, Edit};

/// Lines shown of one correction; the rest are counted.
const MAX_LINES: usize = 8;

const MAX_COLUMNS: usize = 120;

/// Columns kept before the first difference of a long line.
const LEAD: usize = 40;

/// Bytes of a long line looked at on either side of its edits.
const NEAR_BYTES: usize = 600;

/// One line of a preview: `12 - load D: 240 lb down`.
#[derive(Debug, PartialEq, Eq)]
pub struct PreviewLine {
    pub is_new: bool,
    pub text: String,
}

/// What corrections made of the files they were made in, line by line: each
/// run of lines as it was and as it became, and under it what was wrong.
/// Corrections that touch one line are told together.
pub fn render_changes(mended: &[Diagnostic], files: &Files) -> String {
    let mut page = String::new();
    let mut by_start: FxHashMap<(FileId, u32), Vec<&Diagnostic>> = FxHashMap::default();
    for found in mended {
        for edit in &found.edits {
            by_start.entry((edit.file, edit.span.start)).or_default().push(found);
        }
    }
    for (id, file) in files.iter() {
        let here = || mended.iter().flat_map(|found| &found.edits).filter(|edit| edit.file == id);
        if here().next().is_none() {
            continue;
        }
        page.push_str(&format!("{}:\n", unheeded(&one_line(&file.name, MAX_COLUMNS))));
        for region in regions(file, here()) {
            let mut lines = Vec::new();
            region.preview(file, "", &mut lines);
            for line in lines {
                page.push_str(&format!("  {}\n", line.text));
            }
            for (headline, times) in region.headlines(&by_start) {
                let times = if times > 1 { format!(" ({times} times)") } else { String::new() };
                page.push_str(&format!("      {}{times}\n", one_line(&headline, MAX_COLUMNS)));
            }
        }
    }
    page
}

/// Every line the edits change, as it is and as it would be. Edits that
/// overlap an earlier one, or do not fit their file, are left out.
pub fn preview(edits: &[Edit], files: &Files) -> Vec<PreviewLine> {
    let mut order: Vec<FileId> = Vec::new();
    for edit in edits {
        if !order.contains(&edit.file) {
            order.push(edit.file);
        }
    }
    let mut lines = Vec::new();
    for id in &order {
        let Some(file) = files.get(*id) else { continue };
        let prefix = if order.len() > 1 { format!("{}:", one_line(&file.name, MAX_COLUMNS)) } else { String::new() };
        for region in regions(file, edits.iter().filter(|edit| edit.file == *id)) {
            region.preview(file, &prefix, &mut lines);
        }
    }
    if lines.len() > MAX_LINES {
        let more = lines.len() - MAX_LINES;
        lines.truncate(MAX_LINES);
        lines.push(PreviewLine { is_new: true, text: format!("… {more} more lines") });
    }
    lines
}

/// A run of whole lines with the edits inside it, in order.
struct Region<'a> {
    first: usize,
    last: usize,
    edits: Vec<&'a Edit>,
}

fn regions<'a>(file: &SourceFile, edits: impl Iterator<Item = &'a Edit>) -> Vec<Region<'a>> {
    let fits = |span: Span| span.start <= span.end && file.text.get(span.start as usize..span.end as usize).is_some();
    let mut sorted: Vec<&Edit> = edits.filter(|edit| fits(edit.span)).collect();
    sorted.sort_by_key(|edit| (edit.span.start, edit.span.end));
    let mut regions: Vec<Region<'a>> = Vec::new();
    let mut end = 0;
    for edit in sorted {
        if edit.span.start < end {
            continue;
        }
        end = edit.span.end;
        let (first, last) = (file.line_of(edit.span.start) - 1, file.line_of(edit.span.end) - 1);
        match regions.last_mut() {
            Some(region) if first <= region.last => {
                region.last = last.max(region.last);
                region.edits.push(edit);
            }
            _ => regions.push(Region { first, last, edits: vec![edit] }),
        }
    }
    regions
}

impl Region<'_> {
    /// What was wrong here, each kind of finding once with its number.
    fn headlines(&self, mended: &FxHashMap<(FileId, u32), Vec<&Diagnostic>>) -> Vec<(String, usize)> {
        let mut told: Vec<(String, usize)> = Vec::new();
        let mut known: FxHashSet<*const Diagnostic> = FxHashSet::default();
        let here = self.edits.iter().filter_map(|edit| mended.get(&(edit.file, edit.span.start))).flatten();
        for found in here.filter(|found| known.insert(std::ptr::from_ref(**found))) {
            let headline = format!("{} [{}]", found.message, found.slug.word());
            match told.iter_mut().find(|(known, _)| *known == headline) {
                Some((_, times)) => *times += 1,
                None => told.push((headline, 1)),
            }
        }
        told
    }

    /// The region's lines, or what stands near its edits where they are long.
    fn bytes(&self, file: &SourceFile) -> (usize, usize) {
        let (start, end) = (line_bytes(file, self.first).start, line_bytes(file, self.last).end);
        let first_edit = self.edits.first().map_or(start, |edit| edit.span.start as usize);
        let last_edit = self.edits.last().map_or(end, |edit| edit.span.end as usize);
        let near = |mut at: usize| {
            while !file.text.is_char_boundary(at) {
                at -= 1;
            }
            at
        };
        (
            start.max(near(first_edit.saturating_sub(NEAR_BYTES))),
            end.min(near(last_edit.saturating_add(NEAR_BYTES).min(file.text.len()))),
        )
    }

    fn preview(&self, file: &SourceFile, prefix: &str, lines: &mut Vec<PreviewLine>) {
        let (start, end) = self.bytes(file);
        let slice = |from: usize, to: usize| file.text.get(from..to).unwrap_or("");
        let mut new = String::new();
        let mut at = start;
        for edit in &self.edits {
            new.push_str(slice(at, edit.span.start as usize));
            new.push_str(&edit.replacement);
            at = edit.span.end as usize;
        }
        new.push_str(slice(at, end.max(at)));
        let old: Vec<&str> = slice(start, end).lines().collect();
        let new: Vec<&str> = new.lines().collect();
        let same_before = old.iter().zip(&new).take_while(|(old, new)| old == new).count();
        let same_after = old.iter().rev().zip(new.iter().rev()).take_while(|(old, new)| old == new).count();
        let same_after = same_after.min(old.len().min(new.len()) - same_before);
        let first_difference = match (old.get(same_before), new.get(same_before)) {
            (Some(old), Some(new)) => old.chars().zip(new.chars()).take_while(|(a, b)| a == b).count(),
            _ => 0,
        };
        for (is_new, sign, side) in [(false, '-', &old), (true, '+', &new)] {
            for (position, line) in side.iter().enumerate().take(side.len() - same_after).skip(same_before) {
                let number = self.first + position + 1;
                let text = format!("{prefix}{number} {sign} {}", around(line, first_difference));
                lines.push(PreviewLine { is_new, text });
            }
        }
    }
}

/// A line cut to what stands about a character of it.
fn around(line: &str, character: usize) -> String {
    let is_long = line.chars().take(MAX_COLUMNS + 1).count() > MAX_COLUMNS;
    if !is_long || character <= LEAD {
        return one_line(line, MAX_COLUMNS);
    }
    let cut: String = line.chars().skip(character - LEAD).take(MAX_COLUMNS * 2).collect();
    format!("…{}", one_line(&cut, MAX_COLUMNS))
}

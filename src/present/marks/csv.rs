//! The mark sheet for a spreadsheet: one row a claim, many files under one
//! header.
//!
//! Must not know: how a claim is judged.

use std::io::{self, Write};

use super::{MarkSheet, Marking, RowSlip};
use crate::present::escape::csv as field;
use crate::present::results::CAUTION;

/// The first line, once for all files.
pub const HEADER: &str = "file,line,claim,mark,computed,slip,why,load";

/// A row for a file that could not be read: nothing of it is marked.
pub fn write_failure(out: &mut dyn Write, file: &str, message: &str) -> io::Result<()> {
    writeln!(out, "{},,,{},,,{},", field(file), Marking::NotJudged.word(), field(message))
}

/// One row a claim, and a last one with the caution and no mark. `file` is the one that was checked; `slip` holds the words
/// of the slips and `load` the lines of the loads they are about, two with ` or `
/// between them; two slips of one kind have one word.
pub fn write_marks_csv(out: &mut dyn Write, sheet: &MarkSheet) -> io::Result<()> {
    for row in &sheet.rows {
        let mut slips: Vec<&str> = row.slips.iter().map(|slip| slip.slug).collect();
        slips.dedup();
        let load = |slip: &RowSlip| slip.load.as_ref().map_or("-".to_owned(), |(file, line)| format!("{file}:{line}"));
        let mut loads: Vec<String> = row.slips.iter().map(load).collect();
        loads.dedup();
        let has_loads = loads.iter().any(|load| load != "-");
        let loads = if has_loads { loads.join(" or ") } else { String::new() };
        let fields = [
            field(&row.file),
            row.line.to_string(),
            field(&row.claim),
            row.mark.word().to_owned(),
            field(&row.computed),
            slips.join(" or "),
            field(&row.why),
            field(&loads),
        ];
        writeln!(out, "{}", fields.join(","))?;
    }
    writeln!(out, "{},,,,,,{},", field(&sheet.file), field(CAUTION))
}

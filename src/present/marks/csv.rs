//! The mark sheet for a spreadsheet: one row a claim, many files under one
//! header.
//!
//! Must not know: how a claim is judged.

use std::io::{self, Write};

use super::MarkSheet;
use crate::present::results::csv::field;

/// The first line, once for all files.
pub const HEADER: &str = "file,line,claim,mark,computed,slip,why";

/// One row a claim. `file` is the one that was checked; `slip` holds the words
/// of the slips, two with ` or ` between them.
pub fn write_marks_csv(out: &mut dyn Write, sheet: &MarkSheet) -> io::Result<()> {
    for row in &sheet.rows {
        let slips: Vec<&str> = row.slips.iter().map(|slip| slip.slug).collect();
        let fields = [
            field(&row.file),
            row.line.to_string(),
            field(&row.claim),
            row.mark.word().to_owned(),
            field(&row.computed),
            slips.join(" or "),
            field(&row.why),
        ];
        writeln!(out, "{}", fields.join(","))?;
    }
    Ok(())
}

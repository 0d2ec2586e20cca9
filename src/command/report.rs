//! `report`: one file's statement, findings, figures, results and working as
//! one page.

use std::io::{self, Write};
use std::path::Path;

use crate::check::Checked;
use crate::diagnostic::{Diagnostic, Severity};
use crate::present::diagnostics::render_summary;
use crate::present::document::Document;
use crate::present::document::html::render_html;
use crate::present::document::latex::render_latex;
use crate::present::document::markdown::{Drawings, render_markdown};
use crate::present::document::text::render_text;
use crate::present::figure::Telling;
use crate::present::report::{Report, report};
use crate::structure::Project;

use super::arguments::{PageFormat, ReportArguments};
use super::read::Reader;
use super::save::{deliver, file_of};
use super::solve::known_cases;
use super::standard::Standard;
use super::{Exit, Outcome, each_file, format_of, style_of_stdout};

pub fn run(arguments: &ReportArguments) -> Outcome {
    let output = file_of(arguments.output.as_deref());
    let format = page_format(arguments.format, output)?;
    let reader = Reader::default();
    each_file(&reader, std::slice::from_ref(&arguments.file), &arguments.over, |project, checked| {
        known_cases(checked, &arguments.cases)?;
        let (only, date) = (arguments.cases.as_slice(), arguments.date.as_deref());
        let figures = telling(format, output);
        let document = report(&Report { project, checked, only, date, figures });
        let page = match format {
            PageFormat::Markdown if output.is_some() => render_markdown(&document, Drawings::Within),
            format => render(&document, format),
        };
        let exit = deliver(output, page.as_bytes(), &reader)?;
        if exit != Exit::Fine {
            return Ok(exit);
        }
        tell(project, checked)?;
        Ok(Exit::Fine)
    })
}

/// As asked for, else by the name of the file to write, else text.
pub(super) fn page_format(asked: Option<PageFormat>, output: Option<&Path>) -> Result<PageFormat, String> {
    let by_ending = |ending: &str| match ending {
        "html" | "htm" => Some(PageFormat::Html),
        "md" | "markdown" => Some(PageFormat::Markdown),
        "tex" => Some(PageFormat::Latex),
        "txt" => Some(PageFormat::Text),
        _ => None,
    };
    format_of(asked, output, PageFormat::Text, by_ending, ".html, .md, .tex or .txt")
}

/// Text has no drawings, and Markdown has them in a file alone.
fn telling(format: PageFormat, output: Option<&Path>) -> Telling {
    match (format, output) {
        (PageFormat::Text, _) | (PageFormat::Markdown, None) => Telling::InWords,
        _ => Telling::Drawn,
    }
}

/// The page in a format.
pub(super) fn render(document: &Document, format: PageFormat) -> String {
    match format {
        PageFormat::Html => render_html(document),
        PageFormat::Markdown => render_markdown(document, Drawings::InWords),
        PageFormat::Latex => render_latex(document),
        PageFormat::Text => render_text(document, style_of_stdout().width),
    }
}

/// The report has the errors; standard error gets their count.
fn tell(project: &Project, checked: &Checked) -> io::Result<()> {
    let errors: Vec<Diagnostic> =
        checked.diagnostics.iter().filter(|found| found.severity == Severity::Error).cloned().collect();
    if errors.is_empty() {
        return Ok(());
    }
    writeln!(Standard::Errors, "{}", render_summary(&errors, &project.files).trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_name_tells_the_format() {
        let format =
            |name: &str, asked: Option<PageFormat>| page_format(asked, (!name.is_empty()).then(|| Path::new(name)));
        assert_eq!(format("roof.html", None), Ok(PageFormat::Html));
        assert_eq!(format("ROOF.TEX", None), Ok(PageFormat::Latex));
        assert_eq!(format("a/b.md", None), Ok(PageFormat::Markdown));
        assert_eq!(format("", None), Ok(PageFormat::Text));
        assert_eq!(format("roof.html", Some(PageFormat::Text)), Ok(PageFormat::Text));
        assert!(format("roof.pdf", None).is_err_and(|why| why.contains("roof.pdf")));
    }
}

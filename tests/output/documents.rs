//! Pages in every way they are written: one of everything as a snapshot, words
//! that break out of nothing, and the reports of all examples.

use crate::support::specimen;

use kingpost::present::document::Block;
use kingpost::present::document::html::render_html;
use kingpost::present::document::latex::render_latex;
use kingpost::present::document::markdown::{Drawings, render_markdown};
use kingpost::present::document::text::render_text;

const WIDTH: usize = 80;

#[test]
fn one_of_everything_as_text() {
    insta::assert_snapshot!(render_text(&specimen::document(), WIDTH));
}

#[test]
fn one_of_everything_as_markdown() {
    insta::assert_snapshot!(render_markdown(&specimen::document(), Drawings::InWords));
}

#[test]
fn one_of_everything_as_latex() {
    let page = render_latex(&specimen::document());
    let (_, body) = page.split_once("\\begin{document}").unwrap();
    insta::assert_snapshot!(body);
}

#[test]
fn one_of_everything_as_html() {
    let page = render_html(&specimen::document());
    let (_, body) = page.split_once("<body>").unwrap();
    insta::assert_snapshot!(body);
}

/// Every tag of the page is one the writer writes, and all are closed in order.
#[test]
fn no_words_become_html() {
    const TAGS: [&str; 45] = [
        "html",
        "head",
        "title",
        "style",
        "body",
        "main",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "p",
        "ul",
        "ol",
        "li",
        "nav",
        "a",
        "strong",
        "code",
        "span",
        "div",
        "table",
        "thead",
        "tbody",
        "tfoot",
        "tr",
        "th",
        "td",
        "figure",
        "figcaption",
        "pre",
        "math",
        "mrow",
        "mi",
        "mn",
        "mo",
        "mtext",
        "msub",
        "msup",
        "mfrac",
        "msqrt",
        "meta",
        "mspace",
        "wbr",
    ];
    for document in [specimen::document(), specimen::hostile()] {
        let page = render_html(&document);
        let (head, body) = page.split_once("</style>").unwrap();
        let head = head.split_once("<style>").unwrap().0.strip_prefix("<!DOCTYPE html>").unwrap();
        let mut open: Vec<&str> = Vec::new();
        for part in head.split('<').chain(body.split('<').skip(1)).filter(|part| !part.trim().is_empty()) {
            let (tag, text) = part.split_once('>').unwrap_or_else(|| panic!("a bare < before {part:?}"));
            assert!(!text.contains('>'), "a bare > in {text:?}");
            let name = tag.trim_start_matches('/').split([' ', '/']).next().unwrap();
            assert!(TAGS.contains(&name), "{tag:?} is none of the writer's tags");
            if let Some(closed) = tag.strip_prefix('/') {
                assert_eq!(open.pop(), Some(closed));
            } else if !tag.ends_with('/') && !matches!(name, "meta" | "wbr") {
                open.push(name);
            }
        }
        assert!(open.is_empty(), "left open: {open:?}");
        assert!(!page.contains(['\u{202e}', '\u{1b}', '\u{200b}', '\0']));
    }
}

#[test]
fn no_words_steer_a_terminal() {
    let text = render_text(&specimen::hostile(), WIDTH);
    assert!(text.chars().all(|c| c == '\n' || !c.is_control()), "{text:?}");
    assert!(!text.contains(['\u{202e}', '\u{200b}']));
    assert!(text.lines().all(|line| line.trim_end() == line));
}

#[test]
fn no_words_end_a_markdown_table() {
    for document in [specimen::document(), specimen::hostile()] {
        let page = render_markdown(&document, Drawings::InWords);
        let tables = tables_of(&page);
        assert!(!tables.is_empty());
        for table in tables {
            let cells: Vec<usize> = table.iter().map(|row| cells_of(row)).collect();
            assert!(cells.len() >= 3 && cells.iter().all(|count| *count == cells[0]), "{table:#?}");
        }
        // No word makes a heading of its line.
        let headings = outside_fences(&page).filter(|line| line.is_some_and(|line| line.starts_with('#'))).count();
        let wanted = document.blocks.iter().filter(|block| matches!(block, Block::Heading { .. })).count();
        assert_eq!(headings, wanted + 1);
    }
}

/// The lines of a page, those in fences as `None`.
fn outside_fences(page: &str) -> impl Iterator<Item = Option<&str>> {
    let mut fence = None;
    page.lines().map(move |line| {
        let ticks = line.bytes().take_while(|byte| *byte == b'`').count();
        match fence {
            None if ticks >= 3 => fence = Some(ticks),
            Some(length) if ticks >= length && line.len() == ticks => fence = None,
            None => return Some(line),
            Some(_) => {}
        }
        None
    })
}

/// Rows that begin with a bar, table by table.
fn tables_of(page: &str) -> Vec<Vec<&str>> {
    let mut tables: Vec<Vec<&str>> = Vec::new();
    let mut within = false;
    for line in outside_fences(page) {
        match line.filter(|line| line.starts_with('|')) {
            None => within = false,
            Some(row) if within => tables.last_mut().unwrap().push(row),
            Some(row) => {
                within = true;
                tables.push(vec![row]);
            }
        }
    }
    tables
}

/// Cells between bars that no backslash takes away.
fn cells_of(row: &str) -> usize {
    let mut escaped = false;
    let mut bars = 0;
    for c in row.chars() {
        match c {
            '\\' => escaped = !escaped,
            '|' if !escaped => bars += 1,
            _ => escaped = false,
        }
    }
    assert!(row.ends_with('|'), "{row:?}");
    bars - 1
}

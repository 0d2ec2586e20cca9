//! Every page in HTML, opened in a browser: nothing wider than the screen or
//! the paper, nothing on top of anything else, headings in order, figures and
//! tables named, no error told. Skipped where there is no Chromium.

use crate::support::examples;
use crate::support::specimen;

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use kingpost::present::document::html::render_html;
use serde_json::Value;

const MEASURE: &str = include_str!("../support/measure.js");

/// A desk, a telephone, and A4 within the margins of `@page`, all in CSS pixels.
const SCREENS: [u32; 2] = [1280, 390];
const PAPER: u32 = 672;

#[test]
fn every_page_opens_well() {
    let Some(program) = examples::installed(&["chromium", "chromium-browser"]) else { return };
    let mut pages = examples::reports("html");
    assert!(pages.len() >= 15);
    pages.push(("many cases".to_owned(), examples::many_cases("html")));
    pages.push(("everything".to_owned(), render_html(&specimen::document())));
    pages.push(("hostile".to_owned(), render_html(&specimen::hostile())));
    let mut frames = String::new();
    for (name, page) in &pages {
        for width in SCREENS {
            frame(&mut frames, name, page, width);
        }
        if name == "hostile" {
            // Paper has no way to show a formula that is wider than itself.
            continue;
        }
        // On paper what is meant for print is for all.
        let printed = page.replace("@media print", "@media all").replace("@media (max-width: 40rem)", "@media not all");
        assert_ne!(&printed, page);
        frame(&mut frames, &format!("{name} on paper"), &printed, PAPER);
    }
    let (measured, told) = measure(&program, &frames);
    assert!(told.is_empty(), "told on the console: {told:#?}");
    assert_eq!(measured["pages"], pages.len() * 3 - 1);
    let faults: Vec<&str> =
        measured["faults"].as_array().unwrap().iter().map(|fault| fault.as_str().unwrap()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
}

/// On both usual papers a heading goes with what it is above, and a lead-in with
/// what it leads to.
#[test]
fn nothing_that_leads_stands_at_the_foot_of_a_page() {
    let Some(program) = examples::installed(&["chromium", "chromium-browser"]) else { return };
    let Some(reader) = examples::installed(&["pdftotext"]) else { return };
    let page = render_html(&specimen::leads());
    for paper in ["A4", "Letter"] {
        let folder = tempfile::tempdir().unwrap();
        let (html, pdf) = (folder.path().join("page.html"), folder.path().join("page.pdf"));
        std::fs::write(&html, page.replace("@page {", &format!("@page {{ size: {paper};"))).unwrap();
        let output = Command::new(&program)
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer"])
            .arg(format!("--user-data-dir={}", folder.path().join("profile").display()))
            .arg(format!("--print-to-pdf={}", pdf.display()))
            .arg(format!("file://{}", html.display()))
            .output()
            .unwrap();
        assert!(pdf.exists(), "{output:?}");
        let feet = examples::feet(&reader, &pdf);
        assert!(feet.len() > 20, "{feet:?}");
        let alone: Vec<&String> =
            feet.iter().filter(|foot| foot.starts_with("Heading") || foot.ends_with(':')).collect();
        assert!(alone.is_empty(), "{paper}: {alone:?}");
    }
}

/// What the measure is worth: a page with each fault has each fault found.
#[test]
fn faults_are_found() {
    let Some(program) = examples::installed(&["chromium", "chromium-browser"]) else { return };
    let page = "<!DOCTYPE html><main><h1>a</h1><h3 id=x>b</h3><p id=x style='width:2000px'>c</p><a href='#y'>d</a>\
        <table><tr><th>e</th></tr></table><figure><div role=img></div></figure>\
        <svg width=100 height=50><text x=5 y=20>one</text><text x=10 y=22>two</text><text x=200 y=20>off</text>\
        <text x=50 y=40>apart</text></svg><script>console.error('told')</script></main>";
    let mut frames = String::new();
    frame(&mut frames, "bad", page, 390);
    let (measured, told) = measure(&program, &frames);
    assert_eq!(told.len(), 1, "{told:#?}");
    let faults = measured["faults"].to_string();
    for wanted in [
        "H3 after H1",
        "given twice",
        "P ends at",
        "leads nowhere",
        "without scope",
        "without a name",
        "without a caption",
        "one lies on two",
        "off is cut off",
    ] {
        assert!(faults.contains(wanted), "{wanted} is not in {faults}");
    }
    assert!(!faults.contains("apart"), "{faults}");
}

fn frame(frames: &mut String, name: &str, page: &str, width: u32) {
    let page = page.replace('&', "&amp;").replace('"', "&quot;");
    writeln!(
        frames,
        "<iframe title=\"{name}\" style=\"width:{width}px;height:900px;border:0\" srcdoc=\"{page}\"></iframe>"
    )
    .unwrap();
}

/// Opens a page of frames; gives what was measured, and what was told on the
/// console.
fn measure(program: &Path, frames: &str) -> (Value, Vec<String>) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("frames.html");
    std::fs::write(&path, format!("<!DOCTYPE html><meta charset=utf-8><body>{frames}<script>{MEASURE}</script>"))
        .unwrap();
    let profile = format!("--user-data-dir={}", folder.path().join("profile").display());
    let output = Command::new(program)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"])
        .args([
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--enable-logging=stderr",
            "--dump-dom",
        ])
        .arg(profile)
        .arg(format!("file://{}", path.display()))
        .output()
        .unwrap();
    let page = String::from_utf8_lossy(&output.stdout);
    let errors = String::from_utf8_lossy(&output.stderr);
    let start = "<pre id=\"measured\">";
    let measured = page.rfind(start).unwrap_or_else(|| panic!("nothing was measured: {errors}"));
    let measured = page[measured + start.len()..].split('<').next().unwrap();
    let told = errors.lines().filter(|line| line.contains("CONSOLE")).map(str::to_owned).collect();
    (serde_json::from_str(&decoded(measured)).unwrap(), told)
}

/// Undoes `encodeURIComponent`.
fn decoded(text: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((byte, after)) = rest.split_first() {
        if *byte == b'%' {
            bytes.push(u8::from_str_radix(std::str::from_utf8(&after[..2]).unwrap(), 16).unwrap());
            rest = &after[2..];
        } else {
            bytes.push(*byte);
            rest = after;
        }
    }
    String::from_utf8(bytes).unwrap()
}

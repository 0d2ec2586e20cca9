//! A drawing as SVG: one element, no fonts or links from outside. Colours are
//! CSS custom properties with the inks of a light page to fall back on.
//!
//! Must not know: structures; files.

use std::fmt::Write as _;

use super::inks::{Ink, Page};
use super::letters::FAMILY;
use super::picture::{BASE_LINE, Form, Lettering, Mark, Path, Picture, Step, Stroke, Weight};
use crate::present::escape::svg as escape;

/// Writes a drawing; `title` and `description` are read out to readers who cannot see it.
pub fn write_svg(picture: &Picture, title: &str, description: &str) -> String {
    let (width, height) = (number(picture.width), number(picture.height));
    let mut out = String::with_capacity(picture.marks.len() * 90 + 2_000);
    let title = escape(title);
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"kp-figure\" role=\"img\" aria-label=\"{title}\" \
         width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\">\n\
         <title>{title}</title>\n<desc>{}</desc>\n<style>{}</style>\n\
         <rect class=\"kp-sheet\" width=\"{width}\" height=\"{height}\"/>\n",
        escape(description),
        style(),
    );
    for mark in &picture.marks {
        match mark {
            Mark::Path(path) => write_path(&mut out, path),
            Mark::Lettering(lettering) => write_lettering(&mut out, lettering),
        }
    }
    out.push_str("</svg>\n");
    out
}

/// The rules of all classes: the same in every drawing, so that one page may hold many.
fn style() -> String {
    // Twice: readers without CSS custom properties ignore the second.
    let ink = |what: &str, ink: Ink| {
        let plain = ink.hex(Page::Light);
        format!("{what}:{plain};{what}:var(--kp-{},{plain})", ink.word())
    };
    let mut rules = format!(
        ".kp-figure path{{fill:none;stroke-linecap:round;stroke-linejoin:round}}\
         .kp-figure .kp-sheet{{{fill}}}\
         .kp-figure text{{font-family:{FAMILY};white-space:pre;paint-order:stroke;{stroke};\
         stroke-width:.3em;stroke-linejoin:round}}\
         .kp-figure .kp-bold{{font-weight:700}}",
        fill = ink("fill", Ink::Paper),
        stroke = ink("stroke", Ink::Paper),
    );
    for form in [Form::Dashed, Form::Dotted, Form::Chain] {
        let dashes: Vec<String> = form.dashes().iter().map(|length| number(*length)).collect();
        let _ = write!(
            rules,
            ".kp-figure .kp-{}{{stroke-dasharray:{};stroke-linecap:butt}}",
            form_word(form),
            dashes.join(" ")
        );
    }
    for each in Ink::ALL {
        let (word, stroke, fill) = (each.word(), ink("stroke", each), ink("fill", each));
        let _ = write!(rules, ".kp-figure .kp-s-{word}{{{stroke}}}.kp-figure .kp-f-{word}{{{fill}}}");
    }
    rules
}

const fn form_word(form: Form) -> &'static str {
    match form {
        Form::Solid => "solid",
        Form::Dashed => "dashed",
        Form::Dotted => "dotted",
        Form::Chain => "chain",
    }
}

fn write_path(out: &mut String, path: &Path) {
    let mut classes: Vec<String> = Vec::new();
    if let Some(Stroke { ink, form, .. }) = path.stroke {
        classes.push(format!("kp-s-{}", ink.word()));
        if form != Form::Solid {
            classes.push(format!("kp-{}", form_word(form)));
        }
    }
    classes.extend(path.fill.map(|ink| format!("kp-f-{}", ink.word())));
    let width = path.stroke.map_or(String::new(), |stroke| format!(" stroke-width=\"{}\"", number(stroke.width)));
    let _ = writeln!(out, "<path class=\"{}\"{width} d=\"{}\"/>", classes.join(" "), steps(&path.steps));
}

fn steps(steps: &[Step]) -> String {
    let point = |[x, y]: [f64; 2]| format!("{} {}", number(x), number(y));
    let mut out = String::new();
    for step in steps {
        match *step {
            Step::Move(to) => out.push_str(&format!("M{}", point(to))),
            Step::Line(to) => out.push_str(&format!("L{}", point(to))),
            Step::Curve(a, b, to) => out.push_str(&format!("C{} {} {}", point(a), point(b), point(to))),
            Step::Close => out.push('Z'),
        }
    }
    out
}

/// Each run begins where it should and is as wide as it should be, whatever
/// face the reader's machine has.
fn write_lettering(out: &mut String, lettering: &Lettering) {
    let Lettering { at: [x, y], turn, size, .. } = *lettering;
    let turned = if turn == 0.0 {
        String::new()
    } else {
        format!(" transform=\"rotate({} {} {})\"", number(turn), number(x), number(y))
    };
    let bold = if lettering.weight == Weight::Bold { " kp-bold" } else { "" };
    // The runs of one label are kept together, and turned together.
    let is_group = lettering.runs.len() > 1;
    if is_group {
        let _ = writeln!(out, "<g class=\"kp-label\"{turned}>");
    }
    let turned = if is_group { "" } else { turned.as_str() };
    for (run, left, own, drop) in lettering.laid_out(x) {
        let _ = writeln!(
            out,
            "<text class=\"kp-f-{}{bold}\" x=\"{}\" y=\"{}\" font-size=\"{}\" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\"{turned}>{}</text>",
            lettering.ink.word(),
            number(left),
            number(y + BASE_LINE * size + drop),
            number(own),
            number(run.width(size, lettering.weight)),
            escape(&run.text),
        );
    }
    if is_group {
        out.push_str("</g>\n");
    }
}

/// Two decimals, no zeros after them, never `-0`.
pub fn number(value: f64) -> String {
    decimals(value, 2)
}

/// So many decimals, no zeros after them, never `-0`.
pub fn decimals(value: f64, places: usize) -> String {
    let fixed = format!("{:.places$}", if value.is_finite() { value } else { 0.0 });
    let short = fixed.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// Programs without CSS properties show a drawing for a light page, not one all black.
    #[test]
    fn every_ink_stands_without_properties() {
        for rule in style().split('}').filter(|rule| rule.contains("var(")) {
            let (_, declarations) = rule.split_once('{').unwrap();
            let declared: Vec<&str> = declarations.split(';').collect();
            for (index, declaration) in declared.iter().enumerate() {
                let Some((what, value)) = declaration.split_once(":var(") else { continue };
                let plain = value.trim_end_matches(')').split_once(',').unwrap().1;
                assert_eq!(declared[index - 1], format!("{what}:{plain}"), "{rule}");
            }
        }
    }

    #[test]
    fn a_drawing_is_one_element_with_nothing_from_outside() {
        let svg = write_svg(&crate::present::figure::picture::sample(["A<\u{1b}", "y"]), "a & b", "\"c\"");
        assert!(svg.contains("<path class=\"kp-s-tension\" stroke-width=\"0.5\" d=\"M0 0L25.4 10\"/>"));
        assert!(svg.contains(">A&lt;␛</text>") && svg.contains("rotate(-90 5 5)"));
        assert!(svg.contains("<title>a &amp; b</title>") && svg.contains("<desc>&quot;c&quot;</desc>"));
        assert!(!svg.replace("http://www.w3.org/2000/svg", "").contains("http"));
    }
}

//! A drawing for LaTeX: lines as PDF operators, which pdfLaTeX, LuaLaTeX and
//! XeLaTeX pass on, so that a plain TeX installation sets it; lettering in the
//! document's own sans-serif face.
//!
//! Must not know: structures; files; the document around it.

use std::fmt::Write as _;

use super::inks::{Ink, Page};
use super::picture::{
    BASE_LINE, Form, Lettering, Mark, Path, Picture, SUBSCRIPT_DROP, SUBSCRIPT_SIZE, Script, Step, Weight,
};
use super::svg::{decimals, number};
use crate::present::escape::latex::text;

/// What the document's preamble needs, once: packages of every LaTeX, and one
/// command that hands PDF operators on.
pub const PREAMBLE: &str = r"\usepackage{graphicx,color,amsmath,amssymb,textcomp}
\providecommand{\kpchar}[1]{\text{\fbox{\tiny\upshape\ttfamily #1}}}
\makeatletter
\ifdefined\kpdraw\else
\ifdefined\pdfextension
  \def\kpdraw#1{\pdfextension literal{#1}}
\else\ifdefined\XeTeXversion
  \def\kpdraw#1{\special{pdf:literal #1}}
\else
  \def\kpdraw#1{\pdfliteral{#1}}
\fi\fi
\fi
\makeatother
";

/// Points of PDF in a millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// Writes the drawing as a `picture` of its own size.
pub fn write_latex(picture: &Picture) -> String {
    let mut out = String::with_capacity(picture.marks.len() * 80 + 500);
    let _ = write!(
        out,
        "\\begingroup\\setlength{{\\unitlength}}{{1mm}}%\n\\begin{{picture}}({},{})\n",
        number(picture.width),
        number(picture.height),
    );
    for mark in &picture.marks {
        match mark {
            Mark::Path(path) => write_path(&mut out, path, picture.height),
            Mark::Lettering(lettering) => write_lettering(&mut out, lettering, picture.height),
        }
    }
    out.push_str("\\end{picture}%\n\\endgroup\n");
    out
}

fn write_path(out: &mut String, path: &Path, height: f64) {
    let point = |[x, y]: [f64; 2]| format!("{} {}", number(x * POINTS), number((height - y) * POINTS));
    let mut operators = String::from("q");
    if let Some(ink) = path.fill {
        let _ = write!(operators, " {} rg", colour(ink).join(" "));
    }
    if let Some(stroke) = path.stroke {
        let dashes: Vec<String> = stroke.form.dashes().iter().map(|length| number(length * POINTS)).collect();
        let cap = if stroke.form == Form::Solid { 1 } else { 0 };
        let _ = write!(
            operators,
            " {} RG {} w {cap} J 1 j [{}] 0 d",
            colour(stroke.ink).join(" "),
            number(stroke.width * POINTS),
            dashes.join(" ")
        );
    }
    for step in &path.steps {
        let _ = match *step {
            Step::Move(to) => write!(operators, " {} m", point(to)),
            Step::Line(to) => write!(operators, " {} l", point(to)),
            Step::Curve(a, b, to) => write!(operators, " {} {} {} c", point(a), point(b), point(to)),
            Step::Close => write!(operators, " h"),
        };
    }
    operators.push_str(match (path.stroke.is_some(), path.fill.is_some()) {
        (true, true) => " B Q",
        (true, false) => " S Q",
        (false, true) => " f Q",
        (false, false) => " n Q",
    });
    let _ = writeln!(out, "\\put(0,0){{\\kpdraw{{{operators}}}}}%");
}

fn write_lettering(out: &mut String, lettering: &Lettering, height: f64) {
    let Lettering { at: [x, y], turn, size, .. } = *lettering;
    let points = |millimetres: f64| number(millimetres * 72.27 / 25.4);
    let weight = if lettering.weight == Weight::Bold { "\\bfseries" } else { "" };
    let mut words = format!("\\fontsize{{{}}}{{{}}}\\selectfont\\sffamily{weight}{{}}", points(size), points(size));
    for run in &lettering.runs {
        match run.script {
            Script::Base => words.push_str(&text(&run.text)),
            Script::Subscript => {
                let _ = write!(
                    words,
                    "\\raisebox{{-{}pt}}[0pt][0pt]{{\\fontsize{{{1}}}{{{1}}}\\selectfont {2}}}",
                    points(SUBSCRIPT_DROP * size),
                    points(SUBSCRIPT_SIZE * size),
                    text(&run.text)
                );
            }
        }
    }
    let colour = colour(lettering.ink).join(",");
    // On its base line, its middle over the reference point.
    let line = format!(
        "\\makebox(0,0)[b]{{\\raisebox{{-{}pt}}[0pt][0pt]{{\\textcolor[rgb]{{{colour}}}{{{words}}}}}}}",
        points(BASE_LINE * size)
    );
    let line = if turn == 0.0 { line } else { format!("\\rotatebox[origin=Bc]{{{}}}{{{line}}}", number(-turn)) };
    let _ = writeln!(out, "\\put({},{}){{{line}}}%", number(x), number(height - y));
}

/// Red, green and blue from 0 to 1.
fn colour(ink: Ink) -> [String; 3] {
    ink.rgb(Page::Light).map(|channel| decimals(f64::from(channel) / 255.0, 3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_is_a_picture_of_its_size() {
        let tex = write_latex(&crate::present::figure::picture::sample(["50 % of A_1 桁", "y"]));
        assert!(tex.contains("\\begin{picture}(30,10)"));
        assert!(tex.contains("0 28.35 m 72 0 l S Q"), "{tex}");
        assert!(tex.contains("50 \\% of A\\_1 \\kpchar{6841}") && tex.contains("\\rotatebox[origin=Bc]{90}"));
    }
}

//! Figures: a structure and what is known of it as drawings, with the words
//! that stand under them and those read out to whoever cannot see them.
//!
//! Must not know: files and terminals.

pub mod arrows;
pub mod bodies;
pub mod dimensions;
pub mod forces;
pub mod inks;
pub mod labels;
pub mod latex;
pub mod letters;
pub mod loads;
pub mod picture;
#[cfg(feature = "png")]
pub mod png;
pub mod sheet;
pub mod svg;
pub mod symbols;

pub use inks::{Page, css_properties};
pub use picture::Picture;

use crate::check::{Checked, words};
use crate::statics::{CaseResult, Subject};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::results::{subject_kind, subject_name};
use loads::Loads;

/// Structures of more members are not drawn.
pub const MOST_MEMBERS: usize = 20_000;

/// A drawing and what is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Under the drawing.
    pub caption: String,
    /// For whoever cannot see it: what the drawing shows, in a sentence or two.
    pub description: String,
    pub picture: Picture,
}

impl Figure {
    /// A whole SVG element, without fonts or links from outside. Its colours
    /// are CSS custom properties (see [`css_properties`]) with those of a
    /// light page to fall back on.
    pub fn svg(&self) -> String {
        svg::write_svg(&self.picture, &self.caption, &self.description)
    }

    /// The drawing alone, for a LaTeX document whose preamble holds
    /// [`latex::PREAMBLE`]; its caption is the document's to set.
    pub fn latex(&self) -> String {
        latex::write_latex(&self.picture)
    }
}

/// What a figure shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Structure,
    FreeBody,
    Forces,
}

impl Kind {
    pub const ALL: [Kind; 3] = [Kind::Structure, Kind::FreeBody, Kind::Forces];

    /// The word it is asked for by.
    pub const fn word(self) -> &'static str {
        match self {
            Kind::Structure => "structure",
            Kind::FreeBody => "free-body",
            Kind::Forces => "forces",
        }
    }

    /// What it is called in a sentence.
    pub const fn title(self) -> &'static str {
        match self {
            Kind::Structure => "structure",
            Kind::FreeBody => "free body",
            Kind::Forces => "figure of member forces",
        }
    }

    /// Whether it shows one case or combination.
    pub const fn is_of_a_case(self) -> bool {
        !matches!(self, Kind::Structure)
    }
}

/// Why there is no figure, as a sentence without its full stop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal(pub String);

/// Draws one figure. A figure of a case needs to be told which; `Structure`
/// draws the loads of the case it is told, or none.
pub fn draw(checked: &Checked, kind: Kind, subject: Option<Subject>) -> Result<Figure, Refusal> {
    let structure = &checked.structure;
    if structure.members.is_empty() {
        return Err(refuse("there are no members to draw"));
    }
    if structure.members.len() > MOST_MEMBERS {
        let message = format!("{} members are more than are drawn ({MOST_MEMBERS} at most)", structure.members.len());
        return Err(refuse(message));
    }
    match kind {
        Kind::Structure => structure_figure(structure, subject),
        Kind::FreeBody => {
            let result = result(checked, subject)?;
            let loads = Loads::of(structure, Some(result.subject));
            let picture = bodies::draw_free_body(structure, &loads, result).ok_or_else(no_size)?;
            let caption = format!("Free body{}", under(structure, Some(result.subject)));
            let description = format!("{} with its supports replaced by their reactions.", about(structure));
            Ok(Figure { caption, description, picture })
        }
        Kind::Forces => {
            let result = result(checked, subject)?;
            if structure.members.iter().all(|member| member.kind == MemberKind::Beam) {
                return Err(refuse("there are no bars; `axial`, `shear` and `moment` draw the forces in beams"));
            }
            let picture = forces::draw_forces(structure, result).ok_or_else(no_size)?;
            let caption = format!("Member forces{}", under(structure, Some(result.subject)));
            let description = format!("{} with the force in each member.", about(structure));
            Ok(Figure { caption, description, picture })
        }
    }
}

fn structure_figure(structure: &Structure, subject: Option<Subject>) -> Result<Figure, Refusal> {
    let loads = Loads::of(structure, subject);
    let picture = bodies::draw_structure(structure, &loads).ok_or_else(no_size)?;
    let caption = match &structure.title {
        Some(title) => format!("{}{}", super::text::one_line(title, 200), under(structure, subject)),
        None => format!("The structure{}", under(structure, subject)),
    };
    Ok(Figure { caption, description: format!("{} with its dimensions.", about(structure)), picture })
}

fn result(checked: &Checked, subject: Option<Subject>) -> Result<&CaseResult, Refusal> {
    let Some(solution) = &checked.solution else { return Err(refuse("there are no forces to draw")) };
    let found = match subject {
        Some(subject) => solution.results.iter().find(|result| result.subject == subject),
        None => solution.results.first(),
    };
    found.ok_or_else(|| refuse("there is no case to draw"))
}

fn refuse(message: impl Into<String>) -> Refusal {
    Refusal(message.into())
}

fn no_size() -> Refusal {
    refuse("its joints are too close together, or too far from the origin, to be drawn")
}

/// `, case snow`; nothing where a file has one case only, of no name of its own.
fn under(structure: &Structure, subject: Option<Subject>) -> String {
    match subject {
        Some(subject) if structure.cases.len() + structure.combos.len() > 1 => {
            format!(", {} {}", subject_kind(subject), subject_name(structure, subject))
        }
        _ => String::new(),
    }
}

/// `Seven joints and eleven members`
fn about(structure: &Structure) -> String {
    let joints = words::counted(structure.joints.len(), "joint");
    let members = words::counted(structure.members.len(), "member");
    let mut text = format!("{joints} and {members}");
    if let Some(first) = text.get(..1) {
        let first = first.to_uppercase();
        text.replace_range(..1, &first);
    }
    text
}

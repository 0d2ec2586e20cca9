//! Figures: a structure and what is known of it as drawings, with the words
//! that stand under them and those read out to readers who cannot see them.
//!
//! Must not know: files and terminals.

pub mod arrows;
pub mod bodies;
pub mod deflected;
pub mod diagrams;
pub mod dimensions;
pub mod forces;
pub mod inks;
pub mod labels;
pub mod latex;
pub mod letters;
pub mod loads;
pub mod mechanism;
pub mod names;
pub mod picture;
pub mod plane;
#[cfg(feature = "png")]
pub mod png;
pub mod polygons;
pub mod reciprocal;
pub mod said;
pub mod sheet;
pub mod spaces;
pub mod svg;
pub mod symbols;
pub mod terminal;

pub use inks::{Page, css_properties};
pub use picture::Picture;

use crate::check::{Checked, words};
use crate::statics::diagram::Quantity;
use crate::statics::{CaseResult, Subject, VerdictKind};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::results::words::does_not_hold;
use super::results::{CAUTION, subject_kind, subject_name};
use super::text::one_line;
use loads::Loads;
use sheet::Order;

/// Structures of more members are not drawn.
pub const MOST_MEMBERS: usize = 20_000;

/// A drawing and what is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Under the drawing.
    pub caption: String,
    /// For readers who cannot see it: what the drawing shows, in a sentence or two.
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
    Axial,
    Shear,
    Moment,
    Deflected,
    Mechanism,
    Polygons,
    ForceDiagram,
}

impl Kind {
    pub const ALL: [Kind; 10] = [
        Kind::Structure,
        Kind::FreeBody,
        Kind::Forces,
        Kind::Axial,
        Kind::Shear,
        Kind::Moment,
        Kind::Deflected,
        Kind::Mechanism,
        Kind::Polygons,
        Kind::ForceDiagram,
    ];

    /// The word it is asked for by, and what it is called in a sentence.
    const fn names(self) -> [&'static str; 2] {
        match self {
            Kind::Structure => ["structure", "structure"],
            Kind::FreeBody => ["free-body", "free-body diagram"],
            Kind::Forces => ["forces", "figure of member forces"],
            Kind::Axial => ["axial", "axial force diagram"],
            Kind::Shear => ["shear", "shear diagram"],
            Kind::Moment => ["moment", "moment diagram"],
            Kind::Deflected => ["deflected", "deflected shape"],
            Kind::Mechanism => ["mechanism", "mechanism"],
            Kind::Polygons => ["joint-polygons", "figure of joint polygons"],
            Kind::ForceDiagram => ["force-diagram", "force diagram"],
        }
    }

    pub const fn word(self) -> &'static str {
        let [word, _] = self.names();
        word
    }

    pub const fn title(self) -> &'static str {
        let [_, title] = self.names();
        title
    }

    /// Whether it shows one case or combination.
    pub const fn is_of_a_case(self) -> bool {
        !matches!(self, Kind::Structure | Kind::Mechanism)
    }
}

/// Whether a figure is laid out, or its caption and description are all that is
/// wanted: its picture is then empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Telling {
    Drawn,
    InWords,
}

/// Why there is no figure, as a sentence without its full stop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal(pub String);

/// Draws one figure. A figure of a case shows the one it is told, or the
/// first; `Structure` draws the loads of the case it is told, or none.
pub fn draw(checked: &Checked, kind: Kind, subject: Option<Subject>) -> Result<Figure, Refusal> {
    tell(checked, kind, subject, Telling::Drawn)
}

/// As [`draw`], or no more than what is said of the figure. What of its words
/// found no room is counted in its caption.
pub fn tell(checked: &Checked, kind: Kind, subject: Option<Subject>, telling: Telling) -> Result<Figure, Refusal> {
    let mut figure = told(checked, kind, subject, telling)?;
    match figure.picture.tally.left_out {
        0 => {}
        1 => figure.caption.push_str("; one label is omitted for lack of space"),
        left_out => figure.caption.push_str(&format!("; {left_out} labels are omitted for lack of space")),
    }
    Ok(figure)
}

fn told(checked: &Checked, kind: Kind, subject: Option<Subject>, telling: Telling) -> Result<Figure, Refusal> {
    let structure = &checked.structure;
    let members = structure.members.len();
    refuse_if(members == 0, "there are no members to draw")?;
    refuse_if(members > MOST_MEMBERS, format!("{members} members are too many to draw ({MOST_MEMBERS} at most)"))?;
    let order = Order::of(structure, telling)
        .ok_or_else(|| refusal("its joints are too close together, or too far from the origin, to be drawn"))?;
    match kind {
        Kind::Structure => Ok(structure_figure(&order, subject)),
        Kind::Mechanism => mechanism_figure(checked, &order),
        _ => {
            let result = result(checked, subject)?;
            let (caption, told, picture) = of_a_case(&order, result, kind)?;
            let case = under(structure, Some(result.subject));
            let fails = does_not_hold(result).unwrap_or_default();
            let line = joined(&one_line(&case, MOST_OF_A_CASE), "; ", &fails);
            let picture = picture.with_line_below(&line).with_caution(CAUTION);
            let caption = joined(&joined(caption, ", ", &case), "; ", &fails);
            Ok(Figure { caption, description: format!("{}{told}", about(structure)), picture })
        }
    }
}

/// Longer names of cases are cut on the drawing itself.
const MOST_OF_A_CASE: usize = 60;

/// Caption without its case, what follows the count of joints and members in
/// the description, picture.
type Parts = (&'static str, String, Picture);

fn of_a_case(order: &Order<'_>, result: &CaseResult, kind: Kind) -> Result<Parts, Refusal> {
    let structure = order.structure;
    let beams = structure.members.iter().filter(|member| member.kind == MemberKind::Beam).count();
    let loads = || Loads::of(structure, Some(result.subject));
    Ok(match kind {
        Kind::FreeBody => {
            let told = format!(", its supports replaced by their reactions. {}", said::reactions(structure, result));
            ("Free-body diagram", told, bodies::draw_free_body(order, &loads(), result))
        }
        Kind::Forces => {
            let is_of_beams = beams == structure.members.len();
            refuse_if(is_of_beams, "there are no bars; `axial`, `shear` and `moment` show the forces in beams")?;
            let told = format!(" with their forces. {}", said::forces(structure, result));
            ("Member forces", told, forces::draw_forces(order, result))
        }
        Kind::Axial => diagram(order, result, Quantity::Axial, ["Axial force, tension positive", ""])?,
        Kind::Shear => diagram(order, result, Quantity::Shear, ["Shear", ""])?,
        Kind::Moment => {
            let words = ["Bending moment, on the tension side", " on the tension side"];
            diagram(order, result, Quantity::Moment, words)?
        }
        Kind::Deflected => {
            let is_unknown = result.displacements.is_none();
            refuse_if(is_unknown, "displacements are not known without the stiffness of every member")?;
            let picture =
                deflected::draw_deflected(order, result).ok_or_else(|| refusal("there are no displacements"))?;
            ("Deflected shape", ", and how they move.".to_owned(), picture)
        }
        Kind::Polygons => {
            refuse_if(beams > 0, "joint polygons are for trusses, and this structure has beams")?;
            let joints = structure.joints.len();
            let is_large = joints > polygons::MOST_JOINTS;
            refuse_if(is_large, format!("{joints} joints are too many for a page of polygons"))?;
            let picture = polygons::draw_polygons(structure, &loads().resultants(), result);
            refuse_if(picture.marks.len() <= 1, "no joint has a force on it")?;
            let told = ": the forces on each joint, tip to tail, close.".to_owned();
            ("Force polygons of the joints", told, picture)
        }
        Kind::ForceDiagram | Kind::Structure | Kind::Mechanism => {
            let figure = spaces::reciprocal(structure, &loads().resultants(), result);
            let figure = figure.map_err(|unfit| Refusal(said::unfit(structure, &unfit)))?;
            refuse_if(figure.lines.iter().all(|line| line.value == 0.0), "there is no force in it")?;
            let told = " with its spaces lettered, and below it the force diagram: the line between two \
                        spaces' points is as long as the force between them.";
            ("Force diagram", told.to_owned(), reciprocal::draw_reciprocal(order, &figure))
        }
    })
}

fn diagram(
    order: &Order<'_>,
    result: &CaseResult,
    quantity: Quantity,
    [caption, side]: [&'static str; 2],
) -> Result<Parts, Refusal> {
    let has_none = diagrams::shown(order.structure, quantity).is_empty();
    refuse_if(has_none, "there are no beams; `forces` shows the forces in bars")?;
    let extremes = said::extremes(order.structure, result, quantity);
    let told = format!(": the diagram is drawn on the members{side}. {extremes}");
    Ok((caption, told, diagrams::draw_diagram(order, result, quantity)))
}

fn mechanism_figure(checked: &Checked, order: &Order<'_>) -> Result<Figure, Refusal> {
    let verdict = checked.verdict.as_ref().ok_or_else(|| refusal("it is not known whether it is stable"))?;
    refuse_if(verdict.kind.is_stable(), "it is stable")?;
    refuse_if(verdict.kind == VerdictKind::NotSettled, "its verdict is not settled")?;
    let picture =
        mechanism::draw_mechanisms(order, verdict).ok_or_else(|| refusal("its motions are too large to describe"))?;
    let told = verdict.motions.len() + usize::from(verdict.support_fault.is_some());
    let more = if told > mechanism::MOST_DRAWN {
        format!(", {} of {told} motions", mechanism::MOST_DRAWN)
    } else {
        String::new()
    };
    let description = format!("{}: how the structure moves without resistance.", about(order.structure));
    Ok(Figure { caption: format!("Mechanism{more}"), description, picture })
}

fn structure_figure(order: &Order<'_>, subject: Option<Subject>) -> Figure {
    let structure = order.structure;
    let case = under(structure, subject);
    let title = structure.title.as_ref().map_or("The structure".to_owned(), |title| one_line(title, 200));
    let picture = bodies::draw_structure(order, &Loads::of(structure, subject));
    Figure {
        caption: joined(&title, ", ", &case),
        description: format!("{} with its dimensions.", about(structure)),
        picture: picture.with_line_below(&one_line(&case, MOST_OF_A_CASE)),
    }
}

fn result(checked: &Checked, subject: Option<Subject>) -> Result<&CaseResult, Refusal> {
    let solution = checked.solution.as_ref().ok_or_else(|| refusal("there are no forces to draw"))?;
    let found = match subject {
        Some(subject) => solution.results.iter().find(|result| result.subject == subject),
        None => solution.results.first(),
    };
    found.ok_or_else(|| refusal("there is no case to draw"))
}

fn refusal(why: &str) -> Refusal {
    Refusal(why.to_owned())
}

fn refuse_if(is_so: bool, why: impl Into<String>) -> Result<(), Refusal> {
    if is_so { Err(Refusal(why.into())) } else { Ok(()) }
}

/// What words there are, with something between where there are both.
fn joined(first: &str, between: &str, second: &str) -> String {
    let between = if first.is_empty() || second.is_empty() { "" } else { between };
    format!("{first}{between}{second}")
}

/// `case snow`; nothing where a file has one case only, and no travelling load.
fn under(structure: &Structure, subject: Option<Subject>) -> String {
    match subject {
        Some(subject) if structure.cases.len() + structure.combinations.len() + structure.travels.len() > 1 => {
            format!("{} {}", subject_kind(subject), subject_name(structure, subject))
        }
        _ => String::new(),
    }
}

/// `Seven joints and eleven members`
fn about(structure: &Structure) -> String {
    let joints = words::counted(structure.joints.len(), "joint");
    words::capital(&format!("{joints} and {}", words::counted(structure.members.len(), "member")))
}

//! Figures: a structure and what is known of it as drawings, with the words
//! that stand under them and those read out to whoever cannot see them.
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

use super::results::words::held;
use super::results::{subject_kind, subject_name};
use loads::Loads;
use sheet::Order;

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
            Kind::FreeBody => ["free-body", "free body"],
            Kind::Forces => ["forces", "figure of member forces"],
            Kind::Axial => ["axial", "axial force diagram"],
            Kind::Shear => ["shear", "shear diagram"],
            Kind::Moment => ["moment", "moment diagram"],
            Kind::Deflected => ["deflected", "deflected shape"],
            Kind::Mechanism => ["mechanism", "mechanism"],
            Kind::Polygons => ["joint-polygons", "page of joint polygons"],
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
        1 => figure.caption.push_str("; one label is left out for want of room"),
        left_out => figure.caption.push_str(&format!("; {left_out} labels are left out for want of room")),
    }
    Ok(figure)
}

fn told(checked: &Checked, kind: Kind, subject: Option<Subject>, telling: Telling) -> Result<Figure, Refusal> {
    let structure = &checked.structure;
    if structure.members.is_empty() {
        return Err(refuse("there are no members to draw"));
    }
    if structure.members.len() > MOST_MEMBERS {
        let message = format!("{} members are more than are drawn ({MOST_MEMBERS} at most)", structure.members.len());
        return Err(refuse(message));
    }
    let Some(order) = Order::of(structure, telling) else {
        return Err(refuse("its joints are too close together, or too far from the origin, to be drawn"));
    };
    match kind {
        Kind::Structure => Ok(structure_figure(&order, subject)),
        Kind::Mechanism => mechanism_figure(checked, &order),
        _ => {
            let result = result(checked, subject)?;
            let (caption, description, picture) = of_a_case(&order, result, kind)?;
            let case = under(structure, Some(result.subject));
            let fails = does_not_hold(result);
            let picture = picture.with_line_below(&lettered(&case, fails));
            Ok(Figure { caption: format!("{caption}{case}{}", after(fails)), description, picture })
        }
    }
}

/// Caption without its case, description, picture.
type Parts = (&'static str, String, Picture);

fn of_a_case(order: &Order<'_>, result: &CaseResult, kind: Kind) -> Result<Parts, Refusal> {
    let structure = order.structure;
    let about = about(structure);
    let has_beams = structure.members.iter().any(|member| member.kind == MemberKind::Beam);
    let loads = || Loads::of(structure, Some(result.subject));
    let quantity = match kind {
        Kind::FreeBody => {
            let picture = bodies::draw_free_body(order, &loads(), result);
            let reactions = said::reactions(structure, result);
            let described = format!("{about}, its supports replaced by their reactions. {reactions}");
            return Ok(("Free body", described, picture));
        }
        Kind::Forces => {
            if structure.members.iter().all(|member| member.kind == MemberKind::Beam) {
                return Err(refuse("there are no bars; `axial`, `shear` and `moment` show the forces in beams"));
            }
            let picture = forces::draw_forces(order, result);
            let described = format!("{about} with their forces. {}", said::forces(structure, result));
            return Ok(("Member forces", described, picture));
        }
        Kind::Deflected => {
            if result.displacements.is_none() {
                return Err(refuse("movements are not known without the stiffness of every member"));
            }
            let picture = deflected::draw_deflected(order, result);
            let picture = picture.ok_or_else(|| refuse("nothing moves"))?;
            return Ok(("Deflected shape", format!("{about}, and how they move."), picture));
        }
        Kind::Polygons => {
            if has_beams {
                return Err(refuse("joint polygons are for trusses, and there are beams"));
            }
            if structure.joints.len() > polygons::MOST_JOINTS {
                let joints = structure.joints.len();
                return Err(refuse(format!("{joints} joints are more than a page of polygons holds")));
            }
            let picture = polygons::draw_polygons(structure, &loads().resultants(), result);
            if picture.marks.len() <= 1 {
                return Err(refuse("no joint has a force on it"));
            }
            let described = format!("{about}: the forces on each joint laid tip to tail close.");
            return Ok(("Force polygons of the joints", described, picture));
        }
        Kind::Axial => Quantity::Axial,
        Kind::Shear => Quantity::Shear,
        Kind::Moment => Quantity::Moment,
        Kind::ForceDiagram | Kind::Structure | Kind::Mechanism => {
            let figure = spaces::reciprocal(structure, &loads().resultants(), result);
            let figure = figure.map_err(|unfit| refuse(said::unfit(structure, &unfit)))?;
            if figure.lines.iter().all(|line| line.value == 0.0) {
                return Err(refuse("there is no force in it"));
            }
            let picture = reciprocal::draw_reciprocal(order, &figure);
            let described = format!(
                "{about} with its spaces lettered, and below it the force diagram: the line between two \
                 spaces' points is as long as the force between them."
            );
            return Ok(("Force diagram", described, picture));
        }
    };
    if diagrams::shown(structure, quantity).is_empty() {
        return Err(refuse("there are no beams; `forces` shows the forces in bars"));
    }
    let picture = diagrams::draw_diagram(order, result, quantity);
    let (caption, side) = match quantity {
        Quantity::Axial => ("Axial force, tension positive", ""),
        Quantity::Shear => ("Shear", ""),
        Quantity::Moment => ("Bending moment, on the tension side", " on the tension side"),
    };
    let extremes = said::extremes(structure, result, quantity);
    Ok((caption, format!("{about}: the diagram is drawn on the members{side}. {extremes}"), picture))
}

fn mechanism_figure(checked: &Checked, order: &Order<'_>) -> Result<Figure, Refusal> {
    let Some(verdict) = &checked.verdict else { return Err(refuse("it is not known whether it is stable")) };
    match verdict.kind {
        VerdictKind::Determinate | VerdictKind::Indeterminate => return Err(refuse("it is stable")),
        VerdictKind::NotSettled => return Err(refuse("its verdict is not settled")),
        VerdictKind::Unstable => {}
    }
    let picture =
        mechanism::draw_mechanisms(order, verdict).ok_or_else(|| refuse("its motions are too large to be told"))?;
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
    let loads = Loads::of(structure, subject);
    let picture = bodies::draw_structure(order, &loads);
    let caption = match &structure.title {
        Some(title) => format!("{}{}", super::text::one_line(title, 200), under(structure, subject)),
        None => format!("The structure{}", under(structure, subject)),
    };
    let picture = picture.with_line_below(&lettered(&under(structure, subject), ""));
    Figure { caption, description: format!("{} with its dimensions.", about(structure)), picture }
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

/// `does not hold: a cable is slack`; nothing of a result that holds.
fn does_not_hold(result: &CaseResult) -> &'static str {
    held(result).trim().trim_start_matches('(').trim_end_matches(')')
}

/// Words that follow others, after a semicolon.
fn after(words: &str) -> String {
    if words.is_empty() { String::new() } else { format!("; {words}") }
}

/// What stands on the drawing itself, for one that is printed without its caption.
fn lettered(case: &str, fails: &str) -> String {
    let case = super::text::one_line(case.trim_start_matches([',', ' ']), 60);
    if case.is_empty() { fails.to_owned() } else { format!("{case}{}", after(fails)) }
}

/// `, case snow`; nothing where a file has one case only, and no travelling load.
fn under(structure: &Structure, subject: Option<Subject>) -> String {
    match subject {
        Some(subject) if structure.cases.len() + structure.combinations.len() + structure.travels.len() > 1 => {
            format!(", {} {}", subject_kind(subject), subject_name(structure, subject))
        }
        _ => String::new(),
    }
}

/// `Seven joints and eleven members`
fn about(structure: &Structure) -> String {
    let joints = words::counted(structure.joints.len(), "joint");
    words::capital(&format!("{joints} and {}", words::counted(structure.members.len(), "member")))
}

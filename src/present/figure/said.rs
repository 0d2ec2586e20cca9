//! What figures show, in words: for captions, for readers who cannot see them, and
//! for those that cannot be drawn.
//!
//! Must not know: pictures.

use crate::check::words;
use crate::statics::diagram::Quantity;
use crate::statics::{CaseResult, ZERO_SHARE};
use crate::structure::Structure;

use super::diagrams::{dimension, noise, shown};
use super::spaces::{MOST_MEMBERS, Unfit};
use crate::quantity::Dimension;

/// Reactions listed one by one, in words.
const MOST_TOLD: usize = 6;

/// `At A 68.2 lbf right and 217 lbf up. At C …`
pub fn reactions(structure: &Structure, result: &CaseResult) -> String {
    let noise = ZERO_SHARE * result.largest;
    let told = structure.supports.iter().zip(&result.reactions).take(MOST_TOLD).map(|(support, reaction)| {
        let [x, y] = reaction.force();
        let part = |value: f64, plus: &str, minus: &str| {
            let size = words::quantity(structure, value.abs(), Dimension::FORCE);
            (value.abs() > noise).then(|| format!("{size} {}", if value > 0.0 { plus } else { minus }))
        };
        let parts: Vec<String> = [part(x, "right", "left"), part(y, "up", "down")].into_iter().flatten().collect();
        let parts = if parts.is_empty() { "no force".to_owned() } else { parts.join(" and ") };
        format!("At {} {parts}.", structure.joint_name(support.joint))
    });
    told.collect::<Vec<_>>().join(" ")
}

/// The largest tension and the largest compression.
pub fn forces(structure: &Structure, result: &CaseResult) -> String {
    let most = |sign: f64| {
        let forces = result.axial.entries().map(|(member, force)| (member, force * sign));
        forces.max_by(|(_, a), (_, b)| a.total_cmp(b)).filter(|(_, force)| *force > ZERO_SHARE * result.largest)
    };
    let told = |sign: f64, word: &str| {
        most(sign).map_or_else(
            || format!("No member is in {word}."),
            |(member, force)| {
                let size = words::quantity(structure, force, Dimension::FORCE);
                format!("The largest {word} is {size} in {}.", structure.member_name(member))
            },
        )
    };
    format!("{} {}", told(1.0, "tension"), told(-1.0, "compression"))
}

/// `The largest is 14.85 kN·m, at B of A-B.`
pub fn extremes(structure: &Structure, result: &CaseResult, quantity: Quantity) -> String {
    let all = shown(structure, quantity)
        .into_iter()
        .flat_map(|member| result.diagram(structure, member).extremes(quantity).map(|extreme| (member, extreme)));
    let most = all.max_by(|(_, a), (_, b)| a.value.abs().total_cmp(&b.value.abs()));
    match most.filter(|(_, extreme)| extreme.value.abs() > noise(structure, result, quantity)) {
        None => "It is zero throughout.".to_owned(),
        Some((member, extreme)) => {
            let size = words::quantity(structure, extreme.value.abs(), dimension(quantity));
            let place = words::member_place(structure, member, extreme.at);
            format!("The largest is {size} in {}, {place}.", structure.member_name(member))
        }
    }
}

/// Why a truss has no force diagram.
pub fn unfit(structure: &Structure, unfit: &Unfit) -> String {
    match unfit {
        Unfit::Beams => "a force diagram is for trusses, and this structure has beams".to_owned(),
        Unfit::TooMany => format!("a force diagram of more than {MOST_MEMBERS} members could not be read"),
        Unfit::LoadOnMember(member) => {
            format!("{} is loaded between its joints", structure.member_name(*member))
        }
        Unfit::Crossing(a, b) => format!(
            "{} and {} cross without a joint, so the truss has no spaces to letter",
            structure.member_name(*a),
            structure.member_name(*b)
        ),
        Unfit::Apart => "its members are not all connected".to_owned(),
        Unfit::Inside(joint) => format!(
            "{} is loaded or supported inside the truss, where it has no outside space",
            structure.joint_name(*joint)
        ),
        Unfit::Overlapping(joint) => format!("two members leave {} in one direction", structure.joint_name(*joint)),
        Unfit::Open => "the force polygons do not close".to_owned(),
    }
}

//! The free body, told: what is cut free, what it is divided into, and which
//! unknowns act on it.
//!
//! Must not know: equations.

use crate::check::words::capital;
use crate::present::document::{Line, words};
use crate::structure::SupportKind;

use super::bodies::Form;
use super::part::Kind;
use super::pen::{Pen, arrow, count, formula, listed, say, signed, sum, turn_arrow};
use super::system::{Chosen, System};

/// What is cut free and which unknowns appear.
pub fn free_body(pen: &Pen<'_>, system: &System) -> Line {
    let mut line = vec![say("Free the structure of its supports: ")];
    let mut number = 0;
    for (index, (support, given)) in system.reactions.iter().enumerate() {
        let Some(support) = pen.structure.supports.get(support.index()) else { continue };
        if index > 0 {
            line.push(say(if index + 1 == system.reactions.len() { " and " } else { ", " }));
        }
        line.push(say(format!("the {} at {} gives ", support_word(support.kind.word()), pen.joint(support.joint))));
        for (position, (id, kind)) in given.iter().enumerate() {
            if position > 0 {
                line.push(say(if position + 1 == given.len() { " and " } else { ", " }));
            }
            number += 1;
            if let Some(unknown) = system.unknowns.get(*id) {
                line.push(formula(unknown.symbol.clone()));
                line.push(say(match kind {
                    Kind::Couple => format!(" {}", turn_arrow(pen.structure.turning_sign())),
                    Kind::Force(direction) => format!(" {}", arrow(direction.unit)),
                }));
                if let Kind::Force(direction) = kind
                    && let Some([cosine, sine]) = &direction.cosines
                {
                    let [ux, uy] = direction.unit;
                    let way = if matches!(support.kind, SupportKind::Guide { .. }) { "slides" } else { "rolls" };
                    line.push(say(format!(" (square to the way it {way}: ")));
                    line.push(formula(sum(vec![signed(ux, cosine.clone())])));
                    line.push(say(" along x, "));
                    line.push(formula(sum(vec![signed(uy, sine.clone())])));
                    line.push(say(" along y)"));
                }
            }
        }
    }
    let equations = if number == 3 {
        "as many as a rigid body has equations of equilibrium"
    } else {
        "more than the three equations of one body"
    };
    line.push(say(format!(": {} unknown{}, {equations}.", count(number), if number == 1 { "" } else { "s" })));
    let sense = turn_arrow(pen.structure.turning_sign());
    line.push(say(format!(" Forces → and ↑ are positive, moments {sense} positive.")));
    line
}

fn support_word(word: &str) -> &str {
    match word {
        "fixed" => "fixed support",
        other => other,
    }
}

/// What the structure is divided into, and the forces between.
pub fn bodies_told(pen: &Pen<'_>, system: &System) -> Vec<Line> {
    let mut items = Vec::new();
    for index in system.free_bodies() {
        let Some(body) = system.bodies.get(index) else { continue };
        if body.form == Form::Rigid {
            items.push(words(format!("{} is one rigid body.", capital(&body_name(pen, system, index)))));
        }
    }
    for (joint, [body, first], ids) in &system.hinges {
        let mut line = vec![say(format!("At the hinge {}: ", pen.joint(*joint)))];
        for (position, id) in ids.iter().enumerate() {
            if let Some(unknown) = system.unknowns.get(*id) {
                line.push(say(if position > 0 { " and " } else { "" }));
                line.push(formula(unknown.symbol.clone()));
                line.push(say(if position > 0 { " ↑" } else { " →" }));
            }
        }
        line.push(say(format!(
            " act on {}, the same with opposite arrows on {}.",
            body_name(pen, system, *body),
            body_name(pen, system, *first)
        )));
        items.push(line);
    }
    if !system.links.is_empty() {
        let names: Vec<String> = system.links.iter().map(|(member, _)| pen.structure.member_name(*member)).collect();
        let (is, force) = if names.len() == 1 { ("is a link", "a force") } else { ("are links", "one force each") };
        items.push(words(format!("{} {is}: {force} along its line, assumed to pull.", listed(&names))));
    }
    items
}

/// `the part A-B-C`, `joint D`
pub fn body_name(pen: &Pen<'_>, system: &System, index: usize) -> String {
    let Some(body) = system.bodies.get(index) else { return String::new() };
    let names: Vec<&str> = body.joints.iter().map(|joint| pen.joint(*joint)).collect();
    match (body.form, names.as_slice()) {
        (Form::Pin, [only]) => format!("joint {only}"),
        (_, names) if names.len() > 6 => {
            format!("the part {} … {}", names.first().unwrap_or(&""), names.last().unwrap_or(&""))
        }
        (_, names) => format!("the part {}", names.join("-")),
    }
}

/// `the whole structure`, `the part A-B-C and joint D`
pub fn chosen_name(pen: &Pen<'_>, system: &System, chosen: &Chosen) -> String {
    if chosen.len() == system.free_bodies().len() {
        return "the whole structure".to_owned();
    }
    let names: Vec<String> = chosen.iter().map(|index| body_name(pen, system, *index)).collect();
    listed(&names)
}

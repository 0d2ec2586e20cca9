//! External equilibrium in words: the free body and its unknowns, the sums that
//! give them, and the check about another point.
//!
//! Must not know: how the sums are chosen.

use crate::check::words::{capital, count};
use crate::present::document::{Align, Inline, Line, Step, Table, words};
use crate::present::results::words::arrow;
use crate::solution::bodies::{BodyId, Form};
use crate::solution::loads::Loads;
use crate::solution::part::{Acting, Balance, Kind, Name, Size, Sum, UnknownId};
use crate::solution::problem::{Direction, arm, foot};
use crate::solution::reactions::{self, Goal, MOST_TOGETHER, Sideways, is_finer};
use crate::solution::system::{Chosen, Hinge, System};

use super::pen::{
    Page, Pen, between, column, equation, formula, listed, plain, product, say, signed, sum, table, turn_arrow,
    unitless,
};
use super::sums::{Written, named, pair_steps};

/// Sums of more terms than this get a table of their terms.
const MOST_TERMS: usize = 7;

/// Writes how all unknowns of a system are found.
pub fn tell(pen: &Pen<'_>, system: &mut System, loads: &Loads, page: &mut Page) {
    page.line(free_body(pen, system));
    let several = system.free_bodies().len() > 1;
    if several {
        page.list(bodies_told(pen, system));
    }
    let steps = find(pen, system, if several { Goal::All } else { Goal::Reactions }, page);
    if !matches!(steps.last(), Some(reactions::Step::Stuck)) {
        check(pen, system, &steps, page);
        if let Some(told) = reactions::sideways(pen, system, loads) {
            sideways(pen, &told, page);
        }
    }
}

/// Writes how the forces at hinges and in links are found that the sums for the
/// reactions did not need.
pub fn tell_inside(pen: &Pen<'_>, inside: &mut System, outside: &System, page: &mut Page) {
    if is_finer(inside, outside) {
        page.heading(2, "Hinge forces and two-force members, body by body");
        page.list(bodies_told(pen, inside));
        find(pen, inside, Goal::All, page);
    }
}

/// Finds what is wanted and tells it step by step.
fn find(pen: &Pen<'_>, system: &mut System, goal: Goal, page: &mut Page) -> Vec<reactions::Step> {
    // What the page has told so far.
    let mut told = system.clone();
    let steps = reactions::find(pen, system, goal);
    for step in &steps {
        tell_step(pen, &told, step, page);
        step.gives().iter().for_each(|(id, value)| told.set(*id, *value));
        if !page.has_negative && step.gives().iter().any(|(_, value)| *value < 0.0) {
            page.has_negative = true;
            page.say("A negative result means that the force acts opposite to the direction assumed. The sign is kept in what follows.");
        }
    }
    steps
}

/// What is cut free and which unknowns appear.
fn free_body(pen: &Pen<'_>, system: &System) -> Line {
    let mut line = vec![say("Free-body diagram: replace the supports by their reactions. ")];
    let mut number = 0;
    for (index, (support, given)) in pen.structure.supports.iter().zip(&system.reactions).enumerate() {
        let word = match support.kind.word() {
            "fixed" => "fixed support",
            other => other,
        };
        let before = if index == 0 { "The " } else { between(index, system.reactions.len()) };
        let the = if index == 0 { "" } else { "the " };
        line.push(say(format!("{before}{the}{word} at {} gives ", pen.joint(support.joint))));
        for (position, (id, kind)) in given.iter().enumerate() {
            line.push(say(between(position, given.len())));
            number += 1;
            line.push(formula(pen.unknown(system.unknowns[*id].name)));
            match kind {
                Kind::Couple => line.push(say(format!(" {}", turn_arrow(pen.structure.turning_sign())))),
                Kind::Force(direction) => {
                    line.push(say(format!(" {}", arrow(direction.unit))));
                    if let Some([cosine, sine]) = pen.cosines(*direction) {
                        let [ux, uy] = direction.unit;
                        line.extend([
                            say(" (direction cosines "),
                            formula(sum(vec![signed(ux, cosine)])),
                            say(" along x, "),
                            formula(sum(vec![signed(uy, sine)])),
                            say(" along y)"),
                        ]);
                    }
                }
            }
        }
    }
    let equations = if number == 3 {
        "and a rigid body has three equations of equilibrium"
    } else {
        "more than the three equations of equilibrium of one body"
    };
    line.push(say(format!(": {} unknown{}, {equations}.", count(number), if number == 1 { "" } else { "s" })));
    let sense = turn_arrow(pen.structure.turning_sign());
    line.push(say(format!(" Sign convention: forces → and ↑ positive, moments {sense} positive.")));
    line
}

/// What the structure is divided into, and the forces between.
fn bodies_told(pen: &Pen<'_>, system: &System) -> Vec<Line> {
    let rigid = system.bodies.entries().filter(|(_, body)| body.form == Form::Rigid);
    let mut items: Vec<Line> =
        rigid.map(|(id, _)| words(format!("{} is one rigid body.", capital(&body_name(pen, system, id))))).collect();
    items.extend(system.hinges.iter().map(|Hinge { joint, bodies, forces }| {
        let [across, up] = forces.map(|id| formula(pen.unknown(system.unknowns[id].name)));
        let [first, second] = bodies.map(|body| body_name(pen, system, body));
        let acting = format!(" ↑ act on {first}, equal and opposite on {second}.");
        vec![say(format!("At the hinge {}: ", pen.joint(*joint))), across, say(" → and "), up, say(acting)]
    }));
    let links = system.bodies.iter().filter_map(|body| match body.form {
        Form::Link(member) => Some(pen.structure.member_name(member)),
        _ => None,
    });
    let links: Vec<String> = links.collect();
    if !links.is_empty() {
        let (is, force) = if links.len() == 1 {
            ("is a two-force member", "one force")
        } else {
            ("are two-force members", "one force each")
        };
        items.push(words(format!("{} {is}: {force} along its line, assumed in tension.", listed(&links))));
    }
    items
}

/// `the part A-B-C`, `joint D`
fn body_name(pen: &Pen<'_>, system: &System, id: BodyId) -> String {
    const MOST: usize = 6;
    let body = &system.bodies[id];
    let names: Vec<&str> = body.joints.iter().map(|joint| pen.joint(*joint)).collect();
    match names.as_slice() {
        [only] if body.form == Form::Pin => format!("joint {only}"),
        [first, .., last] if names.len() > MOST => format!("the part {first} … {last}"),
        names => format!("the part {}", names.join("-")),
    }
}

/// `the whole structure`, `the part A-B-C and joint D`
fn chosen_name(pen: &Pen<'_>, system: &System, chosen: &Chosen) -> String {
    if chosen.len() == system.free_bodies().len() {
        return "the whole structure".to_owned();
    }
    listed(&chosen.iter().map(|id| body_name(pen, system, *id)).collect::<Vec<_>>())
}

fn tell_step(pen: &Pen<'_>, system: &System, step: &reactions::Step, page: &mut Page) {
    let unknowns = &system.unknowns;
    match step {
        reactions::Step::Alone { chosen, part, balance, gives } => {
            let mut lead: Line = Vec::new();
            if system.free_bodies().len() > 1 {
                lead.push(Inline::Strong(format!("{}. ", capital(&chosen_name(pen, system, chosen)))));
            }
            lead.extend(reason(pen, system, part, balance));
            page.line(lead);
            // The terms in a table where they are arms, then the lines.
            let is_long = balance.terms.len() > MOST_TERMS;
            let written = Written { pen, unknowns, balance };
            let mut statement = written.statement();
            if let Some(arms) = arms(pen, system, part, &balance.sum, is_long.then_some("sum of those known")) {
                page.table(arms);
                if is_long {
                    statement = written.short_statement();
                }
            }
            page.working(std::iter::once(statement).chain(written.solved(*gives)).collect());
        }
        reactions::Step::Pair { chosen, pair } => {
            let ([first, second], [one, other]) = (&pair.sums, chosen);
            page.say(format!(
                "No sum tried has only one unknown. Two sums have the same two: {} on {}, {} on {}.",
                sum_words(pen, &first.sum),
                chosen_name(pen, system, one),
                sum_words(pen, &second.sum),
                chosen_name(pen, system, other)
            ));
            let statements = pair.sums.iter().map(|balance| Written { pen, unknowns, balance }.statement());
            let lines = pair_steps(pen, unknowns, pair).into_iter().zip(&pair.gives);
            let lines = lines.map(|(step, gives)| Step { remark: remark(pen, system, gives), ..step });
            page.working(statements.chain(lines).collect());
        }
        reactions::Step::Together(together) => {
            page.say(format!(
                "No sum tried has only one or two unknowns: {} equations are solved simultaneously; the elimination is not shown.",
                count(together.rows.len())
            ));
            let rows = together.rows.iter().map(|(body, balance)| Step {
                label: words(body_name(pen, system, *body)),
                ..Written { pen, unknowns, balance }.statement()
            });
            let results = together.gives.iter().map(|gives| {
                let (id, value) = *gives;
                let name = unknowns[id].name;
                equation(Vec::new(), vec![pen.unknown(name), pen.value(name, value)], remark(pen, system, gives))
            });
            page.working(rows.chain(results).collect());
        }
        reactions::Step::Stuck => page.say(format!(
            "No sum tried has only one or two unknowns, and the rest cannot be solved simultaneously here (at most \
             {MOST_TOGETHER} are): they are taken from the equations of all joints (see the answers).",
        )),
    }
}

/// Why this sum leaves one unknown.
fn reason(pen: &Pen<'_>, system: &System, part: &[Acting], balance: &Balance) -> Line {
    let is_left = |id: &UnknownId| balance.open.iter().any(|(left, _)| left == id);
    let open = part.iter().filter(|acting| system.is_open(acting));
    let gone = open.filter(|acting| acting.direction().is_some()).filter_map(|acting| acting.size.unknown());
    let gone = gone.filter(|id| !is_left(id));
    let gone: Vec<UnknownId> = gone.collect();
    let symbol = |id: UnknownId| formula(pen.unknown(system.unknowns[id].name));
    let list = || {
        let named = |(index, id): (usize, &UnknownId)| [say(between(index, gone.len())), symbol(*id)];
        gone.iter().enumerate().flat_map(named)
    };
    let mut line = Vec::new();
    match balance.sum {
        Sum::About(..) if !gone.is_empty() => {
            line.push(say(format!("Sum of {}, through which ", sum_words(pen, &balance.sum))));
            line.extend(list());
            line.push(say(if gone.len() == 1 { " passes" } else { " pass" }));
        }
        Sum::Along([x, y]) if x != 0.0 && y != 0.0 && !gone.is_empty() => {
            line.push(say("Sum of forces perpendicular to "));
            line.extend(list());
        }
        Sum::About(..) | Sum::Along(_) => line.push(say(format!("Sum of {}", sum_words(pen, &balance.sum)))),
    }
    for (left, _) in &balance.open {
        line.extend([say(": only "), symbol(*left), say(" is unknown.")]);
    }
    line
}

/// Each force that has a moment about the point, with its arm, the sense and the
/// moment; their sum under a name, where that is asked for.
fn arms(pen: &Pen<'_>, system: &System, part: &[Acting], sum: &Sum, foot_name: Option<&str>) -> Option<Table> {
    let Sum::About(centre, name) = *sum else { return None };
    let shown = |moment: f64| vec![formula(unitless(pen.moment(pen.structure.turning(moment))))];
    let mut total = 0.0;
    let mut rows: Vec<Vec<Line>> = Vec::new();
    for acting in part {
        let unknown = acting.size.unknown().map(|id| (id, system.unknowns[id]));
        let value = acting.size.value(&system.unknowns);
        let share = if let Size::Unknown(_, share) = acting.size { share } else { 1.0 };
        let mut name = named(pen, &system.unknowns, acting);
        if let Some((_, unknown)) = unknown
            && let Some(value) = unknown.value
        {
            let shown = if matches!(acting.kind, Kind::Couple) { pen.moment(value) } else { pen.force(value) };
            name.extend([say(" = "), formula(shown)]);
        }
        let (arm_cell, lever) = match acting.direction() {
            None => (words("–"), 1.0),
            Some(direction) => arm_told(pen, centre, acting.at, direction.unit),
        };
        // What has no moment needs no row.
        if lever == 0.0 || value == Some(0.0) {
            continue;
        }
        let moment = match (value, unknown) {
            (Some(value), _) => {
                let own = pen.quiet_moment(value * lever);
                total += own;
                shown(own)
            }
            (None, Some((_, unknown))) => {
                let arm = acting.direction().map(|_| unitless(pen.length(lever.abs())));
                let term = product(std::iter::once(pen.unknown(unknown.name)).chain(arm).collect());
                vec![formula(super::pen::sum(vec![signed(pen.structure.turning(lever * share), term)]))]
            }
            (None, None) => continue,
        };
        let sense = words(turn_arrow(lever * value.unwrap_or(share)));
        rows.push(vec![name, words(pen.place(acting.place)), arm_cell, sense, moment]);
    }
    let columns = vec![
        column("force", Align::Left),
        column("acts", Align::Left),
        column(format!("arm from {} {}", pen.centre(name), pen.length.symbol), Align::Left),
        column("sense", Align::Left),
        column(format!("moment {}", pen.moment.symbol), Align::Right),
    ];
    // Unknowns through the point are named above; known forces are not.
    let is_known_through = |acting: &Acting| {
        let through = |direction: Direction| pen.quiet_length(arm(centre, acting.at, direction.unit)) == 0.0;
        acting.size.value(&system.unknowns).is_some_and(|value| value != 0.0) && acting.direction().is_some_and(through)
    };
    let caption = match part.iter().any(is_known_through) {
        true => words(format!("Forces through {} have no moment and are left out.", pen.centre(name))),
        false => Vec::new(),
    };
    let foot = foot_name.map(|name| vec![words(name), Vec::new(), Vec::new(), Vec::new(), shown(total)]);
    Some(Table { caption, foot: foot.unwrap_or_default(), ..table(columns, rows) })
}

/// An arm with the side on which its force passes, or its foot on a slanted one.
fn arm_told(pen: &Pen<'_>, centre: [f64; 2], at: [f64; 2], unit: [f64; 2]) -> (Line, f64) {
    let lever = pen.quiet_length(arm(centre, at, unit));
    let foot = foot(centre, at, unit);
    let mut cell = vec![formula(unitless(pen.length(lever.abs())))];
    if lever != 0.0 {
        cell.push(say(if unit.iter().all(|part| *part != 0.0) {
            format!(", foot at {}", pen.point(foot))
        } else {
            format!(" {}", arrow([foot[0] - centre[0], foot[1] - centre[1]]))
        }));
    }
    (cell, lever)
}

fn sum_words(pen: &Pen<'_>, sum: &Sum) -> String {
    match sum {
        Sum::About(at, centre) => format!("moments about {}", pen.centre_at(*centre, *at)),
        Sum::Along([_, 0.0]) => "horizontal forces".to_owned(),
        Sum::Along([0.0, _]) => "vertical forces".to_owned(),
        Sum::Along(_) => "forces along an incline".to_owned(),
    }
}

/// What an unknown's value means, where it is no force along an arrow of its own.
fn remark(pen: &Pen<'_>, system: &System, (id, value): &(UnknownId, f64)) -> Line {
    let name = system.unknowns[*id].name;
    let is_arrow = !name.is_couple() && !matches!(name, Name::Bar(_));
    if is_arrow { Vec::new() } else { pen.meaning(name, *value, None) }
}

/// The sum about a point not used yet, which has to come to zero.
fn check(pen: &Pen<'_>, system: &System, steps: &[reactions::Step], page: &mut Page) {
    let Some((joint, part, balance)) = reactions::check(pen, system, steps) else { return };
    page.say(format!(
        "Check on the whole structure: sum of moments about {}, a point not used so far.",
        pen.joint(joint)
    ));
    if balance.terms.len() > MOST_TERMS {
        if let Some(arms) = arms(pen, system, &part, &balance.sum, Some("sum")) {
            page.table(arms);
        }
        return;
    }
    page.working(vec![Written { pen, unknowns: &system.unknowns, balance: &balance }.check()]);
}

/// Which supports resist the horizontal load.
fn sideways(pen: &Pen<'_>, Sideways { total, given, holders }: &Sideways, page: &mut Page) {
    let size = given.map_or_else(|| pen.force(total.abs()), |size| pen.given(size.abs(), &pen.force));
    let load = format!("{} {}", plain(&size), arrow([*total, 0.0]));
    let holding = holders.iter().filter(|(_, force)| *force != 0.0);
    let holding: Vec<String> = holding.map(|(joint, _)| pen.joint(*joint).to_owned()).collect();
    page.say(match holding.as_slice() {
        [] => return,
        [only] if holders.len() == 1 => {
            format!("Only {only} can resist a horizontal force: the whole horizontal load, {load}, goes to {only}.")
        }
        [only] => format!("The whole horizontal load, {load}, goes to {only}."),
        several => format!("The horizontal load, {load}, is balanced by the reactions at {}.", listed(several)),
    });
}

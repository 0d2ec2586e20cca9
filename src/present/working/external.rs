//! External equilibrium, told: the free body and its unknowns, sums that leave
//! one unknown, and the check about another point. Body by body and hinge by
//! hinge where the whole has more than three unknowns.
//!
//! Must not know: member forces inside a body.

use std::collections::BTreeSet;

use crate::check::words::capital;
use crate::present::document::{Align, Block, Formula, Inline, Line, Sign, Step, Table, TableColumn, words};

use super::bodies::Form;
use super::elimination::{Pair, eliminate};
use super::free_body::{bodies_told, body_name, chosen_name, free_body};
use super::loads::{Loads, unitless};
use super::part::{Acting, Balance, Kind, Part, Size, Sum, What, arm, foot, meaning, named};
use super::pen::{Pen, arrow, count, equation, formula, listed, product, say, sum, turn_arrow, zero};
use super::system::{Chosen, System};

/// Sums of more terms than this get a table of their terms.
const MOST_TERMS: usize = 7;
/// Bodies of which every union is tried.
const MOST_UNITED: usize = 6;
/// Equations that are solved together at most.
pub const MOST_TOGETHER: usize = 60;

/// Tells how all unknowns of a system are found.
pub fn tell(pen: &Pen<'_>, system: &mut System, loads: &Loads, blocks: &mut Vec<Block>) {
    blocks.push(Block::Paragraph(free_body(pen, system)));
    let several = system.free_bodies().len() > 1;
    if several {
        blocks.push(Block::List(bodies_told(pen, system)));
    }
    let mut used: Vec<String> = Vec::new();
    let goal = if several { Goal::All } else { Goal::Reactions };
    if find(pen, system, goal, blocks, &mut used) == Outcome::Stuck {
        return;
    }
    check(pen, system, blocks, &used);
    sideways(pen, system, loads, blocks);
}

/// Tells how the forces at hinges and in links are found that the sums for the
/// reactions did not need.
pub fn tell_inside(pen: &Pen<'_>, inside: &mut System, outside: &System, blocks: &mut Vec<Block>) {
    if inside.bodies.len() == outside.bodies.len() {
        return;
    }
    inside.take_from(outside);
    if inside.all_found() {
        return;
    }
    blocks.push(Block::Heading { level: 2, text: words("Hinges and links, body by body") });
    blocks.push(Block::List(bodies_told(pen, inside)));
    find(pen, inside, Goal::All, blocks, &mut Vec::new());
}

/// Which unknowns are wanted.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Goal {
    All,
    Reactions,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Outcome {
    Found,
    Stuck,
}

/// Sum after sum, until all that is wanted is found.
fn find(pen: &Pen<'_>, system: &mut System, goal: Goal, blocks: &mut Vec<Block>, used: &mut Vec<String>) -> Outcome {
    let mut told_sign = false;
    let chosen = candidates(system);
    let is_done = |system: &System| match goal {
        Goal::All => system.all_found(),
        Goal::Reactions => system.reactions_found(),
    };
    while !is_done(system) {
        let mut told = one_unknown(pen, system, &chosen, blocks, used);
        if !told {
            told = two_unknowns(pen, system, &chosen, blocks, used);
        }
        if !told && !together(pen, system, blocks, used) {
            blocks.push(Block::Paragraph(words(format!(
                "Of the sums tried none leaves one or two unknowns, and those left cannot be solved together here (at most \
                 {MOST_TOGETHER} are): what is left is taken from the equations of all joints (see the answers).",
            ))));
            return Outcome::Stuck;
        }
        if !told_sign && system.unknowns.iter().any(|unknown| unknown.value.is_some_and(|value| value < 0.0)) {
            told_sign = true;
            blocks.push(Block::Paragraph(words(
                "A minus in a result: the force acts against the arrow assumed for it. The sign is kept in what follows.",
            )));
        }
    }
    Outcome::Found
}

/// The parts worth cutting free: the whole, each body, unions of a few.
fn candidates(system: &System) -> Vec<Chosen> {
    let free = system.free_bodies();
    let mut all: Vec<Chosen> = vec![free.iter().copied().collect()];
    if free.len() > 1 {
        all.extend(free.iter().map(|index| BTreeSet::from([*index])));
    }
    let rigid: Vec<usize> = free
        .iter()
        .copied()
        .filter(|index| system.bodies.get(*index).is_some_and(|body| body.form == Form::Rigid))
        .collect();
    if (3..=MOST_UNITED).contains(&rigid.len()) {
        for mask in 0_u32..(1 << rigid.len()) {
            let union: Chosen =
                rigid.iter().enumerate().filter(|(bit, _)| mask & (1 << bit) != 0).map(|(_, index)| *index).collect();
            if union.len() > 1 && union.len() < rigid.len() {
                all.push(union);
            }
        }
    }
    all
}

/// Finds a sum with one unknown left and tells it.
fn one_unknown(
    pen: &Pen<'_>,
    system: &mut System,
    chosen: &[Chosen],
    blocks: &mut Vec<Block>,
    used: &mut Vec<String>,
) -> bool {
    for group in chosen {
        let part = system.part(group);
        if !part.forces.iter().any(|acting| system.is_open(acting)) {
            continue;
        }
        for what in system.sums(pen, &part) {
            let balance = part.balance(pen, &system.unknowns, &what);
            let Some((id, value, steps)) = balance.solve(pen, &system.unknowns, &what) else { continue };
            let is_alone = chosen.len() == 1;
            let mut lead: Line = Vec::new();
            if !is_alone {
                lead.push(Inline::Strong(format!("{}. ", capital(&chosen_name(pen, system, group)))));
            }
            lead.extend(reason(pen, system, &part, &what, &balance));
            if !lead.is_empty() {
                blocks.push(Block::Paragraph(lead));
            }
            let found = Found { id, value, steps };
            tell_sum(pen, system, &part, &what, &balance, found, blocks);
            used.extend(what.centre());
            system.set(id, value);
            return true;
        }
    }
    false
}

/// An unknown found, with the lines that find it.
struct Found {
    id: usize,
    value: f64,
    steps: Vec<Step>,
}

/// The terms in a table where they are arms or many, then the lines.
fn tell_sum(
    pen: &Pen<'_>,
    system: &System,
    part: &Part,
    what: &Sum,
    balance: &Balance,
    found: Found,
    blocks: &mut Vec<Block>,
) {
    let Found { id, value, steps } = found;
    let is_long = balance.terms.len() > MOST_TERMS;
    if let Sum::About(centre, name) = what {
        blocks.push(Block::Table(arms(pen, system, part, *centre, name, is_long)));
    }
    let mut lines = Vec::new();
    if is_long && matches!(what, Sum::About(..)) {
        lines.push(balance.short_statement(pen, what));
    } else {
        lines.push(balance.statement(what));
    }
    // A hinge force keeps the arrow it was introduced with, whichever side is looked at.
    let unit = part.forces.iter().find_map(|acting| match (&acting.kind, acting.size) {
        (Kind::Force(direction), Size::Unknown(own, _)) if own == id => Some(direction.unit),
        _ => None,
    });
    let unknown = system.unknowns.get(id).map_or(What::Force, |unknown| unknown.what);
    for mut step in steps {
        step.remark = meaning(pen, unknown, value, unit.unwrap_or_default());
        lines.push(step);
    }
    blocks.push(Block::Working(lines));
}

/// Why this sum leaves one unknown.
fn reason(pen: &Pen<'_>, system: &System, part: &Part, what: &Sum, balance: &Balance) -> Line {
    let open: Vec<&Acting> = part.forces.iter().filter(|acting| system.is_open(acting)).collect();
    let left = balance.open.first().and_then(|(id, _)| system.unknowns.get(*id)).map(|unknown| unknown.symbol.clone());
    let gone: Vec<Formula> = open
        .iter()
        .filter_map(|acting| match acting.size {
            Size::Unknown(id, _) if balance.open.iter().all(|(left, _)| *left != id) => system.unknowns.get(id),
            _ => None,
        })
        .map(|unknown| unknown.symbol.clone())
        .collect();
    let mut line = Vec::new();
    let list = |line: &mut Line| {
        for (index, name) in gone.iter().enumerate() {
            if index > 0 {
                line.push(say(if index + 1 == gone.len() { " and " } else { ", " }));
            }
            line.push(formula(name.clone()));
        }
    };
    let ending = |line: &mut Line| {
        if let Some(left) = &left {
            line.push(formula(left.clone()));
            line.push(say(" alone is left."));
        }
    };
    match what {
        Sum::About(centre, name) => {
            line.push(say(format!("{}: ", capital(&sum_words(pen, &Sum::About(*centre, name.clone()))))));
            match gone.len() {
                0 => {}
                1 => {
                    line.push(say("the line of "));
                    list(&mut line);
                    line.push(say(format!(" passes through {name}, and ")));
                }
                _ => {
                    line.push(say("the lines of "));
                    list(&mut line);
                    line.push(say(format!(" pass through {name}, and ")));
                }
            }
            ending(&mut line);
        }
        Sum::Along([x, y], _) => {
            match (*x == 0.0, *y == 0.0) {
                (false, true) => line.push(say("Forces sideways: ")),
                (true, false) => line.push(say("Forces up and down: ")),
                _ if gone.is_empty() => line.push(say("Forces along a slope: ")),
                _ => {
                    line.push(say("Forces square to "));
                    list(&mut line);
                    line.push(say(": "));
                }
            }
            ending(&mut line);
        }
    }
    line
}

/// Each force with its arm, its turning sense and its moment.
pub fn arms(pen: &Pen<'_>, system: &System, part: &Part, centre: [f64; 2], name: &str, with_sum: bool) -> Table {
    let column = |heading: String, align| TableColumn { heading: words(heading), align };
    let mut rows: Vec<Vec<Line>> = Vec::new();
    let mut total = 0.0;
    let ([cx, cy], structure) = (centre, pen.structure);
    for acting in &part.forces {
        let value = match acting.size {
            Size::Load(size) | Size::Found(size) => Some(size),
            Size::Unknown(id, share) => system.value(id).map(|value| value * share),
        };
        let share = if let Size::Unknown(_, share) = acting.size { share } else { 1.0 };
        let mut name_cell = named(pen, &system.unknowns, acting);
        if let Size::Unknown(id, _) = acting.size
            && let Some(value) = system.value(id)
        {
            let shown = if matches!(acting.kind, Kind::Couple) { pen.moment(value) } else { pen.force(value) };
            name_cell.extend([say(" = "), formula(shown)]);
        }
        let (arm_cell, turn, moment): (Line, Line, f64) = match &acting.kind {
            Kind::Couple => (words("–"), turn_cell(value.unwrap_or(share)), 1.0),
            Kind::Force(direction) => {
                let lever = pen.quiet_length(arm(centre, acting.at, direction.unit));
                let [x, y] = foot(centre, acting.at, direction.unit);
                let slanted = direction.unit.iter().all(|part| *part != 0.0);
                let mut cell = vec![formula(unitless(pen.length(lever.abs())))];
                if lever != 0.0 && slanted {
                    cell.push(say(format!(", foot at {}", pen.point([x, y]))));
                } else if lever != 0.0 {
                    let [dx, dy] = [x - cx, y - cy];
                    cell.push(say(format!(" {}", arrow([dx, dy]))));
                }
                let sense = lever * value.unwrap_or(share);
                (cell, turn_cell(sense), lever)
            }
        };
        let moment_cell: Line = match value {
            Some(value) => {
                let own = pen.quiet_moment(value * moment);
                total += own;
                vec![formula(unitless(pen.moment(structure.turning(own))))]
            }
            None => match acting.size {
                Size::Unknown(id, _) if moment != 0.0 => {
                    let name = system.unknowns.get(id).map_or_else(zero, |unknown| unknown.symbol.clone());
                    let lever = matches!(acting.kind, Kind::Force(_)).then(|| unitless(pen.length(moment.abs())));
                    let term = product(std::iter::once(name).chain(lever).collect());
                    let minus = structure.turning(moment * share) < 0.0;
                    vec![formula(sum(vec![(if minus { Sign::Minus } else { Sign::Plus }, term)]))]
                }
                _ => words("0"),
            },
        };
        rows.push(vec![name_cell, words(acting.place.clone()), arm_cell, turn, moment_cell]);
    }
    let foot = if with_sum {
        vec![
            words("all that is known"),
            Vec::new(),
            Vec::new(),
            Vec::new(),
            vec![formula(unitless(pen.moment(structure.turning(total))))],
        ]
    } else {
        Vec::new()
    };
    Table {
        caption: Vec::new(),
        columns: vec![
            column("force".into(), Align::Left),
            column("acts".into(), Align::Left),
            column(format!("arm from {name} {}", pen.length.symbol), Align::Left),
            column("turns".into(), Align::Left),
            column(format!("moment {}", pen.moment.symbol), Align::Right),
        ],
        rows,
        foot,
    }
}

/// Nothing turns without an arm or without a size.
fn turn_cell(moment: f64) -> Line {
    words(if moment == 0.0 { "–" } else { turn_arrow(moment) })
}

/// Two sums with the same two unknowns, solved together.
fn two_unknowns(
    pen: &Pen<'_>,
    system: &mut System,
    chosen: &[Chosen],
    blocks: &mut Vec<Block>,
    used: &mut Vec<String>,
) -> bool {
    let mut seen: Vec<(Chosen, Sum, Balance)> = Vec::new();
    for group in chosen {
        let part = system.part(group);
        for what in system.sums(pen, &part) {
            let balance = part.balance(pen, &system.unknowns, &what);
            if balance.open.len() != 2 {
                continue;
            }
            let partner = seen.iter().find_map(|(other, sum, known)| {
                let ids = same_two(known, &balance)?;
                let pair = Pair::of([(known, sum), (&balance, &what)], &system.unknowns, ids)?;
                Some((other.clone(), sum.clone(), known.statement(sum), pair))
            });
            if let Some((other, sum, first, pair)) = partner {
                // Two points without a joint are two letters.
                let told = match (&what, &sum) {
                    (Sum::About(at, name), Sum::About(_, known)) if name == known && pen.is_no_joint(name) => {
                        Sum::About(*at, format!("{name}′"))
                    }
                    (what, _) => (*what).clone(),
                };
                let line = format!(
                    "Of the sums tried none leaves one unknown now; these two share the same two: {} on {}, {} on {}.",
                    sum_words(pen, &sum),
                    chosen_name(pen, system, &other),
                    sum_words(pen, &told),
                    chosen_name(pen, system, group)
                );
                blocks.push(Block::Paragraph(words(line)));
                let mut steps = vec![first, balance.statement(&told)];
                for (mut step, (id, value)) in pair.steps(pen, &system.unknowns).into_iter().zip(pair.values) {
                    step.remark = remark(pen, system, id, value);
                    steps.push(step);
                    system.set(id, value);
                }
                blocks.push(Block::Working(steps));
                used.extend([sum, told].iter().filter_map(Sum::centre));
                return true;
            }
            seen.push((group.clone(), what, balance));
        }
    }
    false
}

fn sum_words(pen: &Pen<'_>, what: &Sum) -> String {
    match what {
        Sum::About(at, name) if pen.is_no_joint(name) => {
            format!("moments about {name} {}", pen.point(*at))
        }
        Sum::About(_, name) => format!("moments about {name}"),
        Sum::Along([_, 0.0], _) => "forces sideways".to_owned(),
        Sum::Along([0.0, _], _) => "forces up and down".to_owned(),
        Sum::Along(..) => "forces aslant".to_owned(),
    }
}

/// `C_y = 130.3 lbf`, found together with others.
pub fn found(pen: &Pen<'_>, system: &System, id: usize, value: f64) -> Step {
    let Some(unknown) = system.unknowns.get(id) else { return equation(Vec::new(), Vec::new(), Vec::new()) };
    equation(Vec::new(), vec![unknown.symbol.clone(), unknown.shown(pen, value)], remark(pen, system, id, value))
}

/// What an unknown's value means, where it is no force along an arrow of its own.
fn remark(pen: &Pen<'_>, system: &System, id: usize, value: f64) -> Line {
    match system.unknowns.get(id).map(|unknown| unknown.what) {
        Some(what @ (What::Couple | What::Bar)) => meaning(pen, what, value, [0.0; 2]),
        _ => Vec::new(),
    }
}

/// The two unknowns that two sums share, if they are the same.
fn same_two(first: &Balance, second: &Balance) -> Option<[usize; 2]> {
    let ([(p, _), (q, _)], [(r, _), (s, _)]) = (first.open.as_slice(), second.open.as_slice()) else { return None };
    ((p == r && q == s) || (p == s && q == r)).then_some([*p, *q])
}

/// All sums of all bodies at once: where nothing smaller will do.
fn together(pen: &Pen<'_>, system: &mut System, blocks: &mut Vec<Block>, used: &mut Vec<String>) -> bool {
    let open: Vec<usize> = (0..system.unknowns.len()).filter(|id| system.value(*id).is_none()).collect();
    if open.is_empty() || open.len() > MOST_TOGETHER {
        return false;
    }
    let mut rows: Vec<(Vec<f64>, f64, Step)> = Vec::new();
    let mut centres: Vec<String> = Vec::new();
    for index in system.free_bodies() {
        let part = system.part(&BTreeSet::from([index]));
        let Some(body) = system.bodies.get(index) else { continue };
        let mut sums = vec![Sum::x(), Sum::y()];
        if let (Form::Rigid, Some(joint)) = (body.form, body.joints.first()) {
            sums.push(Sum::About(pen.at(*joint), pen.joint(*joint).to_owned()));
        }
        for what in sums {
            let balance = part.balance(pen, &system.unknowns, &what);
            if balance.open.is_empty() {
                continue;
            }
            let coefficient =
                |id: &usize| balance.open.iter().find(|(own, _)| own == id).map_or(0.0, |(_, value)| *value);
            let mut step = balance.statement(&what);
            step.label = words(body_name(pen, system, index));
            centres.extend(what.centre());
            rows.push((open.iter().map(coefficient).collect(), -balance.known, step));
        }
    }
    let Some(values) = eliminate(rows.iter().map(|(row, right, _)| (row.clone(), *right)).collect(), open.len()) else {
        return false;
    };
    blocks.push(Block::Paragraph(words(format!(
        "Of the sums tried none leaves one or two unknowns: {} equations are solved together; their elimination is not written \
         out.",
        count(rows.len())
    ))));
    let mut steps: Vec<Step> = rows.into_iter().map(|(_, _, step)| step).collect();
    for (id, value) in open.into_iter().zip(values) {
        steps.push(found(pen, system, id, value));
        system.set(id, value);
    }
    blocks.push(Block::Working(steps));
    used.extend(centres);
    true
}

/// The sum about a point not used yet, which has to come to zero.
fn check(pen: &Pen<'_>, system: &System, blocks: &mut Vec<Block>, used: &[String]) {
    let whole: Chosen = system.free_bodies().into_iter().collect();
    let part = system.part(&whole);
    let joints = (0..pen.structure.joints.len()).map(crate::base::JointId::new);
    let supported = |joint: &crate::base::JointId| pen.structure.support_at(*joint).is_some();
    let terms = |joint: crate::base::JointId| {
        let what = Sum::About(pen.at(joint), pen.joint(joint).to_owned());
        (part.balance(pen, &system.unknowns, &what), what)
    };
    let best =
        joints.filter(|joint| !used.iter().any(|name| name == pen.joint(*joint))).take(200).max_by_key(|joint| {
            let (balance, _) = terms(*joint);
            (
                balance.terms.len().min(3),
                supported(joint),
                std::cmp::Reverse(balance.terms.len()),
                std::cmp::Reverse(*joint),
            )
        });
    let Some(joint) = best else { return };
    let (balance, what) = terms(joint);
    if balance.terms.is_empty() {
        return;
    }
    blocks.push(Block::Paragraph(words(format!(
        "Check, with all forces on the whole structure: moments about {}, a point not used so far.",
        pen.joint(joint)
    ))));
    let mut steps = Vec::new();
    if balance.terms.len() > MOST_TERMS {
        if let Sum::About(centre, name) = &what {
            let mut table = arms(pen, system, &part, *centre, name, true);
            if let Some(first) = table.foot.first_mut() {
                *first = words("all together");
            }
            blocks.push(Block::Table(table));
        }
        return;
    }
    steps.push(balance.statement(&what));
    if let Some(last) = steps.last_mut() {
        last.remark = words(balance.verdict());
    }
    blocks.push(Block::Working(steps));
}

/// Where the sideways load goes.
fn sideways(pen: &Pen<'_>, system: &System, loads: &Loads, blocks: &mut Vec<Block>) {
    let part = |acting: &Acting| match (&acting.kind, acting.size) {
        (Kind::Force(direction), Size::Load(size) | Size::Found(size)) => direction.unit[0] * size,
        _ => 0.0,
    };
    let total: f64 = loads.each.iter().map(|(_, acting)| part(acting)).sum();
    if pen.quiet(total) == 0.0 {
        return;
    }
    // Those that can hold sideways, and what each does.
    let holders = system.reactions.iter().filter_map(|(support, given)| {
        let joint = pen.structure.supports.get(support.index())?.joint;
        let sideways = given.iter().filter_map(|(id, kind)| match kind {
            Kind::Force(direction) if direction.unit[0] != 0.0 => Some(direction.unit[0] * system.value(*id)?),
            _ => None,
        });
        sideways.reduce(|sum, part| sum + part).map(|sum| (pen.joint(joint).to_owned(), pen.quiet(sum)))
    });
    let holders: Vec<(String, f64)> = holders.collect();
    let working: Vec<String> =
        holders.iter().filter(|(_, force)| *force != 0.0).map(|(joint, _)| joint.clone()).collect();
    let loaded: Vec<&Acting> =
        loads.each.iter().map(|(_, acting)| acting).filter(|acting| part(acting) != 0.0).collect();
    let size = match loaded.as_slice() {
        [Acting { size: Size::Load(size), .. }] => pen.given(size.abs(), &pen.force),
        _ => pen.force(total.abs()),
    };
    let load = format!("{} {}", super::loads::plain(&size), arrow([total, 0.0]));
    let sentence = match (holders.as_slice(), working.as_slice()) {
        (_, []) => return,
        ([_], [only]) => format!("Only {only} can hold sideways: the whole sideways load, {load}, goes to {only}."),
        (_, [only]) => format!("The whole sideways load, {load}, goes to {only}."),
        (_, several) => format!("The sideways load, {load}, is balanced by the reactions at {}.", listed(several)),
    };
    blocks.push(Block::Paragraph(words(sentence)));
}

//! The method of joints, the method of sections, and complex trusses, in words.
//!
//! Must not know: in which order joints and sections are taken.

use crate::base::tolerances::WEAK;
use crate::base::{JointId, MemberId};
use crate::check::words::count;
use crate::present::document::{Formula, Inline, Line, Sign, Step, words};
use crate::solution::bodies::BodyId;
use crate::solution::complex::{self, Carried, Way};
use crate::solution::joints::{self, Bare, Why};
use crate::solution::part::{Name, Size, Sum, Unknowns, is_one};
use crate::solution::problem::{arm, foot};
use crate::solution::reactions::MOST_TOGETHER;
use crate::solution::sections::{self, Cut};
use crate::solution::system::{System, Together};

use super::pen::{
    Conventions, Page, Pen, equation, formula, listed, over, power, product, say, signed, sum, symbol, zero,
};
use super::sums::{Written, eliminated, pair_steps};

/// Bars and joints of more are told by the first and the last of them.
const MOST_BARS: usize = 4;
const MOST_JOINTS: usize = 8;

/// Writes the force in every bar.
pub fn tell(pen: &Pen<'_>, truss: &System, steps: &[joints::Step], page: &mut Page) {
    if pen.conventions == Conventions::ToState {
        page.say(
            "Every bar is assumed in tension, pulling on the joints at its ends; a negative result means compression. Each joint \
             gives two equations, so joints with at most two unknowns are taken first.",
        );
        let slopes = slopes(pen);
        if !slopes.is_empty() {
            page.say("Lengths and direction cosines of the inclined bars:");
            page.working(slopes);
        }
    }
    let unknowns = &truss.unknowns;
    for step in steps {
        match step {
            joints::Step::Bare(bare) => {
                page.line(vec![
                    Inline::Strong("Zero-force members, by inspection.".to_owned()),
                    say(" Each is removed before the next is looked for. (It stays in the structure: other loads may put a force in it.)"),
                ]);
                page.working(bare.iter().map(|bare| bare_told(pen, bare)).collect());
            }
            joints::Step::Joint(joint, lines) => {
                page.heading(3, format!("Joint {}", pen.joint(*joint)));
                page.working(lines.iter().flat_map(|line| line_told(pen, unknowns, line)).collect());
            }
            joints::Step::Section(cut) => {
                page.say(
                    "No remaining joint can be solved by its own two equations: cut a section.",
                );
                tell_section(pen, unknowns, cut, page);
            }
            joints::Step::Carried(way) => tell_way(pen, unknowns, way, page),
            joints::Step::Together(together) => tell_together(pen, truss, together, page),
            joints::Step::Singular => page.say(
                "In double precision the equations of the remaining joints are indistinguishable from singular ones: the \
                 forces in their bars are not worked out.",
            ),
            joints::Step::LeftOver(balances) => {
                page.say("Check: the equations of these joints, not used so far.");
                let check = |(joint, balance): &(JointId, _)| Step {
                    label: at_joint(pen, *joint),
                    ..Written { pen, unknowns, balance }.check()
                };
                page.working(balances.iter().map(check).collect());
            }
        }
    }
}

fn at_joint(pen: &Pen<'_>, joint: JointId) -> Line {
    words(format!("joint {}", pen.joint(joint)))
}

fn names(pen: &Pen<'_>, bars: &[MemberId]) -> String {
    listed(&bars.iter().map(|bar| pen.structure.member_name(*bar)).collect::<Vec<_>>())
}

/// Bars of one slope: legs, length and cosines.
fn slopes(pen: &Pen<'_>) -> Vec<Step> {
    let mut found: Vec<([Formula; 3], Vec<String>, Line)> = Vec::new();
    for (id, member) in pen.structure.members.entries() {
        let direction = pen.between(member.start, member.end);
        let Some([cosine, sine]) = pen.cosines(direction) else { continue };
        let [dx, dy] = pen.structure.member_vector(id).map(f64::abs);
        let legs = [dx, dy, dx.hypot(dy)].map(|leg| pen.length(leg));
        let name = pen.structure.member_name(id);
        if let Some((_, names, _)) = found.iter_mut().find(|(known, ..)| *known == legs) {
            names.push(name);
            continue;
        }
        let mut remark = vec![say("horizontal "), formula(cosine.clone()), say(", vertical "), formula(sine)];
        if let Formula::Fraction(above, below) = &cosine
            && let (Formula::Number { digits, .. }, Formula::Root(_)) = (&**above, &**below)
            && let Ok(leg) = digits.parse::<f64>()
        {
            let root = pen.ratio(leg / direction.unit[0]);
            remark.extend([say(", "), formula((**below).clone()), say(" = "), formula(root)]);
        }
        found.push((legs, vec![name], remark));
    }
    let told = found.into_iter().map(|([across, up, length], names, remark)| {
        let squares = [across, up].map(|leg| (Sign::Plus, power(leg, 2)));
        let root = Formula::Root(Box::new(Formula::Sum(squares.into())));
        let label = match names.as_slice() {
            [first, .., last] if names.len() > MOST_BARS => format!("{first} … {last} ({})", names.len()),
            names => names.join(", "),
        };
        equation(words(label), vec![symbol("L", ""), root, length], remark)
    });
    told.collect()
}

/// Zero-force members, and why.
fn bare_told(pen: &Pen<'_>, Bare { joint, bars, why }: &Bare) -> Step {
    let why = match why {
        Why::OneAlone => "the only bar at an unloaded joint".to_owned(),
        Why::TwoAngled => "two bars at an unloaded joint, not collinear".to_owned(),
        Why::BesideTwo(one, other) => {
            let [one, other] = [one, other].map(|bar| pen.structure.member_name(*bar));
            format!("three bars at an unloaded joint, {one} and {other} collinear")
        }
    };
    let forces = bars.iter().map(|bar| pen.bar_force(*bar));
    equation(at_joint(pen, *joint), forces.chain([zero()]).collect(), words(why))
}

fn line_told(pen: &Pen<'_>, unknowns: &Unknowns, line: &joints::Line) -> Vec<Step> {
    let written = |balance| Written { pen, unknowns, balance };
    match line {
        joints::Line::Alone(balance, gives) => {
            std::iter::once(written(balance).statement()).chain(written(balance).solved(*gives)).collect()
        }
        joints::Line::Pair(pair) => {
            let statements = pair.sums.iter().map(|balance| written(balance).statement());
            let lines = pair_steps(pen, unknowns, pair).into_iter().zip(pair.gives).map(|(step, (id, value))| {
                let direction = pair.sums.iter().find_map(|balance| balance.direction_of(id));
                Step { remark: pen.meaning(unknowns[id].name, pen.quiet(value), direction), ..step }
            });
            statements.chain(lines).collect()
        }
        joints::Line::Check(balance) => vec![written(balance).check()],
    }
}

/// The equations of all joints left, solved together.
fn tell_together(pen: &Pen<'_>, truss: &System, Together { rows, gives }: &Together, page: &mut Page) {
    const MOST_NAMED: usize = 8;
    let unknowns = &truss.unknowns;
    let bars: Vec<MemberId> = gives
        .iter()
        .filter_map(|(id, _)| match unknowns[*id].name {
            Name::Bar(bar) => Some(bar),
            _ => None,
        })
        .collect();
    let which = if bars.len() <= MOST_NAMED { format!(" ({})", names(pen, &bars)) } else { String::new() };
    page.say(format!(
        "No remaining joint can be solved by its own two equations, no straight section with one unknown was found, and keeping \
         one force as an unknown from joint to joint is not enough. The {} equations of the remaining joints are solved \
         simultaneously for {} unknowns{which}; the elimination is not shown.",
        count(rows.len()),
        count(gives.len()),
    ));
    if rows.len() <= 2 * MOST_TOGETHER {
        let row = |(body, balance): &(BodyId, _)| Step {
            label: at_joint(pen, JointId::new(body.index())),
            ..Written { pen, unknowns, balance }.statement()
        };
        page.working(rows.iter().map(row).collect());
    }
    let result = |(index, (id, value)): (usize, &(_, f64))| {
        let name = unknowns[*id].name;
        let label = if index == 0 { words("solved") } else { Vec::new() };
        equation(label, vec![pen.unknown(name), pen.force(*value)], pen.meaning(name, *value, None))
    };
    page.working(gives.iter().enumerate().map(result).collect());
}

/// Writes a section and the force it gives.
pub fn tell_section(pen: &Pen<'_>, unknowns: &Unknowns, cut: &Cut, page: &mut Page) {
    page.heading(3, format!("Section through {}", names(pen, &cut.bars)));
    let kept: Vec<String> = cut.kept.iter().map(|joint| pen.joint(*joint).to_owned()).collect();
    let kept = match kept.as_slice() {
        [only] => format!("joint {only}"),
        [first, .., last] if kept.len() > MOST_JOINTS => {
            format!("the part with joints {first} … {last} ({})", kept.len())
        }
        several => format!("the part with joints {}", listed(several)),
    };
    let why = match (&cut.why, &cut.balance.sum) {
        (sections::Why::Meet(others), Sum::About(at, centre)) => {
            let (point, name) = (pen.centre_at(*centre, *at), pen.centre(*centre));
            match others.as_slice() {
                [_] => format!("{} passes through {point}: moments about {name} eliminate it.", names(pen, others)),
                _ => format!("{} meet at {point}: moments about {name} eliminate them.", names(pen, others)),
            }
        }
        (sections::Why::Meet(others) | sections::Why::Parallel(others), _) => match others.as_slice() {
            [_] => format!("The sum of forces perpendicular to {} eliminates it.", names(pen, others)),
            _ => {
                format!("{} are parallel: the sum of forces perpendicular to them eliminates them.", names(pen, others))
            }
        },
        (sections::Why::Alone, _) => "No other unknown force appears in the sum.".to_owned(),
    };
    page.say(format!("Consider {kept}; the cut bars are assumed to pull on it. {why}"));
    let arms = arms(pen, unknowns, cut);
    if !arms.is_empty() {
        page.list(arms);
    }
    let written = Written { pen, unknowns, balance: &cut.balance };
    page.working(std::iter::once(written.statement()).chain(written.solved(cut.gives)).collect());
}

/// The arms of the inclined bars about the centre of a cut's sum.
fn arms(pen: &Pen<'_>, unknowns: &Unknowns, cut: &Cut) -> Vec<Line> {
    let Sum::About(centre, name) = cut.balance.sum else { return Vec::new() };
    let arm_of = |acting: &crate::solution::part::Acting| -> Option<Line> {
        let (Some(direction), Size::Unknown(id, _)) = (acting.direction(), acting.size) else { return None };
        pen.cosines(direction)?;
        let lever = pen.quiet_length(arm(centre, acting.at, direction.unit));
        let foot = pen.point(foot(centre, acting.at, direction.unit));
        (lever != 0.0).then(|| {
            vec![
                say("Arm of "),
                formula(pen.unknown(unknowns[id].name)),
                say(format!(" about {}: ", pen.centre(name))),
                formula(pen.length(lever.abs())),
                say(format!(", perpendicular to its line, foot at {foot}.")),
            ]
        })
    };
    cut.part.iter().filter_map(arm_of).collect()
}

/// Writes how one bar's force is carried along until an equation gives it, and
/// with it all bars on the way.
fn tell_way(pen: &Pen<'_>, unknowns: &Unknowns, way: &Way, page: &mut Page) {
    let name = pen.unknown(unknowns[way.kept].name);
    page.line(vec![
        say(
            "No remaining joint can be solved by its own two equations, and no straight section with one unknown was found: the \
             truss is complex. One force, ",
        ),
        formula(name.clone()),
        say(
            ", is kept as an unknown from joint to joint, until a joint has an equation to spare, which gives it.",
        ),
    ]);
    let value = way.value(pen);
    for (index, (joint, lines)) in way.joints.iter().enumerate() {
        page.heading(3, format!("Joint {}", pen.joint(*joint)));
        let mut steps: Vec<Step> = lines.iter().map(|line| carried_line(pen, unknowns, &name, line)).collect();
        if index + 1 == way.joints.len() {
            steps.extend(closed(pen, way, &name, unknowns[way.kept].name));
        }
        page.working(steps);
    }
    let steps = way.carried().filter(|(_, carried)| carried.share != 0.0).map(|(id, carried)| {
        let own = unknowns[id].name;
        let force = pen.quiet(carried.constant + carried.share * value);
        let shown = pen.force(force);
        let how = Some(written(pen, carried, &pen.force(value.abs()), value)).filter(|how| *how != shown);
        let sides = std::iter::once(pen.unknown(own)).chain(how).chain([shown]).collect();
        equation(Vec::new(), sides, pen.meaning(own, force, None))
    });
    let steps: Vec<Step> = steps.collect();
    if !steps.is_empty() {
        page.line(vec![say("With "), formula(name.clone()), say(" known, the forces expressed in it follow:")]);
        page.working(steps);
    }
}

fn carried_line(pen: &Pen<'_>, unknowns: &Unknowns, kept: &Formula, line: &complex::Line) -> Step {
    match line {
        complex::Line::Sum(balance) => Written { pen, unknowns, balance }.statement(),
        complex::Line::Found(id, carried, how) => {
            let how = how.as_ref().and_then(|how| {
                let written = |balance| how.unknowns.map(|id| Written { pen, unknowns, balance }.coefficient(id));
                let known = |(_, Carried { constant, share }): &(_, Carried)| -> Vec<(f64, Formula)> {
                    let times = product(share_of(pen, *share).into_iter().chain([kept.clone()]).collect());
                    let parts = [(pen.quiet(*constant), pen.force(constant.abs())), (*share, times)];
                    parts.into_iter().filter(|(value, _)| value.abs() >= WEAK).collect()
                };
                let [one, two] = &how.sums;
                let ([a, b], [c, d]) = (written(&one.0), written(&two.0));
                eliminated([&a, &b], [&c, &d], &known(one), &known(two))
            });
            let label = if how.is_some() { words("eliminated") } else { Vec::new() };
            let name = pen.unknown(unknowns[*id].name);
            let shown = written(pen, *carried, kept, 1.0);
            equation(label, std::iter::once(name).chain(how).chain([shown]).collect(), Vec::new())
        }
    }
}

/// The last equation with what is known put in, and what it gives.
fn closed(pen: &Pen<'_>, way: &Way, name: &Formula, kept: Name) -> [Step; 2] {
    let Carried { constant, share } = way.closing;
    let value = way.value(pen);
    let mut terms = Vec::new();
    if pen.quiet(constant) != 0.0 {
        terms.push(signed(constant, pen.force(constant.abs())));
    }
    let shown = share_of(pen, share);
    terms.push(signed(share, product(shown.clone().into_iter().chain([name.clone()]).collect())));
    let ratio =
        shown.filter(|_| value != 0.0).map(|shown| sum(vec![signed(value, over(pen.force(constant.abs()), shown))]));
    let sides = std::iter::once(name.clone()).chain(ratio).chain([pen.force(value)]).collect();
    [
        equation(words("substituted"), vec![sum(terms), zero()], Vec::new()),
        equation(Vec::new(), sides, pen.meaning(kept, value, None)),
    ]
}

/// A share as it is written; nothing for one.
fn share_of(pen: &Pen<'_>, share: f64) -> Option<Formula> {
    (!is_one(share)).then(|| pen.ratio(share))
}

/// `5.2 kN + 0.7107 × F_AD`; `size` is what stands for the kept force, of this
/// sign.
fn written(pen: &Pen<'_>, Carried { constant, share }: Carried, size: &Formula, sign: f64) -> Formula {
    let mut terms = Vec::new();
    if pen.quiet(constant) != 0.0 {
        terms.push(signed(constant, pen.force(constant.abs())));
    }
    if share != 0.0 {
        let factors = share_of(pen, share).into_iter().chain([size.clone()]).collect();
        terms.push(signed(share * if sign < 0.0 { -1.0 } else { 1.0 }, product(factors)));
    }
    sum(terms)
}

//! What pages of results say in words: the count, the case, what a train is,
//! how well it all balances.
//!
//! Must not know: tables, how a page is written.

use crate::check::words::{self, plural};
use crate::quantity::Dimension;
use crate::quantity::format::rough;
use crate::statics::{CaseResult, Place, Subject, TravelResult, Verdict, VerdictKind, ZERO_SHARE};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::extremes::Compared;
use super::subject_name;

/// The count of unknowns against equations, and what came of it.
pub struct Count {
    /// `7 joints, 11 members, 3 reactions`
    pub parts: String,
    /// `m + r = 11 + 3 = 14 = 2j`; with beams, the unknowns against the
    /// equations of the joints.
    pub sum: String,
    /// `stable and determinate`
    pub verdict: String,
}

impl Count {
    pub fn of(structure: &Structure, verdict: &Verdict) -> Count {
        let (m, r, j) = (verdict.members, verdict.reactions, verdict.joints);
        let sign = |have: usize, want: usize| match have.cmp(&want) {
            std::cmp::Ordering::Less => "<",
            std::cmp::Ordering::Equal => "=",
            std::cmp::Ordering::Greater => ">",
        };
        let sum = if structure.members.iter().any(|member| member.kind == MemberKind::Beam) {
            let (unknowns, equations) = (verdict.rank.columns, verdict.rank.rows);
            format!("{unknowns} unknowns {} {equations} equations", sign(unknowns, equations))
        } else if m + r == 2 * j {
            format!("m + r = {m} + {r} = {} = 2j", m + r)
        } else {
            format!("m + r = {m} + {r} = {} {} 2j = {}", m + r, sign(m + r, 2 * j), 2 * j)
        };
        Count {
            parts: format!("{}, {}, {}", plural(j, "joint"), plural(m, "member"), plural(r, "reaction")),
            sum,
            verdict: match verdict.kind {
                VerdictKind::Determinate => "stable and determinate".to_owned(),
                VerdictKind::Indeterminate => format!("stable, indeterminate {}", verdict.redundancy),
                VerdictKind::Unstable => format!("unstable, {}", plural(verdict.mechanisms, "independent motion")),
                VerdictKind::NotSettled => "not settled".to_owned(),
            },
        }
    }
}

/// `case snow`, `combination uplift = 1.5 wind - dead`, and whether it holds.
pub fn heading(structure: &Structure, result: &CaseResult) -> String {
    let held = does_not_hold(result).map_or(String::new(), |fails| format!("  ({fails})"));
    match result.subject {
        Subject::Case(id) => format!("case {}{held}", structure.case_name(id)),
        Subject::Combination(id) => {
            let mut sum = String::new();
            for (index, (case, factor)) in structure.combinations[id].factors.iter().enumerate() {
                let factor = factor.to_f64();
                let sign = match (index, factor < 0.0) {
                    (0, false) => "",
                    (0, true) => "-",
                    (_, false) => " + ",
                    (_, true) => " - ",
                };
                let size = structure.figures.given(factor.abs());
                let size = if size == "1" { String::new() } else { format!("{size} ") };
                sum.push_str(&format!("{sign}{size}{}", structure.case_name(*case)));
            }
            format!("combination {} = {sum}{held}", structure.combination_name(id))
        }
    }
}

/// Said of a result that cannot be what happens.
pub fn does_not_hold(result: &CaseResult) -> Option<String> {
    words::impossible(&result.slack, &result.lifted).map(|why| format!("does not hold: {why}"))
}

/// `↑ up`, `↗ 75.2° above right`, nothing for a force that is zero.
pub fn direction_words(structure: &Structure, force: [f64; 2], scale: f64) -> String {
    let force = force.map(|part| if part.abs() <= ZERO_SHARE * scale { 0.0 } else { part });
    if force == [0.0; 2] { String::new() } else { format!("{} {}", arrow(force), words::way(structure, force)) }
}

/// The arrow nearest to a direction.
pub fn arrow([x, y]: [f64; 2]) -> &'static str {
    const ARROWS: [&str; 8] = ["→", "↗", "↑", "↖", "←", "↙", "↓", "↘"];
    let eighth = (y.atan2(x) / std::f64::consts::FRAC_PI_4).round();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let index = eighth.rem_euclid(8.0) as usize;
    ARROWS.get(index).copied().unwrap_or("→")
}

/// `2.1e-16 of the largest force, at joint D`
pub fn residual(structure: &Structure, result: &CaseResult) -> String {
    let residual = &result.residual;
    let place = match residual.worst {
        Place::Structure => "over the whole structure".to_owned(),
        Place::Joint(joint) => format!("at joint {}", structure.joint_name(joint)),
        Place::Member(member) => format!("on member {}", structure.member_name(member)),
    };
    if residual.relative == 0.0 {
        "0: every joint is in equilibrium exactly".to_owned()
    } else {
        format!("{} of the largest force, {place}", rough(residual.relative))
    }
}

/// `3.0e-16 of the largest force, the worst of 14 positions checked`
pub fn travel_residual(result: &TravelResult) -> String {
    let positions =
        if result.checked == 1 { "one position".to_owned() } else { format!("{} positions", result.checked) };
    let relative = result.residual.relative;
    if relative == 0.0 {
        format!("0: {positions} checked, in equilibrium exactly")
    } else {
        format!("{} of the largest force, the worst of {positions} checked", rough(relative))
    }
}

/// `service and uplift, without strength, which does not hold`
pub fn over(structure: &Structure, compared: &Compared<'_>) -> String {
    let names = |results: &[&CaseResult]| {
        words::listed(results.len(), results.iter().map(|result| subject_name(structure, result.subject).to_owned()))
    };
    let over = names(&compared.results);
    match compared.left_out.as_slice() {
        [] => over,
        [only] => format!("{over}, without {}, which does not hold", subject_name(structure, only.subject)),
        several => format!("{over}, without {}, which do not hold", names(several)),
    }
}

/// `40 kN, 60 kN spaced 3 m along A-B-C-D, both ways`
pub fn travel_loads(structure: &Structure, result: &TravelResult) -> String {
    const MOST_SHOWN: usize = 8;
    let travel = &structure.travels[result.travel];
    let cut = |mut parts: Vec<String>, between: &str| {
        if parts.len() > MOST_SHOWN {
            let last = parts.pop().unwrap_or_default();
            parts.truncate(MOST_SHOWN - 2);
            parts.extend(["…".to_owned(), last]);
        }
        parts.join(between)
    };
    // Without figures that say nothing.
    let plain = |si: f64, dimension: Dimension| {
        words::units(structure).display_unit(dimension).show_given(si, structure.figures)
    };
    let force = |[x, y]: [f64; 2]| {
        let size = plain(x.hypot(y), Dimension::FORCE);
        if x == 0.0 && y <= 0.0 { size } else { format!("{size} {}", words::way(structure, [x, y])) }
    };
    let loads = travel.loads.iter().map(|load| force(load.each_ref().map(|part| part.to_f64()))).collect();
    let spacings: Vec<f64> = travel.spacings.iter().map(|spacing| spacing.to_f64()).collect();
    let metres = |length: &f64| plain(*length, Dimension::LENGTH);
    let spaced = match spacings.as_slice() {
        [] => String::new(),
        [first, rest @ ..] if rest.iter().all(|other| other == first) => format!(" spaced {}", metres(first)),
        all => format!(" spaced {}", cut(all.iter().map(metres).collect(), ", ")),
    };
    let path = travel.joints(structure).into_iter().map(|joint| structure.joint_name(joint).to_owned()).collect();
    let fault = words::impossible(&result.slack, &result.lifted);
    let held = fault.map_or(String::new(), |why| format!("  (does not hold: {why} in some position)"));
    format!("{}{spaced} along {}, both ways{held}", cut(loads, ", "), cut(path, "-"))
}

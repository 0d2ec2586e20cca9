//! Results to be read at a board: the count, reactions, member forces, the
//! sums that come to zero, one line of caution.
//!
//! Must not know: files, terminals.

pub(in crate::present) mod beams;
pub(in crate::present) mod extremes;
pub(in crate::present) mod travel;

use std::io::{self, Write};

use crate::base::{JointId, MemberId, unheeded};
use crate::check::words;
use crate::quantity::format::{Column, line_up};
use crate::quantity::{Dimension, NamedUnit, UnitSystem};
use crate::statics::{CaseResult, Displacement, Place, Reaction, Subject, Verdict, VerdictKind};
use crate::structure::Structure;
use crate::syntax::tree::MemberKind;

use super::{Answer, subject_name};

/// Columns of cases that stand beside each other.
pub(in crate::present) const MOST_BESIDE: usize = 6;

/// What every page of results ends with.
pub const CAUTION: &str = "An aid to a competent person, not a design: local codes and licensed practice decide.";

/// Writes one file's answer.
pub fn write_text(out: &mut dyn Write, answer: &Answer<'_>, only: &dyn Fn(&CaseResult) -> bool) -> io::Result<()> {
    let structure = answer.structure;
    let units = structure.units.clone().unwrap_or_else(UnitSystem::si);
    let title = structure.title.as_deref().unwrap_or(answer.file);
    writeln!(out, "{}", unheeded(&crate::present::text::one_line(title, 200)))?;
    if let Some(verdict) = answer.verdict {
        writeln!(out, "{}", count_line(structure, verdict))?;
    }
    let results: Vec<&CaseResult> = answer.results.iter().filter(|result| only(result)).collect();
    let several = answer.results.len() > 1;
    // A case beside a train needs its name too.
    let named = several || !structure.travels.is_empty();
    for result in &results {
        writeln!(out)?;
        if named {
            writeln!(out, "{}", heading(structure, result))?;
        } else if !held(result).is_empty() {
            writeln!(out, "{}", held(result).trim_start())?;
        }
        write_reactions(out, structure, &units, result)?;
        if !several {
            write_members_of_one(out, structure, &units, result)?;
        }
        beams::write_beams(out, structure, &units, result)?;
        beams::write_largest(out, structure, result)?;
        if results.len() == 1 {
            write_displacements(out, structure, &units, result)?;
        }
        write_sums(out, structure, &units, result)?;
    }
    if several {
        for beside in results.chunks(MOST_BESIDE) {
            write_members_beside(out, structure, &units, beside)?;
        }
        extremes::write_extremes(out, structure, &units, &results)?;
    }
    for result in answer.travels {
        writeln!(out)?;
        travel::write_travel(out, structure, &units, result)?;
    }
    if !(results.is_empty() && answer.travels.is_empty()) {
        writeln!(out)?;
        writeln!(out, "{CAUTION}")?;
    }
    Ok(())
}

/// `7 joints, 11 members, 3 reactions: m + r = 11 + 3 = 14 = 2j, stable and determinate`;
/// with beams, the unknowns against the equations of the joints.
pub(in crate::present) fn count_line(structure: &Structure, verdict: &Verdict) -> String {
    let (m, r, j) = (verdict.members, verdict.reactions, verdict.joints);
    let plural = |count: usize, noun: &str| format!("{count} {noun}{}", if count == 1 { "" } else { "s" });
    let is = match verdict.kind {
        VerdictKind::Determinate => "stable and determinate".to_owned(),
        VerdictKind::Indeterminate => format!("stable, indeterminate {}", verdict.redundancy),
        VerdictKind::Unstable => format!("unstable, {}", plural(verdict.mechanisms, "independent motion")),
        VerdictKind::NotSettled => "not settled".to_owned(),
    };
    let parts = format!("{}, {}, {}", plural(j, "joint"), plural(m, "member"), plural(r, "reaction"));
    let sign = |have: usize, want: usize| match have.cmp(&want) {
        std::cmp::Ordering::Less => "<",
        std::cmp::Ordering::Equal => "=",
        std::cmp::Ordering::Greater => ">",
    };
    if structure.members.iter().any(|member| member.kind == MemberKind::Beam) {
        let (unknowns, equations) = (verdict.rank.columns, verdict.rank.rows);
        let sign = sign(unknowns, equations);
        return format!("{parts}: {unknowns} unknowns {sign} {equations} equations, {is}");
    }
    let have = m + r;
    let against = if have == 2 * j { "= 2j".to_owned() } else { format!("{} 2j = {}", sign(have, 2 * j), 2 * j) };
    format!("{parts}: m + r = {m} + {r} = {have} {against}, {is}")
}

pub(in crate::present) fn heading(structure: &Structure, result: &CaseResult) -> String {
    match result.subject {
        Subject::Case(id) => format!("case {}{}", structure.case_name(id), held(result)),
        Subject::Combo(id) => {
            let factors = structure.combos.get(id.index()).map_or(&[][..], |combo| combo.factors.as_slice());
            let mut sum = String::new();
            for (index, (case, factor)) in factors.iter().enumerate() {
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
            format!("combo {} = {sum}{}", structure.combo_name(id), held(result))
        }
    }
}

/// Said of a result that cannot be what happens.
pub(in crate::present) const fn held(result: &CaseResult) -> &'static str {
    match (result.slack.is_empty(), result.lifted.is_empty()) {
        (true, true) => "",
        (false, true) => "  (does not hold: a cable is slack)",
        (true, false) => "  (does not hold: a roller lifts off)",
        (false, false) => "  (does not hold: a cable is slack and a roller lifts off)",
    }
}

/// Rows of cells put into columns: the first ones of text to the left, the
/// rest of numbers already lined up.
fn write_rows(
    out: &mut dyn Write,
    indent: &str,
    rows: &[Vec<String>],
    is_number: impl Fn(usize) -> bool,
) -> io::Result<()> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter()
            .filter_map(|row| row.get(column))
            .map(|cell| unicode_width::UnicodeWidthStr::width(cell.as_str()))
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    for row in rows {
        let mut line = indent.to_owned();
        for (column, cell) in row.iter().enumerate() {
            let pad = widths
                .get(column)
                .copied()
                .unwrap_or(0)
                .saturating_sub(unicode_width::UnicodeWidthStr::width(cell.as_str()));
            if column > 0 {
                line.push_str("  ");
            }
            if is_number(column) {
                line.push_str(&" ".repeat(pad));
                line.push_str(cell);
            } else {
                line.push_str(cell);
                line.push_str(&" ".repeat(pad));
            }
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

/// The cells of a column of results, their points in line; a dash for none.
pub(in crate::present) fn column(
    structure: &Structure,
    unit: &NamedUnit,
    values: &[Option<f64>],
    scale: f64,
) -> Vec<String> {
    let known: Vec<f64> = values.iter().flatten().map(|value| unit.convert(*value)).collect();
    let column = Column::of(&known, structure.figures, unit.convert(scale));
    let cells: Vec<String> =
        values.iter().map(|value| value.map_or("–".to_owned(), |value| column.cell(unit.convert(value)))).collect();
    line_up(&cells)
}

fn write_reactions(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    result: &CaseResult,
) -> io::Result<()> {
    let force = units.display_unit(Dimension::FORCE);
    let moment = units.display_unit(Dimension::MOMENT);
    let scale = result.largest;
    let size = |reaction: &Reaction| reaction.force()[0].hypot(reaction.force()[1]);
    let all = &result.reactions;
    let cells = |unit, part: &dyn Fn(&Reaction) -> Option<f64>, scale| {
        column(structure, unit, &all.iter().map(part).collect::<Vec<_>>(), scale)
    };
    let fx = cells(&force, &|r| r.fx, scale);
    let fy = cells(&force, &|r| r.fy, scale);
    let m = cells(&moment, &|r| r.m.map(|m| structure.turning(m)), beams::moment_scale(structure, result));
    let resultant = cells(&force, &|r| Some(size(r)), scale);
    let with_moment = all.iter().any(|reaction| reaction.m.is_some());
    let symbol = &force.symbol;
    let mut head = vec!["reactions".to_owned(), String::new(), format!("Fx {symbol}"), format!("Fy {symbol}")];
    if with_moment {
        head.push(couples("M", structure, &moment.symbol));
    }
    head.push(format!("size {symbol}"));
    head.push("direction".to_owned());
    let numbers = 2..head.len() - 1;
    let mut rows = vec![head];
    for (index, (support, reaction)) in structure.supports.iter().zip(all).enumerate() {
        let cell = |cells: &[String]| cells.get(index).cloned().unwrap_or_default();
        let mut row = vec![
            format!("  {}", structure.joint_name(support.joint)),
            support.kind.word().to_owned(),
            cell(&fx),
            cell(&fy),
        ];
        if with_moment {
            row.push(cell(&m));
        }
        row.push(cell(&resultant));
        row.push(direction_words(structure, reaction.force(), scale));
        rows.push(row);
    }
    write_rows(out, "  ", &rows, |column| numbers.contains(&column))
}

/// `↑ up`, `↗ 75.2° above right`, nothing for a force that is zero.
pub(in crate::present) fn direction_words(structure: &Structure, [x, y]: [f64; 2], scale: f64) -> String {
    let noise = crate::statics::ZERO_SHARE * scale;
    let (x, y) = (if x.abs() <= noise { 0.0 } else { x }, if y.abs() <= noise { 0.0 } else { y });
    if [x, y] == [0.0; 2] { String::new() } else { format!("{} {}", arrow([x, y]), words::way(structure, [x, y])) }
}

/// `M kN·m`; with `cw` or what else is positive where it is not counterclockwise.
pub(in crate::present) fn couples(name: &str, structure: &Structure, unit: &str) -> String {
    let sense = if structure.turning_sign() < 0.0 { " cw" } else { "" };
    format!("{name} {unit}{sense}")
}

/// The arrow nearest to a direction.
pub(in crate::present) fn arrow([x, y]: [f64; 2]) -> &'static str {
    const ARROWS: [&str; 8] = ["→", "↗", "↑", "↖", "←", "↙", "↓", "↘"];
    let eighth = (y.atan2(x) / std::f64::consts::FRAC_PI_4).round();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let index = eighth.rem_euclid(8.0) as usize;
    ARROWS.get(index).copied().unwrap_or("→")
}

/// The members that carry axial force only.
pub(in crate::present) fn pinned(structure: &Structure) -> Vec<MemberId> {
    let is_pinned = |index: &usize| structure.members.get(*index).is_some_and(|member| member.kind != MemberKind::Beam);
    (0..structure.members.len()).filter(is_pinned).map(MemberId::new).collect()
}

/// `T` and `C` spelt out: nobody should have to remember a sign.
pub(in crate::present) fn sense(axial: f64, scale: f64) -> &'static str {
    if axial.abs() <= crate::statics::ZERO_SHARE * scale {
        ""
    } else if axial > 0.0 {
        "tension"
    } else {
        "compression"
    }
}

fn write_members_of_one(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    result: &CaseResult,
) -> io::Result<()> {
    let force = units.display_unit(Dimension::FORCE);
    let pinned = pinned(structure);
    if pinned.is_empty() {
        return Ok(());
    }
    let axial = |member: &MemberId| result.axial.get(member.index()).copied().unwrap_or(0.0);
    let sizes: Vec<Option<f64>> = pinned.iter().map(|member| Some(axial(member).abs())).collect();
    let cells = column(structure, &force, &sizes, result.largest);
    let what = if pinned.len() == structure.members.len() { "members" } else { "bars" };
    let mut rows = vec![vec![what.to_owned(), force.symbol.clone(), String::new()]];
    for (cell, member) in cells.into_iter().zip(&pinned) {
        let name = format!("  {}", structure.member_name(*member));
        rows.push(vec![name, cell, sense(axial(member), result.largest).to_owned()]);
    }
    write_rows(out, "  ", &rows, |column| column == 1)
}

/// How each joint moves, where stiffness is known; nothing where none does.
fn write_displacements(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    result: &CaseResult,
) -> io::Result<()> {
    let Some(moved) = result.displacements.as_ref() else { return Ok(()) };
    let largest = moved.iter().map(|moved| moved.dx.hypot(moved.dy)).fold(0.0, f64::max);
    if largest == 0.0 && moved.iter().all(|moved| moved.turn.is_none_or(|turn| turn == 0.0)) {
        return Ok(());
    }
    let unit = &units.deflection;
    let mut head = vec!["movements".to_owned(), format!("dx {}", unit.symbol), format!("dy {}", unit.symbol)];
    let mut columns = vec![
        column(structure, unit, &moved.iter().map(|moved| Some(moved.dx)).collect::<Vec<_>>(), largest),
        column(structure, unit, &moved.iter().map(|moved| Some(moved.dy)).collect::<Vec<_>>(), largest),
    ];
    if moved.iter().any(|moved| moved.turn.is_some()) {
        head.push(couples("turn", structure, "mrad"));
        columns.push(turns(structure, moved));
    }
    let mut rows = vec![head];
    for index in 0..moved.len() {
        let mut row = vec![format!("  {}", structure.joint_name(JointId::new(index)))];
        row.extend(columns.iter().map(|cells| cells.get(index).cloned().unwrap_or_default()));
        rows.push(row);
    }
    write_rows(out, "  ", &rows, |column| column > 0)
}

/// Rotations of joints: thousandths of a radian read better than 0.0003 rad.
pub(in crate::present) fn turns(structure: &Structure, moved: &[Displacement]) -> Vec<String> {
    let turns: Vec<Option<f64>> =
        moved.iter().map(|moved| moved.turn.map(|turn| structure.turning(turn) * 1e3)).collect();
    let form = Column::of(&turns.iter().flatten().copied().collect::<Vec<_>>(), structure.figures, 0.0);
    let cells: Vec<String> =
        turns.iter().map(|turn| turn.map_or_else(|| "–".to_owned(), |turn| form.cell(turn))).collect();
    line_up(&cells)
}

/// Several cases beside each other, tension positive.
fn write_members_beside(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    results: &[&CaseResult],
) -> io::Result<()> {
    let force = units.display_unit(Dimension::FORCE);
    let pinned = pinned(structure);
    if pinned.is_empty() {
        return Ok(());
    }
    let mut rows = vec![vec!["member".to_owned()]];
    for member in &pinned {
        rows.push(vec![structure.member_name(*member)]);
    }
    for result in results {
        let axial = |member: &MemberId| result.axial.get(member.index()).copied();
        let values: Vec<Option<f64>> = pinned.iter().map(axial).collect();
        let cells = column(structure, &force, &values, result.largest);
        if let Some(head) = rows.first_mut() {
            head.push(subject_name(structure, result.subject).to_owned());
        }
        for (row, cell) in rows.iter_mut().skip(1).zip(cells) {
            row.push(cell);
        }
    }
    writeln!(out)?;
    writeln!(out, "member forces in {}, tension positive, compression negative", force.symbol)?;
    write_rows(out, "  ", &rows, |column| column > 0)
}

/// The rows of [`sums`].
pub(in crate::present) const SUMMED: [&str; 3] = ["loads", "reactions", "together"];

/// Loads and reactions added up, and what is left of them: headings and cells.
pub(in crate::present) fn sums(
    structure: &Structure,
    units: &UnitSystem,
    result: &CaseResult,
) -> [(String, Vec<String>); 3] {
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let whole = &result.residual.whole;
    let sum = whole.sum();
    let part = |index: usize| [whole.loads, whole.reactions, sum].map(|sums| sums.get(index).copied());
    let moments = part(2).map(|moment| moment.map(|moment| structure.turning(moment)));
    // A sum of moments is noise beside the moments that were added.
    let scale = beams::moment_scale(structure, result);
    let scale = moments.iter().flatten().fold(scale, |largest, value| largest.max(value.abs()));
    let about = whole.about.map_or(String::new(), |joint| format!(" about {}", structure.joint_name(joint)));
    [
        (format!("Fx {}", force.symbol), column(structure, &force, &part(0), result.largest)),
        (format!("Fy {}", force.symbol), column(structure, &force, &part(1), result.largest)),
        (couples(&format!("M{about}"), structure, &moment.symbol), column(structure, &moment, &moments, scale)),
    ]
}

/// `residual 2.1e-16 of the largest force, at joint D`
pub(in crate::present) fn residual(structure: &Structure, result: &CaseResult) -> String {
    let residual = &result.residual;
    let place = match residual.worst {
        Place::Structure => "over the whole structure".to_owned(),
        Place::Joint(joint) => format!("at joint {}", structure.joint_name(joint)),
        Place::Member(member) => format!("on member {}", structure.member_name(member)),
    };
    if residual.relative == 0.0 {
        "0: every joint balances to the last bit".to_owned()
    } else {
        format!("{:.1e} of the largest force, {place}", residual.relative)
    }
}

fn write_sums(out: &mut dyn Write, structure: &Structure, units: &UnitSystem, result: &CaseResult) -> io::Result<()> {
    let columns = sums(structure, units, result);
    let head = std::iter::once("sums".to_owned()).chain(columns.iter().map(|(heading, _)| heading.clone()));
    let row = |(index, what): (usize, &&str)| {
        let cells = columns.iter().map(|(_, cells)| cells.get(index).cloned().unwrap_or_default());
        std::iter::once(format!("  {what}")).chain(cells).collect()
    };
    let rows: Vec<Vec<String>> = std::iter::once(head.collect()).chain(SUMMED.iter().enumerate().map(row)).collect();
    write_rows(out, "  ", &rows, |column| column > 0)?;
    writeln!(out, "  residual  {}", residual(structure, result))
}

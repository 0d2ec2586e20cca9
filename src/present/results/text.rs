//! Results as text: the count, reactions, member forces, sums, residual, one
//! line of caution.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::tolerances::SAME;
use crate::base::{MemberId, unheeded};
use crate::check::outcome::tension_side;
use crate::check::words::{self, member_place};
use crate::present::text::{Align, one_line, padded};
use crate::quantity::Dimension;
use crate::statics::diagram::{Extreme, Quantity, largest_deflection};
use crate::statics::{CaseResult, TravelResult, spans};
use crate::structure::Structure;

use super::beams::{beams, noise_moment};
use super::extremes::Compared;
use super::tables::{GREATEST_LEAST, POSITIVE_NEGATIVE, QuantityIn, Shown, TENSION_COMPRESSION, Table, Tables};
use super::words::{Count, does_not_hold, heading, over, residual, travel_loads, travel_residual};
use super::{Answer, CAUTION, MOST_BESIDE};

/// Writes one file's answer.
pub fn write_text(out: &mut dyn Write, answer: &Answer<'_>, only: &dyn Fn(&CaseResult) -> bool) -> io::Result<()> {
    let structure = answer.structure;
    let tables = Tables::of(structure);
    let title = structure.title.as_deref().unwrap_or(answer.file);
    writeln!(out, "{}", unheeded(&one_line(title, 200)))?;
    if let Some(verdict) = answer.verdict {
        let count = Count::of(structure, verdict);
        writeln!(out, "{}: {}, {}", count.parts, count.sum, count.verdict)?;
    }
    if let Some(set) = structure.set_words() {
        writeln!(out, "with {}", unheeded(&one_line(&set, 200)))?;
    }
    let results: Vec<&CaseResult> = answer.results.iter().filter(|result| only(result)).collect();
    let several = answer.results.len() > 1;
    // A case beside a train needs its name too.
    let named = several || !structure.travels.is_empty();
    for result in &results {
        writeln!(out)?;
        if named {
            writeln!(out, "{}", heading(structure, result))?;
        } else if let Some(fails) = does_not_hold(result) {
            writeln!(out, "({fails})")?;
        }
        write_table(out, &untitled_second(tables.reactions(result)), Heads::OneLine)?;
        if let Some(bars) = tables.bars(result).filter(|_| !several) {
            write_table(out, &untitled_second(bars), Heads::OneLine)?;
        }
        if let Some(beams) = tables.beams(result) {
            write_table(out, &beams, Heads::UnitsBelow)?;
        }
        write_largest(out, structure, result)?;
        if let Some(movements) = tables.displacements(result).filter(|_| results.len() == 1 && moves(result)) {
            write_table(out, &movements, Heads::OneLine)?;
        }
        write_table(out, &tables.sums(result), Heads::OneLine)?;
        writeln!(out, "  residual  {}", residual(structure, result))?;
    }
    if several {
        for bars in results.chunks(MOST_BESIDE).filter_map(|beside| tables.bars_beside(beside)) {
            let unit = &tables.force.symbol;
            writeln!(out, "\nmember forces in {unit}, tension positive, compression negative")?;
            write_table(out, &bars, Heads::OneLine)?;
        }
        write_extremes(out, &tables, &results)?;
    }
    for result in answer.travels {
        writeln!(out)?;
        write_travel(out, &tables, result)?;
    }
    if !(results.is_empty() && answer.travels.is_empty()) {
        writeln!(out)?;
        writeln!(out, "{CAUTION}")?;
    }
    Ok(())
}

/// How the columns of a table are headed.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Heads {
    /// `Fx kN`
    OneLine,
    UnitsBelow,
    /// The name of the table stands on a line of its own.
    NameAlone,
}

/// Writes a table set in by two. Its own name heads the first column, whose
/// names are set in by two more.
fn write_table(out: &mut dyn Write, table: &Table, heads: Heads) -> io::Result<()> {
    let mut columns: Vec<Vec<String>> = Vec::new();
    for (index, column) in table.columns.iter().enumerate() {
        let (mut column, mut before) = (column.clone(), "");
        if index == 0 && column.name != table.name {
            table.name.clone_into(&mut column.name);
            before = "  ";
        }
        let heads = match heads {
            Heads::OneLine => vec![column.heading()],
            Heads::UnitsBelow => vec![column.name, column.unit],
            Heads::NameAlone => Vec::new(),
        };
        columns.push(padded(heads, column.cells.iter().map(|cell| format!("{before}{cell}")).collect(), column.align));
    }
    if heads == Heads::NameAlone {
        writeln!(out, "  {}", table.name)?;
    }
    write_lines(out, &columns)
}

/// Columns beside each other, set in by two.
fn write_lines(out: &mut dyn Write, columns: &[Vec<String>]) -> io::Result<()> {
    for row in 0..columns.first().map_or(0, Vec::len) {
        let cells: Vec<&str> = columns.iter().filter_map(|column| Some(column.get(row)?.as_str())).collect();
        writeln!(out, "  {}", cells.join("  ").trim_end())?;
    }
    Ok(())
}

/// The table's name says what its second column holds.
fn untitled_second(mut table: Table) -> Table {
    if let Some(second) = table.columns.get_mut(1) {
        second.name.clear();
    }
    table
}

/// Whether any joint moves or turns.
fn moves(result: &CaseResult) -> bool {
    let mut moved = result.displacements.iter().flatten();
    moved.any(|moved| [moved.dx, moved.dy, moved.turn.unwrap_or(0.0)] != [0.0; 3])
}

/// The largest moment and, where stiffness is known, displacement, with its place.
fn write_largest(out: &mut dyn Write, structure: &Structure, result: &CaseResult) -> io::Result<()> {
    let mut rows: Vec<[String; 3]> = Vec::new();
    let beams = beams(structure);
    let moments = beams.iter().flat_map(|member| {
        result.diagram(structure, *member).extremes(Quantity::Moment).map(|extreme| (*member, extreme))
    });
    if let Some((member, extreme)) = first_largest(moments, |(_, extreme)| extreme.value.abs())
        && extreme.value.abs() > noise_moment(structure, result)
    {
        let size = words::quantity(structure, extreme.value.abs(), Dimension::MOMENT);
        let side = tension_side(structure, member, extreme.value);
        rows.push(["moment".to_owned(), format!("{size} {side}"), place(structure, member, extreme.at)]);
    }
    let bent = most_bent(structure, result, &beams);
    let sag = bent.map_or(0.0, |(_, extreme)| extreme.value.abs());
    rows.extend(most_moved(structure, result, sag));
    rows.extend(bent.and_then(|(member, extreme)| bent_words(structure, member, extreme)));
    let mut columns: [Vec<String>; 4] = Default::default();
    for row in rows {
        let before = if columns[0].is_empty() { "largest" } else { "" };
        columns.iter_mut().zip([before.to_owned()].into_iter().chain(row)).for_each(|(column, cell)| column.push(cell));
    }
    let columns = columns.map(|column| padded(Vec::new(), column, Align::Left));
    write_lines(out, &columns)
}

/// The first of those that are as large as the largest but for rounding, so
/// that a tie falls to the same one in every case.
fn first_largest<T>(items: impl Iterator<Item = T>, size: impl Fn(&T) -> f64) -> Option<T> {
    items.fold(None, |best: Option<T>, item| match best {
        Some(best) if size(&item) <= size(&best) * (1.0 + SAME) => Some(best),
        _ => Some(item),
    })
}

/// `in A-B, 2.50 m from A`
fn place(structure: &Structure, member: MemberId, at: f64) -> String {
    format!("in {}, {}", structure.member_name(member), member_place(structure, member, at))
}

/// The largest joint displacement; nothing where it is noise beside a deflection.
fn most_moved(structure: &Structure, result: &CaseResult, sag: f64) -> Option<[String; 3]> {
    let sizes = result.displacements.as_ref()?.entries().map(|(joint, moved)| (joint, moved, moved.dx.hypot(moved.dy)));
    let (joint, moved, size) = first_largest(sizes, |(.., size)| *size).filter(|(.., size)| *size > SAME * sag)?;
    let clean = |part: f64| if part.abs() <= SAME * size { 0.0 } else { part };
    let direction = words::way(structure, [clean(moved.dx), clean(moved.dy)]);
    let size = format!("{} {direction}", words::deflection(structure, size));
    Some(["displacement".to_owned(), size, format!("at joint {}", structure.joint_name(joint))])
}

fn most_bent(structure: &Structure, result: &CaseResult, beams: &[MemberId]) -> Option<(MemberId, Extreme)> {
    let bent = |member: &MemberId| Some((*member, largest_deflection(&result.deflection(structure, *member)?)));
    let all: Vec<(MemberId, Extreme)> = beams.iter().map(bent).collect::<Option<_>>()?;
    let best = first_largest(all.into_iter(), |(_, extreme)| extreme.value.abs());
    best.filter(|(_, extreme)| extreme.value != 0.0)
}

fn bent_words(structure: &Structure, member: MemberId, extreme: Extreme) -> Option<[String; 3]> {
    let length = structure.member_length(member);
    if extreme.at <= SAME * length || extreme.at >= length * (1.0 - SAME) {
        // An end is a joint, whose displacement is given already.
        return None;
    }
    let across = spans::global(structure, member, [0.0, extreme.value.signum()]);
    let size = words::deflection(structure, extreme.value.abs());
    let told = format!("{size} {}", words::way(structure, across));
    Some(["deflection".to_owned(), told, place(structure, member, extreme.at)])
}

/// The extremes over all cases; nothing where fewer than two can be compared.
fn write_extremes(out: &mut dyn Write, tables: &Tables<'_>, results: &[&CaseResult]) -> io::Result<()> {
    let Some(compared) = Compared::of(tables.structure, results) else { return Ok(()) };
    writeln!(out, "\nextremes over {}", over(tables.structure, &compared))?;
    let (bars, of_bars) = tables.extreme_bars(&compared);
    for (name, extremes, sides, quantity) in [
        ("reactions", tables.extreme_reactions(&compared), GREATEST_LEAST, QuantityIn::AColumn),
        (bars, vec![of_bars], TENSION_COMPRESSION, QuantityIn::TheHeadings),
        ("beams", tables.extreme_beams(&compared), POSITIVE_NEGATIVE, QuantityIn::AColumn),
    ] {
        let columns = tables.extremes("", &extremes, sides, quantity);
        if columns.iter().any(|column| !column.cells.is_empty()) {
            let table = Table { name, caption: String::new(), rows: "", columns };
            write_table(out, &table, Heads::OneLine)?;
        }
    }
    Ok(())
}

/// One train: what it is, then a line for each extreme that is not zero.
fn write_travel(out: &mut dyn Write, tables: &Tables<'_>, result: &TravelResult) -> io::Result<()> {
    let name = tables.structure.travel_name(result.travel);
    writeln!(out, "travel {name}: {}", travel_loads(tables.structure, result))?;
    let reactions = tables.travel_reactions(result);
    let has_none = reactions.columns.iter().all(|column| column.cells.is_empty());
    write_table(out, &reactions, Heads::NameAlone)?;
    if has_none {
        writeln!(out, "    none")?;
    }
    for table in [Shown::Beams, Shown::Bars].into_iter().filter_map(|shown| tables.travel_members(result, shown)) {
        write_table(out, &table, Heads::NameAlone)?;
    }
    writeln!(out, "  residual  {}", travel_residual(result))
}

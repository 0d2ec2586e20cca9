//! Results as tables: reactions, member forces, sections of beams,
//! displacements, sums and residual of each case, then the extremes of all.
//!
//! Must not know: how forces are found.

mod extremes;

use crate::base::JointId;
use crate::check::words as phrases;
use crate::present::document::{Align, Block, Line, Table, TableColumn, words};
use crate::present::results::subject_name;
use crate::present::results::text::{
    MOST_BESIDE, SUMMED, beams, column as cells, couples, direction_words, heading as case_heading, held, pinned,
    residual, sense, sums, turns,
};
use crate::quantity::{Dimension, NamedUnit, UnitSystem};
use crate::statics::CaseResult;
use crate::statics::diagram::{Diagram, Quantity};
use crate::structure::Structure;

use super::{MOST_SUBJECTS, Report, column, cut, figures, heading};

pub fn blocks(report: &Report<'_>) -> Vec<Block> {
    let structure = &report.checked.structure;
    let units = phrases::units(structure);
    let results = report.results();
    if results.is_empty() {
        return Vec::new();
    }
    let is_only = report.checked.solution.as_ref().is_some_and(|solution| solution.results.len() == 1);
    let mut blocks = vec![heading(1, "Results")];
    for (place, result) in results.iter().take(MOST_SUBJECTS).enumerate() {
        let named = !is_only || !structure.travels.is_empty();
        if named {
            blocks.push(heading(2, phrases::capital(&case_heading(structure, result))));
        } else if !held(result).is_empty() {
            blocks.push(Block::Paragraph(words(held(result).trim())));
        }
        blocks.extend(figures::of_case(report, place, result));
        blocks.extend(case(structure, &units, result, if is_only { Bars::Here } else { Bars::Beside }));
    }
    if results.len() > MOST_SUBJECTS {
        let rest: Vec<String> = results
            .iter()
            .skip(MOST_SUBJECTS)
            .map(|result| subject_name(structure, result.subject).to_owned())
            .collect();
        let said = format!("{}: a report shows {MOST_SUBJECTS} cases and combinations at most.", phrases::list(&rest));
        blocks.push(Block::Paragraph(words(said)));
    }
    if !is_only {
        blocks.extend(bars_beside(structure, &units, &results));
    }
    if results.len() > 1 {
        blocks.extend(extremes::blocks(structure, &units, &results));
    }
    blocks
}

/// Where the forces of bars are told: with their case, or all cases beside each other.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Bars {
    Here,
    Beside,
}

fn case(structure: &Structure, units: &UnitSystem, result: &CaseResult, bars: Bars) -> Vec<Block> {
    let mut blocks = cut(reactions(structure, units, result), "supports");
    if bars == Bars::Here {
        blocks.extend(bar_table(structure, units, result).map_or_else(Vec::new, |table| cut(table, "members")));
    }
    blocks.extend(beam_table(structure, units, result).map_or_else(Vec::new, |table| cut(table, "beams")));
    blocks.extend(displacements(structure, units, result).map_or_else(Vec::new, |table| cut(table, "joints")));
    blocks.push(Block::Table(sums_table(structure, units, result)));
    blocks.push(Block::Paragraph(words(format!("Residual {}.", residual(structure, result)))));
    blocks
}

/// A column of numbers in a unit; what is absent is a dash.
pub(super) struct Numbers {
    pub heading: String,
    pub cells: Vec<String>,
}

pub(super) fn numbers(
    structure: &Structure,
    name: &str,
    unit: &NamedUnit,
    values: &[Option<f64>],
    scale: f64,
) -> Numbers {
    let heading = format!("{name} {}", unit.symbol).trim().to_owned();
    Numbers { heading, cells: cells(structure, unit, values, scale) }
}

/// Columns of words and numbers side by side.
pub(super) struct Columns {
    columns: Vec<TableColumn>,
    rows: Vec<Vec<Line>>,
}

impl Columns {
    pub fn new(rows: usize) -> Columns {
        Columns { columns: Vec::new(), rows: vec![Vec::new(); rows] }
    }

    pub fn words(&mut self, heading: &str, cells: impl Iterator<Item = String>) {
        self.columns.push(column(heading, Align::Left));
        for (row, cell) in self.rows.iter_mut().zip(cells) {
            row.push(words(cell));
        }
    }

    pub fn numbers(&mut self, numbers: Numbers) {
        self.columns.push(column(numbers.heading, Align::Point));
        for (row, cell) in self.rows.iter_mut().zip(numbers.cells) {
            row.push(words(cell.trim()));
        }
    }

    pub fn table(self, caption: impl Into<String>) -> Table {
        Table { caption: words(caption), columns: self.columns, rows: self.rows, foot: Vec::new() }
    }
}

fn reactions(structure: &Structure, units: &UnitSystem, result: &CaseResult) -> Table {
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let all = &result.reactions;
    let size = |index: usize| all.get(index).map_or(0.0, |reaction| reaction.force()[0].hypot(reaction.force()[1]));
    let mut table = Columns::new(all.len());
    table.words("joint", structure.supports.iter().map(|support| structure.joint_name(support.joint).to_owned()));
    table.words("support", structure.supports.iter().map(|support| support.kind.word().to_owned()));
    table.numbers(numbers(structure, "Fx", &force, &all.iter().map(|r| r.fx).collect::<Vec<_>>(), result.largest));
    table.numbers(numbers(structure, "Fy", &force, &all.iter().map(|r| r.fy).collect::<Vec<_>>(), result.largest));
    if all.iter().any(|reaction| reaction.m.is_some()) {
        let turning: Vec<Option<f64>> = all.iter().map(|r| r.m.map(|m| structure.turning(m))).collect();
        let cells = cells(structure, &moment, &turning, beams::moment_scale(structure, result));
        table.numbers(Numbers { heading: couples("M", structure, &moment.symbol), cells });
    }
    let sizes: Vec<Option<f64>> = (0..all.len()).map(|index| Some(size(index))).collect();
    table.numbers(numbers(structure, "size", &force, &sizes, result.largest));
    table.words("direction", all.iter().map(|reaction| direction_words(structure, reaction.force(), result.largest)));
    table.table("Reactions: what the supports do to the structure")
}

fn bar_table(structure: &Structure, units: &UnitSystem, result: &CaseResult) -> Option<Table> {
    let force = units.display_unit(Dimension::FORCE);
    let bars = pinned(structure);
    if bars.is_empty() {
        return None;
    }
    let axial: Vec<f64> = bars.iter().map(|bar| result.axial.get(bar.index()).copied().unwrap_or(0.0)).collect();
    let sizes: Vec<Option<f64>> = axial.iter().map(|value| Some(value.abs())).collect();
    let mut table = Columns::new(bars.len());
    table.words("member", bars.iter().map(|bar| structure.member_name(*bar)));
    table.numbers(numbers(structure, "force", &force, &sizes, result.largest));
    table.words("", axial.iter().map(|value| sense(*value, result.largest).to_owned()));
    Some(table.table("Member forces"))
}

/// All cases beside each other, a few at a time.
fn bars_beside(structure: &Structure, units: &UnitSystem, results: &[&CaseResult]) -> Vec<Block> {
    let force = units.display_unit(Dimension::FORCE);
    let bars = pinned(structure);
    if bars.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![heading(2, "Member forces")];
    for beside in results.chunks(MOST_BESIDE).take(MOST_SUBJECTS.div_ceil(MOST_BESIDE)) {
        let mut table = Columns::new(bars.len());
        table.words("member", bars.iter().map(|bar| structure.member_name(*bar)));
        for result in beside {
            let axial: Vec<Option<f64>> = bars.iter().map(|bar| result.axial.get(bar.index()).copied()).collect();
            let mut column = numbers(structure, "", &force, &axial, result.largest);
            column.heading = subject_name(structure, result.subject).to_owned();
            table.numbers(column);
        }
        let caption = format!("In {}, tension positive, compression negative", force.symbol);
        blocks.extend(cut(table.table(caption), "members"));
    }
    blocks
}

fn beam_table(structure: &Structure, units: &UnitSystem, result: &CaseResult) -> Option<Table> {
    let (force, moment) = (units.display_unit(Dimension::FORCE), units.display_unit(Dimension::MOMENT));
    let members = beams::beams(structure);
    if members.is_empty() {
        return None;
    }
    let diagrams: Vec<Diagram> = members.iter().map(|member| result.diagram(structure, *member)).collect();
    let of = |value: fn(&Diagram) -> f64| diagrams.iter().map(|diagram| Some(value(diagram))).collect::<Vec<_>>();
    let scale = result.largest;
    let moments =
        diagrams.iter().flat_map(|diagram| diagram.extremes(Quantity::Moment)).map(|extreme| extreme.value.abs());
    let moment_scale = moments.fold(beams::noise_moment(structure, result), f64::max);
    let rows = beams::inside_rows(&diagrams, beams::noise_moment(structure, result));
    // A beam's own values stand on the first of its rows.
    let once = |cells: Vec<String>| -> Vec<String> {
        let cell = |row: &beams::InsideRow| cells.get(row.beam).filter(|_| row.is_first).cloned().unwrap_or_default();
        rows.iter().map(cell).collect()
    };
    let of_beams = |column: Numbers| Numbers { cells: once(column.cells), ..column };
    let mut table = Columns::new(rows.len());
    table.words("beam", once(members.iter().map(|member| structure.member_name(*member)).collect()).into_iter());
    if beams::has_even_axial(&diagrams, scale) {
        table.numbers(of_beams(numbers(structure, "N", &force, &of(|d| d.start().axial), scale)));
    } else {
        table.numbers(of_beams(numbers(structure, "N start", &force, &of(|d| d.start().axial), scale)));
        table.numbers(of_beams(numbers(structure, "N end", &force, &of(|d| d.end().axial), scale)));
    }
    table.numbers(of_beams(numbers(structure, "V start", &force, &of(|d| d.start().shear), scale)));
    table.numbers(of_beams(numbers(structure, "V end", &force, &of(|d| d.end().shear), scale)));
    table.numbers(of_beams(numbers(structure, "M start", &moment, &of(|d| d.start().moment), moment_scale)));
    table.numbers(of_beams(numbers(structure, "M end", &moment, &of(|d| d.end().moment), moment_scale)));
    if rows.iter().any(|row| row.extreme.is_some()) {
        let values: Vec<Option<f64>> = rows.iter().map(|row| row.extreme.map(|extreme| extreme.value)).collect();
        table.numbers(numbers(structure, "M inside", &moment, &values, moment_scale));
        let at = |row: &beams::InsideRow| {
            row.extreme.map_or_else(String::new, |extreme| beams::place_number(structure, units, extreme.at))
        };
        let places = rows.iter().map(at).collect();
        table.numbers(Numbers { heading: format!("at {}", units.length.symbol), cells: places });
    }
    Some(table.table(
        "Beams, each from its first-named joint: tension positive; a moment is positive with tension on the right \
         looking along (a beam named left to right: sagging)",
    ))
}

fn displacements(structure: &Structure, units: &UnitSystem, result: &CaseResult) -> Option<Table> {
    let moved = result.displacements.as_ref()?;
    let unit = &units.deflection;
    let largest = moved.iter().map(|moved| moved.dx.hypot(moved.dy)).fold(0.0, f64::max);
    let mut table = Columns::new(moved.len());
    table.words("joint", (0..moved.len()).map(|index| structure.joint_name(JointId::new(index)).to_owned()));
    table.numbers(numbers(
        structure,
        "dx",
        unit,
        &moved.iter().map(|moved| Some(moved.dx)).collect::<Vec<_>>(),
        largest,
    ));
    table.numbers(numbers(
        structure,
        "dy",
        unit,
        &moved.iter().map(|moved| Some(moved.dy)).collect::<Vec<_>>(),
        largest,
    ));
    if moved.iter().any(|moved| moved.turn.is_some()) {
        table.numbers(Numbers { heading: couples("turn", structure, "mrad"), cells: turns(structure, moved) });
    }
    let sense = if structure.turning_sign() < 0.0 { "clockwise" } else { "counterclockwise" };
    Some(table.table(format!("Displacements: right, up and {sense} positive")))
}

fn sums_table(structure: &Structure, units: &UnitSystem, result: &CaseResult) -> Table {
    let mut table = Columns::new(SUMMED.len());
    table.words("", SUMMED.iter().map(|word| (*word).to_owned()));
    for (heading, cells) in sums(structure, units, result) {
        table.numbers(Numbers { heading, cells });
    }
    let mut table = table.table("Sums");
    table.foot = table.rows.pop().unwrap_or_default();
    table
}

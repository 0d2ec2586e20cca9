//! The extremes of all reactions and members, below the results they are taken
//! from.
//!
//! Must not know: files, terminals.

use std::io::{self, Write};

use crate::base::MemberId;
use crate::check::words;
use crate::present::results::extremes::{Compared, Peak};
use crate::present::results::subject_name;
use crate::quantity::format::{Column, line_up};
use crate::quantity::{Dimension, NamedUnit, UnitSystem};
use crate::statics::diagram::Quantity;
use crate::statics::{CaseResult, Reaction};
use crate::structure::Structure;

use super::{beams, couples, pinned, write_rows};

/// What a support can give, by name.
pub(in crate::present) type Component = (&'static str, fn(&Reaction) -> Option<f64>, Dimension);
pub(in crate::present) fn components(structure: &Structure) -> [Component; 3] {
    let turning: Component = if structure.turning_sign() < 0.0 {
        ("M", |reaction| reaction.m.map(|m| -m), Dimension::MOMENT)
    } else {
        ("M", |reaction| reaction.m, Dimension::MOMENT)
    };
    [("Fx", |reaction| reaction.fx, Dimension::FORCE), ("Fy", |reaction| reaction.fy, Dimension::FORCE), turning]
}

/// What is compared along a beam, by name.
const SECTIONS: [(&str, Quantity, Dimension); 3] = [
    ("N", Quantity::Axial, Dimension::FORCE),
    ("V", Quantity::Shear, Dimension::FORCE),
    ("M", Quantity::Moment, Dimension::MOMENT),
];

/// Nothing where fewer than two results can be compared.
pub fn write_extremes(
    out: &mut dyn Write,
    structure: &Structure,
    units: &UnitSystem,
    results: &[&CaseResult],
) -> io::Result<()> {
    let Some(compared) = Compared::of(structure, results) else { return Ok(()) };
    writeln!(out)?;
    writeln!(out, "extremes over {}", over(structure, &compared))?;
    let tables = [
        (["reactions", "greatest", "least"], reactions(structure, units, &compared)),
        ([bars_word(structure), "tension", "compression"], bars(structure, units, &compared)),
        (["beams", "positive", "negative"], sections(structure, units, &compared)),
    ];
    for (head, groups) in tables {
        write_groups(out, structure, head, groups)?;
    }
    Ok(())
}

/// `service and uplift, without strength, which does not hold`
pub(in crate::present) fn over(structure: &Structure, compared: &Compared<'_>) -> String {
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

/// Rows of one quantity in one unit.
struct Group {
    quantity: String,
    unit: NamedUnit,
    entries: Vec<Entry>,
}

struct Entry {
    /// The place of its reaction or member among the others.
    order: usize,
    name: String,
    peaks: [Option<Peak>; 2],
    /// The beam along which the peaks lie.
    along: Option<MemberId>,
}

fn reactions(structure: &Structure, units: &UnitSystem, compared: &Compared<'_>) -> Vec<Group> {
    let group = |(name, component, dimension): Component| {
        let entry = |(order, peaks): (usize, Option<[Peak; 2]>)| {
            let name = structure.supports.get(order).map_or("", |support| structure.joint_name(support.joint));
            Some(Entry { order, name: name.to_owned(), peaks: peaks?.map(Some), along: None })
        };
        let unit = units.display_unit(dimension);
        let entries = compared.reactions(component).into_iter().enumerate().filter_map(entry).collect();
        let quantity = match dimension {
            Dimension::MOMENT => couples(name, structure, &unit.symbol),
            _ => format!("{name} {}", unit.symbol),
        };
        Group { quantity, unit, entries }
    };
    components(structure).map(group).into()
}

fn bars_word(structure: &Structure) -> &'static str {
    if beams::beams(structure).is_empty() { "members" } else { "bars" }
}

/// Sizes only: each column says its sense.
fn bars(structure: &Structure, units: &UnitSystem, compared: &Compared<'_>) -> Vec<Group> {
    let bars = pinned(structure);
    let unit = units.display_unit(Dimension::FORCE);
    let size = |peak: Option<Peak>| peak.map(|peak| Peak { value: peak.value.abs(), ..peak });
    let entry = |((order, bar), peaks): ((usize, &MemberId), [Option<Peak>; 2])| Entry {
        order,
        name: structure.member_name(*bar),
        peaks: peaks.map(size),
        along: None,
    };
    let entries = bars.iter().enumerate().zip(compared.bars(&bars)).map(entry).collect();
    vec![Group { quantity: String::new(), unit, entries }]
}

fn sections(structure: &Structure, units: &UnitSystem, compared: &Compared<'_>) -> Vec<Group> {
    let beams = beams::beams(structure);
    let group = |(name, quantity, dimension): (&str, Quantity, Dimension)| {
        let along = |beam: MemberId| (quantity != Quantity::Axial).then_some(beam);
        let entry = |((order, beam), peaks): ((usize, &MemberId), [Option<Peak>; 2])| Entry {
            order,
            name: structure.member_name(*beam),
            peaks,
            along: along(*beam),
        };
        let unit = units.display_unit(dimension);
        let all = compared.beams(structure, &beams, quantity);
        let entries = beams.iter().enumerate().zip(all).map(entry).collect();
        Group { quantity: format!("{name} {}", unit.symbol), unit, entries }
    };
    SECTIONS.map(group).into()
}

/// The groups' rows, put together by what they speak of; a name stands once.
fn write_groups(
    out: &mut dyn Write,
    structure: &Structure,
    [what, most, least]: [&str; 3],
    mut groups: Vec<Group>,
) -> io::Result<()> {
    // A quantity that is nowhere more than noise needs no rows of dashes.
    if groups.len() > 1 {
        groups.retain(|group| group.entries.iter().any(|entry| entry.peaks != [None; 2]));
    }
    let mut rows: Vec<(&Entry, &str, [String; 2])> = Vec::new();
    for group in &groups {
        let [most, least] = [0, 1].map(|side| cells(structure, group, side));
        for ((entry, most), least) in group.entries.iter().zip(most).zip(least) {
            rows.push((entry, &group.quantity, [most, least]));
        }
    }
    if rows.is_empty() {
        return Ok(());
    }
    rows.sort_by_key(|(entry, ..)| entry.order);
    let [first, second] = [0, 1].map(|side: usize| {
        line_up(&rows.iter().map(|(.., cells)| cells.get(side).cloned().unwrap_or_default()).collect::<Vec<_>>())
    });
    // One quantity alone is told in the head.
    let one = if let [group] = groups.as_slice()
        && group.quantity.is_empty()
    {
        format!(" {}", group.unit.symbol)
    } else {
        String::new()
    };
    let with_places = rows.iter().any(|(entry, ..)| entry.along.is_some());
    let mut head = vec![what.to_owned()];
    head.extend(one.is_empty().then(String::new));
    let numbers = [head.len(), head.len() + if with_places { 3 } else { 2 }];
    for side in [most, least] {
        head.push(format!("{side}{one}"));
        head.extend(with_places.then(|| "where".to_owned()));
        head.push("under".to_owned());
    }
    let mut table = vec![head];
    let mut last = None;
    for ((entry, quantity, _), cells) in rows.iter().zip(first.into_iter().zip(second)) {
        let is_told = last.replace(entry.order) == Some(entry.order);
        let mut row = vec![if is_told { String::new() } else { format!("  {}", entry.name) }];
        row.extend(one.is_empty().then(|| (*quantity).to_owned()));
        for (cell, peak) in [cells.0, cells.1].into_iter().zip(entry.peaks) {
            row.push(cell);
            if with_places {
                let place = entry.along.zip(peak);
                row.push(place.map_or_else(String::new, |(beam, peak)| words::member_place(structure, beam, peak.at)));
            }
            row.push(peak.map_or_else(String::new, |peak| subject_name(structure, peak.subject).to_owned()));
        }
        table.push(row);
    }
    write_rows(out, "  ", &table, |column| numbers.contains(&column))
}

/// The numbers of one side, not yet in line; a dash where there is none.
fn cells(structure: &Structure, group: &Group, side: usize) -> Vec<String> {
    let values: Vec<Option<f64>> = group
        .entries
        .iter()
        .map(|entry| entry.peaks.get(side).copied().flatten().map(|peak| group.unit.convert(peak.value)))
        .collect();
    let form = Column::of(&values.iter().flatten().copied().collect::<Vec<_>>(), structure.figures, 0.0);
    values.iter().map(|value| value.map_or_else(|| "–".to_owned(), |value| form.cell(value))).collect()
}

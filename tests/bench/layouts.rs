//! Structures of any size as text, with faults put in on purpose: girders and
//! braced sheets of bars, storeys of beams. Invented data.
//!
//! A sheet of square panels is braced by diagonals. By the theorem of Bolker
//! and Crapo (1979) it is stable when the graph of its rows and columns, with a
//! link for each braced panel, is connected, and determinate when that graph is
//! a tree: so the verdict of each sheet is known without solving anything.

use super::dice;

use std::fmt::Write as _;

use dice::Dice;

/// What is written, and the faults put into it.
#[derive(Clone, Debug)]
pub struct Layout {
    pub text: String,
    pub bars: usize,
    /// Members left out, as `A-B`.
    #[allow(dead_code)]
    pub removed: Vec<String>,
    /// Members added to a determinate layout.
    #[allow(dead_code)]
    pub added: Vec<String>,
}

/// How many members are left out of a determinate layout, and how many put in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Faults {
    pub removed: usize,
    pub added: usize,
}

impl Faults {
    pub const NONE: Faults = Faults { removed: 0, added: 0 };
}

/// How a sheet's panels are braced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bracing {
    /// The first row and the first column of panels.
    Edges,
    /// A random tree of rows and columns.
    Tree,
}

/// A parallel-chord girder on a pin and a roller, with about so many bars:
/// panels 2 m by 2 m, diagonals falling towards the middle (Pratt).
pub fn girder(bars: usize, faults: Faults, seed: u64) -> Layout {
    let panels = (bars.div_ceil(4)).max(4);
    let mut text = String::with_capacity(bars * 40);
    text.push_str("title \"Girder\"\nunits m, kN\n");
    for i in 0..=panels {
        let _ = writeln!(text, "joint L{i}: ({}, 0)", 2 * i);
    }
    for i in 1..panels {
        let _ = writeln!(text, "joint U{i}: ({}, 2)", 2 * i);
    }
    let mut members = Vec::with_capacity(4 * panels);
    for i in 0..panels {
        members.push(format!("L{i}-L{}", i + 1));
    }
    for i in 1..panels - 1 {
        members.push(format!("U{i}-U{}", i + 1));
    }
    for i in 1..panels {
        members.push(format!("L{i}-U{i}"));
    }
    members.push("L0-U1".to_owned());
    members.push(format!("U{}-L{panels}", panels - 1));
    let mut open = Vec::new();
    let mut twice = Vec::new();
    for i in 1..panels - 1 {
        let (falling, rising) = (format!("U{i}-L{}", i + 1), format!("L{i}-U{}", i + 1));
        let (used, other) = if i < panels / 2 { (falling, rising) } else { (rising, falling) };
        open.push(members.len());
        twice.push(other);
        members.push(used);
    }
    let (removed, added) = inject(&mut members, &open, &twice, faults, seed);
    write_members(&mut text, &members, &added);
    text.push_str("pin L0\n");
    let _ = writeln!(text, "roller L{panels}");
    for i in 1..panels {
        let _ = writeln!(text, "load L{i}: 10 kN down");
    }
    Layout { text, bars: members.len() + added.len(), removed, added }
}

/// The same girder from a page of loops.
pub fn girder_in_loops(bars: usize) -> Layout {
    let panels = (bars.div_ceil(4)).max(4);
    let half = panels / 2;
    let text = format!(
        "title \"Girder\"\nunits m, kN\nlet n = {panels}\nlet half = {half}\n\
         for i from 0 to n {{\n  joint L[i]: (2*i, 0)\n}}\n\
         for i from 1 to n - 1 {{\n  joint U[i]: (2*i, 2)\n  bar L[i]-U[i]\n  load L[i]: 10 kN down\n}}\n\
         for i from 0 to n - 1 {{\n  bar L[i]-L[i+1]\n}}\n\
         for i from 1 to n - 2 {{\n  bar U[i]-U[i+1]\n}}\n\
         for i from 1 to half - 1 {{\n  bar U[i]-L[i+1]\n}}\n\
         for i from half to n - 2 {{\n  bar L[i]-U[i+1]\n}}\n\
         bar L0-U1, U{last}-L{panels}\npin L0\nroller L{panels}\n",
        last = panels - 1
    );
    Layout { text, bars: 4 * panels - 3, removed: Vec::new(), added: Vec::new() }
}

/// A square sheet of square panels with about so many bars, held by a pin and a
/// roller at two of its corners.
pub fn sheet(bars: usize, bracing: Bracing, faults: Faults, seed: u64) -> Layout {
    let side = (((bars as f64) / 2.0).sqrt() as usize).saturating_sub(1).max(3);
    let mut dice = Dice(seed);
    let mut text = String::with_capacity(bars * 44);
    text.push_str("title \"Sheet\"\nunits m, kN\n");
    let name = |row: usize, column: usize| format!("P{row}_{column}");
    for row in 0..=side {
        for column in 0..=side {
            let _ = writeln!(text, "joint P{row}_{column}: ({column}, {row})");
        }
    }
    let mut members = Vec::with_capacity(2 * side * (side + 2));
    for row in 0..=side {
        for column in 0..=side {
            if column < side {
                members.push(format!("{}-{}", name(row, column), name(row, column + 1)));
            }
            if row < side {
                members.push(format!("{}-{}", name(row, column), name(row + 1, column)));
            }
        }
    }
    let braced = match bracing {
        Bracing::Edges => (0..side).map(|c| (0, c)).chain((1..side).map(|r| (r, 0))).collect(),
        Bracing::Tree => random_tree(side, &mut dice),
    };
    let (mut open, mut twice) = (Vec::new(), Vec::new());
    for (row, column) in braced {
        open.push(members.len());
        members.push(format!("{}-{}", name(row, column), name(row + 1, column + 1)));
        twice.push(format!("{}-{}", name(row, column + 1), name(row + 1, column)));
    }
    let (removed, added) = inject(&mut members, &open, &twice, faults, seed);
    write_members(&mut text, &members, &added);
    let _ = writeln!(text, "pin P0_0\nroller P0_{side}");
    for column in 0..=side {
        let _ = writeln!(text, "load P{side}_{column}: 10 kN down");
    }
    Layout { text, bars: members.len() + added.len(), removed, added }
}

/// Storeys and bays of beams on fixed feet, with about so many beams.
pub fn storeys(beams: usize) -> Layout {
    let bays = (((beams as f64) / 2.0).sqrt() as usize).max(1);
    let storeys = bays;
    let mut text = String::with_capacity(beams * 50);
    text.push_str("title \"Storeys\"\nunits m, kN\nsection post: EA = 2 GN, EI = 60 MN*m^2\nsection floor: EA = 1 GN, EI = 40 MN*m^2\n");
    for storey in 0..=storeys {
        for bay in 0..=bays {
            let _ = writeln!(text, "joint F{storey}_{bay}: ({}, {})", 6 * bay, 4 * storey);
        }
    }
    let mut count = 0;
    for storey in 0..storeys {
        for bay in 0..=bays {
            let _ = writeln!(text, "beam F{storey}_{bay}-F{}_{bay}: post", storey + 1);
            count += 1;
        }
        for bay in 0..bays {
            let _ = writeln!(text, "beam F{0}_{bay}-F{0}_{1}: floor", storey + 1, bay + 1);
            count += 1;
        }
    }
    for bay in 0..=bays {
        let _ = writeln!(text, "fixed F0_{bay}");
    }
    for storey in 1..=storeys {
        for bay in 0..bays {
            let _ = writeln!(text, "load F{storey}_{bay}-F{storey}_{}: 20 kN/m down", bay + 1);
        }
    }
    Layout { text, bars: count, removed: Vec::new(), added: Vec::new() }
}

/// Takes out some of the bars that brace a panel and adds second diagonals to
/// other panels, far apart from each other.
fn inject(
    members: &mut Vec<String>,
    bracing: &[usize],
    second: &[String],
    faults: Faults,
    seed: u64,
) -> (Vec<String>, Vec<String>) {
    let mut dice = Dice(seed ^ 0x5eed);
    let wanted = faults.removed + faults.added;
    let share = bracing.len() / wanted.max(1);
    // One fault in each stretch of panels, so that no two touch.
    let mut places: Vec<usize> = (0..wanted).map(|k| k * share + share / 4 + dice.below((share / 2).max(1))).collect();
    let added: Vec<String> = places.split_off(faults.removed).iter().map(|k| second[*k].clone()).collect();
    let mut gone: Vec<usize> = places.iter().map(|k| bracing[*k]).collect();
    gone.sort_unstable();
    let removed = gone.iter().rev().map(|index| members.remove(*index)).collect();
    (removed, added)
}

fn write_members(text: &mut String, members: &[String], added: &[String]) {
    // Stiffness settles what the added bars make redundant.
    let section = if added.is_empty() { "" } else { ": rod" };
    if !added.is_empty() {
        text.push_str("section rod: EA = 200 MN\n");
    }
    for member in members.iter().chain(added) {
        let _ = writeln!(text, "bar {member}{section}");
    }
}

/// A random tree on rows and columns, as the panels it braces (row, column).
fn random_tree(side: usize, dice: &mut Dice) -> Vec<(usize, usize)> {
    // Rows and columns join the tree in random order, each tied to one that is in it.
    let (mut rows, mut columns) = (vec![dice.below(side)], Vec::new());
    let mut waiting: Vec<(bool, usize)> = (0..side)
        .filter(|row| *row != rows[0])
        .map(|row| (true, row))
        .chain((0..side).map(|column| (false, column)))
        .collect();
    let mut panels = Vec::with_capacity(2 * side);
    while !waiting.is_empty() {
        let at = dice.below(waiting.len());
        let (is_row, index) = waiting[at];
        if is_row && columns.is_empty() {
            continue;
        }
        waiting.swap_remove(at);
        if is_row {
            panels.push((index, columns[dice.below(columns.len())]));
            rows.push(index);
        } else {
            panels.push((rows[dice.below(rows.len())], index));
            columns.push(index);
        }
    }
    panels
}

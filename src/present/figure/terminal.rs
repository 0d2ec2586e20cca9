//! The structure in a terminal: members in the dots of Braille patterns, with
//! names, supports and loads in letters.
//!
//! Must not know: files, which terminal.

use std::collections::BTreeMap;

use anstyle::{AnsiColor, Style};

use crate::base::JointId;
use crate::present::diagnostics::Colour;
use crate::present::text::columns;
use crate::quantity::Dimension;
use crate::structure::{Structure, SupportKind};

use super::loads::{Loads, MemberLoad, quantity};
use super::names::short_name;
use super::plane::{NO_SIZE, size};
use super::sheet::extent;

/// Larger structures are drawn to files only.
pub const MOST_MEMBERS: usize = 400;
/// Rows of the drawing itself.
const MOST_ROWS: i32 = 26;
/// Kept free for words at the sides, in columns, and above and below, in rows.
const SIDE: i32 = 12;
const EDGE: i32 = 3;

/// What a letter on the drawing is for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Role {
    Name,
    Support,
    Load,
}

struct Screen {
    columns: i32,
    rows: i32,
    /// Dots of each cell.
    dots: BTreeMap<(i32, i32), u8>,
    letters: BTreeMap<(i32, i32), (char, Role)>,
}

/// Draws within so many columns; `None` for a structure of no size or one too large.
pub fn write_terminal(structure: &Structure, loads: &Loads, width: usize, colour: Colour) -> Option<String> {
    let [[left, bottom], [right, top]] = extent(structure)?;
    if structure.members.len() > MOST_MEMBERS {
        return None;
    }
    let width = i32::try_from(width).unwrap_or(100);
    let (wide, high) = (right - left, top - bottom);
    let (most_x, most_y) = (f64::from((width - 2 * SIDE).max(8) * 2 - 1), f64::from(MOST_ROWS * 4 - 1));
    let scale = (most_x / wide.max(NO_SIZE)).min(most_y / high.max(NO_SIZE));
    let rows = to_i32(high * scale) / 4 + 1 + 2 * EDGE;
    let columns = to_i32(wide * scale) / 2 + 1 + 2 * SIDE;
    let mut screen = Screen { columns, rows, dots: BTreeMap::new(), letters: BTreeMap::new() };
    let dot = |[x, y]: [f64; 2]| [to_i32((x - left) * scale) + SIDE * 2, to_i32((top - y) * scale) + EDGE * 4];
    let joint_at = |joint: JointId| dot(structure.point(joint));
    for member in &structure.members {
        screen.line(joint_at(member.start), joint_at(member.end));
    }
    for support in &structure.supports {
        let [x, y] = joint_at(support.joint);
        let sign = match support.kind {
            SupportKind::Pin => '△',
            SupportKind::Fixed => '▨',
            SupportKind::Roller => '○',
            SupportKind::Guide => '◫',
            SupportKind::Spring => '⌇',
        };
        // Below, unless a member is there.
        let sides = [(0, 1), (-1, 0), (1, 0), (0, -1)].map(|(across, down)| (x / 2 + across, y / 4 + down));
        let free = sides.into_iter().find(|(column, row)| screen.cost(*column, *row, 1).is_some_and(|cost| cost < 3));
        let (column, row) = free.unwrap_or((x / 2, y / 4 + 1));
        screen.put(column, row, &sign.to_string(), Role::Support);
    }
    let force_words = |force: [f64; 2]| quantity(structure, size(force), Dimension::FORCE);
    let couple_words = |moment: f64| {
        let sense = if moment > 0.0 { '↺' } else { '↻' };
        format!("{sense} {}", quantity(structure, moment, Dimension::MOMENT))
    };
    for load in &loads.joints {
        for force in &load.forces {
            screen.arrow(joint_at(load.joint), *force, &force_words(*force));
        }
        if load.couple != 0.0 {
            screen.near(joint_at(load.joint), &couple_words(load.couple), Role::Load);
        }
    }
    for (member, load) in &loads.members {
        let (m, length) = (&structure.members[*member], structure.member_length(*member));
        let at = |place: f64| between(joint_at(m.start), joint_at(m.end), place / length);
        match *load {
            MemberLoad::Force { at: place, force } => screen.arrow(at(place), force, &force_words(force)),
            MemberLoad::Couple { at: place, moment } => screen.near(at(place), &couple_words(moment), Role::Load),
            MemberLoad::Spread { from, to, ends } => {
                let [start, end] = ends.map(|force| loads.line_load(structure, *member, force));
                let words = if start == end { start } else { format!("{start} to {end}") };
                screen.comb([at(from), at(to)], ends, &words);
            }
        }
    }
    for joint in structure.joints.ids() {
        let name = short_name(structure, joint, 10);
        screen.near(joint_at(joint), &name, Role::Name);
    }
    Some(screen.render(colour))
}

impl Screen {
    fn line(&mut self, [x0, y0]: [i32; 2], [x1, y1]: [i32; 2]) {
        let steps = (x1 - x0).abs().max((y1 - y0).abs()).max(1);
        for step in 0..=steps {
            let [x, y] = between([x0, y0], [x1, y1], f64::from(step) / f64::from(steps));
            // Unicode, chapter 21: dots 1 to 8 of a Braille pattern.
            let bit = match (x.rem_euclid(2), y.rem_euclid(4)) {
                (0, 0) => 0x01,
                (0, 1) => 0x02,
                (0, 2) => 0x04,
                (1, 0) => 0x08,
                (1, 1) => 0x10,
                (1, 2) => 0x20,
                (0, _) => 0x40,
                _ => 0x80,
            };
            *self.dots.entry((y.div_euclid(4), x.div_euclid(2))).or_insert(0) |= bit;
        }
    }

    /// What putting words there would cover: the less the better; `None` off the screen.
    fn cost(&self, column: i32, row: i32, wide: i32) -> Option<i32> {
        if column < 0 || column + wide > self.columns || row < 0 || row >= self.rows {
            return None;
        }
        let cells = column - 1..=column + wide;
        let letters = cells.clone().filter(|column| self.letters.contains_key(&(row, *column))).count();
        let dots = (column..column + wide).filter(|column| self.dots.contains_key(&(row, *column))).count();
        Some(i32::try_from(letters * 40 + dots * 3).unwrap_or(i32::MAX))
    }

    fn put(&mut self, column: i32, row: i32, words: &str, role: Role) {
        let mut at = column;
        for c in words.chars() {
            self.letters.insert((row, at), (c, role));
            at += wide(c);
        }
    }

    /// Puts words near a dot where they cover least.
    fn near(&mut self, [x, y]: [i32; 2], words: &str, role: Role) {
        let wide = width_of(words);
        let (column, row) = (x.div_euclid(2), y.div_euclid(4));
        const ROUND: [(i32, i32); 8] = [(0, -1), (-1, -1), (1, -1), (1, 0), (-1, 0), (1, 1), (-1, 1), (0, 1)];
        let mut best: Option<(i32, i32, i32)> = None;
        for far in 1..=2 {
            for (taste, (across, down)) in (0_i32..).zip(ROUND) {
                let left = match across {
                    0 => column - wide / 2,
                    1 => column + 1,
                    _ => column - wide,
                };
                let row = row + down * far;
                let Some(cost) = self.cost(left, row, wide) else { continue };
                let cost = cost * 10 + taste + 15 * (far - 1);
                if best.is_none_or(|(known, ..)| cost < known) {
                    best = Some((cost, left, row));
                }
            }
        }
        if let Some((_, left, row)) = best {
            self.put(left, row, words, role);
        }
    }

    /// An arrow that arrives at a dot, its value at its tail.
    fn arrow(&mut self, [x, y]: [i32; 2], [fx, fy]: [f64; 2], words: &str) {
        let (sign, [across, down]) = nearest(fx, fy);
        let (column, row) = (x.div_euclid(2) - across, y.div_euclid(4) - down);
        let before = self.letters.contains_key(&(row, column));
        // Beside another, else where it belongs.
        let column = if before { column + 1 } else { column };
        self.put(column, row, &sign.to_string(), Role::Load);
        let wide = width_of(words);
        let (left, above) = match (across, down) {
            (0, _) => (column - wide / 2, row - down),
            (1, 0) => (column - 1 - wide, row),
            (-1, 0) => (column + 2, row),
            (1, _) => (column - wide, row - down),
            _ => (column + 1, row - down),
        };
        match self.cost(left, above, wide) {
            Some(cost) if cost < 40 => self.put(left, above, words, Role::Load),
            _ => self.near([column * 2, row * 4], words, Role::Load),
        }
    }

    /// A row of arrows for a spread load from one dot to another.
    fn comb(&mut self, [p, q]: [[i32; 2]; 2], [start, end]: [[f64; 2]; 2], words: &str) {
        let strong = if size(start) >= size(end) { start } else { end };
        let (sign, [right, down]) = nearest(strong[0], strong[1]);
        let every = ((q[0] - p[0]).abs() / 8).max((q[1] - p[1]).abs() / 8).max(1);
        for step in 0..=every {
            let [x, y] = between(p, q, f64::from(step) / f64::from(every));
            let cell = (y.div_euclid(4) - down, x.div_euclid(2) - right);
            self.letters.entry(cell).or_insert((sign, Role::Load));
        }
        let middle = [i32::midpoint(p[0], q[0]) - right * 4, i32::midpoint(p[1], q[1]) - down * 8];
        self.near(middle, words, Role::Load);
    }

    fn render(&self, colour: Colour) -> String {
        let mut out = String::new();
        let used = |row: i32| {
            let of_row = (row, i32::MIN)..=(row, i32::MAX);
            let dots = self.dots.range(of_row.clone()).next_back().map(|((_, column), _)| *column);
            dots.max(self.letters.range(of_row).next_back().map(|((_, column), _)| *column))
        };
        let rows: Vec<i32> = (0..self.rows).filter(|row| used(*row).is_some()).collect();
        let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return out };
        let left = self.dots.keys().chain(self.letters.keys()).map(|(_, column)| *column).min().unwrap_or(0);
        for row in *first..=*last {
            let mut line = String::new();
            let mut column = left;
            while column <= used(row).unwrap_or(-1) {
                if let Some((c, role)) = self.letters.get(&(row, column)) {
                    line.push_str(&style(*role).map_or(c.to_string(), |style| colour.paint(style, &c.to_string())));
                    column += wide(*c);
                } else {
                    let dots = self.dots.get(&(row, column)).copied().unwrap_or(0);
                    let pattern = char::from_u32(0x2800 + u32::from(dots)).unwrap_or(' ');
                    line.push(if dots == 0 { ' ' } else { pattern });
                    column += 1;
                }
            }
            out.push_str(&format!("  {}\n", line.trim_end()));
        }
        out
    }
}

fn style(role: Role) -> Option<Style> {
    match role {
        Role::Name => Some(Style::new().bold()),
        Role::Load => Some(AnsiColor::Red.on_default()),
        Role::Support => None,
    }
}

/// Cells that a letter takes.
fn wide(c: char) -> i32 {
    i32::try_from(columns(c)).unwrap_or(1).max(1)
}

fn width_of(words: &str) -> i32 {
    i32::try_from(words.chars().map(columns).sum::<usize>()).unwrap_or(i32::MAX)
}

/// The arrow nearest to a direction, and its step in columns and rows.
fn nearest(x: f64, y: f64) -> (char, [i32; 2]) {
    const ARROWS: [(char, [i32; 2]); 8] = [
        ('→', [1, 0]),
        ('↗', [1, -1]),
        ('↑', [0, -1]),
        ('↖', [-1, -1]),
        ('←', [-1, 0]),
        ('↙', [-1, 1]),
        ('↓', [0, 1]),
        ('↘', [1, 1]),
    ];
    let eighth = to_i32(y.atan2(x) / std::f64::consts::FRAC_PI_4).rem_euclid(8);
    usize::try_from(eighth).ok().and_then(|index| ARROWS.get(index)).copied().unwrap_or(('→', [1, 0]))
}

/// The dot at a share of the way from one to another.
fn between([x0, y0]: [i32; 2], [x1, y1]: [i32; 2], share: f64) -> [i32; 2] {
    let part = |from: i32, to: i32| from + to_i32(f64::from(to - from) * share);
    [part(x0, x1), part(y0, y1)]
}

#[allow(clippy::cast_possible_truncation)]
fn to_i32(value: f64) -> i32 {
    value.round().clamp(-1e6, 1e6) as i32
}

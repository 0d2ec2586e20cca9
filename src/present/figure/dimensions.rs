//! Dimension chains below and beside a structure, the scale bar, and the line
//! of notes under a drawing.
//!
//! Must not know: loads, results.

use crate::quantity::{Number, format};

use super::inks::Ink;
use super::picture::{NOTE_SIZE, Place, Stroke, Words};
use super::plane::{Point, along, left_of, reading_turn};
use super::sheet::{Sheet, WIDEST, pen};
use super::symbols::THIN;

/// From the drawing to the first chain, and from chain to chain.
const OFF: f64 = 6.0;
const NEXT: f64 = 6.0;
/// Chains of more pieces than this are left out: the overall length remains.
const MOST_PIECES: usize = 30;

/// Places this near each other on paper, millimetres, are one.
const ONE_PLACE: f64 = 0.02;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Axis {
    X,
    Y,
}

/// Chains along x, below, and along y, to the left: between joints, and to
/// `places` (metres) where loads act between them.
pub fn draw_dimensions(sheet: &mut Sheet<'_>, places: &[Point]) {
    sheet.place_labels();
    let bounds = sheet.bounds();
    chains(sheet, Axis::X, bounds.bottom + OFF, places);
    chains(sheet, Axis::Y, bounds.left - OFF, places);
    sheet.place_labels();
}

/// A place on an axis: on paper, and as stated.
struct Tick {
    paper: f64,
    value: Number,
}

/// A piece of a chain: from and to on paper, in how many equal parts, and its words.
struct Piece {
    from: f64,
    to: f64,
    parts: u32,
    text: String,
}

fn chains(sheet: &mut Sheet<'_>, axis: Axis, line: f64, places: &[Point]) {
    let ticks = ticks(sheet, axis, places);
    let (Some(first), Some(last)) = (ticks.first(), ticks.last()) else { return };
    if ticks.len() < 2 {
        return;
    }
    let whole = Piece { from: first.paper, to: last.paper, parts: 1, text: measure(sheet, &first.value, &last.value) };
    let pieces = pieces(sheet, &ticks);
    // Down the page for x, to the left for y.
    let outward = if axis == Axis::X { 1.0 } else { -1.0 };
    match pieces.as_slice() {
        [only] if only.text == whole.text => draw_chain(sheet, axis, line, &pieces),
        [only] => {
            let text = format!("{} = {}", only.text, whole.text);
            draw_chain(sheet, axis, line, &[Piece { text, ..*only }]);
        }
        many if many.len() > MOST_PIECES => draw_chain(sheet, axis, line, &[whole]),
        _ => {
            draw_chain(sheet, axis, line, &pieces);
            draw_chain(sheet, axis, line + outward * NEXT, &[whole]);
        }
    }
}

/// The different places of joints and loads along an axis, ascending; a joint's
/// stands for a load's beside it.
fn ticks(sheet: &Sheet<'_>, axis: Axis, places: &[Point]) -> Vec<Tick> {
    let mut ticks: Vec<Tick> = sheet
        .joints()
        .map(|joint| {
            let ([x, y], stated) = (sheet.at(joint), &sheet.structure.joints[joint]);
            match axis {
                Axis::X => Tick { paper: x, value: stated.x.clone() },
                Axis::Y => Tick { paper: y, value: stated.y.clone() },
            }
        })
        .collect();
    ticks.sort_by(|a, b| a.paper.total_cmp(&b.paper));
    let of_loads = places.iter().filter_map(|[x, y]| {
        let [paper_x, paper_y] = sheet.on_paper([*x, *y]);
        let (paper, value) = if axis == Axis::X { (paper_x, *x) } else { (paper_y, *y) };
        let after = ticks.get(ticks.partition_point(|tick| tick.paper < paper - ONE_PLACE)..)?;
        let stands_for_it = after.first().is_some_and(|tick| tick.paper <= paper + ONE_PLACE);
        (!stands_for_it).then(|| Tick { paper, value: Number::from_f64(value) })
    });
    let mut of_loads: Vec<Tick> = of_loads.collect();
    ticks.append(&mut of_loads);
    ticks.sort_by(|a, b| a.paper.total_cmp(&b.paper));
    ticks.dedup_by(|a, b| (a.paper - b.paper).abs() < ONE_PLACE);
    ticks
}

fn measure(sheet: &Sheet<'_>, from: &Number, to: &Number) -> String {
    let metres = to.minus(from);
    let metres = if metres.to_f64() < 0.0 { from.minus(to) } else { metres };
    let unit = &sheet.units.length.unit.factor;
    metres.over(unit).map_or_else(String::new, |in_unit| sheet.structure.figures.given(in_unit.to_f64()))
}

/// Equal neighbours, three and more, are one piece: `4 × 6.125`.
fn pieces(sheet: &Sheet<'_>, ticks: &[Tick]) -> Vec<Piece> {
    let mut runs: Vec<Piece> = Vec::new();
    for pair in ticks.windows(2) {
        let [a, b] = pair else { continue };
        let text = measure(sheet, &a.value, &b.value);
        match runs.last_mut() {
            Some(piece) if piece.text == text => {
                piece.parts += 1;
                piece.to = b.paper;
            }
            _ => runs.push(Piece { from: a.paper, to: b.paper, parts: 1, text }),
        }
    }
    let mut pieces = Vec::new();
    for piece in runs {
        if piece.parts < 3 {
            let step = (piece.to - piece.from) / f64::from(piece.parts);
            for part in 0..piece.parts {
                let from = piece.from + step * f64::from(part);
                pieces.push(Piece { from, to: from + step, parts: 1, text: piece.text.clone() });
            }
        } else {
            pieces.push(Piece { text: format!("{} × {}", piece.parts, piece.text), ..piece });
        }
    }
    pieces
}

fn draw_chain(sheet: &mut Sheet<'_>, axis: Axis, line: f64, pieces: &[Piece]) {
    let on = |at: f64| match axis {
        Axis::X => [at, line],
        Axis::Y => [line, at],
    };
    let across: Point = if axis == Axis::X { [0.0, 1.0] } else { [1.0, 0.0] };
    let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else { return };
    sheet.line(on(first.from), on(last.to), pen(Ink::Faint, THIN));
    let ticks = pieces.iter().map(|piece| piece.from).chain([last.to]);
    for tick in ticks {
        let at = on(tick);
        sheet.line(along(at, across, -1.6), along(at, across, 1.0), pen(Ink::Faint, THIN));
        sheet.line([at[0] - 0.7, at[1] + 0.7], [at[0] + 0.7, at[1] - 0.7], pen(Ink::Faint, 0.4));
    }
    for piece in pieces {
        let step = (piece.to - piece.from) / f64::from(piece.parts);
        for part in (1..piece.parts).filter(|_| step.abs() > 1.2) {
            let at = on(piece.from + step * f64::from(part));
            sheet.line(along(at, across, -0.6), along(at, across, 0.6), pen(Ink::Faint, THIN));
        }
    }
    let direction: Point = if axis == Axis::X { [1.0, 0.0] } else { [0.0, -1.0] };
    let turn = reading_turn(direction);
    // Above the line as it is read.
    let up = left_of(direction);
    for piece in pieces {
        let words = Words::new(piece.text.clone(), NOTE_SIZE, Ink::Faint);
        let middle = on(f64::midpoint(piece.from, piece.to));
        let off = NOTE_SIZE / 2.0 + 0.7;
        let place = |side: f64, shift: f64| Place { at: along(along(middle, up, side), direction, shift), turn };
        let mut places = vec![place(off, 0.0)];
        let half = words.width() / 2.0;
        for shift in [0.0, half * 0.5, -half * 0.5, half, -half] {
            places.push(place(-off - 0.4, shift));
        }
        for shift in [0.0, half, -half] {
            places.push(place(-off - 3.0, shift));
        }
        sheet.want(words, middle, places);
    }
}

/// Something said under a drawing.
pub enum Note {
    Words(String),
    /// A piece of line as it is used, and what it means.
    Sample(Vec<Stroke>, String),
}

/// The scale bar and notes, in rows under everything else.
pub fn draw_notes(sheet: &mut Sheet<'_>, notes: &[Note]) {
    const BETWEEN: f64 = 7.0;
    const ROW: f64 = 4.4;
    sheet.place_labels();
    let bounds = sheet.bounds();
    let left = bounds.left;
    let widest = left + bounds.width().clamp(95.0, WIDEST - 8.0);
    let mut at = [left, bounds.bottom + 6.0];
    at[0] = draw_scale_bar(sheet, at) + BETWEEN;
    for note in notes {
        let (text, sample) = match note {
            Note::Words(text) => (text, 0.0),
            Note::Sample(_, text) => (text, 10.0),
        };
        let words = Words::new(text.clone(), NOTE_SIZE, Ink::Faint);
        if at[0] + sample + words.width() > widest && at[0] > left {
            at = [left, at[1] + ROW];
        }
        if let Note::Sample(strokes, _) = note {
            for stroke in strokes {
                sheet.line(at, [at[0] + 8.0, at[1]], *stroke);
            }
            at[0] += sample;
        }
        let width = words.width();
        sheet.write(words, [at[0] + width / 2.0, at[1]]);
        at[0] += width + BETWEEN;
    }
}

/// A bar of a round length between about 20 and 45 mm; gives where it ends.
fn draw_scale_bar(sheet: &mut Sheet<'_>, [x, y]: Point) -> f64 {
    let unit = sheet.units.length.convert(1.0);
    let millimetres_per_unit = sheet.scale / unit;
    let round = round_below(42.0 / millimetres_per_unit);
    let long = round * millimetres_per_unit;
    let (base, half) = (y + 0.9, long / 2.0);
    sheet.line([x, base], [x + long, base], pen(Ink::Faint, THIN));
    let corners = [[x, base - 0.4], [x + half, base - 0.4], [x + half, base], [x, base]];
    sheet.polygon(&corners, None, Some(Ink::Faint));
    for share in [0.0, 0.5, 1.0] {
        sheet.line([x + long * share, base - 0.9], [x + long * share, base + 0.5], pen(Ink::Faint, THIN));
    }
    let text = format!("{} {}", format::trimmed(round, 3), sheet.units.length.symbol);
    let words = Words::new(text, NOTE_SIZE, Ink::Faint);
    let width = words.width();
    sheet.write(words, [x + long + 1.5 + width / 2.0, y]);
    x + long + 1.5 + width
}

/// The largest of 1, 2, 5 times a power of ten not above this.
pub fn round_below(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 1.0;
    }
    let power = 10.0_f64.powf(value.log10().floor());
    let share = value / power;
    let step = if share >= 5.0 {
        5.0
    } else if share >= 2.0 {
        2.0
    } else {
        1.0
    };
    step * power
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scale_bars_are_round() {
        let round = |value: f64| round_below(value);
        assert_eq!([round(4.2), round(0.7), round(19.0), round(5.0)], [2.0, 0.5, 10.0, 5.0]);
    }
}

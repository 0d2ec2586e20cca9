//! The structure as on a drawing, and the free body: supports replaced by what
//! they do.
//!
//! Must not know: how reactions are found.

use crate::base::tolerances::SAME;
use crate::check::words;
use crate::quantity::Dimension;
use crate::statics::{CaseResult, ZERO_SHARE};

use super::arrows::{Arrow, Clear, draw_couple, draw_loads, draw_on_joint, length_for};
use super::dimensions::{Note, draw_dimensions, draw_notes};
use super::inks::Ink;
use super::loads::Loads;
use super::names::{MOST_SUPPORTS_NAMED, name_joints, short_name};
use super::picture::{Need, Picture, Run, VALUE_SIZE, Words};
use super::plane::{size, unit};
use super::sheet::{Order, Room, Sheet, fit};
use super::symbols::{draw_hinges, draw_members, draw_supports};

/// Joints, members, supports, loads and dimensions.
pub fn draw_structure(order: &Order<'_>, loads: &Loads) -> Picture {
    fit(order, &|sheet| {
        draw_members(sheet);
        draw_supports(sheet);
        draw_loads(sheet, loads);
        draw_hinges(sheet);
        name_joints(sheet);
        draw_dimensions(sheet, &loads.places(sheet.structure));
        draw_notes(sheet, &notes(sheet, loads));
    })
}

/// What must be said of the loads and dimensions.
fn notes(sheet: &Sheet<'_>, loads: &Loads) -> Vec<Note> {
    let mut notes = vec![Note::Words(format!("dimensions in {}", sheet.units.length.symbol))];
    let slopes = |[x, y]: &[f64; 2]| x.abs().min(y.abs()) > SAME * size([*x, *y]);
    if loads.joints.iter().flat_map(|load| &load.forces).any(slopes) {
        notes.push(Note::Words("angles from the horizontal".to_owned()));
    }
    notes.extend(loads.notes.iter().take(MOST_NOTES).cloned().map(Note::Words));
    if let Some(more) = loads.notes.len().checked_sub(MOST_NOTES).filter(|more| *more > 0) {
        notes.push(Note::Words(format!("and {more} more settlements, temperature changes and misfits")));
    }
    notes
}

/// Settlements, rises of temperature and misfits that are told on a drawing.
const MOST_NOTES: usize = 40;
/// The free body: loads, and reactions in the directions in which they act.
pub fn draw_free_body(order: &Order<'_>, loads: &Loads, result: &CaseResult) -> Picture {
    fit(order, &|sheet| {
        draw_members(sheet);
        draw_hinges(sheet);
        draw_loads(sheet, loads);
        draw_reactions(sheet, loads, result);
        name_joints(sheet);
        draw_dimensions(sheet, &loads.places(sheet.structure));
        draw_notes(sheet, &notes(sheet, loads));
    })
}

fn draw_reactions(sheet: &mut Sheet<'_>, loads: &Loads, result: &CaseResult) {
    let structure = sheet.structure;
    let largest = result.reactions.iter().map(|reaction| size(reaction.force())).fold(loads.largest_force(), f64::max);
    let noise = ZERO_SHARE * result.largest;
    let crowded = supports_crowd(sheet);
    let sheet_is_full = sheet.room == Room::Little && structure.supports.len() > MOST_SUPPORTS_NAMED;
    for (support, reaction) in structure.supports.iter().zip(&result.reactions) {
        let name = &short_name(structure, support.joint, 12);
        let at = sheet.at(support.joint);
        let words = |letter: &str, index: &str, value: f64, dimension: Dimension| {
            let value = words::quantity(structure, value.abs(), dimension);
            let runs = if crowded {
                // The arrow says which it is.
                vec![Run::base(value)]
            } else {
                vec![Run::base(letter), Run::sub(index), Run::base(format!(" = {value}"))]
            };
            // Of very many reactions only the arrows are drawn.
            let need = if sheet_is_full { Need::IfRoom } else { Need::Always };
            Words { runs, need, ..Words::new("", VALUE_SIZE, Ink::Reaction) }
        };
        // A roller's or guide's force has one line; others are given by their components.
        let one_line = support.held.line.is_some();
        let [fx, fy] = reaction.force();
        let sloping = one_line && fx.abs() > noise && fy.abs() > noise;
        let moment = reaction.m.filter(|moment| moment.abs() > noise * structure.size());
        let clear = if moment.is_some() { Clear::Couple } else { Clear::Joint };
        if sloping {
            let length = length_for(fx.hypot(fy), largest);
            let said = words("R", name, fx.hypot(fy), Dimension::FORCE);
            draw_on_joint(sheet, at, unit([fx, -fy]), length, clear, Arrow::Reaction, said);
        } else {
            for (value, direction, index) in [(fy, [0.0, -fy.signum()], "y"), (fx, [fx.signum(), 0.0], "x")] {
                if value.abs() > noise {
                    let said = words(name, index, value, Dimension::FORCE);
                    draw_on_joint(sheet, at, direction, length_for(value, largest), clear, Arrow::Reaction, said);
                }
            }
        }
        if let Some(moment) = moment {
            draw_couple(sheet, at, moment, Arrow::Reaction, words("M", name, moment, Dimension::MOMENT));
        }
    }
}

/// Whether supports stand too close for the names of their reactions.
fn supports_crowd(sheet: &Sheet<'_>) -> bool {
    const ROOM: f64 = 27.0;
    let places: Vec<_> = sheet.structure.supports.iter().map(|support| sheet.at(support.joint)).collect();
    if places.len() > MOST_SUPPORTS_NAMED {
        return true;
    }
    places.iter().enumerate().any(|(index, [x, y])| {
        places.iter().skip(index + 1).any(|[other_x, other_y]| size([x - other_x, y - other_y]) < ROOM)
    })
}

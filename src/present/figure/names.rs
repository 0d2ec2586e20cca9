//! The names of joints, as many as there is room for.
//!
//! Must not know: what else is drawn.

use crate::base::JointId;
use crate::present::text::{columns, one_line};
use crate::structure::Structure;

use super::inks::Ink;
use super::picture::{NAME_SIZE, Need, Words};
use super::plane::{Point, along, at_angle, dot};
use super::sheet::{Room, Sheet};

/// Joints closer than this, millimetres, are not all named on large drawings.
const CLOSE: f64 = 8.0;
/// Where they stand too close, so many of those that are supported are named.
pub const MOST_SUPPORTS_NAMED: usize = 40;

/// Names of joints: all of them, or as many as there is room for.
pub fn name_joints(sheet: &mut Sheet<'_>) {
    let need = match sheet.room {
        Room::All => Need::Always,
        Room::Some if sheet.closest > CLOSE => Need::IfRoom,
        _ => {
            // Where they stand too close, those that are supported say which end is which.
            for support in sheet.structure.supports.iter().take(MOST_SUPPORTS_NAMED) {
                want_name(sheet, support.joint, Need::IfRoom);
            }
            return;
        }
    };
    for joint in sheet.joints() {
        want_name(sheet, joint, need);
    }
}

/// Names are long from this width on, millimetres.
const LONG_NAME: f64 = 16.0;

/// The name of a joint, in the widest gap between what leaves it.
pub fn want_name(sheet: &mut Sheet<'_>, joint: JointId, need: Need) {
    let name = short_name(sheet.structure, joint, 24);
    let words = Words { need, ..Words::bold(name, NAME_SIZE, Ink::Line) };
    let at = sheet.at(joint);
    let members = sheet.directions(joint);
    let mut places: Vec<(f64, Point)> = Vec::new();
    for step in 0..16_u32 {
        let direction = at_angle((f64::from(step) * 22.5).to_radians());
        let [cos, down] = direction;
        let gap = members.iter().map(|member| dot(*member, direction)).fold(-1.0, f64::max);
        // Above is where a name is looked for first, and left before right.
        let taste = 0.06 * (1.0 + down) + 0.02 * (1.0 + cos) + if step % 2 == 1 { 0.04 } else { 0.0 };
        for (far, cost) in [(1.5, 0.0), (2.6, 0.5), (4.0, 1.0), (6.0, 1.8)] {
            let middle = if words.width() > LONG_NAME {
                // Aslant, a long line would stand half its width above its joint.
                let [x, y] = along(at, direction, far);
                [x + cos * words.width() / 2.0, y + down * words.size / 2.0]
            } else {
                along(at, direction, far + words.reach(direction))
            };
            places.push((gap.max(0.3) + taste + cost, middle));
        }
    }
    places.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    sheet.want(words, at, places.into_iter().map(|(_, place)| place));
}

/// A joint's name in so many columns. A longer one loses its middle: names that
/// begin alike are told by their ends.
pub fn short_name(structure: &Structure, joint: JointId, most: usize) -> String {
    let name = one_line(structure.joint_name(joint), MOST_OF_A_NAME);
    let all: Vec<char> = name.chars().collect();
    if all.iter().map(|c| columns(*c)).sum::<usize>() <= most {
        return name;
    }
    let part = |letters: &mut dyn Iterator<Item = &char>, room: usize| -> Vec<char> {
        let mut wide = 0;
        letters
            .take_while(|c| {
                wide += columns(**c);
                wide <= room
            })
            .copied()
            .collect()
    };
    let room = most.saturating_sub(1);
    let head = part(&mut all.iter(), room - room / 2);
    let tail = part(&mut all.iter().rev(), room / 2);
    head.into_iter().chain(['…']).chain(tail.into_iter().rev()).collect()
}

/// Longer names are cut at their end as well.
const MOST_OF_A_NAME: usize = 2_000;

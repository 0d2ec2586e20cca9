//! How an unstable structure moves: its moving parts a little displaced, the
//! way each joint sets out, the points about which parts turn.
//!
//! Must not know: why it is unstable.

use crate::base::tolerances::SAME;
use crate::base::{IdVec, JointId};
use crate::statics::verdict::{Freedom, SupportFault};
use crate::statics::{Motion, RigidMotion, Verdict};
use crate::structure::Structure;

use super::arrows::{Arrow, draw_arrow};
use super::deflected::around;
use super::dimensions::{Note, draw_notes};
use super::inks::Ink;
use super::names::name_joints;
use super::picture::{Bounds, Picture, VALUE_SIZE, Words};
use super::plane::{Point, along, size, sub};
use super::sheet::{Order, dashed, fit, pen};
use super::symbols::{draw_centre, draw_hinges, draw_supports, member_pen};

/// Motions that are drawn, one under the other.
pub const MOST_DRAWN: usize = 3;

/// How the joints set out, the largest of length 1, and the centres of what turns.
struct Setting {
    displacements: IdVec<JointId, Point>,
    centres: Vec<Point>,
    words: String,
}

/// Draws the motions a verdict knows; `None` where it knows none.
pub fn draw_mechanisms(order: &Order<'_>, verdict: &Verdict) -> Option<Picture> {
    let structure = order.structure;
    let mut settings: Vec<Setting> = whole(structure, verdict.support_fault.as_ref()).into_iter().collect();
    settings.extend(verdict.motions.iter().filter_map(|mechanism| Some(part(structure, mechanism.motion.as_ref()?))));
    settings.truncate(MOST_DRAWN);
    let pictures: Vec<Picture> = settings.iter().map(|setting| draw_setting(order, setting)).collect();
    (!pictures.is_empty()).then(|| Picture::stacked(pictures))
}

/// The motion of the whole on supports that cannot hold it.
fn whole(structure: &Structure, fault: Option<&SupportFault>) -> Option<Setting> {
    let slides = |along: [f64; 2], words: &str| Setting {
        displacements: IdVec::filled(&structure.joints, along),
        centres: Vec::new(),
        words: words.to_owned(),
    };
    let turns = |about: [f64; 2]| {
        let arms: Vec<Point> =
            structure.joints.iter().map(|j| [about[1] - j.y.to_f64(), j.x.to_f64() - about[0]]).collect();
        let largest = arms.iter().map(|arm| size(*arm)).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
        Setting {
            displacements: arms.into_iter().map(|[x, y]| [x / largest, y / largest]).collect(),
            centres: vec![about],
            words: "the structure rotates about the point where its reactions meet".to_owned(),
        }
    };
    Some(match fault? {
        SupportFault::None | SupportFault::TooFew { free: Freedom::All, .. } => slides([0.0, -1.0], "no support"),
        SupportFault::TooFew { free: Freedom::Slides { along }, .. } => slides(*along, "the structure slides"),
        SupportFault::Parallel { direction: [x, y] } => {
            slides([-y, *x], "the structure slides perpendicular to its reactions")
        }
        SupportFault::TooFew { free: Freedom::Turns { about }, .. } => {
            Setting { words: "the structure rotates".to_owned(), ..turns(*about) }
        }
        SupportFault::Concurrent { point, .. } => turns(*point),
    })
}

fn part(structure: &Structure, motion: &Motion) -> Setting {
    let displacements = structure.joints.ids().map(|joint| motion.of(joint)).collect();
    let mut centres: Vec<Point> = Vec::new();
    for part in &motion.parts {
        if let RigidMotion::Turns { about, .. } = part.moves
            && !centres.iter().any(|known| size(sub(*known, about)) < SAME * (1.0 + size(about)))
        {
            centres.push(about);
        }
    }
    Setting { displacements, centres, words: "small motions, exaggerated".to_owned() }
}

fn draw_setting(order: &Order<'_>, setting: &Setting) -> Picture {
    const LONGEST: f64 = 11.0;
    /// Centres farther out than this share of the size are left out.
    const FAR: f64 = 0.6;
    let ([[left, bottom], [right, top]], structure) = (order.extent, order.structure);
    let reach = FAR * order.size();
    let field = Bounds { left: left - reach, top: bottom - reach, right: right + reach, bottom: top + reach };
    let shown: Vec<Point> = setting.centres.iter().copied().filter(|centre| field.holds(*centre)).collect();
    fit(order, &|sheet| {
        let step = |joint: JointId| -> Point {
            let [x, y] = setting.displacements[joint];
            [x * LONGEST, -y * LONGEST]
        };
        for member in sheet.members() {
            let m = &structure.members[member];
            let ([a, b], pen_of) = (sheet.ends(member), member_pen(sheet, member));
            if size(step(m.start)) < 0.05 && size(step(m.end)) < 0.05 {
                sheet.line(a, b, pen_of);
            } else {
                sheet.back_line(a, b, dashed(Ink::Ghost, pen_of.width.min(0.5)));
            }
        }
        draw_supports(sheet);
        for member in sheet.members() {
            let m = &structure.members[member];
            let [a, b] = sheet.ends(member);
            let (u, v) = (step(m.start), step(m.end));
            if size(u) >= 0.05 || size(v) >= 0.05 {
                let width = member_pen(sheet, member).width.max(0.6);
                sheet.line(along(a, u, 1.0), along(b, v, 1.0), pen(Ink::Motion, width));
            }
        }
        draw_hinges(sheet);
        for joint in sheet.joints() {
            let (at, by) = (sheet.at(joint), step(joint));
            if size(by) > 3.0 {
                draw_arrow(sheet, at, along(at, by, 1.0), Arrow::Motion);
            }
        }
        for centre in &shown {
            let at = sheet.on_paper(*centre);
            draw_centre(sheet, at, Ink::Motion);
            if sheet.joints().any(|joint| size(sub(sheet.at(joint), at)) < 0.1) {
                continue;
            }
            let words = Words::new("instantaneous centre", VALUE_SIZE, Ink::Motion);
            let places = around(at, &words);
            sheet.want(words, at, places);
        }
        name_joints(sheet);
        draw_notes(sheet, &notes(setting, shown.len()));
    })
}

fn notes(setting: &Setting, shown: usize) -> Vec<Note> {
    let mut notes = vec![Note::Words(setting.words.clone())];
    if shown > 0 {
        notes.push(Note::Words("circled crosses: centres of rotation".to_owned()));
    }
    if shown < setting.centres.len() {
        notes.push(Note::Words("distant centres of rotation are not shown".to_owned()));
    }
    notes
}

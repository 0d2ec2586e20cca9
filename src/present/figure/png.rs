//! A drawing as PNG, letters and all, on a machine without fonts.
//!
//! Must not know: structures; files.

use tiny_skia::{FillRule, LineCap, LineJoin, Paint, PathBuilder, PathStroker, Pixmap, StrokeDash, Transform};
use ttf_parser::OutlineBuilder;

use super::inks::{Ink, Page};
use super::letters;
use super::picture::{BASE_LINE, Form, Lettering, Mark, Path, Picture, Step, Stroke};

/// Dots a millimetre: 300 an inch.
pub const DOTS: f64 = 300.0 / 25.4;

/// White around letters, against their size.
const HALO: f64 = 0.3;

/// The bytes of a PNG file; `None` for a drawing of no size, or one beyond memory.
pub fn write_png(picture: &Picture, page: Page) -> Option<Vec<u8>> {
    let dots = |millimetres: f64| to_u32((millimetres * DOTS).ceil());
    let mut pixmap = Pixmap::new(dots(picture.width)?, dots(picture.height)?)?;
    pixmap.fill(paint(Ink::Paper, page).0);
    let scale = Transform::from_scale(to_f32(DOTS), to_f32(DOTS));
    for mark in &picture.marks {
        match mark {
            Mark::Path(path) => draw_path(&mut pixmap, path, page, scale),
            Mark::Lettering(lettering) => draw_lettering(&mut pixmap, lettering, page, scale),
        }
    }
    pixmap.encode_png().ok()
}

fn paint(ink: Ink, page: Page) -> (tiny_skia::Color, Paint<'static>) {
    let [r, g, b] = ink.rgb(page);
    let color = tiny_skia::Color::from_rgba8(r, g, b, 255);
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color(color);
    (color, paint)
}

fn draw_path(pixmap: &mut Pixmap, path: &Path, page: Page, scale: Transform) {
    let mut builder = PathBuilder::new();
    let at = |[x, y]: [f64; 2]| (to_f32(x), to_f32(y));
    for step in &path.steps {
        match *step {
            Step::Move(to) => builder.move_to(at(to).0, at(to).1),
            Step::Line(to) => builder.line_to(at(to).0, at(to).1),
            Step::Curve(a, b, to) => builder.cubic_to(at(a).0, at(a).1, at(b).0, at(b).1, at(to).0, at(to).1),
            Step::Close => builder.close(),
        }
    }
    let Some(outline) = builder.finish() else { return };
    if let Some(ink) = path.fill {
        pixmap.fill_path(&outline, &paint(ink, page).1, FillRule::Winding, scale, None);
    }
    if let Some(Stroke { ink, width, form }) = path.stroke {
        let dashes: Vec<f32> = form.dashes().iter().map(|length| to_f32(*length)).collect();
        let stroke = tiny_skia::Stroke {
            width: to_f32(width),
            line_cap: if form == Form::Solid { LineCap::Round } else { LineCap::Butt },
            line_join: LineJoin::Round,
            dash: if dashes.is_empty() { None } else { StrokeDash::new(dashes, 0.0) },
            ..tiny_skia::Stroke::default()
        };
        pixmap.stroke_path(&outline, &paint(ink, page).1, &stroke, scale, None);
    }
}

fn draw_lettering(pixmap: &mut Pixmap, lettering: &Lettering, page: Page, scale: Transform) {
    let Lettering { at: [x, y], turn, size, weight, .. } = *lettering;
    let Some(face) = letters::face(weight) else { return };
    let mut outlines = PathBuilder::new();
    for (run, mut left, own, drop) in lettering.laid_out(0.0) {
        for c in run.text.chars().map(crate::base::visible) {
            let unit = to_f32(own / f64::from(face.units_per_em()));
            let place = Transform::from_row(unit, 0.0, 0.0, -unit, to_f32(left), to_f32(BASE_LINE * size + drop));
            let mut glyph = Glyph(PathBuilder::new());
            let wide = letters::advance(c, weight) * own;
            match letters::glyph(c, weight) {
                // Whether it has an outline (a space has none) makes no difference.
                Some(id) => _ = face.outline_glyph(id, &mut glyph),
                // A letter the face lacks is a box, as is the custom.
                None => glyph.hollow(wide / own * f64::from(face.units_per_em())),
            }
            if let Some(outline) = glyph.0.finish().and_then(|outline| outline.transform(place)) {
                outlines.push_path(&outline);
            }
            left += wide;
        }
    }
    let Some(outlines) = outlines.finish() else { return };
    let place = scale.pre_translate(to_f32(x), to_f32(y)).pre_rotate(to_f32(turn));
    let halo =
        tiny_skia::Stroke { width: to_f32(HALO * size), line_join: LineJoin::Round, ..tiny_skia::Stroke::default() };
    if let Some(around) = PathStroker::new().stroke(&outlines, &halo, to_f32(DOTS)) {
        pixmap.fill_path(&around, &paint(Ink::Paper, page).1, FillRule::Winding, place, None);
    }
    pixmap.fill_path(&outlines, &paint(lettering.ink, page).1, FillRule::Winding, place, None);
}

/// The outline of a letter in the units of its face.
struct Glyph(PathBuilder);

impl Glyph {
    fn hollow(&mut self, wide: f64) {
        let (wide, high) = (to_f32(wide), 1400.0);
        for (inset, clockwise) in [(100.0, true), (220.0, false)] {
            let mut corners =
                [(inset, inset), (inset, high - inset), (wide - inset, high - inset), (wide - inset, inset)];
            if !clockwise {
                corners.reverse();
            }
            for (index, (x, y)) in corners.into_iter().enumerate() {
                if index == 0 { self.move_to(x, y) } else { self.line_to(x, y) }
            }
            self.close();
        }
    }
}

impl OutlineBuilder for Glyph {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to(x, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to(x, y);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.0.quad_to(x1, y1, x, y);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.0.cubic_to(x1, y1, x2, y2, x, y);
    }

    fn close(&mut self) {
        self.0.close();
    }
}

#[allow(clippy::cast_possible_truncation)]
const fn to_f32(value: f64) -> f32 {
    value as f32
}

/// Dots along a side, up to what a drawing on paper can ask for.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn to_u32(value: f64) -> Option<u32> {
    const MOST: f64 = 20_000.0;
    (1.0..=MOST).contains(&value).then_some(value as u32)
}

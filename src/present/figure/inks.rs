//! The inks of the drawings, chosen so that what must be told apart stays
//! apart for colour-blind eyes, on a dark page and in grey print. Nothing rests
//! on colour alone: see the line forms where the marks are drawn.
//!
//! Must not know: what is drawn.

/// A colour by what it is used for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Ink {
    Paper,
    /// The structure, and lettering.
    Line,
    /// Dimensions, notes, hatching.
    Faint,
    /// The structure behind what is shown on it.
    Ghost,
    Load,
    Reaction,
    Tension,
    Compression,
    /// Outlines of diagrams.
    Diagram,
    /// Areas of diagrams.
    Tint,
    /// What moves.
    Motion,
}

/// The page a drawing stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Page {
    Light,
    Dark,
}

impl Ink {
    pub const ALL: [Ink; 11] = [
        Ink::Paper,
        Ink::Line,
        Ink::Faint,
        Ink::Ghost,
        Ink::Load,
        Ink::Reaction,
        Ink::Tension,
        Ink::Compression,
        Ink::Diagram,
        Ink::Tint,
        Ink::Motion,
    ];

    /// The word its class and its CSS property are named by (`--kp-tension`),
    /// and its red, green and blue on a light page and on a dark one.
    const fn look(self) -> (&'static str, [u8; 3], [u8; 3]) {
        match self {
            Ink::Paper => ("paper", [255, 255, 255], [22, 26, 31]),
            Ink::Line => ("line", [27, 34, 41], [231, 235, 239]),
            Ink::Faint => ("faint", [99, 110, 120], [150, 161, 172]),
            Ink::Ghost => ("ghost", [176, 186, 195], [82, 92, 103]),
            Ink::Load => ("load", [200, 26, 44], [255, 120, 112]),
            Ink::Reaction => ("reaction", [0, 118, 150], [64, 172, 222]),
            Ink::Tension => ("tension", [22, 72, 148], [110, 170, 255]),
            Ink::Compression => ("compression", [191, 86, 0], [255, 183, 77]),
            Ink::Diagram => ("diagram", [22, 72, 148], [110, 170, 255]),
            Ink::Tint => ("tint", [222, 232, 246], [34, 50, 74]),
            Ink::Motion => ("motion", [200, 26, 44], [255, 120, 112]),
        }
    }

    pub const fn word(self) -> &'static str {
        self.look().0
    }

    /// Red, green, blue.
    pub const fn rgb(self, page: Page) -> [u8; 3] {
        let (_, light, dark) = self.look();
        if matches!(page, Page::Light) { light } else { dark }
    }

    /// `#164894`
    pub fn hex(self, page: Page) -> String {
        let [r, g, b] = self.rgb(page);
        format!("#{r:02x}{g:02x}{b:02x}")
    }
}

/// `--kp-line:#1b2229;…`: the inks as CSS properties, for a page that holds
/// drawings. A drawing without them is inked for a light page.
pub fn css_properties(page: Page) -> String {
    Ink::ALL.iter().map(|ink| format!("--kp-{}:{};", ink.word(), ink.hex(page))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn linear(channel: u8) -> f64 {
        // IEC 61966-2-1 (sRGB).
        let share = f64::from(channel) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    }

    fn luminance([r, g, b]: [f64; 3]) -> f64 {
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    fn contrast(a: Ink, b: Ink, page: Page) -> f64 {
        let light = |ink: Ink| luminance(ink.rgb(page).map(linear)) + 0.05;
        let (a, b) = (light(a), light(b));
        a.max(b) / a.min(b)
    }

    /// CIE 1976 L*a*b*, white of D65.
    fn lab(rgb: [f64; 3]) -> [f64; 3] {
        let row = |[a, b, c]: [f64; 3]| a * rgb[0] + b * rgb[1] + c * rgb[2];
        let xyz = [
            row([0.4124, 0.3576, 0.1805]) / 0.9505,
            row([0.2126, 0.7152, 0.0722]),
            row([0.0193, 0.1192, 0.9505]) / 1.089,
        ];
        let [x, y, z] = xyz.map(|t| {
            if t > (6.0_f64 / 29.0).powi(3) { t.cbrt() } else { t / (3.0 * (6.0_f64 / 29.0).powi(2)) + 4.0 / 29.0 }
        });
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    /// Full protanopia, deuteranopia and tritanopia in linear RGB: Machado,
    /// Oliveira, Fernandes, IEEE Trans. Visualization 15 (2009) 1291, table 1.
    /// The figures are from memory.
    const DEFICIENCIES: [(&str, [[f64; 3]; 3]); 4] = [
        ("none", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
        (
            "protanopia",
            [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
        ),
        (
            "deuteranopia",
            [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
        ),
        (
            "tritanopia",
            [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
        ),
    ];

    fn seen(ink: Ink, page: Page, [r, g, b]: [[f64; 3]; 3]) -> [f64; 3] {
        let rgb = ink.rgb(page).map(linear);
        let row = |[a, b, c]: [f64; 3]| (a * rgb[0] + b * rgb[1] + c * rgb[2]).clamp(0.0, 1.0);
        lab([row(r), row(g), row(b)])
    }

    /// Inks that carry a meaning against each other on one drawing.
    const APART: [(Ink, Ink); 5] = [
        (Ink::Tension, Ink::Compression),
        (Ink::Load, Ink::Reaction),
        (Ink::Load, Ink::Line),
        (Ink::Reaction, Ink::Line),
        (Ink::Motion, Ink::Ghost),
    ];

    #[test]
    fn what_must_be_told_apart_is_apart_for_every_eye() {
        for page in [Page::Light, Page::Dark] {
            for (a, b) in APART {
                for (name, matrix) in DEFICIENCIES {
                    let (p, q) = (seen(a, page, matrix), seen(b, page, matrix));
                    let distance = p.iter().zip(q).map(|(p, q)| (p - q).powi(2)).sum::<f64>().sqrt();
                    // More than ten times what is just noticed (about 2.3).
                    assert!(distance > 25.0, "{a:?} and {b:?} on {page:?}, {name}: {distance:.1}");
                }
            }
        }
    }

    #[test]
    fn tension_and_compression_differ_in_grey() {
        for page in [Page::Light, Page::Dark] {
            let grey = |ink: Ink| lab([luminance(ink.rgb(page).map(linear)); 3])[0];
            let difference = (grey(Ink::Tension) - grey(Ink::Compression)).abs();
            assert!(difference > 10.0, "{page:?}: {difference:.1} of L*");
        }
    }

    #[test]
    fn every_ink_stands_out_from_its_paper() {
        for page in [Page::Light, Page::Dark] {
            for ink in Ink::ALL {
                // WCAG 2.1: 4.5 for text, 3 for graphics; the ghost and tints are backdrops.
                let least = match ink {
                    Ink::Paper | Ink::Tint => continue,
                    Ink::Ghost => 1.6,
                    Ink::Line | Ink::Faint | Ink::Load | Ink::Reaction => 4.5,
                    _ => 4.0,
                };
                let ratio = contrast(ink, Ink::Paper, page);
                assert!(ratio >= least, "{ink:?} on {page:?}: {ratio:.2}");
            }
        }
    }
}

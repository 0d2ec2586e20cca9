//! Axial force, shear, bending moment and displacement along a member, in closed
//! form from one load to the next.
//!
//! Signs: axial positive in tension; moment positive with tension on the
//! right-hand side looking along the member (sagging, for one named left to
//! right); shear is the moment's slope. The formulae are those of statics:
//! `dN/dx = -q`, `dV/dx = w` (w to the left), `dM/dx = V`, `v'' = M/EI`, `u' = N/EA`.
//!
//! Must not know: how end forces were found.

use super::polynomial;
use super::spans::SpanLoad;
use crate::base::tolerances::ROUNDED;
pub use crate::structure::Inside as Quantity;

/// A stretch of a member on which no load begins or ends. Coefficients of
/// powers of the distance from `from`.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Metres from the member's first-named joint.
    pub from: f64,
    pub to: f64,
    /// Newtons.
    pub axial: [f64; 3],
    pub shear: [f64; 3],
    /// Newton-metres.
    pub moment: [f64; 4],
}

/// A member's internal forces.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Diagram {
    pub stretches: Vec<Stretch>,
    /// The moment at the far end, as the equations have it: adding the loads
    /// up to there would give it with rounding, and a hinge none exactly.
    far_moment: f64,
}

/// The forces on a section.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Section {
    pub axial: f64,
    pub shear: f64,
    pub moment: f64,
}

/// Which of the values at a jump.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    Before,
    After,
}

/// A largest or smallest value and where it is first met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extreme {
    pub value: f64,
    /// Metres from the member's first-named joint.
    pub at: f64,
}

impl Diagram {
    /// From a member's length, its mean axial force, its end moments and the
    /// loads on it.
    pub fn of(length: f64, axial: f64, [start, end]: [f64; 2], loads: &[SpanLoad]) -> Diagram {
        let mut breaks = vec![0.0, length];
        for load in loads {
            match *load {
                SpanLoad::Spread { from, to, .. } => breaks.extend([from, to]),
                SpanLoad::Point { at, .. } | SpanLoad::Couple { at, .. } => breaks.push(at),
            }
        }
        breaks.retain(|at| (0.0..=length).contains(at));
        breaks.sort_by(f64::total_cmp);
        // A share of the length and a length may name one place and differ by a bit.
        breaks.dedup_by(|a, b| (*a - *b).abs() <= ROUNDED * length);
        let mut section = Section { axial, shear: (end - start) / length, moment: start };
        for load in loads {
            let [[along, across], _] = load.shares(length);
            section.axial += along;
            section.shear -= across;
        }
        let mut stretches = Vec::new();
        for pair in breaks.windows(2) {
            let [from, to] = *pair else { continue };
            jump(&mut section, loads, from, from == 0.0, length);
            let mut rates = [0.0; 4];
            for load in loads {
                add_rates(&mut rates, load, from, to);
            }
            let [q0, q1, w0, w1] = rates;
            let Section { axial, shear, moment } = section;
            let stretch = Stretch {
                from,
                to,
                axial: [axial, -q0, -q1 / 2.0],
                shear: [shear, w0, w1 / 2.0],
                moment: [moment, shear, w0 / 2.0, w1 / 6.0],
            };
            section = stretch.at(to - from);
            stretches.push(stretch);
        }
        // A couple at the very end acts just inside it: short of it the moment is another.
        let is_turned =
            |load: &SpanLoad| matches!(load, SpanLoad::Couple { at, .. } if *at >= length * (1.0 - ROUNDED));
        let far_moment = if loads.iter().any(is_turned) { section.moment } else { end };
        Diagram { stretches, far_moment }
    }

    pub fn length(&self) -> f64 {
        self.stretches.last().map_or(0.0, |stretch| stretch.to)
    }

    pub fn start(&self) -> Section {
        self.stretches.first().map_or_else(Section::default, |stretch| stretch.at(0.0))
    }

    pub fn end(&self) -> Section {
        let last = self.stretches.last();
        let section = last.map_or_else(Section::default, |stretch| stretch.at(stretch.to - stretch.from));
        Section { moment: self.far_moment, ..section }
    }

    /// The section at a place; at a jump, on one side of it.
    pub fn at(&self, place: f64, side: Side) -> Section {
        let near = ROUNDED * self.length();
        let on = |stretch: &&Stretch| match side {
            Side::Before => place <= stretch.to + near,
            Side::After => place < stretch.to - near,
        };
        let stretch = self.stretches.iter().find(on).or(self.stretches.last());
        stretch.map_or_else(Section::default, |stretch| {
            stretch.at((place - stretch.from).clamp(0.0, stretch.to - stretch.from))
        })
    }

    /// The largest and the smallest value of a quantity.
    pub fn extremes(&self, quantity: Quantity) -> [Extreme; 2] {
        let mut most = Extreme { value: f64::NEG_INFINITY, at: 0.0 };
        let mut least = Extreme { value: f64::INFINITY, at: 0.0 };
        for stretch in &self.stretches {
            let end = stretch.to - stretch.from;
            let curve = stretch.curve(quantity);
            for t in polynomial::turning_points(curve, end) {
                let at = stretch.from + t;
                let is_far_moment = quantity == Quantity::Moment && t == end && at == self.length();
                let value = if is_far_moment { self.far_moment } else { polynomial::value(curve, t) };
                if value > most.value {
                    most = Extreme { value, at };
                }
                if value < least.value {
                    least = Extreme { value, at };
                }
            }
        }
        [most, least]
    }

    /// `∫ M (1 - x/L) dx` and `∫ M x/L dx`, newton square metres: the turns of
    /// the two ends against the chord, times EI.
    pub fn end_turns(&self) -> [f64; 2] {
        let length = self.length();
        let (mut start, mut end) = (0.0, 0.0);
        for stretch in &self.stretches {
            let span = stretch.to - stretch.from;
            // x/L as a polynomial of the distance from the stretch's start.
            let share = [stretch.from / length, 1.0 / length];
            let whole = polynomial::value(&polynomial::integral(&stretch.moment, 0.0), span);
            let weighted = polynomial::product(&stretch.moment, &share);
            let far = polynomial::value(&polynomial::integral(&weighted, 0.0), span);
            end += far;
            start += whole - far;
        }
        [start, end]
    }

    /// The displacements along and across the member, metres, from those of its
    /// two ends; `axial` is 1/EA, `bending` 1/EI, zero for a rigid member.
    ///
    /// What lengthens it besides its axial force, heat or a misfit, is whatever
    /// the ends show beyond that, spread evenly: `u' = N/EA + ε0`, `v'' = M/EI`.
    pub fn deflection(&self, [start, end]: [[f64; 2]; 2], [axial, bending]: [f64; 2]) -> Vec<Deflection> {
        let length = self.length();
        let mut curves: Vec<Deflection> = Vec::new();
        // First as if the start stayed where it is and did not turn, then with
        // the lengthening and the turn that meet the end.
        let (mut slope, mut sag, mut stretched) = (0.0, 0.0, 0.0);
        for stretch in &self.stretches {
            let strain = stretch.axial.map(|force| force * axial);
            let along = polynomial::integral(&strain, stretched);
            let curvature: Vec<f64> = stretch.moment.iter().map(|moment| moment * bending).collect();
            let turn = polynomial::integral(&curvature, slope);
            let across = polynomial::integral(&turn, sag);
            let span = stretch.to - stretch.from;
            stretched = polynomial::value(&along, span);
            (slope, sag) = (polynomial::value(&turn, span), polynomial::value(&across, span));
            curves.push(Deflection { from: stretch.from, to: stretch.to, along, across });
        }
        let add = |curve: &mut [f64], start: f64, rate: f64, from: f64| {
            if let [constant, linear, ..] = curve {
                *constant += start + rate * from;
                *linear += rate;
            }
        };
        let (even, turn) = ((end[0] - start[0] - stretched) / length, (end[1] - start[1] - sag) / length);
        for Deflection { from, along, across, .. } in &mut curves {
            add(along, start[0], even, *from);
            add(across, start[1], turn, *from);
        }
        curves
    }
}

/// Displacement of a member along one stretch: coefficients of powers of the
/// distance from `from`, metres.
#[derive(Clone, Debug, PartialEq)]
pub struct Deflection {
    pub from: f64,
    pub to: f64,
    /// Towards its other joint.
    pub along: Vec<f64>,
    /// To the left of it.
    pub across: Vec<f64>,
}

impl Deflection {
    /// Along and across.
    fn at(&self, t: f64) -> [f64; 2] {
        [polynomial::value(&self.along, t), polynomial::value(&self.across, t)]
    }
}

/// The displacement of a place, along and across; without curves none.
pub fn displacement(curves: &[Deflection], place: f64) -> [f64; 2] {
    let near = ROUNDED * curves.last().map_or(0.0, |last| last.to);
    let curve = curves.iter().find(|curve| place <= curve.to + near).or(curves.last());
    curve.map_or([0.0; 2], |curve| curve.at(place - curve.from))
}

/// The largest and the smallest displacement in a direction, along and across.
pub fn extremes_towards(curves: &[Deflection], direction: [f64; 2]) -> [Extreme; 2] {
    let mut most = Extreme { value: f64::NEG_INFINITY, at: 0.0 };
    let mut least = Extreme { value: f64::INFINITY, at: 0.0 };
    for here in turning_points(curves, direction) {
        if here.value > most.value {
            most = here;
        }
        if here.value < least.value {
            least = here;
        }
    }
    [most, least]
}

/// Where the displacement in a direction may be largest or smallest.
fn turning_points(curves: &[Deflection], [c, s]: [f64; 2]) -> impl Iterator<Item = Extreme> {
    curves.iter().flat_map(move |curve| {
        let part = polynomial::sum(&curve.along, c, &curve.across, s);
        let points = polynomial::turning_points(&part, curve.to - curve.from);
        points.into_iter().map(move |t| Extreme { value: polynomial::value(&part, t), at: curve.from + t })
    })
}

/// The place that moves farthest, whichever way, and how far.
pub fn farthest(curves: &[Deflection]) -> Extreme {
    let mut farthest = Extreme { value: 0.0, at: 0.0 };
    for curve in curves {
        // Half the slope of the square.
        let [u, v] = [&curve.along, &curve.across].map(|part| polynomial::product(part, &polynomial::derivative(part)));
        let end = curve.to - curve.from;
        let slope = polynomial::sum(&u, 1.0, &v, 1.0);
        for t in std::iter::once(0.0).chain(polynomial::roots(&slope, end)).chain([end]) {
            let [along, across] = curve.at(t);
            let value = along.hypot(across);
            if value > farthest.value {
                farthest = Extreme { value, at: curve.from + t };
            }
        }
    }
    farthest
}

/// The displacement across of largest size along all stretches, and where.
pub fn largest_deflection(curves: &[Deflection]) -> Extreme {
    turning_points(curves, [0.0, 1.0]).fold(Extreme { value: 0.0, at: 0.0 }, |largest, here| {
        if here.value.abs() > largest.value.abs() { here } else { largest }
    })
}

impl Section {
    pub const fn of(&self, quantity: Quantity) -> f64 {
        match quantity {
            Quantity::Axial => self.axial,
            Quantity::Shear => self.shear,
            Quantity::Moment => self.moment,
        }
    }
}

impl Stretch {
    /// Coefficients of powers of the distance from the stretch's start.
    pub const fn curve(&self, quantity: Quantity) -> &[f64] {
        match quantity {
            Quantity::Axial => &self.axial,
            Quantity::Shear => &self.shear,
            Quantity::Moment => &self.moment,
        }
    }

    /// The section this far from the stretch's start.
    pub fn at(&self, t: f64) -> Section {
        Section {
            axial: polynomial::value(&self.axial, t),
            shear: polynomial::value(&self.shear, t),
            moment: polynomial::value(&self.moment, t),
        }
    }
}

/// Point loads and couples at a place. Those at the very ends of the member
/// act just inside it.
fn jump(section: &mut Section, loads: &[SpanLoad], place: f64, is_start: bool, length: f64) {
    let here = |at: f64| (at - place).abs() <= ROUNDED * length || (is_start && at < 0.0);
    for load in loads {
        match *load {
            SpanLoad::Point { at, along, across } if here(at) => {
                section.axial -= along;
                section.shear += across;
            }
            SpanLoad::Couple { at, moment } if here(at) => section.moment -= moment,
            _ => {}
        }
    }
}

/// Adds a spread load's intensity at a stretch's start and its slope, along
/// and across.
fn add_rates(rates: &mut [f64; 4], load: &SpanLoad, start: f64, end: f64) {
    let (from, to, [a0, a1], [c0, c1]) = match *load {
        SpanLoad::Spread { from, to, along, across } => (from, to, along, across),
        // They jump, see [`jump`].
        SpanLoad::Point { .. } | SpanLoad::Couple { .. } => return,
    };
    let middle = start + (end - start) / 2.0;
    if middle <= from || middle >= to {
        return;
    }
    let span = to - from;
    let [q0, q1, w0, w1] = rates;
    let slope = |a: f64, b: f64| (b - a) / span;
    *q0 += a0 + slope(a0, a1) * (start - from);
    *q1 += slope(a0, a1);
    *w0 += c0 + slope(c0, c1) * (start - from);
    *w1 += slope(c0, c1);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_simple_span_under_a_uniform_load() {
        let load = SpanLoad::Spread { from: 0.0, to: 4.0, along: [0.0; 2], across: [-2.0; 2] };
        let diagram = Diagram::of(4.0, 0.0, [0.0; 2], &[load]);
        let [most, least] = diagram.extremes(Quantity::Moment);
        // wL²/8, common practice.
        assert!((most.value - 4.0).abs() < 1e-14 && (most.at - 2.0).abs() < 1e-14);
        assert!(least.value.abs() < 1e-14);
        assert!((diagram.start().shear - 4.0).abs() < 1e-14);
        let curves = diagram.deflection([[0.0; 2]; 2], [0.0, 1.0 / 3.0]);
        let sag = largest_deflection(&curves);
        assert!((sag.value + 5.0 * 2.0 * 4.0_f64.powi(4) / (384.0 * 3.0)).abs() < 1e-13);
    }

    #[test]
    fn a_couple_jumps_down_and_a_point_load_breaks_the_shear() {
        let loads = [SpanLoad::Couple { at: 1.0, moment: 3.0 }, SpanLoad::Point { at: 2.0, along: 0.0, across: -6.0 }];
        let diagram = Diagram::of(3.0, 0.0, [0.0; 2], &loads);
        let jump = diagram.at(1.0, Side::After).moment - diagram.at(1.0, Side::Before).moment;
        assert!((jump + 3.0).abs() < 1e-14);
        let jump = diagram.at(2.0, Side::After).shear - diagram.at(2.0, Side::Before).shear;
        assert!((jump + 6.0).abs() < 1e-14);
    }

    #[test]
    fn a_hinged_end_has_no_moment_at_all() {
        // Added up over the beam, these loads leave rounding at the far end.
        let loads = [
            SpanLoad::Spread { from: 0.0, to: 5.1, along: [0.3; 2], across: [-2.7, -0.1] },
            SpanLoad::Point { at: 1.7, along: 0.0, across: -6.1 },
        ];
        let diagram = Diagram::of(5.1, 0.0, [-7.3, 0.0], &loads);
        let added = diagram.stretches.last().map_or(0.0, |last| last.at(last.to - last.from).moment);
        assert!(added != 0.0 && added.abs() < 1e-12, "{added}");
        assert_eq!(diagram.end().moment, 0.0);
        let [most, _] = diagram.extremes(Quantity::Moment);
        assert!(most.value >= 0.0);
        // A couple at the very end acts before it.
        let diagram = Diagram::of(2.0, 0.0, [0.0; 2], &[SpanLoad::Couple { at: 2.0, moment: 3.0 }]);
        assert!((diagram.end().moment - 3.0).abs() < 1e-14);
    }
}

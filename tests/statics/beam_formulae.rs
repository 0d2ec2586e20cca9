//! Closed formulae for beams, as the tables of the trade print them, against
//! what the program computes: `tests/data/beam_formulae.json` names the source
//! of every formula beside it. Each beam is solved for the sample of the data
//! and for seeded sweeps of its loads, lengths and stiffness, in metres and
//! kilonewtons and in feet and kips.

use crate::support::solved;

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::Deserialize;
use serde_json::Value;

use solved::{Solved, extreme, find, solve};

#[derive(Deserialize)]
struct Data {
    sample: Parameters,
    cases: Vec<Beam>,
}

/// One beam of the tables.
#[derive(Deserialize)]
struct Beam {
    id: String,
    sources: Vec<String>,
    structure: Vec<String>,
    formulae: BTreeMap<String, Formula>,
}

#[derive(Deserialize)]
struct Formula {
    joint: Option<String>,
    member: Option<String>,
    quantity: String,
    formula: String,
    /// At the sample, in m, kN, kN·m and rad.
    value: f64,
    /// Relative; covers printed coefficients that are rounded.
    tolerance: f64,
}

/// Loads, lengths and stiffness in some system of units.
#[derive(Clone, Copy, Deserialize)]
#[allow(non_snake_case)]
struct Parameters {
    w: f64,
    P: f64,
    L: f64,
    a: f64,
    b: f64,
    M0: f64,
    EI: f64,
}

/// The units of a file, in metres and newtons.
struct Units {
    length: (&'static str, f64),
    force: (&'static str, f64),
}

const METRIC: Units = Units { length: ("m", 1.0), force: ("kN", 1e3) };
/// The international foot and the pound-force of 1959, exact by definition.
const CUSTOMARY: Units = Units { length: ("ft", 0.3048), force: ("kip", 4_448.221_615_260_5) };

impl Parameters {
    fn read(&self, name: &str) -> Option<f64> {
        Some(match name {
            "w" => self.w,
            "P" => self.P,
            "L" => self.L,
            "a" => self.a,
            "b" => self.b,
            "M0" => self.M0,
            "EI" => self.EI,
            _ => return None,
        })
    }

    fn in_si(&self, units: &Units) -> Parameters {
        let ((_, length), (_, force)) = (units.length, units.force);
        Parameters {
            w: self.w * force / length,
            P: self.P * force,
            L: self.L * length,
            a: self.a * length,
            b: self.b * length,
            M0: self.M0 * force * length,
            EI: self.EI * force * length * length,
        }
    }

    /// The statements that state them.
    fn head(&self, units: &Units) -> String {
        let ((m, _), (n, _)) = (units.length, units.force);
        let Parameters { w, P, L, a, b, M0, EI } = self;
        format!(
            "units {m}, {n}\nallow unused-let\nlet w = {w} {n}/{m}\nlet P = {P} {n}\nlet L = {L} {m}\n\
             let a = {a} {m}\nlet b = {b} {m}\nlet M0 = {M0} {n}*{m}\n\
             section prismatic: EI = {EI} {n}*{m}^2, EA = {} {n}\n",
            700.0 * P
        )
    }

    /// Seeded; rounded to figures a drawing could have. The tables' cases of
    /// two symmetric loads and of the deepest point want a below half the span.
    fn sweep(count: usize) -> Vec<Parameters> {
        let mut state = 0x5eed_u64;
        let mut share = move || {
            // A linear congruential generator, common practice.
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            #[allow(clippy::cast_precision_loss)]
            let share = (state >> 11) as f64 / (1_u64 << 53) as f64;
            share
        };
        let mut drawn = move |low: f64, high: f64| ((low + (high - low) * share()) * 1000.0).round() / 1000.0;
        let mut list = Vec::new();
        for _ in 0..count {
            let span = drawn(0.4, 60.0);
            let a = (span * drawn(0.04, 0.48) * 1000.0).round() / 1000.0;
            let b = ((span - a) * 1000.0).round() / 1000.0;
            let (w, load, couple) = (drawn(0.05, 90.0), drawn(0.1, 900.0), drawn(0.1, 700.0));
            list.push(Parameters { w, P: load, L: span, a, b, M0: couple, EI: drawn(50.0, 2e6) });
        }
        list
    }
}

#[test]
fn formulae_give_the_values_of_the_data_at_the_sample() {
    let data = data();
    for beam in &data.cases {
        for (name, formula) in &beam.formulae {
            let value = evaluate(&formula.formula, &data.sample);
            let near = (value - formula.value).abs() <= 1e-8 * formula.value.abs();
            assert!(near, "{} {name}: {} is {value}, not {}", beam.id, formula.formula, formula.value);
        }
    }
}

#[test]
fn beams_of_the_sample_agree_with_the_formulae() {
    let data = data();
    compare(&data, &[data.sample], &METRIC);
}

#[test]
fn beams_in_metres_and_kilonewtons_agree_with_the_formulae() {
    compare(&data(), &Parameters::sweep(12), &METRIC);
}

#[test]
fn beams_in_feet_and_kips_agree_with_the_formulae() {
    compare(&data(), &Parameters::sweep(8), &CUSTOMARY);
}

fn compare(data: &Data, sweep: &[Parameters], units: &Units) {
    let mut faults = String::new();
    let mut compared = 0;
    for beam in &data.cases {
        for parameters in sweep {
            let si = parameters.in_si(units);
            let mut text = parameters.head(units) + &beam.structure.join("\n") + "\n";
            // What no result lists is asked for by a claim.
            for formula in beam.formulae.values().filter(|formula| formula.place_of_deflection().is_some()) {
                let place = formula.place_of_deflection().unwrap();
                let value = evaluate(&formula.formula, &si);
                writeln!(text, "expect deflection A-B down at {place}: {value} m within 0.0001%").unwrap();
                writeln!(text, "expect not deflection A-B down at {place}: {} m within 0.0001%", value * 1.001)
                    .unwrap();
            }
            let solved = solve(&text);
            let errors = solved.errors();
            if !errors.is_empty() {
                writeln!(faults, "{}: {errors:?}\n{text}", beam.id).unwrap();
                continue;
            }
            let residual = solved.case("loads")["residual"]["relative"].as_f64().unwrap();
            assert!(residual < 1e-12, "{}: residual {residual}", beam.id);
            for (name, formula) in &beam.formulae {
                compared += 1;
                if formula.place_of_deflection().is_some() {
                    continue;
                }
                let expected = evaluate(&formula.formula, &si);
                let computed = formula.read(&solved);
                if (computed - expected).abs() > formula.tolerance * expected.abs() {
                    let sources = beam.sources.join(", ");
                    writeln!(faults, "{} {name}: computed {computed}, {sources} gives {expected}\n{text}", beam.id)
                        .unwrap();
                }
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
    assert_eq!(compared, 135 * sweep.len());
}

impl Formula {
    /// The place of a deflection inside a member.
    fn place_of_deflection(&self) -> Option<&str> {
        self.quantity.strip_prefix("deflection down at ")
    }

    /// What the results give for it, in SI.
    fn read(&self, solved: &Solved) -> f64 {
        let case = solved.case("loads");
        let joint = |list: &str| find(&case[list], "joint", self.joint.as_deref().unwrap());
        let member = || find(&case["members"], "member", self.member.as_deref().unwrap());
        // The position only of beams that are one member.
        let largest = |quantity: &str, sign: f64| {
            let members = case["members"].as_array().unwrap().iter();
            let found = members.filter_map(|member| extreme(member, quantity, sign));
            found.max_by(|(a, _), (b, _)| (a * sign).total_cmp(&(b * sign))).unwrap()
        };
        let number = |value: &Value| value.as_f64().unwrap();
        match self.quantity.as_str() {
            "reaction up" => number(&joint("reactions")["fy"]),
            "moment at start" => number(&member()["start"]["moment"]),
            "moment at end" => number(&member()["end"]["moment"]),
            "largest sagging moment" => largest("moment", 1.0).0,
            "position of largest sagging moment, from A" => largest("moment", 1.0).1,
            // Deflections are to the left of a member, upwards for one named left to right.
            "largest deflection down" => -largest("deflection", -1.0).0,
            "largest deflection up" => largest("deflection", 1.0).0,
            "position of largest deflection, from A" => largest("deflection", -1.0).1,
            "deflection down" => -number(&joint("displacements")["dy"]),
            "rotation cw" => -number(&joint("displacements")["turn"]),
            other => panic!("nothing reads `{other}`"),
        }
    }
}

fn data() -> Data {
    serde_json::from_str(include_str!("../data/beam_formulae.json")).unwrap()
}

/// The value of `5*w*L**4/(384*EI)`.
fn evaluate(formula: &str, parameters: &Parameters) -> f64 {
    let mut reader = Reader { rest: formula, parameters };
    let value = reader.sum();
    assert!(reader.rest.is_empty(), "`{}` is left of `{formula}`", reader.rest);
    value
}

/// Arithmetic as the data writes it: `+ - * / **`, signs, brackets, `sqrt`.
struct Reader<'a> {
    rest: &'a str,
    parameters: &'a Parameters,
}

impl Reader<'_> {
    fn take(&mut self, mark: &str) -> bool {
        let rest = self.rest.strip_prefix(mark).filter(|rest| mark != "*" || !rest.starts_with('*'));
        if let Some(rest) = rest {
            self.rest = rest;
        }
        rest.is_some()
    }

    fn sum(&mut self) -> f64 {
        let mut value = self.product();
        loop {
            if self.take("+") {
                value += self.product();
            } else if self.take("-") {
                value -= self.product();
            } else {
                return value;
            }
        }
    }

    fn product(&mut self) -> f64 {
        let mut value = self.signed();
        loop {
            if self.take("*") {
                value *= self.signed();
            } else if self.take("/") {
                value /= self.signed();
            } else {
                return value;
            }
        }
    }

    fn signed(&mut self) -> f64 {
        if self.take("-") { -self.signed() } else { self.power() }
    }

    fn power(&mut self) -> f64 {
        let base = self.item();
        if self.take("**") { base.powf(self.signed()) } else { base }
    }

    fn item(&mut self) -> f64 {
        if self.take("sqrt(") {
            return self.bracket().sqrt();
        }
        if self.take("(") {
            return self.bracket();
        }
        let end = self.rest.find(|c: char| !c.is_ascii_alphanumeric() && c != '.').unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at(end);
        self.rest = rest;
        self.parameters.read(word).unwrap_or_else(|| word.parse().unwrap_or_else(|_| panic!("`{word}` in a formula")))
    }

    fn bracket(&mut self) -> f64 {
        let value = self.sum();
        assert!(self.take(")"), "a bracket is not closed before `{}`", self.rest);
        value
    }
}

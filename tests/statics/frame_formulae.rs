//! Frames whose answers have closed forms: settlements, turned supports, heat,
//! misfits, elastic supports and portals; and the signs of sections, one by
//! one. Formulae are common practice (slope deflection) unless a source is
//! named.

use crate::support::solved;

use serde_json::Value;

use solved::{Solved, extreme, find, solve};

const E: f64 = 210e9;
const AREA: f64 = 3e-3;
const SECOND: f64 = 2e-5;
const EI: f64 = E * SECOND;

/// The section every text here may use.
const STEEL: &str = "units m, kN\nmaterial steel: E = 210 GPa, expansion = 12e-6 per K\n\
                     section s: steel, A = 3000 mm^2, I = 20e6 mm^4\n\
                     section stocky: EA = rigid, EI = 4.2 MN*m^2\n";

fn steel(text: &str) -> Solved {
    let solved = solve(&format!("{STEEL}{text}"));
    assert!(solved.errors().is_empty(), "{:?}\n{text}", solved.errors());
    assert!(solved.case("loads")["residual"]["relative"].as_f64().unwrap() < 1e-12, "{text}");
    solved
}

fn member<'a>(solved: &'a Solved, name: &str) -> &'a Value {
    find(&solved.case("loads")["members"], "member", name)
}

/// Axial, shear and moment at one end, newtons and newton-metres.
fn section(solved: &Solved, name: &str, end: &str) -> [f64; 3] {
    ["axial", "shear", "moment"].map(|key| member(solved, name)[end][key].as_f64().unwrap())
}

fn reaction(solved: &Solved, joint: &str, key: &str) -> f64 {
    find(&solved.case("loads")["reactions"], "joint", joint)[key].as_f64().unwrap()
}

fn moved(solved: &Solved, joint: &str, key: &str) -> f64 {
    find(&solved.case("loads")["displacements"], "joint", joint)[key].as_f64().unwrap()
}

#[track_caller]
fn near(computed: f64, expected: f64) {
    let allowed = if expected == 0.0 { 1e-6 } else { 1e-9 * expected.abs() };
    assert!((computed - expected).abs() <= allowed, "computed {computed}, expected {expected}");
}

#[track_caller]
fn all_near<const N: usize>(computed: [f64; N], expected: [f64; N]) {
    for (computed, expected) in computed.into_iter().zip(expected) {
        near(computed, expected);
    }
}

const BEAM: &str = "joint A: (0, 0)\njoint B: (6, 0)\nbeam A-B: s\n";

#[test]
fn a_support_that_settles_bends_what_it_is_fixed_to() {
    // Both ends fixed, B down by d: V = 12EId/L³, M = 6EId/L².
    let (d, l) = (0.012, 6.0);
    let solved = steel(&format!("{BEAM}fixed A, B\nsettle B: 12 mm down"));
    let (v, m) = (12.0 * EI * d / (l * l * l), 6.0 * EI * d / (l * l));
    all_near(section(&solved, "A-B", "start"), [0.0, v, -m]);
    all_near(section(&solved, "A-B", "end"), [0.0, v, m]);
    near(reaction(&solved, "A", "fy"), v);
    near(reaction(&solved, "A", "m"), m);
    near(reaction(&solved, "B", "m"), m);
    near(moved(&solved, "B", "dy"), -d);
    // One end pinned: M = 3EId/L².
    let solved = steel(&format!("{BEAM}fixed A\npin B\nsettle B: 12 mm down"));
    near(section(&solved, "A-B", "start")[2], -3.0 * EI * d / (l * l));
    near(section(&solved, "A-B", "end")[2], 0.0);
    near(moved(&solved, "B", "turn"), -1.5 * d / l);
}

#[test]
fn a_support_that_turns_bends_what_it_holds() {
    // A turned by φ counterclockwise: 4EIφ/L there, 2EIφ/L at the far end.
    let (turn, l) = (0.002, 6.0);
    let solved = steel(&format!("{BEAM}fixed A, B\nsettle A: 0.002 rad ccw"));
    near(reaction(&solved, "A", "m"), 4.0 * EI * turn / l);
    near(reaction(&solved, "B", "m"), 2.0 * EI * turn / l);
    near(reaction(&solved, "A", "fy"), 6.0 * EI * turn / (l * l));
    near(moved(&solved, "A", "turn"), turn);
}

#[test]
fn heat_and_misfits_strain_what_cannot_lengthen() {
    let (rise, strain) = (25.0, 12e-6 * 25.0);
    let solved = steel(&format!("{BEAM}pin A, B\nheat A-B: 25 K"));
    near(section(&solved, "A-B", "start")[0], -E * AREA * strain);
    // Free to slide it only lengthens.
    let solved = steel(&format!("{BEAM}pin A\nroller B\nheat A-B: {rise} K"));
    near(section(&solved, "A-B", "start")[0], 0.0);
    near(moved(&solved, "B", "dx"), strain * 6.0);
    let solved = steel(&format!("{BEAM}pin A, B\nmisfit A-B: 3 mm short"));
    near(section(&solved, "A-B", "start")[0], E * AREA * 0.003 / 6.0);
}

#[test]
fn a_heated_girder_pushes_its_columns_apart() {
    // Slope deflection of a symmetric half: each head moves out by αTL/2 and turns by θ.
    // Members keep their length but for the heat, so EA is rigid.
    let (l, h, spread) = (8.0, 5.0, 12e-6 * 30.0 * 8.0 / 2.0);
    let solved = steel(
        "section girder: steel, EA = rigid, I = 20e6 mm^4\njoint A: (0, 0)\njoint B: (0, 5)\njoint C: (8, 5)\n\
         joint D: (8, 0)\nbeam A-B: stocky\nbeam B-C: girder\nbeam C-D: stocky\nfixed A, D\nheat B-C: 30 K",
    );
    let theta = 6.0 * EI * spread / (h * h) / (4.0 * EI / h + 2.0 * EI / l);
    let head = 2.0 * EI * theta / l;
    let foot = 6.0 * EI * spread / (h * h) - 2.0 * EI * theta / h;
    near(section(&solved, "B-C", "start")[2].abs(), head);
    near(reaction(&solved, "A", "m").abs(), foot);
    near(reaction(&solved, "A", "fx"), (head + foot) / h);
    near(section(&solved, "B-C", "start")[0], -(head + foot) / h);
    near(moved(&solved, "B", "dx"), -spread);
}

#[test]
fn determinate_frames_settle_without_force() {
    let solved = steel(
        "joint A: (0, 0)\njoint B: (0, 4)\njoint C: (6, 4)\njoint D: (6, 0)\nbeam A-B: s\nbeam B-C: s hinged at C\n\
         beam D-C: s hinged at C\npin A, D\nhinge B\nbar A-C: s\nsettle D: (5, -8) mm\nheat B-C: 40 K",
    );
    for name in ["A-B", "B-C", "D-C"] {
        all_near(section(&solved, name, "start"), [0.0; 3]);
    }
    near(moved(&solved, "D", "dx"), 0.005);
    assert!(moved(&solved, "C", "dy").abs() > 1e-4);
}

#[test]
fn elastic_supports_give_by_their_reactions() {
    // Two springs under a uniform load: wL/2k and 5wL⁴/384EI add up.
    let solved = steel(&format!(
        "{BEAM}spring A: kx = 1 MN/m, ky = 2 MN/m\nspring B: ky = 2 MN/m\nload A-B: 4 kN/m down\n\
         expect deflection A-B down at 50%: {} m within 0.000001%",
        4e3 * 6.0 / 2.0 / 2e6 + 5.0 * 4e3 * 6.0_f64.powi(4) / (384.0 * EI)
    ));
    near(moved(&solved, "A", "dy"), -12e3 / 2e6);
    // A turning spring at the foot of a cantilever: PL²/kr on top of PL³/3EI.
    let solved = steel(&format!("{BEAM}spring A: kx = 1 MN/m, ky = 1 GN/m, kr = 900 kN*m/rad\nload B: 3 kN down"));
    near(moved(&solved, "B", "dy"), -(3e3 / 1e9 + 3e3 * 36.0 / 900e3 + 3e3 * 216.0 / (3.0 * EI)));
    near(moved(&solved, "A", "turn"), -3e3 * 6.0 / 900e3);
    // A spring that settles: half of it stays where spring and beam are as stiff as each other.
    let k = 3.0 * EI / 216.0;
    let solved = steel(&format!("{BEAM}fixed A\nspring B: ky = {k} N/m\nsettle B: 10 mm down"));
    near(moved(&solved, "B", "dy"), -0.005);
    near(reaction(&solved, "B", "fy"), -0.005 * k);
}

#[test]
fn guides_hold_rotation_and_leave_one_way_free() {
    // Fixed at A, guided upright at B: 12EI/L³ against the load there.
    let solved = steel(&format!("{BEAM}fixed A\nguide B: along up\nload B: 5 kN down"));
    near(moved(&solved, "B", "dy"), -5e3 * 216.0 / (12.0 * EI));
    near(moved(&solved, "B", "turn"), 0.0);
    near(reaction(&solved, "A", "m"), 15e3);
    near(reaction(&solved, "B", "m"), 15e3);
    assert!(find(&solved.case("loads")["reactions"], "joint", "B")["fy"].is_null(), "a guide cannot give it");
}

#[test]
fn portals_sway_as_slope_deflection_says() {
    // Hinged feet, P at the head, equal stiffness: H = P/2, M = Ph/2 at each head.
    let portal = "joint A: (0, 0)\njoint B: (0, 4)\njoint C: (6, 4)\njoint D: (6, 0)\nbeam A-B-C-D: stocky\n";
    let solved = steel(&format!("{portal}pin A, D\nload B: 10 kN right"));
    let (p, h, l) = (10e3, 4.0, 6.0);
    all_near([reaction(&solved, "A", "fx"), reaction(&solved, "D", "fx")], [-p / 2.0; 2]);
    near(reaction(&solved, "D", "fy"), p * h / l);
    near(section(&solved, "B-C", "start")[2], p * h / 2.0);
    near(section(&solved, "B-C", "end")[2], -p * h / 2.0);
    // Ph³/6EI (1 + L/2h · …): each column a cantilever on a girder that turns by ML/6EI.
    near(moved(&solved, "B", "dx"), p / 2.0 * h.powi(3) / (3.0 * EI) + p * h / 2.0 * l / (6.0 * EI) * h);
    // Fixed feet: the point of contraflexure by k = (I2/I1)(h/L), Kleinlogel, Rigid Frame Formulas.
    let solved = steel(&format!("{portal}fixed A, D\nload B: 10 kN right"));
    let k = h / l;
    near(section(&solved, "B-C", "start")[2], p * h / 2.0 * 3.0 * k / (6.0 * k + 1.0));
    near(reaction(&solved, "A", "m"), p * h / 2.0 * (3.0 * k + 1.0) / (6.0 * k + 1.0));
}

#[test]
fn moments_are_positive_with_tension_on_the_right_looking_along() {
    // Named left to right sagging is positive; named right to left it is negative.
    let span = |name: &str| {
        format!(
            "joint A: (0, 0)\njoint B: (6, 0)\nbeam {name}: s\npin A\nroller B\nload A-B: 4 kN/m down from 0 m to 3 m\n\
             expect moment A-B at 2 m: 10 kN*m sagging\nexpect moment B-A at 4 m: 10 kN*m sagging\n\
             expect shear A-B at 0 m: 9 kN\nexpect shear B-A at 6 m: 9 kN\nexpect shear A-B at 6 m: -3 kN\n\
             expect not moment A-B at 2 m: 10 kN*m hogging\nexpect not shear B-A at 0 m: 3 kN within 1%"
        )
    };
    let there = steel(&span("A-B"));
    let (value, at) = extreme(member(&there, "A-B"), "moment", 1.0).unwrap();
    all_near([value, at], [9e3 * 9e3 / 4e3 / 2.0, 2.25]);
    let back = steel(&span("B-A"));
    let (value, at) = extreme(member(&back, "B-A"), "moment", -1.0).unwrap();
    all_near([value, at], [-9e3 * 9e3 / 4e3 / 2.0, 6.0 - 2.25]);
    // The shear is the moment's slope along the name, and so the same either way:
    // M turns its sign and x its sense.
    all_near(section(&there, "A-B", "start"), [0.0, 9e3, 0.0]);
    all_near(section(&there, "A-B", "end"), [0.0, -3e3, 0.0]);
    all_near(section(&back, "B-A", "start"), [0.0, -3e3, 0.0]);
    all_near(section(&back, "B-A", "end"), [0.0, 9e3, 0.0]);
    // A deflection is to the left of the member as named.
    let down = |solved: &Solved, name: &str, sign: f64| extreme(member(solved, name), "deflection", sign).unwrap();
    assert!(down(&there, "A-B", -1.0).0 < 0.0);
    near(down(&back, "B-A", 1.0).0, -down(&there, "A-B", -1.0).0);
    near(down(&back, "B-A", 1.0).1, 6.0 - down(&there, "A-B", -1.0).1);
}

#[test]
fn a_standing_member_has_its_right_hand_side() {
    // A mast named upwards, pushed to the right: its left side is stretched.
    let mast = "joint A: (0, 0)\njoint B: (0, 5)\nfixed A\nload B: 2 kN right\n";
    let up = steel(&format!("{mast}beam A-B: s\nexpect moment A-B at 0 m: 10 kN*m tension left"));
    all_near(section(&up, "A-B", "start"), [0.0, 2e3, -10e3]);
    let down = steel(&format!("{mast}beam B-A: s\nexpect moment A-B at 0 m: 10 kN*m tension left"));
    all_near(section(&down, "B-A", "end"), [0.0, 2e3, 10e3]);
    near(reaction(&up, "A", "m"), 10e3);
    near(reaction(&up, "A", "fx"), -2e3);
    near(moved(&up, "B", "turn"), -2e3 * 25.0 / (2.0 * EI));
}

#[test]
fn couples_jump_down_and_point_loads_step_the_shear() {
    // A counterclockwise couple makes a sagging moment jump down by its size.
    let solved = steel(&format!(
        "{BEAM}pin A\nroller B\nmoment A-B: 12 kN*m ccw at 2 m\nload A-B: 9 kN down at 4 m\n\
         expect moment A-B at 2 m: 10 kN*m sagging\nexpect moment A-B at 2 m: 2 kN*m hogging\n\
         expect moment A-B at 4 m: 8 kN*m sagging\nexpect shear A-B at 4 m: 5 kN\nexpect shear A-B at 4 m: -4 kN"
    ));
    all_near(section(&solved, "A-B", "start"), [0.0, 5e3, 0.0]);
    all_near(section(&solved, "A-B", "end"), [0.0, -4e3, 0.0]);
    let (most, at) = extreme(member(&solved, "A-B"), "moment", 1.0).unwrap();
    all_near([most, at], [10e3, 2.0]);
    let (least, at) = extreme(member(&solved, "A-B"), "moment", -1.0).unwrap();
    all_near([least, at], [-2e3, 2.0]);
}

#[test]
fn a_load_along_a_beam_changes_its_axial_force() {
    let solved =
        steel(&format!("{BEAM}pin A\nroller B\nload A-B: 2 kN/m right from 1 m to 4 m\nload A-B: 3 kN left at 5 m"));
    all_near(section(&solved, "A-B", "start"), [3e3, 0.0, 0.0]);
    all_near(section(&solved, "A-B", "end"), [0.0, 0.0, 0.0]);
    let (least, at) = extreme(member(&solved, "A-B"), "axial", -1.0).unwrap();
    all_near([least, at], [-3e3, 4.0]);
    // Lengthened by what each stretch carries: 3 kN over 1 m, 3 to −3 over 3 m, −3 over 1 m.
    near(moved(&solved, "B", "dx"), 0.0);
}

#[test]
fn couples_alone_on_a_slanting_cantilever_balance() {
    // No force anywhere: zeros are measured by the couples.
    let solved = steel(
        "joint A: (0, 0)\njoint B: (1.3, 0.7)\njoint C: (3.1, 2.9)\nbeam A-B-C: s\nfixed A\nmoment C: 7 kN*m ccw\n\
         expect reaction A: 7 kN*m cw\nexpect force A-B: zero\nexpect shear B-C at 0 m: zero",
    );
    near(reaction(&solved, "A", "m"), -7e3);
}

#[test]
fn a_ring_on_three_reactions_settles_without_force() {
    // Redundant within, held by no more than it needs: it moves as one piece.
    let solved = steel(
        "joint A: (2.74, 2.81)\njoint B: (4.48, 7.39)\njoint C: (-0.69, 1.75)\nbeam A-B-C-A: s\npin A\nroller B\n\
         settle A: (5, -12) mm\nexpect indeterminate 3\nexpect force A-B: zero\nexpect moment B-C at 50%: zero",
    );
    near(moved(&solved, "A", "dy"), -0.012);
}

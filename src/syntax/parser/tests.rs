//! What each form of the notation parses into.

use crate::base::FileId;
use crate::syntax::{Parse, dump::dump, parse};

fn read(text: &str) -> Parse {
    parse(FileId::default(), text)
}

/// The dump of a text that must be free of errors.
fn tree(text: &str) -> String {
    let parse = read(text);
    assert_eq!(parse.errors, [], "{text}");
    dump(&parse.tree, text).trim_end().to_string()
}

/// The dump of one value.
fn value(text: &str) -> String {
    let whole = tree(&format!("let v = {text}"));
    whole.strip_prefix("let v = ").unwrap_or(&whole).to_string()
}

#[test]
fn the_whole_file_of_the_notation_parses() {
    insta::assert_snapshot!(tree(include_str!("../../../tests/syntax/boathouse.kp")));
}

#[test]
fn the_smallest_file_of_the_notation_parses() {
    insta::assert_snapshot!(tree(include_str!("../../../tests/syntax/door.kp")));
}

#[test]
fn a_direction_takes_the_product_before_it_and_binds_tighter_than_a_sum() {
    assert_eq!(value("5 kN down + 2 kN right"), "(+ (@ 5'kN down) (@ 2'kN right))");
    assert_eq!(value("2*T down"), "(@ (* 2 T) down)");
    assert_eq!(value("-5 kN down"), "(@ (neg 5'kN) down)");
    assert_eq!(value("0.40 kN/m^2 * bay @ across(K-A)"), "(@ (* 0.40'kN/m^2 bay) Across(K-A))");
    assert_eq!(value("95 lbf @ 35° below left"), "(@ 95'lbf <35'° below left>)");
    assert_eq!(value("95 lbf @ 35° left of up"), "(@ 95'lbf <35'° left of up>)");
    assert_eq!(value("P @ (3, -4)"), "(@ P [3, (neg 4)])");
    assert_eq!(value("P @ (C - A)"), "(@ P ((- C A)))");
    assert_eq!(value("P @ 2*30° + Q @ up"), "(+ (@ P (* 2 30'°)) (@ Q up))");
    assert_eq!(value("5 kN toward C"), "(@ 5'kN toward C)");
}

#[test]
fn a_unit_belongs_to_its_number_and_a_spaced_operator_is_arithmetic() {
    assert_eq!(value("12 kN / panel"), "(/ 12'kN panel)");
    assert_eq!(value("12 kN/panel"), "(/ 12'kN panel)");
    assert_eq!(value("29000 ksi * 0.5 in^2"), "(* 29000'ksi 0.5'in^2)");
    assert_eq!(value("20 kN*m^2"), "20'kN*m^2");
    assert_eq!(value("20 kN * m"), "(* 20'kN m)");
    assert_eq!(value("2*panel"), "(* 2 panel)");
    assert_eq!(value("6.5e-6 per K"), "6.5e-6'per K");
    assert_eq!(value("(25, -90) lbf"), "[25, (neg 90)]'lbf");
    assert_eq!(value("(3/2) kN"), "((/ 3 2))'kN");
    assert_eq!(value("sqrt(2)*m"), "(* Sqrt(2) m)");
    assert_eq!(value("5 kN·m²"), "5'kN·m²");
    assert_eq!(value("25%"), "25'%");
    assert_eq!(value("30 °C"), "30'°C");
}

#[test]
fn neighbouring_literals_bind_tightest() {
    assert_eq!(value("-4 ft 6 in"), "(neg <4'ft, 6'in>)");
    assert_eq!(value("2*4 ft 6 in"), "(* 2 <4'ft, 6'in>)");
    assert_eq!(value("1 mi 2 ft 3 in"), "<1'mi, 2'ft, 3'in>");
}

#[test]
fn arithmetic_has_the_usual_order() {
    assert_eq!(value("a + b*c^2"), "(+ a (* b (^ c 2)))");
    assert_eq!(value("a - b - c"), "(- (- a b) c)");
    assert_eq!(value("a/b/c"), "(/ (/ a b) c)");
    assert_eq!(value("-a^2"), "(neg (^ a 2))");
    assert_eq!(value("a^-b^2"), "(^ a (neg (^ b 2)))");
    assert_eq!(value("a^b^c"), "(^ a (^ b c))");
    assert_eq!(value("2*-3"), "(* 2 (neg 3))");
    assert_eq!(value("+3"), "3");
    assert_eq!(value("(A + B)/2"), "(/ ((+ A B)) 2)");
    assert_eq!(value("A.x + v.y"), "(+ A.x v.y)");
    assert_eq!(value("atan2(A.y, A.x)*pi"), "(* Atan2(A.y, A.x) pi)");
    assert_eq!(value("length(A-B-C)"), "Length(A-B-C)");
    assert_eq!(value("L[i,j] + L[2*n+1].x"), "(+ L[i, j] L[(+ (* 2 n) 1)].x)");
}

#[test]
fn words_are_names_where_a_value_is_wanted() {
    assert_eq!(value("at + from*to"), "(+ at (* from to))");
    assert_eq!(tree("let max = 3 m"), "let max = 3'm");
    assert_eq!(tree("joint at: (x, y)"), "joint at: [x, y]");
    assert_eq!(tree("load at: at at at"), "load at: at at at");
    assert_eq!(tree("bar x-y: hinged"), "bar x-y: hinged");
    assert_eq!(tree("weigh all-B"), "weigh all-B");
}

#[test]
fn a_load_takes_its_clauses_in_any_order() {
    assert_eq!(
        tree("load A-B: 2 kN/m to 5 kN/m down from 1 m to 3 m"),
        "load A-B: 2'kN/m to (@ 5'kN/m down) [1'm .. 3'm]"
    );
    assert_eq!(tree("load A-B: w from 25% to 100% to 2*w"), "load A-B: w to (* 2 w) [25'% .. 100'%]");
    assert_eq!(
        tree("load A-K: 1.0 kN/m^2 * bay down at joints per run"),
        "load A-K: (@ (* 1.0'kN/m^2 bay) down) per run at joints"
    );
    assert_eq!(tree("load A-B: 10 kN down at 40%"), "load A-B: (@ 10'kN down) at 40'%");
    assert_eq!(tree("moment A-B: 5 kN*m cw at 2 m"), "moment A-B: 5'kN*m cw at 2'm");
    assert_eq!(tree("load L[i]: 5 kN down"), "load L[i]: (@ 5'kN down)");
}

#[test]
fn claims_parse_with_every_clause() {
    assert_eq!(
        tree("expect deflection K down <= 10 mm under service"),
        "expect deflection K down <= 10'mm under service"
    );
    assert_eq!(tree("expect reaction G up >= 1 kN"), "expect reaction G up >= 1'kN");
    assert_eq!(tree("expect reaction A.x: 68.2 lbf"), "expect reaction A .x : 68.2'lbf");
    assert_eq!(tree("expect reaction A: (68.2, 217) lbf"), "expect reaction A : [68.2, 217]'lbf");
    assert_eq!(tree("expect moment A-B at 2 m: 20 kN*m sagging"), "expect moment A-B at 2'm : 20'kN*m Sagging");
    assert_eq!(
        tree("expect moment A-B: 20 kN*m tension below within 1% under all"),
        "expect moment A-B : 20'kN*m TensionBelow within 1'% under all"
    );
    assert_eq!(tree("expect not force P-D: zero under snow"), "expect not force P-D : zero under snow");
    assert_eq!(tree("expect reaction A: 12 kN*m ccw"), "expect reaction A : 12'kN*m Counterclockwise");
    assert_eq!(tree("expect reaction G: 65.9 kN up"), "expect reaction G : (@ 65.9'kN up)");
    assert_eq!(tree("expect indeterminate 2"), "expect indeterminate 2");
    assert_eq!(tree("expect unstable"), "expect unstable");
}

#[test]
fn every_other_statement_parses() {
    let text = r#"
title "Heron Reach \"hoist\""
units ft, lbf, in
moments cw
cable A-B
beam A-B-C: chord, hinged at B, C
beam A-B: hinged at B
bar A-B, C-D
hinge B, C
fixed A
roller C: along 30°
roller C: pushes 120°, lifts off
roller C, D: lifts off
guide A: along up
spring A: kx = 4 kN/mm, kr = 20 kN*m/rad
settle C: 12 mm down
settle A: 0.002 rad ccw
heat A-B: 25 K
misfit A-B: 3 mm short
travel crane: 40 kN, 60 kN spaced 3 m along A-B-C-D
material steel: E = 29000 ksi, weight = 490 lbf/ft^3, expansion = 6.5e-6 per K
section chord: steel, A = 2.48 in^2, I = 3.2 in^4
section stiff: EA = rigid, EI = 20 MN*m^2
section plain: steel
combination a: dead - 0.5 wind + gamma*psi*1.5 snow + (1/2) live
use "loads.kp"
allow unused-let
deny shallow-angle
"#;
    insta::assert_snapshot!(tree(text));
}

#[test]
fn blocks_nest_and_notes_belong_to_the_statement_after_them() {
    let text = "\
/// The bays,
/// from the left.
for i from 0 to 10 by 2 {
  joint L[i]: (i, 0) // a comment
  case wind { load L[i]: 1 kN down }
}
case wind {} pin A
";
    insta::assert_snapshot!(tree(text), @r#"
    note "/// The bays,\n/// from the left."
    for i from 0 to 10 by 2
      joint L[i]: [i, 0]
      case wind
        load L[i]: (@ 1'kN down)
    case wind
    pin A
    "#);
}

#[test]
fn a_line_goes_on_after_an_operator_and_inside_brackets() {
    assert_eq!(tree("let a = 1 + // first\n\n  2\nlet b =\n 3"), "let a = (+ 1 2)\nlet b = 3");
    assert_eq!(tree("joint A: (1,\r\n  2\r\n)\r\npin A"), "joint A: [1, 2]\npin A");
    assert_eq!(tree("\u{FEFF}pin A"), "pin A");
    assert_eq!(tree("pin A,\n\tB"), "pin A, B");
}

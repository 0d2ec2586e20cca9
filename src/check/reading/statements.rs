//! How each statement is written, and what its keyword is called elsewhere.
//!
//! Must not know: the parser.

/// What can be called in a value.
pub(super) const FUNCTIONS: [&str; 16] = [
    "sqrt", "sin", "cos", "tan", "asin", "acos", "atan", "atan2", "abs", "min", "max", "hypot", "length", "angle",
    "along", "across",
];

/// How the statement that begins with this text is written: a load on a joint
/// otherwise than one on a member, a claim by what it claims.
pub(super) fn form_of(statement: &str) -> String {
    let mut words = statement.split([' ', '\t', ':', '(']).filter(|word| !word.is_empty());
    let keyword = words.next().unwrap_or("");
    let subject = words.find(|word| *word != "not").unwrap_or("").trim_end_matches([',', ';']);
    let is_joint = !subject.is_empty() && !subject.contains('-');
    let form = match keyword {
        "load" if is_joint => return written_like(&format!("load {subject}: 10 kN @ 30° below right")),
        "moment" if is_joint => return written_like(&format!("moment {subject}: 5 kN*m cw")),
        "expect" => match subject {
            "force" => "expect force A-B: 12 kN tension under wind",
            "shear" => "expect shear A-B at 2 m: 12 kN",
            "moment" => "expect moment A-B at 2 m: 5 kN*m sagging",
            "deflection" => "expect deflection A-B down at 2 m: 1.8 mm",
            "rotation" => "expect rotation A: 0.002 rad cw",
            _ => "expect reaction A: 12 kN up under wind",
        },
        "title" => "title \"Boathouse roof\"",
        "units" => "units m, kN, mm",
        "moments" => "moments ccw",
        "figures" => "figures 3",
        "let" => "let panel = 6 ft",
        "joint" => "joint A: (0, 3 m)",
        "bar" => "bar A-B-C: rafter",
        "cable" => "cable A-B",
        "beam" => "beam A-B-C: chord, hinged at B",
        "hinge" => "hinge B",
        "pin" => "pin A, G",
        "fixed" => "fixed A",
        "roller" => "roller C: along 30°, lifts off",
        "guide" => "guide A: along up",
        "spring" => "spring A: kx = 4 kN/mm",
        "settle" => "settle C: 12 mm down",
        "load" => "load A-B: 2 kN/m down from 1 m to 3 m",
        "moment" => "moment A-B: 5 kN*m cw at 2 m",
        "heat" => "heat A-B: 25 K",
        "misfit" => "misfit A-B: 3 mm long",
        "case" => "case wind { … }",
        "weigh" => "weigh all",
        "combination" => "combination strength: 1.2 dead + 1.6 snow",
        "travel" => "travel crane: 40 kN, 60 kN spaced 3 m along A-B-C",
        "material" => "material steel: E = 200 GPa, weight = 77 kN/m^3",
        "section" => "section chord: steel, A = 16 cm^2",
        "for" => "for i from 0 to 5 { … }",
        "use" => "use \"base.kp\" with P = 26 kN",
        "set" => "set P=26kN",
        "allow" => "allow unused-let",
        "deny" => "deny unused-let",
        _ => "expect reaction A: 12 kN up under wind",
    };
    written_like(form)
}

fn written_like(form: &str) -> String {
    format!("it is written like this: `{form}`")
}

//! Texts from a seed: sound structures of many shapes, and ways to spoil them
//! by byte, token, line and statement. Invented data.

#[path = "dice.rs"]
mod dice;

use std::fmt::Write as _;

pub use dice::Dice;

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x6a09_e667_f3bc_c908)
    }

    /// Once in so many times.
    pub fn once_in(&mut self, many: usize) -> bool {
        self.below(many) == 0
    }

    pub fn of<'a>(&mut self, list: &[&'a str]) -> &'a str {
        list[self.below(list.len())]
    }
}

/// What a text is made by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Making {
    /// A structure in which nothing is wrong on purpose.
    Sound,
    /// A sound one, spoilt in a place or more.
    Spoilt,
    /// Statements thrown together.
    Loose,
}

pub fn text(seed: u64) -> (Making, String) {
    let mut dice = Dice::new(seed);
    match dice.below(10) {
        0..=3 => (Making::Sound, sound(&mut dice)),
        4..=8 => {
            let mut text = sound(&mut dice);
            for _ in 0..=dice.below(4) {
                text = spoilt(&text, &mut dice);
            }
            (Making::Spoilt, text)
        }
        _ => {
            let lines: Vec<String> = (0..dice.below(40)).map(|_| statement(&mut dice, 0)).collect();
            (Making::Loose, lines.join("\n"))
        }
    }
}

/// A structure with its units, what acts on it and what is claimed of it.
pub fn sound(dice: &mut Dice) -> String {
    let mut text = String::new();
    if dice.once_in(2) {
        let _ = writeln!(
            text,
            "title \"{}\"",
            dice.of(&["Heron Reach jetty", "Roof <&> \\\\ 100 %", "Slipway, \u{6a4b}", "=1+2"])
        );
    }
    let units = dice.of(&["m, kN", "ft, kip", "m, kN, mm", "ft, lbf, in", "mm, N"]);
    let _ = writeln!(text, "units {units}");
    if dice.once_in(4) {
        text.push_str("moments cw\n");
    }
    if dice.once_in(5) {
        let _ = writeln!(text, "figures {}", 1 + dice.below(8));
    }
    let shape = match dice.below(7) {
        0 => girder(dice),
        1 => beam(dice),
        2 => portal(dice),
        3 => bracket(dice),
        4 => storeys(dice),
        5 => sheet(dice),
        _ => mast(dice),
    };
    text.push_str(&shape.text);
    let under = if actions(&mut text, dice, &shape) { " under all" } else { "" };
    claims(&mut text, dice, &shape, under);
    text
}

/// A layout, and names to load and to make claims about.
struct Shape {
    text: String,
    joints: Vec<String>,
    /// Those that are bars, and those that are beams.
    bars: Vec<String>,
    beams: Vec<String>,
    supports: Vec<String>,
}

/// A number that may stand before a unit.
fn literal(dice: &mut Dice) -> String {
    match dice.below(3) {
        0 => format!("{}", 1 + dice.below(40)),
        1 => format!("{}.{}", dice.below(20), 1 + dice.below(9)),
        _ => format!("{}.{:02}", 1 + dice.below(300), dice.below(100)),
    }
}

/// A bare length, as it may be worked out.
fn number(dice: &mut Dice) -> String {
    match dice.below(5) {
        0 => format!("{}", 1 + dice.below(9)),
        1 => format!("{}.{}", dice.below(20), 1 + dice.below(9)),
        2 => format!("{}/{}", 1 + dice.below(9), 1 + dice.below(9)),
        3 => format!("(1 + {})", dice.below(7)),
        _ => format!("{}.{:02}", 1 + dice.below(30), dice.below(100)),
    }
}

fn section(dice: &mut Dice) -> &'static str {
    match dice.below(4) {
        0 => "section s: EA = 40 MN, EI = 3 MN*m^2\n",
        1 => {
            "material steel: E = 210 GPa, weight = 77 kN/m^3, expansion = 12e-6 per K\nsection s: steel, A = 16 cm^2, I = 300 cm^4\n"
        }
        2 => "section s: EA = rigid, EI = 2500 kN*m^2\n",
        _ => "section s: EA = 9000 kip, EI = 800000 kip*in^2\n",
    }
}

fn girder(dice: &mut Dice) -> Shape {
    let most = if dice.once_in(8) { 60 } else { 6 };
    let panels = 2 + dice.below(most);
    let with_section = dice.once_in(2);
    let mut text = if with_section { section(dice).to_owned() } else { String::new() };
    let own = if with_section { ": s" } else { "" };
    let (wide, high) = (number(dice), number(dice));
    let _ = write!(
        text,
        "let wide = {wide}\nfor i from 0 to {panels} {{\n  joint L[i]: (i * wide, 0)\n  joint U[i]: L[i] + (0, {high})\n  \
         bar L[i]-U[i]{own}\n}}\nfor i from 1 to {panels} {{\n  bar L[i-1]-L[i], U[i-1]-U[i], L[i-1]-U[i]{own}\n}}\n\
         pin L0\nroller L{panels}\n"
    );
    let of = |letter: &str| (0..=panels).map(|i| format!("{letter}{i}")).collect::<Vec<_>>();
    let bars = (1..=panels).flat_map(|i| [format!("L{}-L{i}", i - 1), format!("L{}-U{i}", i - 1)]).collect();
    let joints = of("L").into_iter().chain(of("U")).collect();
    Shape { text, joints, bars, beams: Vec::new(), supports: vec!["L0".to_owned(), format!("L{panels}")] }
}

fn beam(dice: &mut Dice) -> Shape {
    let spans = 1 + dice.below(5);
    let mut text = section(dice).to_owned();
    let mut at = String::from("0");
    for joint in 0..=spans {
        let _ = writeln!(text, "joint B{joint}: ({at}, 0)");
        at = format!("{at} + {}", number(dice));
    }
    let chain: Vec<String> = (0..=spans).map(|joint| format!("B{joint}")).collect();
    let _ = writeln!(text, "beam {}: s", chain.join("-"));
    text.push_str(if dice.once_in(3) { "fixed B0\n" } else { "pin B0\n" });
    for joint in 1..=spans {
        match dice.below(6) {
            0 => text.push_str(&format!("spring B{joint}: ky = 4 kN/mm\n")),
            1 => text.push_str(&format!("guide B{joint}: along right\n")),
            2 => text.push_str(&format!("roller B{joint}: lifts off\n")),
            _ => text.push_str(&format!("roller B{joint}\n")),
        }
    }
    if spans > 2 && dice.once_in(4) {
        text.push_str("hinge B1\n");
    }
    let beams = (1..=spans).map(|joint| format!("B{}-B{joint}", joint - 1)).collect();
    Shape { text, joints: chain.clone(), bars: Vec::new(), beams, supports: chain }
}

fn portal(dice: &mut Dice) -> Shape {
    let mut text = section(dice).to_owned();
    let (high, wide, rise) = (number(dice), number(dice), number(dice));
    let _ = write!(
        text,
        "joint A: (0, 0)\njoint B: (0, {high})\njoint C: ({wide}/2, {high} + {rise}/4)\njoint D: ({wide}, {high})\n\
         joint E: ({wide}, 0)\nbeam A-B-C-D-E: s\n"
    );
    text.push_str(match dice.below(3) {
        0 => "fixed A, E\n",
        1 => "pin A, E\n",
        _ => "pin A, E\nhinge C\n",
    });
    let names = |list: &[&str]| list.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    Shape {
        text,
        joints: names(&["B", "C", "D"]),
        bars: Vec::new(),
        beams: names(&["A-B", "B-C", "C-D", "D-E"]),
        supports: names(&["A", "E"]),
    }
}

fn bracket(dice: &mut Dice) -> Shape {
    let (reach, high) = (number(dice), number(dice));
    let kind = dice.of(&["bar", "bar", "cable"]);
    let text = format!(
        "joint A: (0, 0)\njoint B: (0, {high})\njoint C: ({reach}, {high})\n{kind} B-C\nbar A-C\nbar A-B\npin A\n\
         roller B: along up\n"
    );
    let names = |list: &[&str]| list.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    Shape {
        text,
        joints: names(&["C"]),
        bars: names(&["A-B", "A-C", "B-C"]),
        beams: Vec::new(),
        supports: names(&["A", "B"]),
    }
}

fn storeys(dice: &mut Dice) -> Shape {
    let (floors, bays) = (1 + dice.below(4), 1 + dice.below(3));
    let mut text = section(dice).to_owned();
    let _ = write!(
        text,
        "for i from 0 to {bays} {{\n  for j from 0 to {floors} {{\n    joint N[i,j]: (i * {}, j * {})\n  }}\n  \
         fixed N[i,0]\n}}\nfor j from 1 to {floors} {{\n  for i from 0 to {bays} {{\n    beam N[i,j-1]-N[i,j]: s\n  }}\n  \
         for i from 1 to {bays} {{\n    beam N[i-1,j]-N[i,j]: s\n  }}\n}}\n",
        number(dice),
        number(dice)
    );
    let name = |i: usize, j: usize| format!("N[{i},{j}]");
    Shape {
        text,
        joints: (1..=floors).map(|j| name(0, j)).collect(),
        bars: Vec::new(),
        beams: (1..=floors).map(|j| format!("{}-{}", name(0, j), name(1, j))).collect(),
        supports: (0..=bays).map(|i| name(i, 0)).collect(),
    }
}

/// Square panels, the first row and column braced.
fn sheet(dice: &mut Dice) -> Shape {
    let n = 1 + dice.below(5);
    let text = format!(
        "for i from 0 to {n} {{\n  for j from 0 to {n} {{\n    joint P[i,j]: (i, j)\n  }}\n}}\nfor i from 1 to {n} {{\n  \
         for j from 0 to {n} {{\n    bar P[i-1,j]-P[i,j], P[j,i-1]-P[j,i]\n  }}\n  bar P[i-1,0]-P[i,1]\n}}\n\
         for j from 2 to {n} {{\n  bar P[0,j-1]-P[1,j]\n}}\npin P[0,0]\nroller P[{n},0]\n"
    );
    let name = |i: usize, j: usize| format!("P[{i},{j}]");
    Shape {
        text,
        joints: vec![name(n, n), name(0, n)],
        bars: vec![format!("{}-{}", name(0, 0), name(1, 0)), format!("{}-{}", name(0, 0), name(1, 1))],
        beams: Vec::new(),
        supports: vec![name(0, 0), name(n, 0)],
    }
}

/// A mast held by guys, its foot on a pin.
fn mast(dice: &mut Dice) -> Shape {
    let mut text = section(dice).to_owned();
    let _ = write!(
        text,
        "joint F: (0, 0)\njoint T: (0, {h})\njoint W: (0 - {w}, 0)\njoint E: ({w}, 0)\nbeam F-T: s\ncable W-T, T-E: s\n\
         pin F, W, E\n",
        h = number(dice),
        w = number(dice)
    );
    Shape {
        text,
        joints: vec!["T".to_owned()],
        bars: vec!["W-T".to_owned(), "T-E".to_owned()],
        beams: vec!["F-T".to_owned()],
        supports: vec!["F".to_owned(), "W".to_owned(), "E".to_owned()],
    }
}

fn pick(dice: &mut Dice, list: &[String]) -> String {
    list.get(dice.below(list.len())).cloned().unwrap_or_else(|| "A".to_owned())
}

fn load(dice: &mut Dice, shape: &Shape) -> String {
    let direction =
        dice.of(&["down", "up", "left", "@ 30° below right", "@ 200°", "@ (3, -4)", "@ 10° left of up", "@ 300 gon"]);
    let size = literal(dice);
    if !shape.beams.is_empty() && dice.below(3) > 0 {
        let on = pick(dice, &shape.beams);
        return match dice.below(8) {
            0 => format!("load {on}: {size} kN {direction} at length({on}) / {}", 2 + dice.below(5)),
            1 => format!("load {on}: {size} kN/m to {} kN/m down", literal(dice)),
            2 => format!("moment {on}: {size} kN*m ccw at length({on}) / 3"),
            3 => format!("heat {on}: {size} K"),
            4 => format!("load {on}: {size} kN/m down from length({on})/4 to length({on})/2"),
            5 => format!("load {on}: {size} kN/m down at joints"),
            6 => format!("misfit {on}: {size} mm short"),
            _ => format!("load {on}: {size} kN/m down"),
        };
    }
    match dice.below(9) {
        0 => format!("settle {}: {size} mm down", pick(dice, &shape.supports)),
        1 if !shape.bars.is_empty() => format!("misfit {}: {size} mm long", pick(dice, &shape.bars)),
        _ => format!("load {}: {size} kN {direction}", pick(dice, &shape.joints)),
    }
}

/// Says whether what acts stands in several cases.
fn actions(text: &mut String, dice: &mut Dice, shape: &Shape) -> bool {
    match dice.below(4) {
        0 => {
            let cases = 1 + dice.below(4);
            for case in 0..cases {
                let _ = writeln!(text, "case c{case} {{");
                for _ in 0..=dice.below(3) {
                    let _ = writeln!(text, "  {}", load(dice, shape));
                }
                text.push_str("}\n");
            }
            let parts: Vec<String> = (0..cases).map(|case| format!("{} c{case}", literal(dice))).collect();
            let _ = writeln!(text, "combination all: {}", parts.join(" + "));
            return true;
        }
        1 if !shape.beams.is_empty() && dice.once_in(2) => {
            let on = pick(dice, &shape.beams);
            let _ = writeln!(
                text,
                "travel cart: {} kN, {} kN spaced {} m along {on}",
                literal(dice),
                literal(dice),
                literal(dice)
            );
        }
        _ => {
            let most = if dice.once_in(10) { 60 } else { 4 };
            for _ in 0..=dice.below(most) {
                let _ = writeln!(text, "{}", load(dice, shape));
            }
        }
    }
    false
}

fn claims(text: &mut String, dice: &mut Dice, shape: &Shape, under: &str) {
    for _ in 0..dice.below(6) {
        let size = literal(dice);
        let claim = match dice.below(9) {
            0 => "expect determinate".to_owned(),
            1 => format!("expect reaction {}: {size} kN up", pick(dice, &shape.supports)),
            2 if !shape.bars.is_empty() => format!("expect force {}: {size} kN tension", pick(dice, &shape.bars)),
            3 if !shape.beams.is_empty() => format!("expect moment {} <= {size} kN*m", pick(dice, &shape.beams)),
            4 if !shape.beams.is_empty() => {
                let on = pick(dice, &shape.beams);
                format!("expect shear {on} at length({on})/2: {size} kN within 5 %")
            }
            5 => format!("expect deflection {} down <= {size} mm", pick(dice, &shape.joints)),
            6 => format!("expect not reaction {}: ({size}, 1) kN", pick(dice, &shape.supports)),
            7 if !shape.beams.is_empty() => {
                format!("expect deflection {} <= {size} mm", pick(dice, &shape.beams))
            }
            _ => format!("expect reaction {}.y >= 0 kN", pick(dice, &shape.supports)),
        };
        let under = if claim.ends_with("determinate") { "" } else { under };
        let _ = writeln!(text, "{claim}{under}");
    }
}

const TOKENS: [&str; 92] = [
    "joint",
    "bar",
    "beam",
    "cable",
    "load",
    "moment",
    "expect",
    "case",
    "for",
    "combination",
    "let",
    "roller",
    "pin",
    "fixed",
    "guide",
    "spring",
    "section",
    "material",
    "travel",
    "settle",
    "heat",
    "misfit",
    "weigh",
    "use",
    "allow",
    "deny",
    "units",
    "title",
    "hinge",
    "A",
    "B0",
    "L[i]",
    "L2",
    "N[0,1]",
    "i",
    "all",
    "0",
    "1",
    "-1",
    "12",
    "4.5",
    "1e8",
    "1e-9",
    "1e300",
    "9999999999999999999",
    "kN",
    "kN/m",
    "m",
    "ft",
    "in",
    "kip",
    "kN*m",
    "°",
    "%",
    "K",
    "per",
    "run",
    "at",
    "joints",
    "from",
    "to",
    "by",
    "down",
    "up",
    "left",
    "cw",
    "of",
    "along",
    "toward",
    "hinged",
    "under",
    "within",
    "zero",
    "rigid",
    "sqrt",
    "length",
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    ",",
    ":",
    "=",
    "@",
    "+",
    "-",
    "\u{2212}",
    "*",
    "/",
    "\"",
];

/// A statement of the grammar with anything in it.
fn statement(dice: &mut Dice, depth: usize) -> String {
    let name =
        |dice: &mut Dice| dice.of(&["A", "B", "C", "L0", "L1", "U1", "B0", "B1", "N[0,1]", "P[1,1]", "Q"]).to_owned();
    let chain = |dice: &mut Dice| format!("{}-{}", name(dice), name(dice));
    let value = |dice: &mut Dice| match dice.below(6) {
        0 => dice.of(&["1e8", "1e-9", "0", "1/0", "sqrt(2)", "2^200", "pi", "-3", "1e400", "tan(90°)"]).to_owned(),
        _ => number(dice),
    };
    match dice.below(19) {
        0 => format!("joint {}: ({}, {})", name(dice), value(dice), value(dice)),
        1 => format!("bar {}", chain(dice)),
        2 => format!("beam {}-{}: s", chain(dice), name(dice)),
        3 => format!("pin {}", name(dice)),
        4 => format!("roller {}: along {}°", name(dice), value(dice)),
        5 => format!("load {}: {} kN down", name(dice), value(dice)),
        6 => format!("load {}: {} kN/m down from {} m to {} m", chain(dice), value(dice), value(dice), value(dice)),
        7 => format!("moment {}: {} kN*m ccw", name(dice), value(dice)),
        8 => format!("expect force {}: {} kN tension", chain(dice), value(dice)),
        9 => format!("expect reaction {}: ({}, {}) kN under all", name(dice), value(dice), value(dice)),
        10 => format!("let {} = {}", dice.of(&["a", "wide", "A", "s"]), value(dice)),
        11 if depth < 3 => {
            let body: Vec<String> = (0..dice.below(4)).map(|_| statement(dice, depth + 1)).collect();
            format!("for i from {} to {} {{\n{}\n}}", dice.below(4), dice.below(12), body.join("\n"))
        }
        12 if depth < 3 => {
            let body: Vec<String> = (0..dice.below(4)).map(|_| statement(dice, depth + 1)).collect();
            format!("case k{} {{\n{}\n}}", dice.below(3), body.join("\n"))
        }
        13 => format!("combination q: {} k0 + {} k1", value(dice), value(dice)),
        14 => format!("section s: EA = {} MN, EI = {} kN*m^2", value(dice), value(dice)),
        15 => {
            format!("travel t: {} kN, {} kN spaced {} m along {}", value(dice), value(dice), value(dice), chain(dice))
        }
        16 => format!("settle {}: {} mm down", name(dice), value(dice)),
        17 => format!("heat {}: {} K", chain(dice), value(dice)),
        _ => (0..dice.below(9)).map(|_| dice.of(&TOKENS)).collect::<Vec<_>>().join(" "),
    }
}

/// Spoils a text in one place.
pub fn spoilt(text: &str, dice: &mut Dice) -> String {
    match dice.below(4) {
        0 => by_byte(text, dice),
        1 => by_token(text, dice),
        2 => by_line(text, dice),
        _ => by_statement(text, dice),
    }
}

fn by_byte(text: &str, dice: &mut Dice) -> String {
    const ODD: [&str; 16] = [
        "\0",
        "\t",
        "\r",
        "\u{1b}",
        "\u{85}",
        "\u{200b}",
        "\u{202e}",
        "\u{301}",
        "\u{6a4b}",
        "\"",
        "\\",
        "]]>",
        "&",
        "%",
        "#",
        "\u{1f300}",
    ];
    let places: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
    let Some(at) = places.get(dice.below(places.len())).copied() else { return dice.of(&ODD).to_owned() };
    let next = text[at..].chars().next().map_or(at, |letter| at + letter.len_utf8());
    match dice.below(4) {
        0 => format!("{}{}", &text[..at], &text[next..]),
        1 => format!("{}{}{}", &text[..at], dice.of(&ODD), &text[at..]),
        2 => format!("{}{}{}", &text[..at], dice.of(&TOKENS), &text[next..]),
        _ => text[..at].to_owned(),
    }
}

fn by_token(text: &str, dice: &mut Dice) -> String {
    let mut words: Vec<&str> = text.split_inclusive([' ', '\n']).collect();
    if words.is_empty() {
        return text.to_owned();
    }
    let (at, other) = (dice.below(words.len()), dice.below(words.len()));
    let with = format!("{} ", dice.of(&TOKENS));
    match dice.below(4) {
        0 => words.swap(at, other),
        1 => {
            words.remove(at);
        }
        2 => words.insert(at, words[other]),
        _ => words[at] = &with,
    }
    words.concat()
}

fn by_line(text: &str, dice: &mut Dice) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    if lines.is_empty() {
        return text.to_owned();
    }
    let (at, other) = (dice.below(lines.len()), dice.below(lines.len()));
    match dice.below(4) {
        0 => {
            lines.remove(at);
        }
        1 => lines.insert(at, lines[other]),
        2 => lines.swap(at, other),
        _ => return format!("{}\n", lines.join(if dice.once_in(2) { "; " } else { "\r" })),
    }
    lines.join("\n") + "\n"
}

fn by_statement(text: &str, dice: &mut Dice) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let at = dice.below(lines.len().max(1));
    let new = statement(dice, 0);
    if dice.once_in(2) && at < lines.len() {
        lines[at] = new;
    } else {
        lines.insert(at, new);
    }
    lines.join("\n") + "\n"
}

//! A page with one of everything, and words that would break out of each way of
//! writing it.

use kingpost::present::document::{
    Align, Block, Document, Formula, Ink, Inline, Judgement, Line, Sign, Source, Step, Table, TableColumn, words,
};

/// Words that are commands somewhere: HTML, LaTeX, Markdown, a terminal, or
/// none of them and hard to set.
pub const HOSTILE: [&str; 12] = [
    "</script><script>alert(1)</script><!-- ]]> &amp; \" ' >",
    "\\end{document} \\input{/etc/passwd} $x$ $$y$$ 50% #1 ^^M ~ _a_ {b} `` ''",
    "| a | *b* _c_ [d](e) ![f](g) `h` <i>j</i> ~~k~~ @l \\| \\",
    "# no heading",
    "- no list",
    "1. no list either",
    "> no quotation, ``` no fence",
    "right\u{202e}left\u{202c} zero\u{200b}width \u{1b}[31mred\u{1b}[0m bell\u{7} \u{0}null",
    "line\nbreak\r\nand\ttab",
    "α β Σ Δ ↺ ↑ ↗ √ ° · × − ≤ ≈ m² kN·m R₁ “quoted” – — … ½",
    "Łódź, Ærø, ñ, ị, ế — Ж мост — 桁 — 🚣\u{200d}♂️ — क्षि",
    "a-very-long-word-without-any-place-to-break-it-that-goes-on-and-on-and-on-and-on-and-on-and-on-and-on-and-on",
];

pub fn over(above: Formula, below: Formula) -> Formula {
    Formula::Fraction(Box::new(above), Box::new(below))
}

/// A worked reaction and a resolved force, with each kind of formula.
pub fn working() -> Vec<Step> {
    let moment =
        |force: &str, arm: &str| Formula::Product(vec![Formula::number(force, "lbf"), Formula::number(arm, "ft")]);
    let sine = |angle: &str| Formula::Function("sin", Box::new(Formula::number(angle, "°")));
    vec![
        Step {
            label: words("↺ moments about A"),
            sides: vec![
                Formula::Sum(vec![
                    (Sign::Minus, moment("310", "3")),
                    (Sign::Minus, moment("90", "6")),
                    (
                        Sign::Minus,
                        Formula::Product(vec![
                            Formula::Product(vec![Formula::number("170", "lbf"), sine("35")]),
                            Formula::number("9", "ft"),
                        ]),
                    ),
                    (
                        Sign::Plus,
                        Formula::Product(vec![
                            Formula::Product(vec![
                                Formula::number("170", "lbf"),
                                Formula::Function("cos", Box::new(Formula::number("35", "°"))),
                            ]),
                            Formula::number("4.5", "ft"),
                        ]),
                    ),
                    (Sign::Plus, Formula::Product(vec![Formula::symbol("C", "y"), Formula::number("12", "ft")])),
                ]),
                Formula::number("0", ""),
            ],
            remark: Vec::new(),
        },
        Step {
            label: Vec::new(),
            sides: vec![
                Formula::symbol("C", "y"),
                over(
                    over(Formula::number("1720.9", "lbf·ft"), Formula::symbol("a", "")),
                    over(Formula::number("12", "ft"), Formula::number("5", "")),
                ),
                Formula::number("143.4", "lbf"),
            ],
            remark: words("↑ up"),
        },
        Step {
            label: words("joint A, to the right"),
            sides: vec![
                Formula::Sum(vec![
                    (Sign::Plus, Formula::symbol("F", "AB")),
                    (
                        Sign::Plus,
                        Formula::Product(vec![
                            over(Formula::number("3", ""), Formula::number("5.408", "")),
                            Formula::symbol("F", "AD"),
                        ]),
                    ),
                    (Sign::Minus, Formula::number("-74.59", "lbf")),
                ]),
                Formula::number("0", ""),
            ],
            remark: Vec::new(),
        },
        Step {
            label: words("length of A-D"),
            sides: vec![
                Formula::symbol("L", "AD"),
                Formula::Root(Box::new(Formula::Sum(vec![
                    (Sign::Plus, Formula::Power(Box::new(Formula::number("3", "ft")), 2)),
                    (Sign::Plus, Formula::Power(Box::new(Formula::number("4.5", "ft")), 2)),
                ]))),
                Formula::number("5.408", "ft"),
            ],
            remark: words("by Pythagoras"),
        },
        Step {
            label: words("a force resolved already, with a label too long to stand before its equation"),
            sides: vec![
                Formula::symbol("ΣM", "L0-U1"),
                Formula::Sum(vec![
                    (Sign::Plus, Formula::Struck(Box::new(Formula::symbol("F", "1")))),
                    (
                        Sign::Minus,
                        Formula::Product(vec![
                            Formula::number("-2", "kN"),
                            Formula::Sum(vec![
                                (Sign::Plus, Formula::number("1", "m")),
                                (Sign::Minus, Formula::symbol("α", "Ж")),
                            ]),
                        ]),
                    ),
                ]),
            ],
            remark: Vec::new(),
        },
        Step { label: Vec::new(), sides: Vec::new(), remark: words("so nothing is left over") },
    ]
}

pub fn table() -> Table {
    let column = |heading: &str, align| TableColumn { heading: words(heading), align };
    let row = |cells: [&str; 4]| -> Vec<Line> { cells.into_iter().map(words).collect() };
    Table {
        caption: words("Reactions: what the supports do to the structure"),
        columns: vec![
            column("joint", Align::Left),
            column("Fx kN", Align::Point),
            column("turns", Align::Right),
            column("", Align::Left),
        ],
        rows: vec![
            row(["A", "12.5", "1", "↑ up"]),
            row(["B", "-3.25", "12", "a | b"]),
            row(["C", "0", "3", ""]),
            row(["D", "–", "–", "–"]),
        ],
        foot: row(["together", "9.25", "16", ""]),
    }
}

pub fn document() -> Document {
    let heading = |level, text: &str| Block::Heading { level, text: words(text) };
    Document {
        title: "A page with everything".to_owned(),
        blocks: vec![
            Block::Paragraph(vec![
                Inline::Words("Forces follow ".to_owned()),
                Inline::Formula(over(Formula::symbol("F", "AB"), Formula::number("2", "m"))),
                Inline::Words(", as ".to_owned()),
                Inline::Strong("equilibrium".to_owned()),
                Inline::Words(" has it; see ".to_owned()),
                Inline::Code("bar A-B".to_owned()),
                Inline::Words(".".to_owned()),
            ]),
            Block::List(vec![
                vec![Inline::Judged(Judgement::Right, "right".to_owned())],
                vec![Inline::Judged(Judgement::Wrong, "wrong".to_owned())],
                vec![Inline::Judged(Judgement::Doubtful, "doubtful".to_owned())],
            ]),
            Block::Caution(words("An aid to a competent person.")),
            Block::Contents,
            heading(1, "Working"),
            Block::Working(working()),
            heading(3, "A level left out"),
            Block::Table(table()),
            heading(1, "Statement"),
            Block::Source(Source {
                file: "a.kp".to_owned(),
                pieces: vec![
                    (Ink::Note, "/// ridge".to_owned()),
                    (Ink::Plain, "\n".to_owned()),
                    (Ink::Keyword, "title".to_owned()),
                    (Ink::Plain, " ".to_owned()),
                    (Ink::Quoted, "\"a -- b\"".to_owned()),
                    (Ink::Plain, "\n\n\tjoint A: (".to_owned()),
                    (Ink::Number, "0".to_owned()),
                    (Ink::Plain, ", 0)    ".to_owned()),
                    (Ink::Comment, "// a\\b".to_owned()),
                    (Ink::Plain, "\n".to_owned()),
                ],
            }),
        ],
    }
}

/// Hostile words everywhere a page has words.
pub fn hostile() -> Document {
    let all = |text: &str| -> Vec<Block> {
        let cell = || words(text);
        vec![
            Block::Heading { level: 1, text: words(text) },
            Block::Paragraph(vec![
                Inline::Words(text.to_owned()),
                Inline::Strong(text.to_owned()),
                Inline::Code(text.to_owned()),
                Inline::Judged(Judgement::Wrong, text.to_owned()),
                Inline::Formula(Formula::symbol("F", text.chars().take(12).collect::<String>())),
            ]),
            Block::List(vec![words(text)]),
            Block::Caution(words(text)),
            Block::Working(vec![Step {
                label: words(text),
                sides: vec![Formula::symbol("F", text), Formula::number(text, text)],
                remark: words(text),
            }]),
            Block::Table(Table {
                caption: words(text),
                columns: vec![
                    TableColumn { heading: cell(), align: Align::Left },
                    TableColumn { heading: cell(), align: Align::Point },
                ],
                rows: vec![vec![cell(), cell()], vec![cell(), words("1.5")]],
                foot: vec![cell(), cell()],
            }),
            Block::Source(Source { file: text.to_owned(), pieces: vec![(Ink::Note, text.to_owned())] }),
        ]
    };
    let mut blocks = vec![Block::Contents];
    blocks.extend(HOSTILE.iter().flat_map(|text| all(text)));
    Document { title: HOSTILE.join(" "), blocks }
}

/// Headings, sentences that lead to tables or calculations, and so much between
/// them that each comes to stand at the foot of some page.
pub fn leads() -> Document {
    let mut blocks = Vec::new();
    for group in 0..70_usize {
        blocks.extend((0..group % 11).map(|_| Block::Paragraph(words("Some words."))));
        let level = u8::try_from(1 + group % 3).unwrap();
        blocks.push(Block::Heading { level, text: words(format!("Heading {group}")) });
        blocks.push(Block::Paragraph(words(format!("Lead-in {group}:"))));
        if group % 2 == 0 {
            let column = |text: &str| TableColumn { heading: words(text), align: Align::Left };
            let rows = (0..4 + group % 7).map(|row| vec![words(format!("row {row}")), words("more")]).collect();
            let columns = vec![column("first"), column("second")];
            blocks.push(Block::Table(Table { columns, rows, ..Table::default() }));
        } else {
            blocks.push(Block::Working(working()));
        }
    }
    Document { title: "Feet of pages".to_owned(), blocks }
}

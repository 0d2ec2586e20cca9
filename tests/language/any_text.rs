//! No text, however broken or hostile, makes the reader panic, hang or lose
//! its place; and what it says always points into the text.
use kingpost::base::FileId;
use kingpost::check::reading::check_reading;
use kingpost::diagnostic::Slug;
use kingpost::syntax::dump::dump;
use kingpost::syntax::limits::{MAX_BLOCKS, MAX_BRACKETS, MAX_ERRORS, MAX_EXPRESSION_DEPTH, MAX_FILE_BYTES};
use kingpost::syntax::{Parse, SyntaxError, parse};
use proptest::prelude::*;

const EXAMPLES: [&str; 2] = [include_str!("../syntax/boathouse.kp"), include_str!("../syntax/door.kp")];

/// Words and marks that make almost-statements when thrown together.
const SCRAPS: [&str; 64] = [
    "joint",
    "bar",
    "beam",
    "load",
    "moment",
    "expect",
    "case",
    "for",
    "combination",
    "let",
    "roller",
    "section",
    "travel",
    "A",
    "L[i]",
    "L2",
    "12",
    "4.5",
    "kN",
    "kN/m",
    "°",
    "%",
    "per K",
    "per",
    "run",
    "at",
    "joints",
    "from",
    "to",
    "down",
    "left",
    "of",
    "along",
    "toward",
    "hinged",
    "under",
    "within",
    "zero",
    "rigid",
    "sqrt",
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
    "−",
    "*",
    "/",
    "^",
    ".",
    "<=",
    "\"",
    "\"x\"",
    "//",
    "///",
    ";",
    "\n",
];

/// Every span in a tree, in errors and in diagnostics, through their debug text.
fn check_spans(text: &str, shown: &str) {
    for (at, _) in shown.match_indices("Span { start: ") {
        let numbers = &shown[at + "Span { start: ".len()..];
        let (start, rest) = numbers.split_once(", end: ").unwrap();
        let end = rest.split_once(' ').unwrap().0;
        let (start, end): (usize, usize) = (start.parse().unwrap(), end.parse().unwrap());
        assert!(start <= end, "{start}..{end} runs backwards in {text:?}");
        assert!(text.get(start..end).is_some(), "{start}..{end} does not fit {text:?}");
    }
}

fn check(text: &str) -> Parse {
    let parse = parse(FileId::default(), text);
    check_spans(text, &format!("{:?}", parse.tree));
    check_spans(text, &format!("{:?}", parse.errors));
    let found = check_reading(&parse, text);
    check_spans(text, &format!("{found:?}"));
    for diagnostic in &found {
        assert!(!diagnostic.message.contains('\n'), "one line: {}", diagnostic.message);
        assert!(!diagnostic.labels.is_empty() && !diagnostic.help.is_empty(), "{diagnostic:?}");
    }
    let statements = &parse.tree.statements;
    for pair in statements.windows(2) {
        assert!(pair[0].span.end <= pair[1].span.start, "statements overlap in {text:?}");
    }
    dump(&parse.tree, text);
    parse
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_string_is_read(text in "(?s).{0,200}") {
        check(&text);
    }

    #[test]
    fn any_scraps_are_read(scraps in prop::collection::vec((prop::sample::select(SCRAPS.as_slice()), prop::sample::select(["", " ", "\n", "\t"].as_slice())), 0..60)) {
        let text: String = scraps.into_iter().flat_map(|(scrap, blank)| [scrap, blank]).collect();
        check(&text);
    }

    #[test]
    fn damaged_files_are_read(which in 0..EXAMPLES.len(), cuts in prop::collection::vec((any::<prop::sample::Index>(), 0_usize..30, prop::sample::select(SCRAPS.as_slice())), 1..8)) {
        let mut letters: Vec<char> = EXAMPLES[which].chars().collect();
        for (place, length, scrap) in cuts {
            let from = place.index(letters.len() + 1);
            let to = (from + length).min(letters.len());
            letters.splice(from..to, scrap.chars());
        }
        check(&letters.into_iter().collect::<String>());
    }
}

fn only_error(text: &str) -> SyntaxError {
    let mut errors = parse(FileId::default(), text).errors;
    assert_eq!(errors.len(), 1, "{:?}", errors.get(..3.min(errors.len())));
    errors.remove(0)
}

const MILLION: usize = 1_000_000;

/// Other division signs take more than one byte, and begin no comment.
#[test]
fn only_a_slash_begins_a_comment() {
    for sign in ["÷", "\u{2215}", "\u{2044}"] {
        check(&format!("{sign}**/"));
        check(&format!("load A: 4{sign}* 2 */ N"));
    }
}

#[test]
fn a_million_brackets_are_one_error() {
    for open in ["(", "[", "A[", "sqrt(", "(1,"] {
        assert!(matches!(
            only_error(&format!("let a = {}", open.repeat(MILLION))),
            SyntaxError::BracketsTooDeep { .. }
        ));
    }
    let closed = format!("let a = {}1{}", "(".repeat(MILLION / 10), ")".repeat(MILLION / 10));
    assert!(matches!(only_error(&closed), SyntaxError::BracketsTooDeep { .. }));
}

#[test]
fn a_million_operators_are_one_error() {
    for (operator, times) in [("+1", MILLION), ("*1", MILLION / 10), ("^1", MILLION / 10), ("- -1", MILLION / 10)] {
        let text = format!("let a = 1{}", operator.repeat(times));
        assert!(matches!(only_error(&text), SyntaxError::ExpressionTooDeep { .. }), "{operator}");
    }
    let signs = format!("let a = {}1", "-".repeat(MILLION / 10));
    assert!(matches!(only_error(&signs), SyntaxError::ExpressionTooDeep { .. }));
}

#[test]
fn long_lists_are_no_depth() {
    let chain = format!("bar A{}", "-A".repeat(MILLION / 10));
    assert_eq!(parse(FileId::default(), &chain).errors, []);
    let combination = format!("combination a: dead{}", " + 1.5 live".repeat(MILLION / 10));
    assert_eq!(parse(FileId::default(), &combination).errors, []);
    let loads = format!("travel t: 1 kN{} along A-B", ", 1 kN".repeat(MILLION / 10));
    assert_eq!(parse(FileId::default(), &loads).errors, []);
    let neighbours = format!("let a = 1 m{}", " 1 m".repeat(MILLION / 10));
    assert_eq!(parse(FileId::default(), &neighbours).errors, []);
}

#[test]
fn a_million_blocks_are_read_to_the_limit() {
    let opened = parse(FileId::default(), &"{".repeat(MILLION));
    assert!(opened.errors.len() <= MAX_BLOCKS + 3, "{}", opened.errors.len());
    let cases = parse(FileId::default(), &"case a {\n".repeat(MILLION / 10));
    assert!(matches!(cases.errors.as_slice(), [SyntaxError::UnclosedBlock { .. }, SyntaxError::BlocksTooDeep { .. }]));
    let closed = parse(FileId::default(), &"}".repeat(MILLION));
    assert_eq!(closed.errors.len(), MAX_ERRORS + 1);
}

/// A thread has two megabytes; even unoptimised code leaves room for its caller.
#[test]
fn the_limits_themselves_are_read_on_a_small_stack() {
    let small = std::thread::Builder::new().stack_size(5 << 18);
    small.spawn(read_the_limits).unwrap().join().unwrap();
}

fn read_the_limits() {
    let brackets = format!("let a = {}1{}", "(".repeat(MAX_BRACKETS), ")".repeat(MAX_BRACKETS));
    assert_eq!(parse(FileId::default(), &brackets).errors, []);
    let calls = format!("let a = {}1{}", "sqrt(".repeat(MAX_BRACKETS), ")".repeat(MAX_BRACKETS));
    check(&calls);
    let indices = format!("let a = {}1{}", "A[".repeat(MAX_BRACKETS), "]".repeat(MAX_BRACKETS));
    check(&indices);
    let sum = format!("let a = 1{}", "+1".repeat(usize::from(MAX_EXPRESSION_DEPTH) - 1));
    assert_eq!(parse(FileId::default(), &sum).errors, []);
    let blocks = format!("{}{}", "case a {\n".repeat(MAX_BLOCKS), "}\n".repeat(MAX_BLOCKS));
    assert_eq!(parse(FileId::default(), &blocks).errors, []);
    let broken = format!("let a = {}1 2{}", "(".repeat(MAX_BRACKETS), ")".repeat(MAX_BRACKETS));
    assert_eq!(check(&broken).errors.len(), 1);
}

#[test]
fn a_file_that_is_none_is_told_shortly() {
    let bytes: String =
        (0..200_000_u32).map(|at| char::from_u32(at.wrapping_mul(2_654_435_761) % 0xD800).unwrap()).collect();
    let found = parse(FileId::default(), &bytes);
    assert!(found.errors.len() <= MAX_ERRORS + 1);
    assert!(matches!(found.errors.last(), Some(SyntaxError::TooManyErrors { .. })));
    let lines = parse(FileId::default(), &"joint A (0, 0)\n".repeat(20_000));
    assert_eq!(lines.errors.len(), MAX_ERRORS + 1);
}

#[test]
fn a_file_beyond_the_limit_is_not_read() {
    let text = " ".repeat(MAX_FILE_BYTES + 1);
    let parse = parse(FileId::default(), &text);
    let found: Vec<Slug> = check_reading(&parse, &text).iter().map(|found| found.slug).collect();
    assert_eq!(found, [Slug::OverLimit]);
}

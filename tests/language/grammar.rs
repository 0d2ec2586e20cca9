//! The grammar and the parser hold each other: sentences made from
//! `grammar/kingpost.ebnf` parse, every production is a parser function, and
//! every parser function is a production.
use crate::support::dice;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use kingpost::base::FileId;
use kingpost::syntax::parse;
use kingpost::syntax::token::Token;

use dice::Dice;

/// The right-hand side of a production, or a part of it.
#[derive(Clone, Debug)]
enum Node {
    Sequence(Vec<Node>),
    Choice(Vec<Node>),
    Optional(Box<Node>),
    Repeated(Box<Node>),
    /// `{ ? each once ?, a }`
    EachOnce(Box<Node>),
    Literal(String),
    Name(String),
    Told,
}

type Grammar = BTreeMap<String, Node>;

// ---- Reading the grammar ----

struct Reader<'g> {
    rest: &'g str,
}

impl<'g> Reader<'g> {
    fn skip(&mut self) {
        loop {
            self.rest = self.rest.trim_start();
            let Some(comment) = self.rest.strip_prefix("(*") else { return };
            self.rest = comment.split_once("*)").expect("a closed comment").1;
        }
    }

    fn take(&mut self, mark: &str) -> bool {
        self.skip();
        match self.rest.strip_prefix(mark) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    fn expect(&mut self, mark: &str) {
        assert!(self.take(mark), "`{mark}` is missing before {:.60}", self.rest);
    }

    fn until(&mut self, mark: &str) -> &'g str {
        let (inside, rest) = self.rest.split_once(mark).expect(mark);
        self.rest = rest;
        inside
    }

    fn identifier(&mut self) -> String {
        self.skip();
        let end = self.rest.find(|next: char| !next.is_alphanumeric() && next != '_').unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at(end);
        assert!(!word.is_empty(), "a name is missing before {:.60}", self.rest);
        self.rest = rest;
        word.to_string()
    }

    fn grammar(mut self) -> Grammar {
        let mut grammar = Grammar::new();
        loop {
            self.skip();
            if self.rest.is_empty() {
                return grammar;
            }
            let name = self.identifier();
            self.expect("=");
            let node = self.choice();
            self.expect(";");
            assert!(grammar.insert(name.clone(), node).is_none(), "{name} stands twice");
        }
    }

    fn choice(&mut self) -> Node {
        let mut ways = vec![self.sequence()];
        while self.take("|") {
            ways.push(self.sequence());
        }
        if ways.len() == 1 { ways.remove(0) } else { Node::Choice(ways) }
    }

    fn sequence(&mut self) -> Node {
        let mut parts = vec![self.primary()];
        while self.take(",") {
            parts.push(self.primary());
        }
        if parts.len() == 1 { parts.remove(0) } else { Node::Sequence(parts) }
    }

    fn primary(&mut self) -> Node {
        if self.take("\"") {
            return Node::Literal(self.until("\"").to_string());
        }
        if self.take("?") {
            self.until("?");
            return Node::Told;
        }
        for (open, close) in [("(", ")"), ("[", "]"), ("{", "}")] {
            if self.take(open) {
                let each_once = open == "{" && self.take("? each once ?");
                if each_once {
                    self.expect(",");
                }
                let inner = Box::new(self.choice());
                self.expect(close);
                return match open {
                    "(" => *inner,
                    "[" => Node::Optional(inner),
                    _ if each_once => Node::EachOnce(inner),
                    _ => Node::Repeated(inner),
                };
            }
        }
        Node::Name(self.identifier())
    }
}

fn grammar() -> Grammar {
    let text = std::fs::read_to_string(root().join("grammar/kingpost.ebnf")).expect("the grammar");
    Reader { rest: &text }.grammar()
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn is_token(name: &str) -> bool {
    name.chars().all(|letter| letter.is_uppercase() || letter == '_')
}

fn visit(node: &Node, see: &mut impl FnMut(&Node)) {
    see(node);
    match node {
        Node::Sequence(parts) | Node::Choice(parts) => parts.iter().for_each(|part| visit(part, see)),
        Node::Optional(inner) | Node::Repeated(inner) | Node::EachOnce(inner) => visit(inner, see),
        Node::Literal(_) | Node::Name(_) | Node::Told => {}
    }
}

// ---- Making sentences ----

struct Maker<'g> {
    grammar: &'g Grammar,
    /// How deep each production goes at the least.
    depths: BTreeMap<String, usize>,
    dice: Dice,
    used: BTreeSet<String>,
    /// In a combination no word is a unit.
    in_combination: bool,
}

/// Beyond this depth the shallowest way is taken.
const DEEP: usize = 26;

impl<'g> Maker<'g> {
    fn new(grammar: &'g Grammar, seed: u64) -> Self {
        let mut depths = BTreeMap::new();
        // Settles after as many rounds as the deepest shallowest way is deep.
        for _ in 0..grammar.len() {
            for (name, node) in grammar {
                if let Some(depth) = least_depth(node, &depths) {
                    depths.insert(name.clone(), depth + 1);
                }
            }
        }
        for name in grammar.keys() {
            assert!(depths.contains_key(name), "{name} has no end");
        }
        Maker { grammar, depths, dice: Dice(seed), used: BTreeSet::new(), in_combination: false }
    }

    fn make(&mut self, node: &Node, depth: usize, out: &mut Vec<String>) {
        match node {
            Node::Sequence(parts) => parts.iter().for_each(|part| self.make(part, depth, out)),
            Node::Choice(ways) => {
                let way = self.choose(ways, depth);
                self.make(way, depth, out);
            }
            Node::Optional(inner) => {
                if depth < DEEP && self.dice.below(2) == 0 && !(self.in_combination && begins_with_unit(inner)) {
                    self.make(inner, depth, out);
                }
            }
            Node::Repeated(inner) => {
                while depth < DEEP && self.dice.below(3) == 0 {
                    self.make(inner, depth, out);
                }
            }
            Node::EachOnce(inner) => {
                let Node::Name(name) = inner.as_ref() else { panic!("each once takes a production") };
                let Some(Node::Choice(ways)) = self.grammar.get(name) else { panic!("{name} has no alternatives") };
                self.used.insert(name.clone());
                let mut ways: Vec<&Node> = ways.iter().collect();
                while !ways.is_empty() && depth < DEEP && self.dice.below(2) == 0 {
                    let way = ways.remove(self.dice.below(ways.len()));
                    self.make(way, depth + 1, out);
                }
            }
            Node::Literal(text) => out.push(text.clone()),
            Node::Name(name) if is_token(name) => {
                self.used.insert(name.clone());
                let token = self.token(name);
                out.push(token);
            }
            Node::Name(name) => {
                self.used.insert(name.clone());
                let outside = self.in_combination;
                self.in_combination |= name == "combination";
                let grammar = self.grammar;
                let node = grammar.get(name).unwrap_or_else(|| panic!("{name} is not defined"));
                self.make(node, depth + 1, out);
                self.in_combination = outside;
            }
            Node::Told => panic!("only tokens are told in words"),
        }
    }

    fn choose<'n>(&mut self, ways: &'n [Node], depth: usize) -> &'n Node {
        if depth < DEEP {
            return &ways[self.dice.below(ways.len())];
        }
        let least = ways.iter().filter_map(|way| least_depth(way, &self.depths)).min();
        let shallow: Vec<&Node> = ways.iter().filter(|way| least_depth(way, &self.depths) <= least).collect();
        shallow[self.dice.below(shallow.len())]
    }

    fn token(&mut self, name: &str) -> String {
        let ways: &[&str] = match name {
            // Words that are read by their place are names where a name is wanted.
            "NAME" => &[
                "A", "K", "L3", "_q", "Ω", "été", "span", "at", "from", "to", "by", "per", "under", "within", "of",
                "above", "below", "cw", "joints", "run", "rise", "lifts", "off", "spaced", "long", "reaction", "x",
                "tension", "sin", "length", "kN",
            ],
            "STEM" => &["L", "U_", "rise", "x", "å"],
            "UNIT_WORD" => &["m", "kN", "mm", "ft", "lbf"],
            "SLUG_WORD" => &["unused", "let", "shallow", "load", "at"],
            "NUMBER" => &["0", "12", "4.5", "1_000", "2.5e3", "6e-6"],
            "UNIT" => &["kN", "kN/m^2", "m²", "kN·m", "%", "°", "deg", "per K", "lbf/ft^3", "m^-1"],
            "TEXT" => &["\"\"", "\"a roof\"", "\"a \\\"b\\\" \\\\\"", "\"// no comment\""],
            "END" => &["\n", "\r\n", "\n\n", " // so\n", " /// a note\n"],
            other => panic!("no such token: {other}"),
        };
        ways[self.dice.below(ways.len())].to_string()
    }
}

fn begins_with_unit(node: &Node) -> bool {
    match node {
        Node::Sequence(parts) => parts.first().is_some_and(begins_with_unit),
        Node::Name(name) => name == "UNIT",
        _ => false,
    }
}

fn least_depth(node: &Node, depths: &BTreeMap<String, usize>) -> Option<usize> {
    match node {
        Node::Sequence(parts) => {
            parts.iter().try_fold(0, |deepest: usize, part| Some(deepest.max(least_depth(part, depths)?)))
        }
        Node::Choice(ways) => ways.iter().filter_map(|way| least_depth(way, depths)).min(),
        Node::Optional(_) | Node::Repeated(_) | Node::EachOnce(_) => Some(0),
        Node::Literal(_) | Node::Told => Some(0),
        Node::Name(name) => depths.get(name).copied(),
    }
}

// ---- What must hold ----

#[test]
fn sentences_of_every_production_parse() {
    let grammar = grammar();
    let mut used = BTreeSet::new();
    let statement = Node::Name("statement".to_string());
    for seed in 0..4000 {
        let mut maker = Maker::new_from(&grammar, seed);
        // Most seeds make one statement, so that a failure is small; the rest whole files.
        let mut words = Vec::new();
        let start = if seed % 10 == 0 { Node::Name("file".to_string()) } else { statement.clone() };
        maker.make(&start, 0, &mut words);
        let text = words.join(" ");
        let parse = parse(FileId::default(), &text);
        assert_eq!(parse.errors, [], "seed {seed}:\n{text}");
        assert!(seed % 10 == 0 || parse.tree.statements.len() == 1, "seed {seed} is one statement:\n{text}");
        used.append(&mut maker.used);
    }
    let unused: Vec<&String> = grammar.keys().filter(|name| !used.contains(*name) && *name != "file").collect();
    assert_eq!(unused, [] as [&String; 0], "productions no sentence came by");
}

impl<'g> Maker<'g> {
    fn new_from(grammar: &'g Grammar, seed: u64) -> Self {
        thread_local! {
            static DEPTHS: std::cell::OnceCell<BTreeMap<String, usize>> = const { std::cell::OnceCell::new() };
        }
        let depths = DEPTHS.with(|known| known.get_or_init(|| Maker::new(grammar, 0).depths).clone());
        Maker { grammar, depths, dice: Dice(seed), used: BTreeSet::new(), in_combination: false }
    }
}

#[test]
fn every_production_is_used_and_every_name_is_defined() {
    let grammar = grammar();
    let mut named = BTreeSet::from(["file".to_string()]);
    for node in grammar.values() {
        visit(node, &mut |node| {
            if let Node::Name(name) = node {
                named.insert(name.clone());
            }
        });
    }
    let defined: BTreeSet<String> = grammar.keys().cloned().collect();
    assert_eq!(named, defined);
}

#[test]
fn the_statement_keywords_are_the_reserved_words() {
    let grammar = grammar();
    let Some(Node::Choice(statements)) = grammar.get("statement") else { panic!("statement is a choice") };
    let mut starts = BTreeSet::new();
    let headers = ["case_header", "for_header"].map(|header| Node::Name(header.to_string()));
    for statement in statements.iter().chain(&headers) {
        first_words(statement, &grammar, &mut starts);
    }
    let reserved: BTreeSet<String> = Token::KEYWORDS.iter().map(|keyword| keyword.spelling().to_string()).collect();
    assert_eq!(starts, reserved);
}

fn first_words(node: &Node, grammar: &Grammar, words: &mut BTreeSet<String>) {
    match node {
        Node::Sequence(parts) => first_words(&parts[0], grammar, words),
        Node::Choice(ways) => ways.iter().for_each(|way| first_words(way, grammar, words)),
        Node::Literal(text) => {
            words.insert(text.clone());
        }
        Node::Name(name) => first_words(&grammar[name], grammar, words),
        other => panic!("a statement begins with {other:?}"),
    }
}

/// The parser's source files, without the types that every production shares,
/// the tree's builder, and what is done with errors.
fn sources() -> Vec<PathBuf> {
    let folder = root().join("src/syntax/parser");
    let mut files = vec![root().join("src/syntax/parser.rs")];
    files.extend(std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()));
    files.retain(|file| {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        name.ends_with(".rs") && !["rule.rs", "builder.rs", "fault.rs", "tests.rs"].contains(&name.as_str())
    });
    files
}

#[test]
fn every_production_is_a_parser_function_and_every_parser_function_a_production() {
    let grammar = grammar();
    let mut functions = BTreeSet::new();
    let mut parsers = BTreeSet::new();
    for file in sources() {
        let text = std::fs::read_to_string(&file).unwrap();
        for (at, _) in text.match_indices("fn ") {
            let header = text[at + 3..].split_once('{').map_or("", |(header, _)| header);
            let name: String = header.chars().take_while(|next| next.is_alphanumeric() || *next == '_').collect();
            let gives = header.rsplit_once("->").map_or("", |(_, gives)| gives.trim());
            if gives.starts_with("Rule<") || gives.starts_with("impl Production<") {
                parsers.insert(name.clone());
            }
            functions.insert(name);
        }
    }
    let productions: BTreeSet<String> = grammar.keys().filter(|name| !is_token(name)).cloned().collect();
    let without_function: Vec<&String> = productions.difference(&functions).collect();
    let without_production: Vec<&String> = parsers.difference(&productions).collect();
    assert_eq!(without_function, [] as [&String; 0], "productions without a function");
    assert_eq!(without_production, [] as [&String; 0], "parser functions without a production");
}

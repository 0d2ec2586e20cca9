//! A tree as one line a statement, for tests and for looking at.
//!
//! Must not know: what a name stands for.

use std::fmt::Write;

use super::tree::*;
use crate::base::Span;

/// Every statement of a tree on a line of its own, blocks indented. Operators
/// come first: `(+ a (* 2 b))`.
pub fn dump(tree: &Tree, text: &str) -> String {
    let mut out = String::new();
    let dumper = Dumper { tree, text };
    for statement in &tree.statements {
        dumper.statement(&mut out, statement, 0);
    }
    out
}

#[derive(Clone, Copy)]
struct Dumper<'t> {
    tree: &'t Tree,
    text: &'t str,
}

impl<'t> Dumper<'t> {
    fn word(self, span: Span) -> &'t str {
        span.text(self.text)
    }

    fn statement(self, out: &mut String, statement: &Statement, depth: usize) {
        let indent = "  ".repeat(depth);
        if let Some(note) = statement.note {
            let _ = writeln!(out, "{indent}note {:?}", self.word(note));
        }
        let body = match &statement.kind {
            StatementKind::Case { name, body } => {
                let _ = writeln!(out, "{indent}case {}", self.name(*name));
                body
            }
            StatementKind::For(repeat) => {
                let by = repeat.by.map_or(String::new(), |by| format!(" by {}", self.expr(by)));
                let (from, to) = (self.expr(repeat.from), self.expr(repeat.to));
                let _ = writeln!(out, "{indent}for {} from {from} to {to}{by}", self.word(repeat.variable.span));
                &repeat.body
            }
            kind => {
                let _ = writeln!(out, "{indent}{}", self.line(kind));
                return;
            }
        };
        for inner in body {
            self.statement(out, inner, depth + 1);
        }
    }

    fn line(self, kind: &StatementKind) -> String {
        match kind {
            StatementKind::Title(inside) => format!("title {:?}", self.word(*inside)),
            StatementKind::Units(units) => {
                let deflection = units.deflection.map_or("-", |unit| self.word(unit));
                format!("units {} {} {deflection}", self.word(units.length), self.word(units.force))
            }
            StatementKind::Moments(turn) => format!("moments {}", self.turn(*turn)),
            StatementKind::Figures(count) => format!("figures {}", self.expr(*count)),
            StatementKind::Let { name, value } => format!("let {} = {}", self.name(*name), self.expr(*value)),
            StatementKind::Joint { name, at } => format!("joint {}: {}", self.name(*name), self.expr(*at)),
            StatementKind::Member(member) => self.member(member),
            StatementKind::Hinge(joints) => format!("hinge {}", self.names(*joints)),
            StatementKind::Support(support) => self.support(support),
            StatementKind::Settle { joint, amount, turn } => {
                let turn = turn.map_or(String::new(), |turn| format!(" {}", self.turn(turn)));
                format!("settle {}: {}{turn}", self.name(*joint), self.expr(*amount))
            }
            StatementKind::Load(load) => self.load(load),
            StatementKind::Moment(moment) => {
                let turn = moment.turn.map_or(String::new(), |turn| format!(" {}", self.turn(turn)));
                let at = self.clause("at", moment.at);
                format!("moment {}: {}{turn}{at}", self.place(moment.place), self.expr(moment.value))
            }
            StatementKind::Heat { chain, rise } => format!("heat {}: {}", self.chain(*chain), self.expr(*rise)),
            StatementKind::Misfit { chain, amount, sense } => {
                let sense = match sense {
                    Some(Fit::Long) => " long",
                    Some(Fit::Short) => " short",
                    None => "",
                };
                format!("misfit {}: {}{sense}", self.chain(*chain), self.expr(*amount))
            }
            StatementKind::Weigh { chains } if chains.is_empty() => "weigh all".to_string(),
            StatementKind::Weigh { chains } => format!("weigh {}", self.chains(chains)),
            StatementKind::Combination { name, terms } => {
                let terms: Vec<String> = terms.iter().map(|term| self.term(term)).collect();
                format!("combination {}: {}", self.name(*name), terms.join(" "))
            }
            StatementKind::Travel(travel) => {
                let (loads, spacings) = (self.list(travel.loads), self.list(travel.spacings));
                format!(
                    "travel {}: [{loads}] spaced [{spacings}] along {}",
                    self.name(travel.name),
                    self.chain(travel.chain)
                )
            }
            StatementKind::Material { name, properties } => {
                format!("material {}: {}", self.name(*name), self.properties(properties))
            }
            StatementKind::Section { name, material, properties } => {
                let material = material.map_or("-".to_string(), |material| self.name(material));
                format!("section {}: {material} {}", self.name(*name), self.properties(properties))
            }
            StatementKind::Use { path, with } => {
                let with =
                    with.iter().map(|With { name, value }| format!(" {} = {}", self.name(*name), self.expr(*value)));
                format!("use {:?}{}", self.word(*path), with.collect::<String>())
            }
            StatementKind::Lint { action, slug } => {
                let action = match action {
                    LintAction::Allow => "allow",
                    LintAction::Deny => "deny",
                };
                format!("{action} {}", self.word(*slug))
            }
            StatementKind::Expect(expect) => self.expect(expect),
            StatementKind::Case { .. } | StatementKind::For(_) => String::new(),
        }
    }

    fn turn(self, turn: Turn) -> &'static str {
        match turn {
            Turn::Clockwise => "cw",
            Turn::Counterclockwise => "ccw",
        }
    }

    fn member(self, member: &MemberStatement) -> String {
        let kind = member.kind.word();
        let section = member.section.map_or(String::new(), |section| format!(": {}", self.name(section)));
        let hinged = match member.hinged.is_empty() {
            true => String::new(),
            false => format!(" hinged at {}", self.names(member.hinged)),
        };
        format!("{kind} {}{section}{hinged}", self.chains(&member.chains))
    }

    fn support(self, support: &SupportStatement) -> String {
        let mut line = format!("{} {}", support.kind.word(), self.names(support.joints));
        if let Some(along) = support.along {
            let _ = write!(line, " along {}", self.direction(along));
        }
        if let Some(pushes) = support.pushes {
            let _ = write!(line, " pushes {}", self.direction(pushes));
        }
        if support.lifts_off.is_some() {
            line.push_str(" lifts off");
        }
        if !support.properties.is_empty() {
            let _ = write!(line, ": {}", self.properties(&support.properties));
        }
        line
    }

    fn load(self, load: &LoadStatement) -> String {
        let mut line = format!("load {}: {}", self.place(load.place), self.expr(load.value));
        line.push_str(&self.clause("to", load.to_value));
        if let (Some(from), Some(to)) = (load.from, load.to) {
            let _ = write!(line, " [{} .. {}]", self.expr(from), self.expr(to));
        }
        match load.measure {
            Some((Measure::PerRun, _)) => line.push_str(" per run"),
            Some((Measure::PerRise, _)) => line.push_str(" per rise"),
            None => {}
        }
        if load.at_joints.is_some() {
            line.push_str(" at joints");
        }
        line.push_str(&self.clause("at", load.at));
        line
    }

    fn expect(self, expect: &ExpectStatement) -> String {
        let not = if expect.not.is_some() { "not " } else { "" };
        let claim = match &expect.claim {
            Claim::Determinate => "determinate".to_string(),
            Claim::Indeterminate(degree) => format!("indeterminate{}", self.clause("", *degree)),
            Claim::Unstable => "unstable".to_string(),
            Claim::Value(claim) => self.value_claim(claim),
        };
        format!("expect {not}{claim}")
    }

    fn value_claim(self, claim: &ValueClaim) -> String {
        let mut line = format!("{} {}", self.word(claim.what_span), self.place(claim.place));
        match claim.component {
            Some(Component::X(_)) => line.push_str(" .x"),
            Some(Component::Y(_)) => line.push_str(" .y"),
            Some(Component::Along(direction)) => {
                let _ = write!(line, " {}", self.direction(direction));
            }
            None => {}
        }
        if let Some((sense, _)) = claim.place_sense {
            let _ = write!(line, " {sense:?}");
        }
        line.push_str(&self.clause("at", claim.at));
        line.push_str(match claim.relation {
            Relation::Equals => " : ",
            Relation::AtMost => " <= ",
            Relation::AtLeast => " >= ",
        });
        match claim.value {
            ClaimedValue::Zero(_) => line.push_str("zero"),
            ClaimedValue::Value(value) => line.push_str(&self.expr(value)),
        }
        if let Some((sense, _)) = claim.sense {
            let _ = write!(line, " {sense:?}");
        }
        line.push_str(&self.clause("within", claim.within));
        match claim.under {
            Some(Under::All(_)) => line.push_str(" under all"),
            Some(Under::Case(name)) => {
                let _ = write!(line, " under {}", self.name(name));
            }
            None => {}
        }
        line
    }

    fn clause(self, word: &str, value: Option<ExprId>) -> String {
        let space = if word.is_empty() { "" } else { " " };
        value.map_or(String::new(), |value| format!("{space}{word} {}", self.expr(value)))
    }

    fn term(self, term: &CombinationTerm) -> String {
        let sign = if term.negative { '-' } else { '+' };
        let factor = term.factor.map_or(String::new(), |factor| format!("{} ", self.expr(factor)));
        format!("({sign} {factor}{})", self.name(term.name))
    }

    fn properties(self, properties: &[Property]) -> String {
        let property = |property: &Property| match property.value {
            PropertyValue::Given(value) => format!("{}={}", self.word(property.name), self.expr(value)),
            PropertyValue::Rigid(_) => format!("{}=rigid", self.word(property.name)),
        };
        properties.iter().map(property).collect::<Vec<_>>().join(", ")
    }

    fn name(self, name: NameRef) -> String {
        match name.index.is_empty() {
            true => self.word(name.word).to_string(),
            false => format!("{}[{}]", self.word(name.word), self.list(name.index)),
        }
    }

    fn names(self, names: Range) -> String {
        self.tree.links(names).iter().map(|name| self.name(*name)).collect::<Vec<_>>().join(", ")
    }

    fn list(self, list: Range) -> String {
        self.tree.list(list).iter().map(|item| self.expr(*item)).collect::<Vec<_>>().join(", ")
    }

    fn chain(self, chain: Chain) -> String {
        self.tree.links(chain.links).iter().map(|name| self.name(*name)).collect::<Vec<_>>().join("-")
    }

    fn chains(self, chains: &[Chain]) -> String {
        chains.iter().map(|chain| self.chain(*chain)).collect::<Vec<_>>().join(", ")
    }

    fn place(self, place: Place) -> String {
        match place {
            Place::Joint(name) => self.name(name),
            Place::Chain(chain) => self.chain(chain),
        }
    }

    fn direction(self, direction: Direction) -> String {
        match direction.kind {
            DirectionKind::Word(word) => self.cardinal(word).to_string(),
            DirectionKind::FromHorizontal { angle, vertical, horizontal } => {
                let vertical = if vertical == Cardinal::Up { "above" } else { "below" };
                format!("<{} {vertical} {}>", self.expr(angle), self.cardinal(horizontal))
            }
            DirectionKind::FromVertical { angle, horizontal, vertical } => {
                format!("<{} {} of {}>", self.expr(angle), self.cardinal(horizontal), self.cardinal(vertical))
            }
            DirectionKind::Value(value) => self.expr(value),
            DirectionKind::Toward(joint) => format!("toward {}", self.name(joint)),
        }
    }

    fn cardinal(self, word: Cardinal) -> &'static str {
        match word {
            Cardinal::Right => "right",
            Cardinal::Up => "up",
            Cardinal::Left => "left",
            Cardinal::Down => "down",
        }
    }

    fn expr(self, id: ExprId) -> String {
        let Some(expr) = self.tree.expr(id) else { return "?".to_string() };
        let unit = |unit: Option<Span>| unit.map_or(String::new(), |unit| format!("'{}", self.word(unit)));
        match expr.kind {
            ExprKind::Number { number, unit: of } => format!("{}{}", self.word(number), unit(of)),
            ExprKind::Neighbours(parts) => format!("<{}>", self.list(parts)),
            ExprKind::Name(name) => self.name(name),
            ExprKind::Field { of, axis } => {
                let axis = if axis == Axis::X { "x" } else { "y" };
                format!("{}.{axis}", self.expr(of))
            }
            ExprKind::Negative(inner) => format!("(neg {})", self.expr(inner)),
            ExprKind::Binary { op, left, right } => {
                let op = match op {
                    BinaryOp::Add => '+',
                    BinaryOp::Subtract => '-',
                    BinaryOp::Multiply => '*',
                    BinaryOp::Divide => '/',
                    BinaryOp::Power => '^',
                };
                format!("({op} {} {})", self.expr(left), self.expr(right))
            }
            ExprKind::Call { function, arguments } => format!("{function:?}({})", self.list(arguments)),
            ExprKind::ChainCall { function, chain } => format!("{function:?}({})", self.chain(chain)),
            ExprKind::Vector { x, y, unit: of } => format!("[{}, {}]{}", self.expr(x), self.expr(y), unit(of)),
            ExprKind::Group { inner, unit: of } => format!("({}){}", self.expr(inner), unit(of)),
            ExprKind::Directed { magnitude, direction } => {
                format!("(@ {} {})", self.expr(magnitude), self.direction(direction))
            }
            ExprKind::Pi => "pi".to_string(),
        }
    }
}

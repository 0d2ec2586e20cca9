//! A reader with a pencil: takes a printed solution and works every equation
//! out again from its own printed numbers, with the doubt that rounding leaves
//! in them, units included.
//!
//! A number of fewer significant figures than results are printed to is exact
//! (given, or a whole number); any other is right to half a unit of its last
//! figure. The page says how many figures these are.

use std::collections::BTreeMap;

use kingpost::quantity::{Dimension, parse_unit};

/// What double precision leaves in doubt.
const SLACK: f64 = 1e-12;

/// A value with its doubt, in SI units.
#[derive(Clone, Copy, Debug)]
pub struct Doubtful {
    pub low: f64,
    pub high: f64,
    /// Absent for 0, which fits any.
    dimension: Option<Dimension>,
    /// The largest term that went into it.
    scale: f64,
}

impl Doubtful {
    fn new(a: f64, b: f64, dimension: Option<Dimension>, scale: f64) -> Doubtful {
        Doubtful { low: a.min(b), high: a.max(b), dimension, scale: scale.max(a.abs()).max(b.abs()) }
    }

    pub fn holds(&self, value: f64) -> bool {
        let slack = SLACK * self.scale.max(value.abs());
        self.low - slack <= value && value <= self.high + slack
    }

    fn plus(self, other: Doubtful, sign: f64) -> Result<Doubtful, String> {
        let dimension = match (self.dimension, other.dimension) {
            (Some(a), Some(b)) if a != b => return Err(format!("{a:?} and {b:?} added")),
            (a, b) => a.or(b),
        };
        let (low, high) = if sign > 0.0 { (other.low, other.high) } else { (-other.high, -other.low) };
        let scale = self.scale.max(other.scale);
        Ok(Doubtful { low: self.low + low, high: self.high + high, dimension, scale })
    }

    fn times(self, other: Doubtful) -> Doubtful {
        let products = [self.low * other.low, self.low * other.high, self.high * other.low, self.high * other.high];
        let (low, high) = products.iter().fold((f64::MAX, f64::MIN), |(low, high), p| (low.min(*p), high.max(*p)));
        let dimension = match (self.dimension, other.dimension) {
            (Some(a), Some(b)) => Some(a.times(b).unwrap()),
            _ => None,
        };
        Doubtful { low, high, dimension, scale: self.scale * other.scale }
    }

    fn over(self, other: Doubtful) -> Result<Doubtful, String> {
        if other.low <= 0.0 && other.high >= 0.0 {
            return Err("divided by what may be zero".to_owned());
        }
        let dimension = other.dimension.map(|d| Dimension::PURE.over(d).unwrap());
        let inverse = Doubtful { low: 1.0 / other.high, high: 1.0 / other.low, dimension, scale: 0.0 };
        let mut result = self.times(Doubtful { scale: 1.0 / other.low.abs().min(other.high.abs()), ..inverse });
        result.low = result.low.min(result.high);
        Ok(result)
    }

    fn mapped(self, f: impl Fn(f64) -> f64, dimension: Option<Dimension>) -> Doubtful {
        Doubtful::new(f(self.low), f(self.high), dimension, f(self.scale).abs())
    }
}

/// To how many figures a page says that results are printed.
#[derive(Clone, Copy)]
struct Figures {
    count: usize,
    /// The doubt that a few roundings leave, of what was rounded.
    most_doubt: f64,
}

impl Default for Figures {
    fn default() -> Figures {
        Figures { count: 3, most_doubt: 0.04 }
    }
}

impl Figures {
    /// Everything is exact.
    const EXACT: Figures = Figures { count: usize::MAX, most_doubt: 0.0 };

    fn of(text: &str) -> Figures {
        let said = text.split_once("Results are printed to ").map(|(_, rest)| rest.split(' ').next().unwrap_or(""));
        // A number that begins with 1 has no figure more here, and weighs less.
        let stated = |count: usize| Figures { count, most_doubt: 10.0 * 10_f64.powi(1 - count as i32) };
        said.and_then(|count| count.parse().ok()).map_or_else(Figures::default, stated)
    }
}

/// What the reader has met on a page.
#[derive(Default)]
pub struct Reader {
    figures: Figures,
    pub symbols: BTreeMap<String, Doubtful>,
    /// Equations whose sides were compared.
    pub checked: usize,
    /// Values stated without an equation, and expressions in x, which are
    /// checked where a number is put in.
    pub stated: usize,
    /// Sums in tables.
    pub table_rows: usize,
    /// Shears integrated to moments.
    pub slopes: usize,
    /// Exact values of the answers, by the name in their line.
    pub exact: Vec<(String, Doubtful)>,
    pub faults: Vec<String>,
    /// Terms of flexibility coefficients worked out again from their factors.
    pub terms: usize,
    /// Chains that cannot be worked out before all symbols are known.
    waiting: Vec<String>,
    stretch: Stretch,
    coefficient: Coefficient,
    /// Forces in the released structure under the loads, by their names: bare
    /// numbers of the page's own units.
    under_loads: BTreeMap<String, Doubtful>,
    /// The same under one unit of each redundant.
    one: BTreeMap<String, BTreeMap<usize, Doubtful>>,
}

/// The terms of one flexibility coefficient, while they are read.
#[derive(Default)]
struct Coefficient {
    /// The one whose terms are being told, and those met so far.
    open: Option<(String, Vec<Doubtful>)>,
    /// What the table of axial forces gives to each.
    axial: BTreeMap<String, Doubtful>,
    /// Members by name with L/EA, ΔL and the forces N₀, N₁, … of that table.
    members: BTreeMap<String, Vec<(String, Doubtful)>>,
}

/// The expressions in x that are being followed.
#[derive(Default)]
struct Stretch {
    shear: Option<String>,
    moment: Option<String>,
    span: Option<Doubtful>,
}

/// Units that may follow a number, as this program prints them.
const UNITS: [&str; 17] =
    ["kN", "MN", "GN", "N", "kip", "lbf", "kgf", "mm", "cm", "km", "m", "ft", "in", "rad", "GPa", "ksi", "K"];

impl Reader {
    /// Reads a page printed without a limit of width.
    pub fn read(text: &str) -> Reader {
        Reader { figures: Figures::of(text), ..Reader::default() }.go_on(text)
    }

    /// Reads a later case of a page: the released structure is that of the first.
    pub fn read_after(text: &str, first: &Reader) -> Reader {
        let is_kept = |name: &String| name.starts_with('δ') && !name.contains('₀');
        let kept = first.symbols.iter().filter(|(name, _)| is_kept(name));
        let reader = Reader {
            figures: first.figures,
            symbols: kept.map(|(name, value)| (name.clone(), *value)).collect(),
            coefficient: Coefficient { members: first.coefficient.members.clone(), ..Coefficient::default() },
            one: first.one.clone(),
            ..Reader::default()
        };
        reader.go_on(text)
    }

    fn go_on(self, text: &str) -> Reader {
        let mut reader = self;
        let lines: Vec<&str> = text.lines().collect();
        let mut index = 0;
        while index < lines.len() {
            let header = lines[index].trim();
            let taken = reader.table(header, &lines[index + 1..]);
            if taken > 0 {
                index += taken + 1;
                continue;
            }
            reader.line(lines[index]);
            index += 1;
        }
        reader.end_stretch();
        for chain in std::mem::take(&mut reader.waiting) {
            reader.chain(&chain, true);
        }
        reader
    }

    fn fault(&mut self, line: &str, why: &str) {
        self.faults.push(format!("{why}: {line}"));
    }

    /// One line outside a table.
    fn line(&mut self, line: &str) {
        if let Some(name) = line.strip_prefix("Terms of ").and_then(|rest| rest.split(' ').next()) {
            self.coefficient.open = Some((name.to_owned(), Vec::new()));
            return;
        }
        // A term that has no factors on its own line: a movement as it is given, or the table's sum.
        if let (Some((name, terms)), false, true) =
            (&mut self.coefficient.open, line.contains('='), line.starts_with("  "))
        {
            let parts = segments(line);
            let name = name.clone();
            let value = Parser::new(parts.last().unwrap_or(&""), &self.symbols, self.figures).whole();
            match value {
                Ok(value) => {
                    if parts[0] == "axial forces"
                        && !self.coefficient.axial.get(&name).is_some_and(|sum| meet(sum, &value))
                    {
                        self.faults.push(format!("not the table's sum for {name}: {line}"));
                    }
                    terms.push(value);
                    self.terms += 1;
                }
                Err(why) => self.faults.push(format!("{why}: {line}")),
            }
            return;
        }
        if !line.contains('=') {
            if line.starts_with("Beam ") || line.starts_with("From ") {
                self.end_stretch();
            }
            return;
        }
        let trimmed = line.trim();
        if let Some((count, _)) = trimmed.split_once(": the structure is stable") {
            for part in count.split(", ") {
                let part: String = part.replace(" joints give ", " = ").replace(" equations", "");
                let words = [" bars", " bar", " reactions", " reaction", " unknowns"];
                let bare = words.iter().fold(part, |part, word| part.replace(word, ""));
                if bare.contains("= ") && !bare.contains(|c: char| c.is_alphabetic()) {
                    let bare = bare.split_once(" = ").map_or(bare.clone(), |(left, right)| {
                        if right.contains(" = ") { right.to_owned() } else { format!("{left} = {right}") }
                    });
                    self.chain(&bare, true);
                }
            }
            return;
        }
        let trimmed = trimmed.strip_prefix("- ").unwrap_or(trimmed);
        if self.coefficient.open.is_some() && !trimmed.contains('δ') {
            return self.term(trimmed);
        }
        for segment in segments(trimmed) {
            for piece in segment.split(", ").filter(|piece| piece.contains('=')) {
                self.piece(piece);
            }
        }
    }

    /// One term of a coefficient: its factors give it.
    fn term(&mut self, line: &str) {
        let chain = segments(line).pop().unwrap_or("").to_owned();
        let before = self.faults.len();
        self.chain(&chain, true);
        let value = self.value(chain.rsplit(" = ").next().unwrap_or(""));
        if let (Some((_, terms)), Ok(value), true) = (&mut self.coefficient.open, value, before == self.faults.len()) {
            terms.push(value);
            self.terms += 1;
        }
    }

    /// A coefficient is the sum of the terms told above it, each once, or of the
    /// table's column.
    fn coefficient(&mut self, chain: &str) {
        let sides: Vec<&str> = chain.split(" = ").collect();
        let name = sides[0];
        let Ok(value) = self.value(sides[sides.len() - 1]) else { return };
        if let Some((open, terms)) = self.coefficient.open.take() {
            let sum = terms.iter().try_fold(Doubtful::new(0.0, 0.0, None, 0.0), |sum, term| sum.plus(*term, 1.0));
            match sum {
                Ok(sum) if open == name && meet(&sum, &value) => {}
                sum => self.fault(chain, &format!("the terms of {open} come to {sum:?}")),
            }
            let signs =
                sides.iter().rev().nth(1).map_or(0, |sum| 1 + sum.matches(" + ").count() + sum.matches(" − ").count());
            if signs != terms.len() {
                self.fault(chain, &format!("{} terms are told", terms.len()));
            }
        } else if let (Some(sum), 2) =
            (self.coefficient.axial.get(name), sides.iter().filter(|side| !side.contains('δ')).count() + 1)
            && !meet(sum, &value)
        {
            self.fault(chain, &format!("the table's column gives {sum:?}"));
        }
    }

    fn piece(&mut self, piece: &str) {
        if piece == "V = 0" {
            return;
        }
        if let Some(rest) = piece.strip_prefix("x = ") {
            match self.value(piece.rsplit(" = ").next().unwrap()) {
                Ok(x) => {
                    if !rest.contains('=') {
                        self.end_stretch();
                        self.stretch.span = Some(x);
                    } else {
                        self.chain(rest, true);
                    }
                    if let (Some(shear), true) = (self.stretch.shear.clone(), rest.contains('=')) {
                        match self.with_x(&shear, x) {
                            Ok(shear) if shear.holds(0.0) => self.checked += 1,
                            Ok(shear) => self.fault(piece, &format!("V is {shear:?} there")),
                            Err(why) => self.fault(piece, &why),
                        }
                    }
                }
                Err(why) => self.fault(piece, &why),
            }
            return;
        }
        if piece.starts_with("V = ") && has_x(piece) {
            self.end_stretch();
            self.stretch =
                Stretch { shear: piece.split_once("= ").map(|(_, rest)| rest.to_owned()), ..Stretch::default() };
            self.stated += 1;
            return;
        }
        if piece.starts_with("V = ") && !piece[4..].contains('=') {
            self.end_stretch();
            self.stretch = Stretch { shear: Some(piece[4..].to_owned()), ..Stretch::default() };
            self.stated += 1;
            return;
        }
        if piece.starts_with("M = ") && has_x(piece) {
            self.stretch.moment = piece.split_once("= ").map(|(_, rest)| rest.to_owned());
            self.stated += 1;
            return;
        }
        if piece.starts_with("N = ") && (has_x(piece) || !piece[4..].contains('=')) {
            self.stated += 1;
            return;
        }
        self.chain(piece, false);
    }

    /// `dM/dx = V`: between two places M grows by the area of V (Simpson's
    /// rule, exact for what V can be).
    fn end_stretch(&mut self) {
        let Stretch { shear, moment, span } = std::mem::take(&mut self.stretch);
        self.stretch = Stretch { shear: shear.clone(), moment: moment.clone(), span };
        let (Some(shear), Some(moment), Some(span)) = (shear, moment, span) else { return };
        self.stretch.span = None;
        let at = |share: f64| Doubtful { low: span.low * share, high: span.low * share, ..span };
        let outcome = (|| -> Result<(Doubtful, Doubtful), String> {
            let end = at(1.0);
            let v = |x: Doubtful| self.with_x(&shear, x);
            let four = Doubtful::new(4.0, 4.0, Some(Dimension::PURE), 4.0);
            let six = Doubtful::new(6.0, 6.0, Some(Dimension::PURE), 6.0);
            let sum = v(at(0.0))?.plus(four.times(v(at(0.5))?), 1.0)?.plus(v(end)?, 1.0)?;
            let area = sum.times(end).over(six)?;
            let grown = self.with_x(&moment, end)?.plus(self.with_x(&moment, at(0.0))?, -1.0)?;
            Ok((area, grown))
        })();
        match outcome {
            Ok((area, grown)) if meet(&area, &grown) => self.slopes += 1,
            Ok((area, grown)) => self.fault(&moment, &format!("dM/dx is not V: {area:?} {grown:?}")),
            Err(why) => self.fault(&moment, &why),
        }
    }

    fn with_x(&self, expression: &str, x: Doubtful) -> Result<Doubtful, String> {
        let mut symbols = BTreeMap::new();
        symbols.insert("x".to_owned(), x);
        Parser::new(expression, &symbols, self.figures).whole()
    }

    /// `a = b = c`: every side that can be worked out has the same value.
    fn chain(&mut self, chain: &str, is_last: bool) {
        if chain.starts_with('δ') {
            self.coefficient(chain);
        }
        let sides: Vec<&str> = chain.split(" = ").map(str::trim).collect();
        let mut values: Vec<Doubtful> = Vec::new();
        let mut others: Vec<&str> = Vec::new();
        for side in &sides {
            if side.starts_with('Σ') || is_local(side) {
                continue;
            }
            if is_symbol(side) && !self.symbols.contains_key(*side) {
                others.push(side);
                continue;
            }
            match self.value(side) {
                Ok(value) => values.push(value),
                Err(why) if why.starts_with("unknown symbol") && !is_last => {
                    self.waiting.push(chain.to_owned());
                    return;
                }
                Err(why) => return self.fault(chain, &why),
            }
        }
        let Some(last) = values.last().copied() else {
            if is_last {
                self.fault(chain, "nothing to compare");
            } else {
                self.waiting.push(chain.to_owned());
            }
            return;
        };
        for pair in values.windows(2) {
            if !meet(&pair[0], &pair[1]) {
                self.fault(chain, &format!("the sides differ, {:?} and {:?}", pair[0], pair[1]));
            }
        }
        for value in &values {
            if value.high - value.low > self.figures.most_doubt * value.scale {
                self.fault(chain, "the printed figures say too little");
            }
        }
        if sides[0].starts_with('X') {
            // The table of superposition is in the page's own units.
            let number = sides[sides.len() - 1].split(' ').next().unwrap_or("");
            if let Ok(bare) = self.value(number) {
                self.symbols.insert(format!("bare {}", sides[0]), bare);
            }
        }
        for other in others {
            self.symbols.insert(other.to_owned(), last);
        }
        if values.len() > 1 {
            self.checked += 1;
        } else {
            self.stated += 1;
        }
    }

    /// One of a unit.
    fn one(&self, unit: &str) -> Result<Doubtful, String> {
        Parser::new(&format!("1 {unit}"), &self.symbols, Figures::EXACT).whole()
    }

    fn value(&self, expression: &str) -> Result<Doubtful, String> {
        Parser::new(expression, &self.symbols, self.figures).whole()
    }

    /// Works out a table by its headings; how many of the lines below are its.
    fn table(&mut self, header: &str, below: &[&str]) -> usize {
        let is_table = |line: &&&str| !line.trim().is_empty();
        let rows = below.iter().take_while(is_table).count();
        let cells: Vec<Vec<String>> = below[..rows]
            .iter()
            .filter(|line| !line.trim().starts_with('─'))
            .map(|line| segments(line.trim()).into_iter().map(str::to_owned).collect())
            .collect();
        if header.starts_with("force  ") && header.contains("arm from") {
            self.arms(&cells);
        } else if header.starts_with("joint  ") && header.contains("in ") {
            for row in &cells {
                let written = row.join(" ");
                let Some((_, sum)) = written.split_once(['→', '↑']) else { continue };
                if sum.contains('=') {
                    self.chain(sum.trim(), true);
                }
                self.table_rows += 1;
            }
        } else if header.starts_with("load  ") {
            self.columns(&cells);
        } else if header.starts_with("force  ") && header.contains("under the loads") {
            let is_released = !segments(header).contains(&"sum");
            for row in &cells {
                if is_released { self.keep_released(row) } else { self.superposed(row) }
            }
        } else if ["bar ", "member "].iter().any(|word| header.starts_with(word)) && header.contains(['δ', '₀']) {
            self.axial(&segments(header), &cells);
        } else if ["reaction", "bar ", "beam "].iter().any(|word| header.starts_with(word)) {
            for row in &cells {
                self.answer(row);
            }
        } else {
            return 0;
        }
        rows
    }

    /// Force times arm is the moment, and the moments add up to the foot.
    fn arms(&mut self, rows: &[Vec<String>]) {
        let mut sum: Option<Doubtful> = None;
        for row in rows {
            let line = row.join("  ");
            let Some(moment) = row.last() else { continue };
            if line.starts_with("sum") {
                let Ok(foot) = self.value(moment) else { return self.fault(&line, "no foot") };
                if !sum.is_some_and(|sum| meet(&sum, &foot)) {
                    self.fault(&line, &format!("the column gives {sum:?}"));
                }
                self.table_rows += 1;
                continue;
            }
            self.table_rows += 1;
            if moment.contains(|c: char| c.is_alphabetic()) {
                continue;
            }
            let Ok(moment) = self.value(moment) else { return self.fault(&line, "no moment") };
            sum = Some(match sum {
                None => moment,
                Some(sum) => sum.plus(moment, 1.0).unwrap(),
            });
            let force = row[0].replace(['→', '←', '↑', '↓', '↗', '↖', '↙', '↘', '↺', '↻'], "");
            let force = force.rsplit('=').next().unwrap_or("").trim().to_owned();
            let arm: String = row[2].split([',', ' ']).next().unwrap_or("").to_owned();
            if arm == "–" {
                continue;
            }
            let bare: String = force.split(' ').next().unwrap_or("").to_owned();
            if is_symbol(&bare) || bare.contains('_') {
                continue;
            }
            match (self.value(&bare), self.value(&arm)) {
                (Ok(force), Ok(arm)) => {
                    let size = force.times(arm);
                    let own = Doubtful::new(moment.low.abs(), moment.high.abs(), moment.dimension, moment.scale);
                    let size = Doubtful::new(size.low.abs(), size.high.abs(), None, size.scale);
                    if !meet(&size, &own) {
                        self.fault(&line, "force times arm is not the moment");
                    }
                }
                (force, arm) => self.fault(&line, &format!("unread: {force:?} {arm:?}")),
            }
        }
    }

    /// The axial forces of all members with L/EA, and what each gives to the
    /// coefficients: `N_i (N_j L/EA + ΔL)`, ΔL for the loads only. Every column
    /// adds up to its foot.
    fn axial(&mut self, headings: &[&str], rows: &[Vec<String>]) {
        let foot = rows.iter().find(|row| row[0] == "sum");
        for row in rows.iter().filter(|row| row[0] != "sum") {
            for (heading, cell) in headings.iter().zip(row).skip(1).filter(|(heading, _)| !heading.starts_with("to ")) {
                let (name, unit) = heading.split_once(' ').unwrap_or((heading, ""));
                let Ok(number) = self.value(cell) else { return self.fault(cell, "no number") };
                let one = if unit.is_empty() { "1".to_owned() } else { unit.replace("1/", "1 / 1 ") };
                let one = if one.starts_with('1') { one } else { format!("1 {one}") };
                let one = Parser::new(&one, &self.symbols, Figures::EXACT).whole();
                let Ok(one) = one else { return self.fault(heading, "no unit") };
                self.keep(&row[0], name, number, one);
            }
            self.stiffness(&row[0]);
            for (heading, cell) in headings.iter().zip(row).filter(|(heading, _)| heading.starts_with("to ")) {
                self.product(&row[0], heading, cell);
            }
        }
        for (index, heading) in headings.iter().enumerate().filter(|(_, heading)| heading.starts_with("to ")) {
            let body = rows.iter().filter(|row| row[0] != "sum");
            let mut cells = body.map(|row| self.value(&row[index]));
            let sum = cells.try_fold(Doubtful::new(0.0, 0.0, None, 0.0), |sum, cell| sum.plus(cell?, 1.0));
            let told =
                foot.and_then(|foot| foot.get(foot.len() - (headings.len() - index))).map(|cell| self.value(cell));
            let [_, name, unit] = *heading.split(' ').collect::<Vec<_>>() else {
                return self.fault(heading, "no name and unit");
            };
            match (sum, told, self.one(unit)) {
                (Ok(sum), Some(Ok(told)), Ok(one)) if meet(&sum, &told) => {
                    self.coefficient.axial.insert(name.to_owned(), told.times(one));
                    self.table_rows += 1;
                }
                (sum, told, _) => self.fault(heading, &format!("{sum:?} is not {told:?}")),
            }
        }
    }

    /// A number of a member's row; forces are kept for the superposition too.
    fn keep(&mut self, member: &str, name: &str, number: Doubtful, one: Doubtful) {
        let values = self.coefficient.members.entry(member.to_owned()).or_default();
        values.retain(|(known, _)| known != name);
        values.push((name.to_owned(), number.times(one)));
        if let Some(index) = name.strip_prefix('N').and_then(low_digit) {
            self.keep_force(member, index, number);
        }
    }

    fn keep_force(&mut self, name: &str, index: usize, number: Doubtful) {
        let number = Doubtful { dimension: None, ..number };
        if index == 0 {
            self.under_loads.insert(name.to_owned(), number);
        } else {
            self.one.entry(name.to_owned()).or_default().insert(index, number);
        }
    }

    /// `L / EA` of a member is L over EA.
    fn stiffness(&mut self, member: &str) {
        let of = |name: &str| {
            let values = self.coefficient.members.get(member)?;
            values.iter().find(|(known, _)| known == name).map(|(_, value)| *value)
        };
        if let (Some(length), Some(stiffness), Some(give)) = (of("L"), of("EA"), of("L/EA")) {
            match length.over(stiffness) {
                Ok(ratio) if meet(&ratio, &give) => self.terms += 1,
                ratio => self.fault(member, &format!("L/EA is {ratio:?}, told {give:?}")),
            }
        }
    }

    /// What one member gives to one coefficient.
    fn product(&mut self, member: &str, heading: &str, cell: &str) {
        let outcome = (|| -> Result<bool, String> {
            let values = self.coefficient.members.get(member).ok_or("no such member")?;
            let of = |name: &str| values.iter().find(|(known, _)| known == name).map(|(_, value)| *value);
            let (_, rest) = heading.split_once('δ').ok_or("no coefficient")?;
            let (numbers, unit) = rest.split_once(' ').ok_or("no unit")?;
            let [i, j] = *numbers.chars().collect::<Vec<_>>() else { return Err("not two numbers".to_owned()) };
            let force = |number: char| of(&format!("N{number}")).ok_or(format!("no N{number}"));
            let mut strained = force(j)?.times(of("L/EA").ok_or("no L/EA")?);
            if let (Some(free), '₀') = (of("ΔL"), j) {
                strained = strained.plus(free, 1.0)?;
            }
            let told = self.value(cell)?.times(self.one(unit)?);
            Ok(meet(&force(i)?.times(strained), &told))
        })();
        match outcome {
            Ok(true) => self.terms += 1,
            other => self.fault(&format!("{member} {heading} {cell}"), &format!("product: {other:?}")),
        }
    }

    /// Every column adds up to its foot.
    fn columns(&mut self, rows: &[Vec<String>]) {
        let Some((foot, rows)) = rows.split_last() else { return };
        for column in 1..foot.len() {
            let value = |row: &Vec<String>| {
                let from_end = foot.len() - column;
                self.value(&row[row.len() - from_end])
            };
            let sum = rows.iter().try_fold(Doubtful::new(0.0, 0.0, None, 0.0), |sum, row| sum.plus(value(row)?, 1.0));
            match (sum, value(foot)) {
                (Ok(sum), Ok(foot_value)) if meet(&sum, &foot_value) => self.table_rows += 1,
                (sum, foot_value) => self.fault(&foot.join("  "), &format!("{sum:?} is not {foot_value:?}")),
            }
        }
    }

    /// A row of forces in the released structure.
    fn keep_released(&mut self, row: &[String]) {
        for (index, cell) in row[1..row.len() - 1].iter().enumerate() {
            match self.value(cell) {
                Ok(force) => self.keep_force(&row[0], index, force),
                Err(why) => self.fault(&row.join("  "), &why),
            }
        }
        self.table_rows += 1;
    }

    /// Under the loads, plus what comes of each redundant: the force under one
    /// unit of it, as told above, times its size.
    fn superposed(&mut self, row: &[String]) {
        let count = (1..=9).filter(|number| self.redundant(*number).is_some()).count();
        let read = |index: usize| {
            let cell = row.get(index).ok_or("too short".to_owned())?;
            self.value(cell).map(|value| Doubtful { dimension: None, ..value })
        };
        let outcome = (|| -> Result<bool, String> {
            let known = self.one.get(&row[0]);
            let loads = read(1)?;
            let mut holds = self.under_loads.get(&row[0]).is_none_or(|known| meet(known, &loads));
            let mut sum = loads;
            for number in 1..=count {
                let Some(size) = self.redundant(number) else { continue };
                let from = read(1 + number)?;
                if let Some(one) = known.and_then(|known| known.get(&number)) {
                    holds &= meet(&one.times(size), &from);
                } else if known.is_none() && from.high != 0.0 {
                    return Err("its force under one unit is not told".to_owned());
                }
                sum = sum.plus(from, 1.0)?;
            }
            Ok(holds && meet(&sum, &read(2 + count)?))
        })();
        match outcome {
            Ok(true) => self.table_rows += 1,
            Ok(false) => self.fault(&row.join("  "), "does not superpose"),
            Err(why) => self.fault(&row.join("  "), &why),
        }
    }

    /// The size of a redundant in the unit of the page, as a bare number.
    fn redundant(&self, number: usize) -> Option<Doubtful> {
        let low = char::from_u32(0x2080 + u32::try_from(number).unwrap()).unwrap();
        self.symbols.get(&format!("bare X{low}")).copied()
    }

    /// A line of the answers says the same as the working.
    fn answer(&mut self, row: &[String]) {
        self.table_rows += 1;
        let Some(name) = row.first() else { return };
        let (Some(number), Some(unit)) = (row.get(1), row.get(2)) else { return };
        if let Some(exact) = row.last().and_then(|cell| cell.strip_suffix(&format!(" {unit}"))) {
            match (mixed(exact), self.value(&format!("{} {unit}", number.trim_start_matches('−'))), self.one(unit)) {
                (Some(size), Ok(shown), Ok(one)) => {
                    let value = Doubtful::new(size * one.low, size * one.low, one.dimension, 0.0);
                    if !shown.holds(value.low.abs()) {
                        self.fault(&row.join("  "), "exactly is something else");
                    }
                    self.exact.push((name.clone(), value));
                }
                _ => self.fault(&row.join("  "), "not read"),
            }
        }
        let Some(known) = self.symbols.get(name.as_str()).copied() else { return };
        // Answers have their sense as an arrow, of a couple beside the sense that is positive.
        let is_couple = row.iter().any(|cell| cell == "↺" || cell == "↻");
        let is_negative = row.iter().any(|cell| cell == "←" || cell == "↓") || (is_couple && known.high < 0.0);
        match self.value(&format!("{}{number} {unit}", if is_negative { "−" } else { "" })) {
            Ok(value) if meet(&value, &known) => {}
            Ok(value) => self.fault(&row.join("  "), &format!("{value:?} against {known:?}")),
            Err(why) => self.fault(&row.join("  "), &why),
        }
    }
}

/// Whether two values may be one.
fn meet(a: &Doubtful, b: &Doubtful) -> bool {
    let slack = SLACK * a.scale.max(b.scale);
    let fits = match (a.dimension, b.dimension) {
        (Some(a), Some(b)) => a == b,
        _ => true,
    };
    fits && a.low <= b.high + slack && b.low <= a.high + slack
}

/// Parts of a line set apart by two blanks or more.
fn segments(line: &str) -> Vec<&str> {
    line.split("  ").map(str::trim).filter(|part| !part.is_empty()).collect()
}

fn has_x(text: &str) -> bool {
    text.split(|c: char| !c.is_alphanumeric() && c != '_').any(|word| word.trim_end_matches(['²', '³']) == "x")
}

/// `₂` as 2.
fn low_digit(text: &str) -> Option<usize> {
    let digit = text.chars().next().and_then(|c| u32::from(c).checked_sub(0x2080)).filter(|digit| *digit < 10);
    digit.filter(|_| text.chars().count() == 1).map(|digit| digit as usize)
}

/// Letters that stand for another thing on every beam or bar.
fn is_local(side: &str) -> bool {
    ["L", "EA", "EI", "ΔL", "N", "V", "M", "x", "N(0)", "V(0)", "M(0)", "N(L)", "V(L)", "M(L)"].contains(&side)
}

fn is_symbol(side: &str) -> bool {
    side.chars().next().is_some_and(char::is_alphabetic)
        && side.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | ',' | '′' | '₀'..='₉'))
}

/// One expression, read from the left.
struct Parser<'a> {
    rest: &'a str,
    symbols: &'a BTreeMap<String, Doubtful>,
    figures: Figures,
}

impl<'a> Parser<'a> {
    fn new(text: &'a str, symbols: &'a BTreeMap<String, Doubtful>, figures: Figures) -> Parser<'a> {
        Parser { rest: text.trim(), symbols, figures }
    }

    fn whole(mut self) -> Result<Doubtful, String> {
        let value = self.sum()?;
        // A result's arrow or tick may follow it.
        let left = self.rest.trim();
        let ok = ["", "↑", "↓", "→", "←", "✓", "↗", "↖", "↙", "↘", "↺", "↻"].contains(&left);
        if ok { Ok(value) } else { Err(format!("unread: `{left}`")) }
    }

    fn take(&mut self, mark: &str) -> bool {
        match self.rest.trim_start().strip_prefix(mark) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    fn sum(&mut self) -> Result<Doubtful, String> {
        let mut total = if self.take("−") {
            let term = self.product()?;
            Doubtful { low: -term.high, high: -term.low, ..term }
        } else {
            self.product()?
        };
        loop {
            let sign = if self.take("+") {
                1.0
            } else if self.take("−") {
                -1.0
            } else {
                return Ok(total);
            };
            let term = self.product()?;
            total = total.plus(term, sign)?;
        }
    }

    fn product(&mut self) -> Result<Doubtful, String> {
        let mut total = self.power()?;
        loop {
            if self.take("×") {
                total = total.times(self.power()?);
            } else if self.take("/") {
                total = total.over(self.power()?)?;
            } else {
                return Ok(total);
            }
        }
    }

    fn power(&mut self) -> Result<Doubtful, String> {
        let base = self.atom()?;
        for (mark, count) in [("²", 2), ("³", 3)] {
            if self.take(mark) {
                return Ok((1..count).fold(base, |product, _| product.times(base)));
            }
        }
        Ok(base)
    }

    fn atom(&mut self) -> Result<Doubtful, String> {
        if self.take("(") {
            let inner = self.sum()?;
            return if self.take(")") { Ok(inner) } else { Err(format!("no `)` before `{}`", self.rest)) };
        }
        if self.take("√") {
            let inner = self.atom()?;
            let dimension = inner.dimension.map(|d| d.root(2).unwrap());
            return Ok(inner.mapped(f64::sqrt, dimension));
        }
        for (name, function) in [("cos", f64::cos as fn(f64) -> f64), ("sin", f64::sin), ("tan", f64::tan)] {
            if self.take(name) {
                let degrees = self.atom()?;
                self.take("°");
                return Ok(degrees.mapped(|angle| function(angle.to_radians()), Some(Dimension::PURE)));
            }
        }
        self.rest = self.rest.trim_start();
        if self.rest.starts_with(|c: char| c.is_ascii_digit()) { self.number() } else { self.symbol() }
    }

    fn symbol(&mut self) -> Result<Doubtful, String> {
        let end = self
            .rest
            .find(|c: char| {
                !(c.is_alphanumeric() && !matches!(c, '²' | '³') || matches!(c, '_' | ',' | '′' | '₀'..='₉'))
            })
            .unwrap_or(self.rest.len());
        let (name, rest) = self.rest.split_at(end);
        if name.is_empty() {
            return Err(format!("unread: `{}`", self.rest));
        }
        self.rest = rest;
        self.symbols.get(name).copied().ok_or_else(|| format!("unknown symbol {name}"))
    }

    fn number(&mut self) -> Result<Doubtful, String> {
        let is_part = |c: char| c.is_ascii_digit() || c == '.';
        let mut end = self.rest.find(|c: char| !is_part(c)).unwrap_or(self.rest.len());
        if let Some(exponent) = self.rest[end..].strip_prefix('e') {
            let sign =
                usize::from(exponent.starts_with(['-', '−'])) * exponent.chars().next().map_or(0, char::len_utf8);
            let digits = exponent[sign..].find(|c: char| !c.is_ascii_digit()).unwrap_or(exponent.len() - sign);
            end += 1 + sign + digits;
        }
        let (text, rest) = self.rest.split_at(end);
        self.rest = rest;
        let value: f64 = text.replace('−', "-").parse().map_err(|_| format!("no number: {text}"))?;
        let mantissa = text.split('e').next().unwrap();
        let decimals = mantissa.split_once('.').map_or(0, |(_, after)| after.len());
        let figures = mantissa.replace('.', "").trim_start_matches('0').len();
        let scale = value.abs() / mantissa.parse::<f64>().unwrap().abs();
        let half = if figures < self.figures.count || value == 0.0 {
            0.0
        } else {
            0.5 * 10_f64.powi(-(decimals as i32)) * scale
        };
        let (factor, dimension) = self.unit()?;
        let dimension = if value == 0.0 { None } else { Some(dimension) };
        Ok(Doubtful::new((value - half) * factor, (value + half) * factor, dimension, 0.0))
    }

    /// The unit after a number; none is a pure number.
    fn unit(&mut self) -> Result<(f64, Dimension), String> {
        let rest = self.rest.trim_start_matches(' ');
        let blanks = self.rest.len() - rest.len();
        if blanks > 1 || !UNITS.iter().any(|unit| rest.starts_with(unit)) {
            return Ok((1.0, Dimension::PURE));
        }
        let stop = rest.find([' ', ')']).unwrap_or(rest.len());
        let mut end = stop;
        // `mm/(kN·m)` closes its own bracket.
        if rest[..stop].contains('(') && rest[stop..].starts_with(')') {
            end += 1;
        }
        let (word, after) = rest.split_at(end);
        self.rest = after;
        let flat = |part: &str| parse_unit(part.trim_matches(['(', ')'])).map_err(|_| format!("no unit: {word}"));
        let (above, below) = word.split_once('/').map_or((word, None), |(above, below)| (above, Some(below)));
        let above = flat(above)?;
        let (mut factor, mut dimension) = (above.factor.to_f64(), above.dimension);
        if let Some(below) = below {
            let below = flat(below)?;
            factor /= below.factor.to_f64();
            dimension = dimension.over(below.dimension).unwrap();
        }
        // An angle is a ratio of lengths where forces meet it.
        dimension.angle = 0;
        Ok((factor, dimension))
    }
}

/// `212 1/2`, `−3/8`, `90√13`, `7√5/4`, `12.5`.
fn mixed(text: &str) -> Option<f64> {
    let (sign, text) = text.strip_prefix('−').map_or((1.0, text), |text| (-1.0, text));
    let (text, below) =
        text.split_once('/').map_or((text, 1.0), |(text, below)| (text, below.parse().unwrap_or(f64::NAN)));
    let size = if let Some((outside, inside)) = text.split_once('√') {
        let outside: f64 = if outside.is_empty() { 1.0 } else { outside.parse().ok()? };
        outside * inside.parse::<f64>().ok()?.sqrt() / below
    } else if let Some((whole, above)) = text.split_once(' ') {
        whole.parse::<f64>().ok()? + above.parse::<f64>().ok()? / below
    } else {
        text.parse::<f64>().ok()? / below
    };
    Some(sign * size)
}

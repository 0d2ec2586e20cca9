//! Cures as changes of the text: the edits an editor can make.
//!
//! A statement inside a loop stands for many; a cure of one of them is not
//! written.
//!
//! Must not know: whether a cure cures.

use rustc_hash::FxHashMap;

use crate::base::tolerances::SAME;
use crate::base::{FileId, JointId, MemberId, Origin, Span};
use crate::diagnostic::{CureKind, Edit};
use crate::quantity::{format, parse_unit};
use crate::structure::{Project, Structure};
use crate::syntax::tree::{MemberStatement, NameRef, Statement, StatementKind, Tree};

/// Figures of a place that is offered.
const FIGURES: usize = 12;

pub struct Writer<'a> {
    pub project: &'a Project,
    pub structure: &'a Structure,
}

impl Writer<'_> {
    /// The ways to write a cure, each with what is to be added to its words;
    /// none where it cannot be written.
    pub fn ways(&self, kind: &CureKind) -> Vec<(String, Vec<Edit>)> {
        let ways = match kind {
            CureKind::Move(joint) => self.places(*joint),
            _ => self.edits(kind).map(|edits| vec![(String::new(), edits)]).unwrap_or_default(),
        };
        ways.into_iter().filter(|(_, edits)| are_apart(edits)).collect()
    }

    fn edits(&self, kind: &CureKind) -> Option<Vec<Edit>> {
        match kind {
            CureKind::AddBar(a, b) => {
                let file = self.structure.joints[*a].origin.file;
                let line = format!("bar {}-{}", self.structure.joint_name(*a), self.structure.joint_name(*b));
                let is_member = |kind: &StatementKind| matches!(kind, StatementKind::Member(_));
                Some(vec![self.line_after_the_last(file, is_member, &line)?])
            }
            CureKind::Support(stated) => self.supports(stated),
            CureKind::LeaveOut(member) => self.without_member(*member),
            CureKind::LeaveOutHinge(joint) => self.without_hinge(*joint),
            CureKind::LeaveOutSupport(joint) => {
                let (_, support) = self.structure.support_at(*joint)?;
                let (tree, statement) = self.statement_at(support.origin)?;
                let StatementKind::Support(old) = &statement.kind else { return None };
                Some(vec![self.without_name(tree, statement, tree.links(old.joints), support.origin)?])
            }
            CureKind::Free { hinged, supports } => {
                let mut edits = self.supports(supports)?;
                for (member, joints) in hinged {
                    edits.extend(self.hinged_ends(*member, joints)?);
                }
                Some(edits)
            }
            CureKind::Join(joined) => {
                let mut edits = Vec::new();
                for (member, joints) in joined {
                    edits.extend(self.joined(*member, joints)?);
                }
                Some(edits)
            }
            CureKind::Instead(member, line) => {
                let stated = self.member_statement(*member)?;
                let statement = stated.statement;
                if stated.stated.chains.len() == 1 && stated.links().len() == 2 {
                    return Some(vec![edit(stated.file, statement.span, line.clone())]);
                }
                let mut edits = self.without_member(*member)?;
                edits.push(self.line_after(stated.file, statement, line));
                Some(edits)
            }
            CureKind::Merge(kept, dropped) => self.merged(*kept, *dropped),
            CureKind::Move(_) | CureKind::Advice | CureKind::Fallback => None,
        }
    }

    fn tree(&self, file: FileId) -> Option<&Tree> {
        self.project.trees.get(file.index())
    }

    /// The statement at a place, if it stands outside every block.
    fn statement_at(&self, at: Origin) -> Option<(&Tree, &Statement)> {
        let tree = self.tree(at.file)?;
        let after = tree.statements.partition_point(|statement| statement.span.start <= at.span.start);
        let statement = tree.statements.get(after.checked_sub(1)?)?;
        let is_block = matches!(statement.kind, StatementKind::For(_) | StatementKind::Case { .. });
        (at.span.end <= statement.span.end && !is_block).then_some((tree, statement))
    }

    fn member_statement(&self, member: MemberId) -> Option<Stated<'_>> {
        let at = self.structure.members[member].origin;
        let (tree, statement) = self.statement_at(at)?;
        let StatementKind::Member(stated) = &statement.kind else { return None };
        let links_of = |chain: usize| stated.chains.get(chain).map(|chain| tree.links(chain.links)).unwrap_or_default();
        let is_it =
            |pair: &[NameRef]| matches!(pair, [a, b] if a.span.start == at.span.start && b.span.end == at.span.end);
        (0..stated.chains.len()).find_map(|chain| {
            let link = links_of(chain).windows(2).position(is_it)?;
            Some(Stated { file: at.file, tree, statement, stated, chain, link })
        })
    }

    /// A line after the last statement of its kind, or at the end of the file.
    fn line_after_the_last(&self, file: FileId, is_like: fn(&StatementKind) -> bool, line: &str) -> Option<Edit> {
        let last = self.tree(file)?.statements.iter().rfind(|statement| is_like(&statement.kind));
        if let Some(statement) = last {
            return Some(self.line_after(file, statement, line));
        }
        let text = self.project.files.text(file);
        let end = Span::at(u32::try_from(text.len()).ok()?);
        let is_open = !text.is_empty() && !text.ends_with('\n');
        Some(edit(file, end, if is_open { format!("\n{line}") } else { format!("{line}\n") }))
    }

    /// At the end of a statement's line, after what is said of it.
    fn line_after(&self, file: FileId, statement: &Statement, line: &str) -> Edit {
        let rest = self.project.files.text(file).get(statement.span.end as usize..).unwrap_or("");
        let length = rest.lines().next().map_or(0, str::len);
        let at = statement.span.end.saturating_add(u32::try_from(length).unwrap_or(u32::MAX));
        edit(file, Span::at(at), format!("\n{line}"))
    }

    /// A statement with its note, and with its line where nothing else is on it.
    fn without_statement(&self, file: FileId, statement: &Statement) -> Edit {
        let text = self.project.files.text(file);
        let start = statement.note.map_or(statement.span.start, |note| note.start) as usize;
        let end = statement.span.end as usize;
        let line_start = text.get(..start).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
        let line_end = text.get(end..).and_then(|rest| rest.find('\n')).map_or(text.len(), |at| end + at + 1);
        let is_blank = |from: usize, to: usize| text.get(from..to).is_some_and(|part| part.trim().is_empty());
        let (start, end) = match is_blank(line_start, start) && is_blank(end, line_end) {
            true => (line_start, line_end),
            false => (start, end),
        };
        edit(file, span(start, end), String::new())
    }

    fn supports(&self, stated: &[(JointId, String)]) -> Option<Vec<Edit>> {
        let mut edits = Vec::new();
        let mut added: FxHashMap<FileId, Vec<&str>> = FxHashMap::default();
        for (joint, line) in stated {
            let Some((_, support)) = self.structure.support_at(*joint) else {
                added.entry(self.structure.joints[*joint].origin.file).or_default().push(line);
                continue;
            };
            let file = support.origin.file;
            let (tree, statement) = self.statement_at(support.origin)?;
            let StatementKind::Support(old) = &statement.kind else { return None };
            let names = tree.links(old.joints);
            let place = names.iter().position(|name| name.span == support.origin.span)?;
            if names.len() == 1 {
                edits.push(edit(file, statement.span, line.clone()));
            } else {
                edits.push(edit(file, listed_out(names.iter().map(|name| name.span), place)?, String::new()));
                edits.push(self.line_after(file, statement, line));
            }
        }
        for (file, lines) in added {
            let is_support = |kind: &StatementKind| matches!(kind, StatementKind::Support(_));
            edits.push(self.line_after_the_last(file, is_support, &lines.join("\n"))?);
        }
        Some(edits)
    }

    fn without_member(&self, member: MemberId) -> Option<Vec<Edit>> {
        let stated = self.member_statement(member)?;
        let links = stated.links();
        let (first, second) = (links.get(stated.link)?.span, links.get(stated.link + 1)?.span);
        let (is_first, is_last) = (stated.link == 0, stated.link + 2 == links.len());
        let chains = &stated.stated.chains;
        Some(vec![match (is_first, is_last) {
            (true, true) if chains.len() == 1 => self.without_statement(stated.file, stated.statement),
            (true, true) => {
                edit(stated.file, listed_out(chains.iter().map(|chain| chain.span), stated.chain)?, String::new())
            }
            (true, false) => edit(stated.file, Span::new(first.start, second.start), String::new()),
            (false, true) => edit(stated.file, Span::new(first.end, second.end), String::new()),
            (false, false) => edit(stated.file, Span::new(first.end, second.start), ", ".to_owned()),
        }])
    }

    /// A member named through joints on its way, wherever it is named.
    fn joined(&self, member: MemberId, joints: &[JointId]) -> Option<Vec<Edit>> {
        self.member_statement(member)?;
        let member = &self.structure.members[member];
        let [start, end] = [member.start, member.end].map(|joint| self.structure.joint_name(joint));
        let onward: String = joints.iter().map(|id| format!("-{}", self.structure.joint_name(*id))).collect();
        let back: String = joints.iter().rev().map(|id| format!("-{}", self.structure.joint_name(*id))).collect();
        let mut edits = Vec::new();
        for tree in &self.project.trees {
            let text = self.project.files.text(tree.file);
            for pair in tree.names.windows(2) {
                let [a, b] = pair else { continue };
                let between = text.get(a.span.end as usize..b.span.start as usize).unwrap_or("");
                let names = match (a.span.text(text), b.span.text(text)) {
                    (a, b) if a == start && b == end => &onward,
                    (a, b) if a == end && b == start => &back,
                    _ => continue,
                };
                if between.trim() == "-" {
                    edits.push(edit(tree.file, Span::at(a.span.end), names.clone()));
                }
            }
        }
        Some(edits)
    }

    /// One joint's name for the other's wherever that stands, its own statement left out.
    fn merged(&self, kept: JointId, dropped: JointId) -> Option<Vec<Edit>> {
        let at = self.structure.joints[dropped].origin;
        let (_, statement) = self.statement_at(at)?;
        let [kept, dropped] = [kept, dropped].map(|joint| self.structure.joint_name(joint));
        let mut edits = vec![self.without_statement(at.file, statement)];
        for tree in &self.project.trees {
            let text = self.project.files.text(tree.file);
            let is_it = |name: &&NameRef| {
                name.span.text(text) == dropped && !(tree.file == at.file && statement.span.contains(name.span.start))
            };
            edits.extend(tree.names.iter().filter(is_it).map(|name| edit(tree.file, name.span, kept.to_owned())));
        }
        Some(edits)
    }

    /// A statement without one of the names it lists, or no statement.
    fn without_name(&self, tree: &Tree, statement: &Statement, names: &[NameRef], at: Origin) -> Option<Edit> {
        if names.len() == 1 {
            return Some(self.without_statement(tree.file, statement));
        }
        let place = names.iter().position(|name| name.span == at.span)?;
        Some(edit(tree.file, listed_out(names.iter().map(|name| name.span), place)?, String::new()))
    }

    fn without_hinge(&self, joint: JointId) -> Option<Vec<Edit>> {
        let mut edits = Vec::new();
        for (_, at) in self.structure.hinges.iter().filter(|(hinge, _)| *hinge == joint) {
            let (tree, statement) = self.statement_at(*at)?;
            let StatementKind::Hinge(names) = &statement.kind else { return None };
            edits.push(self.without_name(tree, statement, tree.links(*names), *at)?);
        }
        let name = self.structure.joint_name(joint);
        let freed = self.structure.members.entries().filter(|(_, member)| {
            let [start, end] = member.hinged;
            (start && member.start == joint) || (end && member.end == joint)
        });
        for (id, _) in freed {
            let stated = self.member_statement(id)?;
            let text = self.project.files.text(stated.file);
            let names = stated.tree.links(stated.stated.hinged);
            let place = names.iter().position(|hinged| hinged.span.text(text) == name)?;
            let cut = match names {
                [only] => Span::new(stated.before_hinged(), only.span.end),
                names => listed_out(names.iter().map(|name| name.span), place)?,
            };
            let cut = edit(stated.file, cut, String::new());
            if !edits.contains(&cut) {
                edits.push(cut);
            }
        }
        (!edits.is_empty()).then_some(edits)
    }

    /// A beam with ends freed: in its own statement where it is the only one
    /// of it that ends there, else in a statement of its own.
    fn hinged_ends(&self, member: MemberId, joints: &[JointId]) -> Option<Vec<Edit>> {
        let stated = self.member_statement(member)?;
        let names: Vec<&str> = joints.iter().map(|joint| self.structure.joint_name(*joint)).collect();
        let names = names.join(", ");
        let is_here = |at: Origin| at.file == stated.file && stated.statement.span.contains(at.span.start);
        let ends_here = |joint: &JointId| {
            let here = self.structure.members.iter().filter(|other| is_here(other.origin));
            here.filter(|other| other.start == *joint || other.end == *joint).count()
        };
        let old = stated.tree.links(stated.stated.hinged);
        if joints.iter().all(|joint| ends_here(joint) == 1) {
            let clause = match (old.last(), stated.stated.section) {
                (Some(last), _) => (last.span.end, format!(", {names}")),
                (None, Some(section)) => (section.span.end, format!(", hinged at {names}")),
                (None, None) => (stated.before_hinged(), format!(": hinged at {names}")),
            };
            return Some(vec![edit(stated.file, Span::at(clause.0), clause.1)]);
        }
        if !old.is_empty() {
            return None;
        }
        let text = self.project.files.text(stated.file);
        let section = stated.stated.section.map_or(String::new(), |name| format!("{}, ", name.span.text(text)));
        let line = format!("beam {}: {section}hinged at {names}", self.structure.member_name(member));
        let mut edits = self.without_member(member)?;
        edits.push(self.line_after(stated.file, stated.statement, &line));
        Some(edits)
    }

    /// Other places for a joint, off the lines of its members.
    fn places(&self, joint: JointId) -> Vec<(String, Vec<Edit>)> {
        const WAYS: [[f64; 2]; 4] = [[0.0, 1.0], [0.0, -1.0], [1.0, 0.0], [-1.0, 0.0]];
        let at = &self.structure.joints[joint];
        let Some((tree, statement)) = self.statement_at(at.origin) else { return Vec::new() };
        let StatementKind::Joint { at: expr, .. } = &statement.kind else { return Vec::new() };
        let Some(expr) = tree.expr(*expr) else { return Vec::new() };
        let file = at.origin.file;
        let units = tree.statements.iter().find_map(|statement| match &statement.kind {
            StatementKind::Units(units) => parse_unit(units.length.text(self.project.files.text(file))).ok(),
            _ => None,
        });
        let (factor, suffix) = units.map_or((1.0, " m"), |unit| (unit.factor.to_f64(), ""));
        let met = self.structure.members.entries().filter(|(_, member)| member.start == joint || member.end == joint);
        let shortest = met.map(|(id, _)| self.structure.member_length(id)).fold(f64::INFINITY, f64::min);
        let step = one_figure(if shortest.is_finite() { shortest / factor / 4.0 } else { 1.0 });
        let part = |value: f64| format::trimmed(if value.abs() < step * SAME { 0.0 } else { value }, FIGURES);
        let (x, y) = (at.x.to_f64() / factor, at.y.to_f64() / factor);
        let places = WAYS.map(|[dx, dy]| format!("({}, {}){suffix}", part(x + dx * step), part(y + dy * step)));
        let way = |place: String| {
            let line = format!("joint {}: {place}", self.structure.joint_name(joint));
            (format!(", for example `{line}`"), vec![edit(file, expr.span, place)])
        };
        places.into_iter().map(way).collect()
    }
}

/// A member in the statement that states it.
struct Stated<'a> {
    file: FileId,
    tree: &'a Tree,
    statement: &'a Statement,
    stated: &'a MemberStatement,
    chain: usize,
    /// The first of its two links.
    link: usize,
}

impl<'a> Stated<'a> {
    fn links(&self) -> &'a [NameRef] {
        self.stated.chains.get(self.chain).map(|chain| self.tree.links(chain.links)).unwrap_or_default()
    }

    /// Where a clause of hinges begins, with the mark before it.
    fn before_hinged(&self) -> u32 {
        let chains = self.stated.chains.last().map_or(self.statement.span.end, |chain| chain.span.end);
        self.stated.section.map_or(chains, |section| section.span.end)
    }
}

fn edit(file: FileId, span: Span, replacement: String) -> Edit {
    Edit { file, span, replacement }
}

fn span(start: usize, end: usize) -> Span {
    Span::new(u32::try_from(start).unwrap_or(u32::MAX), u32::try_from(end).unwrap_or(u32::MAX))
}

/// One item of a list with the comma beside it.
fn listed_out(items: impl Iterator<Item = Span> + Clone, place: usize) -> Option<Span> {
    let own = items.clone().nth(place)?;
    match place.checked_sub(1).and_then(|before| items.clone().nth(before)) {
        Some(before) => Some(Span::new(before.end, own.end)),
        None => Some(Span::new(own.start, items.clone().nth(1)?.start)),
    }
}

/// No two at one place.
fn are_apart(edits: &[Edit]) -> bool {
    let mut sorted: Vec<&Edit> = edits.iter().collect();
    sorted.sort_by_key(|edit| (edit.file, edit.span.start, edit.span.end));
    !edits.is_empty()
        && sorted.windows(2).all(|pair| {
            matches!(pair, [a, b] if a.file != b.file || (a.span.end <= b.span.start && a.span.start < b.span.start))
        })
}

/// A length of one figure, near another.
fn one_figure(value: f64) -> f64 {
    let text = format!("{value:.0e}");
    text.parse().unwrap_or(value)
}

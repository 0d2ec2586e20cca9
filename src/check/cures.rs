//! Cures tried: each is made in the text, the whole check is run on that, and
//! the cure is offered with what came of it. A cure that makes something else
//! wrong is withdrawn; the best comes first.
//!
//! Must not know: how a cure was found.

mod writing;

use rustc_hash::FxHashMap;

use super::edited::edited;
use super::{Checked, Switches, check_as_written, words};
use crate::base::{Budget, FileId, JointId, MemberId};
use crate::diagnostic::{Cure, CureKind, Diagnostic, Edit, Grade, Severity, Slug};
use crate::quantity::format;
use crate::statics::VerdictKind;
use crate::structure::{Project, Structure};

use writing::Writer;

/// Cures of one finding that get the whole check; the others are advice.
pub const MOST_TRIED: usize = 8;
/// Findings whose cures are tried.
pub const MOST_FINDINGS: usize = 8;
/// What all trials of one check may cost, as [`cost`] reckons it.
pub const MOST_COST: usize = 150_000;
/// Cures told in words; all are in the formats for programs.
const MOST_TOLD: usize = 3;

/// Tries the cures of all findings, ranks them and puts them into words.
pub fn grade(checked: &mut Checked, project: &Project, switches: &Switches) {
    if checked.diagnostics.iter().all(|found| found.cures.is_empty()) {
        return;
    }
    let mut found = std::mem::take(&mut checked.diagnostics);
    let mut trials = Trials::new(checked, &found, project, switches);
    root_cause(&mut trials, &mut found);
    let mut tried = 0;
    for diagnostic in found.iter_mut().filter(|found| !found.cures.is_empty()) {
        let cures = std::mem::take(&mut diagnostic.cures);
        if tried < MOST_FINDINGS && !is_graded(&cures) {
            tried += 1;
            diagnostic.cures = trials.graded(diagnostic, cures);
        } else {
            diagnostic.cures = cures;
        }
        let told = sentences(&checked.structure, &diagnostic.cures);
        diagnostic.help.splice(0..0, told);
        // Advice in words alone is help, not something to apply.
        diagnostic.cures.retain(|cure| !matches!(cure.kind, CureKind::Advice | CureKind::Fallback));
    }
    checked.diagnostics = found;
}

fn is_graded(cures: &[Cure]) -> bool {
    cures.iter().any(|cure| cure.grade != Grade::Advice)
}

/// One slip may be why several things move: members not joined to the joints on their way, or two joints a hair's
/// breadth apart where one is meant. Where putting that right makes the structure stand, it is told and the motions
/// are not.
fn root_cause(trials: &mut Trials<'_>, found: &mut Vec<Diagnostic>) {
    let is_moving = |found: &Diagnostic| found.severity == Severity::Error && is_motion(found.slug);
    let Some(first) = found.iter().position(is_moving) else { return };
    let structure = trials.writer.structure;
    let through = |found: &Diagnostic| matches!(found.cures.first(), Some(Cure { kind: CureKind::Join(_), .. }));
    for (cause, cure) in joining(structure, found).into_iter().chain(merging(structure)) {
        let Some((_, edits)) = trials.writer.ways(&cure.kind).into_iter().next() else { continue };
        let Some(after) = trials.attempt(&edits) else { return };
        let grade = trials.outcome(&cause, &after);
        let Some(grade @ (Grade::NothingIsWrong | Grade::Stands { .. })) = grade else { continue };
        let mut told = cause;
        let effects = found.iter().filter(|found| is_moving(found)).take(2);
        told.why.extend(effects.map(|effect| format!("As it is, {}.", effect.message)));
        let is_gone = |other: &Diagnostic| {
            !after.diagnostics.iter().any(|left| left.slug == other.slug && left.message == other.message)
        };
        told.cures = vec![Cure { grade, edits, ..cure }];
        found.insert(first, told);
        let mut index = 0;
        found.retain(|other| {
            index += 1;
            index == first + 1 || !(is_moving(other) || through(other) && is_gone(other))
        });
        return;
    }
}

/// All members that run through joints joined to them, with the finding that says so.
fn joining(structure: &Structure, found: &[Diagnostic]) -> Option<(Diagnostic, Cure)> {
    let joins = |diagnostic: &Diagnostic| match diagnostic.cures.as_slice() {
        [Cure { kind: CureKind::Join(joined), .. }, ..] => joined.clone(),
        _ => Vec::new(),
    };
    let joined: Vec<(MemberId, Vec<JointId>)> = found.iter().flat_map(joins).collect();
    let mut through = found.iter().filter(|found| !joins(found).is_empty());
    let mut told = through.next().filter(|_| joined.len() <= MOST_TRIED)?.clone();
    told.severity = Severity::Error;
    told.labels.extend(through.flat_map(|other| other.labels.iter().cloned()));
    let texts: Vec<String> = joined
        .iter()
        .map(|(member, joints)| {
            let [first, last] =
                [structure.members[*member].start, structure.members[*member].end].map(|end| structure.joint_name(end));
            let between: Vec<&str> = joints.iter().map(|id| structure.joint_name(*id)).collect();
            format!("`{first}-{}-{last}` in place of `{first}-{last}`", between.join("-"))
        })
        .collect();
    Some((told, Cure::new(CureKind::Join(joined), format!("write {}", words::list(&texts)))))
}

/// The two nearest joints, where they are so near for the size of the whole that one is probably meant.
fn merging(structure: &Structure) -> Option<(Diagnostic, Cure)> {
    /// Of the size of the whole.
    const NEAR: f64 = 1.0 / 500.0;
    let mut by_x: Vec<([f64; 2], JointId)> =
        structure.joints.entries().map(|(id, joint)| (joint.point(), id)).collect();
    by_x.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]).then(a.1.cmp(&b.1)));
    let (least, most) = (by_x.first()?.0, by_x.last()?.0);
    let heights = || by_x.iter().map(|(at, _)| at[1]);
    let (low, high) = (heights().fold(f64::INFINITY, f64::min), heights().fold(f64::NEG_INFINITY, f64::max));
    let limit = NEAR * (most[0] - least[0]).hypot(high - low);
    let distance = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let near = by_x.iter().enumerate().flat_map(|(at, (a, first))| {
        let beside = by_x.iter().skip(at + 1).take_while(move |(b, _)| b[0] - a[0] <= limit).take(MOST_TRIED);
        beside.map(move |(b, second)| (distance(*a, *b), *first, *second))
    });
    let (apart, a, b) =
        near.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|(apart, ..)| *apart > 0.0 && *apart <= limit)?;
    let (kept, dropped) = if structure.joints[a].origin < structure.joints[b].origin { (a, b) } else { (b, a) };
    let [kept_name, name] = [kept, dropped].map(|joint| structure.joint_name(joint));
    let unit = words::units(structure).length;
    let apart = format!("{} {}", format::trimmed(apart / unit.unit.factor.to_f64(), 3), unit.symbol);
    let told = Diagnostic::new(Slug::CoincidentJoints, format!("joints {kept_name} and {name} are {apart} apart"))
        .label(structure.joints[dropped].origin, format!("{name} is all but at {kept_name}"))
        .label(structure.joints[kept].origin, format!("{kept_name} is here"))
        .why("Two joints, however near, are not joined to each other: forces do not pass between them.");
    let text = format!("write `{kept_name}` for `{name}` throughout");
    Some((told, Cure::new(CureKind::Merge(kept, dropped), text)))
}

/// A project's trials, as far as their cost goes.
struct Trials<'a> {
    writer: Writer<'a>,
    switches: &'a Switches,
    before: &'a Checked,
    /// How often each finding was there before.
    known: FxHashMap<(Slug, String), usize>,
    cost: usize,
    budget: Budget,
}

impl<'a> Trials<'a> {
    fn new(before: &'a Checked, found: &[Diagnostic], project: &'a Project, switches: &'a Switches) -> Trials<'a> {
        let mut known: FxHashMap<(Slug, String), usize> = FxHashMap::default();
        for diagnostic in found {
            *known.entry((diagnostic.slug, diagnostic.message.clone())).or_default() += 1;
        }
        let writer = Writer { project, structure: &before.structure };
        Trials {
            writer,
            switches,
            before,
            known,
            cost: cost(project, &before.structure),
            budget: Budget::of(MOST_COST),
        }
    }

    /// The cures of a finding, the best first, without those that do not help.
    fn graded(&mut self, found: &Diagnostic, cures: Vec<Cure>) -> Vec<Cure> {
        let mut tried = 0;
        let mut kept = Vec::new();
        for cure in cures {
            let ways = self.writer.ways(&cure.kind);
            let mut best: Option<Cure> = None;
            let mut is_refuted = false;
            for (words, edits) in ways {
                if tried >= MOST_TRIED {
                    break;
                }
                let Some(after) = self.attempt(&edits) else { break };
                tried += 1;
                match self.outcome(found, &after) {
                    Some(grade) if best.as_ref().is_none_or(|best| grade < best.grade) => {
                        let text = format!("{}{words}", cure.text);
                        best = Some(Cure { text, grade, edits, kind: cure.kind.clone() });
                    }
                    Some(_) => {}
                    None => is_refuted = true,
                }
                if best.as_ref().is_some_and(|best| best.grade == Grade::NothingIsWrong) {
                    break;
                }
            }
            match best {
                Some(best) => kept.push(best),
                None if is_refuted => {}
                None => kept.push(cure),
            }
        }
        // What was not tried for lack of space is not offered beside what was.
        let is_advice = |cure: &Cure| matches!(cure.kind, CureKind::Advice | CureKind::Fallback);
        kept.sort_by_key(|cure| (cure.grade, is_advice(cure)));
        if kept.iter().any(|cure| !cure.edits.is_empty()) {
            kept.retain(|cure| is_advice(cure) || !cure.edits.is_empty());
        }
        if kept.iter().any(|cure| cure.kind != CureKind::Fallback) {
            kept.retain(|cure| cure.kind != CureKind::Fallback);
        }
        kept
    }

    /// The whole check of the text with a cure; `None` where it would cost too much.
    fn attempt(&mut self, edits: &[Edit]) -> Option<Checked> {
        let is_affordable = self.budget.take(self.cost);
        is_affordable.then(|| check_as_written(&with_edits(self.writer.project, edits), self.switches))
    }

    /// What came of a cure of one finding; `None` if it does not help, or
    /// makes something else wrong.
    fn outcome(&self, found: &Diagnostic, after: &Checked) -> Option<Grade> {
        // The same joints may go on moving another way.
        let texts = |found: &Diagnostic| found.labels.iter().map(|label| label.text.clone()).collect::<Vec<_>>();
        let is_same = |other: &Diagnostic| {
            other.slug == found.slug && other.message == found.message && texts(other) == texts(found)
        };
        if after.diagnostics.iter().any(is_same) || self.is_worse(after) {
            return None;
        }
        let verdict = after.verdict.as_ref()?;
        let before = self.before.verdict.as_ref();
        let of_redundancy = found.slug == Slug::Redundant;
        if of_redundancy && before.is_some_and(|before| verdict.redundancy >= before.redundancy) {
            return None;
        }
        let is_clean = || after.diagnostics.iter().all(|found| found.severity == Severity::Information);
        match verdict.kind {
            VerdictKind::Determinate | VerdictKind::Indeterminate if is_clean() => Some(Grade::NothingIsWrong),
            VerdictKind::Determinate | VerdictKind::Indeterminate => {
                Some(Grade::Stands { redundant: verdict.redundancy })
            }
            VerdictKind::NotSettled => None,
            VerdictKind::Unstable => {
                let had = before.map_or(usize::MAX, |before| before.mechanisms);
                match of_redundancy {
                    true => (verdict.mechanisms <= had).then_some(Grade::Advice),
                    false => (verdict.mechanisms < had).then_some(Grade::StopsThisMotion),
                }
            }
        }
    }

    /// Whether something is wrong that was not before, what only now can be
    /// seen included; motions and redundancies are counted elsewhere, claims
    /// may be of another structure.
    fn is_worse(&self, after: &Checked) -> bool {
        let mut known = self.known.clone();
        after.diagnostics.iter().any(|found| {
            let counts = match found.severity {
                Severity::Error => !is_motion(found.slug) && found.slug != Slug::Redundant && !is_of_claims(found.slug),
                Severity::Warning => found.slug == Slug::RunsThroughJoint,
                Severity::Information => false,
            };
            counts
                && match known.get_mut(&(found.slug, found.message.clone())) {
                    Some(left) if *left > 0 => {
                        *left -= 1;
                        false
                    }
                    _ => true,
                }
        })
    }
}

fn is_of_claims(slug: Slug) -> bool {
    matches!(slug, Slug::ClaimFails | Slug::ClaimNotRefuted)
}

/// Findings about what moves.
const fn is_motion(slug: Slug) -> bool {
    matches!(
        slug,
        Slug::NoSupport
            | Slug::TooFewReactions
            | Slug::ParallelReactions
            | Slug::ConcurrentReactions
            | Slug::DanglingJoint
            | Slug::CollinearJoint
            | Slug::UnbracedPanel
            | Slug::TurningPart
            | Slug::Sway
            | Slug::HingesInLine
            | Slug::SpecialLayout
            | Slug::Mechanism
            | Slug::MoreMechanisms
    )
}

/// What one check of a project costs, in members or so.
fn cost(project: &Project, structure: &Structure) -> usize {
    const A_CLAIM: usize = 50;
    const A_TRAIN: usize = 5_000;
    const BYTES: usize = 16;
    let text: usize = project.files.iter().map(|(_, file)| file.text.len()).sum();
    let loads: usize = structure.cases.iter().map(|case| case.loads.len()).sum();
    let results = (structure.cases.len() + structure.combinations.len()) * structure.members.len();
    structure.joints.len()
        + structure.members.len()
        + loads
        + results / 4
        + A_CLAIM * structure.claims.len()
        + A_TRAIN * structure.travels.len()
        + text / BYTES
}

/// The project with edits made in its texts.
pub fn with_edits(project: &Project, edits: &[Edit]) -> Project {
    let mut of: FxHashMap<FileId, Vec<(&Edit, ())>> = FxHashMap::default();
    for edit in edits {
        of.entry(edit.file).or_default().push((edit, ()));
    }
    let changed = of.into_iter().map(|(file, edits)| (file, edited(project.files.text(file), edits).0)).collect();
    project.with_texts(changed)
}

/// Each cure as a line of help; members of which any one may go, as one.
fn sentences(structure: &Structure, cures: &[Cure]) -> Vec<String> {
    let mut told: Vec<(String, Grade)> = Vec::new();
    let mut left_out: Vec<Grade> = Vec::new();
    for cure in cures {
        let text = match cure.kind {
            CureKind::LeaveOut(_) if left_out.contains(&cure.grade) => continue,
            CureKind::LeaveOut(first) => {
                left_out.push(cure.grade);
                let alike = cures.iter().filter(|other| other.grade == cure.grade);
                let members: Vec<_> = alike
                    .filter_map(|other| match other.kind {
                        CureKind::LeaveOut(member) => Some(member),
                        _ => None,
                    })
                    .collect();
                match members.len() {
                    1 => format!("leave out {}", structure.member_name(first)),
                    _ => format!("leave out any one of {}", words::members(structure, &members)),
                }
            }
            _ => cure.text.clone(),
        };
        told.push((text, cure.grade));
    }
    let mut places = 0;
    told.retain(|(_, grade)| {
        places += usize::from(*grade != Grade::Advice);
        *grade == Grade::Advice || places <= MOST_TOLD
    });
    let line = |(place, (text, grade)): (usize, &(String, Grade))| {
        let or = if place > 0 { "or " } else { "" };
        match grade {
            Grade::Advice => format!("{or}{text}"),
            Grade::Stands { redundant } if *redundant > 0 => {
                format!("{or}{text}: then it stands, {} redundant", words::count(*redundant))
            }
            grade => format!("{or}{text}: {}", grade.word()),
        }
    };
    told.iter().enumerate().map(line).collect()
}

//! What each load adds to a chosen result, by one transposed solve for each
//! result: for a linear structure a result is a weighted sum of everything
//! that acts, and the weights are the adjoint solution (the influence
//! coefficients of Müller-Breslau's principle, common practice).
//!
//! Must not know: which results anybody asks for, or why.

use crate::base::{JointId, MemberId, SupportId};
use crate::numeric::NumericError;
use crate::structure::{Imposed, LoadKind, Structure};

use super::diagram::Diagram;
use super::equations::{Equations, Factored, SolveError, factor};
use super::equilibrium::{Balance, End, Equilibrium};
use super::flexibility;
use super::results::{CaseResult, Columns};
use super::solve::against;
use super::spans::{self, OnRow, Piece, SpanLoad};
use super::verdict::Verdict;

/// One number among the results of a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// Newtons, tension positive.
    Axial(MemberId),
    /// Newton-metres, as in [`CaseResult::moments`].
    EndMoment(MemberId, End),
    /// Newtons, or newton-metres for the couple.
    Reaction(SupportId, ResultPart),
    /// Metres, or radians.
    Movement(JointId, ResultPart),
}

/// A part of a reaction or a movement; the turn is counterclockwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ResultPart {
    X,
    Y,
    Turn,
}

/// The factored equations of one structure, ready for any number of results.
pub struct Adjoint<'a> {
    structure: &'a Structure,
    equilibrium: &'a Equilibrium,
    factored: Factored,
    columns: Columns,
}

/// How much one result grows with each unit of action.
#[derive(Clone, Debug, Default)]
pub struct Influence {
    /// For each newton, or newton-metre, on a row of the matrix.
    rows: Vec<f64>,
    /// For each metre, or radian, of free deformation of an unknown; empty
    /// where deformations make no forces.
    columns: Vec<f64>,
}

impl Wanted {
    /// What it is in a result; zero where the structure has no such thing.
    pub fn of(self, result: &CaseResult) -> f64 {
        match self {
            Wanted::Axial(member) => result.axial[member],
            Wanted::EndMoment(member, end) => result.end_moments(member)[end as usize],
            Wanted::Reaction(support, part) => {
                let reaction = &result.reactions[support];
                match part {
                    ResultPart::X => reaction.fx,
                    ResultPart::Y => reaction.fy,
                    ResultPart::Turn => reaction.m,
                }
                .unwrap_or(0.0)
            }
            Wanted::Movement(joint, part) => {
                let moved = result.displacements.as_ref().map(|all| all[joint]);
                moved.map_or(0.0, |moved| match part {
                    ResultPart::X => moved.dx,
                    ResultPart::Y => moved.dy,
                    ResultPart::Turn => moved.turn.unwrap_or(0.0),
                })
            }
        }
    }

    /// Writes a value into a result, where it has a place for it.
    pub fn put(self, result: &mut CaseResult, value: f64) {
        let slot = match self {
            Wanted::Axial(member) => Some(&mut result.axial[member]),
            Wanted::EndMoment(..) if result.moments.is_empty() => None,
            Wanted::EndMoment(member, end) => Some(&mut result.moments[member][end as usize]),
            Wanted::Reaction(support, part) => {
                let reaction = &mut result.reactions[support];
                match part {
                    ResultPart::X => reaction.fx.as_mut(),
                    ResultPart::Y => reaction.fy.as_mut(),
                    ResultPart::Turn => reaction.m.as_mut(),
                }
            }
            Wanted::Movement(joint, part) => {
                let moved = result.displacements.as_mut().map(|all| &mut all[joint]);
                moved.and_then(|moved| match part {
                    ResultPart::X => Some(&mut moved.dx),
                    ResultPart::Y => Some(&mut moved.dy),
                    ResultPart::Turn => moved.turn.as_mut(),
                })
            }
        };
        if let Some(slot) = slot {
            *slot = value;
        }
    }
}

impl<'a> Adjoint<'a> {
    /// Fails as [`super::solve()`] does.
    pub fn new(
        structure: &'a Structure,
        equilibrium: &'a Equilibrium,
        verdict: &Verdict,
    ) -> Result<Adjoint<'a>, SolveError> {
        let factored = factor(structure, equilibrium, verdict)?;
        Ok(Adjoint { structure, equilibrium, factored, columns: Columns::of(structure, equilibrium) })
    }

    /// One transposed solve.
    pub fn influence(&self, wanted: Wanted) -> Result<Influence, NumericError> {
        let mut on_columns = vec![0.0; self.equilibrium.unknowns.len()];
        let mut on_rows = vec![0.0; self.equilibrium.rows.len()];
        match wanted {
            Wanted::Movement(joint, part) => {
                let row = self.equilibrium.rows.force(joint);
                let row = match part {
                    ResultPart::X => Some(row),
                    ResultPart::Y => Some(row + 1),
                    ResultPart::Turn => self.equilibrium.rows.moment(joint),
                };
                if let Some(row) = row {
                    on_rows[row as usize] = 1.0;
                }
            }
            _ => {
                for (column, factor) in self.columns_of(wanted) {
                    on_columns[column] += factor;
                }
            }
        }
        let moves = matches!(wanted, Wanted::Movement(..));
        match &self.factored.equations {
            // B f = -p, Bᵀu = -(F f + e0).
            Equations::Determinate(factor) if moves => {
                let Some(flexibilities) = &self.factored.flexibilities else { return Ok(Influence::default()) };
                let carried = factor.solve(&on_rows)?;
                let rows = factor.solve_transposed(&flexibilities.times(&carried))?;
                Ok(Influence { rows, columns: against(carried) })
            }
            Equations::Determinate(factor) => {
                Ok(Influence { rows: against(factor.solve_transposed(&on_columns)?), columns: Vec::new() })
            }
            // F f + Bᵀu = -e0, B f = -p: a symmetric system, its own transpose.
            Equations::Redundant(factor) => {
                let answer = factor.solve(&on_rows, &on_columns)?;
                Ok(Influence { rows: answer.rows, columns: against(answer.columns) })
            }
        }
    }

    fn columns_of(&self, wanted: Wanted) -> Vec<(usize, f64)> {
        match wanted {
            Wanted::Axial(member) => vec![(self.columns.members[member].axial, 1.0)],
            Wanted::EndMoment(member, end) => {
                self.columns.members[member].moments[end as usize].map(|column| (column, 1.0)).into_iter().collect()
            }
            Wanted::Reaction(support, part) => {
                let own = &self.columns.supports[support];
                match part {
                    ResultPart::X => &own.fx,
                    ResultPart::Y => &own.fy,
                    ResultPart::Turn => &own.m,
                }
                .clone()
                .unwrap_or_default()
            }
            Wanted::Movement(..) => Vec::new(),
        }
    }

    /// What a load adds to the result this is the influence on, in the
    /// result's unit.
    pub fn of_load(&self, influence: &Influence, load: &LoadKind) -> f64 {
        let piece = Piece::of(self.structure, load);
        let (on_rows, span) = spans::single(self.structure, &self.equilibrium.rows, &piece);
        let mut sum: f64 = match influence.rows.as_slice() {
            [] => 0.0,
            rows => on_rows.iter().map(|(row, value)| rows[*row as usize] * value).sum(),
        };
        if influence.columns.is_empty() {
            return sum;
        }
        let mut deforms = |column: usize, by: f64| sum += influence.columns[column] * by;
        if let Some((member, span)) = span {
            let diagram = Diagram::of(self.structure.member_length(member), 0.0, [0.0; 2], &[span]);
            let bending = flexibility::bending(self.structure, member).known().unwrap_or(0.0);
            for (column, turn) in self.columns.members[member].moments.iter().zip(diagram.end_turns()) {
                if let Some(column) = column {
                    deforms(*column, turn * bending);
                }
            }
        }
        match piece {
            Piece::Longer { member, by, .. } => deforms(self.columns.members[member].axial, by),
            Piece::Settles { joint, by: Imposed::Move([x, y]) } => {
                self.settle(joint, ResultPart::X, x, &mut deforms);
                self.settle(joint, ResultPart::Y, y, &mut deforms);
            }
            Piece::Settles { joint, by: Imposed::Turn(by) } => self.settle(joint, ResultPart::Turn, by, &mut deforms),
            Piece::Force(..) | Piece::Couple(..) | Piece::Spread(_) => {}
        }
        sum
    }

    /// A support's movement against the sense of its reaction.
    fn settle(&self, joint: JointId, part: ResultPart, by: f64, deforms: &mut impl FnMut(usize, f64)) {
        let Some((support, _)) = self.structure.support_at(joint) else { return };
        for (column, factor) in self.columns_of(Wanted::Reaction(support, part)) {
            deforms(column, -by * factor);
        }
    }

    /// The sum of a load's forces, x and y, newtons.
    pub fn resultant(&self, load: &LoadKind) -> [f64; 2] {
        let (on_rows, _) = self.single(load);
        on_rows.iter().fold([0.0; 2], |[x, y], (row, value)| match self.equilibrium.rows.joint_of(*row).1 {
            Balance::X => [x + value, y],
            Balance::Y => [x, y + value],
            Balance::Moment => [x, y],
        })
    }

    /// The load as one on its member, where it acts between joints.
    pub fn on_member(&self, load: &LoadKind) -> Option<(MemberId, SpanLoad)> {
        self.single(load).1
    }

    fn single(&self, load: &LoadKind) -> (Vec<OnRow>, Option<(MemberId, SpanLoad)>) {
        spans::single(self.structure, &self.equilibrium.rows, &Piece::of(self.structure, load))
    }
}

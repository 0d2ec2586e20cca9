//! The statics, once for everything: one equilibrium matrix, the exact verdict
//! on it, forces, and an independent check of what comes out.
//!
//! Must not know: diagnostics, words for people.

pub mod actions;
pub mod cure;
pub mod equilibrium;
pub mod motion;
pub mod parts;
pub mod residual;
pub mod results;
pub mod solve;
pub mod verdict;

pub use cure::Cure;
pub use equilibrium::{Component, Equilibrium, Restraint, Unknown};
pub use motion::{Motion, Shape};
pub use parts::{Part, RigidMotion};
pub use results::{CaseResult, Place, Reaction, Residual, Subject, WholeSums};
pub use solve::{Solution, SolveError, ZERO_SHARE, solve};
pub use verdict::{Freedom, Mechanism, Redundancy, Special, SupportFault, Verdict, VerdictKind, settle};

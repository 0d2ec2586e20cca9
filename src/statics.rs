//! The statics, once for everything: one equilibrium matrix, the exact verdict
//! on it, forces, and an independent check of what comes out.
//!
//! Must not know: diagnostics, words for people.

pub mod adjoint;
pub mod cure;
pub mod diagram;
pub mod equations;
pub mod equilibrium;
pub mod exact;
pub mod external;
pub mod flexibility;
pub mod motion;
pub mod polynomial;
pub mod residual;
pub mod results;
pub mod solve;
pub mod spans;
pub mod travel;
pub mod verdict;

pub use adjoint::{Adjoint, Influence, ResultPart, Wanted};
pub use cure::Cure;
pub use diagram::{Diagram, Section, Side};
pub use equations::SolveError;
pub use equilibrium::{Component, End, Equilibrium, Restraint, Unknown};
pub use external::External;
pub use motion::{Motion, Part, RigidMotion, Shape};
pub use results::{CaseResult, Displacement, Place, Reaction, Residual, Subject, WholeSums, judged};
pub use solve::{Solution, ZERO_SHARE, solve};
pub use travel::{Probe, Range, TrainPosition, TravelResult};
pub use verdict::{
    Freedom, Mechanism, Redundancy, Special, SupportFault, Verdict, VerdictKind, find_verdict, releases,
};

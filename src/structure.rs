//! The structure itself: joints, members, supports, loads, claims; and the way
//! from trees to it: names resolved, expressions evaluated, loops unrolled.
//!
//! Must not know: equilibrium, verdicts, how anything is shown.

pub mod claim;
pub mod fault;
pub mod lower;
pub mod model;
pub mod names;
pub mod project;

pub use claim::*;
pub use fault::Fault;
pub use lower::{Lowered, lower};
pub use model::*;
pub use names::{NameId, Names};
pub use project::{Project, SourceRefusal, Sources, folder_prefix, read_project, read_sources};

//! What every other layer stands on: spans, source files, typed ids, graphs,
//! orders of names, similar names, how text from outside is shown, budgets of
//! memory and of searches, tolerances.
//!
//! Must not know: the language, numbers with units, statics.

pub mod budget;
pub mod graph;
pub mod ids;
pub mod memory;
pub mod names;
pub mod senses;
pub mod shown;
pub mod source;
pub mod span;
pub mod tolerances;

pub use budget::Budget;
pub use graph::{DisjointSets, Lists};
pub use ids::{
    CaseId, CombinationId, FileId, Id, IdVec, JointId, MaterialId, MemberId, SectionId, SupportId, TravelId,
};
pub use names::{letters_alike, natural_order, nearest, similar};
pub use senses::{is_turned, sense_of};
pub use shown::{escaped_json, is_unseen, shown, unheeded, visible};
pub use source::{Files, Location, SourceFile};
pub use span::{Origin, Span};

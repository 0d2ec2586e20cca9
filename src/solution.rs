//! The worked solution as steps, as data: what is cut free, the sums taken, the
//! unknowns each gives, what is eliminated. A page tells it, a figure draws
//! it, and an answer can be tried against it.
//!
//! Must not know: words, formulae, how anything is written.

pub mod beams;
pub mod bodies;
pub mod complex;
pub mod elimination;
pub mod force_method;
pub mod joints;
pub mod loads;
pub mod part;
pub mod problem;
pub mod reactions;
pub mod sections;
pub mod superposition;
pub mod system;

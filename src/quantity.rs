//! Numbers with units: dimensions, the unit table, exact-or-float numbers,
//! quantities, vectors.
//!
//! Must not know: the syntax tree, structures, statics.

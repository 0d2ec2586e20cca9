//! How near is the same: each tolerance with its scale and its reason.
//!
//! Must not know: what is compared.

/// Two numbers nearer each other than this share of their own size are the
/// same: a thousand million times what one operation on doubles leaves
/// (1e-16), and far below the last figure anybody writes.
pub const SAME: f64 = 1e-9;

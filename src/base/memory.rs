//! The budget of memory: how much a run may take, and how much of it is taken
//! as far as the program's allocator tells.
//!
//! Most of what costs memory is estimated from counts before it is spent, and
//! refused with a diagnostic; the allocator stops what no estimate foresaw.
//!
//! Must not know: what the memory is for.

use std::sync::atomic::{AtomicIsize, AtomicUsize, Ordering};

/// The default budget, bytes.
pub const USUAL: usize = 2_000_000_000;

static BUDGET: AtomicUsize = AtomicUsize::new(USUAL);
/// Less than nothing for a moment where a thread gives back what another has
/// taken and not yet counted.
static TAKEN: AtomicIsize = AtomicIsize::new(0);

/// Bytes.
pub fn budget() -> usize {
    BUDGET.load(Ordering::Relaxed)
}

/// Another budget for the whole process, bytes.
pub fn set_budget(bytes: usize) {
    BUDGET.store(bytes, Ordering::Relaxed);
}

/// How many things of so many bytes the budget has room for.
pub fn room_for(bytes: usize) -> usize {
    budget() / bytes.max(1)
}

/// Counts bytes as taken; `false` where that goes beyond the budget.
pub fn take(bytes: usize) -> bool {
    let bytes = bytes.cast_signed();
    let taken = TAKEN.fetch_add(bytes, Ordering::Relaxed).saturating_add(bytes);
    usize::try_from(taken).map_or(true, |taken| taken <= budget())
}

/// Counts bytes as given back.
pub fn give(bytes: usize) {
    TAKEN.fetch_sub(bytes.cast_signed(), Ordering::Relaxed);
}

/// `2 GB`, `512 MB`: a number of bytes as it is stated and told.
pub fn in_words(bytes: usize) -> String {
    match [(1_000_000_000, "GB"), (1_000_000, "MB"), (1_000, "kB")].iter().find(|(size, _)| bytes.is_multiple_of(*size))
    {
        Some((size, unit)) => format!("{} {unit}", bytes / size),
        None => format!("{bytes} bytes"),
    }
}

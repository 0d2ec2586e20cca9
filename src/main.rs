//! The program: arguments in, exit status out; an allocator that keeps to the
//! budget of memory.

use std::alloc::{GlobalAlloc, Layout};
use std::cell::Cell;
use std::io::Write;
use std::process::ExitCode;

use kingpost::base::memory;

#[cfg(feature = "mimalloc")]
type Inner = mimalloc::MiMalloc;
#[cfg(not(feature = "mimalloc"))]
type Inner = std::alloc::System;

#[cfg(feature = "mimalloc")]
const INNER: Inner = mimalloc::MiMalloc;
#[cfg(not(feature = "mimalloc"))]
const INNER: Inner = std::alloc::System;

#[global_allocator]
static ALLOCATOR: Budgeted = Budgeted { inner: INNER };

fn main() -> ExitCode {
    ExitCode::from(kingpost::command::run(std::env::args_os()) as u8)
}

/// Hands out memory within the budget; beyond it, or where the machine has
/// none left, the run ends with a sentence.
struct Budgeted {
    inner: Inner,
}

/// Bytes that a thread may take before they are counted with the others'.
const UNCOUNTED: isize = 1 << 16;

thread_local! {
    /// Taken by this thread and not yet counted; negative where more was given back.
    static PENDING: Cell<isize> = const { Cell::new(0) };
}

/// Counts what a thread takes, or gives back where it is negative.
fn count(bytes: isize) {
    let pending = PENDING.try_with(|pending| {
        let sum = pending.get() + bytes;
        let is_much = sum.unsigned_abs() >= UNCOUNTED.unsigned_abs();
        pending.set(if is_much { 0 } else { sum });
        if is_much { sum } else { 0 }
    });
    // A thread that ends counts as it goes.
    let sum = pending.unwrap_or(bytes);
    if sum < 0 {
        memory::give(sum.unsigned_abs());
    } else if sum > 0 && !memory::take(sum.unsigned_abs()) {
        refuse("this takes more memory than its budget of");
    }
}

/// Ends the run as one that could not be done. Nothing is allocated on the way.
fn refuse(why: &str) -> ! {
    // What is written here is not held against the budget.
    let budget = memory::budget();
    memory::set_budget(usize::MAX);
    let mut line = [0_u8; 200];
    let mut rest = &mut line[..];
    let _ = writeln!(rest, "kingpost: {why} {} MB; `--memory SIZE` states another", budget / 1_000_000);
    let left = rest.len();
    let _ = std::io::stderr().write_all(&line[..line.len() - left]);
    std::process::exit(kingpost::command::Exit::CouldNotRun as i32)
}

fn size_of(layout: Layout) -> isize {
    layout.size().cast_signed()
}

/// What the allocator inside gave, or the end of the run.
fn given(memory: *mut u8) -> *mut u8 {
    if memory.is_null() {
        refuse("the machine has no more memory, and this may take");
    }
    memory
}

// SAFETY: every request goes to the allocator inside as it is, and what that
// gives is handed on; counting neither allocates nor unwinds.
#[allow(unsafe_code)]
unsafe impl GlobalAlloc for Budgeted {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count(size_of(layout));
        // SAFETY: the caller keeps the contract of `alloc`.
        given(unsafe { self.inner.alloc(layout) })
    }

    unsafe fn alloc_zeroed(&self, layout: Layout) -> *mut u8 {
        count(size_of(layout));
        // SAFETY: the caller keeps the contract of `alloc_zeroed`.
        given(unsafe { self.inner.alloc_zeroed(layout) })
    }

    unsafe fn dealloc(&self, memory: *mut u8, layout: Layout) {
        // SAFETY: the caller keeps the contract of `dealloc`.
        unsafe { self.inner.dealloc(memory, layout) };
        count(-size_of(layout));
    }

    unsafe fn realloc(&self, memory: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        // Old and new may both be there for a while.
        count(size.cast_signed());
        // SAFETY: the caller keeps the contract of `realloc`.
        let moved = given(unsafe { self.inner.realloc(memory, layout, size) });
        count(-size_of(layout));
        moved
    }
}

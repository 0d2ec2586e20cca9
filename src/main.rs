//! The program: arguments in, exit status out.

use std::process::ExitCode;

#[cfg(feature = "mimalloc")]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    ExitCode::from(kingpost::command::run(std::env::args_os()) as u8)
}

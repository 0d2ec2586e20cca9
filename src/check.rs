//! What is wrong with a structure and with the statements it came from, each
//! finding put into words at the place where it stands.
//!
//! Must not know: how a finding is shown, files on disk, commands.

pub mod faults;

//! No picture of this program's memory is written to a disk when it dies: it holds clear text and keys.

use rustix::process::{DumpableBehavior, Resource, Rlimit, set_dumpable_behavior, setrlimit};

/// Switches core dumps off, and with them that other programs of the same user look into this one.
/// Where the system refuses, the program goes on: what it does is no worse than before.
pub fn switch_off() {
    let none = Rlimit {
        current: Some(0),
        maximum: Some(0),
    };
    let _ = setrlimit(Resource::Core, none);
    // The limit alone is not asked where dumps are piped to a program.
    let _ = set_dumpable_behavior(DumpableBehavior::NotDumpable);
}

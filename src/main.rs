//! The `rackwalk` program: arguments in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    rackwalk::cli::run(std::env::args_os())
}

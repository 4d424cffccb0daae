//! The `barwright` program.
use std::process::ExitCode;

fn main() -> ExitCode {
    barwright::run(std::env::args_os())
}

//! The program `myonym`.

use std::process::ExitCode;

fn main() -> ExitCode {
    myonym::run()
}

//! Starts the program: everything it can do is in the library.
fn main() -> std::process::ExitCode {
    std::process::ExitCode::SUCCESS
}

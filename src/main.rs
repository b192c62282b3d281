//! Starts the program: everything it can do is in the library.

fn main() -> std::process::ExitCode {
    deckwatch::cli::main()
}

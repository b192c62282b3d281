//! Starts the program: everything it can do is in the library.

/// Hashing a PIN takes 19 MiB for a moment; this allocator gives them back, the system's keeps
/// them for good.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    deckwatch::cli::main()
}

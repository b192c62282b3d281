//! Starts the program: everything it can do is in the library.

/// Gives memory back that served one page or one live stream, where the system's keeps it; asks
/// for no huge pages, of which a box this small would fill only a part.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    deckwatch::cli::main()
}

//! Cli: the program's subcommands, one file each. Standard output is theirs.
#![expect(
    clippy::print_stdout,
    reason = "a command line answers on standard output"
)]

mod demo;
mod serve;

use std::process::ExitCode;

use clap::{Parser, Subcommand};
use tracing_subscriber::EnvFilter;

/// Boat-side operations of a dive centre: who is down, who is late, whom to fetch next, and
/// that everyone is back. A watch-keeping aid: it replaces no lookout, radio, dive computer,
/// training or local code.
#[derive(Debug, Parser)]
#[command(version, about)]
struct Cli {
    /// What is logged, and how much: error, warn, info, debug, or a filter by module.
    #[arg(long, env = "DECKWATCH_LOG", default_value = "info", global = true)]
    log: String,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serves the pages of this box.
    Serve(serve::Args),
    /// Opens on a drill: an invented trip under way, with groups in every state.
    Demo(demo::Args),
}

/// Reads the command line and does what it says.
#[must_use]
pub fn main() -> ExitCode {
    let cli = Cli::parse();
    let filter = EnvFilter::try_new(&cli.log).unwrap_or_else(|_| EnvFilter::new("info"));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .init();
    let done = match cli.command {
        Command::Serve(args) => on_runtime(serve::run(args)),
        Command::Demo(args) => on_runtime(demo::run(args)),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            tracing::error!("{error:#}");
            ExitCode::FAILURE
        }
    }
}

fn on_runtime(work: impl Future<Output = anyhow::Result<()>>) -> anyhow::Result<()> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(work)
}

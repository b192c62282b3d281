//! Cli: the program's subcommands, one file each. Standard output is theirs.
#![expect(
    clippy::print_stdout,
    reason = "a command line answers on standard output"
)]

mod backup;
mod certificate;
mod check;
mod compute;
mod config;
mod crew;
mod data;
mod demo;
mod doors;
mod export;
mod file;
mod posted;
mod restore;
mod sentry;
mod serve;
mod systemd;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{CommandFactory as _, FromArgMatches as _, Parser, Subcommand};
use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::prelude::*;

use crate::units::Faults;
use file::{FromFile, Settings};

/// Boat-side operations of a dive centre: who is down, who is late, whom to fetch next, and
/// that everyone is back. A watch-keeping aid: it replaces no lookout, radio, dive computer,
/// training or local code.
#[derive(Debug, Parser)]
#[command(version, about)]
struct Cli {
    /// What is logged, and how much: off, error, warn, info, debug or trace, and otherwise for a
    /// module, as in `info,deckwatch::store=debug`.
    #[arg(long, env = "DECKWATCH_LOG", default_value = "info", global = true, value_parser = logged)]
    log: Targets,
    /// A file with settings, TOML, named as the flags of `serve` are. A flag comes before the
    /// environment, the environment before the file.
    #[arg(long, env = "DECKWATCH_CONFIG", global = true)]
    config: Option<PathBuf>,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serves the pages of this box.
    Serve(serve::Args),
    /// Opens on a drill: an invented trip under way, with groups in every state.
    Demo(demo::Args),
    /// Answers one JSON document from standard input on standard output.
    Compute(compute::Args),
    /// Makes, lists and removes crew accounts; lets devices in.
    Crew(crew::Args),
    /// Writes a trip's log or returns.
    Export(export::Args),
    /// Makes a proven copy of everything, also while it is being served.
    Backup(backup::Args),
    /// Makes a backup what the box keeps.
    Restore(restore::Args),
    /// Proves every log and what durability rests on.
    Check(check::Args),
    /// Holds the next deadlines and sounds when the box falls silent; `serve` starts it.
    Sentry(sentry::Args),
    /// Makes an authority of the boat's own and this box's certificate, or renews it.
    Certificate(certificate::Args),
    /// Prints what `serve` would run with, and where each value comes from.
    Config(config::Args),
}

/// A word that is no level would be taken for a module, and everything else be silent.
fn logged(text: &str) -> Result<Targets, String> {
    let refused = |part: &str| {
        format!("'{part}' is no level (off, error, warn, info, debug, trace), nor module=level")
    };
    let is_misread = |part: &&str| !part.contains('=') && part.parse::<LevelFilter>().is_err();
    match text.split(',').find(is_misread) {
        Some(part) => Err(refused(part)),
        None => text.parse().map_err(|_| refused(text)),
    }
}

/// What a configuration file sets, as `serve` would take it: read without a file, for `fuzz/` and
/// the replay of its corpus.
///
/// # Errors
/// What is wrong with it, as a sentence.
#[doc(hidden)]
pub fn settings_of(text: &str) -> Result<(), String> {
    let settings = Settings::parse(text).map_err(|why| why.to_string())?;
    let command = settings.under(Cli::command());
    let told = command.try_get_matches_from(["deckwatch", "serve"]);
    told.map(|_| ()).map_err(|why| why.to_string())
}

/// Reads the command line and does what it says.
#[must_use]
pub fn main() -> ExitCode {
    // Looked at first for the file alone: what else is wrong is told by the second reading.
    let path = Cli::command()
        .ignore_errors(true)
        .get_matches()
        .try_get_one::<PathBuf>("config")
        .ok()
        .flatten()
        .cloned();
    let settings = match path.as_deref().map(Settings::read).transpose() {
        Ok(settings) => settings.unwrap_or_default(),
        Err(why) => {
            eprintln!("{why:#}");
            return ExitCode::FAILURE;
        }
    };
    let from = FromFile {
        path,
        names: settings.names(),
    };
    let matches = settings.under(Cli::command()).get_matches();
    let cli = match Cli::from_arg_matches(&matches) {
        Ok(cli) => cli,
        Err(error) => error.exit(),
    };
    tracing_subscriber::registry()
        .with(tracing_subscriber::fmt::layer().with_writer(std::io::stderr))
        .with(cli.log)
        .init();
    let done = match cli.command {
        Command::Serve(args) => on_runtime(serve::run(args)),
        Command::Demo(args) => on_runtime(demo::run(args)),
        Command::Compute(args) => compute::run(&args),
        Command::Crew(args) => on_runtime(crew::run(args)),
        Command::Export(args) => on_runtime(export::run(args)),
        Command::Sentry(args) => on_runtime(sentry::run(args)),
        Command::Backup(args) => on_runtime(backup::run(args)),
        Command::Restore(args) => on_runtime(restore::run(args)),
        Command::Check(args) => on_runtime(check::run(args)),
        Command::Certificate(args) => certificate::run(args),
        Command::Config(args) => {
            let own = matches.subcommand().map_or(&matches, |(_, own)| own);
            config::run(&args, own, &from)
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => match error.downcast::<Faults>() {
            Ok(faults) => {
                // One line for each, as whoever sent the document reads them.
                eprintln!("{faults}");
                ExitCode::from(2)
            }
            Err(error) => {
                tracing::error!("{error:#}");
                ExitCode::FAILURE
            }
        },
    }
}

fn on_runtime(work: impl Future<Output = anyhow::Result<()>>) -> anyhow::Result<()> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(work)
}

//! `deckwatch config`: what `serve` would run with, and where each value comes from. A flag
//! comes before the environment, the environment before the file, the file before the default.

use clap::parser::ValueSource;
use clap::{ArgMatches, Args as _, Command};

use super::file::FromFile;
use super::serve;
use crate::clock::Clock;

/// The same as `serve` is told.
#[derive(Debug, clap::Args)]
#[group(skip)]
pub struct Args {
    #[command(flatten)]
    serve: serve::Args,
}

/// Prints the effective configuration: name, value, source.
///
/// # Errors
/// If an origin is none.
pub(super) fn run(args: &Args, matches: &ArgMatches, from: &FromFile) -> anyhow::Result<()> {
    for origin in &args.serve.origins {
        serve::check_origin(origin)?;
    }
    for line in lines(matches, from) {
        println!("{line}");
    }
    if let Some(certificate) = &args.serve.certificate {
        let (line, _) = super::certificate::told(certificate, Clock::system().now());
        println!("{line}");
    }
    Ok(())
}

fn lines(matches: &ArgMatches, from: &FromFile) -> Vec<String> {
    let told = serve::Args::augment_args(Command::new("config"));
    let arguments = told.get_arguments();
    arguments
        .map(|argument| {
            let id = argument.get_id().as_str();
            let values: Vec<String> = matches
                .get_raw(id)
                .into_iter()
                .flatten()
                .map(|value| value.to_string_lossy().into_owned())
                .collect();
            let variable = argument
                .get_env()
                .map(|name| name.to_string_lossy().into_owned())
                .unwrap_or_default();
            let name = argument.get_long().unwrap_or(id);
            let file = from.path.as_ref().filter(|_| from.names.contains(name));
            let source = match matches.value_source(id) {
                Some(ValueSource::CommandLine) => "flag".to_owned(),
                Some(ValueSource::EnvVariable) => format!("environment {variable}"),
                Some(_) => file.map_or_else(
                    || "default".to_owned(),
                    |path| format!("file {}", path.display()),
                ),
                None => format!("not set; {variable}, a file or a flag would"),
            };
            format!("{name} = {} ({source})", values.join(","))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines_of(arguments: &[&str]) -> Vec<String> {
        let command = serve::Args::augment_args(Command::new("config"));
        lines(
            &command.try_get_matches_from(arguments).unwrap(),
            &FromFile::default(),
        )
    }

    #[test]
    fn each_value_says_where_it_comes_from() {
        let told = lines_of(&["config", "--bind", "127.0.0.1:9000"]);
        assert!(
            told.contains(&"bind = 127.0.0.1:9000 (flag)".to_owned()),
            "{told:?}"
        );
        assert!(
            told.contains(&"data = deckwatch-data (default)".to_owned()),
            "{told:?}"
        );
        assert!(
            told.iter()
                .any(|line| line.starts_with("origin =  (not set")),
            "{told:?}"
        );
    }

    #[test]
    fn instruments_are_shown_as_they_are_given_and_refused_if_they_are_none() {
        let (tcp, serial) = ("tcp://plotter:10110", "serial:///dev/ttyUSB0?baud=38400");
        let told = lines_of(&["config", "--instruments", tcp, "--instruments", serial]);
        let line = format!("instruments = {tcp},{serial} (flag)");
        assert!(told.contains(&line), "{told:?}");
        let command = serve::Args::augment_args(Command::new("config"));
        let refused = command.try_get_matches_from(["config", "--instruments", "plotter"]);
        let why = refused.unwrap_err().to_string();
        assert!(why.contains("tcp://host:10110"), "{why}");
    }
}

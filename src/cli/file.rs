//! The configuration file: TOML whose names are those of the flags. A flag comes before the
//! environment, the environment before the file, the file before the default.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use anyhow::Context as _;
use clap::Command;

use super::serve;

/// What a file sets: the name of a flag, and its values.
#[derive(Debug, Default)]
pub(super) struct Settings(BTreeMap<String, Vec<String>>);

/// Names that a file sets, for `deckwatch config` to tell.
#[derive(Debug, Default, Clone)]
pub(super) struct FromFile {
    /// The file.
    pub path: Option<PathBuf>,
    /// Names of flags.
    pub names: BTreeSet<String>,
}

impl Settings {
    /// Reads a file, whole or not at all.
    pub(super) fn read(path: &Path) -> anyhow::Result<Self> {
        let text = std::fs::read_to_string(path)
            .with_context(|| format!("the configuration {} cannot be read", path.display()))?;
        Self::parse(&text)
            .with_context(|| format!("the configuration {} is not taken", path.display()))
    }

    pub(super) fn parse(text: &str) -> anyhow::Result<Self> {
        let table: toml::Table = text.parse()?;
        let known = known();
        let mut settings = BTreeMap::new();
        for (name, value) in table {
            anyhow::ensure!(
                known.contains(&name),
                "'{name}' is no setting: there are {}",
                known.iter().cloned().collect::<Vec<_>>().join(", ")
            );
            let values = if let toml::Value::Array(values) = value {
                let values = values.into_iter().map(|value| one(&name, value));
                values.collect::<anyhow::Result<_>>()?
            } else {
                vec![one(&name, value)?]
            };
            settings.insert(name, values);
        }
        Ok(Self(settings))
    }

    /// The command line with what the file sets in place of the defaults: in every subcommand that
    /// has a flag of that name.
    pub(super) fn under(&self, command: Command) -> Command {
        let names: Vec<String> = command
            .get_subcommands()
            .map(|sub| sub.get_name().to_owned())
            .collect();
        names.into_iter().fold(command, |command, name| {
            command.mut_subcommand(name, |sub| self.with_defaults(sub))
        })
    }

    fn with_defaults(&self, command: Command) -> Command {
        let flags: Vec<(clap::Id, &Vec<String>)> = command
            .get_arguments()
            .filter_map(|flag| Some((flag.get_id().clone(), self.0.get(flag.get_long()?)?)))
            .collect();
        flags.into_iter().fold(command, |command, (id, values)| {
            command.mut_arg(id, |flag| flag.default_values(values.clone()))
        })
    }

    /// The names it sets.
    pub(super) fn names(&self) -> BTreeSet<String> {
        self.0.keys().cloned().collect()
    }
}

/// The names of the flags of `serve`.
fn known() -> BTreeSet<String> {
    let serve = <serve::Args as clap::Args>::augment_args(Command::new("serve"));
    let flags = serve.get_arguments().filter(|flag| !flag.is_hide_set());
    flags
        .filter_map(|flag| flag.get_long().map(ToOwned::to_owned))
        .collect()
}

fn one(name: &str, value: toml::Value) -> anyhow::Result<String> {
    match value {
        toml::Value::String(text) => Ok(text),
        toml::Value::Integer(number) => Ok(number.to_string()),
        toml::Value::Float(_)
        | toml::Value::Boolean(_)
        | toml::Value::Datetime(_)
        | toml::Value::Array(_)
        | toml::Value::Table(_) => {
            anyhow::bail!("'{name}' takes a text, a whole number, or a list of them")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::parser::ValueSource;

    fn serve(file: &str, arguments: &[&str]) -> clap::ArgMatches {
        let settings = Settings::parse(file).unwrap();
        let serve = <serve::Args as clap::Args>::augment_args(Command::new("serve"));
        let command = settings.under(Command::new("deckwatch").subcommand(serve));
        let all = ["deckwatch", "serve"].iter().chain(arguments);
        let matches = command.try_get_matches_from(all).unwrap();
        matches.subcommand().unwrap().1.clone()
    }

    #[test]
    fn a_flag_comes_before_the_file_and_the_file_before_the_default() {
        let file = "bind = \"127.0.0.1:9000\"\nbackups-kept = 7\n\
                    origin = [\"http://10.20.0.1:8080\", \"http://boat:8080\"]";
        let told = serve(file, &["--bind", "127.0.0.1:9001"]);
        let text = |id: &str| -> Vec<String> {
            let raw = told.get_raw(id).unwrap();
            raw.map(|v| v.to_string_lossy().into_owned()).collect()
        };
        assert_eq!(text("bind"), ["127.0.0.1:9001"]);
        assert_eq!(told.value_source("bind"), Some(ValueSource::CommandLine));
        assert_eq!(text("backups_kept"), ["7"]);
        assert_eq!(
            text("origins"),
            ["http://10.20.0.1:8080", "http://boat:8080"]
        );
        assert_eq!(text("data"), ["deckwatch-data"], "as nobody set it");
    }

    #[test]
    fn what_is_no_setting_is_refused_with_what_there_is() {
        let why = Settings::parse("bond = \"127.0.0.1:1\"").unwrap_err();
        assert!(why.to_string().contains("'bond' is no setting"), "{why}");
        assert!(why.to_string().contains("bind"), "{why}");
        for wrong in ["bind = 1.5", "bind = { a = 1 }", "bind = [[\"a\"]]"] {
            let why = Settings::parse(wrong).unwrap_err().to_string();
            assert!(why.contains("takes a text"), "{wrong}: {why}");
        }
        assert!(Settings::parse("bind = ").is_err());
        assert!(Settings::parse("bind = \"a\"\nbind = \"b\"").is_err());
    }

    #[test]
    fn a_value_that_makes_no_sense_is_refused_as_the_flag_would_be() {
        let settings = Settings::parse("bind = \"nowhere\"").unwrap();
        let serve = <serve::Args as clap::Args>::augment_args(Command::new("serve"));
        let command = settings.under(Command::new("deckwatch").subcommand(serve));
        let refused = command.try_get_matches_from(["deckwatch", "serve"]);
        assert!(refused.unwrap_err().to_string().contains("nowhere"));
    }
}

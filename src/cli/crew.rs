//! `deckwatch crew`: accounts, PINs and enrolment codes, by whoever sits at the box itself.
//!
//! A PIN is read from standard input and never an argument: arguments stand in the shell's
//! history and in every list of processes.

use std::io::{BufRead as _, IsTerminal as _};

use anyhow::Context as _;
use clap::{Subcommand, ValueEnum};

use super::data::Data;
use crate::store::Store;
use crate::store::crew::{Allowed, Crew, Passphrase, Pin};
use crate::trip::event::Role;

/// What `crew` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    data: Data,
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Makes an account; its PIN, six digits, is read from standard input.
    Add {
        /// The name to sign in with.
        name: String,
        /// What it may do; can be given more than once.
        #[arg(long = "role", required = true)]
        roles: Vec<Named>,
    },
    /// Lists the accounts.
    List,
    /// Gives an account a new PIN, read from standard input, and ends its sessions.
    Pin {
        /// Its name.
        name: String,
    },
    /// Gives an account a passphrase, which a desk asks for instead of the PIN; read from standard
    /// input, of at least 15 characters. An empty line takes it away.
    Passphrase {
        /// Its name.
        name: String,
    },
    /// Takes an account out of use. What it logged stays.
    Remove {
        /// Its name.
        name: String,
    },
    /// Prints a code that lets one device in, good for ten minutes.
    Code,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
enum Named {
    Desk,
    Divemaster,
    Skipper,
    /// Answers for accounts, audit and what is kept how long.
    Owner,
    /// Only shows; stands alone.
    Display,
}

impl Named {
    fn role(self) -> Option<Role> {
        match self {
            Self::Desk => Some(Role::Desk),
            Self::Divemaster => Some(Role::Divemaster),
            Self::Skipper => Some(Role::Skipper),
            Self::Owner | Self::Display => None,
        }
    }
}

fn allowed(named: &[Named]) -> anyhow::Result<Allowed> {
    let allowed = Allowed {
        roles: named.iter().filter_map(|one| one.role()).collect(),
        owner: named.contains(&Named::Owner),
    };
    anyhow::ensure!(
        allowed.is_display() || !named.contains(&Named::Display),
        "a display only shows: give that role alone"
    );
    Ok(allowed)
}

/// Does what is asked on the database of this box, which must not be served meanwhile.
///
/// # Errors
/// What the store refuses; a PIN that is none.
pub async fn run(args: Args) -> anyhow::Result<()> {
    let store = match args.what {
        What::Add { .. } | What::Code => args.data.open().await?,
        What::List | What::Pin { .. } | What::Passphrase { .. } | What::Remove { .. } => {
            args.data.open_existing().await?
        }
    };
    let done = act(&store, args.what).await;
    store.close().await?;
    done
}

async fn act(store: &Store, what: What) -> anyhow::Result<()> {
    match what {
        What::Add { name, roles } => {
            let allowed = allowed(&roles)?;
            let pin = read_pin()?;
            store.add_crew(&name, allowed, &pin).await?;
            println!("{} can sign in.", name.trim());
            print_code(store).await
        }
        What::List => {
            for account in store.list_crew().await? {
                let mut roles: Vec<&str> = Vec::new();
                roles.extend(account.allowed.owner.then_some("owner"));
                roles.extend(account.allowed.roles.iter().map(|role| word(*role)));
                roles.extend(account.allowed.is_display().then_some("display"));
                let state = if account.active { "" } else { "\tremoved" };
                println!("{}\t{}{state}", account.name, roles.join(" "));
            }
            Ok(())
        }
        What::Pin { name } => {
            let account = named(store, &name).await?;
            store.set_pin(account.id, &read_pin()?).await?;
            println!("{} has a new PIN; sessions have ended.", account.name);
            Ok(())
        }
        What::Passphrase { name } => {
            let account = named(store, &name).await?;
            let typed = read_secret("Passphrase, 15 characters or more (what you type is shown):")?;
            let passphrase = match typed.as_str() {
                "" => None,
                text => Some(
                    Passphrase::new(text)
                        .map_err(|refused| anyhow::anyhow!("the passphrase {refused}"))?,
                ),
            };
            store
                .set_passphrase(account.id, passphrase.as_ref())
                .await?;
            let now = if passphrase.is_some() {
                "asks for its passphrase"
            } else {
                "takes its PIN"
            };
            println!("A desk {now} for {}; sessions have ended.", account.name);
            Ok(())
        }
        What::Remove { name } => {
            let account = named(store, &name).await?;
            store.remove_crew(account.id).await?;
            println!("{} cannot sign in any more.", account.name);
            Ok(())
        }
        What::Code => print_code(store).await,
    }
}

async fn print_code(store: &Store) -> anyhow::Result<()> {
    let code = store.enrolment_code(None).await?;
    let (first, last) = code.digits.split_at(code.digits.len() / 2);
    println!(
        "Enrolment code {first} {last}, for one device, until {}.",
        code.expires
    );
    Ok(())
}

async fn named(store: &Store, name: &str) -> anyhow::Result<Crew> {
    let folded = crate::store::register::fold_name(name);
    let accounts = store.list_crew().await?;
    accounts
        .into_iter()
        .find(|a| a.active && crate::store::register::fold_name(&a.name) == folded)
        .with_context(|| format!("there is no account '{name}'"))
}

fn read_pin() -> anyhow::Result<Pin> {
    let line = read_secret("PIN, six digits (what you type is shown):")?;
    Pin::new(&line).map_err(|refused| anyhow::anyhow!("the PIN {refused}"))
}

fn read_secret(ask: &str) -> anyhow::Result<String> {
    let input = std::io::stdin();
    if input.is_terminal() {
        eprintln!("{ask}");
    }
    let mut line = String::new();
    input
        .lock()
        .read_line(&mut line)
        .context("cannot read it from standard input")?;
    Ok(line.trim().to_owned())
}

fn word(role: Role) -> &'static str {
    match role {
        Role::Desk => "desk",
        Role::Divemaster => "divemaster",
        Role::Skipper => "skipper",
    }
}

//! `deckwatch crew`: accounts, PINs and enrolment codes, by whoever sits at the box itself.
//!
//! A PIN is read from standard input and never an argument: arguments stand in the shell's
//! history and in every list of processes.

use std::collections::BTreeSet;
use std::io::{BufRead as _, IsTerminal as _};

use anyhow::Context as _;
use clap::{Subcommand, ValueEnum};

use super::data::Data;
use crate::store::Store;
use crate::store::crew::{Crew, Pin};
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
}

impl Named {
    fn role(self) -> Role {
        match self {
            Self::Desk => Role::Desk,
            Self::Divemaster => Role::Divemaster,
            Self::Skipper => Role::Skipper,
        }
    }
}

/// Does what is asked on the database of this box, which must not be served meanwhile.
///
/// # Errors
/// What the store refuses; a PIN that is none.
pub async fn run(args: Args) -> anyhow::Result<()> {
    let store = match args.what {
        What::Add { .. } | What::Code => args.data.open().await?,
        What::List | What::Pin { .. } | What::Remove { .. } => args.data.open_existing().await?,
    };
    let done = act(&store, args.what).await;
    store.close().await?;
    done
}

async fn act(store: &Store, what: What) -> anyhow::Result<()> {
    match what {
        What::Add { name, roles } => {
            let pin = read_pin()?;
            let roles: BTreeSet<Role> = roles.into_iter().map(Named::role).collect();
            store.add_crew(&name, &roles, &pin).await?;
            println!("{} can sign in.", name.trim());
            print_code(store).await
        }
        What::List => {
            for account in store.list_crew().await? {
                let roles: Vec<&str> = account.roles.iter().map(|role| word(*role)).collect();
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
    let input = std::io::stdin();
    if input.is_terminal() {
        eprintln!("PIN, six digits (what you type is shown):");
    }
    let mut line = String::new();
    input
        .lock()
        .read_line(&mut line)
        .context("cannot read the PIN from standard input")?;
    Pin::new(line.trim()).map_err(|refused| anyhow::anyhow!("the PIN {refused}"))
}

fn word(role: Role) -> &'static str {
    match role {
        Role::Desk => "desk",
        Role::Divemaster => "divemaster",
        Role::Skipper => "skipper",
    }
}

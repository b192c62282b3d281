//! Crew accounts: a name, what it may do, a PIN, and a passphrase for the desk.

use std::collections::BTreeSet;

use super::super::register::fold_name;
use super::super::row::{RowOf, word_of};
use super::super::writer::Write;
use super::super::{Store, StoreError};
use super::{Passphrase, Pin};
use crate::trip::CrewId;
use crate::trip::event::Role;

/// What an account may do: its work on trips, and whether it answers for the whole box. With
/// neither it is a display, which only shows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Allowed {
    /// Its work on trips, as events name it.
    pub roles: BTreeSet<Role>,
    /// Answers for accounts, audit and what is kept how long.
    pub owner: bool,
}

const OWNER: &str = "owner";
const DISPLAY: &str = "display";

impl Allowed {
    /// A screen that only shows.
    #[must_use]
    pub fn display() -> Self {
        Self::default()
    }

    /// Whether it only shows.
    #[must_use]
    pub fn is_display(&self) -> bool {
        self.roles.is_empty() && !self.owner
    }
}

impl From<&BTreeSet<Role>> for Allowed {
    fn from(roles: &BTreeSet<Role>) -> Self {
        Self {
            roles: roles.clone(),
            owner: false,
        }
    }
}

/// A crew account, without its PIN.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Crew {
    /// Its identity, as events name it.
    pub id: CrewId,
    /// Its name.
    pub name: String,
    /// What it may do.
    pub allowed: Allowed,
    /// Whether it has a passphrase, which its PIN does not replace at a desk.
    pub has_passphrase: bool,
    /// Whether it can be used; a removed account stays for the names in old logs.
    pub active: bool,
}

/// An account could not be made or changed.
#[derive(Debug, Clone, thiserror::Error)]
pub enum CrewError {
    /// The name is empty.
    #[error("an account needs a name")]
    NoName,
    /// Another account has this name, in whatever case and with or without accents.
    #[error("there is an account of that name")]
    NameTaken,
    /// There is no such account, or it was removed.
    #[error("there is no such account")]
    NoSuchCrew,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<sqlx::Error> for CrewError {
    fn from(error: sqlx::Error) -> Self {
        Self::Store(error.into())
    }
}

pub(super) fn read_allowed(row: RowOf<'_>, text: &str) -> Result<Allowed, StoreError> {
    let mut allowed = Allowed::default();
    for word in text.split(' ') {
        match word {
            OWNER => allowed.owner = true,
            DISPLAY => {}
            word => {
                allowed.roles.insert(row.word("roles", word)?);
            }
        }
    }
    Ok(allowed)
}

fn words(id: CrewId, allowed: &Allowed) -> Result<String, CrewError> {
    if allowed.is_display() {
        return Ok(DISPLAY.to_owned());
    }
    let owner = allowed.owner.then(|| Ok(OWNER.to_owned()));
    let roles = allowed.roles.iter();
    let words: Result<Vec<_>, StoreError> = owner
        .into_iter()
        .chain(roles.map(|role| word_of("crew", "roles", id, role)))
        .collect();
    Ok(words?.join(" "))
}

/// Whoever is signed in by an account signs in again.
async fn end_sessions(write: &mut Write<'_>, crew: CrewId) -> Result<(), StoreError> {
    sqlx::query("DELETE FROM session WHERE crew = $1")
        .bind(crew.to_string())
        .execute(write.on())
        .await?;
    Ok(())
}

/// Forgets wrong tries at a name.
pub(super) async fn forgive(write: &mut Write<'_>, folded: &str) -> Result<(), StoreError> {
    sqlx::query("DELETE FROM attempt WHERE folded = $1")
        .bind(folded)
        .execute(write.on())
        .await?;
    Ok(())
}

impl Store {
    /// Makes an account.
    ///
    /// # Errors
    /// [`CrewError`].
    pub async fn add_crew(
        &self,
        name: &str,
        allowed: impl Into<Allowed>,
        pin: &Pin,
    ) -> Result<CrewId, CrewError> {
        let id = CrewId::new(self.0.clock.new_uuid());
        let roles = words(id, &allowed.into())?;
        let folded = fold_name(name);
        if folded.is_empty() {
            return Err(CrewError::NoName);
        }
        let pin = self.0.pins.hash(&self.0.clock, pin).await?;
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query(
            "INSERT INTO crew (id, name, folded, roles, pin) VALUES ($1, $2, $3, $4, $5) \
             ON CONFLICT (folded) WHERE active = 1 DO NOTHING",
        )
        .bind(id.to_string())
        .bind(name.trim())
        .bind(folded)
        .bind(roles)
        .bind(pin)
        .execute(write.on())
        .await?;
        if done.rows_affected() == 0 {
            return Err(CrewError::NameTaken);
        }
        write.commit(0).await?;
        Ok(id)
    }

    /// Gives an account a new PIN, ends its sessions and forgives its wrong ones.
    ///
    /// # Errors
    /// [`CrewError`].
    pub async fn set_pin(&self, crew: CrewId, pin: &Pin) -> Result<(), CrewError> {
        let pin = self.0.pins.hash(&self.0.clock, pin).await?;
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let folded: Option<String> = sqlx::query_scalar(
            "UPDATE crew SET pin = $2 WHERE id = $1 AND active = 1 RETURNING folded",
        )
        .bind(crew.to_string())
        .bind(pin)
        .fetch_optional(write.on())
        .await?;
        let Some(folded) = folded else {
            return Err(CrewError::NoSuchCrew);
        };
        end_sessions(&mut write, crew).await?;
        forgive(&mut write, &folded).await?;
        write.commit(0).await?;
        Ok(())
    }

    /// Gives an account a passphrase, which a desk asks for instead of its PIN, or takes it away;
    /// ends its sessions and forgives its wrong ones.
    ///
    /// # Errors
    /// [`CrewError`].
    pub async fn set_passphrase(
        &self,
        crew: CrewId,
        passphrase: Option<&Passphrase>,
    ) -> Result<(), CrewError> {
        let hash = match passphrase {
            Some(passphrase) => Some(self.0.pins.hash(&self.0.clock, passphrase).await?),
            None => None,
        };
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let folded: Option<String> = sqlx::query_scalar(
            "UPDATE crew SET passphrase = $2 WHERE id = $1 AND active = 1 RETURNING folded",
        )
        .bind(crew.to_string())
        .bind(hash)
        .fetch_optional(write.on())
        .await?;
        let Some(folded) = folded else {
            return Err(CrewError::NoSuchCrew);
        };
        end_sessions(&mut write, crew).await?;
        forgive(&mut write, &folded).await?;
        write.commit(0).await?;
        Ok(())
    }

    /// Changes what an account may do, at once.
    ///
    /// # Errors
    /// [`CrewError`].
    pub async fn set_allowed(
        &self,
        crew: CrewId,
        allowed: impl Into<Allowed>,
    ) -> Result<(), CrewError> {
        let roles = words(crew, &allowed.into())?;
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query("UPDATE crew SET roles = $2 WHERE id = $1 AND active = 1")
            .bind(crew.to_string())
            .bind(roles)
            .execute(write.on())
            .await?;
        if done.rows_affected() == 0 {
            return Err(CrewError::NoSuchCrew);
        }
        write.commit(0).await?;
        Ok(())
    }

    /// Takes an account out of use and ends its sessions. Its events stay.
    ///
    /// # Errors
    /// [`CrewError`].
    pub async fn remove_crew(&self, crew: CrewId) -> Result<(), CrewError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query("UPDATE crew SET active = 0 WHERE id = $1 AND active = 1")
            .bind(crew.to_string())
            .execute(write.on())
            .await?;
        if done.rows_affected() == 0 {
            return Err(CrewError::NoSuchCrew);
        }
        end_sessions(&mut write, crew).await?;
        write.commit(0).await?;
        Ok(())
    }

    /// All accounts, the removed too, by name.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn list_crew(&self) -> Result<Vec<Crew>, StoreError> {
        let found: Vec<(String, String, String, bool, bool)> = sqlx::query_as(
            "SELECT id, name, roles, active, passphrase IS NOT NULL FROM crew ORDER BY folded, id",
        )
        .fetch_all(self.readers())
        .await?;
        found
            .into_iter()
            .map(|(id, name, roles, active, has_passphrase)| {
                let row = RowOf {
                    table: "crew",
                    key: &id,
                };
                Ok(Crew {
                    id: row.parse("id", &id)?,
                    allowed: read_allowed(row, &roles)?,
                    name,
                    active,
                    has_passphrase,
                })
            })
            .collect()
    }
}

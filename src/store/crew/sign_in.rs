//! Signing in: a device that is let in and the PIN of a name, with ever longer waits for
//! whoever guesses.

use jiff::{SignedDuration, Timestamp};
use sqlx::sqlite::SqliteConnection;

use super::super::register::fold_name;
use super::super::row::RowOf;
use super::super::{Store, StoreError};
use super::accounts::forgive;
use super::audit::note;
use super::devices::DeviceKind;
use super::{Carried, Secret};
use crate::trip::CrewId;
use crate::trip::event::DeviceId;

/// Misses after which a name has to wait on a device.
const FREE_MISSES: i64 = 5;
/// The first wait; each further miss doubles it.
const FIRST_WAIT: SignedDuration = SignedDuration::from_secs(30);
/// The longest wait.
const LONGEST_WAIT: SignedDuration = SignedDuration::from_mins(15);
/// After so long without a try misses are forgotten.
const FORGET_AFTER: SignedDuration = SignedDuration::from_hours(24);
/// Characters of a name that count.
const LONGEST_NAME: usize = 80;

/// Nobody was signed in.
#[derive(Debug, Clone, thiserror::Error)]
pub enum SignInRefused {
    /// The name or the PIN is wrong; which of them is not said.
    #[error("the name or the PIN is wrong")]
    Wrong {
        /// When the name can be tried again on this device, if it has to wait now.
        wait_until: Option<Timestamp>,
    },
    /// Too many misses.
    #[error("too many wrong PINs; try again after {until}")]
    Wait {
        /// When the name can be tried again on this device.
        until: Timestamp,
    },
    /// The device was never let in, or is shut out.
    #[error("this device is not let in")]
    NoSuchDevice,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<sqlx::Error> for SignInRefused {
    fn from(error: sqlx::Error) -> Self {
        Self::Store(error.into())
    }
}

/// How long a name waits after its `misses`-th miss.
fn wait_after(misses: i64) -> SignedDuration {
    let beyond = misses - FREE_MISSES;
    if beyond < 0 {
        return SignedDuration::ZERO;
    }
    // Five doublings are past the longest wait.
    let doublings = u32::try_from(beyond).map_or(5, |beyond| beyond.min(5));
    (FIRST_WAIT * 2_i32.pow(doublings)).min(LONGEST_WAIT)
}

/// A try that may go on to the PIN.
struct Try {
    kind: DeviceKind,
    account: Option<(CrewId, String)>,
    wait_until: Option<Timestamp>,
}

impl Store {
    /// Signs a crew member in over plain HTTP.
    ///
    /// # Errors
    /// As [`Store::sign_in_over`].
    pub async fn sign_in(
        &self,
        device: DeviceId,
        name: &str,
        pin: &str,
    ) -> Result<Secret, SignInRefused> {
        self.sign_in_over(Carried::Plain, device, name, pin).await
    }

    /// Signs a crew member in on a device and gives the session's secret, good by this way only.
    ///
    /// Every try is counted before the PIN is looked at, and forgiven when it is right: tries
    /// at the same time gain nothing. An unknown name takes as long and waits as long as a
    /// known one.
    ///
    /// # Errors
    /// [`SignInRefused`].
    pub async fn sign_in_over(
        &self,
        carried: Carried,
        device: DeviceId,
        name: &str,
        pin: &str,
    ) -> Result<Secret, SignInRefused> {
        let now = self.0.clock.now();
        let folded: String = fold_name(name).chars().take(LONGEST_NAME).collect();
        // First of all, so that the first unknown name takes no longer than the next.
        self.0.pins.decoy(&self.0.clock).await?;
        let tried = self.count_try(device, &folded, now).await?;
        let hash = tried.account.as_ref().map(|(_, hash)| hash.as_str());
        let right = self.0.pins.matches(&self.0.clock, pin, hash).await?;
        let (Some((crew, hash)), true) = (tried.account, right) else {
            let what = format!("refused to sign in {folded:?}");
            self.audit(None, Some(device), &what).await?;
            return Err(SignInRefused::Wrong {
                wait_until: tried.wait_until,
            });
        };
        let secret = Secret::new(&self.0.clock, carried);
        self.begin_session(secret, device, tried.kind, crew, &folded, &hash)
            .await
    }

    async fn count_try(
        &self,
        device: DeviceId,
        folded: &str,
        now: Timestamp,
    ) -> Result<Try, SignInRefused> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let Some(kind) = kind_of(write.on(), device).await? else {
            return Err(SignInRefused::NoSuchDevice);
        };
        let forgotten = now.saturating_sub(FORGET_AFTER).unwrap_or(Timestamp::MIN);
        sqlx::query("DELETE FROM attempt WHERE last_at < $1")
            .bind(forgotten.as_millisecond())
            .execute(write.on())
            .await?;
        let before: Option<(i64, i64)> = sqlx::query_as(
            "SELECT misses, locked_until FROM attempt WHERE folded = $1 AND device = $2",
        )
        .bind(folded)
        .bind(device.to_string())
        .fetch_optional(write.on())
        .await?;
        let (misses, locked_until) = before.unwrap_or((0, 0));
        let row = RowOf {
            table: "attempt",
            key: folded,
        };
        let until = row.instant("locked_until", locked_until)?;
        let left = until.duration_since(now);
        // A wait longer than there is means that the clock was set back: it is not held
        // against the name, but the misses are.
        if left > SignedDuration::ZERO && left <= LONGEST_WAIT {
            return Err(SignInRefused::Wait { until });
        }
        let misses = misses.saturating_add(1);
        let wait = wait_after(misses);
        let until = now.saturating_add(wait).unwrap_or(Timestamp::MAX);
        sqlx::query(
            "INSERT INTO attempt (folded, device, misses, last_at, locked_until) \
             VALUES ($1, $2, $3, $4, $5) ON CONFLICT (folded, device) \
             DO UPDATE SET misses = $3, last_at = $4, locked_until = $5",
        )
        .bind(folded)
        .bind(device.to_string())
        .bind(misses)
        .bind(now.as_millisecond())
        .bind(until.as_millisecond())
        .execute(write.on())
        .await?;
        let account: Option<(String, String, Option<String>)> =
            sqlx::query_as("SELECT id, pin, passphrase FROM crew WHERE folded = $1 AND active = 1")
                .bind(folded)
                .fetch_optional(write.on())
                .await?;
        write.commit(0).await?;
        let account = account
            .map(|(id, pin, passphrase)| {
                let row = RowOf {
                    table: "crew",
                    key: &id,
                };
                // Ashore six digits do not open what a passphrase guards; at sea nobody types one.
                let hash = match kind {
                    DeviceKind::Desk => passphrase.unwrap_or(pin),
                    DeviceKind::Helm | DeviceKind::Deck => pin,
                };
                Ok::<_, StoreError>((row.parse("id", &id)?, hash))
            })
            .transpose()?;
        Ok(Try {
            kind,
            account,
            wait_until: (wait > SignedDuration::ZERO).then_some(until),
        })
    }

    async fn begin_session(
        &self,
        secret: Secret,
        device: DeviceId,
        kind: DeviceKind,
        crew: CrewId,
        folded: &str,
        hash: &str,
    ) -> Result<Secret, SignInRefused> {
        let now = self.0.clock.now();
        let expires = now.saturating_add(kind.idle()).unwrap_or(Timestamp::MAX);
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        // Hashing takes a while: the account or the device may be gone by now.
        let begun = sqlx::query(
            "INSERT INTO session (secret, device, crew, created, last_seen, expires) \
             SELECT $1, device.id, crew.id, $4, $4, $5 FROM device, crew \
             WHERE device.id = $2 AND device.revoked_at IS NULL \
             AND crew.id = $3 AND crew.active = 1 AND $6 IN (crew.pin, crew.passphrase)",
        )
        .bind(secret.digest().as_slice())
        .bind(device.to_string())
        .bind(crew.to_string())
        .bind(now.as_millisecond())
        .bind(expires.as_millisecond())
        .bind(hash)
        .execute(write.on())
        .await?;
        if begun.rows_affected() == 0 {
            return Err(SignInRefused::Wrong { wait_until: None });
        }
        sqlx::query("DELETE FROM attempt WHERE folded = $1 AND device = $2")
            .bind(folded)
            .bind(device.to_string())
            .execute(write.on())
            .await?;
        sqlx::query("DELETE FROM session WHERE expires <= $1")
            .bind(now.as_millisecond())
            .execute(write.on())
            .await?;
        note(write.on(), now, Some(crew), Some(device), "signed in").await?;
        write.commit(0).await?;
        Ok(secret)
    }

    /// Whether who is signed in types their own PIN (or passphrase, at a desk that has one) again,
    /// before an act that cannot be taken back. Misses count and wait as those of signing in do.
    ///
    /// # Errors
    /// [`SignInRefused`].
    pub async fn prove_again(
        &self,
        device: DeviceId,
        crew: CrewId,
        typed: &str,
    ) -> Result<(), SignInRefused> {
        let folded: Option<String> =
            sqlx::query_scalar("SELECT folded FROM crew WHERE id = $1 AND active = 1")
                .bind(crew.to_string())
                .fetch_optional(self.readers())
                .await?;
        let Some(folded) = folded else {
            return Err(SignInRefused::Wrong { wait_until: None });
        };
        let folded: String = folded.chars().take(LONGEST_NAME).collect();
        let tried = self.count_try(device, &folded, self.0.clock.now()).await?;
        let hash = tried.account.as_ref().map(|(_, hash)| hash.as_str());
        if !self.0.pins.matches(&self.0.clock, typed, hash).await? {
            let what = "refused an act, as the PIN typed again was wrong";
            self.audit(Some(crew), Some(device), what).await?;
            return Err(SignInRefused::Wrong {
                wait_until: tried.wait_until,
            });
        }
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query("DELETE FROM attempt WHERE folded = $1 AND device = $2")
            .bind(folded)
            .bind(device.to_string())
            .execute(write.on())
            .await?;
        write.commit(0).await?;
        Ok(())
    }

    /// Lets a name try again at once, on every device: the skipper's to do.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn forgive(&self, name: &str, by: CrewId) -> Result<(), StoreError> {
        let folded: String = fold_name(name).chars().take(LONGEST_NAME).collect();
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        forgive(&mut write, &folded).await?;
        let what = format!("forgave wrong PINs of {folded:?}");
        note(write.on(), self.0.clock.now(), Some(by), None, &what).await?;
        write.commit(0).await
    }
}

/// The kind of a device that is let in.
async fn kind_of(
    connection: &mut SqliteConnection,
    device: DeviceId,
) -> Result<Option<DeviceKind>, StoreError> {
    let key = device.to_string();
    let found: Option<String> =
        sqlx::query_scalar("SELECT kind FROM device WHERE id = $1 AND revoked_at IS NULL")
            .bind(key.as_str())
            .fetch_optional(connection)
            .await?;
    let row = RowOf {
        table: "device",
        key: &key,
    };
    found.map(|kind| row.word("kind", &kind)).transpose()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_double_from_thirty_seconds_to_a_quarter_of_an_hour() {
        let waits: Vec<_> = (1..=12).map(|n| wait_after(n).as_secs()).collect();
        assert_eq!(waits, [0, 0, 0, 0, 30, 60, 120, 240, 480, 900, 900, 900]);
        assert_eq!(wait_after(i64::MAX), LONGEST_WAIT);
    }
}

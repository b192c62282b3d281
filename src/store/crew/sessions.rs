//! Sessions: who is signed in on which device.

use jiff::{SignedDuration, Timestamp};

use super::super::row::RowOf;
use super::super::{Store, StoreError};
use super::accounts::{Allowed, read_allowed};
use super::audit::note;
use super::devices::DeviceKind;
use super::{NoSecret, Secret};
use crate::trip::CrewId;
use crate::trip::event::DeviceId;

/// How stale the note of a session's last use may be: noting every use would be a commit a
/// request.
const NOTE_EVERY: SignedDuration = SignedDuration::from_mins(1);

/// Somebody signed in on a device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// The account.
    pub crew: CrewId,
    /// Its name.
    pub name: String,
    /// What it may do, as of now.
    pub allowed: Allowed,
    /// The device.
    pub device: DeviceId,
    /// What the crew calls it.
    pub device_name: String,
    /// Where it is used.
    pub kind: DeviceKind,
}

#[derive(sqlx::FromRow)]
struct SignedRow {
    crew: String,
    name: String,
    roles: String,
    device: String,
    device_name: String,
    kind: String,
    last_seen: i64,
}

impl TryFrom<&SignedRow> for Signed {
    type Error = StoreError;
    fn try_from(found: &SignedRow) -> Result<Self, StoreError> {
        let crew = RowOf {
            table: "crew",
            key: &found.crew,
        };
        let device = RowOf {
            table: "device",
            key: &found.device,
        };
        Ok(Self {
            crew: crew.parse("id", &found.crew)?,
            name: found.name.clone(),
            allowed: read_allowed(crew, &found.roles)?,
            device: device.parse("id", &found.device)?,
            device_name: found.device_name.clone(),
            kind: device.word("kind", &found.kind)?,
        })
    }
}

impl Store {
    /// Who is signed in by this secret; nobody if it was never given, has lapsed, or its
    /// account or device is gone.
    ///
    /// # Errors
    /// [`StoreError`] if that cannot be read.
    pub async fn session(&self, secret: &Secret) -> Result<Option<Signed>, StoreError> {
        let now = self.0.clock.now();
        let found: Option<SignedRow> = sqlx::query_as(
            "SELECT crew.id AS crew, crew.name, crew.roles, device.id AS device, \
             device.name AS device_name, device.kind, session.last_seen \
             FROM session JOIN crew ON crew.id = session.crew \
             JOIN device ON device.id = session.device \
             WHERE session.secret = $1 AND session.expires > $2 \
             AND crew.active = 1 AND device.revoked_at IS NULL",
        )
        .bind(secret.digest().as_slice())
        .bind(now.as_millisecond())
        .fetch_optional(self.readers())
        .await?;
        let Some(found) = found else {
            return Ok(None);
        };
        let signed = Signed::try_from(&found)?;
        let stale_ms = now.as_millisecond().saturating_sub(found.last_seen);
        if i128::from(stale_ms) >= NOTE_EVERY.as_millis() {
            // A store that no longer saves must not shut its crew out: the session lapses
            // the earlier, and the store has said why by itself.
            if let Err(error) = self.note_use(secret, signed.kind, now).await {
                tracing::warn!(%error, "the use of a session could not be noted");
            }
        }
        Ok(Some(signed))
    }

    /// The same from the text a browser sends; text that is no secret is nobody's.
    ///
    /// # Errors
    /// As [`Store::session`].
    pub async fn session_by_text(&self, text: &str) -> Result<Option<Signed>, StoreError> {
        match text.parse::<Secret>() {
            Ok(secret) => self.session(&secret).await,
            Err(NoSecret) => Ok(None),
        }
    }

    async fn note_use(
        &self,
        secret: &Secret,
        kind: DeviceKind,
        now: Timestamp,
    ) -> Result<(), StoreError> {
        let expires = now.saturating_add(kind.idle()).unwrap_or(Timestamp::MAX);
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query("UPDATE session SET last_seen = $2, expires = $3 WHERE secret = $1")
            .bind(secret.digest().as_slice())
            .bind(now.as_millisecond())
            .bind(expires.as_millisecond())
            .execute(write.on())
            .await?;
        write.commit(0).await
    }

    /// Ends a session. Returns whether there was one.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn sign_out(&self, secret: &Secret) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let ended: Option<(String, String)> =
            sqlx::query_as("DELETE FROM session WHERE secret = $1 RETURNING crew, device")
                .bind(secret.digest().as_slice())
                .fetch_optional(write.on())
                .await?;
        if let Some((crew, device)) = &ended {
            let row = RowOf {
                table: "session",
                key: "signing out",
            };
            let crew = row.parse("crew", crew)?;
            let device = row.parse("device", device)?;
            let now = self.0.clock.now();
            note(write.on(), now, Some(crew), Some(device), "signed out").await?;
        }
        write.commit(0).await?;
        Ok(ended.is_some())
    }
}

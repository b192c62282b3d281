//! Devices: how one is let in, known again, and shut out.

use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::super::row::{RowOf, word_of};
use super::super::{Store, StoreError};
use super::audit::note;
use super::{Carried, NoSecret, Secret};
use crate::trip::CrewId;
use crate::trip::event::DeviceId;

/// How long an enrolment code lives.
const CODE_LIFE: SignedDuration = SignedDuration::from_mins(10);
/// How long the code is good that sets up an empty box.
const SET_UP_LIFE: SignedDuration = SignedDuration::from_hours(24);
/// Wrong codes after which every live code dies.
const CODE_TRIES: i64 = 5;
/// Who made a code that nobody signed in made.
const COMMAND_LINE: &str = "command line";

/// Where a device is used; it decides what it shows and how long its sessions live.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DeviceKind {
    /// The tablet at the helm.
    Helm,
    /// A phone on deck.
    Deck,
    /// A computer ashore.
    Desk,
}

impl DeviceKind {
    /// How long a session may lie unused: on a boat the trip and twelve hours, ashore half an
    /// hour.
    #[must_use]
    pub fn idle(self) -> SignedDuration {
        match self {
            Self::Helm | Self::Deck => SignedDuration::from_hours(12),
            Self::Desk => SignedDuration::from_mins(30),
        }
    }
}

/// A device that was let in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Its identity, as events name it.
    pub id: DeviceId,
    /// What the crew calls it.
    pub name: String,
    /// Where it is used.
    pub kind: DeviceKind,
    /// Who let it in: an account's id, or `command line`.
    pub enrolled_by: String,
    /// When.
    pub enrolled_at: Timestamp,
    /// Since when it is shut out.
    pub revoked_at: Option<Timestamp>,
}

/// What a device is given once and shows ever after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceSecret {
    /// Its identity.
    pub device: DeviceId,
    /// Its secret.
    pub secret: Secret,
}

/// Eight digits that let one device in.
#[derive(Clone, PartialEq, Eq)]
pub struct EnrolmentCode {
    /// The digits, shown once.
    pub digits: String,
    /// Until when they are good.
    pub expires: Timestamp,
}

impl std::fmt::Debug for EnrolmentCode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("EnrolmentCode")
            .field("expires", &self.expires)
            .finish_non_exhaustive()
    }
}

/// A device was not let in.
#[derive(Debug, Clone, thiserror::Error)]
pub enum EnrolRefused {
    /// The code was never made, was used, is too old, or was guessed at too often.
    #[error("the code is not good any more, or never was; ask the skipper for a new one")]
    NoSuchCode,
    /// The device has no name.
    #[error("a device needs a name")]
    NoName,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<sqlx::Error> for EnrolRefused {
    fn from(error: sqlx::Error) -> Self {
        Self::Store(error.into())
    }
}

#[derive(sqlx::FromRow)]
struct DeviceRow {
    id: String,
    name: String,
    kind: String,
    enrolled_by: String,
    enrolled_at: i64,
    revoked_at: Option<i64>,
}

impl TryFrom<DeviceRow> for Device {
    type Error = StoreError;
    fn try_from(found: DeviceRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "device",
            key: &found.id,
        };
        Ok(Self {
            id: row.parse("id", &found.id)?,
            kind: row.word("kind", &found.kind)?,
            enrolled_at: row.instant("enrolled_at", found.enrolled_at)?,
            revoked_at: found
                .revoked_at
                .map(|ms| row.instant("revoked_at", ms))
                .transpose()?,
            name: found.name,
            enrolled_by: found.enrolled_by,
        })
    }
}

/// A code is short-lived and burns after five guesses: a slow hash would add nothing.
fn digest_of(code: &str) -> [u8; 32] {
    Sha256::digest(code.as_bytes()).into()
}

impl Store {
    /// Makes a code that lets one device in, on behalf of an account or, without one, of
    /// whoever sits at the box itself.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn enrolment_code(
        &self,
        made_by: Option<CrewId>,
    ) -> Result<EnrolmentCode, StoreError> {
        self.make_code(made_by, CODE_LIFE).await
    }

    /// Makes the code under which an empty box is set up: good for a day, as whoever installs it
    /// has other things to do first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn set_up_code(&self) -> Result<EnrolmentCode, StoreError> {
        self.make_code(None, SET_UP_LIFE).await
    }

    async fn make_code(
        &self,
        made_by: Option<CrewId>,
        life: SignedDuration,
    ) -> Result<EnrolmentCode, StoreError> {
        let now = self.0.clock.now();
        let number = u64::from_le_bytes(self.0.clock.secret()) % 100_000_000;
        let digits = format!("{number:08}");
        let expires = now.saturating_add(life).unwrap_or(Timestamp::MAX);
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query(
            "INSERT INTO enrolment (code, made_by, made_at, expires) VALUES ($1, $2, $3, $4) \
             ON CONFLICT (code) DO UPDATE SET expires = $4, misses = 0",
        )
        .bind(digest_of(&digits).as_slice())
        .bind(made_by.map_or_else(|| COMMAND_LINE.to_owned(), |crew| crew.to_string()))
        .bind(now.as_millisecond())
        .bind(expires.as_millisecond())
        .execute(write.on())
        .await?;
        note(write.on(), now, made_by, None, "made an enrolment code").await?;
        write.commit(0).await?;
        Ok(EnrolmentCode { digits, expires })
    }

    /// Lets a device in that shows its secret over plain HTTP.
    ///
    /// # Errors
    /// As [`Store::enrol_device_over`].
    pub async fn enrol_device(
        &self,
        code: &str,
        name: &str,
        kind: DeviceKind,
    ) -> Result<DeviceSecret, EnrolRefused> {
        self.enrol_device_over(Carried::Plain, code, name, kind)
            .await
    }

    /// Lets a device in by a code, which is used up by that. A wrong code counts against every
    /// live one, as nobody knows which was meant. Its secret is good by this way only.
    ///
    /// # Errors
    /// [`EnrolRefused`].
    pub async fn enrol_device_over(
        &self,
        carried: Carried,
        code: &str,
        name: &str,
        kind: DeviceKind,
    ) -> Result<DeviceSecret, EnrolRefused> {
        if name.trim().is_empty() {
            return Err(EnrolRefused::NoName);
        }
        let now = self.0.clock.now();
        let device = DeviceId::new(self.0.clock.new_uuid());
        let secret = Secret::new(&self.0.clock, carried);
        // People read digits out in groups.
        let digits: String = code.chars().filter(|c| !c.is_whitespace()).collect();
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query("DELETE FROM enrolment WHERE expires <= $1 OR misses >= $2")
            .bind(now.as_millisecond())
            .bind(CODE_TRIES)
            .execute(write.on())
            .await?;
        let made_by: Option<String> =
            sqlx::query_scalar("DELETE FROM enrolment WHERE code = $1 RETURNING made_by")
                .bind(digest_of(&digits).as_slice())
                .fetch_optional(write.on())
                .await?;
        let Some(made_by) = made_by else {
            sqlx::query("UPDATE enrolment SET misses = misses + 1")
                .execute(write.on())
                .await?;
            note(write.on(), now, None, None, "refused an enrolment code").await?;
            write.commit(0).await?;
            return Err(EnrolRefused::NoSuchCode);
        };
        sqlx::query(
            "INSERT INTO device (id, name, kind, secret, enrolled_by, enrolled_at) \
             VALUES ($1, $2, $3, $4, $5, $6)",
        )
        .bind(device.to_string())
        .bind(name.trim())
        .bind(word_of("device", "kind", device, &kind)?)
        .bind(secret.digest().as_slice())
        .bind(made_by)
        .bind(now.as_millisecond())
        .execute(write.on())
        .await?;
        note(write.on(), now, None, Some(device), "enrolled").await?;
        write.commit(0).await?;
        Ok(DeviceSecret { device, secret })
    }

    /// The device that shows this secret; none if there is no such one or it is shut out.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn device_by_secret(&self, secret: &Secret) -> Result<Option<Device>, StoreError> {
        let found: Option<DeviceRow> = sqlx::query_as(
            "SELECT id, name, kind, enrolled_by, enrolled_at, revoked_at FROM device \
             WHERE secret = $1 AND revoked_at IS NULL",
        )
        .bind(secret.digest().as_slice())
        .fetch_optional(self.readers())
        .await?;
        found.map(Device::try_from).transpose()
    }

    /// The same from the text a device sends; text that is no secret is nobody's.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn device_by_text(&self, text: &str) -> Result<Option<Device>, StoreError> {
        match text.parse::<Secret>() {
            Ok(secret) => self.device_by_secret(&secret).await,
            Err(NoSecret) => Ok(None),
        }
    }

    /// All devices, those shut out too, the latest first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn devices(&self) -> Result<Vec<Device>, StoreError> {
        let found: Vec<DeviceRow> = sqlx::query_as(
            "SELECT id, name, kind, enrolled_by, enrolled_at, revoked_at FROM device \
             ORDER BY enrolled_at DESC, id",
        )
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Device::try_from).collect()
    }

    /// Shuts a device out and ends its sessions. Returns whether it was let in before. What it
    /// wrote stays.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn revoke_device(
        &self,
        device: DeviceId,
        by: Option<CrewId>,
    ) -> Result<bool, StoreError> {
        let now = self.0.clock.now();
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done =
            sqlx::query("UPDATE device SET revoked_at = $2 WHERE id = $1 AND revoked_at IS NULL")
                .bind(device.to_string())
                .bind(now.as_millisecond())
                .execute(write.on())
                .await?;
        sqlx::query("DELETE FROM session WHERE device = $1")
            .bind(device.to_string())
            .execute(write.on())
            .await?;
        note(write.on(), now, by, Some(device), "revoked").await?;
        write.commit(0).await?;
        Ok(done.rows_affected() == 1)
    }
}

//! The centre's settings: a word and a value of JSON.

use std::sync::Arc;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::super::{Store, StoreError};

/// The settings there are.
pub mod key {
    /// Name of the centre: text.
    pub const CENTRE: &str = "centre";
    /// The harbour that its trips start from: text.
    pub const PLACE: &str = "place";
    /// IANA name of the centre's time zone: text.
    pub const TIME_ZONE: &str = "time-zone";
    /// The units that pages tell and forms are typed in: `System`.
    pub const UNITS: &str = "units";
    /// The centre's minutes: `WindowSettings`.
    pub const WINDOWS: &str = "windows";
    /// The centre's figures for plans: `PlanSettings`.
    pub const PLANS: &str = "plans";
    /// The centre's own lines of the go/no-go list: texts.
    pub const GO_LINES: &str = "go-lines";
    /// The device in whose name this box itself writes: `DeviceId`.
    pub const BOX: &str = "box";
    /// The last trial of the sounder that somebody heard: `Trial`.
    pub const SOUNDER_TRIAL: &str = "sounder-trial";
    /// The last try at a backup.
    pub const BACKUP: &str = "backup";
    /// For how long what is kept of people: `Rule`.
    pub const RETENTION: &str = "retention";
    /// When what is kept of people was last looked through: an instant.
    pub const RETENTION_RUN: &str = "retention-run";
    /// Who counts as a minor: `Minors`.
    pub const MINORS: &str = "minors";
    /// The origin pages are reached by: text, `https://name`.
    pub const ORIGIN: &str = "origin";
}

fn fault(key: &str, cause: serde_json::Error) -> StoreError {
    StoreError::Setting {
        key: key.to_owned(),
        cause: Arc::new(cause),
    }
}

impl Store {
    /// A setting; none if it was never made.
    ///
    /// # Errors
    /// [`StoreError::Setting`] if what stands there is not of that kind.
    pub async fn setting<T: DeserializeOwned>(&self, key: &str) -> Result<Option<T>, StoreError> {
        let found: Option<String> = sqlx::query_scalar("SELECT value FROM setting WHERE key = $1")
            .bind(key)
            .fetch_optional(self.readers())
            .await?;
        found
            .map(|text| serde_json::from_str(&text).map_err(|cause| fault(key, cause)))
            .transpose()
    }

    /// Makes a setting, in place of the one before.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn set_setting<T: Serialize + Sync>(
        &self,
        key: &str,
        value: &T,
    ) -> Result<(), StoreError> {
        let text = serde_json::to_string(value).map_err(|cause| fault(key, cause))?;
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query(
            "INSERT INTO setting (key, value) VALUES ($1, $2) \
             ON CONFLICT (key) DO UPDATE SET value = $2",
        )
        .bind(key)
        .bind(text)
        .execute(write.on())
        .await?;
        write.commit(0).await
    }
}

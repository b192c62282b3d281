//! The audit: sign-ins, refusals, revocations, exports; who, where and when.

use jiff::Timestamp;
use sqlx::sqlite::SqliteConnection;

use super::super::row::RowOf;
use super::super::{Store, StoreError};
use crate::trip::CrewId;
use crate::trip::event::DeviceId;

/// One line of the audit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditRow {
    /// When.
    pub at: Timestamp,
    /// Which account, if one is known.
    pub who: Option<CrewId>,
    /// Which device, if one is known.
    pub device: Option<DeviceId>,
    /// What.
    pub what: String,
}

#[derive(sqlx::FromRow)]
struct Line {
    id: i64,
    at: i64,
    who: Option<String>,
    device: Option<String>,
    what: String,
}

impl TryFrom<Line> for AuditRow {
    type Error = StoreError;
    fn try_from(found: Line) -> Result<Self, StoreError> {
        let key = found.id.to_string();
        let row = RowOf {
            table: "audit",
            key: &key,
        };
        Ok(Self {
            at: row.instant("at", found.at)?,
            who: row.parse_if("who", found.who.as_deref())?,
            device: row.parse_if("device", found.device.as_deref())?,
            what: found.what,
        })
    }
}

/// Writes a line inside a transaction, so that it stands exactly when the act does.
pub(in super::super) async fn note(
    connection: &mut SqliteConnection,
    at: Timestamp,
    who: Option<CrewId>,
    device: Option<DeviceId>,
    what: &str,
) -> Result<(), StoreError> {
    sqlx::query("INSERT INTO audit (at, who, device, what) VALUES ($1, $2, $3, $4)")
        .bind(at.as_millisecond())
        .bind(who.map(|crew| crew.to_string()))
        .bind(device.map(|device| device.to_string()))
        .bind(what)
        .execute(connection)
        .await?;
    Ok(())
}

impl Store {
    /// Writes a line of the audit.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn audit(
        &self,
        who: Option<CrewId>,
        device: Option<DeviceId>,
        what: &str,
    ) -> Result<(), StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        note(write.on(), self.0.clock.now(), who, device, what).await?;
        write.commit(0).await
    }

    /// The last `most` lines, the latest first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn audits(&self, most: u32) -> Result<Vec<AuditRow>, StoreError> {
        let found: Vec<Line> =
            sqlx::query_as("SELECT id, at, who, device, what FROM audit ORDER BY id DESC LIMIT $1")
                .bind(i64::from(most))
                .fetch_all(self.readers())
                .await?;
        found.into_iter().map(AuditRow::try_from).collect()
    }
}

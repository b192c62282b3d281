//! Entries that are gone: every entry has a row under its number of its device, and where that
//! row stands alone the entry was cut off. Found at opening, and kept on record.

use sqlx::Connection;
use sqlx::sqlite::SqliteConnection;

use super::super::row::RowOf;
use super::super::{Flaw, Store, StoreError};

/// Puts on record which entries are gone, and gives their numbers free: a device that still
/// has them can deliver them again. The log goes on after them, so that nothing takes their
/// place unseen.
///
/// # Errors
/// [`StoreError`] if the database fails.
pub(in super::super) async fn own_up(connection: &mut SqliteConnection) -> Result<(), StoreError> {
    // Each entry has its row, so the count tells. It reads one index instead of the whole log.
    let (entries, numbers): (i64, i64) =
        sqlx::query_as("SELECT (SELECT count(*) FROM entry), (SELECT count(*) FROM number)")
            .fetch_one(&mut *connection)
            .await?;
    if entries == numbers {
        return Ok(());
    }
    let mut write = connection.begin_with("BEGIN IMMEDIATE").await?;
    sqlx::query(
        "INSERT INTO lost (trip, entry, device, device_seq, chain) \
         SELECT trip, entry, device, device_seq, chain FROM number \
         WHERE NOT EXISTS (SELECT 1 FROM entry WHERE line = (number.trip << 32) + number.entry) \
         ON CONFLICT (trip, entry) DO NOTHING",
    )
    .execute(&mut *write)
    .await?;
    sqlx::query(
        "DELETE FROM number \
         WHERE NOT EXISTS (SELECT 1 FROM entry WHERE line = (number.trip << 32) + number.entry)",
    )
    .execute(&mut *write)
    .await?;
    write.commit().await?;
    Ok(())
}

impl Store {
    /// The entries that were here and are gone. Devices and the shore may still hold them.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn lost(&self) -> Result<Vec<Flaw>, StoreError> {
        let rows: Vec<(String, i64, Option<String>, Option<i64>)> = sqlx::query_as(
            "SELECT id, entry, device, device_seq FROM lost JOIN trip ON nth = lost.trip \
             ORDER BY nth, entry",
        )
        .fetch_all(self.readers())
        .await?;
        rows.into_iter()
            .map(|(trip, entry, device, seq)| {
                let row = RowOf {
                    table: "lost",
                    key: &trip,
                };
                let what = match (device, seq) {
                    (Some(device), Some(seq)) => {
                        let seq: u64 = row.figure("device_seq", seq)?;
                        format!("was here and is gone: number {seq} of device {device}")
                    }
                    (Some(_) | None, _) => "was here and is gone".to_owned(),
                };
                Ok(Flaw { trip, entry, what })
            })
            .collect()
    }
}

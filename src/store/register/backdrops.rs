//! The picture under the chart of a site, kept with the hash of its bytes.

use sha2::{Digest, Sha256};

use super::super::row::{RowOf, word_of};
use super::super::{Store, StoreError};
use crate::sea::backdrop::Tie;
use crate::trip::SiteId;

const TABLE: &str = "site_backdrop";

/// What a picture is coded as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PictureKind {
    /// PNG (RFC 2083).
    Png,
    /// JPEG (ISO 10918).
    Jpeg,
    /// WebP (RFC 9649).
    Webp,
}

/// A picture as it came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Coding.
    pub kind: PictureKind,
    /// Pixels across.
    pub width_px: u32,
    /// Pixels down.
    pub height_px: u32,
    /// The file.
    pub bytes: Vec<u8>,
}

/// A picture of a site without its bytes.
#[derive(Debug, Clone, PartialEq)]
pub struct Backdrop {
    /// SHA-256 of its bytes.
    pub hash: [u8; 32],
    /// Pixels across.
    pub width_px: u32,
    /// Pixels down.
    pub height_px: u32,
    /// The two points that place it, once they are known.
    pub ties: Option<[Tie; 2]>,
}

#[derive(sqlx::FromRow)]
struct BackdropRow {
    hash: Vec<u8>,
    width_px: i64,
    height_px: i64,
    ties: Option<String>,
}

impl Store {
    /// Puts a picture under a site, in place of the one before; it is not placed yet.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn save_backdrop(&self, site: SiteId, picture: &Picture) -> Result<(), StoreError> {
        let kind = word_of(TABLE, "kind", site, &picture.kind)?;
        let hash: [u8; 32] = Sha256::digest(&picture.bytes).into();
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query(
            "INSERT INTO site_backdrop (site, hash, kind, width_px, height_px, ties, bytes) \
             VALUES ($1, $2, $3, $4, $5, NULL, $6) \
             ON CONFLICT (site) DO UPDATE SET hash = $2, kind = $3, width_px = $4, \
             height_px = $5, ties = NULL, bytes = $6",
        )
        .bind(site.to_string())
        .bind(hash.as_slice())
        .bind(kind)
        .bind(i64::from(picture.width_px))
        .bind(i64::from(picture.height_px))
        .bind(picture.bytes.as_slice())
        .execute(write.on())
        .await?;
        write.commit(picture.bytes.len() as u64).await
    }

    /// Places the picture of a site. Returns whether it was there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn place_backdrop(&self, site: SiteId, ties: [Tie; 2]) -> Result<bool, StoreError> {
        let text = serde_json::to_string(&ties)
            .map_err(|why| StoreError::row(TABLE, "ties", &site, &why))?;
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query("UPDATE site_backdrop SET ties = $2 WHERE site = $1")
            .bind(site.to_string())
            .bind(text)
            .execute(write.on())
            .await?;
        write.commit(0).await?;
        Ok(done.rows_affected() == 1)
    }

    /// What is known of the picture of a site.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn backdrop(&self, site: SiteId) -> Result<Option<Backdrop>, StoreError> {
        let found: Option<BackdropRow> = sqlx::query_as(
            "SELECT hash, width_px, height_px, ties FROM site_backdrop WHERE site = $1",
        )
        .bind(site.to_string())
        .fetch_optional(self.readers())
        .await?;
        let Some(found) = found else {
            return Ok(None);
        };
        let key = site.to_string();
        let row = RowOf {
            table: TABLE,
            key: &key,
        };
        let ties = found.ties.map(|text| serde_json::from_str(&text));
        Ok(Some(Backdrop {
            hash: row.digest("hash", &found.hash)?,
            width_px: row.figure("width_px", found.width_px)?,
            height_px: row.figure("height_px", found.height_px)?,
            ties: ties.transpose().map_err(|why| row.fault("ties", why))?,
        }))
    }

    /// The bytes of the picture of a site, with their kind, if they still have this hash.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn backdrop_bytes(
        &self,
        site: SiteId,
        hash: [u8; 32],
    ) -> Result<Option<(PictureKind, Vec<u8>)>, StoreError> {
        let found: Option<(String, Vec<u8>)> =
            sqlx::query_as("SELECT kind, bytes FROM site_backdrop WHERE site = $1 AND hash = $2")
                .bind(site.to_string())
                .bind(hash.as_slice())
                .fetch_optional(self.readers())
                .await?;
        let key = site.to_string();
        let row = RowOf {
            table: TABLE,
            key: &key,
        };
        found
            .map(|(kind, bytes)| Ok((row.word("kind", &kind)?, bytes)))
            .transpose()
    }

    /// Takes the picture of a site away. Returns whether it was there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn remove_backdrop(&self, site: SiteId) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query("DELETE FROM site_backdrop WHERE site = $1")
            .bind(site.to_string())
            .execute(write.on())
            .await?;
        write.commit(0).await?;
        Ok(done.rows_affected() == 1)
    }
}

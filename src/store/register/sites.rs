//! Sites: where they are and what their chart says.

use jiff::Timestamp;

use super::super::row::RowOf;
use super::super::{Store, StoreError};
use crate::dive::pressure::{Column, Water};
use crate::sea::position::Position;
use crate::sea::stream::Tides;
use crate::trip::SiteId;
use crate::trip::event::SiteSheet;
use crate::units::document;
use crate::units::{Distance, Faults};

/// A site of the register.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Its identity.
    pub id: SiteId,
    /// Name.
    pub name: String,
    /// Reference position.
    pub position: Position,
    /// Chart: GeoJSON text (RFC 7946), as it was accepted.
    pub chart: String,
    /// Distance kept from keep-clear areas.
    pub stand_off: Distance,
    /// IANA name of its time zone.
    pub time_zone: String,
    /// What the crew should know.
    pub notes: String,
    /// Salt or fresh, and the pressure above it.
    pub water: Column,
    /// Stream table and high waters, where they are known.
    pub tides: Option<Tides>,
}

impl Site {
    /// The site as the log of a trip carries it, with the tides that reach into the time from
    /// `from` to `until`.
    ///
    /// # Errors
    /// What is wrong with the chart, which was checked when it was saved.
    pub fn sheet(&self, from: Timestamp, until: Timestamp) -> Result<SiteSheet, Faults> {
        Ok(SiteSheet {
            id: self.id,
            name: self.name.clone(),
            position: self.position,
            chart: document::parse(self.chart.as_bytes())?,
            stand_off_m: self.stand_off,
            water: self.water,
            tides: self.tides.as_ref().map(|tides| tides.between(from, until)),
        })
    }
}

#[derive(sqlx::FromRow)]
struct SiteRow {
    id: String,
    name: String,
    lon_deg: f64,
    lat_deg: f64,
    chart: String,
    stand_off_m: f64,
    time_zone: String,
    notes: String,
    water: String,
    surface_bar: f64,
    tides: Option<String>,
}

impl TryFrom<SiteRow> for Site {
    type Error = StoreError;
    fn try_from(found: SiteRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "site",
            key: &found.id,
        };
        Ok(Self {
            id: row.parse("id", &found.id)?,
            position: row.figure("lon_deg, lat_deg", [found.lon_deg, found.lat_deg])?,
            stand_off: row.figure("stand_off_m", found.stand_off_m)?,
            name: found.name,
            chart: found.chart,
            time_zone: found.time_zone,
            notes: found.notes,
            water: Column::new(
                row.figure("surface_bar", found.surface_bar)?,
                row.word("water", &found.water)?,
            ),
            tides: row.parse_if("tides", found.tides.as_deref())?,
        })
    }
}

impl Store {
    /// Writes a site, new or changed. The chart is the caller's to judge.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn save_site(&self, site: &Site) -> Result<(), StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        sqlx::query(
            "INSERT INTO site (id, name, lon_deg, lat_deg, chart, stand_off_m, time_zone, notes, \
             water, surface_bar, tides) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11) \
             ON CONFLICT (id) DO UPDATE SET name = $2, lon_deg = $3, lat_deg = $4, chart = $5, \
             stand_off_m = $6, time_zone = $7, notes = $8, water = $9, surface_bar = $10, tides = $11",
        )
        .bind(site.id.to_string())
        .bind(site.name.as_str())
        .bind(site.position.lon_deg())
        .bind(site.position.lat_deg())
        .bind(site.chart.as_str())
        .bind(site.stand_off.m())
        .bind(site.time_zone.as_str())
        .bind(site.notes.as_str())
        .bind(match site.water.water() {
            Water::Salt => "salt",
            Water::Fresh => "fresh",
        })
        .bind(site.water.surface_bar())
        .bind(site.tides.as_ref().map(Tides::to_string))
        .execute(write.on())
        .await?;
        write.commit(site.chart.len() as u64).await
    }

    /// A site; none if there is no such one.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn site(&self, id: SiteId) -> Result<Option<Site>, StoreError> {
        let found: Option<SiteRow> = sqlx::query_as(
            "SELECT id, name, lon_deg, lat_deg, chart, stand_off_m, time_zone, notes, \
             water, surface_bar, tides FROM site WHERE id = $1",
        )
        .bind(id.to_string())
        .fetch_optional(self.readers())
        .await?;
        found.map(Site::try_from).transpose()
    }

    /// All sites, by name.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn sites(&self) -> Result<Vec<Site>, StoreError> {
        let found: Vec<SiteRow> = sqlx::query_as(
            "SELECT id, name, lon_deg, lat_deg, chart, stand_off_m, time_zone, notes, \
             water, surface_bar, tides FROM site ORDER BY name, id",
        )
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Site::try_from).collect()
    }

    /// Takes a site out of the register; logs keep what they say. Returns whether it was there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn remove_site(&self, id: SiteId) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query("DELETE FROM site WHERE id = $1")
            .bind(id.to_string())
            .execute(write.on())
            .await?;
        write.commit(0).await?;
        Ok(done.rows_affected() == 1)
    }
}

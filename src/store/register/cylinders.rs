//! The centre's cylinders, what was filled into them, and analyses of their gas as the divers who
//! breathe it signed them. A new fill puts an end to what was analysed before it.

use jiff::Timestamp;
use jiff::civil::Date;
use uuid::Uuid;

use super::super::crew::{AuditKind, Doer, note_of};
use super::super::row::RowOf;
use super::super::{Store, StoreError};
use super::merged::remaining;
use crate::trip::PersonId;
use crate::units::{CylinderBar, CylinderLitres, OxygenFraction};

/// What is in a cylinder, as last told.
#[derive(Debug, Clone, PartialEq)]
pub struct Content {
    /// The oxygen that was meant and the pressure after filling, as whoever filled it says: no
    /// analysis. None: it is empty.
    pub fill: Option<(OxygenFraction, CylinderBar)>,
    /// When that was told.
    pub at: Timestamp,
    /// By whom.
    pub by: String,
}

/// A cylinder of the centre.
#[derive(Debug, Clone, PartialEq)]
pub struct Cylinder {
    /// Its number.
    pub id: Uuid,
    /// What is painted or stamped on it; no other has the same.
    pub marking: String,
    /// Water volume.
    pub litres: CylinderLitres,
    /// Day up to which its test holds, that day too; none if nobody said.
    pub test_due: Option<Date>,
    /// What is in it; none if nobody said.
    pub content: Option<Content>,
}

impl Cylinder {
    /// Whether its test is over on a day, or nobody said until when it holds.
    #[must_use]
    pub fn is_untested(&self, on: Date) -> bool {
        self.test_due.is_none_or(|due| due < on)
    }
}

/// An analysis of the gas in a cylinder, signed by the diver who is to breathe it.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// Its number.
    pub id: Uuid,
    /// The centre's cylinder; none: the diver's own.
    pub cylinder: Option<Uuid>,
    /// What is painted on it.
    pub marking: String,
    /// Its water volume.
    pub litres: CylinderLitres,
    /// Who analysed, and is to breathe it.
    pub person: PersonId,
    /// The name as it was typed for a signature.
    pub signed_as: String,
    /// Oxygen as measured.
    pub oxygen: OxygenFraction,
    /// Pressure as read.
    pub bar: CylinderBar,
    /// When.
    pub at: Timestamp,
    /// Whether the cylinder was filled anew since, or analysed anew by anybody.
    pub is_past: bool,
}

/// What came of writing a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[must_use]
pub enum CylinderSaved {
    /// Written.
    Saved,
    /// Another one bears this marking.
    Marked,
}

#[derive(sqlx::FromRow)]
struct CylinderRow {
    id: String,
    marking: String,
    litres: f64,
    test_due: Option<String>,
    oxygen: Option<f64>,
    bar: Option<f64>,
    told_at: Option<i64>,
    told_by: Option<String>,
}

impl TryFrom<CylinderRow> for Cylinder {
    type Error = StoreError;
    fn try_from(found: CylinderRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "cylinder",
            key: &found.id,
        };
        let told = found.told_at.zip(found.told_by);
        let content = told.map(|(at, by)| {
            let fill = found.oxygen.zip(found.bar);
            let fill = fill.map(|(oxygen, bar)| {
                Ok::<_, StoreError>((row.figure("oxygen", oxygen)?, row.figure("bar", bar)?))
            });
            Ok::<_, StoreError>(Content {
                fill: fill.transpose()?,
                at: row.instant("told_at", at)?,
                by,
            })
        });
        let content = content.transpose()?;
        Ok(Self {
            id: row.parse("id", &found.id)?,
            litres: row.figure("litres", found.litres)?,
            test_due: row.parse_if("test_due", found.test_due.as_deref())?,
            marking: found.marking,
            content,
        })
    }
}

#[derive(sqlx::FromRow)]
struct AnalysisRow {
    id: String,
    cylinder: Option<String>,
    marking: String,
    litres: f64,
    person: String,
    signed_as: String,
    oxygen: f64,
    bar: f64,
    at: i64,
    is_past: bool,
}

impl TryFrom<AnalysisRow> for Analysis {
    type Error = StoreError;
    fn try_from(found: AnalysisRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "gas_analysis",
            key: &found.id,
        };
        Ok(Self {
            id: row.parse("id", &found.id)?,
            cylinder: row.parse_if("cylinder", found.cylinder.as_deref())?,
            litres: row.figure("litres", found.litres)?,
            person: row.parse("person", &found.person)?,
            oxygen: row.figure("oxygen", found.oxygen)?,
            bar: row.figure("bar", found.bar)?,
            at: row.instant("at", found.at)?,
            is_past: found.is_past,
            marking: found.marking,
            signed_as: found.signed_as,
        })
    }
}

impl Store {
    /// The cylinders of the centre, by marking.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn cylinders(&self) -> Result<Vec<Cylinder>, StoreError> {
        let found: Vec<CylinderRow> = sqlx::query_as(
            "SELECT id, marking, litres, test_due, oxygen, bar, told_at, told_by \
             FROM cylinder ORDER BY marking, id",
        )
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Cylinder::try_from).collect()
    }

    /// One of them.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn cylinder(&self, id: Uuid) -> Result<Option<Cylinder>, StoreError> {
        let found: Option<CylinderRow> = sqlx::query_as(
            "SELECT id, marking, litres, test_due, oxygen, bar, told_at, told_by \
             FROM cylinder WHERE id = $1",
        )
        .bind(id.to_string())
        .fetch_optional(self.readers())
        .await?;
        found.map(Cylinder::try_from).transpose()
    }

    /// Writes what a cylinder is, new or changed; what is in it stays.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn save_cylinder(
        &self,
        id: Uuid,
        marking: &str,
        litres: CylinderLitres,
        test_due: Option<Date>,
    ) -> Result<CylinderSaved, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let taken: bool = sqlx::query_scalar(
            "SELECT EXISTS (SELECT 1 FROM cylinder WHERE marking = $1 AND id <> $2)",
        )
        .bind(marking)
        .bind(id.to_string())
        .fetch_one(write.on())
        .await?;
        if taken {
            return Ok(CylinderSaved::Marked);
        }
        sqlx::query(
            "INSERT INTO cylinder (id, marking, litres, test_due) VALUES ($1, $2, $3, $4) \
             ON CONFLICT (id) DO UPDATE SET marking = $2, litres = $3, test_due = $4",
        )
        .bind(id.to_string())
        .bind(marking)
        .bind(litres.l())
        .bind(test_due.map(|day| day.to_string()))
        .execute(write.on())
        .await?;
        write.commit(0).await?;
        Ok(CylinderSaved::Saved)
    }

    /// Writes what is in a cylinder now: what was analysed in it before is past. Returns whether
    /// it is one of the centre's.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn fill_cylinder(&self, id: Uuid, content: &Content) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let done = sqlx::query(
            "UPDATE cylinder SET oxygen = $2, bar = $3, told_at = $4, told_by = $5 WHERE id = $1",
        )
        .bind(id.to_string())
        .bind(content.fill.map(|(oxygen, _)| oxygen.fraction()))
        .bind(content.fill.map(|(_, bar)| bar.bar()))
        .bind(content.at.as_millisecond())
        .bind(content.by.as_str())
        .execute(write.on())
        .await?;
        write.commit(0).await?;
        Ok(done.rows_affected() == 1)
    }

    /// Takes a cylinder out of the register, with a line in the audit; analyses of it stay.
    /// Returns whether it was there.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn remove_cylinder(&self, id: Uuid, by: Doer) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let marking: Option<String> =
            sqlx::query_scalar("DELETE FROM cylinder WHERE id = $1 RETURNING marking")
                .bind(id.to_string())
                .fetch_optional(write.on())
                .await?;
        let Some(marking) = marking else {
            return Ok(false);
        };
        let what = format!("took the cylinder '{marking}' out of the register");
        let now = self.0.clock.now();
        note_of(write.on(), now, by, AuditKind::Box, None, &what).await?;
        write.commit(0).await?;
        Ok(true)
    }

    /// Keeps an analysis; one of this number stays as it is. Returns whether the diver is in the
    /// register, and the cylinder, if it is said to be the centre's.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn keep_analysis(&self, one: &Analysis, by: Doer) -> Result<bool, StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let person = remaining(write.on(), one.person).await?;
        let cylinder = one.cylinder.map(|id| id.to_string());
        let known: bool = sqlx::query_scalar(
            "SELECT EXISTS (SELECT 1 FROM person WHERE id = $1) \
             AND ($2 IS NULL OR EXISTS (SELECT 1 FROM cylinder WHERE id = $2))",
        )
        .bind(person.to_string())
        .bind(cylinder.as_deref())
        .fetch_one(write.on())
        .await?;
        if !known {
            return Ok(false);
        }
        sqlx::query(
            "INSERT INTO gas_analysis \
             (id, cylinder, marking, litres, person, signed_as, oxygen, bar, at, who) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) ON CONFLICT (id) DO NOTHING",
        )
        .bind(one.id.to_string())
        .bind(cylinder)
        .bind(one.marking.as_str())
        .bind(one.litres.l())
        .bind(person.to_string())
        .bind(one.signed_as.as_str())
        .bind(one.oxygen.fraction())
        .bind(one.bar.bar())
        .bind(one.at.as_millisecond())
        .bind(by.who.map(|crew| crew.to_string()))
        .execute(write.on())
        .await?;
        write.commit(0).await?;
        Ok(true)
    }

    /// Analyses from an instant on, the latest first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn analyses_since(&self, from: Timestamp) -> Result<Vec<Analysis>, StoreError> {
        // Two of one cylinder at one instant: neither is known to be the later, so both are past.
        let found: Vec<AnalysisRow> = sqlx::query_as(
            "SELECT a.id, a.cylinder, a.marking, a.litres, a.person, a.signed_as, a.oxygen, a.bar, \
             a.at, \
             COALESCE(a.at <= c.told_at, FALSE) \
             OR EXISTS (SELECT 1 FROM gas_analysis b WHERE b.id <> a.id AND b.at >= a.at AND \
                        (b.cylinder = a.cylinder OR (b.cylinder IS NULL AND a.cylinder IS NULL \
                         AND b.person = a.person AND b.marking = a.marking))) AS is_past \
             FROM gas_analysis a LEFT JOIN cylinder c ON c.id = a.cylinder \
             WHERE a.at >= $1 ORDER BY a.at DESC, a.id",
        )
        .bind(from.as_millisecond())
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Analysis::try_from).collect()
    }
}

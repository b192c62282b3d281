//! The audit: sign-ins, refusals, revocations, contacts opened, exports, deletions; who, where and
//! when.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use sqlx::sqlite::SqliteConnection;

use super::super::row::{RowOf, word_of};
use super::super::{Store, StoreError};
use crate::trip::event::DeviceId;
use crate::trip::{CrewId, PersonId};

/// What a line of the audit is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AuditKind {
    /// Somebody opened a sealed contact.
    ContactOpened,
    /// Somebody took a person's data out of the box.
    Exported,
    /// Somebody erased a person.
    Erased,
    /// The box deleted what its rule no longer keeps, or somebody changed that rule.
    Retention,
    /// Something was refused: a PIN, a code.
    Refused,
    /// Signed in or out.
    SignIn,
    /// An account was made or changed.
    Account,
    /// A device was let in or shut out.
    Device,
    /// Two entries of the register were made one, or told apart.
    Merged,
    /// A guardian's consent was written, withdrawn, or gone without.
    Consent,
    /// Whatever else was done to the box: its clock, its sounder, logs brought to it.
    Box,
}

impl AuditKind {
    /// All of them.
    pub const ALL: [Self; 11] = [
        Self::ContactOpened,
        Self::Exported,
        Self::Erased,
        Self::Retention,
        Self::Refused,
        Self::SignIn,
        Self::Account,
        Self::Device,
        Self::Merged,
        Self::Consent,
        Self::Box,
    ];

    /// The kind of a line that says no more than its words. Words written here begin as the lists
    /// say; what begins otherwise is about the box.
    fn of(what: &str) -> Self {
        const BEGINNINGS: [(&str, AuditKind); 9] = [
            ("refused", AuditKind::Refused),
            ("signed ", AuditKind::SignIn),
            ("forgave ", AuditKind::SignIn),
            ("made an enrolment", AuditKind::Device),
            ("enrolled", AuditKind::Device),
            ("revoked", AuditKind::Device),
            ("made the account ", AuditKind::Account),
            ("changed the roles of ", AuditKind::Account),
            ("removed the account ", AuditKind::Account),
        ];
        if what.starts_with("gave ") && what.ends_with(" a new PIN") {
            return Self::Account;
        }
        BEGINNINGS
            .iter()
            .find(|(start, _)| what.starts_with(start))
            .map_or(Self::Box, |(_, kind)| *kind)
    }

    /// Whether programs from before this kind read the column `kind`: for them its lines are about
    /// the box, and its word stands in `about`.
    fn is_later(self) -> bool {
        matches!(self, Self::Merged | Self::Consent)
    }

    /// Its word, as the file and addresses have it.
    ///
    /// # Errors
    /// None that can come: a kind is a word.
    fn word(self) -> Result<String, StoreError> {
        word_of("audit", "kind", "", &self)
    }
}

/// One line of the audit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditRow {
    /// Its number; later ones are higher.
    pub id: i64,
    /// When.
    pub at: Timestamp,
    /// Which account, if one is known.
    pub who: Option<CrewId>,
    /// Its name.
    pub who_name: Option<String>,
    /// Which device, if one is known.
    pub device: Option<DeviceId>,
    /// Its name.
    pub device_name: Option<String>,
    /// What it is about.
    pub kind: AuditKind,
    /// Which person of the register.
    pub person: Option<PersonId>,
    /// The name, as long as the person is in the register.
    pub person_name: Option<String>,
    /// What.
    pub what: String,
}

/// What is looked for in the audit; what is left open narrows nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AuditAsked {
    /// Of this kind.
    pub kind: Option<AuditKind>,
    /// About this person.
    pub person: Option<PersonId>,
    /// From this instant on.
    pub from: Option<Timestamp>,
    /// Before this instant.
    pub until: Option<Timestamp>,
    /// Before this line.
    pub before: Option<i64>,
}

#[derive(sqlx::FromRow)]
struct Line {
    id: i64,
    at: i64,
    who: Option<String>,
    who_name: Option<String>,
    device: Option<String>,
    device_name: Option<String>,
    kind: String,
    person: Option<String>,
    person_name: Option<String>,
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
            id: found.id,
            at: row.instant("at", found.at)?,
            who: row.parse_if("who", found.who.as_deref())?,
            who_name: found.who_name,
            device: row.parse_if("device", found.device.as_deref())?,
            device_name: found.device_name,
            kind: row.word("kind", &found.kind)?,
            person: row.parse_if("person", found.person.as_deref())?,
            person_name: found.person_name,
            what: found.what,
        })
    }
}

/// Who does something, and where: what every line of the audit names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Doer {
    /// Which account; none for the box itself.
    pub who: Option<CrewId>,
    /// On which device.
    pub device: Option<DeviceId>,
}

/// Writes a line about a kind of thing, and perhaps a person, inside a transaction.
pub(in super::super) async fn note_of(
    connection: &mut SqliteConnection,
    at: Timestamp,
    by: Doer,
    kind: AuditKind,
    person: Option<PersonId>,
    what: &str,
) -> Result<(), StoreError> {
    let older = if kind.is_later() {
        AuditKind::Box
    } else {
        kind
    };
    let about = kind.is_later().then(|| kind.word()).transpose()?;
    sqlx::query(
        "INSERT INTO audit (at, who, device, what, kind, person, about) \
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(at.as_millisecond())
    .bind(by.who.map(|crew| crew.to_string()))
    .bind(by.device.map(|device| device.to_string()))
    .bind(what)
    .bind(older.word()?)
    .bind(person.map(|person| person.to_string()))
    .bind(about)
    .execute(connection)
    .await?;
    Ok(())
}

/// Writes a line inside a transaction, so that it stands exactly when the act does.
pub(in super::super) async fn note(
    connection: &mut SqliteConnection,
    at: Timestamp,
    who: Option<CrewId>,
    device: Option<DeviceId>,
    what: &str,
) -> Result<(), StoreError> {
    let by = Doer { who, device };
    note_of(connection, at, by, AuditKind::of(what), None, what).await
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

    /// Writes a line for each of these people, all or none. Whatever they stand for is to be done
    /// after that.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn audit_people(
        &self,
        by: Doer,
        kind: AuditKind,
        persons: impl IntoIterator<Item = PersonId> + Send,
        what: &str,
    ) -> Result<(), StoreError> {
        let persons: Vec<PersonId> = persons.into_iter().collect();
        let now = self.0.clock.now();
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        for person in persons {
            note_of(write.on(), now, by, kind, Some(person), what).await?;
        }
        write.commit(0).await
    }

    /// Writes a line of a kind.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn audit_of(&self, by: Doer, kind: AuditKind, what: &str) -> Result<(), StoreError> {
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        note_of(write.on(), self.0.clock.now(), by, kind, None, what).await?;
        write.commit(0).await
    }

    /// The last `most` lines, the latest first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn audits(&self, most: u32) -> Result<Vec<AuditRow>, StoreError> {
        self.find_audits(&AuditAsked::default(), most).await
    }

    /// The last `most` lines that answer to what is asked, the latest first.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn find_audits(
        &self,
        asked: &AuditAsked,
        most: u32,
    ) -> Result<Vec<AuditRow>, StoreError> {
        let kind = asked.kind.map(AuditKind::word).transpose()?;
        // A line that an older program wrote says no kind: it is about the box.
        let found: Vec<Line> = sqlx::query_as(
            "SELECT audit.id, audit.at, audit.who, crew.name AS who_name, audit.device, \
             device.name AS device_name, coalesce(audit.about, audit.kind, 'box') AS kind, audit.person, \
             person.name AS person_name, audit.what FROM audit \
             LEFT JOIN crew ON crew.id = audit.who \
             LEFT JOIN device ON device.id = audit.device \
             LEFT JOIN person ON person.id = coalesce((SELECT m.person FROM merged_person m \
             WHERE m.gone = audit.person), audit.person) \
             WHERE ($1 IS NULL OR coalesce(audit.about, audit.kind, 'box') = $1) \
             AND ($2 IS NULL OR audit.person = $2 OR audit.person IN \
             (SELECT gone FROM merged_person WHERE person = $2)) AND ($3 IS NULL OR at >= $3) \
             AND ($4 IS NULL OR at < $4) AND ($5 IS NULL OR audit.id < $5) \
             ORDER BY audit.id DESC LIMIT $6",
        )
        .bind(kind)
        .bind(asked.person.map(|person| person.to_string()))
        .bind(asked.from.map(Timestamp::as_millisecond))
        .bind(asked.until.map(Timestamp::as_millisecond))
        .bind(asked.before)
        .bind(i64::from(most))
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(AuditRow::try_from).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::AuditKind;

    /// Every beginning that this program writes: `grep` for `audit(` and `note(` finds them.
    #[test]
    fn lines_without_a_kind_get_it_from_their_words() {
        for (what, kind) in [
            ("refused to sign in \"signed in\"", AuditKind::Refused),
            ("refused an enrolment code", AuditKind::Refused),
            ("signed in", AuditKind::SignIn),
            ("forgave wrong PINs of \"x\"", AuditKind::SignIn),
            ("made an enrolment code", AuditKind::Device),
            ("enrolled", AuditKind::Device),
            ("revoked", AuditKind::Device),
            ("made the account 1", AuditKind::Account),
            ("gave 1 a new PIN", AuditKind::Account),
            ("gave 1 more time", AuditKind::Box),
            ("set the clock", AuditKind::Box),
        ] {
            assert_eq!(AuditKind::of(what), kind, "{what}");
        }
    }
}

//! People, and how they are found by name.

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::sqlite::SqliteConnection;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

use super::super::row::{RowOf, word_of};
use super::super::{Store, StoreError};
use super::merged::remaining;
use crate::trip::PersonId;
use crate::trip::event::Fitness;
use crate::units::{Depth, LitresPerMinute};

/// A person of the register. No contact and no medical word stands here.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// The same in every trip's log.
    pub id: PersonId,
    /// Name as the person writes it.
    pub name: String,
    /// Certification level, in the words of ISO 24801.
    pub level: String,
    /// Greatest depth of that level; none for who does not dive.
    pub depth_limit: Option<Depth>,
    /// Date of the last dive, if known.
    pub last_dive: Option<Date>,
    /// Cleared, or to be asked about at the desk.
    pub fitness: Fitness,
    /// Breathing rate at the surface, if known.
    pub breathing: Option<LitresPerMinute>,
    /// Day of birth, where the centre asks for it: of minors, and to tell namesakes apart. Never
    /// part of a trip's log.
    pub born: Option<Date>,
    /// Whether lists leave the person out.
    pub archived: bool,
}

/// A name as it is compared: compatibility-decomposed (Unicode Annex 15), in small letters,
/// without accents, with single spaces.
#[must_use]
pub fn fold_name(name: &str) -> String {
    let plain: String = name
        .nfkd()
        .filter(|c| !is_combining_mark(*c))
        .collect::<String>()
        .to_lowercase()
        // Some small letters decompose again: that of the Turkish I with a dot.
        .nfkd()
        .filter(|c| !is_combining_mark(*c))
        .collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[derive(sqlx::FromRow)]
struct PersonRow {
    id: String,
    name: String,
    level: String,
    depth_limit_m: Option<f64>,
    last_dive: Option<String>,
    fitness: String,
    breathing_l_min: Option<f64>,
    born: Option<String>,
    archived: bool,
}

impl TryFrom<PersonRow> for Person {
    type Error = StoreError;
    fn try_from(found: PersonRow) -> Result<Self, StoreError> {
        let row = RowOf {
            table: "person",
            key: &found.id,
        };
        Ok(Self {
            id: row.parse("id", &found.id)?,
            depth_limit: found
                .depth_limit_m
                .map(|m| row.figure("depth_limit_m", m))
                .transpose()?,
            last_dive: row.parse_if("last_dive", found.last_dive.as_deref())?,
            fitness: row.word("fitness", &found.fitness)?,
            breathing: found
                .breathing_l_min
                .map(|l_min| row.figure("breathing_l_min", l_min))
                .transpose()?,
            born: row.parse_if("born", found.born.as_deref())?,
            name: found.name,
            level: found.level,
            archived: found.archived,
        })
    }
}

/// Writes a person inside a transaction.
pub(super) async fn write_person(
    connection: &mut SqliteConnection,
    person: &Person,
    now: Timestamp,
) -> Result<(), StoreError> {
    let fitness = word_of("person", "fitness", person.id, &person.fitness)?;
    sqlx::query(
        "INSERT INTO person (id, name, folded, level, depth_limit_m, last_dive, fitness, \
         breathing_l_min, born, archived) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10) \
         ON CONFLICT (id) DO UPDATE SET name = $2, folded = $3, level = $4, \
         depth_limit_m = $5, last_dive = $6, fitness = $7, breathing_l_min = $8, \
         born = $9, archived = $10",
    )
    .bind(person.id.to_string())
    .bind(person.name.as_str())
    .bind(fold_name(&person.name))
    .bind(person.level.as_str())
    .bind(person.depth_limit.map(Depth::m))
    .bind(person.last_dive.map(|day| day.to_string()))
    .bind(fitness)
    .bind(person.breathing.map(LitresPerMinute::l_min))
    .bind(person.born.map(|day| day.to_string()))
    .bind(person.archived)
    .execute(&mut *connection)
    .await?;
    sqlx::query(
        "INSERT INTO registered (person, since) VALUES ($1, $2) \
         ON CONFLICT (person) DO UPDATE SET since = $2",
    )
    .bind(person.id.to_string())
    .bind(now.as_millisecond())
    .execute(connection)
    .await?;
    Ok(())
}

impl Store {
    /// Writes a person, new or changed. An identity that was merged is written as the one that
    /// remained.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn save_person(&self, person: &Person) -> Result<(), StoreError> {
        let now = self.0.clock.now();
        let mut turn = self.turn().await?;
        let mut write = turn.begin().await?;
        let id = remaining(write.on(), person.id).await?;
        let person = Person {
            id,
            ..person.clone()
        };
        write_person(write.on(), &person, now).await?;
        write.commit(0).await
    }

    /// A person, or the one that remained of them; none if there is no such one.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn person(&self, id: PersonId) -> Result<Option<Person>, StoreError> {
        let found: Option<PersonRow> = sqlx::query_as(
            "SELECT id, name, level, depth_limit_m, last_dive, fitness, breathing_l_min, born, archived \
             FROM person \
             WHERE id = coalesce((SELECT person FROM merged_person WHERE gone = $1), $1)",
        )
        .bind(id.to_string())
        .fetch_optional(self.readers())
        .await?;
        found.map(Person::try_from).transpose()
    }

    /// People who are not archived and whose name has `part` in it, in whatever case and with
    /// or without accents, by name; at most `most`. An empty `part` finds everybody.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn find_people(&self, part: &str, most: u32) -> Result<Vec<Person>, StoreError> {
        let found: Vec<PersonRow> = sqlx::query_as(
            "SELECT id, name, level, depth_limit_m, last_dive, fitness, breathing_l_min, born, archived \
             FROM person WHERE archived = 0 AND instr(folded, $1) > 0 \
             ORDER BY folded, id LIMIT $2",
        )
        .bind(fold_name(part))
        .bind(i64::from(most))
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Person::try_from).collect()
    }

    /// Everybody, the archived too, by name.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn people(&self) -> Result<Vec<Person>, StoreError> {
        let found: Vec<PersonRow> = sqlx::query_as(
            "SELECT id, name, level, depth_limit_m, last_dive, fitness, breathing_l_min, born, archived \
             FROM person ORDER BY folded, id",
        )
        .fetch_all(self.readers())
        .await?;
        found.into_iter().map(Person::try_from).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::fold_name;

    /// Expected by the Unicode Character Database: decompositions and simple lower case.
    #[test]
    fn names_of_any_script_are_found_in_any_case() {
        for (name, folded) in [
            ("  José   GARCÍA ", "jose garcia"),
            ("ÅSA Öström", "asa ostrom"),
            ("ΜΑΡΊΑ Κόντου", "μαρια κοντου"),
            ("ЮЛИЯ Ёлкина", "юлия елкина"),
            ("İpek", "ipek"),
            ("ﬁona", "fiona"),
            ("田中 太郎", "田中 太郎"),
        ] {
            assert_eq!(fold_name(name), folded);
            assert_eq!(
                fold_name(&fold_name(name)),
                folded,
                "folding twice is folding"
            );
        }
    }
}

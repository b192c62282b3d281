//! The program before must be able to go on with a file that this one has touched: after the
//! migration that gave files their format, migrations only add, or they raise the format and the
//! older program refuses the file instead of misreading it.

use std::collections::BTreeMap;

use sqlx::{AssertSqlSafe, Connection, SqliteConnection};

use crate::older::{older_program, raw};

/// The last migration of the programs from before there was a format.
const FORMAT_GIVEN_BY: i64 = 4;

/// A column: type, whether it must not be null, whether it has a default, place in the key.
type Column = (String, bool, bool, i64);

#[derive(Debug, Default)]
struct Schema {
    format: i64,
    columns: BTreeMap<(String, String), Column>,
    /// Triggers, views, and indexes that refuse what is not unique, with the table each is on.
    acting: BTreeMap<String, (String, String)>,
}

async fn schema(raw: &mut SqliteConnection) -> Schema {
    let format = sqlx::query_scalar("PRAGMA user_version");
    let mut schema = Schema {
        format: format.fetch_one(&mut *raw).await.unwrap(),
        ..Schema::default()
    };
    let found: Vec<(String, String, String, bool, bool, i64)> = sqlx::query_as(
        "SELECT m.name, c.name, c.type, c.\"notnull\", c.dflt_value IS NOT NULL, c.pk \
         FROM sqlite_schema m, pragma_table_xinfo(m.name) c WHERE m.type = 'table' \
         AND m.name NOT LIKE 'sqlite_%' AND m.name <> '_sqlx_migrations'",
    )
    .fetch_all(&mut *raw)
    .await
    .unwrap();
    for (table, column, kind, not_null, default, key) in found {
        let told = (kind, not_null, default, key);
        schema.columns.insert((table, column), told);
    }
    let acting: Vec<(String, String, String)> = sqlx::query_as(
        "SELECT name, tbl_name, sql FROM sqlite_schema WHERE sql IS NOT NULL \
         AND (type IN ('trigger', 'view') OR sql LIKE 'CREATE UNIQUE INDEX%')",
    )
    .fetch_all(&mut *raw)
    .await
    .unwrap();
    for (name, table, sql) in acting {
        schema.acting.insert(name, (table, sql));
    }
    schema
}

/// What of `after` would keep a program that knows `before` from working.
fn in_the_way(before: &Schema, after: &Schema) -> Vec<String> {
    let mut found = Vec::new();
    for (name, column) in &before.columns {
        if after.columns.get(name) != Some(column) {
            found.push(format!("{name:?} was {column:?}"));
        }
    }
    let known = |table: &str| before.columns.keys().any(|(name, _)| name == table);
    for ((table, column), (_, not_null, default, _)) in &after.columns {
        let is_new = !before
            .columns
            .contains_key(&(table.clone(), column.clone()));
        if is_new && known(table) && *not_null && !default {
            found.push(format!("{table}.{column} must be given and is not known"));
        }
    }
    for (name, made) in &before.acting {
        if after.acting.get(name) != Some(made) {
            found.push(format!("{name} was {made:?}"));
        }
    }
    for (name, (table, sql)) in &after.acting {
        let refuses = sql.starts_with("CREATE UNIQUE") || sql.contains("raise(");
        if !before.acting.contains_key(name) && known(table) && refuses {
            found.push(format!("{name} on {table} refuses what was taken"));
        }
    }
    found
}

#[tokio::test]
async fn each_migration_since_the_format_leaves_the_file_to_the_program_before() {
    let mut versions: Vec<i64> = std::fs::read_dir("migrations")
        .unwrap()
        .map(|found| {
            let name = found.unwrap().file_name().into_string().unwrap();
            name[..4].parse().unwrap()
        })
        .filter(|version| *version >= FORMAT_GIVEN_BY)
        .collect();
    versions.sort_unstable();
    assert!(versions.len() > 5);
    let mut before = None;
    for version in versions {
        let folder = tempfile::tempdir().unwrap();
        let mut file = raw(folder.path()).await;
        // Up to the format's own, programs ran them all at once; the file is new each time, as
        // a row of that one stops the old runner.
        if let Err(error) = older_program(&mut file, version).await {
            panic!("{version}: {error}");
        }
        let after = schema(&mut file).await;
        if let Some(before) = &before {
            let found = in_the_way(before, &after);
            assert!(
                found.is_empty() || after.format > before.format,
                "{version}: {found:?}"
            );
        }
        before = Some(after);
        file.close().await.unwrap();
    }
}

/// The comparison finds what it is there for.
#[tokio::test]
async fn what_would_be_in_the_way_is_found() {
    for change in [
        "ALTER TABLE person RENAME COLUMN name TO called",
        "ALTER TABLE setting ADD COLUMN unit TEXT NOT NULL DEFAULT ''; ALTER TABLE setting DROP COLUMN value",
        "DROP VIEW trip_head",
        "CREATE UNIQUE INDEX one_boat ON trip (boat)",
        "CREATE TRIGGER no_more BEFORE INSERT ON trip BEGIN SELECT raise(ABORT, 'no'); END",
    ] {
        let folder = tempfile::tempdir().unwrap();
        let mut file = raw(folder.path()).await;
        older_program(&mut file, 9).await.unwrap();
        let before = schema(&mut file).await;
        sqlx::raw_sql(AssertSqlSafe(change))
            .execute(&mut file)
            .await
            .unwrap();
        let after = schema(&mut file).await;
        assert!(!in_the_way(&before, &after).is_empty(), "{change}");
        assert!(in_the_way(&before, &before).is_empty());
    }
}

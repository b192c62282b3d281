//! A hostile guest on the boat's own network: pages of other origins, ids of other trips, text
//! that would like to be markup, a formula or a line of a header, files that no reader expects.

mod corpus;
mod forms;
mod marked;
mod origin;
mod other_trip;
mod text;

use std::collections::BTreeMap;

use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{AssertSqlSafe, ConnectOptions as _};

use crate::app::App;

/// Everything that the box keeps: the rows of each table as text. It is read from the file, past
/// the store, so that nothing the store does not show can change unseen.
async fn kept(app: &App) -> BTreeMap<String, String> {
    let mut file = SqliteConnectOptions::new()
        .filename(app.store.path())
        .read_only(true)
        .connect()
        .await
        .unwrap();
    let tables: Vec<String> =
        sqlx::query_scalar("SELECT name FROM sqlite_master WHERE type = 'table'")
            .fetch_all(&mut file)
            .await
            .unwrap();
    let mut kept = BTreeMap::new();
    for table in tables {
        let columns: Vec<String> = sqlx::query_scalar("SELECT name FROM pragma_table_info($1)")
            .bind(&table)
            .fetch_all(&mut file)
            .await
            .unwrap();
        let columns: Vec<String> = columns
            .iter()
            .map(|column| format!("quote(\"{column}\")"))
            .collect();
        let row = columns.join(" || ',' || ");
        // Safe: names of the tables and columns of our own schema.
        let all = AssertSqlSafe(format!("SELECT {row} AS row FROM \"{table}\" ORDER BY row"));
        let rows: Vec<String> = sqlx::query_scalar(all).fetch_all(&mut file).await.unwrap();
        kept.insert(table, rows.join("\n"));
    }
    assert!(kept.len() > 15, "tables are there: {:?}", kept.keys());
    kept
}

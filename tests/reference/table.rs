//! Reads a data file: notes behind `#`, a header, rows.

use std::collections::HashMap;
use std::path::Path;

/// One row, by column name.
pub(crate) struct Row(HashMap<String, String>);

impl Row {
    pub(crate) fn text(&self, column: &str) -> &str {
        self.0
            .get(column)
            .unwrap_or_else(|| panic!("no column {column}"))
    }

    pub(crate) fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse()
            .unwrap_or_else(|_| panic!("{column} is '{text}'"))
    }
}

/// All rows of `tests/reference/{name}`; at least one, so that no check passes on nothing.
pub(crate) fn rows(name: &str) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(name);
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(path)
        .unwrap();
    let rows: Vec<Row> = reader.deserialize().map(|row| Row(row.unwrap())).collect();
    assert!(!rows.is_empty(), "{name} holds no row");
    rows
}

//! Reading columns: a stored value that makes no sense is told by table, column and row.

use std::fmt::Display;
use std::str::FromStr;

use jiff::Timestamp;

use super::StoreError;

/// Where a row stands, for the words of its failures.
#[derive(Debug, Clone, Copy)]
pub(super) struct RowOf<'r> {
    pub(super) table: &'static str,
    pub(super) key: &'r str,
}

impl RowOf<'_> {
    pub(super) fn fault(self, column: &'static str, why: impl Display) -> StoreError {
        StoreError::row(self.table, column, &self.key, &why)
    }

    /// A value written as text.
    pub(super) fn parse<T>(self, column: &'static str, text: &str) -> Result<T, StoreError>
    where
        T: FromStr<Err: Display>,
    {
        text.parse().map_err(|why| self.fault(column, why))
    }

    /// The same, where it may be missing.
    pub(super) fn parse_if<T>(
        self,
        column: &'static str,
        text: Option<&str>,
    ) -> Result<Option<T>, StoreError>
    where
        T: FromStr<Err: Display>,
    {
        text.map(|text| self.parse(column, text)).transpose()
    }

    /// A word of a closed list, as serde writes it.
    pub(super) fn word<T: serde::de::DeserializeOwned>(
        self,
        column: &'static str,
        text: &str,
    ) -> Result<T, StoreError> {
        serde_json::from_value(serde_json::Value::from(text)).map_err(|why| self.fault(column, why))
    }

    /// A figure with limits of its own.
    pub(super) fn figure<I, T>(self, column: &'static str, value: I) -> Result<T, StoreError>
    where
        T: TryFrom<I, Error: Display>,
    {
        T::try_from(value).map_err(|why| self.fault(column, why))
    }

    /// An instant.
    pub(super) fn instant(self, column: &'static str, ms: i64) -> Result<Timestamp, StoreError> {
        Timestamp::from_millisecond(ms).map_err(|why| self.fault(column, why))
    }

    /// A digest.
    pub(super) fn digest(self, column: &'static str, bytes: &[u8]) -> Result<[u8; 32], StoreError> {
        bytes
            .try_into()
            .map_err(|_| self.fault(column, format!("is {} bytes long, not 32", bytes.len())))
    }
}

/// The word of a closed list, as serde writes it.
pub(super) fn word_of(
    table: &'static str,
    column: &'static str,
    row: impl Display,
    value: &impl serde::Serialize,
) -> Result<String, StoreError> {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => Ok(word),
        Ok(other) => Err(StoreError::row(
            table,
            column,
            &row,
            &format_args!("{other} is no word"),
        )),
        Err(why) => Err(StoreError::row(table, column, &row, &why)),
    }
}

/// A whole number for a column of SQLite, which has no unsigned ones.
pub(super) fn signed(
    table: &'static str,
    column: &'static str,
    row: impl Display,
    value: u64,
) -> Result<i64, StoreError> {
    i64::try_from(value).map_err(|why| StoreError::row(table, column, &row, &why))
}

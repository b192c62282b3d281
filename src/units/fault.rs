//! What is wrong with a piece of input: where, what, and what would be allowed.

use std::fmt;

/// One fault of one field.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Fault {
    /// Path of the field: `groups[2].people`; empty for the whole document.
    pub path: String,
    /// What is wrong, as a sentence fragment: `is missing`.
    pub what: String,
    /// What would be right: `a number from 1 to 500 people`.
    pub allowed: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let path = if self.path.is_empty() {
            "the document"
        } else {
            &self.path
        };
        write!(f, "{path}: {}", self.what)?;
        if !self.allowed.is_empty() {
            write!(f, "; give {}", self.allowed)?;
        }
        Ok(())
    }
}

/// All faults of one input; as an error it holds at least one.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
#[serde(transparent)]
pub struct Faults(Vec<Fault>);

impl Faults {
    /// No fault so far.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Just this one.
    #[must_use]
    pub fn one(
        path: impl Into<String>,
        what: impl Into<String>,
        allowed: impl Into<String>,
    ) -> Self {
        let mut faults = Self::new();
        faults.add(path, what, allowed);
        faults
    }

    /// Adds a fault.
    pub fn add(
        &mut self,
        path: impl Into<String>,
        what: impl Into<String>,
        allowed: impl Into<String>,
    ) {
        self.0.push(Fault {
            path: path.into(),
            what: what.into(),
            allowed: allowed.into(),
        });
    }

    /// Adds all faults of another input.
    pub fn extend(&mut self, other: Faults) {
        self.0.extend(other.0);
    }

    /// The same faults of a document that stands at `path` in a larger one.
    #[must_use]
    pub fn below(self, path: &str) -> Self {
        let moved = self.0.into_iter().map(|fault| Fault {
            path: match (path, fault.path.as_str()) {
                ("", own) => own.to_owned(),
                (_, "") => path.to_owned(),
                (_, own) => format!("{path}.{own}"),
            },
            ..fault
        });
        Self(moved.collect())
    }

    /// Whether nothing is wrong.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The faults in the order they were found.
    pub fn iter(&self) -> impl Iterator<Item = &Fault> {
        self.0.iter()
    }

    /// `value` if nothing is wrong.
    ///
    /// # Errors
    /// All faults, if there are any.
    pub fn or<T>(self, value: T) -> Result<T, Faults> {
        if self.is_empty() {
            Ok(value)
        } else {
            Err(self)
        }
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (nth, fault) in self.0.iter().enumerate() {
            if nth > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

impl IntoIterator for Faults {
    type Item = Fault;
    type IntoIter = std::vec::IntoIter<Fault>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

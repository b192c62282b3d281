//! The rule: for how many days the box keeps what, as the centre's jurisdiction has it.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::store::register::Item;

/// Days and years after somebody's last trip.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Rule {
    /// The law or code it follows, as the centre calls it.
    pub named: String,
    /// Days for which contacts stay.
    pub contact_days: u32,
    /// Days for which it stays who was cleared to dive.
    pub fitness_days: u32,
    /// Days for which entries of the register stay.
    pub entry_days: u32,
    /// Years for which logs of trips, the dive records, must stay.
    pub records_years: u32,
    /// Days for which something stands on the list before it is deleted.
    pub notice_days: u32,
    /// Who said that it is the local code's, and when.
    pub confirmed: Option<Confirmed>,
}

/// Somebody answers for a rule.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Confirmed {
    /// Name of the account.
    pub by: String,
    /// Day, in the centre's zone.
    pub on: Date,
}

impl Default for Rule {
    /// # Source
    /// Common practice, no source: a week for what shows only days after a dive, a year for
    /// guests who come again, ten years for records. Local codes differ; each centre checks its
    /// own.
    fn default() -> Self {
        Self {
            named: String::new(),
            contact_days: 7,
            fitness_days: 7,
            entry_days: 365,
            records_years: 10,
            notice_days: 2,
            confirmed: None,
        }
    }
}

impl Rule {
    /// Most days of any of them: ten years.
    pub const MOST_DAYS: u32 = 3_653;
    /// Most years of records.
    pub const MOST_YEARS: u32 = 100;
    /// Most days of notice.
    pub const MOST_NOTICE: u32 = 60;

    /// For how many days something stays.
    #[must_use]
    pub fn days(&self, item: Item) -> u32 {
        match item {
            Item::Contact => self.contact_days,
            Item::Fitness => self.fitness_days,
            Item::Entry => self.entry_days,
        }
    }

    /// Whether the duty deletes it: whole entries only by a rule that somebody checked.
    #[must_use]
    pub fn deletes(&self, item: Item) -> bool {
        match item {
            Item::Contact | Item::Fitness => true,
            Item::Entry => self.confirmed.is_some(),
        }
    }
}

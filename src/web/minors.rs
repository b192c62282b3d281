//! Minors of a trip: who is under age on its day, who has a guardian's consent, and who comes along
//! without. At which age that ends is the centre's setting and the local law's word.

use jiff::Unit;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::app::App;
use super::error::Error;
use crate::store::register::{Consent, ConsentOverride, key};
use crate::trip::PersonId;
use crate::trip::state::State;
use crate::words::Words;

/// Who counts as a minor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Minors {
    /// Whoever has not had this birthday.
    pub under_years: u32,
}

impl Minors {
    /// The highest age that can be set.
    pub const MOST_YEARS: u32 = 30;

    /// Whole years on a day. Somebody born on 29 February is a year older on 1 March: laws differ,
    /// and the later day is the careful one.
    #[must_use]
    pub fn age(born: Date, on: Date) -> u32 {
        let years = born
            .until((Unit::Year, on))
            .map_or(0, |span| span.get_years());
        u32::try_from(years).unwrap_or(0)
    }

    /// Whether somebody is a minor on a day.
    #[must_use]
    pub fn is_minor(self, born: Date, on: Date) -> bool {
        Self::age(born, on) < self.under_years
    }
}

/// Eighteen years, the age of the Convention on the Rights of the Child (1989, Article 1), unless
/// the local law says another.
impl Default for Minors {
    fn default() -> Self {
        Self { under_years: 18 }
    }
}

/// The centre's setting.
///
/// # Errors
/// If the store fails.
pub async fn setting(app: &App) -> Result<Minors, Error> {
    Ok(app.store().setting(key::MINORS).await?.unwrap_or_default())
}

/// How a minor stands on a trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// A guardian agreed.
    Consented(Consent),
    /// Nobody agreed, and somebody decided to take them along.
    Overridden(ConsentOverride),
    /// Nobody agreed, and nobody decided anything.
    Lacking,
}

/// A minor on a roster.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Minor {
    /// As the trip's log names them.
    pub person: PersonId,
    /// Name on the roster.
    pub name: String,
    /// Whole years on the day of the trip.
    pub age: u32,
    /// How they stand.
    pub standing: Standing,
}

/// The minors who come along, and how many have no date of birth in the register.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OnTrip {
    /// By name.
    pub minors: Vec<Minor>,
    /// Of so many it is not known whether they are of age.
    pub not_known: usize,
}

/// Looks who of a trip is a minor on its day.
///
/// # Errors
/// If the store fails.
pub async fn on_trip(app: &App, state: &State) -> Result<OnTrip, Error> {
    let store = app.store();
    let mut found = OnTrip::default();
    let Some(opened) = &state.opened else {
        return Ok(found);
    };
    let setting = setting(app).await?;
    let (consents, overrides) = (
        store.consents().await?,
        store.consent_overrides(state.trip).await?,
    );
    for one in state.coming() {
        let born = store.person(one.id).await?;
        let Some((known, born)) = born.and_then(|known| Some((known.id, known.born?))) else {
            found.not_known += 1;
            continue;
        };
        if !setting.is_minor(born, opened.day) {
            continue;
        }
        let given = consents.get(&known).and_then(|all| {
            let mut covering = all.iter().filter(|one| one.covers(state.trip, opened.day));
            covering.next().cloned()
        });
        let decided = || overrides.get(&known).cloned().map(Standing::Overridden);
        found.minors.push(Minor {
            person: one.id,
            name: one.card.name.clone(),
            age: Minors::age(born, opened.day),
            standing: given
                .map(Standing::Consented)
                .or_else(decided)
                .unwrap_or(Standing::Lacking),
        });
    }
    found
        .minors
        .sort_by(|a, b| (&a.name, a.person).cmp(&(&b.name, b.person)));
    Ok(found)
}

/// How a minor stands on a trip, in words, and whether nobody agreed or decided.
pub(super) fn words(minor: &Minor, t: &Words) -> (String, bool) {
    let age = ("age", i64::from(minor.age).into());
    match &minor.standing {
        Standing::Consented(one) => {
            let args = [age, ("guardian", one.guardian.as_str().into())];
            (t.say_with("minor-consented", &args), false)
        }
        Standing::Overridden(decided) => {
            let args = [
                age,
                ("who", decided.who.as_str().into()),
                ("why", decided.why.as_str().into()),
            ];
            (t.say_with("minor-overridden", &args), false)
        }
        Standing::Lacking => (t.say_with("minor-lacking", &[age]), true),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::Minors;

    #[test]
    fn a_birthday_ends_it_and_a_leap_day_is_waited_for() {
        let minors = Minors::default();
        for (born, on, age, minor) in [
            (date(2008, 6, 2), date(2026, 6, 1), 17, true),
            (date(2008, 6, 2), date(2026, 6, 2), 18, false),
            (date(2008, 2, 29), date(2026, 2, 28), 17, true),
            (date(2008, 2, 29), date(2026, 3, 1), 18, false),
            // Not born yet: no age, and no word for being of age.
            (date(2027, 1, 1), date(2026, 6, 1), 0, true),
        ] {
            assert_eq!(Minors::age(born, on), age, "{born} {on}");
            assert_eq!(minors.is_minor(born, on), minor, "{born} {on}");
        }
        let sixteen = Minors { under_years: 16 };
        assert!(!sixteen.is_minor(date(2010, 6, 1), date(2026, 6, 1)));
    }
}

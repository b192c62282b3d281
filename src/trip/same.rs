//! Identities that are one person by somebody's word: logs go on to name each as they did, and
//! whoever looks from one log to another, or to the register, asks here who that is now.

use std::collections::BTreeMap;

use super::PersonId;

/// Which identities point to which; an identity that points nowhere is itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Same(BTreeMap<PersonId, PersonId>);

impl Same {
    /// Identities that were given up, each with the one that remained.
    #[must_use]
    pub fn new(given_up: impl IntoIterator<Item = (PersonId, PersonId)>) -> Self {
        Self(given_up.into_iter().collect())
    }

    /// Who that is now.
    #[must_use]
    pub fn remaining(&self, id: PersonId) -> PersonId {
        self.0.get(&id).copied().unwrap_or(id)
    }

    /// Whether two identities are one person.
    #[must_use]
    pub fn is_one(&self, a: PersonId, b: PersonId) -> bool {
        self.remaining(a) == self.remaining(b)
    }

    /// Every identity of a person, the one that remained first.
    pub fn all_of(&self, id: PersonId) -> impl Iterator<Item = PersonId> {
        let now = self.remaining(id);
        let given_up = self.0.iter().filter(move |(_, to)| **to == now);
        std::iter::once(now).chain(given_up.map(|(gone, _)| *gone))
    }
}

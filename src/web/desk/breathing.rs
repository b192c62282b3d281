//! What each diver breathes, for their plans: learned from the last dives, as stated in the
//! register, or the usual rate. Which of them it is, is always said.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::Here;
use crate::trip::TripId;
use crate::trip::after::{LAST_DIVES, Learned, learned};
use crate::trip::event::PersonId;
use crate::units::LitresPerMinute;
use crate::web::app::App;
use crate::web::carried::carried;
use crate::web::error::Error;
use crate::words::Words;

/// Litres a minute of whom nothing is known (common practice, no source).
pub(super) const USUAL_L_MIN: f64 = 20.0;

/// What is known of the divers of a trip.
#[derive(Debug, Default)]
pub(in crate::web) struct Breathing {
    learned: BTreeMap<PersonId, Learned>,
    stated: BTreeMap<PersonId, LitresPerMinute>,
}

impl Breathing {
    async fn of(app: &App, here: &Here) -> Result<Self, Error> {
        let people: Vec<PersonId> = here.snap.state.people.keys().copied().collect();
        let rates = app.store().last_rates(&people, LAST_DIVES).await?;
        let learned = rates
            .into_iter()
            .filter_map(|(id, rates)| Some((id, learned(&rates)?)));
        Ok(Self {
            learned: learned.collect(),
            stated: app.store().stated_rates(&people).await?,
        })
    }

    /// The rate to plan with; none where only the usual one is left.
    pub(super) fn rate(&self, id: PersonId) -> Option<LitresPerMinute> {
        let learned = self.learned.get(&id).map(|learned| learned.l_min);
        learned.or_else(|| self.stated.get(&id).copied())
    }

    /// `17 l/min, median of 4 dives`.
    pub(super) fn say(&self, id: PersonId, t: &Words) -> String {
        if let Some(learned) = self.learned.get(&id) {
            let args = [
                ("rate", learned.l_min.l_min().into()),
                ("n", learned.dives.into()),
            ];
            return t.say_with("breathes-learned", &args);
        }
        match self.stated.get(&id) {
            Some(stated) => t.say_with("breathes-stated", &[("rate", stated.l_min().into())]),
            None => t.say_with("breathes-usual", &[("rate", USUAL_L_MIN.into())]),
        }
    }
}

impl Here {
    /// The trip with what is known of its divers' breathing and of their dives on other trips:
    /// for pages that plan.
    pub(super) async fn to_plan(app: &App, trip: TripId) -> Result<Self, Error> {
        let mut here = Self::load(app, trip).await?;
        app.live().rates_kept(trip).await?;
        here.breathing = Breathing::of(app, &here).await?;
        here.carried = carried(app, &here.snap, here.now).await?;
        here.gas = crate::web::gas::on_trip(app, &here.snap.state).await?;
        if let Cow::Owned(state) = here.carried.with(&here.snap.state) {
            here.planning = Some(Box::new(state));
        }
        Ok(here)
    }
}

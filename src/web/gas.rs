//! The gas of a trip: what each diver's plan reckons with, beside what the diver analysed and
//! signed.

use std::collections::BTreeMap;

use jiff::{Timestamp, ToSpan};

use super::app::App;
use super::error::Error;
use super::view;
use crate::dive::analysed::{Analysed, held_to};
use crate::store::register::Analysis;
use crate::trip::event::{Kit, PersonId};
use crate::trip::state::State;
use crate::units::{CylinderBar, CylinderLitres, OxygenFraction};
use crate::words::{Arg, Words};

/// A diver's gas on one dive.
pub(super) struct Planned {
    /// Who.
    pub person: PersonId,
    /// The dive.
    pub dive: u32,
    /// The letter of the group.
    pub letter: String,
    /// As planned.
    pub kit: Kit,
    /// How that stands to what was analysed.
    pub held: Analysed,
    /// The analysis that speaks of it.
    pub analysis: Option<Analysis>,
}

/// The gas of a trip.
#[derive(Default)]
pub(super) struct OnTrip {
    /// By dive and group.
    pub planned: Vec<Planned>,
    /// Analyses that its divers signed for it, the latest first.
    pub analyses: Vec<Analysis>,
}

impl OnTrip {
    /// How a diver's gas stands on a dive.
    pub(super) fn of(&self, dive: u32, person: PersonId) -> Option<&Planned> {
        let mut all = self.planned.iter();
        all.find(|one| one.dive == dive && one.person == person)
    }
}

/// Holds the plans of a trip to the analyses that its divers signed on its day or the day before
/// (common practice, no source: a cylinder is analysed by who breathes it, shortly before). One
/// analysis is of one cylinder, and so speaks for one dive.
///
/// # Errors
/// If the store fails.
pub(super) async fn on_trip(app: &App, state: &State) -> Result<OnTrip, Error> {
    let Some(opened) = &state.opened else {
        return Ok(OnTrip::default());
    };
    let zone = view::zone(state);
    let eve = opened.day.saturating_sub(1.day());
    let Ok(from) = eve.at(0, 0, 0, 0).to_zoned_datetime(zone.clone()) else {
        return Ok(OnTrip::default());
    };
    let same = app.store().same().await?;
    let divers: BTreeMap<PersonId, PersonId> = state
        .coming()
        .map(|person| (same.remaining(person.id), person.id))
        .collect();
    let all = app.store().analyses_since(from.timestamp()).await?;
    let of_day = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date() <= opened.day;
    let mut analyses: Vec<Analysis> = all
        .into_iter()
        .filter(|one| of_day(one.at))
        .filter_map(|one| {
            let person = *divers.get(&one.person)?;
            Some(Analysis { person, ..one })
        })
        .collect();
    let mut free: Vec<Analysis> = analyses
        .iter()
        .filter(|one| !one.is_past)
        .cloned()
        .collect();
    let mut planned = Vec::new();
    for dive in state.dives.keys() {
        for group in state.groups_of(*dive) {
            for (person, kit) in &group.formed.kit {
                let own: Vec<usize> = (0..free.len())
                    .filter(|nth| free.get(*nth).is_some_and(|one| one.person == *person))
                    .collect();
                let gases: Vec<_> = own
                    .iter()
                    .filter_map(|nth| free.get(*nth))
                    .map(|one| (one.oxygen, one.bar))
                    .collect();
                let held = held_to((kit.oxygen, kit.start_bar), &gases);
                let analysis = match held {
                    Analysed::Air | Analysed::Not => None,
                    Analysed::Agrees(nth) => own.get(nth).map(|nth| free.remove(*nth)),
                    Analysed::Short(nth) | Analysed::Differs(nth) => {
                        own.get(nth).and_then(|nth| free.get(*nth)).cloned()
                    }
                };
                planned.push(Planned {
                    person: *person,
                    dive: *dive,
                    letter: group.formed.letter.clone(),
                    kit: kit.clone(),
                    held,
                    analysis,
                });
            }
        }
    }
    analyses.sort_by(|a, b| (b.at, a.id).cmp(&(a.at, b.id)));
    Ok(OnTrip { planned, analyses })
}

/// `31.6`: percent as an analyser shows them.
pub(super) fn percent(oxygen: OxygenFraction) -> String {
    format!("{:.1}", oxygen.fraction() * 100.0)
}

pub(super) fn args<'a>(
    litres: CylinderLitres,
    oxygen: OxygenFraction,
    bar: CylinderBar,
) -> [(&'a str, Arg); 3] {
    [
        ("litres", litres.l().into()),
        ("oxygen", percent(oxygen).into()),
        ("bar", bar.bar().into()),
    ]
}

/// A diver's gas as planned, in words.
pub(super) fn planned(one: &Planned, t: &Words) -> String {
    let kit = &one.kit;
    let told = args(kit.cylinder_l, kit.oxygen, kit.start_bar);
    t.say_with("sheet-gas", &told)
}

/// How a diver's gas stands to the plan, in words.
pub(super) fn standing(one: &Planned, t: &Words) -> String {
    let key = match one.held {
        Analysed::Air => "gas-air",
        Analysed::Not => "gas-not-analysed",
        Analysed::Agrees(_) => "gas-agrees",
        Analysed::Short(_) => "gas-short",
        Analysed::Differs(_) => "gas-differs",
    };
    let Some(analysis) = &one.analysis else {
        return t.say(key);
    };
    let mut told = args(analysis.litres, analysis.oxygen, analysis.bar).to_vec();
    told.push(("marking", analysis.marking.as_str().into()));
    t.say_with(key, &told)
}

//! What the register knows that is to be looked at before a boat leaves: minors without consent,
//! checks of equipment that are due, gas that nobody analysed. None of it closes the gate: the log
//! of a trip knows nothing of it, and whoever commands decides.

use jiff::civil::Date;

use super::app::App;
use super::error::Error;
use super::gas::{self, OnTrip as Gas};
use super::minors::{self, OnTrip as Minors, Standing};
use super::view;
use crate::dive::analysed::Analysed;
use crate::trip::BoatId;
use crate::trip::state::State;
use crate::words::Words;

/// What of a boat has to be looked at before a day, a sentence each.
pub(super) async fn due_checks(
    app: &App,
    boat: BoatId,
    on: Date,
    t: &Words,
) -> Result<Vec<String>, Error> {
    let things = app.store().equipment(boat).await?;
    let due = things.into_iter().filter(|thing| thing.is_overdue(on));
    let told = due.map(|thing| {
        let name = ("name", thing.name.as_str().into());
        match (thing.due, thing.checked.is_some()) {
            (Some(due), true) => {
                t.say_with("equipment-overdue", &[name, ("due", view::day(due).into())])
            }
            _ => t.say_with("equipment-unchecked", &[name]),
        }
    });
    Ok(told.collect())
}

/// What of the gas is to be looked at: who analysed nothing, by dive, and each diver whose plan
/// does not agree with what was analysed.
pub(super) fn open_gas(gas: &Gas, state: &State, t: &Words) -> Vec<String> {
    let mut told = Vec::new();
    for dive in state.dives.keys() {
        let of_dive = || gas.planned.iter().filter(|one| one.dive == *dive);
        let not: Vec<String> = of_dive()
            .filter(|one| one.held == Analysed::Not)
            .map(|one| state.name_of(one.person).to_owned())
            .collect();
        if !not.is_empty() {
            let args = [
                ("dive", i64::from(*dive).into()),
                ("names", view::names(&not, t).into()),
            ];
            told.push(t.say_with("todo-gas-not", &args));
        }
        let apart = of_dive().filter(|one| !one.held.is_settled() && one.held != Analysed::Not);
        told.extend(apart.map(|one| {
            let args = [
                ("letter", one.letter.as_str().into()),
                ("name", state.name_of(one.person).into()),
                ("dive", i64::from(one.dive).into()),
                ("planned", gas::planned(one, t).into()),
                ("what", gas::standing(one, t).into()),
            ];
            t.say_with("todo-gas", &args)
        }));
    }
    told
}

/// Minors for whom nobody agreed and nobody decided.
pub(super) fn lacking_consent(minors: &Minors, t: &Words) -> Vec<String> {
    let lacking = minors.minors.iter();
    let lacking = lacking.filter(|one| one.standing == Standing::Lacking);
    let told = lacking.map(|one| {
        let (what, _) = minors::words(one, t);
        let args = [("name", one.name.as_str().into()), ("what", what.into())];
        t.say_with("todo-consent", &args)
    });
    told.collect()
}

/// All of it, a sentence each. Where others may listen in (`is_limited`) it says of minors only
/// that there are some: age and guardian are data of the register.
///
/// # Errors
/// If the store fails.
pub(super) async fn cautions(
    app: &App,
    state: &State,
    is_limited: bool,
    t: &Words,
) -> Result<Vec<String>, Error> {
    let Some(opened) = &state.opened else {
        return Ok(Vec::new());
    };
    let mut told = lacking_consent(&minors::on_trip(app, state).await?, t);
    if is_limited && !told.is_empty() {
        told = vec![t.say("minors-over-https")];
    }
    let boat = opened.boat.id;
    if app.store().boat(boat).await?.is_some() {
        if app.store().equipment(boat).await?.is_empty() {
            told.push(t.say("equipment-trip-none"));
        }
        told.extend(due_checks(app, boat, opened.day, t).await?);
    }
    told.extend(open_gas(&gas::on_trip(app, state).await?, state, t));
    Ok(told)
}

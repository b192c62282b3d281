//! Into the water: the checks before a drop, and the drop itself, each member named.

use axum::response::Response;

use super::frame::{Deck, done};
use super::group::{self, is_night, run_time};
use crate::trip::TripId;
use crate::trip::decide::{self, DropTap, Refusal, Refused};
use crate::trip::event::{DropChecked, GroupId, PersonId};
use crate::trip::forecast::{AtDrop, ends_at_night, window_at_drop};
use crate::trip::state;
use crate::web::act::Acted;
use crate::web::error::Error;
use crate::web::extract::Path;
use crate::web::form::{Fields, LONGEST_REASON};

/// The checks before a drop were done.
pub(super) async fn check(
    deck: Deck,
    Path((_, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let group = deck.group(id)?;
    let night = is_night(&deck, group);
    let Some(lights) = fields.parsed_all::<PersonId>("lights") else {
        return group::refused(&deck, id, &fields, fields.faults()).await;
    };
    let check = DropChecked {
        engine_neutral: fields.ticked("engine_neutral"),
        flag_shown: fields.ticked("flag_shown"),
        lights: night.then(|| group.members().is_subset(&lights)),
    };
    let acted = deck
        .act_on_plan(&fields, id, move |state, now| {
            // Dusk may have come since the page was drawn.
            let night = night
                || state.groups.get(&id).is_some_and(|group| {
                    let ends = now.saturating_add(run_time(group));
                    ends_at_night(state, group.dive, ends.unwrap_or(jiff::Timestamp::MAX))
                });
            decide::check_drop(state, id, check.clone(), night, now)
        })
        .await?;
    answer(
        &deck,
        id,
        &fields,
        to_release(acted, &["plan", "depth", "members"]),
    )
    .await
}

/// What a plan breaks stands on the page, person by person; the refusal leads to its release.
/// `beside`: fields of what is said there.
fn to_release(acted: Acted, beside: &[&str]) -> Acted {
    match acted {
        Acted::Refused(mut faults) if faults.iter().any(|fault| fault.field == "release") => {
            faults.retain(|fault| !beside.contains(&fault.field.as_str()));
            Acted::Refused(faults)
        }
        Acted::Refused(faults) => Acted::Refused(faults),
        Acted::Done(event) => Acted::Done(event),
    }
}

/// A plan that breaks a limit is released by who is signed in, for a reason.
pub(super) async fn release(
    deck: Deck,
    Path((_, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let Some(reason) = fields.or_empty("release", LONGEST_REASON) else {
        return group::refused(&deck, id, &fields, fields.faults()).await;
    };
    let by = deck.crew.0.name.clone();
    let acted = deck
        .act_on_plan(&fields, id, move |state, now| {
            decide::release(state, id, &by, &reason, now)
        })
        .await?;
    answer(&deck, id, &fields, acted).await
}

/// A group left the surface.
pub(super) async fn left(
    deck: Deck,
    Path((_, id)): Path<(TripId, GroupId)>,
    fields: Fields,
) -> Result<Response, Error> {
    let members = fields.parsed_all::<PersonId>("members");
    let at = fields.happened_at("at", &deck.zone, deck.now);
    let place = fields.position("lat", "lon");
    let (Some(members), Some(at), Some(place)) = (members, at, place) else {
        return group::refused(&deck, id, &fields, fields.faults()).await;
    };
    let acted = deck
        .act_on_plan(&fields, id, move |state, now| {
            let (frozen, night) = window(state, id, &members, at.unwrap_or(now))?;
            let tap = DropTap {
                group: id,
                members: members.clone(),
                window: frozen.window,
                owes: frozen.owes,
                place,
                at,
                night,
            };
            decide::left_surface(state, tap, now)
        })
        .await?;
    answer(&deck, id, &fields, to_release(acted, &["plan", "depth"])).await
}

/// The deadlines to freeze for a drop at this time, and whether the dive ends by night.
pub(super) fn window(
    state: &state::State,
    id: GroupId,
    members: &std::collections::BTreeSet<PersonId>,
    from: jiff::Timestamp,
) -> Result<(AtDrop, bool), Refused> {
    let group = state
        .groups
        .get(&id)
        .ok_or_else(|| Refusal::new("group", "refused-no-group"))?;
    let frozen = window_at_drop(state, group, members, from)
        .map_err(|faults| Refusal::unsound_plan("group", &faults))?;
    let ends = from.saturating_add(run_time(group));
    let night = ends_at_night(state, group.dive, ends.unwrap_or(jiff::Timestamp::MAX));
    Ok((frozen, night))
}

/// Back to the group, with what was done or what was wrong.
pub(super) async fn answer(
    deck: &Deck,
    id: GroupId,
    fields: &Fields,
    acted: Acted,
) -> Result<Response, Error> {
    match acted {
        Acted::Done(event) => Ok(done(&deck.group_path(id), event)),
        Acted::Refused(faults) => group::refused(deck, id, fields, faults).await,
    }
}

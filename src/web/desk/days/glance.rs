//! A trip at a glance, for lists of many: a trip under way from memory, a closed one from its log,
//! so that looking back keeps no old trip alive.

use jiff::Timestamp;

use crate::store::TripRow;
use crate::trip::state::{Phase, State, fold};
use crate::web::app::App;
use crate::web::desk::season::off_thread;
use crate::web::error::Error;

/// A trip in a list.
pub(in crate::web::desk) struct Glance {
    /// Where it stands.
    pub phase: Phase,
    /// How many come along; none while somebody counts blind.
    pub coming: Option<usize>,
    /// How many are out of the boat; none while somebody counts blind.
    pub out: Option<usize>,
    /// How many the boat carries.
    pub capacity: Option<u32>,
    /// Whether an alarm that nobody acknowledged stands.
    pub alarm: bool,
}

/// Looks at a trip. `None` for one without a log.
pub(in crate::web::desk) async fn glance(
    app: &App,
    row: &TripRow,
) -> Result<Option<Glance>, Error> {
    let trip = row.trip;
    if row.closed {
        let now = app.clock().now();
        return off_thread(app, trip, move |entries| of(&fold(trip, entries), now))
            .await
            .map(Some);
    }
    let snapshot = app.live().snapshot(trip).await?;
    Ok(snapshot.map(|snapshot| of(&snapshot.state, app.clock().now())))
}

fn of(state: &State, now: Timestamp) -> Glance {
    use crate::trip::watch::{AlertState, Priority, alerts};
    let counting = state.is_counting();
    Glance {
        phase: state.phase,
        coming: (!counting).then(|| state.coming().count()),
        out: (!counting).then(|| state.not_accounted().count()),
        capacity: state.opened.as_ref().map(|opened| opened.boat.capacity),
        alarm: alerts(state, now).iter().any(|alert| {
            alert.priority <= Priority::Alarm
                && matches!(alert.state, AlertState::Active | AlertState::Silenced)
        }),
    }
}

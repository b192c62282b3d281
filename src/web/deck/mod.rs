//! The deck: what the divemaster does on a trip, by phone with wet hands. One file a page.

mod aboard;
mod briefing;
mod drop;
mod entry;
mod frame;
mod group;
mod groups;
mod history;
mod lookout;
mod returns;
mod surface;
mod swim;
mod time;

use super::guard::ON_BOARD;
use super::router::{Route, act, read};

/// Its routes.
pub(super) fn routes() -> Vec<Route> {
    vec![
        read("/deck/{trip}", ON_BOARD, groups::page),
        read("/deck/{trip}/group/{group}", ON_BOARD, group::page),
        act("/deck/{trip}/group/{group}/check", ON_BOARD, drop::check),
        act(
            "/deck/{trip}/group/{group}/release",
            ON_BOARD,
            drop::release,
        ),
        act("/deck/{trip}/group/{group}/drop", ON_BOARD, drop::left),
        act(
            "/deck/{trip}/group/{group}/surface",
            ON_BOARD,
            surface::heads,
        ),
        act("/deck/{trip}/group/{group}/word", ON_BOARD, surface::word),
        read(
            "/deck/{trip}/group/{group}/buoy",
            ON_BOARD,
            surface::buoy_page,
        ),
        act("/deck/{trip}/group/{group}/buoy", ON_BOARD, surface::buoy),
        read(
            "/deck/{trip}/group/{group}/briefing",
            ON_BOARD,
            briefing::page,
        ),
        read("/deck/{trip}/group/{group}/time", ON_BOARD, time::page),
        act("/deck/{trip}/group/{group}/more", ON_BOARD, time::more),
        act(
            "/deck/{trip}/group/{group}/restate",
            ON_BOARD,
            time::restate,
        ),
        act("/deck/{trip}/aboard", ON_BOARD, aboard::now),
        read("/deck/{trip}/return/{person}", ON_BOARD, aboard::page),
        act("/deck/{trip}/return/{person}", ON_BOARD, aboard::log),
        read("/deck/{trip}/returns", ON_BOARD, returns::page),
        act("/deck/{trip}/returns", ON_BOARD, returns::log),
        act("/deck/{trip}/undo", ON_BOARD, entry::undo),
        read("/deck/{trip}/entry/{event}", ON_BOARD, entry::page),
        act("/deck/{trip}/entry/{event}", ON_BOARD, entry::take_back),
        read("/deck/{trip}/lookout", ON_BOARD, lookout::page),
        act("/deck/{trip}/lookout", ON_BOARD, lookout::post),
        act("/deck/{trip}/lookout/relieve", ON_BOARD, lookout::relieve),
        act("/deck/{trip}/lookout/help", ON_BOARD, lookout::help),
        read("/deck/{trip}/seen/{what}", ON_BOARD, lookout::seen),
        read("/deck/{trip}/swim", ON_BOARD, swim::page),
        act("/deck/{trip}/swim", ON_BOARD, swim::enter),
        act("/deck/{trip}/swim/help", ON_BOARD, swim::help),
    ]
}

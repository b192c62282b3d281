//! The helm: what the skipper does and sees on a trip.

mod alerts;
mod arm;
mod bridge;
mod buoy;
mod chart;
mod clock;
mod conditions;
mod contacts;
mod count;
mod crew;
mod emergency;
mod gate;
mod go_list;
mod group;
mod handover;
mod instruments;
mod person;
mod pickup;
mod position;
mod recall;
mod roll;
mod spoken;
mod trip;
mod watch;

use super::guard::{Needs, ON_BOARD, SKIPPER};
use super::router::{Route, act, read};

/// Its routes.
pub(super) fn routes() -> Vec<Route> {
    let mut routes = vec![
        read("/helm/{trip}", ON_BOARD, watch::page),
        act("/helm/{trip}/undo", ON_BOARD, watch::undo),
        read("/helm/{trip}/arm", ON_BOARD, arm::page),
        act("/helm/{trip}/arm/sounder", SKIPPER, arm::try_sounder),
        act("/helm/{trip}/arm/heard", SKIPPER, arm::heard),
        read("/helm/{trip}/clock", ON_BOARD, clock::page),
        act("/helm/{trip}/clock", ON_BOARD, clock::set),
        act("/helm/{trip}/clock/right", ON_BOARD, clock::right_said),
        read("/helm/{trip}/alerts", Needs::Crew, alerts::page),
        act("/helm/{trip}/acknowledge", ON_BOARD, alerts::acknowledge),
        act("/helm/{trip}/quiet", ON_BOARD, alerts::quiet),
        read("/helm/{trip}/group/{group}", ON_BOARD, group::page),
        read(
            "/helm/{trip}/group/{group}/more-time",
            ON_BOARD,
            group::more_time_page,
        ),
        act(
            "/helm/{trip}/group/{group}/more-time",
            ON_BOARD,
            group::more_time,
        ),
        read(
            "/helm/{trip}/group/{group}/word",
            ON_BOARD,
            group::word_page,
        ),
        act("/helm/{trip}/group/{group}/word", ON_BOARD, group::word),
        read("/helm/{trip}/person/{person}", ON_BOARD, person::page),
        act("/helm/{trip}/person/{person}", ON_BOARD, person::seen),
        read("/helm/{trip}/chart", ON_BOARD, chart::page),
        read("/helm/{trip}/buoy", ON_BOARD, buoy::page),
        act("/helm/{trip}/buoy", ON_BOARD, buoy::log),
        read("/helm/{trip}/pickup", ON_BOARD, pickup::page),
        act("/helm/{trip}/pickup/at", ON_BOARD, pickup::at_group),
        act("/helm/{trip}/pickup/fix", SKIPPER, pickup::fix),
        act("/helm/{trip}/pickup/aboard", ON_BOARD, pickup::aboard),
        read("/helm/{trip}/position", ON_BOARD, position::page),
        act("/helm/{trip}/position", ON_BOARD, position::log),
        read("/helm/{trip}/instruments", ON_BOARD, instruments::page),
        read(
            "/helm/{trip}/beacon/{identity}",
            SKIPPER,
            instruments::dismiss_page,
        ),
        act(
            "/helm/{trip}/beacon/{identity}",
            SKIPPER,
            instruments::dismiss,
        ),
    ];
    routes.extend(counting());
    routes.extend(trouble());
    routes.extend(running());
    routes.extend(on_deck());
    routes
}

/// The pages that the deck has too: alerts, counts, the roll, trouble.
fn on_deck() -> Vec<Route> {
    vec![
        read("/deck/{trip}/arm", ON_BOARD, arm::page),
        act("/deck/{trip}/arm/sounder", SKIPPER, arm::try_sounder),
        act("/deck/{trip}/arm/heard", SKIPPER, arm::heard),
        read("/deck/{trip}/clock", ON_BOARD, clock::page),
        act("/deck/{trip}/clock", ON_BOARD, clock::set),
        act("/deck/{trip}/clock/right", ON_BOARD, clock::right_said),
        read("/deck/{trip}/alerts", Needs::Crew, alerts::page),
        act("/deck/{trip}/acknowledge", ON_BOARD, alerts::acknowledge),
        act("/deck/{trip}/quiet", ON_BOARD, alerts::quiet),
        read("/deck/{trip}/count", ON_BOARD, count::page),
        act("/deck/{trip}/count", ON_BOARD, count::heads),
        read("/deck/{trip}/count/names", ON_BOARD, count::names_page),
        act("/deck/{trip}/count/names", ON_BOARD, count::names),
        read("/deck/{trip}/roll", ON_BOARD, roll::page),
        act("/deck/{trip}/roll", ON_BOARD, roll::call),
        read("/deck/{trip}/go-list", ON_BOARD, go_list::page),
        act("/deck/{trip}/go-list", ON_BOARD, go_list::answer),
        read("/deck/{trip}/go-list/decide", SKIPPER, go_list::decide_page),
        act("/deck/{trip}/go-list/decide", SKIPPER, go_list::decide),
        read("/deck/{trip}/gate", ON_BOARD, gate::page),
        act("/deck/{trip}/gate", ON_BOARD, gate::through),
        read("/deck/{trip}/gate/override", SKIPPER, gate::override_page),
        act("/deck/{trip}/gate/override", SKIPPER, gate::overriding),
        read("/deck/{trip}/person/{person}", ON_BOARD, person::page),
        act("/deck/{trip}/person/{person}", ON_BOARD, person::seen),
        read("/deck/{trip}/chart", ON_BOARD, chart::page),
        read("/deck/{trip}/buoy", ON_BOARD, buoy::page),
        act("/deck/{trip}/buoy", ON_BOARD, buoy::log),
        read("/deck/{trip}/conditions", ON_BOARD, conditions::page),
        act("/deck/{trip}/conditions", ON_BOARD, conditions::observe),
        read("/deck/{trip}/pickup", ON_BOARD, pickup::page),
        act("/deck/{trip}/pickup/at", ON_BOARD, pickup::at_group),
        act("/deck/{trip}/pickup/fix", SKIPPER, pickup::fix),
        act("/deck/{trip}/pickup/aboard", ON_BOARD, pickup::aboard),
        read("/deck/{trip}/position", ON_BOARD, position::page),
        act("/deck/{trip}/position", ON_BOARD, position::log),
        read("/deck/{trip}/instruments", ON_BOARD, instruments::page),
        read(
            "/deck/{trip}/beacon/{identity}",
            SKIPPER,
            instruments::dismiss_page,
        ),
        act(
            "/deck/{trip}/beacon/{identity}",
            SKIPPER,
            instruments::dismiss,
        ),
        read("/deck/{trip}/recall", Needs::Crew, recall::page),
        act("/deck/{trip}/recall", Needs::Crew, recall::sound),
        read("/deck/{trip}/emergency", Needs::Crew, emergency::page),
        act("/deck/{trip}/emergency", Needs::Crew, emergency::declare),
        act(
            "/deck/{trip}/emergency/missing",
            Needs::Crew,
            emergency::missing,
        ),
        act("/deck/{trip}/emergency/step", ON_BOARD, emergency::step),
        read("/deck/{trip}/emergency/end", SKIPPER, emergency::end_page),
        act("/deck/{trip}/emergency/end", SKIPPER, emergency::end),
        read("/deck/{trip}/handover", Needs::Crew, handover::page),
        read(
            "/deck/{trip}/handover/contacts",
            Needs::Crew,
            contacts::form,
        ),
        act(
            "/deck/{trip}/handover/contacts",
            Needs::Crew,
            contacts::open,
        ),
    ]
}

fn counting() -> Vec<Route> {
    vec![
        read("/helm/{trip}/count", ON_BOARD, count::page),
        act("/helm/{trip}/count", ON_BOARD, count::heads),
        read("/helm/{trip}/count/names", ON_BOARD, count::names_page),
        act("/helm/{trip}/count/names", ON_BOARD, count::names),
        read("/helm/{trip}/roll", ON_BOARD, roll::page),
        act("/helm/{trip}/roll", ON_BOARD, roll::call),
        read("/helm/{trip}/go-list", ON_BOARD, go_list::page),
        act("/helm/{trip}/go-list", ON_BOARD, go_list::answer),
        read("/helm/{trip}/go-list/decide", SKIPPER, go_list::decide_page),
        act("/helm/{trip}/go-list/decide", SKIPPER, go_list::decide),
        read("/helm/{trip}/gate", ON_BOARD, gate::page),
        act("/helm/{trip}/gate", ON_BOARD, gate::through),
        read("/helm/{trip}/gate/override", SKIPPER, gate::override_page),
        act("/helm/{trip}/gate/override", SKIPPER, gate::overriding),
    ]
}

/// Any crew member may declare, sound the recall and read the handover out.
fn trouble() -> Vec<Route> {
    vec![
        read("/helm/{trip}/recall", Needs::Crew, recall::page),
        act("/helm/{trip}/recall", Needs::Crew, recall::sound),
        read("/helm/{trip}/emergency", Needs::Crew, emergency::page),
        act("/helm/{trip}/emergency", Needs::Crew, emergency::declare),
        act(
            "/helm/{trip}/emergency/missing",
            Needs::Crew,
            emergency::missing,
        ),
        act("/helm/{trip}/emergency/step", ON_BOARD, emergency::step),
        read("/helm/{trip}/emergency/end", SKIPPER, emergency::end_page),
        act("/helm/{trip}/emergency/end", SKIPPER, emergency::end),
        read("/helm/{trip}/handover", Needs::Crew, handover::page),
        read(
            "/helm/{trip}/handover/contacts",
            Needs::Crew,
            contacts::form,
        ),
        act(
            "/helm/{trip}/handover/contacts",
            Needs::Crew,
            contacts::open,
        ),
    ]
}

fn running() -> Vec<Route> {
    vec![
        read("/helm/{trip}/conditions", ON_BOARD, conditions::page),
        act("/helm/{trip}/conditions", ON_BOARD, conditions::observe),
        read("/helm/{trip}/trip", ON_BOARD, trip::page),
        act("/helm/{trip}/on-site", ON_BOARD, trip::on_site),
        act("/helm/{trip}/in-harbour", ON_BOARD, trip::in_harbour),
        read("/helm/{trip}/command", SKIPPER, trip::command_page),
        act("/helm/{trip}/command", SKIPPER, trip::hand_over),
        act("/helm/{trip}/command/accept", SKIPPER, trip::accept),
        read("/helm/{trip}/lookout", ON_BOARD, trip::lookout_page),
        act("/helm/{trip}/lookout", ON_BOARD, trip::lookout),
        act("/helm/{trip}/lookout/relieve", ON_BOARD, trip::relieve),
        read("/helm/{trip}/incident", ON_BOARD, trip::incident_page),
        act("/helm/{trip}/incident", ON_BOARD, trip::incident),
        read("/helm/{trip}/devices", SKIPPER, crew::devices_page),
        act("/helm/{trip}/devices/code", SKIPPER, crew::code),
        read("/helm/{trip}/devices/{device}", SKIPPER, crew::revoke_page),
        act("/helm/{trip}/devices/{device}", SKIPPER, crew::revoke),
        read("/helm/{trip}/crew", SKIPPER, crew::crew_page),
        act("/helm/{trip}/crew", SKIPPER, crew::add),
    ]
}

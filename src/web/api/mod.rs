//! The programming interface: pictures, logs, appends, computations.
//!
//! `openapi.json` beside this file describes it; a test holds the two together.

mod compute;
mod events;
mod health;
mod notices;
mod record;
mod second_copy;
mod trips;
mod watching;

use super::guard::{Needs, ON_BOARD};
use super::router::{Route, act, read};

/// Its routes.
pub(super) fn routes() -> Vec<Route> {
    vec![
        read("/api/health", Needs::Nobody, health::health),
        read("/api/openapi.json", Needs::Nobody, health::openapi),
        read("/api/notices", Needs::Crew, notices::all),
        act("/api/watching", Needs::Crew, watching::report),
        read("/api/trips", Needs::Crew, trips::list),
        read("/api/trips/{trip}/picture", Needs::Crew, trips::picture),
        read("/api/trips/{trip}/chart", Needs::Crew, trips::chart),
        read(
            "/api/trips/{trip}/chart/{hash}",
            Needs::Crew,
            trips::chart_of,
        ),
        read("/api/trips/{trip}/log", Needs::Crew, trips::log),
        read("/api/trips/{trip}/returns.csv", Needs::Crew, trips::returns),
        read("/api/trips/{trip}/report.json", Needs::Crew, record::json),
        read("/api/trips/{trip}/report.csv", Needs::Crew, record::csv),
        act("/api/trips/{trip}/events", Needs::Crew, events::append),
        read("/api/trips/{trip}/digest", Needs::Crew, second_copy::digest),
        act("/api/trips/{trip}/refill", ON_BOARD, second_copy::refill),
        act("/api/compute/{what}", Needs::Nobody, compute::answer),
    ]
}

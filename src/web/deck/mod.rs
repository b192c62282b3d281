//! The deck: what the divemaster does on a trip, by phone with wet hands.

use super::router::Route;

/// Its routes.
pub(super) fn routes() -> Vec<Route> {
    Vec::new()
}

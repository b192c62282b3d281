//! The desk: rosters, groups, plans and prints, ashore.

use super::router::Route;

/// Its routes.
pub(super) fn routes() -> Vec<Route> {
    Vec::new()
}

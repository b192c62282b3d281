//! The helm: what the skipper does and sees on a trip.

use super::router::Route;

/// Its routes.
pub(super) fn routes() -> Vec<Route> {
    Vec::new()
}

//! The programming interface: pictures, logs, appends, computations.

use super::router::Route;

/// Its routes.
pub(super) fn routes() -> Vec<Route> {
    Vec::new()
}

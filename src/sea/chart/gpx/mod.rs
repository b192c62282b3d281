//! Charts as GPX 1.1 files: waypoints are moorings, shot lines and entry points by their `type`,
//! closed routes and tracks are areas by theirs; the segments of a track are its rings.

mod read;
mod write;

pub use read::read;
pub use write::written;

/// Namespace of GPX 1.1 (topografix.com/GPX/1/1/gpx.xsd).
const NAMESPACE: &str = "http://www.topografix.com/GPX/1/1";
/// Most points of a file that is read.
pub const MOST_POINTS: usize = 10_000;

#[cfg(test)]
mod tests;

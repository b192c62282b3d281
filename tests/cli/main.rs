//! The command line, as whoever types it sees it.

#[cfg(test)]
mod certificate;
#[cfg(test)]
mod commands;
#[cfg(test)]
mod copies;
#[cfg(test)]
mod restored;
#[cfg(test)]
#[path = "../trip/scene.rs"]
#[expect(dead_code, reason = "only the trip as it starts is wanted here")]
mod scene;

//! The command line, as whoever types it sees it.

#[cfg(test)]
mod certificate;
#[cfg(test)]
mod commands;
#[cfg(test)]
mod copies;

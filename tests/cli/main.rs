//! The command line, as whoever types it sees it.

#[cfg(test)]
mod commands;

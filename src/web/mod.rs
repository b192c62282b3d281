//! Web: the pages, the live stream and the programming interface, one folder for each place
//! of work.

mod accounts;
pub mod act;
mod alone;
mod api;
pub mod app;
pub mod assets;
pub mod authority;
pub mod backups;
pub mod basic;
mod before_leaving;
mod carried;
pub mod certificate;
pub mod compute;
mod deck;
mod desk;
mod dive_svg;
pub mod duties;
pub mod error;
pub mod escaped;
pub mod export;
pub mod extract;
pub mod form;
pub mod frame;
mod gas;
mod go_list;
pub mod guard;
mod helm;
mod language;
pub mod live;
mod logs;
pub mod marker;
pub mod minors;
pub mod noted;
pub mod notices;
pub mod page;
pub mod parts;
mod plot;
pub mod presence;
pub mod rail;
mod reason;
mod reckoned;
pub mod record;
pub mod retention;
pub mod router;
#[cfg(test)]
mod sample;
mod sea;
mod second_copy;
pub mod serving;
mod set_up;
mod sign_in;
mod start;
pub mod storage;
mod stream;
mod svg;
pub mod transport;
mod upload;
pub mod view;

#[doc(hidden)]
pub use desk::readers;

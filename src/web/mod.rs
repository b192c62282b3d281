//! Web: the pages, the live stream and the programming interface, one folder for each place
//! of work.

pub mod act;
mod alone;
mod api;
pub mod app;
pub mod assets;
pub mod authority;
pub mod backups;
pub mod basic;
mod carried;
pub mod certificate;
pub mod compute;
mod deck;
mod desk;
mod dive_svg;
pub mod duties;
pub mod error;
pub mod export;
pub mod extract;
pub mod form;
pub mod frame;
pub mod guard;
mod helm;
pub mod live;
mod logs;
pub mod marker;
pub mod noted;
pub mod notices;
pub mod page;
pub mod parts;
pub mod presence;
pub mod rail;
mod reckoned;
pub mod router;
#[cfg(test)]
mod sample;
mod sea;
mod second_copy;
pub mod serving;
mod sign_in;
mod start;
pub mod storage;
mod stream;
mod svg;
pub mod transport;
mod upload;
pub mod view;

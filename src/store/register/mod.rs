//! The register: people, whom to call for them, what they breathe, boats, sites, and the centre's settings.

mod backdrops;
mod boats;
mod people;
mod rates;
mod settings;
mod sites;

pub use backdrops::{Backdrop, Picture, PictureKind};
pub use boats::Boat;
pub use people::{Contact, Person, fold_name};
pub use settings::key;
pub use sites::Site;

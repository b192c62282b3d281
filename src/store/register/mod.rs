//! The register: people and whom to call for them, boats, sites, and the centre's settings.

mod boats;
mod people;
mod settings;
mod sites;

pub use boats::Boat;
pub use people::{Contact, Person, fold_name};
pub use settings::key;
pub use sites::Site;

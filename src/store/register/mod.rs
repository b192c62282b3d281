//! The register: people, whom to call for them, what they breathe, cylinders, boats, sites, and the
//! centre's settings.

mod backdrops;
mod boats;
mod consents;
mod contacts;
mod cylinders;
mod doubles;
mod equipment;
mod merged;
mod people;
mod rates;
mod retention;
mod settings;
mod sites;

pub use backdrops::{Backdrop, Picture, PictureKind};
pub use boats::{Boat, MOST_CARRIED};
pub use consents::{Consent, ConsentOverride, Reaches};
pub use contacts::Contact;
pub use cylinders::{Analysis, Content, Cylinder, CylinderSaved};
pub use doubles::{Alike, Double, doubles};
pub use equipment::{EmergencyCard, Equipment};
pub use merged::{Merge, Merged};
pub use people::{Person, fold_name};
pub use retention::{Erased, Item, Listed};
pub use settings::key;
pub use sites::Site;

pub(super) use contacts::write_sealed;

//! Crew accounts, the devices they use, and who is signed in where: what somebody is (roles),
//! has (an enrolled device) and knows (a PIN; at a desk a passphrase).

mod accounts;
mod audit;
mod devices;
mod pin;
mod secret;
mod sessions;
mod sign_in;

pub use accounts::{Allowed, Crew, CrewError};
pub use audit::{AuditAsked, AuditKind, AuditRow, Doer};
pub use devices::{Device, DeviceKind, DeviceSecret, EnrolRefused, EnrolmentCode};
pub use pin::{Passphrase, PassphraseRefused, Pin, PinRefused};
pub use secret::{Carried, NoSecret, Secret};
pub use sessions::Signed;
pub use sign_in::SignInRefused;

pub(super) use audit::{note, note_of};
pub(super) use pin::PinWork;

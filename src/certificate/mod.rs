//! Certificate: what this box proves its name with over https. Reads a pair of certificate and
//! key, holds the one that is served while an outside client renews its files, and makes an
//! authority of the boat's own with a leaf for her names.

mod authority;
mod files;
mod held;
mod host;
mod pair;
#[cfg(test)]
mod tests;
mod written;

pub use authority::{Authority, Made, MakeError, der_of};
pub use files::{FileError, Files};
pub use held::{Held, Looked, Refusal};
pub use host::{Host, NoHost};
pub use pair::{Facts, Pair, PairError, fingerprint};
pub use written::{Folder, WriteError, read_text};

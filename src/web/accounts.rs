//! What the forms of accounts have in common, at the helm, at the desk and at the first start: the
//! roles there are, and how a PIN and a passphrase are read.

use super::form::Fields;
use crate::store::crew::{Passphrase, PassphraseRefused, Pin, PinRefused};
use crate::trip::event::Role;

/// The roles that a form offers: its word, the role, the key of its name.
pub const ROLES: [(&str, Role, &str); 3] = [
    ("skipper", Role::Skipper, "role-skipper"),
    ("divemaster", Role::Divemaster, "role-divemaster"),
    ("desk", Role::Desk, "role-desk"),
];

/// A PIN that somebody chose; a fault of the field if it is none.
pub fn pin(fields: &Fields, name: &str) -> Option<Pin> {
    let key = match Pin::new(fields.typed(name)) {
        Ok(pin) => return Some(pin),
        Err(PinRefused::NotSixDigits) => "fault-pin-digits",
        Err(PinRefused::Trivial) => "fault-pin-trivial",
    };
    fields.fault(name, key, &[]);
    None
}

/// A passphrase that somebody chose, or none, as nothing is typed.
///
/// # Errors
/// Why it is refused, which is noted as a fault of the field.
pub fn passphrase(fields: &Fields, name: &str) -> Result<Option<Passphrase>, PassphraseRefused> {
    let typed = fields.typed(name);
    if typed.is_empty() {
        return Ok(None);
    }
    let refused = match Passphrase::new(typed) {
        Ok(passphrase) => return Ok(Some(passphrase)),
        Err(refused) => refused,
    };
    let key = match refused {
        PassphraseRefused::Length => "fault-passphrase-length",
        PassphraseRefused::Trivial => "fault-passphrase-trivial",
    };
    fields.fault(name, key, &[]);
    Err(refused)
}

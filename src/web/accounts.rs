//! What the forms of accounts have in common, at the helm, at the desk and at the first start: the
//! roles there are, and how a PIN and a passphrase are read.

use super::app::App;
use super::error::Error;
use super::extract::Crew;
use super::form::Fields;
use super::view;
use crate::store::crew::{Passphrase, PassphraseRefused, Pin, PinRefused, SignInRefused};
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

/// Whether who is signed in proves it again by PIN or passphrase, before an act that cannot be
/// taken back; if not, that is a fault of the field.
///
/// # Errors
/// If the store fails, or the device was shut out meanwhile.
pub async fn prove(app: &App, crew: &Crew, fields: &Fields, name: &str) -> Result<bool, Error> {
    let typed = fields.typed(name);
    let (device, who) = (crew.0.device, crew.0.crew);
    match app.store().prove_again(device, who, typed).await {
        Ok(()) => Ok(true),
        Err(SignInRefused::Wrong { wait_until: None }) => {
            fields.fault(name, "fault-prove", &[]);
            Ok(false)
        }
        Err(
            SignInRefused::Wrong {
                wait_until: Some(until),
            }
            | SignInRefused::Wait { until },
        ) => {
            let until = view::clock_time(until, &app.centre_zone().await?);
            fields.fault(name, "fault-pin-wait", &[("until", until.into())]);
            Ok(false)
        }
        Err(SignInRefused::NoSuchDevice) => Err(Error::NotSignedIn),
        Err(SignInRefused::Store(error)) => Err(error.into()),
    }
}

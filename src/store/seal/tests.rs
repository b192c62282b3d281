//! Sealing against its published vector, and everything that must not open.

use super::aead::{Bits, open, seal};
use super::*;
use jiff::Timestamp;
use uuid::Uuid;

fn hex(text: &str) -> Vec<u8> {
    let digits: Vec<u32> = text.chars().filter_map(|c| c.to_digit(16)).collect();
    digits
        .chunks_exact(2)
        .map(|pair| u8::try_from(pair[0] * 16 + pair[1]).unwrap())
        .collect()
}

fn person(n: u128) -> PersonId {
    PersonId::new(Uuid::from_u128(n))
}

/// Source: draft-irtf-cfrg-xchacha-03, appendix A.3.1.
#[test]
fn the_published_vector_opens() {
    let key = Bits::of(&hex(
        "808182838485868788898a8b8c8d8e8f909192939495969798999a9b9c9d9e9f",
    ));
    let nonce = hex("404142434445464748494a4b4c4d4e4f5051525354555657");
    let to = hex("50515253c0c1c2c3c4c5c6c7");
    let sealed = hex(
        "bd6d179d3e83d43b9576579493c0e939572a1700252bfaccbed2902c21396cbb\
         731c7f1b0b4aa6440bf3a82f4eda7e39ae64c6708c54c216cb96b72e1213b452\
         2f8c9ba40db5d945b11b69b982c1bb9e3f3fac2bc369488f76b2383565d3fff9\
         21f9664c97637da9768812f615c68b13b52e\
         c0875924c1c7987947deafd8780acf49",
    );
    let all = [vec![1], nonce, sealed].concat();
    let text = open(&key.unwrap(), &to, &all).unwrap();
    let expected = "Ladies and Gentlemen of the class of '99: If I could offer you only one tip \
                    for the future, sunscreen would be it.";
    assert_eq!(std::str::from_utf8(&text).unwrap(), expected);
}

#[test]
fn nothing_opens_that_was_changed_or_is_bound_to_something_else() {
    let clock = Clock::fixed(Timestamp::UNIX_EPOCH);
    let key = Bits::new([7; 32]);
    let sealed = seal(&key, &clock, b"to", b"a text").unwrap();
    assert_eq!(open(&key, b"to", &sealed).unwrap().as_slice(), b"a text");
    assert_eq!(open(&Bits::new([8; 32]), b"to", &sealed), None);
    assert_eq!(open(&key, b"another", &sealed), None);
    for at in 0..sealed.len() {
        let mut changed = sealed.clone();
        changed[at] ^= 1;
        assert_eq!(open(&key, b"to", &changed), None, "byte {at}");
        assert_eq!(open(&key, b"to", &sealed[..at]), None, "cut at {at}");
    }
    let again = seal(&key, &clock, b"to", b"a text").unwrap();
    assert_ne!(again, sealed, "another nonce each time");
}

#[test]
fn what_is_sealed_for_one_opens_for_nobody_else_and_by_no_other_key_file() {
    let folder = tempfile::tempdir().unwrap();
    let database = folder.path().join("deckwatch.db");
    let clock = Clock::fixed(Timestamp::UNIX_EPOCH);
    let missing = seal_for(&database, &clock, person(1), b"x", false);
    assert!(
        matches!(missing, Err(SealError::NoKey { .. })),
        "{missing:?}"
    );
    let held = seal_for(&database, &clock, person(1), b"x", true).unwrap();
    assert_eq!(
        open_for(&database, person(1), &held).unwrap().as_slice(),
        b"x"
    );
    let other = open_for(&database, person(2), &held);
    assert!(matches!(other, Err(SealError::Damaged { .. })), "{other:?}");
    let second = seal_for(&database, &clock, person(1), b"x", false).unwrap();
    let mixed = Sealed {
        key: second.key,
        ..held.clone()
    };
    let mixed = open_for(&database, person(1), &mixed);
    assert!(matches!(mixed, Err(SealError::Damaged { .. })), "{mixed:?}");

    let key = path_of(&database);
    let kept = folder.path().join("kept");
    std::fs::rename(&key, &kept).unwrap();
    let gone = open_for(&database, person(1), &held);
    assert!(matches!(gone, Err(SealError::NoKey { .. })), "{gone:?}");
    seal_for(&database, &clock, person(3), b"y", true).unwrap();
    let wrong = open_for(&database, person(1), &held);
    assert!(
        matches!(wrong, Err(SealError::OtherKey { .. })),
        "{wrong:?}"
    );
    assert!(fits(&database, Some(held.box_key)).is_err());

    let aside = folder.path().join("aside");
    assert_eq!(put_key(&kept, &database, &aside).unwrap(), Some(aside));
    assert!(open_for(&database, person(1), &held).is_ok());
    assert!(fits(&database, Some(held.box_key)).is_ok());
    for text in ["", "deckwatch-key-1 00", "deckwatch-key-1 é", "\u{0}"] {
        std::fs::write(&key, text).unwrap();
        let none = open_for(&database, person(1), &held);
        assert!(matches!(none, Err(SealError::NotAKey { .. })), "{none:?}");
    }
    std::fs::write(&key, [0xff, 0xfe]).unwrap();
    assert!(open_for(&database, person(1), &held).is_err());
}

#[cfg(unix)]
#[test]
fn the_key_file_is_its_owners_alone_and_is_closed_if_it_is_not() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let database = folder.path().join("deckwatch.db");
    let clock = Clock::system();
    let held = seal_for(&database, &clock, person(1), b"x", true).unwrap();
    let mode = || {
        let seen = std::fs::metadata(path_of(&database)).unwrap();
        seen.permissions().mode() & 0o777
    };
    assert_eq!(mode(), 0o600);
    let open_to_all = std::fs::Permissions::from_mode(0o644);
    std::fs::set_permissions(path_of(&database), open_to_all).unwrap();
    assert!(
        open_for(&database, person(1), &held).is_ok(),
        "nobody waits"
    );
    assert_eq!(mode(), 0o600);
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "{left:?}");
}

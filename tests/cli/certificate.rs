//! `deckwatch certificate`, and where else the end of a certificate is told.

use std::path::Path;
use std::process::{Command, Output};

use deckwatch::certificate::Files;

fn run(arguments: &[&str], variables: &[(&str, &str)]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_deckwatch"))
        .args(arguments)
        .env_clear()
        .envs(variables.iter().copied())
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[track_caller]
fn good(output: &Output) -> String {
    assert!(output.status.success(), "{}", text(&output.stderr));
    text(&output.stdout)
}

/// The one sentence a command ends with, after the time and level of the log.
#[track_caller]
fn refused(output: &Output) -> String {
    assert!(!output.status.success(), "{}", text(&output.stdout));
    text(&output.stderr)
}

fn at<'a>(folder: &'a Path, more: &[&'a str]) -> Vec<&'a str> {
    let mut arguments = vec!["certificate", "--folder", folder.to_str().unwrap()];
    arguments.extend(more);
    arguments
}

#[test]
fn an_authority_is_made_once_told_what_to_do_with_and_renews() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("made");
    let hosts = ["--host", "boat.example.org", "--host", "10.20.0.1"];
    let told = good(&run(&at(&folder, &hosts), &[]));
    for part in [
        "good for boat.example.org, 10.20.0.1 only",
        "SHA-256 ",
        "--certificate ",
        "http://10.20.0.1:8080/authority",
        "authority-qr.svg",
        "█",
    ] {
        assert!(told.contains(part), "{part} in {told}");
    }
    let fingerprint = told
        .split("SHA-256 ")
        .nth(1)
        .unwrap()
        .lines()
        .next()
        .unwrap();
    assert_eq!(fingerprint.len(), 32 * 3 - 1, "{fingerprint}");
    let svg = std::fs::read_to_string(folder.join("authority-qr.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    let (authority, leaf) = (read("authority.pem"), read("certificate.pem"));
    assert!(leaf.ends_with(&authority));

    // Once: the tablets have it.
    let again = refused(&run(&at(&folder, &hosts), &[]));
    assert!(
        again.contains("renew its certificate with --renew"),
        "{again}"
    );
    assert_eq!(read("authority.pem"), authority);

    let told = good(&run(&at(&folder, &["--renew"]), &[]));
    assert!(told.contains(fingerprint), "{told}");
    assert_eq!(read("authority.pem"), authority);
    assert_ne!(read("certificate.pem"), leaf);
    let facts = Files::facts(&folder.join("certificate.pem")).unwrap();
    assert_eq!(facts.hosts.len(), 2);

    // The key was taken off the box, as was told.
    let away = place.path().join("stick.pem");
    std::fs::rename(folder.join("authority-key/authority-key.pem"), &away).unwrap();
    let missing = refused(&run(&at(&folder, &["--renew"]), &[]));
    assert!(
        missing.contains("name it with --authority-key"),
        "{missing}"
    );
    let from = ["--renew", "--authority-key", away.to_str().unwrap()];
    good(&run(&at(&folder, &from), &[]));
}

#[test]
fn what_cannot_be_certified_is_refused_before_anything_is_written() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("made");
    for bad in ["boat", "*.example.org", "https://boat.example.org", ""] {
        let told = refused(&run(&at(&folder, &["--host", bad]), &[]));
        assert!(
            told.contains("boat.example.org or 10.20.0.1"),
            "{bad}: {told}"
        );
    }
    let none = refused(&run(&at(&folder, &[]), &[]));
    assert!(none.contains("--host"), "{none}");
    let nothing = refused(&run(&at(&folder, &["--renew"]), &[]));
    assert!(nothing.contains("authority's key"), "{nothing}");
    assert!(!folder.exists());
}

#[test]
fn without_a_plain_address_it_says_how_to_get_a_code() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("made");
    let told = good(&run(&at(&folder, &["--host", "boat.example.org"]), &[]));
    assert!(told.contains("make it again with --origin"), "{told}");
    let other = place.path().join("other");
    let named = ["--host", "boat.example.org"];
    let origins = [(
        "DECKWATCH_ORIGINS",
        "https://boat.example.org,http://10.9.8.7:80",
    )];
    let told = good(&run(&at(&other, &named), &origins));
    assert!(told.contains("http://10.9.8.7:80/authority"), "{told}");
}

#[test]
fn check_and_config_tell_when_it_ends() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("made");
    good(&run(&at(&folder, &["--host", "boat.example.org"]), &[]));
    let (certificate, key) = (folder.join("certificate.pem"), folder.join("key.pem"));
    let certificate = certificate.to_str().unwrap();
    let flags = [
        "config",
        "--certificate",
        certificate,
        "--key",
        key.to_str().unwrap(),
    ];
    let told = good(&run(&flags, &[]));
    assert!(
        told.contains("in 395 days") || told.contains("in 396 days"),
        "{told}"
    );
    assert!(
        told.contains("https-bind = 0.0.0.0:8443 (default)"),
        "{told}"
    );
    let alone = refused(&run(&["config", "--certificate", certificate], &[]));
    assert!(alone.contains("--key"), "{alone}");

    let data = place.path().join("data");
    let data = data.to_str().unwrap();
    let made = Command::new(env!("CARGO_BIN_EXE_deckwatch"))
        .args(["crew", "--data", data, "code"])
        .output()
        .unwrap();
    assert!(made.status.success());
    let checked = |file: &str| run(&["check", "--data", data, "--certificate", file], &[]);
    let told = good(&checked(certificate));
    assert!(
        told.contains("certificate ") && told.contains(" 0 flaws"),
        "{told}"
    );
    let broken = checked(key.to_str().unwrap());
    assert!(text(&broken.stdout).contains("CERTIFICATE "), "{broken:?}");
    assert!(refused(&broken).contains("does not hold"));
}

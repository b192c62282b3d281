//! An authority of the boat's own, and the certificate it gives to the box.
//!
//! A phone that trusts it trusts it for the given hosts and nothing else: its certificate carries
//! a critical name constraint (RFC 5280, 4.2.1.10). That restricts only the kinds of names it
//! lists, so the kinds that are not wanted are shut out whole.

use std::net::IpAddr;

use jiff::{SignedDuration, Timestamp};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType,
    ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose,
    NameConstraints, PKCS_ECDSA_P256_SHA256, PublicKeyData as _, SanType,
};
use time::OffsetDateTime;
use tokio_rustls::rustls::pki_types::CertificateDer;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use x509_parser::extensions::GeneralName;

use super::host::Host;
use super::pair::{Facts, PairError, address, fingerprint, parsed};

/// How long the leaf holds, days. Apple's systems take at most 825 from an authority that a
/// person installed (Apple, "Requirements for trusted certificates in iOS 13 and macOS 10.15",
/// from memory). 397 is a year and a month: a renewal once a year, at the same time of the year,
/// is never late.
const LEAF_DAYS: i64 = 397;
/// How long the authority holds, days: ten years, so that tablets need it once in their life.
const AUTHORITY_DAYS: i64 = 3_652;
/// Certificates begin a day early, for tablets whose clocks are behind.
const EARLY: SignedDuration = SignedDuration::from_hours(24);

/// Nothing was made.
#[derive(Debug, thiserror::Error)]
pub enum MakeError {
    /// No host.
    #[error(
        "name at least one host, as the tablets are to reach this box: --host boat.example.org"
    )]
    NoHosts,
    /// The authority cannot be used.
    #[error("the authority's certificate cannot be used: {0}")]
    Unread(#[from] PairError),
    /// Certificate or key of the authority cannot be used to sign.
    #[error(
        "the authority cannot sign with this certificate and key ({0}): give those that were made together"
    )]
    Unusable(#[from] rcgen::Error),
    /// The key is another's.
    #[error(
        "the authority's certificate and key do not belong together: give those that were made together"
    )]
    Foreign,
    /// The authority does not hold.
    #[error(
        "the authority holds from {begins} to {ends}, and this machine's clock says {now}: set the clock, or make a new authority in another folder"
    )]
    NotNow {
        /// From when.
        begins: Timestamp,
        /// Until when.
        ends: Timestamp,
        /// The machine's clock.
        now: Timestamp,
    },
    /// A time outside the calendar.
    #[error("the clock of this machine is outside the calendar: set it first")]
    Calendar,
}

/// An authority with its key.
pub struct Authority {
    /// Its certificate, PEM.
    pub certificate: String,
    /// What its certificate says.
    pub facts: Facts,
    /// The hosts it may certify.
    pub hosts: Vec<Host>,
    key: KeyPair,
}

/// A leaf with its key.
pub struct Made {
    /// The leaf's certificate, PEM, and after it the authority's.
    pub certificate: String,
    /// Its key, PEM.
    pub key: String,
    /// What it says.
    pub facts: Facts,
}

impl Authority {
    /// Makes an authority that may certify these hosts only.
    ///
    /// # Errors
    /// [`MakeError`].
    pub fn make(hosts: &[Host], now: Timestamp) -> Result<Self, MakeError> {
        let first = hosts.first().ok_or(MakeError::NoHosts)?;
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
        let day = now.strftime("%Y-%m-%d");
        // Two authorities of one day are told apart, by people and by what seeks an issuer.
        let print = fingerprint(&key.subject_public_key_info()).replace(':', "");
        let part = print.get(..8).unwrap_or_default();
        let mut params = CertificateParams::default();
        params.distinguished_name =
            named(&format!("Deckwatch authority of {first}, {day}, {part}"));
        params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
        params.name_constraints = Some(constraints(hosts));
        (params.not_before, params.not_after) = span(now, AUTHORITY_DAYS)?;
        let certificate = params.self_signed(&key)?.pem();
        Self::read(&certificate, &key.serialize_pem())
    }

    /// Reads an authority that was made before.
    ///
    /// # Errors
    /// [`MakeError`].
    pub fn read(certificate: &str, key: &str) -> Result<Self, MakeError> {
        let key = KeyPair::from_pem(key)?;
        let facts = Facts::from_pem(certificate.as_bytes())?;
        let der = CertificateDer::from_pem_slice(certificate.as_bytes())
            .map_err(|error| PairError::Certificate(error.to_string()))?;
        if parsed(&der)?.public_key().raw != key.subject_public_key_info() {
            return Err(MakeError::Foreign);
        }
        let hosts = permitted(&der)?;
        if hosts.is_empty() {
            return Err(MakeError::NoHosts);
        }
        Ok(Self {
            certificate: certificate.to_owned(),
            facts,
            hosts,
            key,
        })
    }

    /// Its key, PEM: whoever holds it can pretend to be this box.
    #[must_use]
    pub fn key_pem(&self) -> String {
        self.key.serialize_pem()
    }

    /// Signs a new leaf, with a key of its own, for all hosts of the authority.
    ///
    /// # Errors
    /// [`MakeError`].
    pub fn sign(&self, now: Timestamp) -> Result<Made, MakeError> {
        self.sign_for(&self.hosts, now)
    }

    /// Signs a leaf for these hosts, whatever the authority may certify: it is for who checks the
    /// certificate to refuse others.
    ///
    /// # Errors
    /// [`MakeError`].
    pub fn sign_for(&self, hosts: &[Host], now: Timestamp) -> Result<Made, MakeError> {
        if !self.facts.hold(now) {
            return Err(MakeError::NotNow {
                begins: self.facts.begins,
                ends: self.facts.ends,
                now,
            });
        }
        let issuer = Issuer::from_ca_cert_pem(&self.certificate, &self.key)?;
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
        let mut params = CertificateParams::default();
        // No host's name stands here: some checkers hold it against the constraints as well.
        params.distinguished_name = named("Deckwatch box");
        params.is_ca = IsCa::ExplicitNoCa;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        params.subject_alt_names = hosts
            .iter()
            .map(|host| match host {
                Host::Name(name) => Ok(SanType::DnsName(name.as_str().try_into()?)),
                Host::Address(address) => Ok(SanType::IpAddress(*address)),
            })
            .collect::<Result<_, rcgen::Error>>()?;
        let (begins, ends) = span(now, LEAF_DAYS)?;
        params.not_before = begins.max(moment(self.facts.begins)?);
        params.not_after = ends.min(moment(self.facts.ends)?);
        let leaf = params.signed_by(&key, &issuer)?.pem();
        let certificate = format!("{leaf}{}", self.certificate);
        Ok(Made {
            facts: Facts::from_pem(certificate.as_bytes())?,
            certificate,
            key: key.serialize_pem(),
        })
    }
}

fn named(name: &str) -> DistinguishedName {
    let mut whole = DistinguishedName::new();
    whole.push(DnType::CommonName, name);
    whole
}

fn moment(instant: Timestamp) -> Result<OffsetDateTime, MakeError> {
    OffsetDateTime::from_unix_timestamp(instant.as_second()).map_err(|_| MakeError::Calendar)
}

fn span(now: Timestamp, days: i64) -> Result<(OffsetDateTime, OffsetDateTime), MakeError> {
    let begins = now.checked_sub(EARLY).map_err(|_| MakeError::Calendar)?;
    let ends = begins
        .checked_add(SignedDuration::from_hours(24 * days))
        .map_err(|_| MakeError::Calendar)?;
    Ok((moment(begins)?, moment(ends)?))
}

fn constraints(hosts: &[Host]) -> NameConstraints {
    let permitted: Vec<GeneralSubtree> = hosts
        .iter()
        .map(|host| match host {
            Host::Name(name) => GeneralSubtree::DnsName(name.clone()),
            Host::Address(address) => {
                let whole = if address.is_ipv4() { 32 } else { 128 };
                GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(*address, whole))
            }
        })
        .collect();
    let mut excluded = Vec::new();
    if !hosts.iter().any(|host| matches!(host, Host::Name(_))) {
        // The empty name stands for every name.
        excluded.push(GeneralSubtree::DnsName(String::new()));
    }
    let v4 = |host: &Host| matches!(host, Host::Address(IpAddr::V4(_)));
    let v6 = |host: &Host| matches!(host, Host::Address(IpAddr::V6(_)));
    if !hosts.iter().any(v4) {
        excluded.push(GeneralSubtree::IpAddress(CidrSubnet::V4([0; 4], [0; 4])));
    }
    if !hosts.iter().any(v6) {
        excluded.push(GeneralSubtree::IpAddress(CidrSubnet::V6([0; 16], [0; 16])));
    }
    // No mail addresses either.
    excluded.push(GeneralSubtree::Rfc822Name(String::new()));
    NameConstraints {
        permitted_subtrees: permitted,
        excluded_subtrees: excluded,
    }
}

/// The hosts an authority may certify, by its own constraints.
fn permitted(der: &CertificateDer<'_>) -> Result<Vec<Host>, MakeError> {
    let read = parsed(der)?;
    let constraints = read
        .name_constraints()
        .map_err(|error| PairError::Certificate(error.to_string()))?;
    let trees = constraints.and_then(|found| found.value.permitted_subtrees.as_ref());
    Ok(trees
        .into_iter()
        .flatten()
        .filter_map(|tree| permitted_host(&tree.base))
        .collect())
}

#[expect(
    clippy::wildcard_enum_match_arm,
    reason = "an authority made here permits no other kinds of names"
)]
fn permitted_host(base: &GeneralName<'_>) -> Option<Host> {
    match base {
        GeneralName::DNSName(name) => (*name).parse().ok(),
        // An address and a mask as long; only whole addresses are made here.
        GeneralName::IPAddress(bytes) => {
            let (bytes, mask) = bytes.split_at_checked(bytes.len() / 2)?;
            let whole = mask.iter().all(|byte| *byte == 0xff);
            whole.then(|| address(bytes)).flatten().map(Host::Address)
        }
        _ => None,
    }
}

/// SHA-256 of the first certificate of a PEM file, and its bytes.
///
/// # Errors
/// [`PairError`].
pub fn der_of(certificate: &[u8]) -> Result<(Vec<u8>, String), PairError> {
    let der = CertificateDer::from_pem_slice(certificate)
        .map_err(|error| PairError::Certificate(error.to_string()))?;
    let told = fingerprint(&der);
    Ok((der.to_vec(), told))
}

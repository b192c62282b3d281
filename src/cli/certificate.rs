//! `deckwatch certificate`: an authority of the boat's own and the certificate it gives to this
//! box, for boats that never meet the internet; and its renewal.

use std::path::PathBuf;

use anyhow::Context as _;
use fast_qr::QRBuilder;
use fast_qr::convert::svg::SvgBuilder;
use jiff::Timestamp;

use super::serve;
use crate::certificate::{Authority, Files, Folder, Host, der_of, read_text};
use crate::clock::Clock;
use crate::web::certificate::{Standing, days_left, standing, written};

/// What `certificate` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Folder for authority, certificate and key.
    #[arg(
        long,
        env = "DECKWATCH_CERTIFICATE_FOLDER",
        default_value = "deckwatch-certificate"
    )]
    folder: PathBuf,
    /// A host the tablets reach this box by over https: a name or an address; can be given more
    /// than once.
    #[arg(long = "host", required_unless_present = "renew")]
    hosts: Vec<Host>,
    /// Makes a new certificate with the authority that is there.
    #[arg(long, conflicts_with = "hosts")]
    renew: bool,
    /// The authority's key, if it is kept elsewhere than in the folder.
    #[arg(long, requires = "renew")]
    authority_key: Option<PathBuf>,
    /// The plain address of this box, such as `http://10.20.0.1:8080`, where devices get the
    /// authority.
    #[arg(long = "origin", env = "DECKWATCH_ORIGINS", value_delimiter = ',')]
    origins: Vec<String>,
}

/// Makes an authority with its first certificate, or renews the certificate.
///
/// # Errors
/// If there is an authority already, or none to renew with; if a file cannot be read or written.
pub fn run(args: Args) -> anyhow::Result<()> {
    let now = Clock::system().now();
    plausible(now)?;
    for origin in &args.origins {
        serve::check_origin(origin)?;
    }
    let folder = Folder::new(&args.folder);
    let authority = if args.renew {
        let key = args.authority_key.unwrap_or_else(|| folder.authority_key());
        let key = read_text(&key).context(
            "renewing needs the authority's key: bring it back, or name it with --authority-key",
        )?;
        Authority::read(&read_text(&folder.authority())?, &key)?
    } else {
        anyhow::ensure!(
            !folder.authority().exists(),
            "{} is there already: renew its certificate with --renew, or name another --folder",
            folder.authority().display()
        );
        Authority::make(&args.hosts, now)?
    };
    let made = authority.sign(now)?;
    if !args.renew {
        folder.keep_authority(&authority)?;
    }
    folder.keep_leaf(&made)?;
    let (_, fingerprint) = der_of(authority.certificate.as_bytes())?;
    let hosts: Vec<String> = made.facts.hosts.iter().map(ToString::to_string).collect();
    let Files { certificate, key } = folder.served();
    println!(
        "authority    {}\n             good for {} only, until {}\n             SHA-256 {fingerprint}",
        folder.authority().display(),
        hosts.join(", "),
        written(authority.facts.ends),
    );
    println!(
        "certificate  {}\n             until {}\nkey          {}",
        certificate.display(),
        written(made.facts.ends),
        key.display()
    );
    if args.renew {
        println!(
            "\nA box that serves this folder takes the new certificate within seconds; tablets \
             notice nothing.\nTake the authority's key off this computer again."
        );
        return Ok(());
    }
    next(&folder, &made.facts.hosts, &args.origins)
}

/// A board without a battery starts in the past, and what it certified then has ended for every
/// tablet.
fn plausible(now: Timestamp) -> anyhow::Result<()> {
    anyhow::ensure!(
        now > "2026-01-01T00:00:00Z".parse()?,
        "this computer's clock says {}, which is before this program was written: set it first",
        written(now)
    );
    Ok(())
}

/// What to do next.
fn next(folder: &Folder, hosts: &[Host], origins: &[String]) -> anyhow::Result<()> {
    let Files { certificate, key } = folder.served();
    let plain = origins
        .iter()
        .find(|origin| origin.starts_with("http://"))
        .cloned()
        .or_else(|| guessed(hosts));
    println!(
        "\n1. Move {} off this computer, to a stick that stays ashore: whoever has it can pretend \
         to be this box. Renewing needs it, once a year.",
        folder.authority_key().display()
    );
    let origin = plain.as_deref().unwrap_or("http://ADDRESS:8080");
    println!(
        "2. Serve with --certificate {} --key {} --authority {} --origin {origin}",
        certificate.display(),
        key.display(),
        folder.authority().display()
    );
    let Some(plain) = plain else {
        println!(
            "3. On each tablet open http://ADDRESS:8080/authority, this box's plain address, \
             compare the SHA-256 above, and follow the page. For a code to scan, make it again \
             with --origin and that address."
        );
        return Ok(());
    };
    let address = format!("{plain}/authority");
    let code = QRBuilder::new(address.clone())
        .build()
        .map_err(|error| anyhow::anyhow!("no code can be made of {address}: {error:?}"))?;
    folder.keep_code(&SvgBuilder::default().to_str(&code))?;
    println!(
        "3. On each tablet open {address}, compare the SHA-256 above, and follow the page.\n   \
         The same code to print: {}\n\n{}",
        folder.code().display(),
        code.to_str()
    );
    Ok(())
}

/// The plain address, if the box is certified for an address: the usual port of `serve`.
fn guessed(hosts: &[Host]) -> Option<String> {
    let address = hosts.iter().find(|host| matches!(host, Host::Address(_)))?;
    Some(format!("http://{}:8080", address.in_url()))
}

/// How a certificate stands, in one line; whether it can be served now.
pub(super) fn told(certificate: &std::path::Path, now: Timestamp) -> (String, bool) {
    let shown = certificate.display();
    let facts = match Files::facts(certificate) {
        Ok(facts) => facts,
        Err(error) => return (format!("CERTIFICATE {error}"), false),
    };
    let (ends, days) = (written(facts.ends), days_left(&facts, now));
    match standing(&facts, now) {
        Standing::Good => (
            format!("certificate {shown} ends {ends}, in {days} days"),
            true,
        ),
        Standing::EndsSoon(_) => (
            format!("CAUTION certificate {shown} ends {ends}, in {days} days: renew it"),
            true,
        ),
        Standing::Ended => (format!("CERTIFICATE {shown} ended {ends}: renew it"), false),
        Standing::NotYet => (
            format!(
                "CERTIFICATE {shown} begins {}, later than this machine's clock: set the clock",
                written(facts.begins)
            ),
            false,
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_from_before_this_program_makes_no_certificate() {
        let told = plausible(Timestamp::UNIX_EPOCH).unwrap_err().to_string();
        assert!(told.contains("1970-01-01"), "{told}");
        plausible("2026-11-25T15:00:00Z".parse().unwrap()).unwrap();
    }
}

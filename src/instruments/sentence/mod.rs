//! One line of NMEA 0183 (IEC 61162-1): a position, a locator beacon, something else; or why it
//! is refused.

use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use nmea::sentences::rmc::RmcStatusOfFix;
use nmea::sentences::{FaaMode, FixType, parse_gga, parse_gll, parse_rmc};
use nmea::{NmeaSentence, SentenceType};

use super::six_bit::report;
use crate::sea::position::Position;
use crate::trip::event::BeaconSort;

/// A receiver whose date lies further from this box's clock is not believed: its counter of
/// weeks has run over, or it never had a fix, or the box's clock is wrong.
const DATE_OFF: SignedDuration = SignedDuration::from_hours(24);

/// Navigational status of a beacon in test (from memory; 14 is in earnest).
const IN_TEST: u8 = 15;

/// Who speaks: two letters, such as GP for GPS and GN for several systems together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Talker([u8; 2]);

impl std::fmt::Display for Talker {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0
            .iter()
            .try_for_each(|letter| write!(f, "{}", char::from(*letter)))
    }
}

/// The kinds of sentence that are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Position, date, speed.
    Rmc,
    /// Position and its quality.
    Gga,
    /// Position.
    Gll,
    /// AIS from others.
    Ais,
    /// Anything else: depth, wind, heading, satellites, own AIS.
    Other,
}

/// A position that a receiver stands by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fixed {
    /// Who says so.
    pub talker: Talker,
    /// In which sentence.
    pub kind: Kind,
    /// Where.
    pub position: Position,
    /// When by the receiver, if it says the date.
    pub measured_at: Option<Timestamp>,
}

/// A burst of a locator beacon.
#[derive(Debug, Clone, PartialEq)]
pub struct Burst {
    /// Its identity: nine digits.
    pub identity: String,
    /// What it is.
    pub sort: BeaconSort,
    /// Where it is, if this burst says so and it can be.
    pub place: Option<Position>,
    /// Its own fix is lost: it was there last.
    pub place_is_last: bool,
    /// It says that it is being tested.
    pub test: bool,
    /// What it says in words, if this burst does.
    pub text: Option<String>,
}

/// What a sentence says.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// Where the boat is.
    Fixed(Fixed),
    /// A locator beacon is heard.
    Beacon(Burst),
    /// Nothing that concerns this program.
    Nothing(Kind),
}

/// Why a sentence is not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Refused {
    /// Bytes that are no text.
    NotText,
    /// Longer than any sentence.
    TooLong,
    /// No start, or no checksum at its end: a part is missing.
    CutShort,
    /// The checksum is another.
    Checksum,
    /// A field is not what the standard says.
    Unsound,
    /// The receiver says that it has no fix.
    NoFix,
    /// The position is reckoned, typed or simulated, not measured.
    NotMeasured,
    /// The date is more than a day from this box's clock.
    DateOff {
        /// The date it says.
        said: Timestamp,
    },
    /// The latitude is beyond where this program works.
    OutOfRange,
}

impl Refused {
    /// A word for the reason, without what differs from time to time.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::NotText => "not-text",
            Self::TooLong => "too-long",
            Self::CutShort => "cut-short",
            Self::Checksum => "checksum",
            Self::Unsound => "unsound",
            Self::NoFix => "no-fix",
            Self::NotMeasured => "not-measured",
            Self::DateOff { .. } => "date-off",
            Self::OutOfRange => "out-of-range",
        }
    }
}

/// Reads one line, without its end. `now`: this box's clock, to judge dates by.
///
/// # Errors
/// [`Refused`]. A line in which a sentence broke off and another began is read from the last
/// start on.
pub fn read(line: &[u8], now: Timestamp) -> Result<Said, Refused> {
    let is_start = |byte: &u8| matches!(byte, b'$' | b'!');
    let Some(start) = line.iter().rposition(is_start) else {
        let is_text = line.iter().all(|byte| matches!(byte, b' '..=b'~'));
        return Err(if is_text {
            Refused::CutShort
        } else {
            Refused::NotText
        });
    };
    let sentence = line.get(start..).unwrap_or_default();
    let text = std::str::from_utf8(sentence).map_err(|_| Refused::NotText)?;
    if !text.bytes().all(|byte| matches!(byte, b' '..=b'~')) {
        return Err(Refused::NotText);
    }
    let (body, checksum) = verified(text)?;
    let (opens, body) = body.split_at(1);
    let Some((address, data)) = body.split_once(',') else {
        return Ok(Said::Nothing(Kind::Other));
    };
    let is_standard = address.len() == 5 && address.bytes().all(|b| b.is_ascii_uppercase());
    let (Some(talker), Some(name), true) = (address.get(..2), address.get(2..), is_standard) else {
        return Ok(Said::Nothing(Kind::Other));
    };
    let place = |kind| position_of(kind, talker, data, checksum, now);
    match (opens, name) {
        ("$", "RMC") => place(Kind::Rmc),
        ("$", "GGA") => place(Kind::Gga),
        ("$", "GLL") => place(Kind::Gll),
        ("!", "VDM") => Ok(ais(data)?.map_or(Said::Nothing(Kind::Ais), Said::Beacon)),
        _ => Ok(Said::Nothing(Kind::Other)),
    }
}

/// Start and body of a sentence whose checksum holds: the exclusive or of all characters
/// between its start and the asterisk, as two hexadecimal digits at the very end.
fn verified(text: &str) -> Result<(&str, u8), Refused> {
    let (body, given) = text.split_once('*').ok_or(Refused::CutShort)?;
    if given.len() != 2 || !given.bytes().all(|b| b.is_ascii_hexdigit()) {
        return Err(Refused::CutShort);
    }
    let given = u8::from_str_radix(given, 16).map_err(|_| Refused::CutShort)?;
    let sum = body.bytes().skip(1).fold(0, |sum, byte| sum ^ byte);
    if sum == given {
        Ok((body, given))
    } else {
        Err(Refused::Checksum)
    }
}

/// Latitude and longitude as the standard writes them, `4916.45` and `12311.12`: the parser
/// would take `nan`, signs and 99 minutes as well. None: both empty, so there is no fix.
fn written(lat: &str, lon: &str) -> Result<(), Refused> {
    if lat.is_empty() && lon.is_empty() {
        return Err(Refused::NoFix);
    }
    for (field, degrees) in [(lat, 2), (lon, 3)] {
        let is_figure = field.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let minutes: Option<f64> = field.get(degrees..).and_then(|text| text.parse().ok());
        let whole = field.split('.').next().unwrap_or_default();
        let sound = is_figure
            && whole.len() == degrees + 2
            && minutes.is_some_and(|minutes| (0.0..60.0).contains(&minutes));
        if !sound {
            return Err(Refused::Unsound);
        }
    }
    Ok(())
}

/// What the three sentences say alike.
struct Told {
    lat: Option<f64>,
    lon: Option<f64>,
    /// The receiver stands by it.
    stands: bool,
    /// It was measured, as far as that is said.
    measured: bool,
    at: Option<Timestamp>,
}

fn position_of(
    kind: Kind,
    talker: &str,
    data: &str,
    checksum: u8,
    now: Timestamp,
) -> Result<Said, Refused> {
    let fields: Vec<&str> = data.split(',').collect();
    let from = match kind {
        Kind::Rmc => 2,
        Kind::Gga => 1,
        Kind::Gll | Kind::Ais | Kind::Other => 0,
    };
    let (lat, lon) = (fields.get(from), fields.get(from + 2));
    let (lat, lon) = lat.zip(lon).ok_or(Refused::Unsound)?;
    written(lat, lon)?;
    let told = parsed(kind, talker, data, checksum, &fields)?;
    let talker = talker.as_bytes().try_into().map_err(|_| Refused::Unsound)?;
    if !told.stands {
        return Err(Refused::NoFix);
    }
    if !told.measured {
        return Err(Refused::NotMeasured);
    }
    if let Some(said) = told.at
        && said.duration_since(now).abs() > DATE_OFF
    {
        return Err(Refused::DateOff { said });
    }
    let (lat, lon) = told.lat.zip(told.lon).ok_or(Refused::NoFix)?;
    let position = Position::from_degrees(lon, lat).map_err(|_| Refused::OutOfRange)?;
    Ok(Said::Fixed(Fixed {
        talker: Talker(talker),
        kind,
        position,
        measured_at: told.at,
    }))
}

fn parsed(
    kind: Kind,
    talker_id: &str,
    data: &str,
    checksum: u8,
    fields: &[&str],
) -> Result<Told, Refused> {
    let as_sentence = |message_id, data| NmeaSentence {
        talker_id,
        message_id,
        data,
        checksum,
    };
    match kind {
        Kind::Rmc => {
            let rmc =
                parse_rmc(as_sentence(SentenceType::RMC, data)).map_err(|_| Refused::Unsound)?;
            let date = rmc.fix_date.map(|date| date.to_string());
            let time = rmc.fix_time.map(|time| time.to_string());
            // A position without its time could be of any day.
            let at = date.zip(time).ok_or(Refused::Unsound)?;
            Ok(Told {
                lat: rmc.lat,
                lon: rmc.lon,
                stands: rmc.status_of_fix != RmcStatusOfFix::Invalid
                    && rmc.faa_mode != Some(FaaMode::DataNotValid),
                measured: rmc.faa_mode.is_none_or(is_measured),
                at: Some(instant(&at.0, &at.1)?),
            })
        }
        Kind::Gga => {
            let gga =
                parse_gga(as_sentence(SentenceType::GGA, data)).map_err(|_| Refused::Unsound)?;
            let quality = gga.fix_type.unwrap_or(FixType::Invalid);
            Ok(Told {
                lat: gga.latitude,
                lon: gga.longitude,
                stands: quality != FixType::Invalid,
                measured: quality.is_valid(),
                at: None,
            })
        }
        Kind::Gll => {
            // Before version 2.3 of the standard it ended with its status.
            let longer = format!("{data},");
            let data = if fields.len() == 6 { &longer } else { data };
            let gll =
                parse_gll(as_sentence(SentenceType::GLL, data)).map_err(|_| Refused::Unsound)?;
            Ok(Told {
                lat: gll.latitude,
                lon: gll.longitude,
                stands: gll.valid && gll.faa_mode != Some(FaaMode::DataNotValid),
                measured: gll.faa_mode.is_none_or(is_measured),
                at: None,
            })
        }
        Kind::Ais | Kind::Other => Err(Refused::Unsound),
    }
}

fn is_measured(mode: FaaMode) -> bool {
    FixType::from(mode).is_valid()
}

fn instant(date: &str, time: &str) -> Result<Timestamp, Refused> {
    let at: DateTime = format!("{date}T{time}")
        .parse()
        .map_err(|_| Refused::Unsound)?;
    let at = at
        .to_zoned_datetime(TimeZone::UTC)
        .map_err(|_| Refused::Unsound)?;
    Ok(at.timestamp())
}

/// A locator beacon, if a whole message of one comes in this sentence. Their messages fit into
/// one sentence each; what is spread over several is other traffic.
fn ais(data: &str) -> Result<Option<Burst>, Refused> {
    let fields: Vec<&str> = data.split(',').collect();
    let [count, _, _, _, payload, fill] = fields.as_slice() else {
        return Err(Refused::Unsound);
    };
    let fill: usize = fill.parse().map_err(|_| Refused::Unsound)?;
    if fill > 5 {
        return Err(Refused::Unsound);
    }
    if *count != "1" {
        return Ok(None);
    }
    let Some(report) = report(payload, fill) else {
        return Ok(None);
    };
    let sort = match report.identity / 1_000_000 {
        970 => BeaconSort::Locator,
        972 => BeaconSort::Person,
        974 => BeaconSort::Epirb,
        _ => return Ok(None),
    };
    let words = report.text.as_deref().unwrap_or_default().to_uppercase();
    // In doubt it is meant in earnest.
    let test =
        report.status == Some(IN_TEST) || (words.contains("TEST") && !words.contains("ACTIVE"));
    let place = report.place.map(Position::try_from);
    Ok(Some(Burst {
        identity: format!("{:09}", report.identity),
        sort,
        // A place beyond our latitudes silences no beacon.
        place: place.and_then(Result::ok),
        place_is_last: report.second.is_some_and(|second| second >= 60),
        test,
        text: report.text.filter(|text| !text.is_empty()),
    }))
}

#[cfg(test)]
mod tests;

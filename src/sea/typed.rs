//! Positions as people type them: degrees, degrees and minutes, or degrees, minutes and seconds,
//! with letters or signs; and whether latitude and longitude look swapped.

use super::position::Position;
use crate::units::bounds::{LATITUDE_DEG, LONGITUDE_DEG};

/// Farthest from its site that anything of a chart may lie, metres: the reach of the local plane.
pub const REACH_M: f64 = 20_000.0;

/// What is wrong with a typed position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Flaw {
    /// Not two figures, latitude and longitude.
    #[error("is no latitude and longitude")]
    Unread,
    /// A figure is outside its range, or not a number.
    #[error("lies outside the range of latitude or longitude")]
    OutOfRange,
    /// As typed it cannot be or lies far off; swapped it would fit.
    #[error("looks as if latitude and longitude were swapped")]
    Swapped,
    /// Farther off the site than a chart reaches.
    #[error("lies farther from the site than a chart reaches")]
    Far,
}

/// `12.5`, `12 30.5`, `12° 30.5' N`, `12 30 15 S`; the letter or a minus gives the half. A comma
/// counts as the decimal point.
#[must_use]
pub fn degrees(text: &str, plus: char, minus: char) -> Option<f64> {
    let upper = text.trim().to_uppercase().replace('−', "-");
    let is_half = |c: char| c == plus || c == minus;
    let (figures, letter) = if let Some(rest) = upper.strip_suffix(is_half) {
        (rest, upper.chars().last())
    } else if let Some(rest) = upper.strip_prefix(is_half) {
        (rest, upper.chars().next())
    } else {
        (upper.as_str(), None)
    };
    let parts: Vec<f64> = figures
        .split(|c: char| c.is_whitespace() || "°º'′’\"″”".contains(c))
        .filter(|part| !part.is_empty())
        .map(plain_number)
        .collect::<Option<Vec<f64>>>()?;
    let (last, before) = parts.split_last()?;
    let (first, rest) = parts.split_first()?;
    // Only the last part may have a fraction, and minutes and seconds stay below 60.
    let is_split = before.iter().all(|part| part.fract() == 0.0)
        && rest.iter().all(|part| (0.0..60.0).contains(part))
        && rest.len() <= 2;
    if !is_split || !last.is_finite() || (letter.is_some() && first.is_sign_negative()) {
        return None;
    }
    let part = |nth: usize| rest.get(nth).copied().unwrap_or(0.0);
    let size = first.abs() + part(0) / 60.0 + part(1) / 3600.0;
    let negative = first.is_sign_negative() || letter == Some(minus);
    size.is_finite()
        .then_some(if negative { -size } else { size })
}

/// A figure; a comma counts as the decimal point.
#[must_use]
pub fn plain_number(text: &str) -> Option<f64> {
    let is_figure = text
        .chars()
        .all(|c| c.is_ascii_digit() || ".,+-".contains(c));
    is_figure
        .then(|| text.replace(',', ".").parse().ok())
        .flatten()
}

/// Latitude and longitude of one line, in degrees: `4 10.5 N 73 30.2 E`, `N4°10'30" E73°30'12"`,
/// `4.175, 73.5033`. Without letters latitude comes first; letters may say otherwise.
#[must_use]
pub fn both(line: &str) -> Option<(f64, f64)> {
    let upper = line.trim().to_uppercase();
    let (one, other) = halves(&upper)?;
    let latitude = |text: &str| degrees(text, 'N', 'S');
    let longitude = |text: &str| degrees(text, 'E', 'W');
    match (latitude(&one), longitude(&other)) {
        (Some(lat), Some(lon)) => Some((lat, lon)),
        // Letters the other way round.
        _ => Some((latitude(&other)?, longitude(&one)?)),
    }
}

/// The two figures of a line as they are parted: by a semicolon, after or before their letters,
/// by a comma, or half of the parts each.
fn halves(line: &str) -> Option<(String, String)> {
    let own = |pair: (&str, &str)| (pair.0.trim().to_owned(), pair.1.trim().to_owned());
    if let Some(pair) = line.split_once(';') {
        return Some(own(pair));
    }
    let letters: Vec<usize> = line
        .char_indices()
        .filter(|(_, c)| "NSEW".contains(*c))
        .map(|(at, _)| at)
        .collect();
    match letters.as_slice() {
        [] => {}
        [first, second] => {
            let is_prefix = *first == 0;
            let at = if is_prefix { *second } else { first + 1 };
            let (one, other) = line.split_at_checked(at)?;
            let comma = |c: char| c == ',' || c.is_whitespace();
            return Some((
                one.trim_end_matches(comma).to_owned(),
                other.trim_start_matches(comma).to_owned(),
            ));
        }
        _ => return None,
    }
    if let Some(pair) = line.split_once(", ") {
        return Some(own(pair));
    }
    let parts: Vec<&str> = line.split_whitespace().collect();
    if parts.len() >= 2 && parts.len().is_multiple_of(2) {
        let (one, other) = parts.split_at_checked(parts.len() / 2)?;
        return Some((one.join(" "), other.join(" ")));
    }
    let pair = line.split_once(',')?;
    (!pair.1.contains(',')).then(|| own(pair))
}

/// Whether swapping latitude and longitude would bring a place near its site while as typed it
/// cannot be or lies far off.
#[must_use]
pub fn looks_swapped(site: Position, lat_deg: f64, lon_deg: f64) -> bool {
    let near = |lon: f64, lat: f64| {
        Position::from_degrees(lon, lat).is_ok_and(|at| site.distance_m(at) <= REACH_M)
    };
    let cannot_be = !LATITUDE_DEG.holds(lat_deg) && LONGITUDE_DEG.holds(lat_deg);
    !near(lon_deg, lat_deg)
        && (near(lat_deg, lon_deg) || (cannot_be && LATITUDE_DEG.holds(lon_deg)))
}

/// A typed place of a site's chart.
///
/// # Errors
/// [`Flaw`].
pub fn place(site: Position, line: &str) -> Result<Position, Flaw> {
    let (lat, lon) = both(line).ok_or(Flaw::Unread)?;
    if looks_swapped(site, lat, lon) {
        return Err(Flaw::Swapped);
    }
    let at = Position::from_degrees(lon, lat).map_err(|_| Flaw::OutOfRange)?;
    if site.distance_m(at) > REACH_M {
        return Err(Flaw::Far);
    }
    Ok(at)
}

/// A place in degrees as it is typed, to a tenth of a metre and less: `4.1750000 N 73.5033333 E`.
#[must_use]
pub fn written(at: Position) -> String {
    let half = |deg: f64, plus: char, minus: char| {
        let letter = if deg < 0.0 { minus } else { plus };
        format!("{:.7} {letter}", deg.abs())
    };
    format!(
        "{} {}",
        half(at.lat_deg(), 'N', 'S'),
        half(at.lon_deg(), 'E', 'W')
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(lat: f64, lon: f64) -> Position {
        Position::from_degrees(lon, lat).unwrap()
    }

    #[test]
    fn degrees_are_read_in_the_three_ways_they_are_written() {
        // The same place in degrees, degrees and minutes, and degrees, minutes and seconds.
        for text in [
            "12.5125",
            "12 30.75",
            "12° 30.75' N",
            "12 30 45",
            "12,5125",
            "N12°30′45″",
            "+12.5125",
        ] {
            let read = degrees(text, 'N', 'S').unwrap();
            assert!((read - 12.5125).abs() < 1e-9, "{text}: {read}");
        }
        assert_eq!(degrees("12 30 S", 'N', 'S'), Some(-12.5));
        assert_eq!(degrees("-0 30", 'N', 'S'), Some(-0.5));
        assert_eq!(degrees("−0 30", 'N', 'S'), Some(-0.5));
        for text in [
            "",
            "north",
            "12 75",
            "12 30 E",
            "NaN",
            "inf",
            "1e1",
            "1 2 3 4",
            "12.5 30",
            "12 30.5 10",
            "-12 S",
        ] {
            assert_eq!(degrees(text, 'N', 'S'), None, "{text}");
        }
    }

    /// 4° 10' 30" is 4 + 10/60 + 30/3600 = 4.175; 73° 30' 12" is 73.503333.
    #[test]
    fn a_line_of_both_is_read_however_it_is_parted() {
        for line in [
            "4.175 73.5033333333",
            "4.175, 73.5033333333",
            "4.175,73.5033333333",
            "4,175 73,5033333333",
            "4,175; 73,5033333333",
            "4 10.5 73 30.2",
            "4 10.5, 73 30.2",
            "4 10.5,73 30.2",
            "4 10.5 N 73 30.2 E",
            "4° 10.5' N, 73° 30.2' E",
            "4°10'30\"N 73°30'12\"E",
            "N4°10'30\" E73°30'12\"",
            "n 4 10 30, e 73 30 12",
            "73 30 12 E 4 10 30 N",
            "E73.5033333333 N4.175",
            "4 10 30 73 30 12",
        ] {
            let (lat, lon) = both(line).unwrap_or_else(|| panic!("{line}"));
            assert!((lat - 4.175).abs() < 1e-9, "{line}: {lat}");
            assert!((lon - 73.503_333_333_3).abs() < 1e-9, "{line}: {lon}");
        }
        assert_eq!(both("4.5 S 3.5 W"), Some((-4.5, -3.5)));
        assert_eq!(both("-4.5 -3.5"), Some((-4.5, -3.5)));
        for line in [
            "",
            "4.175",
            "4 10.5 N",
            "4 N 73 N",
            "4 E 73 E",
            "4 10 5 N 1 2",
            "4 70 N 73 E",
            "NaN NaN",
            "1 2 3",
            "4 N 73 E 5 N",
            "4;73;5",
        ] {
            assert_eq!(both(line), None, "{line}");
        }
    }

    #[test]
    fn what_is_swapped_or_far_is_told() {
        let site = at(4.175, 73.503);
        assert!(place(site, "4.18 73.51").is_ok());
        assert_eq!(place(site, "73.51 4.18"), Err(Flaw::Swapped));
        assert_eq!(place(site, "24.18 73.51"), Err(Flaw::Far));
        assert_eq!(place(site, "103.2 1.2"), Err(Flaw::Swapped), "no latitude");
        assert_eq!(place(site, "95 170"), Err(Flaw::OutOfRange));
        assert_eq!(place(site, "reef"), Err(Flaw::Unread));
        // Where both are alike, nothing can be swapped.
        assert!(place(at(10.0, 10.0), "10.001 10.002").is_ok());
        // Near the 180th meridian the other side is near.
        assert!(place(at(-17.7, 179.999), "17.7 S 179.999 W").is_ok());
    }

    proptest::proptest! {
        #[test]
        fn what_is_written_reads_back(lat in -84.0..84.0_f64, lon in -180.0..180.0_f64) {
            let (read_lat, read_lon) = both(&written(at(lat, lon))).unwrap();
            assert!((read_lat - lat).abs() < 6e-8 && (read_lon - lon).abs() < 6e-8);
        }
    }
}

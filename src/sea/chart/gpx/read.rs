//! Reads GPX 1.1. Document types, and with them every entity but the five of XML, are refused.

use quick_xml::XmlVersion;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;

use super::{MOST_POINTS, NAMESPACE};
use crate::sea::chart::{Drawn, KINDS, Kind, MOST_FEATURES};
use crate::sea::position::Position;
use crate::units::{Faults, bounds};

/// Deepest nesting that is followed.
const DEEPEST: usize = 40;
/// Longest text of a name or type that is taken, bytes.
const LONGEST_TEXT: usize = 1_000;

/// The features of a GPX file, with `None` as the kind where the file names none of ours. They
/// are not judged here: whoever keeps them has them checked as a chart.
///
/// # Errors
/// Every fault of its points and names, or the first thing that is not well formed.
pub fn read(bytes: &[u8]) -> Result<Vec<Drawn>, Faults> {
    let text = std::str::from_utf8(bytes)
        .map_err(|_| Faults::one("", "is not in UTF-8", "a GPX 1.1 file in UTF-8"))?;
    let mut reader = Reader::from_str(text.trim_start_matches('\u{feff}'));
    let mut file = File::default();
    loop {
        let event = reader.read_event().map_err(|cause| {
            let what = format!(
                "is not well formed near byte {}: {cause}",
                reader.error_position()
            );
            Faults::one("", what, "a whole GPX 1.1 file")
        })?;
        match event {
            Event::Start(tag) => file.open(&tag)?,
            Event::Empty(tag) => {
                file.open(&tag)?;
                file.close();
            }
            Event::End(_) => file.close(),
            Event::Text(text) => file.write(&text.xml10_content())?,
            Event::CData(text) => file.write(&text.xml10_content())?,
            Event::GeneralRef(name) => {
                let char = name.resolve_char_ref().ok().flatten();
                match char.map(String::from) {
                    Some(char) => file.write(&char)?,
                    None => match resolve_predefined_entity(&name) {
                        Some(text) => file.write(text)?,
                        None => return Err(entity(&name)),
                    },
                }
            }
            Event::DocType(_) => {
                return Err(Faults::one(
                    "",
                    "has a document type, which can pull in other files",
                    "a GPX file without DOCTYPE",
                ));
            }
            Event::Comment(_) | Event::Decl(_) | Event::PI(_) => {}
            Event::Eof => return file.finish(),
        }
    }
}

fn entity(name: &str) -> Faults {
    let short: String = name.chars().take(40).collect();
    Faults::one("", format!("names an entity '{short}'"), "plain text")
}

/// A point, route or track being read.
#[derive(Default)]
struct Being {
    name: String,
    kind: String,
    rings: Vec<Vec<Position>>,
    points: usize,
}

#[derive(Default)]
struct File {
    path: Vec<String>,
    being: Option<Being>,
    text: String,
    points: usize,
    features: Vec<Drawn>,
    faults: Faults,
    is_gpx: bool,
}

impl File {
    fn path(&self) -> Vec<&str> {
        self.path.iter().map(String::as_str).collect()
    }

    fn open(&mut self, tag: &BytesStart<'_>) -> Result<(), Faults> {
        if self.path.len() >= DEEPEST {
            return Err(Faults::one(
                "",
                "is nested too deep",
                "a plain GPX 1.1 file",
            ));
        }
        let name = tag.local_name().into_inner().to_owned();
        if self.path.is_empty() {
            root(tag, &name)?;
            self.is_gpx = true;
        }
        self.path.push(name);
        self.text.clear();
        match self.path().as_slice() {
            ["gpx", "wpt"] => {
                self.begin()?;
                self.ring();
                self.point(tag)?;
            }
            ["gpx", "rte"] => {
                self.begin()?;
                self.ring();
            }
            ["gpx", "trk"] => self.begin()?,
            ["gpx", "trk", "trkseg"] => self.ring(),
            ["gpx", "rte", "rtept"] | ["gpx", "trk", "trkseg", "trkpt"] => self.point(tag)?,
            _ => {}
        }
        Ok(())
    }

    fn begin(&mut self) -> Result<(), Faults> {
        if self.features.len() >= MOST_FEATURES {
            let what = format!("has more than {MOST_FEATURES} waypoints, routes and tracks");
            return Err(Faults::one("", what, format!("at most {MOST_FEATURES}")));
        }
        self.being = Some(Being::default());
        Ok(())
    }

    fn ring(&mut self) {
        if let Some(being) = &mut self.being {
            being.rings.push(Vec::new());
        }
    }

    fn point(&mut self, tag: &BytesStart<'_>) -> Result<(), Faults> {
        self.points += 1;
        if self.points > MOST_POINTS {
            let what = format!("has more than {MOST_POINTS} points");
            return Err(Faults::one("", what, format!("at most {MOST_POINTS}")));
        }
        let nth = self.features.len() + 1;
        let figure = |name: &str| -> Option<f64> { attribute(tag, name)?.trim().parse().ok() };
        let at = figure("lon").zip(figure("lat"));
        let at = at.map(|(lon, lat)| (Position::from_degrees(lon, lat), lon, lat));
        let Some(being) = &mut self.being else {
            return Ok(());
        };
        being.points += 1;
        let path = format!("feature {nth}, point {}", being.points);
        let allowed = "lat and lon in degrees of WGS 84";
        match at {
            Some((Ok(at), _, _)) => being.rings.last_mut().map_or((), |ring| ring.push(at)),
            Some((Err(_), lon, lat))
                if !bounds::LATITUDE_DEG.holds(lat)
                    && bounds::LATITUDE_DEG.holds(lon)
                    && bounds::LONGITUDE_DEG.holds(lat) =>
            {
                self.faults.add(
                    path,
                    "looks as if latitude and longitude were swapped",
                    allowed,
                );
            }
            Some((Err(refusal), _, _)) => self.faults.add(path, refusal.to_string(), allowed),
            None => self
                .faults
                .add(path, "has no latitude and longitude", allowed),
        }
        Ok(())
    }

    fn write(&mut self, text: &str) -> Result<(), Faults> {
        let wanted = matches!(
            self.path().as_slice(),
            ["gpx", "wpt" | "rte" | "trk", "name" | "type"]
        );
        if !wanted {
            return Ok(());
        }
        if self.text.len() + text.len() > LONGEST_TEXT {
            let path = format!("feature {}", self.features.len() + 1);
            return Err(Faults::one(
                path,
                "has too long a name or type",
                "a short name",
            ));
        }
        self.text.push_str(text);
        Ok(())
    }

    fn close(&mut self) {
        match self.path().as_slice() {
            ["gpx", "wpt" | "rte" | "trk", "name"] => {
                let text = std::mem::take(&mut self.text);
                if let Some(being) = &mut self.being {
                    text.trim().clone_into(&mut being.name);
                }
            }
            ["gpx", "wpt" | "rte" | "trk", "type"] => {
                let text = std::mem::take(&mut self.text);
                if let Some(being) = &mut self.being {
                    being.kind = text.trim().to_lowercase();
                }
            }
            ["gpx", "wpt"] => self.take(false),
            ["gpx", "rte" | "trk"] => self.take(true),
            _ => {}
        }
        self.path.pop();
    }

    /// Keeps what was read of a feature.
    fn take(&mut self, is_line: bool) {
        let Some(being) = self.being.take() else {
            return;
        };
        let nth = self.features.len() + 1;
        let short: String = being.name.chars().take(40).collect();
        let path = format!("feature {nth} ({short})");
        let known = KINDS.iter().find(|(word, _)| *word == being.kind);
        let kind = known
            .map(|(_, kind)| *kind)
            .filter(|kind| kind.is_area() == is_line);
        let mut rings = being.rings;
        rings.retain(|ring| !ring.is_empty());
        if is_line {
            for ring in &mut rings {
                let is_closed = ring.len() > 1 && ring.first() == ring.last();
                if is_closed {
                    ring.pop();
                } else {
                    self.faults.add(
                        &path,
                        "is a line that is not closed",
                        "a route or track whose last point is its first",
                    );
                }
            }
        }
        if rings.is_empty() && being.points == 0 {
            self.faults.add(&path, "has no points", "three or more");
        }
        // Further tracks of the same name and kind are further parts of one area.
        let same = self.features.last_mut().filter(|last| {
            is_line && kind == Some(Kind::KeepClear) && last.kind == kind && last.name == being.name
        });
        match same {
            Some(last) => last.areas.push(rings),
            None => self.features.push(Drawn {
                kind,
                name: being.name,
                areas: vec![rings],
            }),
        }
    }

    fn finish(self) -> Result<Vec<Drawn>, Faults> {
        if !self.is_gpx || !self.path.is_empty() {
            return Err(Faults::one("", "ends too early", "a whole GPX 1.1 file"));
        }
        if self.features.is_empty() && self.faults.is_empty() {
            return Err(Faults::one(
                "",
                "holds no waypoint, route or track",
                "something to draw",
            ));
        }
        self.faults.or(self.features)
    }
}

fn attribute(tag: &BytesStart<'_>, name: &str) -> Option<String> {
    let found = tag.try_get_attribute(name).ok().flatten()?;
    let value = found.normalized_value(XmlVersion::Implicit1_0).ok()?;
    Some(value.into_owned())
}

/// The root says what the file is.
fn root(tag: &BytesStart<'_>, name: &str) -> Result<(), Faults> {
    let namespace = match tag.name().into_inner().split_once(':') {
        Some((prefix, _)) => attribute(tag, &format!("xmlns:{prefix}")),
        None => attribute(tag, "xmlns"),
    };
    let version = attribute(tag, "version");
    if name != "gpx" {
        let short: String = name.chars().take(40).collect();
        return Err(Faults::one(
            "",
            format!("is '{short}', not GPX"),
            "a GPX 1.1 file",
        ));
    }
    let is_ours = namespace.as_deref() == Some(NAMESPACE) && version.as_deref() == Some("1.1");
    if !is_ours {
        let told = version.unwrap_or_else(|| "no version".to_owned());
        let short: String = told.chars().take(20).collect();
        return Err(Faults::one(
            "version",
            format!("is '{short}' in another namespace or version of GPX"),
            format!("version 1.1 of {NAMESPACE}"),
        ));
    }
    Ok(())
}

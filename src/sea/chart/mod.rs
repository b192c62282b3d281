//! The chart of a site: keep-clear areas, pickup zones, moorings and entry points, read from
//! GeoJSON (RFC 7946); the waters a boat may use, and how long it may lie there.
//!
//! Not for navigation.

mod areas;
mod buffer;
mod clearance;
mod drawn;
pub mod gpx;
mod ring;
mod stand_off;
mod track;
mod tree;
mod ways;
mod written;

#[cfg(test)]
mod tests;

use serde_json::{Value, json};

use crate::units::Faults;
use crate::units::document::{self, Object, Reader};

pub use areas::KeepClear;
pub use clearance::{Astray, TooNear, astray, too_near};
pub use drawn::{Drawn, LineFault, collection, corners, corners_written, drawn};
pub use ring::{Area, MOST_AREAS, MOST_POSITIONS, read_area, read_position};
pub use stand_off::{HORIZON_MIN, HullDrift, KNOT_M_S, hull_drift, stand_off_min};
pub use track::{Adrift, Piece, track};
pub use ways::{Run, Start, Ways};

use super::position::Position;

/// Most features of one chart.
pub const MOST_FEATURES: usize = 500;
/// Longest name of a feature, characters.
const LONGEST_NAME: usize = 100;

/// A named area of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedArea {
    /// Name as spoken on board.
    pub name: String,
    /// Its polygons; a pickup zone has one.
    pub areas: Vec<Area>,
}

/// A named place of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedPlace {
    /// Name as spoken on board.
    pub name: String,
    /// Where it is.
    pub position: Position,
}

/// What is charted at a site.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chart {
    /// Reef, rocks, swimming area, fairway.
    pub keep_clear: Vec<NamedArea>,
    /// Where groups are asked to surface.
    pub pickup_zones: Vec<NamedArea>,
    /// Moorings.
    pub moorings: Vec<NamedPlace>,
    /// Shot lines.
    pub shot_lines: Vec<NamedPlace>,
    /// Where groups enter the water.
    pub entry_points: Vec<NamedPlace>,
}

/// What a feature may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// An area that boats stay out of.
    KeepClear,
    /// An area where groups are asked to surface.
    PickupZone,
    /// A mooring.
    Mooring,
    /// A shot line.
    ShotLine,
    /// Where groups enter the water.
    EntryPoint,
}

impl Kind {
    /// Its word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::KeepClear => "keep-clear",
            Self::PickupZone => "pickup-zone",
            Self::Mooring => "mooring",
            Self::ShotLine => "shot-line",
            Self::EntryPoint => "entry-point",
        }
    }

    /// Whether it is an area rather than a place.
    #[must_use]
    pub fn is_area(self) -> bool {
        matches!(self, Self::KeepClear | Self::PickupZone)
    }
}

/// The kinds by their words in files.
pub const KINDS: [(&str, Kind); 5] = [
    ("keep-clear", Kind::KeepClear),
    ("pickup-zone", Kind::PickupZone),
    ("mooring", Kind::Mooring),
    ("shot-line", Kind::ShotLine),
    ("entry-point", Kind::EntryPoint),
];

impl Chart {
    /// Reads a GeoJSON feature collection. Members it does not know are passed over, as RFC 7946
    /// (section 6.1) wants, but for a `crs` other than WGS 84, which would put the reef elsewhere.
    ///
    /// # Errors
    /// Every fault, with the number and name of its feature.
    pub fn from_geojson(text: &[u8]) -> Result<Self, Faults> {
        let value = document::parse(text)?;
        let reader = Reader::new();
        let chart = read_chart(&reader, &value);
        reader.finish(chart)
    }

    /// The polygons of all keep-clear areas.
    pub fn keep_clear_areas(&self) -> impl Iterator<Item = &Area> {
        self.keep_clear.iter().flat_map(|named| &named.areas)
    }

    /// The chart as a GeoJSON feature collection; reads back as the same chart.
    #[must_use]
    pub fn to_geojson(&self) -> Value {
        let areas = [
            ("keep-clear", &self.keep_clear),
            ("pickup-zone", &self.pickup_zones),
        ];
        let places = [
            ("mooring", &self.moorings),
            ("shot-line", &self.shot_lines),
            ("entry-point", &self.entry_points),
        ];
        let areas = areas.into_iter().flat_map(|(kind, list)| {
            list.iter()
                .map(move |named| feature(kind, &named.name, &area_geometry(&named.areas)))
        });
        let places = places.into_iter().flat_map(|(kind, list)| {
            list.iter().map(move |named| {
                let point = json!({"type": "Point", "coordinates": named.position});
                feature(kind, &named.name, &point)
            })
        });
        json!({"type": "FeatureCollection", "features": areas.chain(places).collect::<Vec<_>>()})
    }
}

fn feature(kind: &str, name: &str, geometry: &Value) -> Value {
    json!({"type": "Feature", "properties": {"kind": kind, "name": name}, "geometry": geometry})
}

fn area_geometry(areas: &[Area]) -> Value {
    match areas {
        [area] => json!({"type": "Polygon", "coordinates": area.rings()}),
        several => json!({
            "type": "MultiPolygon",
            "coordinates": several.iter().map(Area::rings).collect::<Vec<_>>(),
        }),
    }
}

fn read_chart(reader: &Reader, value: &Value) -> Option<Chart> {
    let root = reader.object("", value)?;
    let sort = [("FeatureCollection", ())];
    root.take("type", |r, path, v| r.word(path, v, &sort));
    if let Some(crs) = root.optional("crs")
        && !["CRS84", "4326"]
            .iter()
            .any(|known| crs.to_string().contains(known))
    {
        reader.fault(
            "crs",
            "is another reference system",
            "WGS 84 (RFC 7946), without crs",
        );
    }
    let features = root.take("features", |r, path, v| r.list(path, v, MOST_FEATURES))?;
    let mut chart = Chart::default();
    let mut left = MOST_POSITIONS;
    for (nth, value) in features.iter().enumerate() {
        read_feature(
            reader,
            &format!("features[{nth}]"),
            value,
            &mut left,
            &mut chart,
        );
    }
    let areas = chart.keep_clear_areas().count();
    if areas > MOST_AREAS {
        let what = format!("has {areas} keep-clear polygons");
        reader.fault("features", what, format!("at most {MOST_AREAS}"));
    }
    Some(chart)
}

fn read_feature(
    reader: &Reader,
    path: &str,
    value: &Value,
    left: &mut usize,
    chart: &mut Chart,
) -> Option<()> {
    // Named as people know it, where it has a name.
    let name = value
        .get("properties")
        .and_then(|properties| properties.get("name"))
        .and_then(Value::as_str);
    let path = name.map_or_else(
        || path.to_owned(),
        |name| {
            let short: String = name.chars().filter(|c| !c.is_control()).take(40).collect();
            format!("{path} ({short})")
        },
    );
    let feature = reader.object(&path, value)?;
    feature.take("type", |r, path, v| r.word(path, v, &[("Feature", ())]));
    let properties = feature.take("properties", Reader::object);
    let geometry = feature.take("geometry", Reader::object);
    let properties = properties?;
    let kind = properties.take("kind", |r, path, v| r.word(path, v, &KINDS));
    let name = properties.take("name", |r, path, v| r.text(path, v, LONGEST_NAME));
    let (kind, geometry) = (kind?, geometry?);
    match kind {
        Kind::KeepClear | Kind::PickupZone => {
            let several = kind == Kind::KeepClear;
            let areas = read_areas(reader, &geometry, several, left)?;
            let list = if several {
                &mut chart.keep_clear
            } else {
                &mut chart.pickup_zones
            };
            list.push(NamedArea { name: name?, areas });
        }
        Kind::Mooring | Kind::ShotLine | Kind::EntryPoint => {
            geometry.take("type", |r, path, v| r.word(path, v, &[("Point", ())]))?;
            let position = geometry.take("coordinates", read_position)?;
            let place = NamedPlace {
                name: name?,
                position,
            };
            match kind {
                Kind::Mooring => chart.moorings.push(place),
                Kind::ShotLine => chart.shot_lines.push(place),
                Kind::KeepClear | Kind::PickupZone | Kind::EntryPoint => {
                    chart.entry_points.push(place);
                }
            }
        }
    }
    Some(())
}

fn read_areas(
    reader: &Reader,
    geometry: &Object<'_>,
    several: bool,
    left: &mut usize,
) -> Option<Vec<Area>> {
    let words = [("Polygon", false), ("MultiPolygon", true)];
    let words = if several {
        &words[..]
    } else {
        words.split_at(1).0
    };
    let multi = geometry.take("type", |r, path, v| r.word(path, v, words))?;
    let coordinates = geometry.required("coordinates")?;
    let path = geometry.path_of("coordinates");
    if !multi {
        return read_area(reader, &path, coordinates, left).map(|area| vec![area]);
    }
    let list = reader.list(&path, coordinates, MOST_AREAS)?;
    if list.is_empty() {
        reader.fault(&path, "has no polygon", "one or more");
    }
    list.iter()
        .enumerate()
        .map(|(nth, polygon)| read_area(reader, &format!("{path}[{nth}]"), polygon, left))
        .collect()
}

//! The features of a chart as fields of a form, and what a form of them says.

use std::collections::BTreeSet;

use serde_json::json;

use crate::sea::chart::{
    Chart, Drawn, KINDS, Kind, LineFault, astray, collection, corners, corners_written, too_near,
};
use crate::sea::position::Position;
use crate::sea::typed::Flaw;
use crate::store::register::Site;
use crate::web::desk::form::note;
use crate::web::form::Fields;
use crate::web::parts::{Choice, FieldFault};
use crate::words::Words;

/// Highest number of a row that is looked at; the chart itself has a limit below it.
const HIGHEST_ROW: usize = 1_000;

/// One feature as its fields stand.
#[derive(Debug, Clone, Default)]
pub(super) struct Row {
    /// Number in the names of its fields.
    pub n: usize,
    /// Word of its kind, or empty.
    pub kind: String,
    /// Name.
    pub name: String,
    /// Corners as typed.
    pub corners: String,
    /// Corners as read, `[longitude, latitude]`, for the script; empty where they cannot be read.
    pub read: String,
    /// Whether something of it is wrong.
    pub wrong: bool,
}

impl Row {
    /// The name of one of its fields.
    pub(super) fn field(&self, of: &str) -> String {
        format!("{of}-{}", self.n)
    }

    /// Kinds to choose from.
    pub(super) fn kinds(&self, t: &Words) -> Vec<Choice> {
        let choice = |value: &str, key: &str| Choice {
            value: value.to_owned(),
            label: t.say(key),
            note: String::new(),
            chosen: self.kind == value,
        };
        let mut kinds = vec![choice("", "chart-kind-choose")];
        kinds.extend(KINDS.map(|(word, kind)| choice(word, kind_key(kind))));
        kinds
    }

    /// What its summary says: name and kind.
    pub(super) fn title(&self, t: &Words) -> String {
        let kind = KINDS.iter().find(|(word, _)| *word == self.kind);
        let kind = kind.map_or("chart-kind-none", |(_, kind)| kind_key(*kind));
        let args = [
            ("name", self.name.as_str().into()),
            ("kind", t.say(kind).into()),
        ];
        t.say_with("chart-feature", &args)
    }

    fn is_blank(&self) -> bool {
        self.name.is_empty() && self.corners.is_empty()
    }
}

/// The words for a kind.
pub(super) fn kind_key(kind: Kind) -> &'static str {
    match kind {
        Kind::KeepClear => "chart-kind-keep-clear",
        Kind::PickupZone => "chart-kind-pickup-zone",
        Kind::Mooring => "chart-kind-mooring",
        Kind::ShotLine => "chart-kind-shot-line",
        Kind::EntryPoint => "chart-kind-entry-point",
    }
}

/// Features as rows, numbered from 1.
pub(super) fn rows_of(features: &[Drawn]) -> Vec<Row> {
    features
        .iter()
        .enumerate()
        .map(|(nth, one)| Row {
            n: nth + 1,
            kind: one.kind.map_or("", Kind::word).to_owned(),
            name: one.name.clone(),
            corners: corners_written(&one.areas),
            read: json!(one.areas).to_string(),
            wrong: false,
        })
        .collect()
}

/// What a form says: its rows, and the chart if it is sound. Faults are noted in the form.
pub(super) struct Told {
    /// The rows that are not to be taken out, as typed.
    pub rows: Vec<Row>,
    /// The chart, if every row holds.
    pub chart: Option<Chart>,
}

/// Reads the rows of a form and judges them as the chart of this site.
pub(super) fn told(fields: &Fields, site: &Site) -> Told {
    let numbers: BTreeSet<usize> = fields
        .pairs()
        .iter()
        .filter_map(|(name, _)| name.strip_prefix("corners-")?.parse().ok())
        .filter(|n| *n <= HIGHEST_ROW)
        .collect();
    let rows: Vec<Row> = numbers
        .into_iter()
        .filter(|n| !fields.ticked(&format!("remove-{n}")))
        .map(|n| Row {
            n,
            kind: fields.typed(&format!("kind-{n}")).to_owned(),
            name: fields.typed(&format!("name-{n}")).to_owned(),
            corners: fields.typed(&format!("corners-{n}")).to_owned(),
            ..Row::default()
        })
        .filter(|row| !row.is_blank())
        .collect();
    judged(fields, site, rows)
}

/// Judges rows as the chart of this site, and marks those with faults.
pub(super) fn judged(fields: &Fields, site: &Site, mut rows: Vec<Row>) -> Told {
    let features: Vec<Option<Drawn>> = rows
        .iter_mut()
        .map(|row| read(fields, site.position, row))
        .collect();
    let features: Option<Vec<Drawn>> = features.into_iter().collect();
    let chart = features.and_then(|features| {
        let document = collection(&features).to_string();
        match Chart::from_geojson(document.as_bytes()) {
            Ok(chart) => Some(chart),
            Err(faults) => {
                note(fields, &faults, |path| place(&rows, path));
                None
            }
        }
    });
    if let Some(chart) = &chart {
        let zones: Vec<usize> = rows
            .iter()
            .filter(|row| row.kind == Kind::PickupZone.word())
            .map(|row| row.n)
            .collect();
        let field = |zone: usize| {
            let n = zones.get(zone);
            n.map_or_else(String::new, |n| format!("corners-{n}"))
        };
        fits(fields, site.position, site.stand_off.m(), chart, field);
    }
    let faults = fields.faults();
    let is_of = |row: &Row, fault: &FieldFault| {
        ["kind", "name", "corners"]
            .iter()
            .any(|of| fault.field == format!("{of}-{}", row.n))
    };
    for row in &mut rows {
        row.wrong = faults.iter().any(|fault| is_of(row, fault));
    }
    Told {
        chart: chart.filter(|_| faults.is_empty()),
        rows,
    }
}

/// Whether a chart fits its site; `field`: where a fault of one of the zones stands.
pub(in crate::web::desk) fn fits(
    fields: &Fields,
    site: Position,
    stand_off_m: f64,
    chart: &Chart,
    field: impl Fn(usize) -> String,
) {
    for near in too_near(site, chart, stand_off_m) {
        let zone = chart.pickup_zones.get(near.zone);
        let args = [
            ("zone", zone.map_or("", |zone| zone.name.as_str()).into()),
            ("area", near.area.as_str().into()),
            // Rounded up: as far as it must be moved.
            ("metres", near.missing_m.ceil().into()),
        ];
        let key = if near.overlaps {
            "chart-zone-overlaps"
        } else {
            "chart-zone-near"
        };
        fields.fault(&field(near.zone), key, &args);
    }
    for off in astray(site, chart) {
        let key = if off.swapped {
            "chart-astray-swapped"
        } else {
            "chart-astray"
        };
        let args = [
            ("name", off.name.as_str().into()),
            ("metres", off.off_m.into()),
        ];
        fields.fault("", key, &args);
    }
}

fn read(fields: &Fields, site: Position, row: &mut Row) -> Option<Drawn> {
    let kind = KINDS.iter().find(|(word, _)| *word == row.kind);
    if kind.is_none() {
        fields.fault(
            &format!("kind-{}", row.n),
            "chart-no-kind",
            &[("name", row.name.as_str().into())],
        );
    }
    let areas = match corners(site, &row.corners) {
        Ok(areas) => {
            row.read = json!(areas).to_string();
            Some(areas)
        }
        Err(faults) => {
            for LineFault { line, flaw } in faults {
                let key = match flaw {
                    Flaw::Unread => "chart-line-unread",
                    Flaw::OutOfRange => "chart-line-range",
                    Flaw::Swapped => "chart-line-swapped",
                    Flaw::Far => "chart-line-far",
                };
                let args = [("name", row.name.as_str().into()), ("line", line.into())];
                fields.fault(&format!("corners-{}", row.n), key, &args);
            }
            None
        }
    };
    Some(Drawn {
        kind: Some(kind?.1),
        name: row.name.clone(),
        areas: areas?,
    })
}

/// The field a fault of the document stands in, and what people call its feature.
fn place(rows: &[Row], path: &str) -> (String, String) {
    let nth = path
        .strip_prefix("features[")
        .and_then(|rest| rest.split(']').next())
        .and_then(|nth| nth.parse::<usize>().ok());
    let Some(row) = nth.and_then(|nth| rows.get(nth)) else {
        return (
            String::new(),
            crate::web::language::words().say("site-chart"),
        );
    };
    let of = if path.ends_with("name") {
        "name"
    } else {
        "corners"
    };
    let called = if row.name.is_empty() {
        crate::web::language::words().say_with("chart-feature-number", &[("n", row.n.into())])
    } else {
        row.name.clone()
    };
    (format!("{of}-{}", row.n), called)
}

//! The chart of a dive as line art, drawn on the box: what is charted with its stand-off, groups,
//! runs and the boat, datum and time. It needs no script and prints. Not for navigation.

use std::fmt::{self, Write};

use super::sheet::{self, Sheet};
use crate::sea::position::{Metres, Position};
use crate::trip::ground::Ground;
use crate::web::marker::Mark;
use crate::web::svg::escaped;
use crate::words::Words;

/// What lies farther off than this from the site is in the list alone, metres.
const FARTHEST_M: f64 = 4_000.0;
/// Half the size of a group's marker.
const MARK: f64 = 24.0;

/// Somebody's place with the area about it.
pub struct Spot {
    /// The marker; none for people in no group.
    pub mark: Option<Mark>,
    /// What screen readers are told, and what stands beside it.
    pub label: String,
    /// The middle of the area.
    pub place: Position,
    /// Radius that holds nine in ten, metres.
    pub within_m: f64,
    /// Where it was seen or dropped; the way from there is drawn.
    pub from: Option<Position>,
    /// Something was seen there: a buoy alone, or heads.
    pub sighted: Option<Sighted>,
}

/// What was seen.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Sighted {
    /// A buoy alone.
    Buoy,
    /// Heads.
    Heads,
}

/// The boat's own place.
pub struct Boat {
    /// Where.
    pub place: Position,
    /// It may have gone on since.
    pub old: bool,
}

/// What is drawn over a ground.
pub struct Scene<'s> {
    /// The ground.
    pub ground: &'s Ground,
    /// The boat.
    pub boat: Option<Boat>,
    /// Groups and people.
    pub spots: Vec<Spot>,
    /// The ways of the pickups, in order.
    pub legs: Vec<Vec<Position>>,
    /// How the water moves, m/s, and in words.
    pub water: (Metres, String),
    /// How the wind blows, m/s, and in words.
    pub wind: (Metres, String),
    /// `WGS 84 · 14:05 local`.
    pub valid: String,
}

/// The drawing; nothing, if it cannot be written.
pub fn draw(scene: &Scene<'_>, t: &Words) -> Option<String> {
    let mut over = Over {
        sheet: Sheet::round(scene.ground.plane, shown(scene)),
        scene,
    };
    over.write(t).ok()?;
    Some(over.sheet.svg)
}

/// What is near enough to be shown, with so many metres about it.
fn shown<'s>(scene: &'s Scene<'_>) -> impl Iterator<Item = (Metres, f64)> + 's {
    let plane = scene.ground.plane;
    let stand_off = scene.ground.ways.outline().iter().flatten();
    let chart = scene.ground.chart.as_ref();
    let charted = chart.into_iter().flat_map(sheet::charted);
    let boat = scene.boat.iter().map(|boat| boat.place);
    let places = charted
        .chain(boat)
        .map(move |place| (plane.metres(place), 0.0));
    let spots = scene.spots.iter();
    let spots = spots.map(move |spot| (plane.metres(spot.place), spot.within_m));
    stand_off
        .map(|at| (*at, 0.0))
        .chain(places)
        .chain(spots)
        .filter(|(at, _)| at.length() <= FARTHEST_M)
}

struct Over<'s> {
    scene: &'s Scene<'s>,
    sheet: Sheet,
}

impl Over<'_> {
    fn write(&mut self, t: &Words) -> fmt::Result {
        self.sheet.open(t)?;
        let ground = self.scene.ground;
        let outline = ground.ways.outline().iter();
        let stand_off = sheet::path(outline.map(|ring| ring.iter().copied()))?;
        write!(
            self.sheet.svg,
            "<path class=\"chart-stand-off\" d=\"{stand_off}\"/>"
        )?;
        self.legs()?;
        self.spots()?;
        if let Ok(chart) = &ground.chart {
            self.sheet.charted(chart)?;
        }
        self.numbers()?;
        self.marks()?;
        self.boat(t)?;
        self.arrows()?;
        let not_for_navigation = t.say("not-for-navigation");
        self.sheet
            .close(&[not_for_navigation, self.scene.valid.clone()])
    }

    fn legs(&mut self) -> fmt::Result {
        let plane = self.sheet.plane;
        for leg in &self.scene.legs {
            let mut path = String::new();
            sheet::line(&mut path, leg.iter().map(|place| plane.metres(*place)))?;
            write!(self.sheet.svg, "<path class=\"chart-leg\" d=\"{path}\"/>")?;
        }
        Ok(())
    }

    /// The number of each run at its end, beside the marker that may stand at the same place.
    fn numbers(&mut self) -> fmt::Result {
        for (leg, number) in self.scene.legs.iter().zip(1_u32..) {
            if let Some(end) = leg.last() {
                let drawn = format!(
                    "<circle cx=\"0\" cy=\"-36\" r=\"14\"/><text x=\"0\" y=\"-29\">{number}</text>"
                );
                self.sheet
                    .keep(self.sheet.on(*end), "chart-order", &drawn)?;
            }
        }
        Ok(())
    }

    /// Likely areas, with the way to each from where something was seen last.
    fn spots(&mut self) -> fmt::Result {
        let least_m = (MARK + 8.0) * self.sheet.scale();
        for spot in &self.scene.spots {
            let (x, y) = self.sheet.on(spot.place);
            if let Some(from) = spot.from {
                let (from_x, from_y) = self.sheet.on(from);
                write!(
                    self.sheet.svg,
                    "<path class=\"chart-drift\" d=\"M{from_x:.1} {from_y:.1}L{x:.1} {y:.1}\"/>"
                )?;
            }
            let radius = spot.within_m.max(least_m);
            write!(
                self.sheet.svg,
                "<circle class=\"chart-likely\" fill=\"url(#likely)\" cx=\"{x:.1}\" cy=\"{y:.1}\" \
                 r=\"{radius:.1}\"><title>{}</title></circle>",
                escaped(&spot.label)
            )?;
        }
        Ok(())
    }

    fn marks(&mut self) -> fmt::Result {
        for spot in &self.scene.spots {
            if let Some((from, sighted)) = spot.from.zip(spot.sighted) {
                let shape = match sighted {
                    Sighted::Buoy => "<path d=\"M-5 8V-14H5V8Z\"/>",
                    Sighted::Heads => "<path d=\"M-6 2A6 6 0 1 1 6 2Z\"/>",
                };
                self.sheet
                    .keep(self.sheet.on(from), "chart-sighting", shape)?;
            }
            let drawn = match &spot.mark {
                Some(mark) => format!(
                    "<g transform=\"translate(-{MARK} -{MARK}) scale(0.75)\">\
                     <path class=\"chart-mark-ground\" d=\"M8 8H56V56H8Z\"/>{}</g>",
                    mark.drawn()
                ),
                None => format!(
                    "<circle r=\"5\"/><text x=\"10\" y=\"8\">{}</text>",
                    escaped(&spot.label)
                ),
            };
            self.sheet
                .keep(self.sheet.on(spot.place), "chart-mark", &drawn)?;
        }
        Ok(())
    }

    fn boat(&mut self, t: &Words) -> fmt::Result {
        let Some(boat) = &self.scene.boat else {
            return Ok(());
        };
        let (class, word) = if boat.old {
            ("chart-boat old", "chart-boat-old")
        } else {
            ("chart-boat", "chart-boat")
        };
        let drawn = format!(
            "<path d=\"M0 -20L13 14H-13Z\"/><text x=\"18\" y=\"14\">{}</text>",
            escaped(&t.say(word))
        );
        self.sheet.keep(self.sheet.on(boat.place), class, &drawn)
    }

    /// Current and wind in the corner, each with its words: where the water goes to, and where
    /// the wind blows to.
    fn arrows(&mut self) -> fmt::Result {
        self.sheet.corner("left top")?;
        for (y, class, (way, words)) in [
            (30.0, "chart-water", &self.scene.water),
            (72.0, "chart-wind", &self.scene.wind),
        ] {
            if way.length() > 0.0 {
                write!(
                    self.sheet.svg,
                    "<path class=\"{class}\" transform=\"translate(28 {y}) rotate({:.0})\" \
                     d=\"M0 17V-17M-8 -7L0 -17L8 -7\"/>",
                    way.direction_deg()
                )?;
            }
            let words = escaped(words);
            write!(
                self.sheet.svg,
                "<text x=\"54\" y=\"{}\">{words}</text>",
                y + 8.0
            )?;
        }
        self.sheet.svg.push_str("</g>");
        Ok(())
    }
}

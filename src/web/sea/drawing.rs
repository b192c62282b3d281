//! The chart as line art, drawn on the box: north up, a scale in metres, datum and time. It
//! needs no script and prints. Not for navigation.

use std::fmt::{self, Write};

use crate::sea::chart::NamedPlace;
use crate::sea::position::{Metres, Position};
use crate::sea::zones::Zone;
use crate::trip::ground::Ground;
use crate::web::marker::Mark;
use crate::web::svg::escaped;
use crate::words::Words;

/// Width and height of the drawing, in its own units.
const SIZE: f64 = 800.0;
/// Kept free round what is shown.
const MARGIN: f64 = 70.0;
/// Never less than this across, metres, so that a bare mooring does not fill the page.
const LEAST_M: f64 = 300.0;
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

struct Sheet<'s> {
    scene: &'s Scene<'s>,
    west: f64,
    north: f64,
    scale: f64,
    svg: String,
}

/// The drawing; nothing, if it cannot be written.
pub fn draw(scene: &Scene<'_>, t: &Words) -> Option<String> {
    let mut sheet = Sheet::round(scene);
    sheet.write(t).ok()?;
    Some(sheet.svg)
}

impl<'s> Sheet<'s> {
    /// A sheet round everything near the site.
    fn round(scene: &'s Scene<'s>) -> Self {
        let half = LEAST_M / 2.0;
        let (mut low, mut high) = (Metres::new(-half, -half), Metres::new(half, half));
        let mut take = |at: Metres, about: f64| {
            if at.length() > FARTHEST_M {
                return;
            }
            low = Metres::new(
                low.east.min(at.east - about),
                low.north.min(at.north - about),
            );
            high = Metres::new(
                high.east.max(at.east + about),
                high.north.max(at.north + about),
            );
        };
        let ground = scene.ground;
        let plane = &ground.plane;
        for ring in ground.ways.outline() {
            for at in ring {
                take(*at, 0.0);
            }
        }
        for zone in &ground.zones {
            for at in zone.area.rings().flatten() {
                take(*at, 0.0);
            }
        }
        for place in places(ground) {
            take(plane.metres(place.position), 0.0);
        }
        for spot in &scene.spots {
            take(plane.metres(spot.place), spot.within_m);
        }
        if let Some(boat) = &scene.boat {
            take(plane.metres(boat.place), 0.0);
        }
        let across = (high.east - low.east).max(high.north - low.north);
        Self {
            scene,
            west: f64::midpoint(low.east, high.east) - across / 2.0,
            north: f64::midpoint(low.north, high.north) + across / 2.0,
            scale: (SIZE - 2.0 * MARGIN) / across,
            svg: String::new(),
        }
    }

    fn at(&self, place: Metres) -> (f64, f64) {
        (
            MARGIN + (place.east - self.west) * self.scale,
            MARGIN + (self.north - place.north) * self.scale,
        )
    }

    fn on(&self, place: Position) -> (f64, f64) {
        self.at(self.scene.ground.plane.metres(place))
    }

    fn write(&mut self, t: &Words) -> fmt::Result {
        // The plane's metres at the corner of the drawing, so that a tap can be told as a place.
        let (west, north) = (
            self.west - MARGIN / self.scale,
            self.north + MARGIN / self.scale,
        );
        write!(
            self.svg,
            "<svg class=\"sea-chart\" viewBox=\"0 0 {SIZE} {SIZE}\" tabindex=\"0\" role=\"group\" \
             aria-label=\"{}\" data-west=\"{west:.2}\" data-north=\"{north:.2}\" \
             data-scale=\"{:.6}\"><defs>\
             <pattern id=\"keep-clear\" width=\"12\" height=\"12\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45)\"><path class=\"hatch\" d=\"M0 0V12\"/></pattern>\
             <pattern id=\"likely\" width=\"14\" height=\"14\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(-45)\"><path class=\"hatch thin\" d=\"M0 0V14\"/></pattern></defs>",
            escaped(&t.say("chart-label")),
            self.scale
        )?;
        self.areas()?;
        self.legs()?;
        self.spots()?;
        self.places()?;
        self.boat(t)?;
        self.corners(t)?;
        self.svg.push_str("</svg>");
        Ok(())
    }

    /// Something that keeps its size on the screen, drawn about its own middle.
    fn keep(&mut self, (x, y): (f64, f64), class: &str, drawn: &str) -> fmt::Result {
        write!(
            self.svg,
            "<g class=\"{class}\" data-chart-at=\"{x:.1} {y:.1}\" \
             transform=\"translate({x:.1} {y:.1})\">{drawn}</g>"
        )
    }

    fn path(&self, rings: impl Iterator<Item = Vec<Metres>>) -> Result<String, fmt::Error> {
        let mut path = String::new();
        for ring in rings {
            for (nth, place) in ring.iter().enumerate() {
                let (x, y) = self.at(*place);
                write!(path, "{}{x:.1} {y:.1}", if nth == 0 { 'M' } else { 'L' })?;
            }
            path.push('Z');
        }
        Ok(path)
    }

    fn areas(&mut self) -> fmt::Result {
        let ground = self.scene.ground;
        let clear = self.path(ground.ways.areas().rings().map(<[Metres]>::to_vec))?;
        let stand_off = self.path(ground.ways.outline().iter().cloned())?;
        write!(
            self.svg,
            "<path class=\"chart-stand-off\" d=\"{stand_off}\"/>\
             <path class=\"chart-clear\" fill=\"url(#keep-clear)\" d=\"{clear}\"/>"
        )?;
        for zone in &ground.zones {
            let path = self.path(zone.area.rings().map(<[Metres]>::to_vec))?;
            write!(self.svg, "<path class=\"chart-zone\" d=\"{path}\"/>")?;
        }
        for (name, area) in ground.named_areas() {
            self.name(name, area.rings(), "chart-clear-name")?;
        }
        for Zone { name, area } in &ground.zones {
            self.name(name, area.rings(), "chart-zone-name")?;
        }
        Ok(())
    }

    /// A name in the middle of an area.
    fn name<'r>(
        &mut self,
        name: &str,
        rings: impl Iterator<Item = &'r [Metres]>,
        class: &str,
    ) -> fmt::Result {
        let (mut sum, mut many) = ((0.0, 0.0), 0.0);
        for place in rings.flatten() {
            let (x, y) = self.at(*place);
            sum = (sum.0 + x, sum.1 + y);
            many += 1.0;
        }
        if many > 0.0 {
            let text = format!("<text>{}</text>", escaped(name));
            self.keep((sum.0 / many, sum.1 / many), class, &text)?;
        }
        Ok(())
    }

    fn places(&mut self) -> fmt::Result {
        for place in places(self.scene.ground) {
            let drawn = format!(
                "<circle r=\"7\"/><text x=\"13\" y=\"8\">{}</text>",
                escaped(&place.name)
            );
            self.keep(self.on(place.position), "chart-place", &drawn)?;
        }
        Ok(())
    }

    fn legs(&mut self) -> fmt::Result {
        let scene = self.scene;
        for (leg, number) in scene.legs.iter().zip(1_u32..) {
            let mut path = String::new();
            for (nth, place) in leg.iter().enumerate() {
                let (x, y) = self.on(*place);
                write!(path, "{}{x:.1} {y:.1}", if nth == 0 { 'M' } else { 'L' })?;
            }
            write!(self.svg, "<path class=\"chart-leg\" d=\"{path}\"/>")?;
            if let Some(end) = leg.last() {
                // Beside the marker that may stand at the same place.
                let drawn = format!(
                    "<circle cx=\"0\" cy=\"-36\" r=\"14\"/><text x=\"0\" y=\"-29\">{number}</text>"
                );
                self.keep(self.on(*end), "chart-order", &drawn)?;
            }
        }
        Ok(())
    }

    fn spots(&mut self) -> fmt::Result {
        let scene = self.scene;
        for spot in &scene.spots {
            let (x, y) = self.on(spot.place);
            let radius = (spot.within_m * self.scale).max(MARK + 8.0);
            let label = escaped(&spot.label);
            if let Some(from) = spot.from {
                let (from_x, from_y) = self.on(from);
                write!(
                    self.svg,
                    "<path class=\"chart-drift\" d=\"M{from_x:.1} {from_y:.1}L{x:.1} {y:.1}\"/>"
                )?;
                if let Some(sighted) = spot.sighted {
                    let shape = match sighted {
                        Sighted::Buoy => "<path d=\"M-5 8V-14H5V8Z\"/>",
                        Sighted::Heads => "<path d=\"M-6 2A6 6 0 1 1 6 2Z\"/>",
                    };
                    self.keep((from_x, from_y), "chart-sighting", shape)?;
                }
            }
            write!(
                self.svg,
                "<circle class=\"chart-likely\" fill=\"url(#likely)\" cx=\"{x:.1}\" cy=\"{y:.1}\" \
                 r=\"{radius:.1}\"><title>{label}</title></circle>"
            )?;
            let drawn = match &spot.mark {
                Some(mark) => format!(
                    "<g transform=\"translate(-{MARK} -{MARK}) scale(0.75)\">\
                     <path class=\"chart-mark-ground\" d=\"M8 8H56V56H8Z\"/>{}</g>",
                    mark.drawn()
                ),
                None => format!("<circle r=\"5\"/><text x=\"10\" y=\"8\">{label}</text>"),
            };
            self.keep((x, y), "chart-mark", &drawn)?;
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
        self.keep(self.on(boat.place), class, &drawn)
    }

    /// In the corners: current and wind, each with its words, where the water goes to and where
    /// the wind blows to; the arrow of north; a bar of a round length, datum and time.
    fn corners(&mut self, t: &Words) -> fmt::Result {
        let scene = self.scene;
        self.svg
            .push_str("<g class=\"chart-corner\" data-chart-corner=\"left top\">");
        for (y, class, (way, words)) in [
            (30.0, "chart-water", &scene.water),
            (72.0, "chart-wind", &scene.wind),
        ] {
            if way.length() > 0.0 {
                write!(
                    self.svg,
                    "<path class=\"{class}\" transform=\"translate(28 {y}) rotate({:.0})\" \
                     d=\"M0 17V-17M-8 -7L0 -17L8 -7\"/>",
                    way.direction_deg()
                )?;
            }
            let words = escaped(words);
            write!(self.svg, "<text x=\"54\" y=\"{}\">{words}</text>", y + 8.0)?;
        }
        let metres = round_length(SIZE / 3.5 / self.scale);
        let right = 16.0 + metres * self.scale;
        write!(
            self.svg,
            "</g><g class=\"chart-corner\" data-chart-corner=\"right top\" \
             transform=\"translate({SIZE} 0)\"><path class=\"chart-bar\" \
             d=\"M-30 62V16M-40 30L-30 16L-20 30\"/><text x=\"-39\" y=\"88\">N</text></g>\
             <g class=\"chart-corner\" data-chart-corner=\"left bottom\" \
             transform=\"translate(0 {SIZE})\">\
             <text x=\"16\" y=\"-68\">{}</text><text x=\"16\" y=\"-42\">{}</text>\
             <g class=\"chart-bar\" data-chart-bar=\"m\"><path d=\"M16 -22V-14H{right:.1}V-22\"/>\
             <text x=\"{:.1}\" y=\"-12\">{metres:.0}\u{a0}m</text></g></g>",
            escaped(&t.say("not-for-navigation")),
            escaped(&scene.valid),
            right + 8.0,
        )
    }
}

fn places(ground: &Ground) -> impl Iterator<Item = &NamedPlace> {
    ground.chart.iter().flat_map(|chart| {
        chart
            .moorings
            .iter()
            .chain(&chart.shot_lines)
            .chain(&chart.entry_points)
    })
}

fn round_length(most: f64) -> f64 {
    [5_000.0, 2_000.0, 1_000.0, 500.0, 200.0, 100.0, 50.0, 20.0]
        .into_iter()
        .find(|length| *length <= most)
        .unwrap_or(10.0)
}

//! A picture under a chart, placed by two points whose pixels and positions are both known: it is
//! turned, scaled and shifted, never bent.

use serde::{Deserialize, Serialize};

use super::position::{LocalPlane, Metres, Position};

/// Least distance of the two points in the picture, pixels: nearer, a slip of one pixel turns
/// the picture by more than a degree.
pub const LEAST_PX: f64 = 60.0;
/// Least distance of the two positions, metres.
pub const LEAST_M: f64 = 20.0;

/// A point of a picture: pixels from its left and upper edge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pixel {
    /// From the left edge.
    pub x: f64,
    /// From the upper edge.
    pub y: f64,
}

/// A pixel and where it is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tie {
    /// In the picture.
    pub pixel: Pixel,
    /// On the sea.
    pub position: Position,
}

/// Why two points do not place a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TieError {
    /// The pixels lie too near to each other.
    #[error("the two pixels lie nearer to each other than 60 pixels")]
    Pixels,
    /// The positions lie too near to each other.
    #[error("the two positions lie nearer to each other than 20 m")]
    Positions,
    /// A figure is not a number.
    #[error("a pixel is not a number")]
    NotANumber,
}

/// A picture laid on the plane of a site: `east = a x + b y + c`, `south = a y - b x + d` in
/// metres, `x` and `y` in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laid {
    a: f64,
    b: f64,
    c: f64,
    d: f64,
}

impl Laid {
    /// The one similarity that brings both pixels to their positions.
    ///
    /// # Errors
    /// [`TieError`] where the points are too near to each other to tell how it lies.
    pub fn by(plane: &LocalPlane, [one, other]: [Tie; 2]) -> Result<Self, TieError> {
        let px = (other.pixel.x - one.pixel.x, other.pixel.y - one.pixel.y);
        let square = px.0 * px.0 + px.1 * px.1;
        if !square.is_finite() {
            return Err(TieError::NotANumber);
        }
        if square < LEAST_PX * LEAST_PX {
            return Err(TieError::Pixels);
        }
        if one.position.distance_m(other.position) < LEAST_M {
            return Err(TieError::Positions);
        }
        let [from, to] = [one, other].map(|tie| plane.metres(tie.position));
        let (east, south) = (to.east - from.east, from.north - to.north);
        // As complex numbers: (a - i b) (px + i py) = east + i south.
        let a = (east * px.0 + south * px.1) / square;
        let b = (east * px.1 - south * px.0) / square;
        let Pixel { x, y } = one.pixel;
        Ok(Self {
            a,
            b,
            c: from.east - (a * x + b * y),
            d: -from.north - (a * y - b * x),
        })
    }

    /// Where a pixel lies.
    #[must_use]
    pub fn at(&self, Pixel { x, y }: Pixel) -> Metres {
        Metres::new(
            self.a * x + self.b * y + self.c,
            -(self.a * y - self.b * x + self.d),
        )
    }

    /// Metres a pixel.
    #[must_use]
    pub fn metres_a_pixel(&self) -> f64 {
        self.a.hypot(self.b)
    }

    /// The six figures of an SVG `matrix()` that brings pixels to metres east and south.
    #[must_use]
    pub fn matrix(&self) -> [f64; 6] {
        [self.a, -self.b, self.b, self.a, self.c, self.d]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site() -> Position {
        Position::from_degrees(73.5, 4.2).unwrap()
    }

    fn tie(x: f64, y: f64, east: f64, north: f64) -> Tie {
        let plane = LocalPlane::round(site());
        Tie {
            pixel: Pixel { x, y },
            position: plane.position(Metres::new(east, north)),
        }
    }

    /// A picture of 1,000 pixels for 2,000 m with north up, and one turned a quarter, by hand.
    #[test]
    fn it_is_scaled_turned_and_shifted() {
        let plane = LocalPlane::round(site());
        let up = Laid::by(
            &plane,
            [
                tie(0.0, 0.0, -1000.0, 1000.0),
                tie(1000.0, 1000.0, 1000.0, -1000.0),
            ],
        )
        .unwrap();
        assert!((up.metres_a_pixel() - 2.0).abs() < 1e-6);
        assert!(
            up.at(Pixel { x: 500.0, y: 250.0 })
                .distance(Metres::new(0.0, 500.0))
                < 1e-5
        );
        // Its right edge to the south: east of the picture is south of the sea.
        let turned = Laid::by(
            &plane,
            [tie(0.0, 0.0, 0.0, 0.0), tie(100.0, 0.0, 0.0, -300.0)],
        )
        .unwrap();
        assert!(
            turned
                .at(Pixel { x: 0.0, y: 100.0 })
                .distance(Metres::new(-300.0, 0.0))
                < 1e-5
        );
    }

    #[test]
    fn points_too_near_to_each_other_are_refused() {
        let plane = LocalPlane::round(site());
        let by = |one, other| Laid::by(&plane, [one, other]);
        assert_eq!(
            by(tie(0.0, 0.0, 0.0, 0.0), tie(50.0, 0.0, 500.0, 0.0)),
            Err(TieError::Pixels)
        );
        assert_eq!(
            by(tie(0.0, 0.0, 0.0, 0.0), tie(500.0, 0.0, 15.0, 0.0)),
            Err(TieError::Positions)
        );
        assert_eq!(
            by(tie(f64::NAN, 0.0, 0.0, 0.0), tie(500.0, 0.0, 150.0, 0.0)),
            Err(TieError::NotANumber)
        );
    }

    proptest::proptest! {
        /// Both points come to lie where they are, and lengths keep their proportion.
        #[test]
        fn both_points_lie_where_they_are(
            x in 0.0..4000.0_f64, y in 0.0..4000.0_f64, e in -5000.0..5000.0_f64, n in -5000.0..5000.0_f64,
            turn in 0.0..360.0_f64, px in 60.0..3000.0_f64, m in 25.0..5000.0_f64,
        ) {
            let plane = LocalPlane::round(site());
            let (sin, cos) = turn.to_radians().sin_cos();
            let one = tie(x, y, e, n);
            let other = tie(x + px * cos, y + px * sin, e + m, n);
            let laid = Laid::by(&plane, [one, other]).unwrap();
            for tie in [one, other] {
                proptest::prop_assert!(laid.at(tie.pixel).distance(plane.metres(tie.position)) < 1e-4);
            }
            let [a, b, c, d, tx, ty] = laid.matrix();
            let svg = Metres::new(a * x + c * y + tx, -(b * x + d * y + ty));
            proptest::prop_assert!(svg.distance(Metres::new(e, n)) < 1e-4);
            proptest::prop_assert!((laid.metres_a_pixel() - m / px).abs() < 1e-6 * m);
        }
    }
}

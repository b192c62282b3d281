//! Sides under boxes under larger boxes: what is far off is left out at one look.
//!
//! The sides of a ring lie near each other in their order, so the tree is built by counting off.

use crate::sea::position::Metres;

use super::areas::{Reach, Side};

/// Sides in a box, and boxes in the next larger one.
const FAN: usize = 8;

/// Sides with a tree of boxes over them.
#[derive(Debug, Clone, Default)]
pub(super) struct Sides {
    sides: Vec<Side>,
    /// Boxes of sides first; each next level boxes [`FAN`] of the one before.
    levels: Vec<Vec<Reach>>,
}

impl Sides {
    pub(super) fn new(sides: Vec<Side>) -> Self {
        let mut levels: Vec<Vec<Reach>> = Vec::new();
        let mut level: Vec<Reach> = sides.chunks(FAN).map(Reach::of_sides).collect();
        while level.len() > 1 {
            let next = level.chunks(FAN).map(Reach::about).collect();
            levels.push(std::mem::replace(&mut level, next));
        }
        levels.push(level);
        Self { sides, levels }
    }

    pub(super) fn all(&self) -> &[Side] {
        &self.sides
    }

    /// Looks at every side in a box that is `worth` it, in order, until `look` says stop by
    /// `false`. Whether a box is worth it is asked anew at each, so that what was found may tell.
    fn visit(
        &self,
        worth: &mut impl FnMut(&Reach, &Found) -> bool,
        look: &mut impl FnMut(usize, &Side, &mut Found) -> bool,
    ) -> Found {
        let mut found = Found::default();
        let top = self.levels.len().saturating_sub(1);
        let boxes = self.levels.last().map_or(0, Vec::len);
        for nth in 0..boxes {
            if !self.within(top, nth, worth, look, &mut found) {
                break;
            }
        }
        found
    }

    fn within(
        &self,
        level: usize,
        nth: usize,
        worth: &mut impl FnMut(&Reach, &Found) -> bool,
        look: &mut impl FnMut(usize, &Side, &mut Found) -> bool,
        found: &mut Found,
    ) -> bool {
        let reach = self.levels.get(level).and_then(|boxes| boxes.get(nth));
        if !reach.is_some_and(|reach| worth(reach, found)) {
            return true;
        }
        let first = nth * FAN;
        let Some(below) = level.checked_sub(1) else {
            let sides = self.sides.iter().enumerate().skip(first).take(FAN);
            for (nth, side) in sides {
                if !look(nth, side, found) {
                    return false;
                }
            }
            return true;
        };
        let many = self.levels.get(below).map_or(0, Vec::len);
        for nth in first..(first + FAN).min(many) {
            if !self.within(below, nth, worth, look, found) {
                return false;
            }
        }
        true
    }

    /// Whether a line from `p` eastward crosses an odd number of sides.
    pub(super) fn holds(&self, p: Metres) -> bool {
        let found = self.visit(
            &mut |reach, _| reach.is_east_of(p),
            &mut |_, side, found| {
                found.count += usize::from(side.crossed_eastward(p));
                true
            },
        );
        found.count % 2 == 1
    }

    /// Whether the line from `a` to `b` has a point in common with a side.
    pub(super) fn are_met(&self, a: Metres, b: Metres) -> bool {
        let reach = Reach::of(a, b);
        let found = self.visit(
            &mut |round, _| round.overlaps(&reach),
            &mut |_, side, found| {
                found.count = usize::from(side.meets(a, b));
                found.count == 0
            },
        );
        found.count > 0
    }

    /// Number of the side nearest to `p`, the first of several, and how far along it.
    pub(super) fn nearest(&self, p: Metres) -> Option<(usize, f64)> {
        let found = self.visit(
            &mut |round, found| round.square_from(p) < found.least,
            &mut |nth, side, found| {
                let along = side.nearest_along(p);
                let off = side.at(along) - p;
                let square = off.dot(off);
                if square < found.least {
                    found.least = square;
                    found.side = Some((nth, along));
                }
                true
            },
        );
        found.side
    }

    /// Times at which a ray from `p` with `velocity` crosses a side, in no order.
    pub(super) fn crossed_at(&self, p: Metres, velocity: Metres) -> Vec<f64> {
        let mut times = Vec::new();
        self.visit(
            &mut |round, _| round.is_met_by_ray(p, velocity),
            &mut |_, side, _| {
                times.extend(side.crossed_at(p, velocity));
                true
            },
        );
        times
    }
}

/// What a visit has found so far.
#[derive(Debug)]
struct Found {
    count: usize,
    least: f64,
    side: Option<(usize, f64)>,
}

impl Default for Found {
    fn default() -> Self {
        Self {
            count: 0,
            least: f64::INFINITY,
            side: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::sea::chart::areas::sides_of;

    fn place() -> impl Strategy<Value = Metres> {
        // Whole metres, so that corners and lines often fall together.
        (-40_i32..40, -40_i32..40).prop_map(|(e, n)| Metres::new(f64::from(e), f64::from(n)))
    }

    proptest! {
        /// Looking at every side one by one gives the same answers.
        #[test]
        fn the_tree_answers_as_the_sides_do(
            rings in prop::collection::vec(prop::collection::vec(place(), 3..120), 0..4),
            p in place(), q in place(),
        ) {
            let plain: Vec<Side> = rings.iter().flat_map(|ring| sides_of(ring)).collect();
            let tree = Sides::new(plain.clone());
            let crossed = plain.iter().filter(|side| side.crossed_eastward(p)).count();
            prop_assert_eq!(tree.holds(p), crossed % 2 == 1);
            prop_assert_eq!(tree.are_met(p, q), plain.iter().any(|side| side.meets(p, q)));
            let least = plain
                .iter()
                .map(|side| side.at(side.nearest_along(p)).distance(p))
                .fold(f64::INFINITY, f64::min);
            let found = tree.nearest(p).map_or(f64::INFINITY, |(nth, along)| {
                tree.all()[nth].at(along).distance(p)
            });
            prop_assert!(least.total_cmp(&found).is_eq(), "{least} {found}");
            let mut by_tree = tree.crossed_at(p, q);
            let mut one_by_one: Vec<f64> =
                plain.iter().filter_map(|side| side.crossed_at(p, q)).collect();
            by_tree.sort_by(f64::total_cmp);
            one_by_one.sort_by(f64::total_cmp);
            prop_assert_eq!(by_tree, one_by_one);
        }
    }
}

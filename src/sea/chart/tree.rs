//! Sides under boxes under larger boxes: what is far off is left out at one look.
//!
//! The sides of a ring lie near each other in their order, so the tree is built by counting off.

use std::cmp::Ordering;

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

    /// Looks at every side in a box that is `worth` it, until `look` says stop by `false`.
    fn visit(&self, worth: &impl Fn(&Reach) -> bool, look: &mut impl FnMut(&Side) -> bool) {
        let top = self.levels.len().saturating_sub(1);
        let boxes = self.levels.last().map_or(0, Vec::len);
        for nth in 0..boxes {
            if !self.within(top, nth, worth, look) {
                break;
            }
        }
    }

    fn within(
        &self,
        level: usize,
        nth: usize,
        worth: &impl Fn(&Reach) -> bool,
        look: &mut impl FnMut(&Side) -> bool,
    ) -> bool {
        let reach = self.levels.get(level).and_then(|boxes| boxes.get(nth));
        if !reach.is_some_and(worth) {
            return true;
        }
        let first = nth * FAN;
        let Some(below) = level.checked_sub(1) else {
            let mut sides = self.sides.iter().skip(first).take(FAN);
            return sides.all(look);
        };
        let many = self.levels.get(below).map_or(0, Vec::len);
        (first..(first + FAN).min(many)).all(|nth| self.within(below, nth, worth, look))
    }

    /// Whether a line from `p` eastward crosses an odd number of sides.
    pub(super) fn holds(&self, p: Metres) -> bool {
        let mut crossed = false;
        self.visit(&|reach| reach.is_east_of(p), &mut |side| {
            crossed ^= side.crossed_eastward(p);
            true
        });
        crossed
    }

    /// Whether the line from `a` to `b` has a point in common with a side.
    pub(super) fn are_met(&self, a: Metres, b: Metres) -> bool {
        let mut met = false;
        self.visit(&|round| round.is_met(a, b), &mut |side| {
            met = side.meets(a, b);
            !met
        });
        met
    }

    /// Number of the side nearest to `p`, the first of several, and how far along it.
    pub(super) fn nearest(&self, p: Metres) -> Option<(usize, f64)> {
        self.nearest_but(p, [usize::MAX; 2])
    }

    /// The same among all sides but two.
    pub(super) fn nearest_but(&self, p: Metres, but: [usize; 2]) -> Option<(usize, f64)> {
        let mut nearest = Nearest {
            p,
            but,
            square: f64::INFINITY,
            side: None,
        };
        let top = self.levels.len().saturating_sub(1);
        let boxes = self.levels.last().map_or(0, Vec::len);
        (0..boxes).for_each(|nth| self.nearer(top, nth, &mut nearest));
        nearest.side
    }

    /// Looks for a nearer side in a box: in the nearest of the boxes in it first.
    fn nearer(&self, level: usize, nth: usize, nearest: &mut Nearest) {
        let first = nth * FAN;
        let Some(below) = level.checked_sub(1) else {
            let sides = self.sides.iter().enumerate().skip(first).take(FAN);
            sides.for_each(|(nth, side)| nearest.look(nth, side));
            return;
        };
        let mut order = [(f64::INFINITY, usize::MAX); FAN];
        let boxes = self.levels.get(below).into_iter().flatten();
        for (slot, (nth, reach)) in order.iter_mut().zip(boxes.enumerate().skip(first)) {
            *slot = (reach.square_from(nearest.p), nth);
        }
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (square, nth) in order {
            // As far off counts too: of two that are as near the first is taken.
            if nth == usize::MAX || square > nearest.square {
                break;
            }
            self.nearer(below, nth, nearest);
        }
    }

    /// Times at which a ray from `p` with `velocity` crosses a side, in no order.
    pub(super) fn crossed_at(&self, p: Metres, velocity: Metres) -> Vec<f64> {
        let mut times = Vec::new();
        self.visit(&|round| round.is_met_by_ray(p, velocity), &mut |side| {
            times.extend(side.crossed_at(p, velocity));
            true
        });
        times
    }
}

/// The nearest side found so far.
struct Nearest {
    p: Metres,
    but: [usize; 2],
    square: f64,
    side: Option<(usize, f64)>,
}

impl Nearest {
    fn look(&mut self, nth: usize, side: &Side) {
        if self.but.contains(&nth) {
            return;
        }
        let along = side.nearest_along(self.p);
        let off = side.at(along) - self.p;
        let square = off.dot(off);
        let is_nearer = match square.total_cmp(&self.square) {
            Ordering::Less => true,
            Ordering::Equal => self.side.is_none_or(|(known, _)| nth < known),
            Ordering::Greater => false,
        };
        if is_nearer {
            self.square = square;
            self.side = Some((nth, along));
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

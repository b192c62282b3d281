//! Figures from outside the project against ours.

mod geodesics;
mod pickup;

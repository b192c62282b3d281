//! Units: quantities as types at the edges of the pure rooms, the one table of permitted
//! ranges, and the reader that turns a document into them naming every fault.

pub mod bounds;
pub mod document;
mod fault;
mod quantity;
pub mod rounding;
pub mod system;
mod text;

pub use fault::{Fault, Faults};
pub use quantity::{
    AmbientBar, CylinderBar, CylinderLitres, Depth, Distance, Knots, LitresPerMinute, Minutes,
    OutOfRange, OxygenFraction, SetTowards, WindFrom,
};
pub use text::{is_plain, turns_the_line};

//! Figures from outside the project against ours.

#[cfg(test)]
mod beacons;
#[cfg(test)]
mod decompression;
#[cfg(test)]
mod drift;
#[cfg(test)]
mod gas;
#[cfg(test)]
mod geodesics;
#[cfg(test)]
mod navy;
#[cfg(test)]
mod oxygen;
#[cfg(test)]
mod pickup;
#[cfg(test)]
mod stream;
#[cfg(test)]
mod sun;
#[cfg(test)]
mod table;

//! Figures from outside the project against ours.

#[cfg(test)]
mod gas;
#[cfg(test)]
mod table;

//! What must hold of every plan: no change for the worse ever makes one look safer.

#[cfg(test)]
mod properties;

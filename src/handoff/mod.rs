//! What a candidate is drawn and cut from.

pub mod body;
pub mod step;

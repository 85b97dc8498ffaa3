//! What a candidate is drawn and cut from.

pub mod body;
pub mod mesh;
pub mod step;
pub mod three_mf;

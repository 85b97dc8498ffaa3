//! What several tests and benches share.

#![allow(dead_code, missing_docs)]

pub mod problems;
pub mod reference;

//! What is needed to draw and cut a design, as files in memory.

pub mod drawing;

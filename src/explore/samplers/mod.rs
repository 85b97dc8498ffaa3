//! Samplers: which designs to evaluate when nothing is known. One file each; registered here and in
//! [`super::Plan`].

mod directions;
pub(crate) mod discrepancy;
pub(crate) mod factorial;
pub(crate) mod latin_hypercube;
pub(crate) mod sobol;

/// Designs a sampler evaluates between two calls of the observer.
pub(crate) const BLOCK: usize = 512;

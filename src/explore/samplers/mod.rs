//! Samplers: which designs to evaluate when nothing is known. One file each; registered here and in
//! [`super::Plan`].

pub(crate) mod box_behnken;
pub(crate) mod central_composite;
mod coded;
mod directions;
pub(crate) mod discrepancy;
pub(crate) mod even_latin_hypercube;
mod evenness;
pub(crate) mod factorial;
pub(crate) mod halton;
pub(crate) mod latin_hypercube;
mod permutation;
pub(crate) mod plackett_burman;
mod sequence;
pub(crate) mod sobol;
pub(crate) mod space_filling;
pub(crate) mod two_level;

use super::{Error, Plan};

/// Designs a sampler evaluates between two calls of the observer.
pub(crate) const BLOCK: usize = 512;

impl Plan {
    /// Number of designs of a plan that fixes it, starts aside; `None` where the budget says how many, and for grids,
    /// which depend on their axes. Discrete axes with fewer values than the plan has levels can make it fewer.
    ///
    /// # Errors
    ///
    /// A plan that does not exist for so many axes.
    pub fn designs(&self, axes: usize) -> Result<Option<usize>, Error> {
        let coded = match *self {
            Self::TwoLevel { halvings } => {
                let fraction = two_level::Fraction::new(axes, halvings)?;
                return Ok(Some(fraction.runs()));
            }
            Self::PlackettBurman => return plackett_burman::runs(axes).map(Some),
            Self::CentralComposite { axial, halvings } => {
                central_composite::coded(axes, axial, halvings)?
            }
            Self::BoxBehnken => box_behnken::coded(axes)?,
            _ => return Ok(None),
        };
        Ok(Some(coded.len() / axes))
    }
}

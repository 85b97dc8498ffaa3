//! Response surfaces: what some designs that were worked out say of all others.
//!
//! A [`Law`] is fitted to designs whose outputs are known and predicts them anywhere in the space, in microseconds.
//! It says how far off it is on designs that it was *not* fitted to. [`spread`] and [`farthest`] say which designs
//! are worth working out.

mod basis;
mod coordinates;
mod designs;
mod error;
mod fit;
mod kernel;
mod law;
mod minimise;
mod posterior;
mod process;
mod surface;
mod terms;

pub use coordinates::Variable;
pub use designs::{farthest, spread};
pub use error::FitError;
pub use fit::Model;
pub use kernel::Kernel;
pub use law::{Designs, Law, Misfit, Settings};

pub(super) use coordinates::{Coordinates, MOST};
pub(super) use posterior::{Look, Posterior, Setup};
pub(super) use process::Sample;

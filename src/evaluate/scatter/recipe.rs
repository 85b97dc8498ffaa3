//! What a study says of scatter.

use super::distribution::{Distribution, Shape};

/// What scatters.
#[derive(Clone, Debug, PartialEq)]
pub enum Of {
    /// A design variable, by its index: whatever is made of it.
    Variable(usize),
    /// Modulus of elasticity of the material.
    Modulus,
    /// Density of the material.
    Density,
    /// Yield strength of the material.
    Yield,
    /// A load case, by its index: all its forces, moments and accelerations, or how far it opens a blade.
    Load(usize),
    /// A dimension of the part, by its name in the list of tolerances: `outer wall, thickness`.
    Dimension(String),
}

/// One thing that scatters.
#[derive(Clone, Debug, PartialEq)]
pub struct ScatterRecipe {
    /// What.
    pub of: Of,
    /// Its name as the study writes it.
    pub name: String,
    /// How: in base units of the variable, in mm of a dimension; or as a share of the nominal value.
    pub distribution: Distribution,
    /// Whether it is a share of the nominal value, as those of materials and load cases are.
    pub relative: bool,
    /// Name of what it has in common with others.
    pub common: Option<String>,
    /// Share of its variance that comes from there; 0 to 1.
    pub share: f64,
}

/// How a study's parts scatter, and what is asked of them.
#[derive(Clone, Debug, PartialEq)]
pub struct ScatterPlan {
    /// What the study says itself.
    pub recipes: Vec<ScatterRecipe>,
    /// How the tolerances of the process are read; `None`: they are left out.
    pub process: Option<Shape>,
    /// Least chance of meeting all constraints together; `None`: they are judged at nominal sizes.
    pub chance: Option<f64>,
    /// Scattered copies of every design of a search, at least.
    pub samples: usize,
}

impl Default for ScatterPlan {
    fn default() -> Self {
        ScatterPlan {
            recipes: Vec::new(),
            process: Some(Shape::Normal),
            chance: None,
            samples: 16,
        }
    }
}

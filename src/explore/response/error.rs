//! Why a law can't be fitted.

use std::fmt;

/// Why a law can't be fitted.
#[derive(Clone, Debug, PartialEq)]
pub enum FitError {
    /// A variable without a range or a choice that makes sense.
    BadVariable {
        /// Its index.
        variable: usize,
    },
    /// More coordinates than a law carries; a variable without order takes one for each of its kinds.
    TooManyCoordinates {
        /// Coordinates of all variables together.
        coordinates: usize,
        /// Most a law carries.
        most: usize,
    },
    /// Lengths of points, values and weights that don't belong together.
    Shape {
        /// Numbers in the points.
        points: usize,
        /// Numbers in the values.
        values: usize,
        /// Numbers in the weights.
        weights: usize,
    },
    /// A variable that is no finite number, or an index outside its list.
    BadPoint {
        /// Index of the design.
        design: usize,
        /// Index of the variable.
        variable: usize,
    },
    /// A value that is infinite; unknown ones are NaN.
    BadValue {
        /// Index of the design.
        design: usize,
        /// Index of the output.
        output: usize,
    },
    /// A weight that is not a finite number above 0.
    BadWeight {
        /// Index of the design.
        design: usize,
    },
    /// Too few designs with a known value of an output.
    TooFew {
        /// Index of the output.
        output: usize,
        /// Designs that have it.
        designs: usize,
        /// Least number.
        least: usize,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::BadVariable { variable } => {
                write!(f, "use variable {variable}: its range holds no values")
            }
            Self::TooManyCoordinates { coordinates, most } => {
                write!(f, "fit {coordinates} coordinates: a law carries {most}")
            }
            Self::Shape {
                points,
                values,
                weights,
            } => write!(
                f,
                "share {points} coordinates, {values} values and {weights} weights between designs"
            ),
            Self::BadPoint { design, variable } => {
                write!(f, "place variable {variable} of design {design}")
            }
            Self::BadValue { design, output } => {
                write!(f, "fit output {output} of design {design}: it is infinite")
            }
            Self::BadWeight { design } => {
                write!(f, "weigh design {design}: weights are finite and above 0")
            }
            Self::TooFew {
                output,
                designs,
                least,
            } => write!(
                f,
                "fit output {output}: {designs} designs have it, {least} are needed"
            ),
        }
    }
}

impl std::error::Error for FitError {}

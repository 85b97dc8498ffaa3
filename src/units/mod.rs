//! Dimensions and units: the only place where numbers change their unit.
//!
//! Inside `fretwork` every number is in mm, N, s, tonne (so stress in N/mm² = MPa, density in t/mm³), rad and
//! one unit of money, unless its name says otherwise (`mass_g`).
//!
//! ```
//! let (value, unit) = fretwork::units::read_quantity("0.125 in").unwrap();
//! assert_eq!(value, 3.175);
//! assert_eq!(unit.print(value), "0.125 in");
//! ```

mod dimension;
mod print;
mod read;
mod symbol;
mod table;

pub use dimension::Dimension;
pub use print::print_number;
pub use read::{UnitFault, UnitFaultKind, read_quantity, read_unit};
pub(crate) use read::{number_length, unit_length};
pub use symbol::Symbol;
pub use table::{UNITS, find_unit, nearest_unit};

/// A unit: its symbol, what it measures, and how many base units (mm, t, s, rad, money) it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As written in a study and printed: `mm`, `N/mm`, `g`. Empty for a plain number.
    pub symbol: Symbol,
    /// What it measures.
    pub dimension: Dimension,
    /// Size in base units: 1 g is 1e-6 t.
    pub size: f64,
}

impl Unit {
    /// The unit of plain numbers.
    pub const NUMBER: Unit = Unit::new("", Dimension::NUMBER, 1.0);
    /// Millimetre.
    pub const MM: Unit = Unit::new("mm", Dimension::LENGTH, 1.0);
    /// Cubic millimetre.
    pub const MM3: Unit = Unit::new("mm^3", Dimension([3, 0, 0, 0, 0]), 1.0);
    /// Gram.
    pub const GRAM: Unit = Unit::new("g", Dimension::MASS, 1e-6);
    /// Second.
    pub const SECOND: Unit = Unit::new("s", Dimension::TIME, 1.0);
    /// Newton.
    pub const NEWTON: Unit = Unit::new("N", Dimension::FORCE, 1.0);
    /// Newton per millimetre: stiffness against a force.
    pub const N_PER_MM: Unit = Unit::new("N/mm", Dimension([0, 1, -2, 0, 0]), 1.0);
    /// Newton millimetre.
    pub const N_MM: Unit = Unit::new("N mm", Dimension::MOMENT, 1.0);
    /// Newton millimetre per radian: stiffness against a moment.
    pub const N_MM_PER_RAD: Unit = Unit::new("N mm/rad", Dimension([2, 1, -2, -1, 0]), 1.0);
    /// Megapascal.
    pub const MPA: Unit = Unit::new("MPa", Dimension::STRESS, 1.0);
    /// Hertz.
    pub const HERTZ: Unit = Unit::new("Hz", Dimension([0, 0, -1, 0, 0]), 1.0);
    /// Radian.
    pub const RADIAN: Unit = Unit::new("rad", Dimension::ANGLE, 1.0);
    /// Degree of angle.
    pub const DEGREE: Unit = Unit::new("deg", Dimension::ANGLE, std::f64::consts::PI / 180.0);

    /// A unit from its parts. The symbol may have up to [`Symbol::LONGEST`] bytes.
    pub const fn new(symbol: &str, dimension: Dimension, size: f64) -> Unit {
        Unit {
            symbol: Symbol::new(symbol),
            dimension,
            size,
        }
    }

    /// The base unit of a dimension: `mm`, `N`, `MPa` where it has a name, otherwise a product of base units.
    pub fn base(dimension: Dimension) -> Unit {
        let named = [
            Unit::NUMBER,
            Unit::MM,
            Unit::SECOND,
            Unit::NEWTON,
            Unit::N_PER_MM,
            Unit::N_MM,
            Unit::N_MM_PER_RAD,
            Unit::MPA,
            Unit::HERTZ,
            Unit::DEGREE,
            Unit::GRAM,
        ];
        named
            .into_iter()
            .find(|unit| unit.dimension == dimension)
            .unwrap_or_else(|| Unit::new(&dimension.product(), dimension, 1.0))
    }
}

//! Every named unit.
//!
//! Sizes: NIST Special Publication 811 (2008), appendix B (exact for inch, pound, standard gravity; pound-force
//! and psi follow from those), from memory; ISO 80000-3 and -4 for the symbols.

use super::{Dimension, Unit};
use std::f64::consts::PI;

const POUND_T: f64 = 0.453_592_37e-3;
const INCH_MM: f64 = 25.4;
const GRAVITY: f64 = 9_806.65;
const POUND_FORCE: f64 = POUND_T * GRAVITY;
const PSI: f64 = POUND_FORCE / (INCH_MM * INCH_MM);
const POWER: Dimension = Dimension([2, 1, -3, 0, 0]);
const FREQUENCY: Dimension = Dimension([0, 0, -1, 0, 0]);

/// Named units with what they are called in full, in the order of a printed list.
pub const UNITS: &[(Unit, &str)] = &[
    (Unit::MM, "millimetre"),
    (Unit::new("um", Dimension::LENGTH, 1e-3), "micrometre"),
    (Unit::new("µm", Dimension::LENGTH, 1e-3), "micrometre"),
    (Unit::new("cm", Dimension::LENGTH, 10.0), "centimetre"),
    (Unit::new("m", Dimension::LENGTH, 1e3), "metre"),
    (Unit::new("in", Dimension::LENGTH, INCH_MM), "inch"),
    (
        Unit::new("thou", Dimension::LENGTH, 0.0254),
        "thousandth of an inch",
    ),
    (Unit::new("ft", Dimension::LENGTH, 304.8), "foot"),
    (Unit::GRAM, "gram"),
    (Unit::new("mg", Dimension::MASS, 1e-9), "milligram"),
    (Unit::new("kg", Dimension::MASS, 1e-3), "kilogram"),
    (Unit::new("t", Dimension::MASS, 1.0), "tonne"),
    (Unit::new("lb", Dimension::MASS, POUND_T), "pound"),
    (Unit::new("oz", Dimension::MASS, POUND_T / 16.0), "ounce"),
    (Unit::SECOND, "second"),
    (Unit::new("ms", Dimension::TIME, 1e-3), "millisecond"),
    (Unit::new("min", Dimension::TIME, 60.0), "minute"),
    (Unit::new("h", Dimension::TIME, 3600.0), "hour"),
    (Unit::RADIAN, "radian"),
    (Unit::new("mrad", Dimension::ANGLE, 1e-3), "milliradian"),
    (Unit::DEGREE, "degree"),
    (Unit::new("°", Dimension::ANGLE, PI / 180.0), "degree"),
    (
        Unit::new("rev", Dimension::NUMBER, 1.0),
        "revolution, a plain count",
    ),
    (Unit::NEWTON, "newton"),
    (Unit::new("mN", Dimension::FORCE, 1e-3), "millinewton"),
    (Unit::new("kN", Dimension::FORCE, 1e3), "kilonewton"),
    (
        Unit::new("lbf", Dimension::FORCE, POUND_FORCE),
        "pound-force",
    ),
    (
        Unit::new("ozf", Dimension::FORCE, POUND_FORCE / 16.0),
        "ounce-force",
    ),
    (Unit::new("Pa", Dimension::STRESS, 1e-6), "pascal"),
    (Unit::new("kPa", Dimension::STRESS, 1e-3), "kilopascal"),
    (Unit::MPA, "megapascal, N/mm^2"),
    (Unit::new("GPa", Dimension::STRESS, 1e3), "gigapascal"),
    (
        Unit::new("psi", Dimension::STRESS, PSI),
        "pound-force per square inch",
    ),
    (Unit::new("ksi", Dimension::STRESS, 1e3 * PSI), "1000 psi"),
    (Unit::HERTZ, "hertz"),
    (Unit::new("kHz", FREQUENCY, 1e3), "kilohertz"),
    (
        Unit::new("gn", Dimension::ACCELERATION, GRAVITY),
        "standard gravity",
    ),
    (Unit::new("W", POWER, 1e3), "watt"),
    (Unit::new("kW", POWER, 1e6), "kilowatt"),
    (Unit::new("J", Dimension::MOMENT, 1e3), "joule"),
    (
        Unit::new("money", Dimension::MONEY, 1.0),
        "whatever money the study counts in",
    ),
    // Codes of ISO 4217. One study counts in one money, so all are of size 1.
    (Unit::new("EUR", Dimension::MONEY, 1.0), "euro"),
    (Unit::new("USD", Dimension::MONEY, 1.0), "US dollar"),
    (Unit::new("GBP", Dimension::MONEY, 1.0), "pound sterling"),
    (Unit::new("CHF", Dimension::MONEY, 1.0), "Swiss franc"),
    (Unit::new("JPY", Dimension::MONEY, 1.0), "yen"),
    (Unit::new("CNY", Dimension::MONEY, 1.0), "yuan renminbi"),
    (Unit::new("INR", Dimension::MONEY, 1.0), "Indian rupee"),
    (Unit::new("KRW", Dimension::MONEY, 1.0), "won"),
    (Unit::new("SEK", Dimension::MONEY, 1.0), "Swedish krona"),
    (Unit::new("NOK", Dimension::MONEY, 1.0), "Norwegian krone"),
    (Unit::new("DKK", Dimension::MONEY, 1.0), "Danish krone"),
    (Unit::new("PLN", Dimension::MONEY, 1.0), "zloty"),
    (Unit::new("CZK", Dimension::MONEY, 1.0), "Czech koruna"),
    (Unit::new("CAD", Dimension::MONEY, 1.0), "Canadian dollar"),
    (Unit::new("AUD", Dimension::MONEY, 1.0), "Australian dollar"),
    (
        Unit::new("NZD", Dimension::MONEY, 1.0),
        "New Zealand dollar",
    ),
    (Unit::new("SGD", Dimension::MONEY, 1.0), "Singapore dollar"),
    (Unit::new("BRL", Dimension::MONEY, 1.0), "real"),
    (Unit::new("MXN", Dimension::MONEY, 1.0), "Mexican peso"),
    (Unit::new("ZAR", Dimension::MONEY, 1.0), "rand"),
    (Unit::new("%", Dimension::NUMBER, 0.01), "per cent"),
];

/// The unit of a symbol, capitals told apart.
pub fn find_unit(symbol: &str) -> Option<Unit> {
    UNITS
        .iter()
        .map(|(unit, _)| *unit)
        .find(|unit| unit.symbol.as_str() == symbol)
}

/// The symbol nearest to a misspelt one: same letters in other capitals, the unit's full name or its plural,
/// or one letter off. `None` where nothing is near.
pub fn nearest_unit(symbol: &str) -> Option<&'static str> {
    let low = symbol.to_lowercase();
    let singular = low.strip_suffix('s').unwrap_or(&low);
    let named = |name: &str| name == low || name == singular;
    let other = match low.as_str() {
        "rpm" => Some("rev/min"),
        "inch" | "inches" | "\"" => Some("in"),
        "meter" | "meters" => Some("m"),
        "sec" => Some("s"),
        "hr" => Some("h"),
        "g0" | "g_n" => Some("gn"),
        _ => None,
    };
    let capitals = || {
        UNITS
            .iter()
            .find(|(unit, name)| unit.symbol.to_lowercase() == low || named(name))
    };
    let near = || {
        let close = |text: &str| symbol.len() > 2 && strsim::levenshtein(symbol, text) == 1;
        UNITS.iter().find(|(unit, _)| close(&unit.symbol))
    };
    other.or_else(|| {
        capitals()
            .or_else(near)
            .map(|(unit, _)| unit.symbol.as_str())
    })
}

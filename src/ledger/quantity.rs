//! A named value with its unit, as decisions and ledgers write it.

use crate::units::{Unit, number_length, read_unit};

/// A value with its name and unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// Name as formulas use it: `floor`, `tilt.stiffness`.
    pub name: String,
    /// Number, in the unit; finite.
    pub value: f64,
    /// Symbol of the unit: `N/mm`; empty for plain numbers.
    pub unit: String,
}

/// Why a text is no quantity, in words.
pub(crate) type QuantityFault = &'static str;

impl Quantity {
    /// Reads `1.4 mm`.
    ///
    /// # Errors
    /// No finite number in front, no unit behind it.
    pub(crate) fn read(name: &str, text: &str) -> Result<Quantity, QuantityFault> {
        let text = text.trim();
        let sign = usize::from(text.starts_with(['-', '+']));
        let end = sign + number_length(&text[sign..]);
        let value: f64 = text[..end].parse().unwrap_or(f64::NAN);
        if end == sign || !value.is_finite() {
            return Err("it does not begin with a number");
        }
        let unit = text[end..].trim();
        if read_unit(unit).is_err() {
            return Err("what follows the number is no unit");
        }
        let (name, unit) = (name.into(), unit.into());
        Ok(Quantity { name, value, unit })
    }

    /// As written: `1.4 mm`. Up to `digits` significant digits, without zeros at the end.
    pub fn text(&self, digits: usize) -> String {
        format!("{} {}", number(self.value, digits), self.unit)
            .trim_end()
            .into()
    }

    /// The value in another unit; `None` where that measures something else.
    pub fn in_unit(&self, unit: &str) -> Option<f64> {
        let factor = factor(&self.unit, unit)?;
        Some(self.value * factor)
    }
}

/// Whether two symbols stand for the same unit, or for units of the same kind that turn into each other.
pub fn same_unit(one: &str, other: &str) -> bool {
    factor(one, other).is_some()
}

/// What a number in one unit is multiplied by to be in the other. Money does not turn into other money.
fn factor(from: &str, to: &str) -> Option<f64> {
    if from == to {
        return Some(1.0);
    }
    let (from, to): (Unit, Unit) = (read_unit(from).ok()?, read_unit(to).ok()?);
    let money = from.dimension.0[4] != 0;
    (from.dimension == to.dimension && !money).then(|| from.size / to.size)
}

/// A number with up to so many significant digits, without zeros at the end. Reads back as itself where it has no more.
pub(super) fn number(value: f64, digits: usize) -> String {
    let rounded: f64 = format!("{value:.*e}", digits.max(1) - 1)
        .parse()
        .unwrap_or(value);
    let size = rounded.abs();
    match size == 0.0 || (1e-5..1e15).contains(&size) {
        true => format!("{}", rounded + 0.0),
        false => format!("{rounded:e}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_read_as_they_are_written() {
        for (value, unit, text) in [
            (1.4, "mm", "1.4 mm"),
            (0.1 + 0.2, "mm", "0.3 mm"),
            (-0.0, "g", "0 g"),
            (1523.4567891, "N/mm", "1523.4567891 N/mm"),
            (2.0, "", "2"),
            (1e-9, "mm^4", "1e-9 mm^4"),
            (12.5, "EUR", "12.5 EUR"),
            (-3.25e20, "N mm/rad", "-3.25e20 N mm/rad"),
        ] {
            let quantity = Quantity {
                name: "x".into(),
                value,
                unit: unit.into(),
            };
            assert_eq!(quantity.text(12), text);
            let read = Quantity::read("x", text).unwrap();
            assert_eq!((read.unit.as_str(), read.text(12).as_str()), (unit, text));
            assert!((read.value - value).abs() <= 1e-12 * value.abs());
        }
        assert_eq!(number(1546.123456, 4), "1546");
        for wrong in [
            "",
            "mm",
            "nan",
            "inf mm",
            "1e999 mm",
            "1.4 furlong?",
            "- 3 mm",
            "1.4 mm;",
        ] {
            assert!(Quantity::read("x", wrong).is_err(), "{wrong}");
        }
    }

    /// 1 in = 25.4 mm and 1 min = 60 s exactly (SI brochure, table 8; ISO 80000-3).
    #[test]
    fn units_of_one_kind_turn_into_each_other() {
        let of = |value, unit: &str| Quantity {
            name: "x".into(),
            value,
            unit: unit.into(),
        };
        assert_eq!(of(2.0, "in").in_unit("mm"), Some(50.8));
        assert_eq!(of(90.0, "s").in_unit("min"), Some(1.5));
        assert_eq!(of(1.0, "g").in_unit("mm"), None);
        assert_eq!(
            of(1.0, "EUR").in_unit("USD"),
            None,
            "rates of exchange are not known here"
        );
        assert_eq!(of(1.0, "EUR").in_unit("EUR"), Some(1.0));
    }
}

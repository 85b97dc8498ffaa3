//! `3.2 mm`, `10 N/mm`, `2700 kg/m^3` read from text.

use super::{Dimension, Symbol, Unit, find_unit, nearest_unit};
use std::fmt;
use std::ops::Range;

/// Why a unit or quantity could not be read, and where in its text.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitFault {
    /// Bytes of the text at fault.
    pub range: Range<usize>,
    /// What is wrong.
    pub kind: UnitFaultKind,
}

/// What can be wrong with a unit or quantity.
#[derive(Clone, Debug, PartialEq)]
pub enum UnitFaultKind {
    /// No number at the start.
    NoNumber,
    /// The number is NaN, infinite or too large.
    NotFinite,
    /// A symbol that is no unit.
    Unknown(String),
    /// A factor after a solidus: `N/mm rad` may mean two things.
    Ambiguous,
    /// An exponent that is no whole number from -9 to 9.
    Exponent,
    /// Something else where a unit was looked for.
    Unreadable,
    /// A unit text longer than [`Symbol::LONGEST`] bytes, or exponents beyond all use.
    TooLong,
}

impl fmt::Display for UnitFaultKind {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoNumber => out.write_str("a number was looked for here"),
            Self::NotFinite => out.write_str("the number is not finite"),
            Self::Unknown(symbol) => write!(out, "`{symbol}` is no unit"),
            Self::Ambiguous => out.write_str("a factor after `/` may mean two things"),
            Self::Exponent => out.write_str("an exponent of a unit is a whole number from -9 to 9"),
            Self::Unreadable => out.write_str("a unit was looked for here"),
            Self::TooLong => out.write_str("the unit is too long"),
        }
    }
}

impl UnitFaultKind {
    /// What to write instead, where that can be said.
    pub fn mend(&self) -> Option<String> {
        match self {
            Self::NoNumber => Some("write a number and its unit: \"3.2 mm\"".into()),
            Self::NotFinite => Some("write a finite number".into()),
            Self::Unknown(symbol) => Some(match nearest_unit(symbol) {
                Some(near) => format!("did you mean `{near}`?"),
                None => {
                    "units are written as mm, in, N, MPa, g, s, deg; products as N mm, N/mm".into()
                }
            }),
            Self::Ambiguous => Some("put all that is divided by in parentheses: N/(mm rad)".into()),
            Self::Exponent => Some("write mm^2, mm^-1".into()),
            Self::Unreadable => Some("write units as N/mm, N mm, kg/m^3".into()),
            Self::TooLong => None,
        }
    }
}

/// A quantity in base units, with the unit it was written in: a number, then its unit, spaces as you like.
///
/// # Errors
/// Where and why the text is no finite number with a unit (or none).
pub fn read_quantity(text: &str) -> Result<(f64, Unit), UnitFault> {
    let start = text.len() - text.trim_start().len();
    let sign = usize::from(text[start..].starts_with(['-', '+']));
    let digits = number_length(&text[start + sign..]);
    let end = start + sign + digits;
    if digits == 0 {
        let kind = match text.trim().trim_start_matches(['-', '+']) {
            "nan" | "NaN" | "inf" | "infinity" => UnitFaultKind::NotFinite,
            _ => UnitFaultKind::NoNumber,
        };
        return Err(UnitFault {
            range: start..text.trim_end().len().max(start),
            kind,
        });
    }
    let unit = read_unit(&text[end..]).map_err(|fault| UnitFault {
        range: fault.range.start + end..fault.range.end + end,
        kind: fault.kind,
    })?;
    let number: f64 = text[start..end].parse().unwrap_or(f64::NAN);
    let value = number * unit.size;
    if value.is_finite() {
        Ok((value, unit))
    } else {
        Err(UnitFault {
            range: start..end,
            kind: UnitFaultKind::NotFinite,
        })
    }
}

/// A unit from its text; an empty text is the unit of plain numbers.
///
/// Factors are set side by side or joined by `*`, divided by `/`, raised by `^`: `N mm`, `kg/m^3`, `N/(mm rad)`.
///
/// # Errors
/// Where and why the text is no unit.
pub fn read_unit(text: &str) -> Result<Unit, UnitFault> {
    let start = text.len() - text.trim_start().len();
    let body = text.trim();
    if body.is_empty() {
        return Ok(Unit::NUMBER);
    }
    let mut reader = Reader {
        text,
        at: start,
        depth: 0,
    };
    let (dimension, size) = reader.product()?;
    reader.spaces();
    if reader.at < text.len() {
        return Err(reader.fault(reader.at..text.trim_end().len(), UnitFaultKind::Unreadable));
    }
    if body.len() > Symbol::LONGEST || !size.is_finite() || size == 0.0 {
        return Err(reader.fault(start..start + body.len(), UnitFaultKind::TooLong));
    }
    Ok(Unit::new(body, dimension, size))
}

/// How many bytes at the start of `text` are a plain decimal number without sign: `3.2`, `.5`, `1e-3`; 0 where
/// there is none. An `e` counts as an exponent only before digits.
pub(crate) fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        at
    };
    let whole = digits(0);
    let mut end = whole;
    let mut any = whole > 0;
    if bytes.get(end) == Some(&b'.') {
        let fraction = digits(end + 1);
        any |= fraction > end + 1;
        end = fraction;
    }
    if !any {
        return 0;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits(end + 1 + sign);
        if exponent > end + 1 + sign {
            end = exponent;
        }
    }
    end
}

/// How many bytes at the start of `text` (which follows a number) belong to a unit, for readers of
/// expressions: the longest run of unit factors. 0 where the text does not start with a letter, `%` or `°`.
///
/// `* mm` and `/ mm` go on with the unit, `* 2`, `/ length` and `/ min(` do not.
pub(crate) fn unit_length(text: &str) -> usize {
    let mut end = 0;
    let mut at = skip_spaces(text, 0);
    if symbol_length(&text[at..]) == 0 {
        return 0;
    }
    loop {
        at += symbol_length(&text[at..]);
        at += power_length(&text[at..]);
        end = at.max(end);
        let mut next = skip_spaces(text, at);
        if text[next..].starts_with(['*', '/']) {
            next = skip_spaces(text, next + 1);
        }
        if let Some(group) = group_length(&text[next..]).filter(|_| next > at) {
            end = next + group;
            return end + power_length(&text[end..]);
        }
        let symbol = symbol_length(&text[next..]);
        let after = next + symbol;
        let function = text[after..].trim_start().starts_with('(');
        if symbol == 0 || function || find_unit(&text[next..after]).is_none() {
            return end;
        }
        at = next;
    }
}

/// Length of `(unit unit ...)` where everything inside is units.
fn group_length(text: &str) -> Option<usize> {
    let inside = text.strip_prefix('(')?;
    let close = inside.find(')')?;
    let body = &inside[..close];
    (!body.trim().is_empty() && read_unit(body).is_ok()).then_some(close + 2)
}

fn power_length(text: &str) -> usize {
    let Some(after) = text.strip_prefix('^') else {
        return 0;
    };
    let sign = usize::from(after.starts_with('-'));
    let digits = after[sign..].bytes().take_while(u8::is_ascii_digit).count();
    if digits == 0 { 0 } else { 1 + sign + digits }
}

fn symbol_length(text: &str) -> usize {
    if text.starts_with(['%', '°']) {
        return text.chars().next().map_or(0, char::len_utf8);
    }
    let part = |index: usize, letter: char| {
        letter.is_alphabetic() || letter == '_' || (index > 0 && letter.is_ascii_digit())
    };
    text.char_indices()
        .find(|&(index, letter)| !part(index, letter))
        .map_or(text.len(), |(index, _)| index)
}

fn skip_spaces(text: &str, at: usize) -> usize {
    text.len() - text[at..].trim_start().len()
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    depth: usize,
}

impl Reader<'_> {
    fn product(&mut self) -> Result<(Dimension, f64), UnitFault> {
        let mut total = self.factor()?;
        let mut divided = false;
        loop {
            let before = self.at;
            self.spaces();
            let sign = self.text[self.at..].chars().next();
            match sign {
                None | Some(')') => return Ok(total),
                Some('/') => {
                    self.at += 1;
                    divided = true;
                }
                Some('*') => self.at += 1,
                Some(_) if self.at == before => {
                    return Err(self.fault(before..self.text.len(), UnitFaultKind::Unreadable));
                }
                Some(_) => {}
            }
            self.spaces();
            let start = self.at;
            let (dimension, size) = self.factor()?;
            let joined = match sign {
                Some('/') => total
                    .0
                    .over(dimension)
                    .map(|joined| (joined, total.1 / size)),
                _ if divided => return Err(self.fault(start..self.at, UnitFaultKind::Ambiguous)),
                _ => total
                    .0
                    .times(dimension)
                    .map(|joined| (joined, total.1 * size)),
            };
            total = joined.ok_or_else(|| self.fault(start..self.at, UnitFaultKind::TooLong))?;
        }
    }

    fn factor(&mut self) -> Result<(Dimension, f64), UnitFault> {
        let start = self.at;
        let rest = &self.text[start..];
        let (dimension, size) = if rest.starts_with('(') && self.depth < 8 {
            self.at += 1;
            self.depth += 1;
            self.spaces();
            let inside = self.product()?;
            self.depth -= 1;
            self.spaces();
            if !self.text[self.at..].starts_with(')') {
                return Err(self.fault(start..self.at, UnitFaultKind::Unreadable));
            }
            self.at += 1;
            inside
        } else if rest.starts_with("1/") {
            self.at += 1;
            return Ok((Dimension::NUMBER, 1.0));
        } else {
            let length = symbol_length(rest);
            if length == 0 {
                let end = start + rest.chars().next().map_or(0, char::len_utf8);
                return Err(self.fault(start..end, UnitFaultKind::Unreadable));
            }
            self.at += length;
            let symbol = &rest[..length];
            let unit = find_unit(symbol)
                .ok_or_else(|| self.fault(start..self.at, UnitFaultKind::Unknown(symbol.into())))?;
            (unit.dimension, unit.size)
        };
        let exponent = self.exponent()?;
        let power = dimension.power(f64::from(exponent));
        let raised = power.ok_or_else(|| self.fault(start..self.at, UnitFaultKind::TooLong))?;
        Ok((raised, size.powi(exponent)))
    }

    fn exponent(&mut self) -> Result<i32, UnitFault> {
        if !self.text[self.at..].starts_with('^') {
            return Ok(1);
        }
        let start = self.at;
        let length = power_length(&self.text[start..]);
        let exponent: i32 = self.text[start + 1..start + length.max(1)]
            .parse()
            .unwrap_or(99);
        self.at += length.max(1);
        if exponent.abs() > 9 {
            return Err(self.fault(start..self.at, UnitFaultKind::Exponent));
        }
        Ok(exponent)
    }

    fn spaces(&mut self) {
        self.at = skip_spaces(self.text, self.at);
    }

    fn fault(&self, range: Range<usize>, kind: UnitFaultKind) -> UnitFault {
        UnitFault { range, kind }
    }
}

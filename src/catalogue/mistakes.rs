//! What can be wrong with a user's catalogue file, and where in its text.

use std::fmt;

use toml::de::{DeTable, DeValue};

use super::nearest;
use super::rows::{DrillRow, EndMillRow, MachineRow, MaterialRow};

/// What is wrong with a user's catalogue file, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct CatalogueError {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What to do about it; may be empty.
    pub mend: String,
}

impl fmt::Display for CatalogueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "line {}, column {}: {}",
            self.line, self.column, self.message
        )?;
        if !self.mend.is_empty() {
            write!(f, " ({})", self.mend)?;
        }
        Ok(())
    }
}

impl std::error::Error for CatalogueError {}

/// An entry in the text.
pub(super) struct Place<'a> {
    pub text: &'a str,
    /// Key of its kind: `material`.
    pub kind: &'static str,
    /// Which of its kind, from 0.
    pub index: usize,
}

impl Place<'_> {
    /// An error at a key of the entry, or at the entry where it has no such key.
    fn error(&self, key: &str, message: String, mend: String) -> CatalogueError {
        let (line, column) = line_column(self.text, self.offset(key));
        CatalogueError {
            line,
            column,
            message,
            mend,
        }
    }

    pub(super) fn missing(&self, property: &str) -> CatalogueError {
        self.error(
            property,
            format!("this [[{}]] has no `{property}`", self.kind),
            format!("add a line `{property} = ...`, or the id of a known entry to change"),
        )
    }

    /// A property that is missing, or there and wrong in itself.
    pub(super) fn bad(&self, property: &'static str) -> CatalogueError {
        let mend = match property {
            "material" => "write \"carbide\" or \"hss\"",
            "corner_radius_mm" => "at most half the diameter",
            "flutes" => "a whole number of flutes",
            "reach_mm" => "at least the length of the flutes",
            "rotary" => "write \"yes\" or \"no\"",
            _ => return self.missing(property),
        };
        if self.find(property).is_none() {
            return self.missing(property);
        }
        self.error(
            property,
            format!("`{property}` cannot be this"),
            mend.into(),
        )
    }

    fn offset(&self, key: &str) -> usize {
        self.find(key)
            .or_else(|| self.find("id"))
            .or_else(|| self.entry())
            .unwrap_or(0)
    }

    fn find(&self, key: &str) -> Option<usize> {
        self.with_entry(|entry| {
            let (key, _) = entry
                .iter()
                .find(|(name, _)| name.get_ref().as_ref() == key)?;
            Some(key.span().start)
        })
    }

    fn entry(&self) -> Option<usize> {
        self.with_entry(|entry| entry.keys().map(|key| key.span().start).min())
    }

    fn with_entry(&self, read: impl FnOnce(&DeTable) -> Option<usize>) -> Option<usize> {
        let table = DeTable::parse(self.text).ok()?;
        match table.get_ref().get(self.kind)?.get_ref() {
            DeValue::Array(entries) => match entries.get(self.index)?.get_ref() {
                DeValue::Table(entry) => read(entry),
                _ => None,
            },
            _ => None,
        }
    }
}

/// (key, value, least, greatest) of every number must hold.
pub(super) fn check_numbers(
    place: &Place,
    numbers: &[(&'static str, f64, f64, f64)],
) -> Result<(), CatalogueError> {
    match numbers
        .iter()
        .find(|(_, value, low, high)| !(low..=high).contains(&value))
    {
        None => Ok(()),
        Some((key, value, low, high)) => Err(place.error(
            key,
            format!("`{key} = {value}` is outside {low} to {high}"),
            "the unit is the last part of the key's name".into(),
        )),
    }
}

pub(super) fn check_speeds(place: &Place, row: &MaterialRow) -> Result<(), CatalogueError> {
    let ranges = [
        (
            "mill_carbide_low_m_min",
            row.mill_carbide_low_m_min,
            row.mill_carbide_high_m_min,
        ),
        (
            "mill_hss_low_m_min",
            row.mill_hss_low_m_min,
            row.mill_hss_high_m_min,
        ),
        (
            "drill_carbide_low_m_min",
            row.drill_carbide_low_m_min,
            row.drill_carbide_high_m_min,
        ),
        (
            "drill_hss_low_m_min",
            row.drill_hss_low_m_min,
            row.drill_hss_high_m_min,
        ),
    ];
    for (key, low, high) in ranges {
        if let (Some(low), Some(high)) = (low, high)
            && low > high
        {
            return Err(place.error(
                key,
                format!("the range of speeds is reversed: {low} to {high} m/min"),
                "exchange the two".into(),
            ));
        }
    }
    Ok(())
}

/// Turns the reader's own error into ours.
pub(super) fn reading(text: &str, error: &toml::de::Error) -> CatalogueError {
    let (line, column) = line_column(text, error.span().map_or(0, |span| span.start));
    let message = error.message().to_owned();
    let mend = if let Some(key) = message
        .strip_prefix("unknown field `")
        .and_then(|rest| rest.split('`').next())
    {
        let kinds = ["material", "drill", "end_mill", "machine"];
        let keys: &[&str] = if message.contains("`material`") && message.contains("`end_mill`") {
            &kinds
        } else if message.contains("`density_kg_m3`") {
            MaterialRow::KEYS
        } else if message.contains("`spindle_max_rpm`") {
            MachineRow::KEYS
        } else if message.contains("`flutes`") {
            EndMillRow::KEYS
        } else {
            DrillRow::KEYS
        };
        nearest(key, keys.iter().copied())
            .map_or_else(String::new, |like| format!("did you mean `{like}`?"))
    } else if message.contains("invalid type: string") {
        "write a plain number; the unit is the last part of the key's name".into()
    } else if message.contains("invalid type: boolean") {
        "write \"yes\" or \"no\", in quotes".into()
    } else if message.contains("invalid type: map") {
        "entries are written [[material]], [[drill]], [[end_mill]], [[machine]], in double brackets"
            .into()
    } else {
        String::new()
    };
    let message = message
        .split(", expected one of")
        .next()
        .unwrap_or_default()
        .to_owned();
    CatalogueError {
        line,
        column,
        message,
        mend,
    }
}

fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let before = text.get(..offset).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    (
        before.matches('\n').count() + 1,
        before[line_start..].chars().count() + 1,
    )
}

//! A user's own catalogue file laid over the built-in one.
//!
//! ```toml
//! [[material]]              # a new one needs id, density_kg_m3, modulus_gpa, poisson
//! id = "al6061_t6511"       # a known id: only what is given here changes
//! yield_mpa = 262
//! strength_source = "our own coupons, March"
//!
//! [[end_mill]]
//! id = "2.2 mm"
//! diameter_mm = 2.2
//! flutes = 2
//! flute_length_mm = 9
//! ```

use std::fmt;

use serde::{Deserialize, Serialize};
use toml::de::{DeTable, DeValue};

use super::rows::{DrillRow, EndMillRow, MachineRow, MaterialRow};
use super::{Catalogue, Drill, EndMill, Machine, Material, nearest};

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

#[derive(Default, Deserialize, Serialize)]
#[serde(deny_unknown_fields, default)]
struct UserFile {
    material: Vec<MaterialRow>,
    drill: Vec<DrillRow>,
    end_mill: Vec<EndMillRow>,
    machine: Vec<MachineRow>,
}

/// Lays the rows of one kind over those known and converts what changed.
macro_rules! lay {
    ($text:expr, $kind:literal, $given:expr, $rows:expr, $typed:expr, $type:ty) => {
        for (index, row) in $given.iter().enumerate() {
            let place = Place {
                text: $text,
                kind: $kind,
                index,
            };
            check_numbers(&place, &row.numbers())?;
            let id = row.id.as_deref().ok_or_else(|| place.missing("id"))?;
            let known = $rows.iter().position(|old| old.id.as_deref() == Some(id));
            let mut merged = known.map(|at| $rows[at].clone()).unwrap_or_default();
            merged.overlay(row);
            let entry = <$type>::from_row(&merged).map_err(|property| place.bad(property))?;
            match known {
                Some(at) => {
                    $rows[at] = merged;
                    $typed[at] = entry;
                }
                None => {
                    $rows.push(merged);
                    $typed.push(entry);
                }
            }
        }
    };
}

impl Catalogue {
    /// This catalogue with the entries of a user's file (TOML text) added; an entry with a known id overrides
    /// what it gives and keeps the rest.
    ///
    /// # Errors
    /// [`CatalogueError`] for text that is not TOML, an unknown key, a value of the wrong kind or outside its
    /// sane range (a sign of a wrong unit), a missing property.
    pub fn with_user_file(mut self, text: &str) -> Result<Catalogue, CatalogueError> {
        let mut file: UserFile = toml::from_str(text).map_err(|error| reading(text, &error))?;
        file.material.iter_mut().for_each(note_sources);
        file.drill.iter_mut().for_each(|row| own(&mut row.source));
        file.end_mill
            .iter_mut()
            .for_each(|row| own(&mut row.source));
        file.machine.iter_mut().for_each(|row| own(&mut row.source));
        for (index, row) in file.material.iter().enumerate() {
            check_speeds(
                &Place {
                    text,
                    kind: "material",
                    index,
                },
                row,
            )?;
        }
        lay!(
            text,
            "material",
            file.material,
            self.rows.materials,
            self.materials,
            Material
        );
        lay!(
            text,
            "drill",
            file.drill,
            self.rows.drills,
            self.drills,
            Drill
        );
        lay!(
            text,
            "end_mill",
            file.end_mill,
            self.rows.end_mills,
            self.end_mills,
            EndMill
        );
        lay!(
            text,
            "machine",
            file.machine,
            self.rows.machines,
            self.machines,
            Machine
        );
        Ok(self)
    }
}

impl Catalogue {
    /// The entries with these ids as the text of a user's file, whole: laid over any catalogue it gives the same
    /// entries again. Ids that are not known are left out.
    pub fn extract(
        &self,
        materials: &[&str],
        drills: &[&str],
        end_mills: &[&str],
        machines: &[&str],
    ) -> String {
        let file = UserFile {
            material: chosen(&self.rows.materials, materials, |row| &row.id),
            drill: chosen(&self.rows.drills, drills, |row| &row.id),
            end_mill: chosen(&self.rows.end_mills, end_mills, |row| &row.id),
            machine: chosen(&self.rows.machines, machines, |row| &row.id),
        };
        // Rows of text and numbers always have a TOML form.
        toml::to_string(&file).unwrap_or_default()
    }
}

fn chosen<R: Clone>(rows: &[R], ids: &[&str], id: fn(&R) -> &Option<String>) -> Vec<R> {
    rows.iter()
        .filter(|row| id(row).as_deref().is_some_and(|id| ids.contains(&id)))
        .cloned()
        .collect()
}

fn own(source: &mut Option<String>) {
    source.get_or_insert_with(|| "user's catalogue file".into());
}

/// A property from the user's file must not keep the source of the built-in one.
fn note_sources(row: &mut MaterialRow) {
    let groups = [
        (row.density_kg_m3.is_some(), &mut row.density_source),
        (
            row.modulus_gpa.or(row.poisson).is_some(),
            &mut row.elastic_source,
        ),
        (
            row.yield_mpa.or(row.ultimate_mpa).is_some(),
            &mut row.strength_source,
        ),
        (
            row.fatigue_mpa.or(row.fatigue_cycles).is_some(),
            &mut row.fatigue_source,
        ),
        (row.expansion_1e6_per_k.is_some(), &mut row.expansion_source),
        (
            row.kc11_mpa.or(row.mc).is_some(),
            &mut row.cutting_force_source,
        ),
        (row.price_class.is_some(), &mut row.price_source),
    ];
    for (given, source) in groups {
        if given {
            own(source);
        }
    }
    let speeds = row
        .numbers()
        .iter()
        .any(|(key, ..)| key.ends_with("_m_min") || key.starts_with("drill_feed"));
    if speeds {
        own(&mut row.speed_source);
    }
}

/// An entry in the text.
struct Place<'a> {
    text: &'a str,
    kind: &'static str,
    index: usize,
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

    fn missing(&self, property: &str) -> CatalogueError {
        self.error(
            property,
            format!("this [[{}]] has no `{property}`", self.kind),
            format!("add a line `{property} = ...`, or the id of a known entry to change"),
        )
    }

    /// A property that is missing, or there and wrong in itself.
    fn bad(&self, property: &'static str) -> CatalogueError {
        let mend = match property {
            "material" => "write \"carbide\" or \"hss\"",
            "corner_radius_mm" => "at most half the diameter",
            "flutes" => "a whole number of flutes",
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
fn check_numbers(
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

fn check_speeds(place: &Place, row: &MaterialRow) -> Result<(), CatalogueError> {
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
fn reading(text: &str, error: &toml::de::Error) -> CatalogueError {
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

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

use super::mistakes::{CatalogueError, Place, check_numbers, check_speeds, reading};
use super::rows::{DrillRow, EndMillRow, MachineRow, MaterialRow};
use super::{Catalogue, Drill, EndMill, Machine, Material};
use serde::{Deserialize, Serialize};

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
        (
            row.price_class
                .or(row.price_per_kg)
                .or(row.chips_per_kg)
                .is_some(),
            &mut row.price_source,
        ),
        (
            row.taylor_c_carbide_m_min
                .or(row.taylor_n_carbide)
                .or(row.taylor_c_hss_m_min)
                .or(row.taylor_n_hss)
                .is_some(),
            &mut row.tool_life_source,
        ),
    ];
    for (given, source) in groups {
        if given {
            own(source);
        }
    }
    let speeds = row
        .numbers()
        .iter()
        .any(|(key, ..)| key.starts_with("mill_") || key.starts_with("drill_"));
    if speeds {
        own(&mut row.speed_source);
    }
}

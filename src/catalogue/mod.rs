//! Materials, drills, end mills and machines: plain data with the source of every figure.
//!
//! The built-in tables are the files under `data/`; a user's own file (TOML) adds to them or overrides single
//! properties by id. Sources say how they stand: *read* in the source, *from memory*, or *common practice, no
//! source*.

mod machine;
mod material;
mod mistakes;
mod rows;
mod tables;
mod tools;
mod user_file;

pub use machine::{Laser, Machine};
pub use material::{Material, MissingProperty, Source, Speeds};
pub use mistakes::CatalogueError;
pub use tables::Table;
pub use tools::{
    ChipLoad, Drill, EndMill, ToolMaterial, Tools, chip_loads, usual_drill_price, usual_mill_price,
};

use rows::{DrillRow, EndMillRow, MachineRow, MaterialRow};

/// All that is known of materials, tools and machines.
#[derive(Clone, Debug, PartialEq)]
pub struct Catalogue {
    rows: Rows,
    materials: Vec<Material>,
    drills: Vec<Drill>,
    end_mills: Vec<EndMill>,
    machines: Vec<Machine>,
}

/// The rows as written, kept so that a user's file can override single properties.
#[derive(Clone, Debug, Default, PartialEq)]
struct Rows {
    materials: Vec<MaterialRow>,
    drills: Vec<DrillRow>,
    end_mills: Vec<EndMillRow>,
    machines: Vec<MachineRow>,
}

/// Greatest difference of two diameters that are still the same tool, in mm.
const SAME_DIAMETER_MM: f64 = 0.005;

impl Catalogue {
    /// The built-in catalogue.
    pub fn builtin() -> Catalogue {
        let rows = Rows {
            materials: read_table(include_str!("data/materials.csv")),
            drills: read_table(include_str!("data/drills.csv")),
            end_mills: read_table(include_str!("data/end_mills.csv")),
            machines: [
                read_table(include_str!("data/machines.csv")),
                read_table(include_str!("data/lasers.csv")),
            ]
            .concat(),
        };
        Catalogue {
            materials: rows.materials.iter().flat_map(Material::from_row).collect(),
            drills: rows.drills.iter().flat_map(Drill::from_row).collect(),
            end_mills: rows.end_mills.iter().flat_map(EndMill::from_row).collect(),
            machines: rows.machines.iter().flat_map(Machine::from_row).collect(),
            rows,
        }
    }

    /// All materials, built-in first.
    pub fn materials(&self) -> &[Material] {
        &self.materials
    }

    /// All drills, built-in first.
    pub fn drills(&self) -> &[Drill] {
        &self.drills
    }

    /// All end mills, built-in first.
    pub fn end_mills(&self) -> &[EndMill] {
        &self.end_mills
    }

    /// All machines, built-in first.
    pub fn machines(&self) -> &[Machine] {
        &self.machines
    }

    /// The material with this id or designation; case, spaces and `-_.` make no difference.
    pub fn material(&self, id: &str) -> Option<&Material> {
        let wanted = plain(id);
        let by = |key: fn(&Material) -> &str| {
            self.materials
                .iter()
                .find(|material| !key(material).is_empty() && plain(key(material)) == wanted)
        };
        by(|m| &m.id)
            .or_else(|| by(|m| &m.name))
            .or_else(|| by(|m| &m.also))
    }

    /// The drill with this designation.
    pub fn drill(&self, id: &str) -> Option<&Drill> {
        self.drills.iter().find(|drill| same(&drill.id, id))
    }

    /// The drill nearest to a diameter in mm, if one is within 0.005 mm.
    pub fn drill_of(&self, diameter: f64) -> Option<&Drill> {
        nearest_size(&self.drills, diameter, |drill| drill.diameter_mm)
    }

    /// The end mill with this designation.
    pub fn end_mill(&self, id: &str) -> Option<&EndMill> {
        self.end_mills.iter().find(|mill| same(&mill.id, id))
    }

    /// The end mill nearest to a diameter in mm, if one is within 0.005 mm.
    pub fn end_mill_of(&self, diameter: f64) -> Option<&EndMill> {
        nearest_size(&self.end_mills, diameter, |mill| mill.diameter_mm)
    }

    /// The machine with this id.
    pub fn machine(&self, id: &str) -> Option<&Machine> {
        self.machines.iter().find(|machine| same(&machine.id, id))
    }

    /// The known material id or designation most like `id`.
    pub fn nearest_material(&self, id: &str) -> Option<&str> {
        let names = self
            .materials
            .iter()
            .flat_map(|m| [m.id.as_str(), m.name.as_str(), m.also.as_str()]);
        nearest(id, names.filter(|name| !name.is_empty()))
    }

    /// The known drill designation most like `id`.
    pub fn nearest_drill(&self, id: &str) -> Option<&str> {
        nearest(id, self.drills.iter().map(|drill| drill.id.as_str()))
    }

    /// The known end mill designation most like `id`.
    pub fn nearest_end_mill(&self, id: &str) -> Option<&str> {
        nearest(id, self.end_mills.iter().map(|mill| mill.id.as_str()))
    }

    /// The known machine id most like `id`.
    pub fn nearest_machine(&self, id: &str) -> Option<&str> {
        nearest(id, self.machines.iter().map(|machine| machine.id.as_str()))
    }
}

/// Rows of a built-in table. A table that cannot be read comes out short, which the tests of this room see.
fn read_table<R: serde::de::DeserializeOwned>(text: &str) -> Vec<R> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .filter_map(Result::ok)
        .collect()
}

fn plain(id: &str) -> String {
    id.chars()
        .filter(|c| !matches!(c, ' ' | '-' | '_' | '.'))
        .flat_map(char::to_lowercase)
        .collect()
}

fn same(a: &str, b: &str) -> bool {
    let squeeze = |text: &str| text.replace(' ', "").to_lowercase();
    squeeze(a) == squeeze(b)
}

fn nearest_size<T>(all: &[T], diameter: f64, size: fn(&T) -> f64) -> Option<&T> {
    all.iter()
        .filter(|tool| (size(tool) - diameter).abs() <= SAME_DIAMETER_MM)
        .min_by(|a, b| {
            (size(a) - diameter)
                .abs()
                .total_cmp(&(size(b) - diameter).abs())
        })
}

/// The name most like `id`; of equals the first.
fn nearest<'a>(id: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = plain(id);
    let mut best: Option<(f64, &str)> = None;
    for name in names {
        let likeness = strsim::normalized_damerau_levenshtein(&wanted, &plain(name));
        if best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, name));
        }
    }
    best.map(|(_, name)| name)
}

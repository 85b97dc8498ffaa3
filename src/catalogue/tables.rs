//! The catalogue as plain tables, for printing.

use super::{Catalogue, Material, ToolMaterial};

/// Headers and rows of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// One a column.
    pub headers: Vec<String>,
    /// Cells, row by row.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    fn new(headers: &[&str]) -> Table {
        Table {
            headers: headers.iter().map(|&header| header.to_owned()).collect(),
            rows: Vec::new(),
        }
    }
}

fn number(value: Option<f64>) -> String {
    value.map_or_else(|| "-".into(), |value| format!("{value}"))
}

/// Sources of a material, those of equal text together: `density, price: ...; elastic: ...`.
fn sources(material: &Material) -> String {
    let mut groups: Vec<(String, &str)> = Vec::new();
    for source in &material.sources {
        match groups.iter_mut().find(|(_, text)| *text == source.text) {
            Some((names, _)) => {
                names.push_str(", ");
                names.push_str(source.of);
            }
            None => groups.push((source.of.to_owned(), &source.text)),
        }
    }
    let lines: Vec<_> = groups
        .iter()
        .map(|(names, text)| format!("{names}: {text}"))
        .collect();
    lines.join("; ")
}

impl Catalogue {
    /// Materials: id, name, form, density, elastic and strength figures, cutting force, tool life, prices, source.
    pub fn material_table(&self) -> Table {
        let mut table = Table::new(&[
            "id",
            "name",
            "form",
            "density kg/m³",
            "E GPa",
            "Poisson",
            "yield MPa",
            "ultimate MPa",
            "fatigue MPa",
            "at cycles",
            "kc1.1 MPa",
            "mc",
            "Taylor C, n carbide",
            "price class",
            "price per kg",
            "chips per kg",
            "source",
        ]);
        for m in &self.materials {
            table.rows.push(vec![
                m.id.clone(),
                m.name.clone(),
                m.form.clone(),
                number(Some(m.density_kg_m3)),
                number(Some(m.modulus_gpa)),
                number(Some(m.poisson)),
                number(m.yield_mpa),
                number(m.ultimate_mpa),
                number(m.fatigue_mpa),
                m.fatigue_cycles
                    .map_or_else(|| "-".into(), |n| format!("{n:e}")),
                number(m.kc11_mpa),
                number(m.mc),
                m.taylor(ToolMaterial::Carbide)
                    .map_or_else(|| "-".into(), |(c, n)| format!("{c}, {n}")),
                number(m.price_class),
                number(m.price_per_kg),
                number(m.chips_per_kg),
                sources(m),
            ]);
        }
        table
    }

    /// Drills: designation, system, diameter, flute length, tool material, price, use, source.
    pub fn drill_table(&self) -> Table {
        let mut table = Table::new(&[
            "id",
            "system",
            "diameter mm",
            "flutes mm",
            "made of",
            "price",
            "use",
            "source",
        ]);
        for drill in &self.drills {
            table.rows.push(vec![
                drill.id.clone(),
                drill.system.clone(),
                number(Some(drill.diameter_mm)),
                number(Some(drill.flute_length_mm)),
                drill.material.words().into(),
                number(Some(drill.price)),
                drill.note.clone(),
                drill.source.clone(),
            ]);
        }
        table
    }

    /// End mills: designation, diameter, flutes, flute length, corner radius, reach, tool material, price, source.
    pub fn end_mill_table(&self) -> Table {
        let mut table = Table::new(&[
            "id",
            "diameter mm",
            "flutes",
            "flute length mm",
            "corner mm",
            "reach mm",
            "made of",
            "price",
            "source",
        ]);
        for mill in &self.end_mills {
            table.rows.push(vec![
                mill.id.clone(),
                number(Some(mill.diameter_mm)),
                number(Some(mill.flutes)),
                number(Some(mill.flute_length_mm)),
                number(Some(mill.corner_radius_mm)),
                number(Some(mill.reach_mm)),
                mill.material.words().into(),
                number(Some(mill.price)),
                mill.source.clone(),
            ]);
        }
        table
    }

    /// Machines: id, name, spindle or laser, rapids, accelerations, feed, fixed times, rates, table, coolant, source.
    pub fn machine_table(&self) -> Table {
        let mut table = Table::new(&[
            "id",
            "name",
            "spindle rpm",
            "power kW",
            "laser kW",
            "rapid xy m/min",
            "rapid z m/min",
            "accel xy m/s²",
            "accel z m/s²",
            "feed m/min",
            "tool change s",
            "load s",
            "setup s",
            "probe s",
            "rate per h",
            "labour per h",
            "table mm",
            "turns the part",
            "coolant",
            "note",
            "source",
        ]);
        for m in &self.machines {
            let of_mill = |value| number(m.laser.is_none().then_some(value));
            table.rows.push(vec![
                m.id.clone(),
                m.name.clone(),
                of_mill(m.spindle_max_rpm),
                of_mill(m.power_kw),
                number(m.laser.map(|laser| laser.power_kw)),
                number(Some(m.rapid_xy_m_min)),
                of_mill(m.rapid_z_m_min),
                number(Some(m.acceleration_xy_m_s2)),
                of_mill(m.acceleration_z_m_s2),
                number(Some(m.feed_max_m_min)),
                of_mill(m.tool_change_s),
                number(Some(m.load_s)),
                number(Some(m.setup_s)),
                number(Some(m.probe_s)),
                number(Some(m.rate_per_h)),
                number(Some(m.labour_per_h)),
                if m.table_x_mm.is_finite() && m.table_y_mm.is_finite() {
                    format!("{} x {}", m.table_x_mm, m.table_y_mm)
                } else {
                    "-".into()
                },
                if m.rotary { "yes" } else { "no" }.into(),
                m.coolant.clone(),
                m.note.clone(),
                m.source.clone(),
            ]);
        }
        table
    }
}

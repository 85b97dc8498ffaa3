//! Stiffness of perforated strips over that of the solid strip, from the table of unit cells.

use std::sync::OnceLock;

const TABLE: &str = include_str!("data/unit_cells.csv");
const MOST_PITCH: f64 = 0.87;

/// Columns of the table over a grid of d/w (rows) and d/p (columns), with the limits known without any
/// calculation added: no hole leaves everything, a hole as wide as the strip leaves nothing.
struct Grid {
    widths: Vec<f64>,
    pitches: Vec<f64>,
    values: Vec<Vec<f64>>,
}

impl Grid {
    fn read(column: &str) -> Grid {
        let mut lines = TABLE.lines();
        let header: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
        let at = |name: &str| header.iter().position(|title| *title == name).unwrap_or(0);
        let (width, pitch, value) = (at("d_over_w"), at("d_over_p"), at(column));
        let mut cells: Vec<(f64, f64, f64)> = Vec::new();
        for line in lines {
            let fields: Vec<&str> = line.split(',').collect();
            let number = |index: usize| fields.get(index).and_then(|text| text.parse::<f64>().ok());
            if let (Some(w), Some(p), Some(v)) = (number(width), number(pitch), number(value)) {
                cells.push((w, p, v));
            }
        }
        let distinct = |pick: fn(&(f64, f64, f64)) -> f64| {
            let mut all: Vec<f64> = cells.iter().map(pick).collect();
            all.sort_by(f64::total_cmp);
            all.dedup();
            all
        };
        let mut widths = distinct(|cell| cell.0);
        let mut pitches = distinct(|cell| cell.1);
        let find = |w: f64, p: f64| {
            cells
                .iter()
                .find(|cell| cell.0 == w && cell.1 == p)
                .map_or(1.0, |cell| cell.2)
        };
        let mut values = vec![vec![1.0; pitches.len() + 1]];
        for &w in &widths {
            let mut row = vec![1.0];
            row.extend(pitches.iter().map(|&p| find(w, p)));
            values.push(row);
        }
        values.push(vec![0.0; pitches.len() + 1]);
        widths.insert(0, 0.0);
        widths.push(1.0);
        pitches.insert(0, 0.0);
        Grid {
            widths,
            pitches,
            values,
        }
    }

    fn at(&self, d_over_w: f64, d_over_p: f64) -> f64 {
        let (row, across) = place(&self.widths, d_over_w.clamp(0.0, 1.0));
        let last = self.pitches[self.pitches.len() - 1];
        let (column, along) = place(&self.pitches, d_over_p.clamp(0.0, last.max(MOST_PITCH)));
        let line = |row: usize| {
            let values = &self.values[row];
            values[column] + along * (values[column + 1] - values[column])
        };
        (line(row) + across * (line(row + 1) - line(row))).clamp(1e-4, 1.0)
    }
}

/// Interval of a rising grid and the share of the way through it; beyond the last point the last interval
/// is continued.
fn place(grid: &[f64], value: f64) -> (usize, f64) {
    let mut index = 0;
    while index + 2 < grid.len() && value > grid[index + 1] {
        index += 1;
    }
    (
        index,
        (value - grid[index]) / (grid[index + 1] - grid[index]),
    )
}

struct Tables {
    axial: Grid,
    in_plane: Grid,
    out_thick: Grid,
    out_thin: Grid,
    twist_thick: Grid,
    twist_thin: Grid,
}

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables {
        axial: Grid::read("EA_ratio"),
        in_plane: Grid::read("EI_inplane_ratio"),
        out_thick: Grid::read("EIoop_ratio_t025"),
        out_thin: Grid::read("EIoop_ratio_t010"),
        twist_thick: Grid::read("GJ_ratio_t025"),
        twist_thin: Grid::read("GJ_ratio_t010"),
    })
}

/// Stiffness of a perforated strip with free edges over that of the solid strip, all between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripFactors {
    /// Stretching along the strip.
    pub axial: f64,
    /// Bending in the plane of the strip.
    pub in_plane: f64,
    /// Bending out of the plane of the strip.
    pub out_of_plane: f64,
    /// Torsion.
    pub torsion: f64,
}

/// Factors of a strip with one central row of through holes, without unit.
///
/// Linear between the cells of the table; toward no hole (d/w or d/p = 0) linear to 1, toward a hole as wide
/// as the strip linear to 0. Above d/p = 0.87 the value there is kept. The columns for bending out of plane
/// and torsion are known for thickness / width of 0.10 and 0.25; between these linear, outside the nearer.
///
/// `d_over_w` diameter over width, `d_over_p` diameter over pitch, `t_over_w` thickness over width.
///
/// Source: `data/unit_cells.csv` (finite elements of the drilled strip, Poisson ratio 0.33).
pub fn strip_factors(d_over_w: f64, d_over_p: f64, t_over_w: f64) -> StripFactors {
    let tables = tables();
    let thick = ((t_over_w - 0.10) / 0.15).clamp(0.0, 1.0);
    let blend = |thin: &Grid, heavy: &Grid| {
        let low = thin.at(d_over_w, d_over_p);
        low + thick * (heavy.at(d_over_w, d_over_p) - low)
    };
    StripFactors {
        axial: tables.axial.at(d_over_w, d_over_p),
        in_plane: tables.in_plane.at(d_over_w, d_over_p),
        out_of_plane: blend(&tables.out_thin, &tables.out_thick),
        torsion: blend(&tables.twist_thin, &tables.twist_thick),
    }
}

#[cfg(test)]
mod tests {
    use super::strip_factors;

    #[test]
    fn cells_of_the_table_come_back_and_the_limits_hold() {
        // Row d/w 0.5, d/p 0.6 of data/unit_cells.csv.
        let cell = strip_factors(0.5, 0.6, 0.25);
        assert!((cell.axial - 0.574263).abs() < 1e-12);
        assert!((cell.in_plane - 0.918357).abs() < 1e-12);
        assert!((cell.out_of_plane - 0.613935).abs() < 1e-12);
        assert!((strip_factors(0.5, 0.6, 0.1).torsion - 0.68113).abs() < 1e-12);
        assert_eq!(strip_factors(0.0, 0.6, 0.2).axial, 1.0);
        assert!(strip_factors(0.5, 0.6, 0.2).axial > strip_factors(0.6, 0.6, 0.2).axial);
        assert!(strip_factors(0.95, 0.95, 0.2).torsion > 0.0);
    }
}
